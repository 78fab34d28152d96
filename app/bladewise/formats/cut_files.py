"""The files that go to the cutter: one a vinyl, outlines only, all to real size with one origin.

Beside them stands the layered file for cutting and printing. What is hidden, and what is guide or
print, does not get into a cut file. Every file has the sheet's size, so the colours line up.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bladewise.document import Colour, Job, Layer, Material, Shape, Stroke, Style
from bladewise.formats.atomic import make_folder, write_atomically
from bladewise.formats.cut_lines import MARKS_NAME, cut_materials, cut_outline, nothing_to_cut
from bladewise.formats.file_names import file_name, unique
from bladewise.formats.marks import RegistrationMarks, mark_shapes
from bladewise.formats.svg import svg_text
from bladewise.operations.painted import HAIRLINE_MM

if TYPE_CHECKING:
    from pathlib import Path as FilePath

    from bladewise.document import Leaf


def write_cut_files(
    job: Job, folder: FilePath, *, marks: RegistrationMarks | None = None, per_colour: bool = True
) -> list[FilePath]:
    """Write the layered file, and one outline file for each vinyl in use; return their paths.

    All contents are made before the first file is written, so that a job that is not ready leaves
    nothing behind.

    Raises
    ------
    CannotWrite
        If lettering is still live or a shape is only a stroke, if the marks do not fit, or if a file
        cannot be written.
    """
    stem = file_name(job.name)
    taken: set[str] = set()
    mark_layers = mark_layers_of(job, marks)
    texts = [(unique(stem, taken), svg_text(replace(job, layers=(*job.layers, *mark_layers))))]
    if per_colour:
        cuts = cut_materials(job)
        if not cuts:
            raise nothing_to_cut(job)
        for material, leaves in cuts.items():
            name = unique(f"{stem} - {file_name(material.name, fallback=material.id)}", taken)
            texts.append((name, svg_text(outlines_only(job, material, leaves, mark_layers))))
    make_folder(folder)
    paths = []
    for name, text in texts:
        path = folder / f"{name}.svg"
        write_atomically(path, text.encode("utf-8"))
        paths.append(path)
    return paths


def outlines_only(job: Job, material: Material, leaves: list[Leaf], mark_layers: tuple[Layer, ...]) -> Job:
    """Return a job that holds nothing but the knife's paths for one vinyl."""
    shapes = []
    for leaf in leaves:
        path = cut_outline(leaf)
        if path:
            shapes.append(Shape(leaf.id, path, _hairline(material.colour), name=leaf.name))
    layer = Layer(job.fresh_id(f"cut-{material.id}"), material.name, tuple(shapes))
    marks = tuple(
        replace(one, children=tuple(_as_hairline(shape, material) for shape in one.children)) for one in mark_layers
    )
    return Job(f"{job.name} - {material.name}", job.width_mm, job.height_mm, (layer, *marks))


def mark_layers_of(job: Job, marks: RegistrationMarks | None) -> tuple[Layer, ...]:
    """Return the layer of registration marks for a job's sheet, or nothing where none are asked for."""
    if marks is None:
        return ()
    taken: set[str] = set()
    shapes = []
    for shape in mark_shapes(marks, job.width_mm, job.height_mm):
        identity = job.fresh_id(shape.id, taken=taken)
        taken.add(identity)
        shapes.append(replace(shape, id=identity))
    return (Layer(job.fresh_id("registration-marks", taken=taken), MARKS_NAME, tuple(shapes)),)


def _hairline(colour: Colour) -> Style:
    return Style(stroke=Stroke(colour, HAIRLINE_MM))


def _as_hairline(element: object, material: Material) -> Shape:
    if not isinstance(element, Shape):
        raise TypeError(element)
    return replace(element, style=_hairline(material.colour))
