"""The files that go to the cutter: one a vinyl, outlines only, all to real size with one origin.

Beside them stands the layered file for cutting and printing. What is hidden, and what is guide or
print, does not get into a cut file. Every file has the sheet's size, so the colours line up.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bladewise.document import Job, Layer, Material, Shape
from bladewise.formats.cut_lines import (
    MARKS_NAME,
    application_order,
    cut_materials,
    cut_outline,
    followed_style,
    lines_of,
    marks_line,
    nothing_to_cut,
    ready_lines,
    with_cuts_of_perforations,
)
from bladewise.formats.file_names import file_name, unique
from bladewise.formats.marks import RegistrationMarks, marks_on
from bladewise.formats.prepared import Prepared, write_files
from bladewise.formats.svg import svg_made

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path as FilePath

    from bladewise.document import Leaf
    from bladewise.formats.cut_lines import CutLines


def write_cut_files(
    job: Job, folder: FilePath, *, marks: RegistrationMarks | None = None, per_colour: bool = True
) -> list[FilePath]:
    """Write the layered file, and one outline file for each vinyl in use; return their paths.

    Raises
    ------
    CannotWrite
        As `cut_files` does, or if a file cannot be written.
    """
    return write_files(cut_files(job, marks=marks, per_colour=per_colour), folder)


def cut_files(job: Job, *, marks: RegistrationMarks | None = None, per_colour: bool = True) -> list[Prepared]:
    """Return the layered file, and one outline file for each vinyl in use, made and read back.

    Raises
    ------
    CannotWrite
        If lettering is still live or a shape is only a stroke, if the marks do not fit, or if a file does
        not read back as meant.
    """
    stem = file_name(job.name)
    taken: set[str] = set()
    mark_layers = mark_layers_of(job, marks)
    files = [drawing(unique(stem, taken), replace(job, layers=(*job.layers, *mark_layers)))]
    if per_colour:
        cuts = cut_materials(job)
        if not cuts:
            raise nothing_to_cut(job)
        order = application_order(job)
        for material, leaves in cuts.items():
            name = unique(f"{stem} - {file_name(material.name, fallback=material.id)}", taken)
            line = lines_of(material, leaves)
            alone = outlines_only(job, material, leaves, mark_layers)
            files.append(drawing(name, alone, [line.followed("dashes"), *marks_line(job, marks)], [line], order=order))
    return files


def drawing(
    stem: str,
    job: Job,
    lines: Sequence[CutLines] = (),
    cuts: Sequence[CutLines] | None = None,
    *,
    perforation: str = "dashes",
    order: Mapping[str, int] | None = None,
) -> Prepared:
    """Return a job as an SVG file that says how it is made.

    Parameters
    ----------
    stem
        The file's name without its ending.
    job
        What it shows.
    lines, cuts
        As `Prepared` has them; `cuts` left out: all that is ready to be cut.
    perforation
        One of `cut_lines.PERFORATIONS`.
    order
        The turn of each material, by its id; the job's own if left out.

    Raises
    ------
    CannotWrite
        If a perforation is too fine, or the file does not read back as meant.
    """
    found = tuple(ready_lines(job) if cuts is None else cuts)
    shown = with_cuts_of_perforations(job) if perforation == "dashes" else job
    made = svg_made(shown, order=application_order(job) if order is None else order)
    return Prepared(f"{stem}.svg", made.data, shown, list(lines), found, made.apart_mm)


def outlines_only(job: Job, material: Material, leaves: list[Leaf], mark_layers: tuple[Layer, ...]) -> Job:
    """Return a job that holds nothing but the knife's paths for one vinyl."""
    shapes = []
    for leaf in leaves:
        path = cut_outline(leaf)
        if path:
            shapes.append(Shape(leaf.id, path, followed_style(material.colour), name=leaf.name))
    layer = Layer(job.fresh_id(f"cut-{material.id}"), material.name, tuple(shapes), material.id)
    marks = tuple(
        replace(one, children=tuple(_as_hairline(shape, material) for shape in one.children)) for one in mark_layers
    )
    return Job(f"{job.name} - {material.name}", job.width_mm, job.height_mm, (layer, *marks), (material,))


def mark_layers_of(job: Job, marks: RegistrationMarks | None) -> tuple[Layer, ...]:
    """Return the layer of registration marks for a job's sheet, or nothing where none are asked for."""
    if marks is None:
        return ()
    taken: set[str] = set()
    shapes = []
    for shape in marks_on(job, marks):
        identity = job.fresh_id(shape.id, taken=taken)
        taken.add(identity)
        shapes.append(replace(shape, id=identity))
    return (Layer(job.fresh_id("registration-marks", taken=taken), MARKS_NAME, tuple(shapes)),)


def _as_hairline(element: object, material: Material) -> Shape:
    if not isinstance(element, Shape):
        raise TypeError(element)
    return replace(element, style=followed_style(material.colour))
