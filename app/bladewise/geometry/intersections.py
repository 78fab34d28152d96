"""Where true curves meet: places, parameters on both, and whether they only touch.

Both paths are cut into stretches of little turn. Stretches whose hulls are apart are dropped; two whose
tangents have no direction in common cross once or not at all, and Newton's method on both parameters
says which; the others are halved and looked at again (bounding and halving as in T. Sederberg and
T. Nishita, "Curve intersection using Bézier clipping", 1990). What is left when the stretches are a
hundred-thousandth of a millimetre long is a tangency. Curves that lie on one another have no places of meeting
but a common stretch; their segments are named apart.

Lengths are mm, parameters run from 0 to 1 along a segment.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.bernstein import derivatives, halves, points_on, rational_cubics
from bladewise.geometry.curves import cross, point_at
from bladewise.geometry.distances import chord_bounds
from bladewise.geometry.stretches import Stretches, box_pairs, fan, feet, hulls, stretches, wrapped
from bladewise.geometry.tolerances import CROSSING_STRETCH_MM, ON_CURVE_MM, SAME_POINT_MM, STRAIGHT_DEG

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats, Path

__all__ = ["Meetings", "meetings"]

_ROUNDS = 10
"""Newton doubles its digits each round, from stretches that turn by 15° at most."""
_PARALLEL = 1e-6
"""Radians by which two fans of tangents must be apart for Newton to be sure of its ground."""
_NEIGHBOUR_MM = 0.05
"""Curves that are one for at least this long share a stretch, others touch; a touch is moved no farther than this."""
_ONE_MM = 4.0 * ON_CURVE_MM
"""Curves this near all along are one; more than the bound on meetings, so that nothing falls between the two."""
_OVER = 1e-9
"""A parameter may leave its stretch by this much: the next stretch begins there."""


class Meetings(NamedTuple):
    """Where two paths meet; arrays with one row a place, in the order of the first path."""

    points: Floats
    """Shape (m, 2), mm."""
    first_segments: NDArray[np.int64]
    first_parameters: Floats
    second_segments: NDArray[np.int64]
    second_parameters: Floats
    """Segment and parameter on either path; a node is the start of the segment that begins there."""
    touching: NDArray[np.bool_]
    """Whether the curves have one tangent there. At a node they may touch without that."""
    shared: NDArray[np.int64]
    """Pairs of segments (first, second) that lie on one another along a stretch, shape (k, 2)."""


class _Pairs(NamedTuple):
    """Parts of stretches of both paths that may meet: row, start and width of each part, and its control points."""

    one: NDArray[np.int64]
    two: NDArray[np.int64]
    t: Floats
    u: Floats
    wide: Floats
    broad: Floats
    first: Floats
    second: Floats

    def taken(self, rows: NDArray[np.bool_]) -> _Pairs:
        return _Pairs(
            self.one[rows], self.two[rows], self.t[rows], self.u[rows], self.wide[rows], self.broad[rows],
            self.first[rows], self.second[rows],
        )  # fmt: skip


def meetings(first: Path, second: Path | None = None) -> Meetings:
    """Return every place where two paths meet, or where one meets itself.

    Parameters
    ----------
    first
        Any path.
    second
        The other path; without one the first is held against itself, each place once, and the nodes
        where its segments follow one another are no meetings.

    Returns
    -------
    Meetings
        To within 1e-8 mm of both curves. Empty for an empty path.

    Examples
    --------
    >>> from bladewise.geometry.path import circle
    >>> meetings(circle((0, 0), 5.0), circle((6.0, 0.0), 5.0)).points.round(9).tolist()
    [[3.0, 4.0], [3.0, -4.0]]
    """
    other = first if second is None else second
    if not first or not other:
        return _nothing()
    low, high = first.points.min(axis=(0, 1)), first.points.max(axis=(0, 1))
    origin = (low + high) / 2.0
    turn = np.radians(STRAIGHT_DEG)
    ones = stretches(first, origin, most_turn=turn)
    twos = ones if second is None else stretches(other, origin, most_turn=turn)
    one, two = box_pairs(hulls(ones.control, SAME_POINT_MM), hulls(twos.control))
    if second is None:
        ahead = one < two
        one, two = one[ahead], two[ahead]
        meant = ~_only_joined(first, ones, one, two)
        one, two = one[meant], two[meant]
    zero, whole = np.zeros(len(one)), np.ones(len(one))
    pairs = _Pairs(one, two, zero, zero, whole, whole, ones.control[one], twos.control[two])
    found: list[tuple[_Pairs, Floats, Floats, bool]] = []
    shared: list[NDArray[np.int64]] = [np.zeros((0, 2), np.int64)]
    while len(pairs.one):
        floor, on_first, on_second = chord_bounds(pairs.first, pairs.second)
        near = floor <= ON_CURVE_MM
        pairs, on_first, on_second = pairs.taken(near), on_first[near], on_second[near]
        sure = _apart(pairs)
        t, u, met = _crossed(pairs.taken(sure), on_first[sure], on_second[sure])
        found.append((pairs.taken(sure).taken(met), t[met], u[met], False))
        pairs, on_first, on_second = pairs.taken(~sure), on_first[~sure], on_second[~sure]
        home = np.stack([ones.segment[pairs.one], twos.segment[pairs.two]], axis=1)
        # a short part may lie on the other for nothing but a tangency, unless the two are known to be one
        long = np.minimum(_size(pairs.first), _size(pairs.second)) > _NEIGHBOUR_MM
        likely = long | _among(home, np.concatenate(shared), len(other))
        same = np.zeros(len(long), np.bool_)
        some = pairs.taken(likely)
        same[likely] = _one_on_other(some.first, some.second) | _one_on_other(some.second, some.first)
        shared.append(home[same])
        pairs, on_first, on_second = pairs.taken(~same), on_first[~same], on_second[~same]
        short = np.minimum(_size(pairs.first), _size(pairs.second)) <= CROSSING_STRETCH_MM
        t, u, met = _touched(pairs.taken(short), on_first[short], on_second[short])
        found.append((pairs.taken(short).taken(met), t[met], u[met], True))
        pairs = _halved(pairs.taken(~short))
    if not found:
        return _nothing()
    return _gathered(first, None if second is None else other, ones, twos, found, np.concatenate(shared))


def _nothing() -> Meetings:
    none, whole = np.zeros(0), np.zeros(0, np.int64)
    return Meetings(np.zeros((0, 2)), whole, none, whole, none, np.zeros(0, np.bool_), np.zeros((0, 2), np.int64))


def _among(pairs: NDArray[np.int64], known: NDArray[np.int64], count: int) -> NDArray[np.bool_]:
    """Return whether each pair of segments is one of the known ones."""
    among: NDArray[np.bool_] = np.isin(pairs @ [count, 1], known @ [count, 1])
    return among


def _size(control: Floats) -> Floats:
    flat = control[..., :2] / control[..., 2:]
    size: Floats = np.ptp(flat, axis=1).max(axis=1, initial=0.0)
    return size


def _fans(control: Floats) -> tuple[Floats, Floats]:
    legs = np.diff(control[..., :2] / control[..., 2:], axis=1)
    return fan(control, 1e-9 * np.hypot(legs[..., 0], legs[..., 1]).sum(axis=1))[:2]


def _apart(pairs: _Pairs) -> NDArray[np.bool_]:
    """Return whether no tangent of one stretch is parallel to one of the other."""
    (heading, swing), (other, sway) = _fans(pairs.first), _fans(pairs.second)
    off = np.abs(wrapped(heading - other))
    off = np.minimum(off, np.pi - off)
    apart: NDArray[np.bool_] = off > swing + sway + _PARALLEL
    return apart


def _crossed(pairs: _Pairs, t: Floats, u: Floats) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Return where each pair crosses, and whether it does."""
    for _ in range(_ROUNDS):
        p, p1, _ = (values[:, 0] for values in derivatives(pairs.first, t[:, None]))
        q, q1, _ = (values[:, 0] for values in derivatives(pairs.second, u[:, None]))
        gap, turn = q - p, cross(p1, q1)
        turn = np.where(turn == 0.0, np.inf, turn)
        t, u = t + np.clip(cross(gap, q1) / turn, -1.0, 1.0), u + np.clip(cross(gap, p1) / turn, -1.0, 1.0)
        t, u = np.clip(t, -0.25, 1.25), np.clip(u, -0.25, 1.25)
    met = (t >= -_OVER) & (t <= 1.0 + _OVER) & (u >= -_OVER) & (u <= 1.0 + _OVER)
    t, u = np.clip(t, 0.0, 1.0), np.clip(u, 0.0, 1.0)
    return t, u, met & (_gap(pairs, t, u) <= ON_CURVE_MM)


