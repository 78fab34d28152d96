"""The map of an outline and a line across it: vertices where they meet, runs between, rounds about the parts.

See `parting` for what it is for and where it comes from.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from bladewise.geometry.crossings import Curves, project
from bladewise.geometry.curves import point_at, sub_segments, turning_parameters
from bladewise.geometry.distances import nearest, nearest_each
from bladewise.geometry.node_edits import node_added
from bladewise.geometry.nodes import node_table
from bladewise.geometry.passes import crossing_passes
from bladewise.geometry.path import Floats, Path, SegmentKind, joined
from bladewise.geometry.regions import Region
from bladewise.geometry.sources import gather, has_extent
from bladewise.geometry.tolerances import COINCIDENT_MM, FINE_FLATTENING_MM
from bladewise.geometry.winding import contains

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.geometry.arcs import Rows

_ONE_PLACE_MM = 1e-7
"""Crossings nearer than this are one vertex."""

AT_NODE = 1e-9
"""A parameter this near to 0 or 1 is the node."""

_LOOK_MM = 0.01
"""How far along a run one looks to see which way it goes, so that runs that touch are told apart."""


class Ring(NamedTuple):
    """A ring that bounds a part: on which side of the line the part lies, and whether the line runs along it."""

    path: Path
    side: int
    reached: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """A stretch of the outline or of the line between two vertices."""

    points: Floats
    kinds: NDArray[np.uint8]
    weights: Floats
    start: int
    end: int

    def path(self) -> Path:
        """Return it as an open path."""
        return Path(self.points, self.kinds, self.weights, np.zeros(1, np.int64), np.zeros(1, bool))

    def rows(self, *, forward: bool) -> Rows:
        """Return the rows in one direction or the other."""
        if forward:
            return self.points, self.kinds, self.weights
        return self.points[::-1, ::-1], self.kinds[::-1], self.weights[::-1]

    def way(self, *, forward: bool, look_mm: float) -> float:
        """Return the direction in which it leaves its start (its end, seen backwards), radians."""
        points, kinds, weights = self.rows(forward=forward)
        t = np.append(0.0, 0.5 ** np.arange(40.0, -1.0, -1.0))
        for _ in range(2):
            rows = np.zeros(len(t), np.int64)
            at = point_at(points[rows], kinds[rows], weights[rows], t) - points[0, 0]
            far = int(np.argmax(np.hypot(*at.T) >= look_mm))
            t = np.linspace(t[max(far - 1, 0)], t[far], 33)
        return math.atan2(*at[far][::-1])

    @property
    def reach_mm(self) -> float:
        """How far its first and last segments reach, the lesser of both."""
        first, last = self.points[0], self.points[-1]
        return min(float(np.ptp(first, axis=0).max()), float(np.ptp(last, axis=0).max()))


class PartingMap:
    """The vertices at which an outline and a line meet, and the runs between them."""

    def __init__(self, outline: Path, line: Path) -> None:
        self.outline, self.line = outline, line
        self.places: list[Floats] = []
        self.on_outline: dict[int, list[tuple[float, int]]] = {}
        self.on_line: dict[int, list[tuple[float, int]]] = {}
        self._nodes()
        self._crossings()
        runs, _ = self._runs(self.line, self.on_line)
        self.cuts = _once(self._inside(runs))

    def rings(self) -> list[Ring] | None:
        """Return all rings that bound a part; None if one does not come back to where it began."""
        cuts = self.cuts
        while True:
            cuts = _tied(cuts, self._outline_vertices())
            used = {vertex for run in cuts for vertex in (run.start, run.end)}
            marks = {segment: [mark for mark in marks if mark[1] in used] for segment, marks in self.on_outline.items()}
            edges, whole = self._runs(self.outline, marks)
            rounds = _rounds(edges, cuts)
            if rounds is None:
                return None
            of = {half: number for number, round_ in enumerate(rounds) for half in round_}
            idle = {
                number for number in range(len(cuts)) if of[len(edges) + number, True] == of[len(edges) + number, False]
            }
            if not idle:
                break
            cuts = [run for number, run in enumerate(cuts) if number not in idle]
        rings = [Ring(path, 0, reached=False) for path in whole]
        for round_ in rounds:
            rows = [(*edges, *cuts)[number].rows(forward=forward) for number, forward in round_]
            sides = {1 if forward else -1 for number, forward in round_ if number >= len(edges)}
            rings.append(Ring(_closed(rows), sides.pop() if len(sides) == 1 else 0, reached=True))
        return rings

    def _vertex(self, place: Floats, within_mm: float = _ONE_PLACE_MM) -> int:
        for number, known in enumerate(self.places):
            if math.dist(known, place) <= within_mm:
                return number
        self.places.append(place)
        return len(self.places) - 1

    def _nodes(self) -> None:
        """Make the line's nodes vertices, and tie them to the outline or to the line where they lie on it."""
        nodes = node_table(self.line)
        near = nearest_each(self.outline, nodes.points)
        on = near.distances_mm <= COINCIDENT_MM
        low, high = self.line.points.min(axis=1) - COINCIDENT_MM, self.line.points.max(axis=1) + COINCIDENT_MM
        for node, (x, y) in enumerate(nodes.points.tolist()):
            after, before = int(nodes.segment_after[node]), int(nodes.segment_before[node])
            vertex = self._vertex(near.points[node] if on[node] else nodes.points[node], COINCIDENT_MM)
            if on[node]:
                _mark(self.on_outline, int(near.segments[node]), float(near.parameters[node]), vertex)
            _mark(self.on_line, after if after >= 0 else before, 0.0 if after >= 0 else 1.0, vertex)
            close = ((low <= (x, y)) & (high >= (x, y))).all(axis=1)
            close[[each for each in (after, before) if each >= 0]] = False
            for segment in np.flatnonzero(close).tolist():
                foot = nearest(_apart(self.line, [segment]), (x, y))
                if foot.distance_mm <= COINCIDENT_MM:
                    _mark(self.on_line, segment, foot.t, vertex)

    def _crossings(self) -> None:
        """Tie line and outline, and the line and itself, where they cross."""
        both = joined([self.outline, self.line])
        sources = gather([Region(self.outline), Region(self.line)], close=False)
        real = np.flatnonzero(has_extent(both.points))
        found = crossing_passes(sources, FINE_FLATTENING_MM)
        touched = list(self.places)
        rows = np.stack([real[found.first], real[found.second]], axis=1)
        edge = len(self.outline)
        for pair, place in zip(rows.tolist(), found.places, strict=True):
            if lies_near(place, touched, 2.0 * COINCIDENT_MM):
                continue
            feet = [_foot(both, row, place) for row in pair]
            # near to being tangent the place is not quite on both: the outline stays and the line gives way
            outer = [point for row, (_, point) in zip(pair, feet, strict=True) if row < edge]
            vertex = self._vertex(outer[0] if outer else place)
            for row, (t, _) in zip(pair, feet, strict=True):
                marks, segment = (self.on_outline, row) if row < edge else (self.on_line, row - edge)
                _mark(marks, segment, t, vertex)

    def _outline_vertices(self) -> set[int]:
        return {vertex for marks in self.on_outline.values() for _, vertex in marks}

    def _runs(self, path: Path, marks: dict[int, list[tuple[float, int]]]) -> tuple[list[_Run], list[Path]]:
        """Return the runs of a path between its marks, and the closed subpaths without any.

        Ends that are no vertex get one of their own, and so does the start of a closed line.
        """
        runs: list[_Run] = []
        whole: list[Path] = []
        for start, end, part in zip(path.starts.tolist(), path.ends.tolist(), path.subpaths(), strict=True):
            count, closed = end - start, bool(part.closed[0])
            stops: dict[float, int] = {}
            for segment in range(start, end):
                for t, vertex in marks.get(segment, ()):
                    stops[_place(segment - start, t, count, closed=closed)] = vertex
            if closed and not stops:
                if path is self.outline:
                    whole.append(part)
                    continue
                stops[0.0] = self._vertex(part.points[0, 0])
            if not closed:
                stops.setdefault(0.0, self._vertex(part.points[0, 0]))
                stops.setdefault(float(count), self._vertex(part.points[-1, 3]))
            order = sorted(stops.items())
            if closed:
                order.append((order[0][0] + count, order[0][1]))
            for (a, first), (b, last) in pairwise(order):
                rows = _between(part, a, b, self.places[first], self.places[last])
                if rows is not None:
                    runs.append(_Run(*rows, first, last))
        return runs, whole

    def _inside(self, runs: list[_Run]) -> list[_Run]:
        """Return the runs of the line that lie within the outline, not beside it and not along it."""
        if not runs:
            return []
        of = np.repeat(np.arange(len(runs)), [3 * len(run.kinds) for run in runs])
        points, kinds, weights = (
            np.repeat(np.concatenate([getattr(run, name) for run in runs]), 3, axis=0)
            for name in ("points", "kinds", "weights")
        )
        at = point_at(points, kinds, weights, np.tile([0.25, 0.5, 0.75], len(of) // 3))
        off = np.flatnonzero(nearest_each(self.outline, at).distances_mm > COINCIDENT_MM)
        inside = off[contains(Region(self.outline), at[off])]
        first = {int(of[row]): row for row in off[::-1].tolist()}  # a run does not cross: one place tells
        held = set(inside.tolist())
        return [run for number, run in enumerate(runs) if first.get(number) in held]


def simple(line: Path) -> Path:
    """Return a line of which no segment crosses itself: those that do are parted where they turn."""
    sources = gather([Region(line)], close=False)
    found = crossing_passes(sources, FINE_FLATTENING_MM)
    real = np.flatnonzero(has_extent(line.points))
    loops = sorted(set(real[found.first[found.first == found.second]].tolist()), reverse=True)
    turns = np.concatenate([turning_parameters(line, 0), turning_parameters(line, 1)], axis=1)
    for segment in loops:
        rest = 1.0  # a loop is a cubic: what is left after a cut runs evenly from 0 to where it was cut
        for t in sorted(turns[segment][np.isfinite(turns[segment])].tolist(), reverse=True):
            if AT_NODE < t / rest < 1.0 - AT_NODE:
                line, rest = node_added(line, segment, t / rest).path, t
    return line


def _once(runs: list[_Run]) -> list[_Run]:
    """Return the runs with those that are only a point left out, and those that lie on one another once."""
    kept: list[_Run] = []
    of: dict[tuple[int, int], list[_Run]] = {}
    for run in runs:
        if run.start == run.end and float(np.ptp(run.points.reshape(-1, 2), axis=0).max()) <= COINCIDENT_MM:
            continue
        ends = (min(run.start, run.end), max(run.start, run.end))
        middle = point_at(run.points[:1], run.kinds[:1], run.weights[:1], np.array([0.5]))[0]
        others = of.setdefault(ends, [])
        if all(nearest(other.path(), tuple(middle)).distance_mm > COINCIDENT_MM for other in others):
            others.append(run)
            kept.append(run)
    return kept


def _tied(cuts: list[_Run], anchors: set[int]) -> list[_Run]:
    """Return the runs of the line without those that hang loose at an end."""
    while True:
        ends: dict[int, int] = {}
        for run in cuts:
            for vertex in (run.start, run.end):
                ends[vertex] = ends.get(vertex, 0) + 1
        kept = [run for run in cuts if all(ends[v] > 1 or v in anchors for v in (run.start, run.end))]
        if len(kept) == len(cuts):
            return cuts
        cuts = kept


def _rounds(edges: list[_Run], cuts: list[_Run]) -> list[list[tuple[int, bool]]] | None:
    """Return the rounds about all parts, each as runs by number (edges, then cuts) and direction.

    None if two runs seem to go on into the same one: they lie too close to tell.
    """
    runs = [*edges, *cuts]
    halves = [(number, True) for number in range(len(runs))]
    halves += [(number, False) for number in range(len(edges), len(runs))]
    leaving: dict[int, list[tuple[int, bool]]] = {}
    for number, forward in halves:
        leaving.setdefault(runs[number].start if forward else runs[number].end, []).append((number, forward))
    following = {}
    for number, forward in halves:
        run = runs[number]
        choices = leaving[run.end if forward else run.start]
        if len(choices) > 1:
            choices = [half for half in choices if half != (number, not forward)]
        if len(choices) > 1:
            look = min(_LOOK_MM, 0.1 * min(runs[each].reach_mm for each in (number, *(half[0] for half in choices))))
            back = run.way(forward=not forward, look_mm=look)
            turn = [(back - runs[each].way(forward=ahead, look_mm=look)) % (2.0 * math.pi) for each, ahead in choices]
            choices = [choices[int(np.argmin(turn))]]
        following[number, forward] = choices[0]
    if len(set(following.values())) < len(halves):
        return None
    rounds = []
    left = dict.fromkeys(halves)
    while left:
        half = next(iter(left))
        round_ = []
        while half in left:
            del left[half]
            round_.append(half)
            half = following[half]
        rounds.append(round_)
    return rounds


def _between(part: Path, start: float, end: float, first: Floats, last: Floats) -> Rows | None:
    """Return the rows of one subpath from one place to another, ending on the very points given."""
    count = len(part)
    rows, t0, t1 = [], [], []
    for segment in range(math.floor(start), math.ceil(end)):
        a, b = max(start - segment, 0.0), min(end - segment, 1.0)
        if b > a:
            rows.append(segment % count)
            t0.append(a)
            t1.append(b)
    if not rows:
        return None
    points, weights = sub_segments(part.points[rows], part.kinds[rows], part.weights[rows], np.array(t0), np.array(t1))
    points[0, 0], points[-1, 3] = first, last
    kinds = part.kinds[rows]
    line = kinds == SegmentKind.LINE
    points[line, 1], points[line, 2] = points[line, 0], points[line, 3]
    return points, kinds, weights


def _place(segment: int, t: float, count: int, *, closed: bool) -> float:
    """Return a place along a subpath as segment plus parameter, nodes as whole numbers."""
    t = 0.0 if t < AT_NODE else 1.0 if t > 1.0 - AT_NODE else t
    along = segment + t
    return 0.0 if closed and along == count else along


def _foot(path: Path, segment: int, place: Floats) -> tuple[float, Floats]:
    """Return the parameter and the point of a segment nearest to a place that should lie on it."""
    row = slice(segment, segment + 1)
    curve = Curves(path.points[row], path.kinds[row], path.weights[row])
    t, away = project(curve, place[None])
    if away[0] <= COINCIDENT_MM:
        return float(t[0]), point_at(*curve, t)[0]
    foot = nearest(_apart(path, [segment]), (float(place[0]), float(place[1])))
    return foot.t, np.array(foot.point)


def _apart(path: Path, rows: Sequence[int] | NDArray[np.int64]) -> Path:
    """Return some segments of a path, each a line of its own."""
    chosen = np.array(rows, np.int64)
    starts, closed = np.arange(len(chosen)), np.zeros(len(chosen), bool)
    return Path(path.points[chosen], path.kinds[chosen], path.weights[chosen], starts, closed)


def _mark(marks: dict[int, list[tuple[float, int]]], segment: int, t: float, vertex: int) -> None:
    marks.setdefault(segment, []).append((t, vertex))


def _closed(rows: Sequence[Rows]) -> Path:
    """Return rows that go round as a closed path."""
    points, kinds, weights = (np.concatenate([each[column] for each in rows]) for column in range(3))
    return Path(points, kinds, weights, np.zeros(1, np.int64), np.ones(1, bool))


def lies_near(place: Floats, places: Sequence[Floats] | Floats, within_mm: float = COINCIDENT_MM) -> bool:
    """Whether a place is one of several, but for a hair."""
    return any(math.dist(place, other) <= within_mm for other in places)
