"""The fewest lines, arcs and cubics that follow given points within a tolerance.

Many files bring curves as hundreds of chords. `fit_polyline` tells what they were (`tracks`): corners
stay corners, long chords stay lines, and each smooth run between them is followed from its start by
the longest piece that is near enough, a line if one will do, else an arc, else a cubic (`handles`),
until its end is reached. The longest piece is found by halving, for all runs at once. Pieces of a run
join without a kink: a cubic takes over the direction of the line or the arc beside it.

`refit` does the same for a path that has curves already, to rid it of needless nodes; a larger
tolerance smooths a freehand line. Neither ever gives more segments than it was given.

Lengths are mm, y down. Within the tolerance means: every given point lies that near to the result,
and the result strays no farther from the chords between them.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.flatten import flatten
from bladewise.geometry.following import Run, arc_rows, follow, line_rows
from bladewise.geometry.measures import tangent_at
from bladewise.geometry.path import EMPTY, Path, SegmentKind, joined, polygon
from bladewise.geometry.tracks import BOW_SHARE, Structure, bows, directions, structure

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from bladewise.geometry.path import Floats

_SHAKY = 0.1
"""Points that scatter by this share of the tolerance about a smooth line are freehand: nodes go on the line."""
_SAME_DIRECTION = math.radians(4.0)
"""Segments of a path that meet at less than this angle are one smooth curve."""
_REFIT_FLATTENING = 0.05
"""A path is sampled to this share of the tolerance before it is fitted again."""


def fit_polyline(points: ArrayLike, tolerance_mm: float, *, closed: bool = False) -> Path:
    """Return the fewest lines, arcs and cubics through a polyline, within a tolerance.

    Parameters
    ----------
    points
        Vertices, shape (n, 2) in mm. Repeated ones are ignored; the first may be repeated at the end
        of a closed one.
    tolerance_mm
        How far the result may be from the polyline. For chords of curves take at least one and a
        half times what they were cut to: nearer than that, the chords are all there is to follow.
    closed
        Whether the last vertex is joined to the first.

    Returns
    -------
    Path
        One subpath; of one place only, a dot (a line of no length); of none, the empty path.

    Raises
    ------
    ValueError
        If the tolerance is not above 0 or a point is not finite.
    """
    at = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    _require(tolerance_mm)
    if not np.isfinite(at).all():
        message = "points must be finite"
        raise ValueError(message)
    line = _Polyline(at, None, None, None, closed)
    return joined(_fitted([line], tolerance_mm))


def refit(path: Path, tolerance_mm: float) -> Path:
    """Return the path with the fewest segments within a tolerance of it.

    Subpaths that would not come out with fewer segments stay as they are, to the last bit.

    Raises
    ------
    ValueError
        If the tolerance is not above 0.
    """
    _require(tolerance_mm)
    before = list(path.subpaths())
    after = _fitted([_sampled(subpath, tolerance_mm) for subpath in before], tolerance_mm)
    return joined(new if len(new) < len(old) else old for old, new in zip(before, after, strict=True))


def _require(tolerance_mm: float) -> None:
    if not tolerance_mm > 0.0:
        message = f"the tolerance must be above 0 mm, not {tolerance_mm}"
        raise ValueError(message)


class _Polyline(NamedTuple):
    """Vertices in order, with what is known of them."""

    points: Floats
    tangents: Floats | None
    """Known directions, shape (n, 2); NaN where not known."""
    corner: NDArray[np.bool_] | None
    """Vertices known to be corners."""
    straight: NDArray[np.bool_] | None
    """Chords known to be lines."""
    closed: bool


def _sampled(subpath: Path, tolerance_mm: float) -> _Polyline:
    """Return a subpath as points on its curves, with their true directions."""
    flat = flatten(subpath, tolerance_mm * _REFIT_FLATTENING)
    closed = bool(subpath.closed[0])
    count = len(flat.coords) - 1 if closed else len(flat.coords)
    points, segment, t = flat.coords[:count], flat.segment[:count], flat.t[:count]
    line = subpath.kinds == SegmentKind.LINE
    leaving = tangent_at(subpath, segment, t)
    before = np.where(t == 0.0, (segment - 1) % len(subpath), segment)
    arriving = leaving.copy()
    node = (t == 0.0) & (closed | (segment > 0))
    arriving[node] = tangent_at(subpath, before[node], np.ones(int(node.sum())))
    turn = np.abs(
        np.arctan2(arriving[:, 0] * leaving[:, 1] - arriving[:, 1] * leaving[:, 0], (arriving * leaving).sum(axis=1))
    )
    chords = line[segment] & line[before]
    corner = node & ~chords & (turn > _SAME_DIRECTION)
    tangents = np.where(line[before][:, None], leaving, arriving)
    tangents = np.where((line[segment] | line[before])[:, None], tangents, arriving + leaving)
    tangents[chords] = np.nan
    # a line between curves was drawn as a line
    straight = line[segment].copy()
    if len(subpath) > 1:
        following = np.roll(line, -1) if closed else np.append(line[1:], False)
        leading = np.roll(line, 1) if closed else np.append(False, line[:-1])
        straight &= ~(following[segment] | leading[segment])
    if not closed:
        straight = straight[:-1]
    return _Polyline(points, tangents, corner, straight, closed)


# ---------------------------------------------------------------------------------------- into runs


def _without_repeats(line: _Polyline) -> _Polyline:
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
    return _Polyline(points[keep], tangents, corner, straight, line.closed)


def _fitted(lines: Sequence[_Polyline], tolerance_mm: float) -> list[Path]:
    """Return a path for each polyline; their runs are all followed together."""
    runs: list[Run] = []
    plans: list[Path | list[int | Floats]] = []
    shapes = [_without_repeats(line) for line in lines]
    for line in shapes:
        if len(line.points) <= 2:  # nothing to fit
            plans.append(_trivial(line))
            continue
        round_ = _whole_circle(line, tolerance_mm)
        plans.append(_plan(line, tolerance_mm, runs) if round_ is None else round_)
    followed = follow(runs) if runs else []
    out = []
    for line, plan in zip(shapes, plans, strict=True):
        if isinstance(plan, Path):
            out.append(plan)
            continue
        rows = [line_rows(item) if isinstance(item, np.ndarray) else followed[item] for item in plan]
        points, kinds, weights = (np.concatenate(column) for column in zip(*rows, strict=True))
        out.append(Path(points, kinds, weights, np.zeros(1, np.int64), np.array([line.closed])))
    return out


def _trivial(line: _Polyline) -> Path:
    points = [(float(x), float(y)) for x, y in line.points]
    if not points:
        return EMPTY
    return polygon(points if len(points) > 1 else points * 2, closed=line.closed)


def _plan(line: _Polyline, tolerance_mm: float, runs: list[Run]) -> list[int | Floats]:
    """Part a polyline at its corners and straights; return lines (start, end) and numbers of runs in order."""
    points = line.points
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


def _parted(line: _Polyline, found: Structure, tolerance_mm: float, runs: list[Run]) -> list[int | Floats]:
    points, count = line.points, len(line.points)
    corner, straight = found
    edges = np.append(straight, False) if not line.closed else straight
    # a boundary is a corner or the end of a straight
    leading = np.roll(edges, 1)
    boundary = corner | (edges != leading)
    if not line.closed:
        boundary[[0, -1]] = True
    stops = np.flatnonzero(boundary)
    if not len(stops):
        if edges.all():
            stops = np.array([0])
        else:
            first = int(np.argmin(points[:, 0]))  # a smooth ring begins where it is leftmost
            order = np.append(np.arange(first, count), np.arange(first + 1))
            runs.append(_prepared(line, order, tolerance_mm, (False, False), (None, None), wrap=True))
            return [len(runs) - 1]
    plan: list[int | Floats] = []
    spans = np.append(stops[1:], stops[0] + count) if line.closed else stops[1:]
    for start, end in zip(stops.tolist(), spans.tolist(), strict=False):
        order = np.arange(start, end + 1) % count
        if edges[start] or end == start + 1:
            plan.append(points[order[[0, -1]]])
            continue
        free = (bool(corner[order[0]]), bool(corner[order[-1]]))
        ways: list[Floats | None] = [None, None]
        if not free[0] and leading[order[0]]:
            ways[0] = _chord_way(points, stops, order[0], -1)
        if not free[1] and edges[order[-1]]:
            ways[1] = _chord_way(points, stops, order[-1], 1)
        runs.append(_prepared(line, order, tolerance_mm, free, (ways[0], ways[1]), wrap=False))
        plan.append(len(runs) - 1)
    return plan


def _chord_way(points: Floats, stops: NDArray[np.int64], at: int, step: int) -> Floats:
    """Return the unit direction of the straight that ends (step −1) or begins (+1) at a stop."""
    place = int(np.searchsorted(stops, at))
    other = points[stops[(place + step) % len(stops)]]
    way = (other - points[at]) * step
    unit: Floats = way / np.hypot(*way)
    return unit


def _prepared(
    line: _Polyline,
    order: NDArray[np.int64],
    tolerance_mm: float,
    free: tuple[bool, bool],
    ways: tuple[Floats | None, Floats | None],
    *,
    wrap: bool,
) -> Run:
    points = line.points[order]
    tangents, places = directions(points, tolerance_mm, wrap=wrap)
    nodes = points.copy()
    if line.tangents is not None:
        known = line.tangents[order]
        long = np.hypot(known[:, 0], known[:, 1])
        use = np.isfinite(long) & (long > 0.0)
        use[[0, -1]] = False  # where runs meet, each has its own direction
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
    return Run(nodes, track, allowed, tangents, free)


def _whole_circle(line: _Polyline, tolerance_mm: float) -> Path | None:
    """Return the circle a closed polyline stands for, if it does (least squares by I. Kåsa, 1976)."""
    points = line.points
    if not line.closed or len(points) < 6:
        return None
    origin = points.mean(axis=0)
    x, y = (points - origin).T
    found, *_ = np.linalg.lstsq(np.stack([x, y, np.ones(len(x))], axis=1), x * x + y * y, rcond=None)
    centre = found[:2] / 2.0
    radius = math.sqrt(max(float(found[2] + centre @ centre), 0.0))
    spoke = np.stack([x, y], axis=1) - centre
    away = np.abs(np.hypot(spoke[:, 0], spoke[:, 1]) - radius)
    after = np.roll(spoke, -1, axis=0)
    step = np.arctan2(spoke[:, 0] * after[:, 1] - spoke[:, 1] * after[:, 0], (spoke * after).sum(axis=1))
    inside = radius - np.hypot(*((spoke + after) / 2.0).T)
    whole = abs(abs(step.sum()) - 2.0 * math.pi) < 1e-6 and (step * step.sum() > -1e-9).all()
    if not whole or radius <= 2.0 * tolerance_mm or max(away.max(), inside.max()) > tolerance_mm:
        return None
    way = math.copysign(1.0, step.sum())
    first = centre + origin + (radius, 0.0)
    rows = arc_rows(first, first, centre + origin, way * 2.0 * math.pi)
    return Path(*rows, np.zeros(1, np.int64), np.array([True]))
