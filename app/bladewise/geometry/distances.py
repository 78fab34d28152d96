"""Nearest places and least distances between true curves, found by bounding, not by sampling.

The squared distance from a point to a segment is a polynomial of degree six in Bernstein form (over
the square of the weight's, for arcs). Its coefficients bound it from below, so a stretch whose
coefficients all lie above the best distance so far cannot hold the nearest point; the others are
halved (the idea of Bézier clipping: T. Sederberg and T. Nishita 1990; D. Schneider, "The nearest
point on curve problem", Graphics Gems, 1990, from memory). The bound closes in with the square of
the stretch, so a dozen halvings leave next to nothing, which Newton's method settles. No minimum is
missed for lack of a starting guess.

Lengths are mm. A segment's parameter t runs from 0 to 1.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.bernstein import derivatives, halves, points_on, rational_cubics

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from bladewise.geometry.path import Floats, Path, Point

_HALVINGS = 11
"""Newton starts from stretches of 1/2048 of a segment, where it no longer leaps to another minimum."""
_POLISH = 8
"""Newton steps; it doubles its digits at each, and where it does not the minimum is too flat to matter."""
_CLOSE_ENOUGH_MM = 1e-7
"""Least distances are found to this; below it two outlines touch."""
_MOST_PAIRS = 200_000
"""Pairs of stretches of two outlines kept at once. Long runs at one constant distance could ask for
more; all of them are then as near as the best to within the bound already reached."""

_PROMISING = 32
"""Pairs settled at each halving."""
_SHORTEST = 1e-12
"""A stretch of this parameter length is a point."""

_TRIANGLE = np.array([1.0, 3.0, 3.0, 1.0])
_SIXTH = np.array([1.0, 6.0, 15.0, 20.0, 15.0, 6.0, 1.0])
_PRODUCT = np.zeros((16, 7))
"""From the sixteen products of two cubics' coefficients to the seven of their product."""
for _i in range(4):
    for _j in range(4):
        _PRODUCT[4 * _i + _j, _i + _j] = _TRIANGLE[_i] * _TRIANGLE[_j] / _SIXTH[_i + _j]


class Nearest(NamedTuple):
    """The place of a path nearest to a point."""

    distance_mm: float
    segment: int
    t: float
    point: Point


class NearestEach(NamedTuple):
    """The places of a path nearest to each of m points; every array has m rows."""

    distances_mm: Floats
    segments: NDArray[np.int64]
    parameters: Floats
    points: Floats


class Gap(NamedTuple):
    """The least distance between two paths and where it is."""

    distance_mm: float
    first: Nearest
    second: Nearest


def nearest(path: Path, point: Point) -> Nearest:
    """Return the place of the path nearest to a point; of several equally near ones, any.

    An empty path gives an infinite distance, segment −1 and NaN for t and the point.

    Examples
    --------
    >>> from bladewise.geometry.path import circle
    >>> nearest(circle((0.0, 0.0), 10.0), (3.0, 0.0)).distance_mm
    7.0
    """
    return _row(nearest_each(path, point), 0)


def nearest_each(path: Path, points: ArrayLike) -> NearestEach:
    """Return the place of the path nearest to each of the points, shape (m, 2) in mm; see `nearest`."""
    at = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    best = _Best(len(at))
    if path and len(at):
        query, segment = _candidates(path, at)
        # relative to the point, so that small distances keep their digits far from the page's corner
        control = rational_cubics(path)[segment]
        control[..., :2] -= at[query][:, None, :] * control[..., 2:]
        start, width = np.zeros(len(query)), 1.0
        best.offer(query, segment, start, _reach(control[:, 0]))
        best.offer(query, segment, start + 1.0, _reach(control[:, 3]))
        for _ in range(_HALVINGS):
            query, segment, start, control = _keep(best, query, segment, start, control)
            if not len(query):
                break
            width /= 2.0
            first, second = halves(control)
            best.offer(query, segment, start + width, _reach(second[:, 0]))
            query, segment = np.concatenate([query, query]), np.concatenate([segment, segment])
            start, control = np.concatenate([start, start + width]), np.concatenate([first, second])
        query, segment, start, control = _keep(best, query, segment, start, control)
        _polish(path, at, best, query, segment, start + width / 2.0)
    return best.answer(path)


