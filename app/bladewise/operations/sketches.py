"""What a step comes to, near enough to be looked at while its numbers change.

A sketch is shown until the step itself has been computed, and is never applied, kept or checked. Only
steps that outline art have one: the others are quick or say how far they have come.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import shapely

from bladewise.document import (
    BLACK,
    Job,
    Layer,
    Lettering,
    Picture,
    Shape,
    Style,
    bounds_of,
    is_cut_line,
    measure_together,
)
from bladewise.geometry.joining import bars_between
from bladewise.geometry.parallels import Corner
from bladewise.geometry.regions import Region
from bladewise.geometry.rough import (
    rough_fill,
    rough_grown,
    rough_parallel,
    rough_stroke,
    rough_union,
    rough_without_holes,
    straight_outlines,
)
from bladewise.operations.bleeding import Bleed
from bladewise.operations.cut_lines import CutLine
from bladewise.operations.cut_regions import lines_to_cut
from bladewise.operations.declaration import Progress, quiet
from bladewise.operations.line_round import Holes, Islands, LineRound, art_in
from bladewise.operations.outlines import Side, SteppedOutline
from bladewise.operations.painted import is_hairline, painted_regions, stroke_geometry

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely.geometry.base import BaseGeometry

    from bladewise.document import Leaf, Placed
    from bladewise.geometry.path import Path
    from bladewise.operations.step import Step

FINENESS = 3000.0
"""The art's extent over this is how far chords may be from its curves: half a pixel on a large window."""

_kept: tuple[list[tuple[Leaf, ...]], list[BaseGeometry]] | None = None
"""The areas last found, and of what: while a distance changes the art does not."""


class Sketch(NamedTuple):
    """A job with about what a step would add to it, and the ids of that."""

    job: Job
    ids: frozenset[str]


def has_sketch(step: Step) -> bool:
    """Whether there is a sketch of a step."""
    return isinstance(step.record, SteppedOutline | CutLine | Bleed)


def sketch(job: Job, step: Step, progress: Progress = quiet) -> Sketch | None:
    """Return about what a step would add, or None where that is nothing or there is no sketch of it."""
    record = step.record
    if isinstance(record, SteppedOutline):
        sign = 1.0 if record.side is Side.OUTSIDE else -1.0
        distances = [sign * record.distance_mm * number for number in range(record.steps, 0, -1)]
        corner, miter_limit, together = record.corner, record.miter_limit, not record.each
    elif isinstance(record, CutLine):
        distances, corner, miter_limit, together = [], record.corner, 4.0, True
    elif isinstance(record, Bleed):
        if lines := lines_to_cut(job, record.on.leaves(job)) or lines_to_cut(job):
            return _beyond(job, lines, record.distance_mm)
        distances, corner, miter_limit, together = [record.distance_mm], Corner.ROUND, 4.0, True
    else:
        return None
    placed = art_in(record.on, job) if isinstance(record, CutLine) else record.on.leaves(job)
    leaves = tuple(each.leaf for each in placed if not is_cut_line(each.leaf.material))
    box = bounds_of(list(leaves))
    if box is None:
        return None
    tolerance = max(math.hypot(box[2] - box[0], box[3] - box[1]) / FINENESS, 0.005)
    sets: list[tuple[Leaf, ...]] = [leaves] if together else [(leaf,) for leaf in leaves]
    shapes: list[Shape] = []
    areas = _areas(sets, tolerance, progress)
    for number, area in enumerate(areas):
        progress(0.5 + 0.5 * number / len(areas))
        if isinstance(record, CutLine) and (path := _line_round(area, record.how, tolerance)):
            shapes.append(_shape(job, len(shapes), path))
        for distance in distances:
            path = rough_parallel(area, distance, corner=corner, miter_limit=miter_limit, tolerance_mm=tolerance)
            if path:
                shapes.append(_shape(job, len(shapes), path))
    measure_together(shapes)  # here, where nobody waits for it
    layer = Layer(job.fresh_id("sketch"), "Sketch", tuple(shapes))
    return Sketch(job.with_layer(layer), frozenset(shape.id for shape in shapes)) if shapes else None


def _beyond(job: Job, lines: Sequence[Placed], distance_mm: float) -> Sketch | None:
    """Return about how far bleed runs beyond cut lines."""
    box = bounds_of([each.leaf for each in lines])
    if box is None:
        return None
    tolerance = max(math.hypot(box[2] - box[0], box[3] - box[1]) / FINENESS, 0.005)
    area = rough_union(rough_fill(each.leaf.region, tolerance) for each in lines if isinstance(each.leaf, Shape))
    path = rough_parallel(area, distance_mm, corner=Corner.ROUND, miter_limit=4.0, tolerance_mm=tolerance)
    shape = _shape(job, 0, path)
    return Sketch(job.with_layer(Layer(job.fresh_id("sketch"), "Sketch", (shape,))), frozenset({shape.id}))


def _line_round(area: BaseGeometry, how: LineRound, tolerance_mm: float) -> Path:
    """Return about what `line_round` gives for an area."""
    least = math.inf if how.holes is Holes.OUTER else how.least_hole_mm2
    whole = rough_without_holes(area, least) if how.holes is Holes.OUTER else area
    rough = rough_without_holes(rough_grown(whole, how.distance_mm, corner=how.corner), least)
    if how.islands is Islands.BACKED:
        rough = rough_grown(rough_grown(rough, how.reach_mm), -how.reach_mm)
    if how.islands is not Islands.APART:
        bars = bars_between(list(shapely.get_parts(rough)), how.bridge_width_mm, how.reach_mm)
        rough = rough_union([rough, *(rough_fill(Region(bar), tolerance_mm) for bar in bars)])
    for radius in (how.inlet_radius_mm, -how.point_radius_mm):
        if radius:
            rough = rough_grown(rough_grown(rough, radius), -radius)
    return straight_outlines(shapely.simplify(rough_without_holes(rough, least), tolerance_mm))


def _shape(job: Job, number: int, path: Path) -> Shape:
    return Shape(job.fresh_id(f"sketch-{number + 1}", taken=("sketch",)), path, Style(fill=BLACK))


def _areas(sets: list[tuple[Leaf, ...]], tolerance_mm: float, progress: Progress) -> list[BaseGeometry]:
    """Return the area of each set of leaves, those found last if they are the same."""
    global _kept
    kept = _kept
    if kept is not None and _are_same(kept[0], sets):
        return kept[1]
    found = []
    for number, leaves in enumerate(sets):
        progress(0.5 * number / len(sets))
        found.append(_area(leaves, tolerance_mm))
    _kept = sets, found
    return found


def _are_same(sets: list[tuple[Leaf, ...]], others: list[tuple[Leaf, ...]]) -> bool:
    return len(sets) == len(others) and all(
        len(one) == len(other) and all(a is b for a, b in zip(one, other, strict=True))
        for one, other in zip(sets, others, strict=True)
    )


def _area(leaves: tuple[Leaf, ...], tolerance_mm: float) -> BaseGeometry:
    areas = []
    for leaf in leaves:
        if isinstance(leaf, Picture):
            areas += [rough_fill(region, tolerance_mm) for region in painted_regions(leaf)]
            continue
        path = leaf.outline if isinstance(leaf, Lettering) else leaf.path
        if leaf.style.fill is not None:
            areas.append(rough_fill(Region(path, leaf.style.fill_rule), tolerance_mm))
        if leaf.style.stroke is not None and not is_hairline(leaf.style.stroke):
            areas.append(rough_stroke(path, stroke_geometry(leaf.style.stroke), tolerance_mm))
    return rough_union(areas)
