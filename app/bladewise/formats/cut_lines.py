"""What the knife follows, whatever the file it is written to: outlines by material, in real size.

What is hidden, guide or print is left out; lettering that is still live and shapes that are only a
stroke are refused by name. Lengths are mm, y down, the sheet's top left the origin.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from bladewise.document import BLACK, Colour, Group, Job, Lettering, MaterialKind, Picture
from bladewise.errors import CannotWrite
from bladewise.formats.marks import RegistrationMarks, mark_shapes
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import EMPTY, Path, joined
from bladewise.operations.painted import is_hairline
from bladewise.phrases import phrase
from bladewise.units import format_length

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.document import Element, Leaf, Material

MARKS_NAME = "Registration marks"
"""What their layer is called in every file."""


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
    """

    name: str
    colour: Colour
    path: Path


def cut_materials(job: Job) -> dict[Material, list[Leaf]]:
    """Return what is to be cut from each vinyl, visible art only, in the order they lie from the back."""
    return {
        material: leaves for material, leaves in job.materials_in_use().items() if material.kind is MaterialKind.CUT
    }


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
    return CutLines(material.name, material.colour, joined(cut_outline(leaf) for leaf in leaves))


def marks_line(job: Job, marks: RegistrationMarks | None) -> list[CutLines]:
    """Return the registration marks as a row of their own; none where none are asked for."""
    if marks is None:
        return []
    shapes = mark_shapes(marks, job.width_mm, job.height_mm)
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
