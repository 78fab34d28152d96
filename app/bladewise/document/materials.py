"""Materials: what a shape will be made of. One vinyl, a line for the knife, the print, or nothing but a guide."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from bladewise.document.profiles import NO_PROFILE, Bounds, Profile
from bladewise.document.style import Colour


class MaterialKind(StrEnum):
    """What happens to the shapes of a material."""

    CUT = "cut"
    PRINT = "print"
    WHITE = "white"
    """White ink under the print, for clear and dark film."""
    VARNISH = "varnish"
    """A clear coat over the print."""
    GUIDE = "guide"

    @property
    def is_printed(self) -> bool:
        """Whether a printer lays it down: the print itself, white under it, varnish over it."""
        return self in (MaterialKind.PRINT, MaterialKind.WHITE, MaterialKind.VARNISH)


class CutKind(StrEnum):
    """How deep the knife goes along the outlines of a material that is cut."""

    KISS = "kiss"
    """Through the film, not its liner: what sign vinyl is cut like."""
    THROUGH = "through"
    PERFORATION = "perforation"
    CREASE = "crease"


PERFORATION = Bounds(0.1, 1000.0)
"""Of a perforation's cuts and gaps, in mm."""


@dataclass(frozen=True, slots=True)
class Material:
    """A vinyl or a line to cut, ink to print, or guides that reach no machine.

    Parameters
    ----------
    kind
        What happens to its shapes.
    profile
        What it asks of the art.
    cut
        How deep the knife goes, where it is cut.
    perforation_cut_mm, perforation_gap_mm
        Where it is perforated: how far the knife cuts, and how far it then leaves the material whole.
    """

    id: str
    name: str
    colour: Colour
    kind: MaterialKind = MaterialKind.CUT
    profile: Profile = NO_PROFILE
    cut: CutKind = CutKind.KISS
    perforation_cut_mm: float = 3.0
    perforation_gap_mm: float = 1.0


PRINT = Material("print", "Print", Colour(0x56, 0xB4, 0xE9), MaterialKind.PRINT)
CUT_LINE = "cut-line"
"""Id of the material of a kiss-cut line about a print; the other kinds of cut have theirs (`cut_line_id`)."""


def cut_line_id(cut: CutKind) -> str:
    """Return the id of the material of the lines about a print that are cut one way."""
    return CUT_LINE if cut is CutKind.KISS else f"{CUT_LINE}-{cut}"


_CUT_LINES = frozenset(cut_line_id(cut) for cut in CutKind)


def is_cut_line(material: str | None) -> bool:
    """Whether the id of a material is that of a line about a print."""
    return material in _CUT_LINES


UNPAINTED = Material("unpainted", "No paint", Colour(0x99, 0x99, 0x99), MaterialKind.GUIDE)
"""What neither fill nor stroke shows is no vinyl: drawings often hold unseen frames, and no knife may follow one."""


@lru_cache(maxsize=4096)
def material_for_colour(colour: Colour) -> Material:
    """Return the vinyl that a flat colour stands for while the operator has chosen none."""
    return Material(f"colour-{colour.hex[1:]}", f"{colour_word(colour)} {colour.hex}", colour)


def colour_word(colour: Colour) -> str:
    """Return plain words for a colour: its lightness if it is grey, else its hue, pale or dark where it is."""
    high, low = max(colour), min(colour)
    if high - low < 24:
        return "Black" if high < 56 else "White" if low > 232 else "Grey"
    red, green, blue = colour
    spread = high - low
    if high == red:
        hue = 60.0 * (((green - blue) / spread) % 6.0)
    elif high == green:
        hue = 60.0 * ((blue - red) / spread + 2.0)
    else:
        hue = 60.0 * ((red - green) / spread + 4.0)
    if 15.0 <= hue < 60.0:
        if high > 225 and low > 170:
            return "Cream"
        if high < 160:
            return "Brown"
    words = ((15, "red"), (45, "orange"), (70, "yellow"), (165, "green"), (200, "turquoise"), (255, "blue"))
    word = next(
        (each for limit, each in words if hue < limit), "purple" if hue < 300 else "pink" if hue < 345 else "red"
    )
    if high > 225 and low > 170:
        return f"Pale {word}"
    return f"Dark {word}" if high < 100 else word.capitalize()