def _touched(pairs: _Pairs, t: Floats, u: Floats) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Return where two short stretches are nearest, and whether they touch there."""
    u, _ = feet(pairs.second, points_on(pairs.first, t[:, None])[:, 0])
    t, _ = feet(pairs.first, points_on(pairs.second, u[:, None])[:, 0])
    return t, u, _gap(pairs, t, u) <= ON_CURVE_MM


def _gap(pairs: _Pairs, t: Floats, u: Floats) -> Floats:
    apart = points_on(pairs.first, t[:, None])[:, 0] - points_on(pairs.second, u[:, None])[:, 0]
    gap: Floats = np.hypot(apart[:, 0], apart[:, 1])
    return gap


def _one_on_other(control: Floats, other: Floats) -> NDArray[np.bool_]:
    """Return whether each stretch lies on its partner from end to end; five places of a cubic settle it for a conic."""
    on = np.ones(len(control), np.bool_)
    for at in (0.0, 1.0, 0.5, 0.25, 0.75):
        rows = np.flatnonzero(on)
        if not len(rows):
            break
        places = points_on(control[rows], np.array([at]))[:, 0]
        on[rows] = feet(other[rows], places)[1] <= _ONE_MM
    return on


def _halved(pairs: _Pairs) -> _Pairs:
    """Return each pair with the longer part halved, twice as many.

    Only the longer: of two that lie on one another in part, one then soon lies wholly on the other.
    """
    longer = _size(pairs.first) >= _size(pairs.second)
    (a0, a1), (b0, b1) = halves(pairs.first), halves(pairs.second)
    left, right = longer[:, None, None], ~longer[:, None, None]
    wide, broad = np.where(longer, pairs.wide / 2.0, pairs.wide), np.where(longer, pairs.broad, pairs.broad / 2.0)
    return _Pairs(
        np.tile(pairs.one, 2),
        np.tile(pairs.two, 2),
        np.concatenate([pairs.t, np.where(longer, pairs.t + wide, pairs.t)]),
        np.concatenate([pairs.u, np.where(longer, pairs.u, pairs.u + broad)]),
        np.tile(wide, 2),
        np.tile(broad, 2),
        np.concatenate([np.where(left, a0, pairs.first), np.where(left, a1, pairs.first)]),
        np.concatenate([np.where(right, b0, pairs.second), np.where(right, b1, pairs.second)]),
    )


def _gathered(
    first: Path,
    second: Path | None,
    ones: Stretches,
    twos: Stretches,
    found: list[tuple[_Pairs, Floats, Floats, bool]],
    shared: NDArray[np.int64],
) -> Meetings:
    """Return the places in order, each once; nodes at the segment that begins there."""
    other = first if second is None else second
    rows_a = np.concatenate([pairs.one for pairs, *_ in found])
    rows_b = np.concatenate([pairs.two for pairs, *_ in found])
    t = ones.parameters(rows_a, np.concatenate([pairs.t + pairs.wide * at for pairs, at, _, _ in found]))
    u = twos.parameters(rows_b, np.concatenate([pairs.u + pairs.broad * at for pairs, _, at, _ in found]))
    touching = np.concatenate([np.full(len(pairs.one), touch) for pairs, _, _, touch in found])
    a, b = ones.segment[rows_a], twos.segment[rows_b]
    t, u = _levelled(first, a, t, other, b, u, touching)
    a, t = _placed(first, a, t)
    b, u = _placed(other, b, u)
    # touches of curves that are one are where their parts ended, or their segments
    part = np.zeros(len(a), np.bool_)
    for before in (a, np.where(t == 0.0, _previous(first)[a], a)):
        for ahead in (b, np.where(u == 0.0, _previous(other)[b], b)):
            part |= _among(np.stack([before, ahead], axis=1), shared, len(other))
    meant = ~(touching & part)
    a, b, t, u, touching = a[meant], b[meant], t[meant], u[meant], touching[meant]
    if second is None:
        swap = (b < a) | ((b == a) & (u < t))
        a, b = np.where(swap, b, a), np.where(swap, a, b)
        t, u = np.where(swap, u, t), np.where(swap, t, u)
        kept = ~((a == b) & (np.abs(t - u) <= _OVER))
        a, b, t, u, touching = a[kept], b[kept], t[kept], u[kept], touching[kept]
    order = np.lexsort((touching, u, t, b, a))
    a, b, t, u, touching = a[order], b[order], t[order], u[order], touching[order]
    points = _points(first, a, t)
    fresh = np.ones(len(a), np.bool_)
    for step in (1, 2, 3):  # a place at a joint of stretches is found from up to four pairs of them
        same = (a[step:] == a[:-step]) & (b[step:] == b[:-step])
        near = np.hypot(*(points[step:] - points[:-step]).T) <= CROSSING_STRETCH_MM
        near &= np.hypot(*(_points(other, b[step:], u[step:]) - _points(other, b[:-step], u[:-step])).T) <= (
            CROSSING_STRETCH_MM
        )
        fresh[step:] &= ~(same & near)
    pairs = np.unique(shared, axis=0)
    return Meetings(points[fresh], a[fresh], t[fresh], b[fresh], u[fresh], touching[fresh], pairs)


def _only_joined(path: Path, parts: Stretches, one: NDArray[np.int64], two: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Return whether two stretches follow one another and run on in one direction, and so meet in their joint only.

    Tangents that all lie within half a turn cannot bring a curve back to where it was.
    """
    ring = np.searchsorted(path.starts, parts.segment, side="right") - 1
    last = np.append(np.diff(ring) > 0, True)
    begins = np.flatnonzero(np.append(True, np.diff(ring) > 0)) if len(ring) else np.zeros(0, np.int64)
    follows = np.arange(1, len(ring) + 1)
    follows[last] = np.where(path.closed[ring[last]], begins, -1)
    joined = (follows[one] == two) | (follows[two] == one)
    onward = np.abs(wrapped(parts.heading[one] - parts.heading[two])) + parts.swing[one] + parts.swing[two]
    only: NDArray[np.bool_] = joined & (onward < np.pi - _PARALLEL) & (np.bincount(ring)[ring[one]] > 2)
    return only


