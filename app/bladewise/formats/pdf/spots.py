"""Which art is printed, which is a line for a machine, and which is white or varnish: a spot colour each.

A line's material says how it is cut, and so what it is for: kiss cut, cut through, perforated, creased. The lines
of the main kind bear the name the operator gives; those of other kinds, white and varnish that of their material.

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

from bladewise.document import Colour, CutKind, Job, MaterialKind, Picture, is_cut_line
from bladewise.errors import CannotWrite
from bladewise.formats.cut_lines import cut_outline
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

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
_BY_CUT = {cut: CUT_KINDS[cut.value] for cut in CutKind}
_BY_INK = {MaterialKind.WHITE: ProcessingStep.WHITE, MaterialKind.VARNISH: ProcessingStep.VARNISH}


@dataclass(frozen=True, slots=True)
class Spot:
    """A spot colour: its name, what it is for, and the colour in which a screen shows it.

    `colour` left out is that of the material. `dash_mm`: of a perforation, how long its cuts and its gaps are.
    """

    name: str = CUT_NAME
    step: ProcessingStep = ProcessingStep.CUTTING
    colour: Colour | None = None
    dash_mm: tuple[float, float] | None = None


def spot_of(material: Material, name: str, step: ProcessingStep, *, dashed: bool = True) -> Spot:
    """Return the spot colour of a material; a perforation with its lengths, unless the machine has its own."""
    lengths = (material.perforation_cut_mm, material.perforation_gap_mm)
    return Spot(name, step, dash_mm=lengths if dashed and step is ProcessingStep.PERFORATING else None)


def spots_by_leaf(
    job: Job, *, cut_name: str, cut_step: ProcessingStep | None, spots: Mapping[str, Spot], dashed: bool = True
) -> dict[str, tuple[Spot, Colour]]:
    """Return the spot colour, and its colour on a screen, of each leaf that has one; all else visible is print.

    Parameters
    ----------
    job
        The job.
    cut_name
        Name of the lines of the main kind: the first kind of cut that the job's cut lines are of, else its vinyls.
    cut_step
        What is done along these, in place of what their materials say; None: as they say.
    spots
        Spot colours by the id of a material, before all else.
    dashed
        Whether a perforation is drawn with its cuts and gaps.

    Notes
    -----
    To be cut are the materials of cut lines always, and every other vinyl that was chosen for a shape or a layer
    where the job is also printed. A vinyl that a flat colour stands for on its own is print: nobody has said that
    it is to be cut.

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
    shown = [(placed, job.material_of(placed)) for placed in job.walk() if placed.visible]
    is_printed = any(material.kind.is_printed for _, material in shown)
    cut = {placed.leaf.id for placed, material in shown if _is_cut(job, placed, material, is_printed=is_printed)}
    main = _main_line([material for placed, material in shown if placed.leaf.id in cut and material.id not in spots])
    found: dict[str, tuple[Spot, Colour]] = {}
    first: dict[str, tuple[Spot, Colour]] = {}
    for placed, material in shown:
        spot = spots.get(material.id)
        if spot is None and material.kind in _BY_INK:
            spot = Spot(material.name, _BY_INK[material.kind])
        if spot is None and placed.leaf.id in cut:
            spot = spot_of(material, material.name, _BY_CUT[material.cut], dashed=dashed)
            if main is not None and material.cut is main.cut:
                named = spot_of(material, cut_name, cut_step or spot.step, dashed=dashed)
                # perforations of other lengths are another plate: one pattern of dashes would be wrong for one
                as_main = spot_of(main, cut_name, named.step, dashed=dashed)
                spot = named if named == as_main else spot
        if spot is None:
            continue
        _check_name(spot.name)
        if not spot.step.is_area:
            _check_line(placed.leaf)
        known, colour = first.setdefault(spot.name, (spot, spot.colour or material.colour))
        if (known.step, known.dash_mm) != (spot.step, spot.dash_mm):
            raise CannotWrite(
                phrase("The spot colour “{name}” cannot be for two things.", name=spot.name),
                where=placed.leaf.name or placed.leaf.id,
                hint="Give each of them a name of its own.",
            )
        found[placed.leaf.id] = (known, colour)  # one name, one colour: a plate has no second one
    return found


def _main_line(materials: Sequence[Material]) -> Material | None:
    """Return the material whose lines bear the operator's name for the cut line: of cut lines before vinyls."""
    ranked = sorted(materials, key=lambda material: (not is_cut_line(material.id), list(CutKind).index(material.cut)))
    return ranked[0] if ranked else None


def _is_cut(job: Job, placed: Placed, material: Material, *, is_printed: bool) -> bool:
    if material.kind is not MaterialKind.CUT:
        return False
    if is_cut_line(material.id):
        return True
    chosen = next((key for key in (placed.leaf.material, placed.layer.material) if key and job.material(key)), None)
    return is_printed and chosen is not None


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
