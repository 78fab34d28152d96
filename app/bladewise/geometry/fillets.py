"""The circle of a given radius that touches both sides of a corner.

Its centre lies on the parallels of both sides at the distance of the radius. Where the chords of the
two parallels cross first, seen from the corner, Newton's method on the true curves starts; the
circle is taken only if it crosses neither side beyond the places where it touches (a ball rolled into
the corner). Where the radius is too large for the sides at hand the largest that fits is sought.

A side is a chain of segments that run on smoothly, from the corner away. Lengths are mm, y down;
normals point to the right hand of travel as seen on the screen (see `offset_curves`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.curves import cross
from bladewise.geometry.offset_curves import Curves, dot, lengths_of, normals_of
from bladewise.geometry.tolerances import SAME_POINT_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats, Path

    Ints = NDArray[np.int64]

_STEPS = 12
"""Chords a segment is looked at in."""
_ROUNDS = 12
"""Newton's steps; it settles in four or five."""
_SEARCH = 24
"""Radii tried for one corner at most."""
_SHRINK = 0.7
"""What a radius is taken down by while none fits yet."""
_CLOSE = 0.01
"""A radius this near (as a share) to one that does not fit is the largest that does."""
_TOUCH = 1e-7
"""How deep, as a share of its radius, a circle may reach across a side that it touches."""
_AT_ONCE = 256
"""Corners tried in one go, which bounds the memory."""


class Sides(NamedTuple):
    """Corners and their two sides, one row each.

    before, after (k, m): segments from the corner away, against and along the path; −1 where the chain is shorter.
    turn (k,): how far the path turns at the corner in radians, positive clockwise on the screen.
    """

    before: Ints
    after: Ints
    turn: Floats

    def only(self, rows: Ints) -> Sides:
        """Return some of the corners."""
        return Sides(self.before[rows], self.after[rows], self.turn[rows])


class Fillets(NamedTuple):
    """The circles found, one row a corner.

    radius (k,): 0 where none fits. slots, t (k, 2): which segment of each chain is touched, and where on it.
    setback (k, 2): how far along each side, mm. centre (k, 2). sweep (k,): as in `arcs.arc_rows`.
    """

    radius: Floats
    slots: Ints
    t: Floats
    setback: Floats
    centre: Floats
    sweep: Floats


def fillets(path: Path, sides: Sides, radius_mm: Floats) -> Fillets:
    """Return for each corner the touching circle of its radius, or of the largest smaller one that fits."""
    count = len(sides.turn)
    found = Fillets(
        np.zeros(count),
        np.zeros((count, 2), np.int64),
        np.zeros((count, 2)),
        np.zeros((count, 2)),
        np.zeros((count, 2)),
        np.zeros(count),
    )
    curves = Curves.of(path.points, path.kinds, path.weights)
    for first in range(0, count, _AT_ONCE):
        rows = np.arange(first, min(first + _AT_ONCE, count))
        _search(curves, sides.only(rows), radius_mm[rows], found, rows)
    return found


def _search(curves: Curves, sides: Sides, wanted: Floats, found: Fillets, rows: Ints) -> None:
    """Try the radii wanted, then smaller and larger ones, and note the best."""
    chains = tuple(_Chain(curves, segments, way) for segments, way in ((sides.before, -1.0), (sides.after, 1.0)))
    # between two straight sides the largest is known
    straight = np.stack([chain.straight for chain in chains], axis=1).all(axis=1)
    reach = np.minimum(*(chain.long[:, -1] for chain in chains))
    most = np.where(straight, reach / np.maximum(np.tan(np.abs(sides.turn) / 2.0), 1e-300), np.inf)
    least = wanted * 1e-3
    low, high = np.zeros(len(rows)), np.full(len(rows), np.inf)
    trial = np.minimum(wanted, most)
    active = np.flatnonzero(trial > least)
    ceiling = trial.copy()
    for _ in range(_SEARCH):
        if not len(active):
            return
        one = _touching([chain.only(active) for chain in chains], sides.turn[active], trial[active])
        good = one.radius > 0.0
        hit = active[good]
        for old, new in zip(found, one, strict=True):
            old[rows[hit]] = new[good]
        low[hit] = trial[hit]
        high[active[~good]] = trial[active[~good]]
        trial = np.where(low > 0.0, (low + high) / 2.0, high * _SHRINK)
        done = (low >= ceiling) | (high - low <= _CLOSE * high) | (trial <= least)
        active = active[~done[active]]


class _Chain:
    """One side of some corners: points along it, the normals there, and the length run from the corner."""

    def __init__(self, curves: Curves, segments: Ints, way: float) -> None:
        self.curves, self.segments, self.way = curves, segments, way
        rows = np.maximum(segments, 0)
        share = np.linspace(0.0, 1.0, _STEPS + 1)
        self.t = share if way > 0.0 else 1.0 - share
        shape = (*rows.shape, len(share))
        flat = rows.ravel()
        point, first, _ = curves.at(flat, np.broadcast_to(self.t, (len(flat), len(share))))
        step = np.diff(point, axis=1)
        # a handle of no length has no direction: the chord beside it has
        beside = way * np.concatenate([step[:, :1], step], axis=1)
        still = lengths_of(first) <= 1e-9 * lengths_of(beside)
        first = np.where(still[..., None], beside, first)
        normal = normals_of(first / np.maximum(lengths_of(first), 1e-300)[..., None])
        missing = (segments < 0)[..., None]
        long = np.where(missing, 0.0, np.append(np.zeros((len(flat), 1)), lengths_of(step), axis=1).reshape(shape))
        self.point = np.where(missing[..., None], np.nan, point.reshape(*shape, 2)).reshape(len(rows), -1, 2)
        self.normal = normal.reshape(len(rows), -1, 2)
        self.long = np.cumsum(long.reshape(len(rows), -1), axis=1)
        bent = np.abs(curves.numerator[flat, 2:]).max(axis=(1, 2), initial=0.0) > 0.0
        self.straight = (segments[:, 1:] < 0).all(axis=1) & ~bent.reshape(rows.shape)[:, 0]

    def only(self, rows: Ints) -> _Chain:
        """Return the sides of some of the corners."""
        some = object.__new__(_Chain)
        some.curves, some.way, some.t = self.curves, self.way, self.t
        some.segments, some.point, some.normal = self.segments[rows], self.point[rows], self.normal[rows]
        some.long, some.straight = self.long[rows], self.straight[rows]
        return some

    def length_to(self, slot: Ints, t: Floats) -> Floats:
        """Return the length run from the corner to a parameter of a segment of the chain; exact on lines."""
        share = t if self.way > 0.0 else 1.0 - t
        at = share * _STEPS
        cell = np.minimum(at.astype(np.int64), _STEPS - 1)
        rows, place = np.arange(len(slot)), slot * (_STEPS + 1) + cell
        left, right = self.long[rows, place], self.long[rows, place + 1]
        run: Floats = left + (at - cell) * (right - left)
        return run


