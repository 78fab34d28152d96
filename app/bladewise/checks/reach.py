"""How far a finding reaches: the chord across a narrow place, the area of an overlap, the sides of a corner.

A finding names a place; whoever shows it wants to draw the thing itself, true to size. It is worked out from the
finding and the job it was made from, after the check and apart from it, for the check must be quick. What is only
drawn is taken from outlines on chords; measures are the check's own.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from bladewise.checks import facts
from bladewise.checks.memory import Memory
from bladewise.checks.reach_before import Before, Known
from bladewise.document import Job, Lettering, Shape, bounds_of
from bladewise.geometry.curves import derivative_at
from bladewise.geometry.distances import nearest_each
from bladewise.geometry.path import Floats, Path, joined
from bladewise.geometry.regions import FillRule
from bladewise.operations.repair import open_gaps

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from bladewise.checks.moves import Shift
    from bladewise.document import Leaf
    from bladewise.findings import Finding
    from bladewise.geometry.path import Point

MOST_SHAPES = 40
"""A finding about more shapes than this is shown by its place alone."""

_ALIKE = 0.25
"""A chord is drawn only where the outline is as far off as the finding says, to this part of it: else the place is one
that the outline as drawn does not show, such as an edge inside a self-overlap."""


class Span(NamedTuple):
    """A chord with its length: from one side to the other, in mm."""

    x0: float
    y0: float
    x1: float
    y1: float
    size_mm: float


class Corner(NamedTuple):
    """A tip and the directions, as unit vectors, in which its two sides leave it."""

    x: float
    y: float
    one: Point
    other: Point


@dataclass(frozen=True)
class Reach:
    """What there is to draw of a finding besides its mark.

    Parameters
    ----------
    spans
        Chords across narrow places, gaps and open ends, and extents of art.
    areas
        Polygons to hatch, each a list of rings of vertices in mm; even-odd.
    lines
        Polylines along which the knife would go twice.
    corners
        Tips that are too sharp.
    """

    spans: tuple[Span, ...] = ()
    areas: tuple[tuple[Floats, ...], ...] = ()
    lines: tuple[Floats, ...] = ()
    corners: tuple[Corner, ...] = ()

    def __bool__(self) -> bool:
        """Whether there is anything to draw."""
        return bool(self.spans or self.areas or self.lines or self.corners)

    def moved(self, shift: Shift) -> Reach:
        """Return the same elsewhere."""
        dx, dy = shift
        return Reach(
            tuple(Span(x0 + dx, y0 + dy, x1 + dx, y1 + dy, size) for x0, y0, x1, y1, size in self.spans),
            tuple(tuple(ring + shift for ring in rings) for rings in self.areas),
            tuple(line + shift for line in self.lines),
            tuple(corner._replace(x=corner.x + dx, y=corner.y + dy) for corner in self.corners),
        )


NOTHING = Reach()


class Reaches:
    """Works out the reach of findings again and again; what did not change, or only moved, is not worked out anew.

    One thread at a time may use it.
    """

    def __init__(self) -> None:
        """Begin knowing nothing."""
        self._known: dict[tuple[Any, ...], Known] = {}
        self._memory = Memory()

    def of(
        self, job: Job, findings: Sequence[Finding], progress: Callable[[float], None] = lambda _fraction: None
    ) -> list[Reach]:
        """Return the reach of each finding that was made from a job.

        Parameters
        ----------
        job
            The job the findings are about.
        findings
            What a check of it found.
        progress
            Told before each finding; it may raise to stop.
        """
        known: dict[tuple[Any, ...], Known] = {}
        out: list[Reach] = []
        before = Before(self._known.values())
        self._memory.begin()
        for number, finding in enumerate(findings):
            progress(number / len(findings))
            solve = _SOLVERS.get(finding.rule)
            leaves = _leaves(job, finding) if solve is not None else []
            if solve is None or not leaves:
                out.append(NOTHING)
                continue
            paths = tuple(_path(leaf) for leaf in leaves)
            key = finding.rule, finding.x_mm, finding.y_mm, finding.measure, finding.places, *map(id, paths)
            if key not in self._known:
                reach = before.moved(finding, paths)
                if reach is None:
                    reach = solve(_Task(finding, leaves, job, self._memory))
                self._known[key] = Known(finding, paths, reach)
            known[key] = self._known[key]
            out.append(known[key].reach)
        self._known = known
        self._memory.end()
        return out


class _Task(NamedTuple):
    finding: Finding
    leaves: list[Leaf]
    job: Job
    memory: Memory

    @property
    def shapes(self) -> list[Shape]:
        return [leaf for leaf in self.leaves if isinstance(leaf, Shape)]


def _leaves(job: Job, finding: Finding) -> list[Leaf]:
    if len(finding.shapes) > MOST_SHAPES:
        return []
    placed = [job.placed(each) for each in finding.shapes]
    return [each.leaf for each in placed if each is not None and isinstance(each.leaf, (Shape, Lettering))]


def _path(leaf: Leaf) -> Path:
    return leaf.outline if isinstance(leaf, Lettering) else leaf.path  # type: ignore[union-attr]


def _across(task: _Task) -> Reach:
    """Return the chords across narrow places: the nearest side, and what lies as far off on the other."""
    finding = task.finding
    places = np.array(finding.all_places)
    path = joined([_path(leaf) for leaf in task.leaves])
    found = nearest_each(path, places)
    spans = []
    for place, point, distance in zip(places, found.points, found.distances_mm.tolist(), strict=True):
        is_worst = math.hypot(place[0] - finding.x_mm, place[1] - finding.y_mm) < 1e-3
        if is_worst and abs(2.0 * distance - finding.measure) > _ALIKE * finding.measure:
            continue
        if not 0.0 < distance < math.inf:
            continue
        (x0, y0), (x1, y1) = point.tolist(), (2.0 * place - point).tolist()
        spans.append(Span(x0, y0, x1, y1, 2.0 * distance))
    return Reach(spans=tuple(spans))


def _open(task: _Task) -> Reach:
    """Return the gaps between the ends of open outlines."""
    spans: list[Span] = []
    for shape in task.shapes:
        path = shape.path
        for index, gap, end_x, end_y in open_gaps(shape):
            x, y = path.points[path.starts[index], 0].tolist()
            spans.append(Span(x, y, end_x, end_y, gap))
    return Reach(spans=tuple(spans))


def _common(task: _Task) -> Reach:
    """Return the area that two shapes both cover."""
    if len(task.shapes) < 2:
        return NOTHING
    one, other, *_ = facts.polygons_of(task.memory, task.shapes)
    return Reach(areas=_polygons(shapely.intersection(one, other)))


def _beyond(task: _Task) -> Reach:
    """Return what of the art lies off the sheet."""
    sheet: Any = shapely.box(0.0, 0.0, task.job.width_mm, task.job.height_mm)
    found: list[tuple[Floats, ...]] = []
    for polygon in facts.polygons_of(task.memory, task.shapes):
        found += _polygons(shapely.difference(polygon, sheet))
    return Reach(areas=tuple(found))


def _whole(task: _Task) -> Reach:
    """Return the whole of what a finding is about."""
    polygons = facts.polygons_of(task.memory, task.shapes)
    return Reach(areas=tuple(itertools.chain.from_iterable(map(_polygons, polygons))))


def _rings(task: _Task) -> Reach:
    """Return the outlines that begin at the places of a finding: its small pieces."""
    starts = {(round(x, 3), round(y, 3)) for x, y in task.finding.all_places}
    found: list[tuple[Floats, ...]] = []
    for rings in facts.rings_of(task.memory, [shape.path for shape in task.shapes]):
        found += [(ring,) for ring in rings if len(ring) > 2 and (round(ring[0, 0], 3), round(ring[0, 1], 3)) in starts]
    return Reach(areas=tuple(found))


def _together(task: _Task) -> Reach:
    """Return where two outlines, or more, run along the same line."""
    shapes = task.shapes
    if not shapes:
        return NOTHING
    rings = facts.rings_of(task.memory, [shape.path for shape in shapes])
    if len(shapes) == 1 or shapes[0] is shapes[1]:
        return Reach(lines=tuple(ring for ring in rings[0] if len(ring) > 1))
    outlines = [facts.lines_of(each) for each in rings]
    parts: list[Any] = []
    for place, one in enumerate(outlines[:-1]):
        others = shapely.union_all(outlines[place + 1 :])
        common = shapely.intersection(one, shapely.buffer(others, _SAME_LINE_MM, quad_segs=4, cap_style="flat"))
        parts += list(shapely.get_parts(common))
    return Reach(
        lines=tuple(
            shapely.get_coordinates(part) for part in parts if part.geom_type == "LineString" and len(part.coords)
        )
    )


_SAME_LINE_MM = 0.03
"""Lines nearer than this are drawn as one: a little more than the width of a blade."""


def _tips(task: _Task) -> Reach:
    """Return corners with the directions of their sides."""
    corners = []
    for shape in task.shapes:
        path = shape.path
        if not path:
            continue
        nodes = path.points[:, 0]
        for x, y in task.finding.all_places:
            node = int(np.argmin(np.hypot(*(nodes - (x, y)).T)))
            if math.hypot(*(nodes[node] - (x, y))) > _AT_NODE_MM:
                continue
            before = _before(path, node)
            if before is None:
                continue
            out = _direction(path, node, 0.0)
            back = _direction(path, before, 1.0)
            if out is not None and back is not None:
                corners.append(Corner(x, y, out, (-back[0], -back[1])))
    return Reach(corners=tuple(corners))


_AT_NODE_MM = 0.01


def _before(path: Path, segment: int) -> int | None:
    """Return the segment that leads to where another begins, in the same subpath."""
    row = int(np.searchsorted(path.starts, segment, side="right")) - 1
    first = int(path.starts[row])
    last = int(path.starts[row + 1]) if row + 1 < len(path.starts) else len(path)
    if segment > first:
        return segment - 1
    return last - 1 if path.closed[row] else None


def _direction(path: Path, segment: int, t: float) -> Point | None:
    one = slice(segment, segment + 1)
    _, along = derivative_at(path.points[one], path.kinds[one], path.weights[one], np.array([t]))
    x, y = along[0].tolist()
    if math.hypot(x, y) < 1e-12:  # a handle that lies on its node: take the chord
        x, y = (path.points[segment, 3] - path.points[segment, 0]).tolist()
    length = math.hypot(x, y)
    return (x / length, y / length) if length else None


def _size(task: _Task) -> Reach:
    """Return the extent that a finding measures, drawn through the middle of the art."""
    box = bounds_of(task.leaves)
    if box is None:
        return NOTHING
    wide, high = box[2] - box[0], box[3] - box[1]
    x, y = (box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0
    if abs(wide - task.finding.measure) <= abs(high - task.finding.measure):
        return Reach(spans=(Span(box[0], y, box[2], y, wide),))
    return Reach(spans=(Span(x, box[1], x, box[3], high),))


def _polygons(geometry: Any) -> tuple[tuple[Floats, ...], ...]:
    """Return the polygons of a geometry as rings of vertices."""
    found: list[tuple[Floats, ...]] = []
    for part in shapely.get_parts(geometry):
        if part.geom_type == "GeometryCollection":
            found += _polygons(part)
        elif part.geom_type == "Polygon" and not part.is_empty:
            rings: Iterable[Any] = (part.exterior, *part.interiors)
            found.append(tuple(shapely.get_coordinates(ring) for ring in rings))
    return tuple(found)


def _either_way(task: _Task) -> Reach:
    """Return what one fill rule paints and the other leaves open."""
    found: list[tuple[Floats, ...]] = []
    for shape in task.shapes:
        rule = FillRule.EVEN_ODD if shape.style.fill_rule is not FillRule.EVEN_ODD else FillRule.NONZERO
        other = replace(shape, style=replace(shape.style, fill_rule=rule))
        one, two = facts.polygons_of(task.memory, [shape, other])
        found += _polygons(shapely.symmetric_difference(one, two))
    return Reach(areas=tuple(found))


def _to_print(task: _Task) -> Reach:
    """Return how far a cut line is from the edge of the print, where that is least."""
    finding, job = task.finding, task.job
    printed = [
        placed.leaf.path
        for placed in job.walk()
        if placed.visible and isinstance(placed.leaf, Shape) and job.material_of(placed).kind.is_printed
    ]
    spans = []
    if printed:
        found = nearest_each(joined(printed), [(finding.x_mm, finding.y_mm)])
        (distance,), ((x, y),) = found.distances_mm.tolist(), found.points.tolist()
        if 0.0 < distance <= finding.measure * (1.0 + _ALIKE):
            spans.append(Span(finding.x_mm, finding.y_mm, x, y, distance))
    return Reach(spans=tuple(spans))


_SOLVERS: dict[str, Callable[[_Task], Reach]] = {
    "overlap": _common,
    "duplicate": _together,
    "shared-edge": _together,
    "butted-edge": _together,
    "open-path": _open,
    "off-sheet": _beyond,
    "over-roll": _size,
    "ordered-size": _size,
    "small-piece": _rings,
    "narrow-bridge": _across,
    "narrow-gap": _across,
    "sharp-corner": _tips,
    "hidden-art": _whole,
    "fill-rule": _either_way,
    "short-bleed": _to_print,
}
