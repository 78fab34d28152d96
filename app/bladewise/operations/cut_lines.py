"""The path the knife follows around a print."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from bladewise.document import (
    CUT_LINE,
    PRINT,
    Colour,
    Job,
    Layer,
    Leaf,
    Material,
    MaterialKind,
    Picture,
    Shape,
    Stroke,
    Style,
)
from bladewise.errors import CannotApply
from bladewise.geometry import booleans, measures
from bladewise.geometry.parallels import Corner, parallel
from bladewise.geometry.path import joined
from bladewise.geometry.regions import Region
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    choice,
    colour,
    length,
    number,
    switch,
)
from bladewise.operations.painted import (
    HAIRLINE_MM,
    painted_area,
    painting,
    paints_anything,
)
from bladewise.operations.selection import Selection
from bladewise.phrases import phrase
from bladewise.units import counted, format_number

_LINE_COLOURS = tuple(
    Colour.from_hex(text) for text in ("#cc79a7", "#d55e00", "#0072b2", "#009e73", "#e69f00", "#56b4e9", "#f0e442")
)
"""Okabe and Ito's palette (2008), those that stand out on art first."""


class Holes(StrEnum):
    """Which of the design's outlines a cut line follows."""

    OUTER = "outer"
    WITH_HOLES = "with-holes"


@dataclass(frozen=True, kw_only=True)
class CutLine:
    """The path the knife follows around a print."""

    on: Selection = acts_on()
    distance_mm: float = length(
        0.0, minimum=-50.0, maximum=500.0, help="How far outside the art's edge (minus: inside)"
    )
    holes: Holes = choice(Holes.WITH_HOLES, help="Outer edge only, or with the holes the design has")
    least_hole_mm2: float = number(0.0, minimum=0.0, maximum=1e6, help="Leave out holes smaller than this area in mm²")
    corner: Corner = choice(Corner.ROUND, help="How corners are made")
    line_colour: Colour | None = colour(None, help="Colour of the line; left out: one the art does not use")
    print_art: bool = switch(default=True, help="What the line goes around becomes print")


def cut_line(job: Job, record: CutLine, progress: Progress) -> Result:
    """Put the cut line about the art on a layer of its own at the front."""
    leaves = [leaf for leaf in painting(record.on, job) if leaf.material != CUT_LINE]
    path = painted_area(leaves)
    progress(0.5)
    if record.distance_mm:
        path = parallel(Region(path), record.distance_mm, corner=record.corner)
    keep = []
    left_out = 0
    for ring in path.subpaths():
        size = measures.area(ring)
        if size > 0.0 or (record.holes is Holes.WITH_HOLES and -size >= record.least_hole_mm2):
            keep.append(ring)
        elif record.holes is Holes.WITH_HOLES:
            left_out += 1
    path = joined(keep)
    if record.holes is Holes.OUTER and path:
        path = booleans.merge([Region(path)])
    if not path:
        msg = "No line is left at this distance."
        raise CannotApply(msg, where=record.on.describe(job), hint="Make the distance larger.")
    line = record.line_colour or _unused_colour(job)
    result = job.with_material(Material(CUT_LINE, "Cut line", line, MaterialKind.CUT))
    if record.print_art:
        result = result.with_material(result.material(PRINT.id) or PRINT)
        printed = [*leaves, *_thin_lines(record.on, job)]
        result = result.replaced({leaf.id: (replace(leaf, material=PRINT.id),) for leaf in printed})
    fresh = job.fresh_id("cut-line")
    style = Style(stroke=Stroke(line, HAIRLINE_MM))
    shape = Shape(fresh, path, style, name="Cut line", material=CUT_LINE)
    existing = next((layer for layer in result.layers if layer.material == CUT_LINE), None)
    if existing is not None:
        layer = replace(existing, children=(*existing.children, shape))
    else:
        layer = Layer(job.fresh_id("cut-line-layer", taken={fresh}), "Cut line", (shape,), material=CUT_LINE)
    reports = (
        (phrase("{counted} left out.", counted=counted(left_out, "small hole was", "small holes were")),)
        if left_out
        else ()
    )
    return Result(result.with_layer(layer), reports, (fresh,))


def _thin_lines(on: Selection, job: Job) -> list[Leaf]:
    """Return hairlines that are part of a print; one whose material was chosen is a knife's line and stays one."""
    return [
        placed.leaf
        for placed in on.leaves(job)
        if isinstance(placed.leaf, Shape)
        and placed.leaf.style.is_painted
        and placed.leaf.material is None
        and placed.layer.material is None
        and not paints_anything(placed.leaf)
    ]


def _unused_colour(job: Job) -> Colour:
    used = {leaf.style.colour for placed in job.walk() if not isinstance(leaf := placed.leaf, Picture)}
    return next((each for each in _LINE_COLOURS if each not in used), _LINE_COLOURS[0])


OPERATIONS = (
    Operation(
        "cut-line",
        "Cut line",
        "The path the knife follows around a print: outer edge, or with the design's holes.",
        CutLine,
        cut_line,
        lambda r: phrase(
            "Cut line, {distance} mm, {holes}",
            distance=format_number(r.distance_mm),
            holes=phrase("outer edge" if r.holes is Holes.OUTER else "with holes"),
        ),
    ),
)
