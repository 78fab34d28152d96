"""Materials: what a shape will be made of. One vinyl, the print, or nothing but a guide."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from bladewise.document.profiles import NO_PROFILE, Profile
from bladewise.document.style import Colour


class MaterialKind(StrEnum):
    """What happens to the shapes of a material."""

    CUT = "cut"
    PRINT = "print"
    GUIDE = "guide"


@dataclass(frozen=True, slots=True)
class Material:
    """A vinyl to cut, the print, or guides that reach no machine; `profile` is what it asks of the art."""

    id: str
    name: str
    colour: Colour
    kind: MaterialKind = MaterialKind.CUT
    profile: Profile = NO_PROFILE


PRINT = Material("print", "Print", Colour(0x56, 0xB4, 0xE9), MaterialKind.PRINT)
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