def _levelled(
    first: Path,
    a: NDArray[np.int64],
    t: Floats,
    other: Path,
    b: NDArray[np.int64],
    u: Floats,
    touching: NDArray[np.bool_],
) -> tuple[Floats, Floats]:
    """Return parameters with touches moved to where the tangents are parallel, by Newton's method.

    The distance itself is too flat there to say where it is least: 1e-8 mm along 1e-4 mm.
    """
    t, u = t.copy(), u.copy()
    rows = np.flatnonzero(touching)
    origin = first.points[a[rows], 0]
    one = rational_cubics(first)[a[rows]]
    two = rational_cubics(other)[b[rows]]
    for control in (one, two):
        control[..., :2] -= origin[:, None] * control[..., 2:]
    here, there = t[rows], u[rows]
    for _ in range(_ROUNDS):
        p, p1, p2 = (values[:, 0] for values in derivatives(one, here[:, None]))
        q, q1, q2 = (values[:, 0] for values in derivatives(two, there[:, None]))
        along, across = ((p - q) * p1).sum(axis=1), cross(p1, q1)
        along_t, along_u = (p1 * p1).sum(axis=1), -(q1 * p1).sum(axis=1)
        across_t, across_u = cross(p2, q1), cross(p1, q2)
        turn = along_t * across_u - along_u * across_t
        turn = np.where(turn == 0.0, np.inf, turn)
        step_t, step_u = (along * across_u - across * along_u) / turn, (along_t * across - across_t * along) / turn
        here, there = np.clip(here - step_t, 0.0, 1.0), np.clip(there - step_u, 0.0, 1.0)
    p, q = points_on(one, here[:, None])[:, 0], points_on(two, there[:, None])[:, 0]
    moved = p - points_on(one, t[rows][:, None])[:, 0]
    better = (np.hypot(*(p - q).T) <= ON_CURVE_MM) & (np.hypot(*moved.T) <= _NEIGHBOUR_MM)
    t[rows[better]], u[rows[better]] = here[better], there[better]
    return t, u


def _placed(path: Path, segment: NDArray[np.int64], at: Floats) -> tuple[NDArray[np.int64], Floats]:
    """Return segments and parameters with a node as the start of the segment after it."""
    at = at.copy()
    places = _points(path, segment, at)
    at[np.hypot(*(places - path.points[segment, 0]).T) <= ON_CURVE_MM] = 0.0
    done = (np.hypot(*(places - path.points[segment, 3]).T) <= ON_CURVE_MM) & (at > 0.0)
    at[done] = 1.0
    ring = np.searchsorted(path.starts, segment, side="right") - 1
    ends = segment == path.ends[ring] - 1
    moved = done & (~ends | path.closed[ring])
    after = np.where(ends, path.starts[ring], segment + 1)
    return np.where(moved, after, segment), np.where(moved, 0.0, at)


def _previous(path: Path) -> NDArray[np.int64]:
    """Return the segment before each, of the first of a subpath its last."""
    previous = np.arange(-1, len(path) - 1)
    previous[path.starts] = path.ends - 1
    return previous


def _points(path: Path, segment: NDArray[np.int64], t: Floats) -> Floats:
    return point_at(path.points[segment], path.kinds[segment], path.weights[segment], t)