def _touching(chains: list[_Chain], turn: Floats, radius: Floats) -> Fillets:
    """Return the circles of given radii, radius 0 where the one found does not fit."""
    distance = np.where(turn > 0.0, radius, -radius)
    slots, t, seen = _first_crossing(chains, distance)
    rows = np.arange(len(turn))
    segments = [chain.segments[rows, slots[:, side]] for side, chain in enumerate(chains)]
    curves = chains[0].curves
    away = distance[:, None]
    for _ in range(_ROUNDS):
        (a, da), (b, db) = (_parallel_at(curves, segments[side], t[:, side], away) for side in (0, 1))
        miss = b - a
        det = cross(da, -db)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            change = np.stack([cross(miss, -db) / det, cross(da, miss) / det], axis=1)
        change = np.where(np.isfinite(change), np.clip(change, -0.5, 0.5), 0.0)
        t = np.clip(t + change, 0.0, 1.0)
    (a, _), (b, _) = (_parallel_at(curves, segments[side], t[:, side], away) for side in (0, 1))
    good = seen & (lengths_of(b - a) <= 1e-9 * (1.0 + np.abs(distance)))
    centre = (a + b) / 2.0
    spokes = [centre - away * _normal_at(curves, segments[side], t[:, side]) - centre for side in (0, 1)]
    sweep = np.arctan2(cross(*spokes), dot(*spokes))
    good &= (sweep * turn > 0.0) & (np.abs(sweep) < np.pi)
    setback = np.stack([chain.length_to(slots[:, side], t[:, side]) for side, chain in enumerate(chains)], axis=1)
    good &= (setback > SAME_POINT_MM).all(axis=1)
    for side, chain in enumerate(chains):
        beyond = chain.long >= setback[:, side, None]
        gap = lengths_of(chain.point - centre[:, None])
        deep = np.where(beyond & np.isfinite(gap), gap, np.inf).min(axis=1) < radius * (1.0 - _TOUCH) - SAME_POINT_MM
        good &= ~deep
    return Fillets(np.where(good, radius, 0.0), slots, t, setback, centre, sweep)


def _normal_at(curves: Curves, segments: Ints, t: Floats) -> Floats:
    _, first, _ = curves.at(segments, t[:, None])
    first = first[:, 0]
    return normals_of(first / np.maximum(lengths_of(first), 1e-300)[:, None])


def _parallel_at(curves: Curves, segments: Ints, t: Floats, away: Floats) -> tuple[Floats, Floats]:
    """Return points of the parallels and their derivatives, O′ = P′·(1 − d·κ); shapes (k, 2)."""
    point, first, second = (values[:, 0] for values in curves.at(segments, t[:, None]))
    # at a handle of no length the curvature is not to be had; the floor's cube is still a number
    speed = np.maximum(lengths_of(first), 1e-100)[:, None]
    curvature = cross(first, second)[:, None] / speed**3
    return point + away * normals_of(first / speed), first * (1.0 - away * curvature)


def _first_crossing(chains: list[_Chain], distance: Floats) -> tuple[Ints, Floats, NDArray[np.bool_]]:
    """Return where the chords of the two parallels cross first, as slots and parameters (k, 2), and whether they do."""
    a, b = (chain.point + distance[:, None, None] * chain.normal for chain in chains)
    along, across = np.diff(a, axis=1)[:, :, None], np.diff(b, axis=1)[:, None]
    gap = b[:, None, :-1] - a[:, :-1, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        det = cross(along, across)
        u, v = cross(gap, across) / det, cross(gap, along) / det
        slack = 1e-6
        meets = (u >= -slack) & (u <= 1.0 + slack) & (v >= -slack) & (v <= 1.0 + slack)
        run = chains[0].long[:, :-1, None] + chains[1].long[:, None, :-1]
    run = np.where(meets, run, np.inf).reshape(len(distance), -1)
    first = run.argmin(axis=1)
    seen = np.isfinite(run[np.arange(len(run)), first])
    rows, width = np.arange(len(run)), b.shape[1] - 1
    cells = np.stack([first // width, first % width], axis=1)
    part = np.stack([u[rows, cells[:, 0], cells[:, 1]], v[rows, cells[:, 0], cells[:, 1]]], axis=1)
    slots = cells // (_STEPS + 1)
    share = np.clip((cells - slots * (_STEPS + 1) + np.where(seen[:, None], part, 0.0)) / _STEPS, 0.0, 1.0)
    return slots, np.stack([1.0 - share[:, 0], share[:, 1]], axis=1), seen
