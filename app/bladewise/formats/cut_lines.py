"""What the knife follows, whatever the file it is written to: outlines by material, in real size.

What is hidden, guide or print is left out; lettering that is still live and shapes that are only a
stroke are refused by name. Lengths are mm, y down, the sheet's top left the origin.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from bladewise.document import (
    BLACK,
    Colour,
    CutKind,
    Group,
    Job,
    Lettering,
    MaterialKind,
    Picture,
    Shape,
    Stroke,
    Style,
)
from bladewise.errors import CannotApply, CannotWrite
from bladewise.formats.inside_out import inside_out
from bladewise.formats.marks import RegistrationMarks, marks_on
from bladewise.geometry.affine import Affine
from bladewise.geometry.measures import length
from bladewise.geometry.path import EMPTY, Path, joined
from bladewise.geometry.perforation import perforated
from bladewise.layout.figures import Figurer
from bladewise.operations.marking import is_mark
from bladewise.operations.painted import HAIRLINE_MM, is_hairline
from bladewise.phrases import phrase
from bladewise.units import format_length

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from bladewise.document import Element, Leaf, Material

MARKS_NAME = "Registration marks"
"""What their layer is called in every file."""
PERFORATIONS = ("dashes", "line")
"""A perforation as the cuts it is made of, or as one line that the machine itself lifts the knife from."""
_LOOSENING = (CutKind.KISS, CutKind.CREASE, CutKind.PERFORATION, CutKind.THROUGH)
"""In which order lines are cut, whatever their materials: what holds the sheet least comes last."""


class CutLines(NamedTuple):
    """What is cut from one material.

    Parameters
    ----------
    name
        The material's name, as the operator gave it.
    colour
        The material's colour.
    path
        Every outline, in the order they lie from the back; mm, y down.
    cut
        How deep the knife goes.
    perforation_mm
        Of a perforation: how far the knife cuts, and how far it then leaves the material whole.
    is_parted
        Whether the path is already the cuts of the perforation.
    leaves
        What it is all made of.
    """

    name: str
    colour: Colour
    path: Path
    cut: CutKind = CutKind.KISS
    perforation_mm: tuple[float, float] = (3.0, 1.0)
    is_parted: bool = False
    leaves: tuple[Leaf, ...] = ()

    @property
    def pieces(self) -> int:
        """How many pieces there are of it, marks left out: counted as the window and the job ticket count them."""
        return sum(Figurer().of(leaf).pieces for leaf in self.leaves if not is_mark(leaf))

    @property
    def travel_mm(self) -> float:
        """How far the knife goes lowered, over the gaps of a perforation lifted."""
        return length(self.followed("dashes").path)

    def followed(self, perforation: str) -> CutLines:
        """Return what the knife follows: the cuts of a perforation one by one where that is asked (`PERFORATIONS`).

        Those of contours within others come first.

        Raises
        ------
        CannotWrite
            If the perforation is too fine for lines of this length.
        """
        if self.cut is not CutKind.PERFORATION or perforation != "dashes" or self.is_parted:
            return self
        cuts = [cuts_along(contour, *self.perforation_mm, name=self.name) for contour in inside_out(self.path)]
        return self._replace(path=joined(cuts), is_parted=True)


def in_cutting_order(lines: Iterable[CutLines]) -> list[CutLines]:
    """Return the lines so that what is cut through comes last; else as they came."""
    return sorted(lines, key=lambda line: _LOOSENING.index(line.cut))


def cuts_along(path: Path, cut_mm: float, gap_mm: float, *, name: str) -> Path:
    """Return the cuts of a perforation; `name` says whose, should there be too many.

    Raises
    ------
    CannotWrite
        If the perforation is too fine for lines of this length.
    """
    try:
        return perforated(path, cut_mm, gap_mm)
    except CannotApply as error:
        raise CannotWrite(error.what, where=name, hint=error.hint) from None


def cut_materials(job: Job) -> dict[Material, list[Leaf]]:
    """Return what is to be cut from each vinyl, visible art only, in the order they lie from the back."""
    return {
        material: leaves for material, leaves in job.materials_in_use().items() if material.kind is MaterialKind.CUT
    }


def application_order(job: Job) -> dict[str, int]:
    """Return in which turn each material is put on, by its id, from 1: from the back, as the job ticket has it."""
    used = [material for material in job.materials_in_use() if material.kind is not MaterialKind.GUIDE]
    return {material.id: turn for turn, material in enumerate(used, start=1)}


def ready_lines(job: Job) -> list[CutLines]:
    """Return what the knife follows of all that is ready for it; what is not yet is left out, as the check says."""
    lines = []
    for material, leaves in cut_materials(job).items():
        try:
            lines.append(lines_of(material, leaves))
        except CannotWrite:
            continue
    return [line for line in lines if line.path]


def with_cuts_of_perforations(job: Job) -> Job:
    """Return a job whose perforations are drawn as the cuts they are made of.

    Raises
    ------
    CannotWrite
        If a perforation is too fine for lines of this length.
    """
    exchanged: dict[str, tuple[Element, ...]] = {}
    for material, leaves in cut_materials(job).items():
        if material.cut is not CutKind.PERFORATION:
            continue
        for leaf in leaves:
            if isinstance(leaf, Shape) and leaf.path:
                lengths = material.perforation_cut_mm, material.perforation_gap_mm
                cuts = cuts_along(leaf.path, *lengths, name=leaf.name or leaf.id)
                exchanged[leaf.id] = (replace(leaf, path=cuts, style=followed_style(material.colour)),)
    return job.replaced(exchanged) if exchanged else job


def followed_style(colour: Colour) -> Style:
    """Return what a line that a knife follows looks like."""
    return Style(stroke=Stroke(colour, HAIRLINE_MM))


def cut_outline(leaf: Leaf) -> Path:
    """Return the outline the knife follows for a leaf; nothing for a picture, which says so by being one.

    Raises
    ------
    CannotWrite
        If lettering is still live, or a shape is only a stroke.
    """
    if isinstance(leaf, Picture):
        return EMPTY
    if isinstance(leaf, Lettering):
        raise CannotWrite(
            phrase("The lettering “{text}” is still live.", text=leaf.text[:40]),
            where=leaf.name or leaf.id,
            hint="Turn it into shapes first.",
        )
    stroke = leaf.style.stroke
    if leaf.style.fill is None and stroke is not None and not is_hairline(stroke):
        raise CannotWrite(
            phrase(
                "“{name}” is only a stroke, {width} wide: no edge to cut.",
                name=leaf.name or leaf.id,
                width=format_length(stroke.width_mm),
            ),
            where=leaf.name or leaf.id,
            hint="Use stroke to shape first, or give it the width of a hairline.",
        )
    return leaf.path


def cut_lines(job: Job, marks: RegistrationMarks | None = None) -> list[CutLines]:
    """Return what the knife follows, a row for each material, the registration marks last.

    Raises
    ------
    CannotWrite
        If nothing is to be cut, something is not ready (`cut_outline`), or the marks do not fit.
    """
    lines = [lines_of(material, leaves) for material, leaves in cut_materials(job).items()]
    lines = [line for line in lines if line.path]
    if not lines:
        raise nothing_to_cut(job)
    return [*lines, *marks_line(job, marks)]


def lines_of(material: Material, leaves: Sequence[Leaf]) -> CutLines:
    """Return what is cut from one material.

    Raises
    ------
    CannotWrite
        If something is not ready (`cut_outline`).
    """
    lengths = material.perforation_cut_mm, material.perforation_gap_mm
    outline = joined(cut_outline(leaf) for leaf in leaves)
    return CutLines(material.name, material.colour, outline, material.cut, lengths, leaves=tuple(leaves))


def marks_line(job: Job, marks: RegistrationMarks | None) -> list[CutLines]:
    """Return the registration marks as a row of their own; none where none are asked for."""
    if marks is None:
        return []
    shapes = marks_on(job, marks)
    return [CutLines(MARKS_NAME, BLACK, joined(shape.path for shape in shapes))]


def nothing_to_cut(job: Job) -> CannotWrite:
    """Return what is said of a job of which nothing is cut."""
    return CannotWrite(
        "Nothing in the job is to be cut.",
        where=job.name,
        hint="Choose a material that is cut for a layer or a shape, or show what is hidden.",
    )


def extent(lines: Sequence[CutLines]) -> tuple[float, float, float, float]:
    """Return the exact box around all of it: x min, y min, x max, y max in mm."""
    box = joined(line.path for line in lines).bounds()
    return box if box is not None else (0.0, 0.0, 0.0, 0.0)


def mirrored(job: Job) -> Job:
    """Return the job as seen from behind, left and right exchanged on the same sheet: for heat transfer."""
    affine = Affine(a=-1.0, e=job.width_mm)
    return replace(
        job,
        layers=tuple(
            replace(layer, children=tuple(_turned(child, affine) for child in layer.children)) for layer in job.layers
        ),
    )


def _turned(element: Element, affine: Affine) -> Element:
    if isinstance(element, Group):
        return replace(element, children=tuple(_turned(child, affine) for child in element.children))
    return element.transformed(affine)
