"""Which art is printed, which is a line for a machine, and which is white or varnish: a spot colour each.

A spot colour is a Separation of its own name (ISO 32000-1, 8.6.6.4): a printer that knows the name
leaves it out of the print, a cutter follows it. What it is for is said in the terms of ISO 19593-1
(processing steps), on the layer that holds it. The text of ISO 19593-1 was not seen: the names of groups
and types here are those it is publicly cited with, and the one key that some tables ask for besides,
`GTS_ProcStepsColorants`, is left out because its form could not be confirmed.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from bladewise.document import CUT_LINE, Colour, Job, MaterialKind, Picture
from bladewise.errors import CannotWrite
from bladewise.formats.cut_lines import cut_outline
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Mapping

    from bladewise.document import Leaf, Lettering, Material, Placed

CUT_NAME = "Cut line"
"""The name of the cut line's spot colour where the operator sets none."""
LONGEST_NAME = 127
"""Bytes of a name in a PDF (ISO 32000-1, annex C)."""
TAKEN_NAMES = frozenset({"All", "None", "Cyan", "Magenta", "Yellow", "Black", "Red", "Green", "Blue", "Gray"})
"""Names of colorants that mean something else already: every plate, none, or a process colour."""


class ProcessingStep(StrEnum):
    """What is done along a line, or with an area (ISO 19593-1, its text not seen)."""

    CUTTING = "Cutting"
    PARTIAL_CUTTING = "PartialCutting"
    PERFORATING = "Perforating"
    CREASING = "Creasing"
    BLEED = "Bleed"
    WHITE = "White"
    VARNISH = "Varnish"

    @property
    def is_area(self) -> bool:
        """Whether it is printed as an area and not followed as a line."""
        return self in (ProcessingStep.WHITE, ProcessingStep.VARNISH)

    @property
    def group(self) -> str:
        """The group it belongs to."""
        return self.value if self.is_area else "Structural"


CUT_KINDS = {
    "through": ProcessingStep.CUTTING,
    "kiss": ProcessingStep.PARTIAL_CUTTING,
    "perforation": ProcessingStep.PERFORATING,
    "crease": ProcessingStep.CREASING,
    "bleed": ProcessingStep.BLEED,
    "white": ProcessingStep.WHITE,
    "varnish": ProcessingStep.VARNISH,
}
"""What the shop calls each."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A spot colour: its name, what it is for, and the colour in which a screen shows it.

    `colour` left out is that of the material.
    """

    name: str = CUT_NAME
    step: ProcessingStep = ProcessingStep.CUTTING
    colour: Colour | None = None


def spots_by_leaf(
    job: Job, *, cut_name: str, cut_step: ProcessingStep, spots: Mapping[str, Spot]
) -> dict[str, tuple[Spot, Colour]]:
    """Return the spot colour, and its colour on a screen, of each leaf that has one; all else visible is print.

    Parameters
    ----------
    job
        The job.
    cut_name, cut_step
        Name and kind of what is to be cut: the cut line's material always, and every other vinyl that was
        chosen for a shape or a layer where the job also has print. A vinyl that a flat colour stands for
        on its own is print: nobody has said that it is to be cut.
    spots
        Spot colours by the id of a material, before all else: kiss cut, perforation, white, varnish.

    Raises
    ------
    CannotWrite
        If a name cannot be one, or a knife cannot follow what it is to cut.
    """
    unknown = next((key for key in spots if job.material(key) is None), None)
    if unknown is not None:
        raise CannotWrite(
            phrase("The job has no material “{material}” for a spot colour.", material=unknown), where=job.name
        )
    shown = [placed for placed in job.walk() if placed.visible]
    has_print = any(job.material_of(placed).kind is MaterialKind.PRINT for placed in shown)
    found: dict[str, tuple[Spot, Colour]] = {}
    first: dict[str, tuple[Spot, Colour]] = {}
    for placed in shown:
        material = job.material_of(placed)
        spot = spots.get(material.id)
        if spot is None and _is_cut(job, placed, material, has_print=has_print):
            spot = Spot(cut_name, cut_step)
        if spot is None:
            continue
        _check_name(spot.name)
        if not spot.step.is_area:
            _check_line(placed.leaf)
        known, colour = first.setdefault(spot.name, (spot, spot.colour or material.colour))
        if known.step is not spot.step:
            raise CannotWrite(
                phrase("The spot colour “{name}” cannot be for two things.", name=spot.name),
                where=placed.leaf.name or placed.leaf.id,
                hint="Give each of them a name of its own.",
            )
        found[placed.leaf.id] = (known, colour)  # one name, one colour: a plate has no second one
    return found


def _is_cut(job: Job, placed: Placed, material: Material, *, has_print: bool) -> bool:
    if material.id == CUT_LINE:
        return True
    chosen = next((key for key in (placed.leaf.material, placed.layer.material) if key and job.material(key)), None)
    return has_print and chosen is not None and material.kind is MaterialKind.CUT


def _check_name(name: str) -> None:
    if not name.strip() or "\0" in name or len(name.encode("utf-8")) > LONGEST_NAME:
        raise CannotWrite(
            phrase("“{name}” cannot name a spot colour.", name=name[:40]),
            hint=phrase("Use 1 to {most} letters.", most=LONGEST_NAME),
        )
    if name in TAKEN_NAMES:
        raise CannotWrite(
            phrase("“{name}” is the name of a printing ink, not of a spot colour.", name=name),
            hint="Choose a name that the printer gives nothing else.",
        )


def _check_line(leaf: Leaf) -> None:
    where = leaf.name or leaf.id
    if isinstance(leaf, Picture):
        raise CannotWrite(
            "A picture is to be cut, and no knife follows one.",
            where=where,
            hint="Give it the print for its material, and draw a cut line about it.",
        )
    cut_outline(leaf)


def check_outlines(text: Lettering) -> None:
    """Refuse lettering that has no outlines to draw.

    Raises
    ------
    CannotWrite
        If there is something to read in it and nothing to see.
    """
    if text.text.strip() and not text.outline:
        raise CannotWrite(
            phrase("The lettering “{text}” has no outlines.", text=text.text[:40]),
            where=text.name or text.id,
            hint="Choose a font that is there.",
        )
