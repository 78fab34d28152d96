"""A polyline parted at its corners and straights into runs that are ready to be followed.

Lengths are mm, y down.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.conics import Elliptic, elliptic_run
from bladewise.geometry.pieces import Run
from bladewise.geometry.tolerances import BOW_SHARE, SMOOTH_JOINT_DEG
from bladewise.geometry.tracks import Structure, bows, directions, structure

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats, Path

_SHAKY = 0.1
"""Points that scatter by this share of the tolerance about a smooth line are freehand: nodes go on the line."""
_AGREE = math.cos(math.radians(SMOOTH_JOINT_DEG))
"""An elliptic run goes on in the direction of the straights beside it to this cosine."""


class Polyline(NamedTuple):
    """Vertices in order, with what is known of them."""

    points: Floats
    closed: bool
    tangents: Floats | None = None
    """Known directions, shape (n, 2); NaN where not known."""
    corner: NDArray[np.bool_] | None = None
    """Vertices known to be corners."""
    straight: NDArray[np.bool_] | None = None
    """Chords known to be lines."""
    segment: NDArray[np.int64] | None = None
    """Of samples of a path: the segment that begins at each vertex that is a node, −1 at the others."""
    source: Path | None = None
    """The path they are samples of."""


def without_repeats(line: Polyline) -> Polyline:
    """Return a polyline without vertices that repeat the one before."""
    points = line.points
    if not len(points):
        return line
    same = (points == np.roll(points, -1, axis=0)).all(axis=1)
    if not line.closed:
        same[-1] = False
    elif same.all():
        same[0] = False
    if not same.any():
        return line
    keep = ~same
    corner = line.corner
    if corner is not None:  # the corner moves to the vertex that stays
        corner = (corner | (np.roll(corner, 1) & np.roll(same, 1)))[keep]
    straight = line.straight
    if straight is not None:
        straight = straight[keep if line.closed else keep[:-1]]
    tangents = None if line.tangents is None else line.tangents[keep]
    # with places run twice, what is between the nodes is no longer each one segment
    return Polyline(points[keep], line.closed, tangents, corner, straight)


class Plan(NamedTuple):
    """What a polyline becomes, in order: lines (start, end), and numbers of runs."""

    items: list[int | Floats]
    kept: list[int]
    """For each item that is a run, the number of the run that keeps its nodes; else −1."""
    elliptic: list[Elliptic | None]


def planned(line: Polyline, tolerance_mm: float, runs: list[Run]) -> Plan:
    """Part a polyline at its corners and straights."""
    points = line.points
    if line.corner is not None and line.tangents is None:
        corner = line.corner.copy()
        straight = np.zeros(len(points) if line.closed else len(points) - 1, np.bool_)
    else:
        found = structure(points, tolerance_mm, closed=line.closed)
        corner, straight = found.corner, found.straight
    if line.corner is not None and line.straight is not None and line.tangents is not None:
        # what is known of the curves' own nodes stands before what the points tell
        known = np.isfinite(line.tangents[:, 0])
        corner = np.where(known, line.corner, corner)
        known_edge = known & np.roll(known, -1)
        straight = np.where(known_edge if line.closed else known_edge[:-1], line.straight, straight | line.straight)
    if not line.closed:
        corner[[0, -1]] = True
    return _parted(line, Structure(corner, straight), tolerance_mm, runs)


def _parted(line: Polyline, found: Structure, tolerance_mm: float, runs: list[Run]) -> Plan:
    points, count = line.points, len(line.points)
    corner, straight = found
    edges = np.append(straight, False) if not line.closed else straight
    # a boundary is a corner or the end of a straight
    leading = np.roll(edges, 1)
    boundary = corner | (edges != leading)
    if not line.closed:
        boundary[[0, -1]] = True
    stops = np.flatnonzero(boundary)
    plan = Plan([], [], [])
    if not len(stops):
        if edges.all():
            stops = np.array([0])
        else:
            across = points[:, 0] if line.segment is None else np.where(line.segment >= 0, points[:, 0], np.inf)
            first = int(np.argmin(across))  # a smooth ring begins where it is leftmost
            order = np.append(np.arange(first, count), np.arange(first + 1))
            _add_run(plan, runs, line, order, tolerance_mm, (False, False), (None, None), wrap=True)
            return plan
    spans = np.append(stops[1:], stops[0] + count) if line.closed else stops[1:]
    for start, end in zip(stops.tolist(), spans.tolist(), strict=False):
        order = np.arange(start, end + 1) % count
        if edges[start] or end == start + 1:
            plan.items.append(points[order[[0, -1]]])
            plan.kept.append(-1)
            plan.elliptic.append(None)
            continue
        free = (bool(corner[order[0]]), bool(corner[order[-1]]))
        ways: list[Floats | None] = [None, None]
        if not free[0] and leading[order[0]]:
            ways[0] = _chord_way(points, stops, order[0], -1)
        if not free[1] and edges[order[-1]]:
            ways[1] = _chord_way(points, stops, order[-1], 1)
        _add_run(plan, runs, line, order, tolerance_mm, free, (ways[0], ways[1]), wrap=False)
    return plan


def _chord_way(points: Floats, stops: NDArray[np.int64], at: int, step: int) -> Floats:
    """Return the unit direction of the straight that ends (step −1) or begins (+1) at a stop."""
    place = int(np.searchsorted(stops, at))
    other = points[stops[(place + step) % len(stops)]]
    way = (other - points[at]) * step
    unit: Floats = way / np.hypot(*way)
    return unit


def _add_run(
    plan: Plan,
    runs: list[Run],
    line: Polyline,
    order: NDArray[np.int64],
    tolerance_mm: float,
    free: tuple[bool, bool],
    ways: tuple[Floats | None, Floats | None],
    *,
    wrap: bool,
) -> None:
    """Make a stretch of a polyline ready to be followed; once more, where it has nodes of its own to keep."""
    points = line.points[order]
    tangents, places = directions(points, tolerance_mm, wrap=wrap)
    nodes = points.copy()
    if line.tangents is not None:
        known = line.tangents[order]
        long = np.hypot(known[:, 0], known[:, 1])
        use = np.isfinite(long) & (long > 0.0)
        use[[0, -1]] &= wrap  # where runs meet, each has its own direction
        tangents[use] = known[use] / long[use, None]
    else:
        shift = np.hypot(*(places - points).T)
        scatter = math.sqrt(float(np.mean(shift**2)))
        if scatter > _SHAKY * tolerance_mm:
            move = shift < tolerance_mm / 2.0
            move[[0, -1]] &= wrap
            nodes[move] = places[move]
            if wrap:
                nodes[-1] = nodes[0]
    if wrap:
        tangents[-1] = tangents[0]
    for end, way in zip((0, -1), ways, strict=True):
        if way is not None:
            tangents[end] = way
    bow = np.clip(bows(points, closed=False), -BOW_SHARE * tolerance_mm, BOW_SHARE * tolerance_mm)
    edge = np.diff(points, axis=0)
    left = np.stack([edge[:, 1], -edge[:, 0]], axis=1) / np.hypot(edge[:, 0], edge[:, 1])[:, None]
    track = np.empty((2 * len(points) - 1, 2))
    track[::2] = points
    track[1::2] = (points[:-1] + points[1:]) / 2.0 + bow[:, None] * left
    allowed = np.full(len(track), tolerance_mm)
    allowed[1::2] -= np.abs(bow)
    spots = np.arange(0, len(track), 2)
    plan.items.append(len(runs))
    runs.append(Run(nodes, track, spots, allowed, tangents, free))
    elliptic = None if wrap else elliptic_run(points, track, allowed)
    if elliptic is not None:
        for way, own in zip(ways, (elliptic.first, elliptic.last), strict=True):
            if way is not None and float(way @ own) < _AGREE:
                elliptic = None
                break
    plan.elliptic.append(elliptic)
    kept = -1
    if line.segment is not None and line.source is not None:
        has = line.segment[order] >= 0
        has[-1] = True
        if has[0]:
            kept = len(runs)
            mine = line.segment[order[:-1]][has[:-1]]
            rows = (line.source.points[mine], line.source.kinds[mine], line.source.weights[mine])
            runs.append(Run(points[has], track, spots[has], allowed, tangents[has], free, rows))
    plan.kept.append(kept)