def _reach(ends: Floats) -> Floats:
    squared: Floats = (ends[:, 0] ** 2 + ends[:, 1] ** 2) / ends[:, 2] ** 2
    return squared


class _Best:
    """The nearest place found so far for each query."""

    def __init__(self, count: int) -> None:
        self.squared = np.full(count, np.inf)
        self.segment = np.full(count, -1, np.int64)
        self.t = np.full(count, np.nan)

    def offer(self, query: NDArray[np.int64], segment: NDArray[np.int64], t: Floats, squared: Floats) -> None:
        better = np.flatnonzero(squared < self.squared[query])
        if not len(better):
            return
        order = better[np.lexsort((squared[better], query[better]))]
        order = order[np.r_[True, np.diff(query[order]) > 0]]
        self.squared[query[order]] = squared[order]
        self.segment[query[order]] = segment[order]
        self.t[query[order]] = t[order]

    def answer(self, path: Path) -> NearestEach:
        points = np.full((len(self.t), 2), np.nan)
        known = np.flatnonzero(self.segment >= 0)
        if len(known):
            index, t = self.segment[known], self.t[known]
            origin = path.points[index, 0]
            at = points_on(rational_cubics(path, path.points[:, 0])[index], t[:, None])[:, 0] + origin
            at[t == 1.0] = path.points[index, 3][t == 1.0]
            points[known] = at
        return NearestEach(np.sqrt(self.squared), self.segment, self.t, points)


def _candidates(path: Path, at: Floats) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the pairs (query, segment) in which the nearest place may lie."""
    low, high = path.points.min(axis=1), path.points.max(axis=1)
    boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    spots = shapely.points(at)
    tree = shapely.STRtree(boxes)
    found = tree.query_nearest(spots, all_matches=False)
    bound = np.zeros(len(at))
    # any point of the nearest box's curve bounds the distance from above
    ends = path.points[found[1]][:, [0, 3]] - at[found[0]][:, None, :]
    bound[found[0]] = np.hypot(ends[..., 0], ends[..., 1]).min(axis=1)
    query, segment = tree.query(spots, predicate="dwithin", distance=bound * (1.0 + 1e-9))
    return query.astype(np.int64), segment.astype(np.int64)


def _keep(
    best: _Best, query: NDArray[np.int64], segment: NDArray[np.int64], start: Floats, control: Floats
) -> tuple[NDArray[np.int64], NDArray[np.int64], Floats, Floats]:
    """Drop the stretches that cannot come nearer than what is known."""
    x, y, w = control[..., 0], control[..., 1], control[..., 2]
    known = best.squared[query]
    pairs = x[:, :, None] * x[:, None, :] + y[:, :, None] * y[:, None, :]
    pairs -= known[:, None, None] * (w[:, :, None] * w[:, None, :])
    floor = (pairs.reshape(-1, 16) @ _PRODUCT).min(axis=1)
    alive = floor < -1e-13 * known
    return query[alive], segment[alive], start[alive], control[alive]


def _polish(
    path: Path, at: Floats, best: _Best, query: NDArray[np.int64], segment: NDArray[np.int64], t: Floats
) -> None:
    """Settle the remaining stretches by Newton's method on the derivative of the squared distance."""
    query = np.concatenate([query, np.flatnonzero(best.segment >= 0)])
    segment = np.concatenate([segment, best.segment[best.segment >= 0]])
    t = np.concatenate([t, best.t[best.segment >= 0]])
    control = rational_cubics(path)[segment]
    control[..., :2] -= at[query][:, None, :] * control[..., 2:]
    for _ in range(_POLISH):
        point, first, second = (values[:, 0] for values in derivatives(control, t[:, None]))
        slope = (point * first).sum(axis=1)
        bend = (first * first).sum(axis=1) + (point * second).sum(axis=1)
        safe = np.where(bend > 0.0, bend, (first * first).sum(axis=1))
        step = np.divide(slope, safe, out=np.zeros_like(slope), where=safe > 0.0)
        t = np.clip(t - step, 0.0, 1.0)
    point = points_on(control, t[:, None])[:, 0]
    best.offer(query, segment, t, (point * point).sum(axis=1))


# ------------------------------------------------------------------------------- between two outlines


def least_distance(first: Path, second: Path) -> Gap:
    """Return the least distance between the outlines of two paths and a pair of places that has it.

    Outlines, not areas: a shape inside another has the distance to its edge. 0 where they cross or
    touch (within 1e-7 mm). If either path is empty the distance is infinite and both segments −1.
    """
    if not first or not second:
        nothing = Nearest(math.inf, -1, math.nan, (math.nan, math.nan))
        return Gap(math.inf, nothing, nothing)
    gap = _better(_from_nodes(first, second), _swapped(_from_nodes(second, first)))
    low_a, high_a = first.points.min(axis=1), first.points.max(axis=1)
    low_b, high_b = second.points.min(axis=1), second.points.max(axis=1)
    tree = shapely.STRtree(shapely.box(low_b[:, 0], low_b[:, 1], high_b[:, 0], high_b[:, 1]))
    boxes = shapely.box(low_a[:, 0], low_a[:, 1], high_a[:, 0], high_a[:, 1])
    a, b = (column.astype(np.int64) for column in tree.query(boxes, predicate="dwithin", distance=gap.distance_mm))
    ta, tb = np.zeros(len(a)), np.zeros(len(a))
    origin = first.points[0, 0]
    control_a, control_b = rational_cubics(first, origin)[a], rational_cubics(second, origin)[b]
    width = 1.0
    while len(a):
        floor, middle_a, middle_b = chord_bounds(control_a, control_b)
        # the most promising pairs are settled on the spot, so that the others can be dropped
        some = np.argsort(floor)[:_PROMISING]
        pairs = a[some], b[some], ta[some] + width * middle_a[some], tb[some] + width * middle_b[some]
        gap = _better(gap, _settled(first, second, *pairs))
        alive = np.flatnonzero(floor < gap.distance_mm - _CLOSE_ENOUGH_MM)
        if len(alive) > _MOST_PAIRS:
            alive = alive[np.argsort(floor[alive])[:_MOST_PAIRS]]
        width /= 2.0
        if not len(alive) or width < _SHORTEST:
            break
        a, b, ta, tb = (np.tile(column[alive], 4) for column in (a, b, ta, tb))
        count = len(alive)
        ta[count : 2 * count] += width
        ta[3 * count :] += width
        tb[2 * count :] += width
        (a0, a1), (b0, b1) = halves(control_a[alive]), halves(control_b[alive])
        control_a, control_b = np.concatenate([a0, a1, a0, a1]), np.concatenate([b0, b0, b1, b1])
    return gap


def _row(found: NearestEach, row: int) -> Nearest:
    x, y = found.points[row].tolist()
    return Nearest(float(found.distances_mm[row]), int(found.segments[row]), float(found.parameters[row]), (x, y))


def _from_nodes(first: Path, second: Path) -> Gap:
    """Return the least distance from the nodes of one path to the other path."""
    nodes = np.concatenate([first.points[:, 0], first.points[first.ends - 1, 3]])
    found = nearest_each(second, nodes)
    row = int(np.argmin(found.distances_mm))
    segment, t = (row, 0.0) if row < len(first) else (int(first.ends[row - len(first)]) - 1, 1.0)
    place = Nearest(float(found.distances_mm[row]), segment, t, (float(nodes[row, 0]), float(nodes[row, 1])))
    return Gap(place.distance_mm, place, _row(found, row))


def _swapped(gap: Gap) -> Gap:
    return Gap(gap.distance_mm, gap.second, gap.first)


def _better(one: Gap, other: Gap) -> Gap:
    return other if other.distance_mm < one.distance_mm else one


def _settled(first: Path, second: Path, a: NDArray[np.int64], b: NDArray[np.int64], t: Floats, u: Floats) -> Gap:
    """Return the best gap that Newton's method on both parameters finds from the given starts."""
    origin = first.points[0, 0]
    control_a, control_b = rational_cubics(first, origin)[a], rational_cubics(second, origin)[b]
    for _ in range(_POLISH):
        p, p1, p2 = (values[:, 0] for values in derivatives(control_a, t[:, None]))
        q, q1, q2 = (values[:, 0] for values in derivatives(control_b, u[:, None]))
        apart = p - q
        slope_t, slope_u = (apart * p1).sum(axis=1), -(apart * q1).sum(axis=1)
        speed_t, speed_u = (p1 * p1).sum(axis=1), (q1 * q1).sum(axis=1)
        bend_t, bend_u = speed_t + (apart * p2).sum(axis=1), speed_u - (apart * q2).sum(axis=1)
        mixed = -(p1 * q1).sum(axis=1)
        # a parameter held at its end does not move, and takes no part in the other's step
        held = ((t <= 0.0) & (slope_t > 0.0)) | ((t >= 1.0) & (slope_t < 0.0))
        held |= ((u <= 0.0) & (slope_u > 0.0)) | ((u >= 1.0) & (slope_u < 0.0))
        mixed[held] = 0.0
        turn = bend_t * bend_u - mixed * mixed
        hollow = (bend_t <= 0.0) | (turn <= 1e-12 * speed_t * speed_u)  # no minimum near: go downhill instead
        bend_t, bend_u, mixed = (
            np.where(hollow, v, w) for v, w in ((speed_t, bend_t), (speed_u, bend_u), (0.0, mixed))
        )
        turn = bend_t * bend_u - mixed * mixed
        step_t = np.divide(bend_u * slope_t - mixed * slope_u, turn, out=np.zeros_like(t), where=turn > 0.0)
        step_u = np.divide(bend_t * slope_u - mixed * slope_t, turn, out=np.zeros_like(t), where=turn > 0.0)
        t, u = np.clip(t - step_t, 0.0, 1.0), np.clip(u - step_u, 0.0, 1.0)
    p, q = points_on(control_a, t[:, None])[:, 0], points_on(control_b, u[:, None])[:, 0]
    distance = np.hypot(*(p - q).T)
    row = int(np.argmin(distance))
    (px, py), (qx, qy) = (p[row] + origin).tolist(), (q[row] + origin).tolist()
    far = float(distance[row])
    return Gap(
        far, Nearest(far, int(a[row]), float(t[row]), (px, py)), Nearest(far, int(b[row]), float(u[row]), (qx, qy))
    )


def chord_bounds(control_a: Floats, control_b: Floats) -> tuple[Floats, Floats, Floats]:
    """Return a lower bound of the distance of each pair and where on both its chords are nearest.

    A stretch lies no farther from its chord than its control points do, so the chords' distance less
    both of those is a bound; it closes in with the square of the stretch.
    """
    flat_a, flat_b = (control[..., :2] / control[..., 2:] for control in (control_a, control_b))
    a0, a1, b0, b1 = flat_a[:, 0], flat_a[:, 3], flat_b[:, 0], flat_b[:, 3]
    least, on_b = _to_chord(a0, b0, b1)
    on_a = np.zeros(len(a0))
    other, along = _to_chord(a1, b0, b1)
    on_a, on_b, least = np.where(other < least, (np.ones_like(along), along, other), (on_a, on_b, least))
    for end, at in ((b0, 0.0), (b1, 1.0)):
        other, along = _to_chord(end, a0, a1)
        on_a, on_b, least = np.where(other < least, (along, np.full_like(along, at), other), (on_a, on_b, least))
    da, db, between = a1 - a0, b1 - b0, b0 - a0
    turn = da[:, 0] * db[:, 1] - da[:, 1] * db[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        s = (between[:, 0] * db[:, 1] - between[:, 1] * db[:, 0]) / turn
        u = (between[:, 0] * da[:, 1] - between[:, 1] * da[:, 0]) / turn
    cross = (s >= 0.0) & (s <= 1.0) & (u >= 0.0) & (u <= 1.0)
    on_a, on_b, least = np.where(cross, (s, u, np.zeros_like(s)), (on_a, on_b, least))
    bulge = np.zeros(len(a0))
    for flat in (flat_a, flat_b):
        bulge += np.maximum(*(_to_chord(flat[:, row], flat[:, 0], flat[:, 3])[0] for row in (1, 2)))
    return least - bulge, on_a, on_b


def _to_chord(point: Floats, start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Return the distance of points from chords and where along them it is."""
    way, off = end - start, point - start
    long = (way * way).sum(axis=1)
    along = np.clip(np.divide((way * off).sum(axis=1), long, out=np.zeros_like(long), where=long > 0.0), 0.0, 1.0)
    rest = off - along[:, None] * way
    return np.hypot(rest[:, 0], rest[:, 1]), along
