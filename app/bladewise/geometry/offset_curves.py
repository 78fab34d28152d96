"""The exact parallel of a curve, and the fewest cubics that follow it.

The parallel of a curve P(t) with unit normal N(t) is O(t) = P(t) + r·N(t). It is not a Bézier curve
(W. Tiller and E. G. Hanson, "Offsets of two-dimensional profiles", 1984), but its end points, its
end tangents and every point between are known exactly, so it is fitted: each piece gets a cubic with
the right ends and tangents, and the two handle lengths that bring it nearest to the exact parallel
are found by least squares on the distances, all pieces at once. Where one cubic is not near enough
the piece is parted at equal shares of length and turning and tried again.

Normals point to the right hand of travel as seen on the screen (y downward): N = (−T_y, T_x).
Curvature is positive where the curve turns that way (clockwise on the screen), and
O′ = P′·(1 − r·κ): the parallel runs backwards where r·κ > 1.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.curves import cross, homogeneous

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats

_STEP = 15
"""Steps a cubic is looked at in: held against the exact parallel at the places between, four for each of the
error's waves."""

_ROUNDS = 7
"""Steps of the least-squares search; it settles in four or five."""

_FLAT = 1e-14
"""Handles that lean less than the root of this (a tenth of a micrometre a metre) off the normals' right angle are left
alone: on a straight parallel their length is any."""

_GRID = 33
"""Places of the table that says how much of a piece's work is done by then."""

_MOST_PARTS = 64
"""Cubics for one piece at most; only a curve bent far beyond sense comes near it."""

_POWER = 0.2
"""A part's error falls with about the fifth power of its share, so this power of it tells how many cubics it needs."""


class Curves(NamedTuple):
    """Segments in power form about their own start, so that far-off coordinates cost no digits.

    Shapes: origin (n, 2) in mm, numerator (n, 4, 2), denominator (n, 3); see `curves.homogeneous`.
    """

    origin: Floats
    numerator: Floats
    denominator: Floats

    @classmethod
    def of(cls, points: Floats, kinds: NDArray[np.uint8], weights: Floats) -> Curves:
        """Take the arrays of a `Path`."""
        origin = points[:, 0]
        return cls(origin, *homogeneous(points - origin[:, None], kinds, weights))

    def at(self, rows: NDArray[np.int64], t: Floats) -> tuple[Floats, Floats, Floats]:
        """Return points and first and second derivatives.

        Parameters
        ----------
        rows
            Which segments, shape (k,).
        t
            Parameters for each of them, shape (k, m).

        Returns
        -------
        point, first, second
            Each of shape (k, m, 2): mm, and mm per t and t².
        """
        n0, n1, n2, n3 = (self.numerator[rows, power][:, None, :] for power in range(4))
        tt = t[:, :, None]
        top = ((n3 * tt + n2) * tt + n1) * tt + n0
        top1 = (3.0 * n3 * tt + 2.0 * n2) * tt + n1
        top2 = 6.0 * n3 * tt + 2.0 * n2
        _, d1, d2 = (self.denominator[rows, power][:, None, None] for power in range(3))
        if d1.any() or d2.any():
            low = (d2 * tt + d1) * tt + 1.0
            low1 = 2.0 * d2 * tt + d1
            top = top / low
            top1 = (top1 - low1 * top) / low
            top2 = (top2 - 2.0 * low1 * top1 - 2.0 * d2 * top) / low
        return top + self.origin[rows][:, None, :], top1, top2


def normals_of(tangents: Floats) -> Floats:
    """Return tangents turned a quarter clockwise on the screen; any array whose last axis is (x, y)."""
    return np.stack([-tangents[..., 1], tangents[..., 0]], axis=-1)


def dot(a: Floats, b: Floats) -> Floats:
    """Return the inner product over the last axis."""
    product: Floats = a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1]
    return product


def lengths_of(vectors: Floats) -> Floats:
    """Return the lengths over the last axis."""
    size: Floats = np.hypot(vectors[..., 0], vectors[..., 1])
    return size


class Pieces(NamedTuple):
    """Stretches of curves whose parallels are wanted; one row each.

    row (n,): the curve. distance (n,): r in mm, signed as above. t (n, 2): from where to where.
    ends (n, 2, 2): where the parallel begins and ends, mm. tangents (n, 2, 2): unit direction of the
    *curve* there. backward (n,): −1 where the parallel runs against the curve, else 1.
    """

    row: NDArray[np.int64]
    distance: Floats
    t: Floats
    ends: Floats
    tangents: Floats
    backward: Floats


def fit_parallels(curves: Curves, pieces: Pieces, tolerance_mm: float) -> tuple[NDArray[np.int64], Floats]:
    """Return cubics that follow the parallels of the pieces within a tolerance.

    Parameters
    ----------
    curves
        The curves the pieces lie on.
    pieces
        The stretches; each must run in one direction along its parallel (r·κ − 1 keeps its sign).
    tolerance_mm
        Largest distance allowed between a cubic and the exact parallel.

    Returns
    -------
    piece
        Which piece each cubic belongs to, shape (m,), in order of the pieces and along them.
    points
        Control points, shape (m, 4, 2). Consecutive cubics share their end point and tangent.
    """
    owner: list[NDArray[np.int64]] = []
    order: list[NDArray[np.int64]] = []
    found: list[Floats] = []
    t, done = _shares(curves, pieces)
    parts = np.ones(len(pieces.row), np.int64)
    again = np.zeros(len(pieces.row), bool)
    waiting = np.arange(len(pieces.row))
    while len(waiting):
        failed = []
        asked = parts[waiting]
        for count in np.unique(asked).tolist():
            rows = waiting[asked == count]
            points, error = _fit_parts(curves, pieces, rows, t[rows], done[rows], count)
            good = (error.max(axis=1) <= tolerance_mm) | (count >= _MOST_PARTS)
            owner.append(np.repeat(rows[good], count))
            order.append(np.tile(np.arange(count), int(good.sum())))
            found.append(points[good].reshape(-1, 4, 2))
            bad = rows[~good]
            needs = np.maximum(error[~good] / tolerance_mm, 1e-6) ** _POWER
            done[bad] = _shared_anew(done[bad], needs)
            more = np.minimum(np.ceil(needs.sum(axis=1) - 0.2).astype(np.int64), 2 * count)
            repeat = (more <= count) & ~again[bad] & (count > 1)  # the same number, better shared out, once
            parts[bad] = np.where(repeat, count, np.clip(more, count + 1, _MOST_PARTS))
            again[bad] = repeat
            failed.append(bad)
        waiting = np.concatenate(failed)
    if not found:
        return np.zeros(0, np.int64), np.zeros((0, 4, 2))
    whose = np.concatenate(owner)
    sequence = np.lexsort((np.concatenate(order), whose))
    return whose[sequence], np.concatenate(found)[sequence]


def _shares(curves: Curves, pieces: Pieces) -> tuple[Floats, Floats]:
    """Return t and the rising share of length and turning done by then, each (n, grid), refined once."""
    share = np.linspace(0.0, 1.0, _GRID)
    start, stop = pieces.t[:, :1], pieces.t[:, 1:]
    t = start + (stop - start) * share
    done = np.zeros_like(t)
    for _ in range(2):
        point, first, _ = curves.at(pieces.row, t)
        first[:, 0], first[:, -1] = pieces.tangents[:, 0], pieces.tangents[:, 1]
        moved = point + pieces.distance[:, None, None] * normals_of(
            first / np.maximum(lengths_of(first), 1e-300)[..., None]
        )
        step = lengths_of(np.diff(moved, axis=1))
        turn = np.abs(np.arctan2(cross(first[:, :-1], first[:, 1:]), dot(first[:, :-1], first[:, 1:])))
        effort = (
            step / np.maximum(step.sum(axis=1, keepdims=True), 1e-300)
            + turn / np.maximum(turn.sum(axis=1, keepdims=True), 1e-3)
            + 1e-3
        )
        done = np.concatenate([np.zeros((len(t), 1)), np.cumsum(effort, axis=1)], axis=1)
        done /= done[:, -1:]
        finer = _quantiles(t, done, _GRID - 1)
        finer[:, [0, -1]] = t[:, [0, -1]]
        t, done = finer, np.broadcast_to(share, finer.shape)
    return t, np.array(done)


def _shared_anew(done: Floats, needs: Floats) -> Floats:
    """Return the table with each part's share in proportion to what it needs; (k, grid) and (k, parts)."""
    parts = needs.shape[1]
    upto = np.concatenate([np.zeros((len(needs), 1)), np.cumsum(needs, axis=1)], axis=1)
    part = np.clip((done * parts).astype(np.int64), 0, parts - 1)
    rows = np.arange(len(done))[:, None]
    anew: Floats = (upto[rows, part] + (done * parts - part) * needs[rows, part]) / upto[:, -1:]
    return anew


def _quantiles(t: Floats, done: Floats, parts: int) -> Floats:
    """Return the t at equal shares, shape (k, parts + 1): linear look-up in rising tables of shape (k, grid)."""
    want = np.linspace(0.0, 1.0, parts + 1)
    cell = (done[:, None, :] <= want[None, :, None]).sum(axis=2) - 1
    cell = np.clip(cell, 0, t.shape[1] - 2)
    rows = np.arange(len(t))[:, None]
    left, right = done[rows, cell], done[rows, cell + 1]
    part = np.clip((want - left) / np.maximum(right - left, 1e-300), 0.0, 1.0)
    out: Floats = t[rows, cell] + part * (t[rows, cell + 1] - t[rows, cell])
    return out


def _looked_up(table: Floats, share: Floats) -> Floats:
    """Return the values of tables of shape (k, grid) at places from 0 to 1, shape (k, m)."""
    at = np.clip(share, 0.0, 1.0) * (table.shape[1] - 1)
    cell = np.minimum(at.astype(np.int64), table.shape[1] - 2)
    rows = np.arange(len(table))[:, None]
    left = table[rows, cell]
    found: Floats = left + (at - cell) * (table[rows, cell + 1] - left)
    return found


def _fit_parts(
    curves: Curves, pieces: Pieces, rows: NDArray[np.int64], table_t: Floats, table_done: Floats, parts: int
) -> tuple[Floats, Floats]:
    """Fit every part of every piece; control points (k, parts, 4, 2) and largest distance (k, parts)."""
    count = len(rows)
    share = np.broadcast_to(np.linspace(0.0, 1.0, table_t.shape[1]), table_t.shape)
    cuts = _quantiles(share, table_done, parts)  # parts by need, the places looked at by length and turning
    step = np.arange(_STEP) / _STEP
    places = (cuts[:, :-1, None] + np.diff(cuts, axis=1)[..., None] * step).reshape(count, -1)
    t = np.concatenate([_looked_up(table_t, places), pieces.t[rows, 1:]], axis=1)
    t[:, 0] = pieces.t[rows, 0]
    breaks = t[:, ::_STEP]
    node, first, _ = curves.at(pieces.row[rows], breaks)
    tangent = first / np.maximum(lengths_of(first), 1e-300)[..., None]
    tangent[:, 0], tangent[:, -1] = pieces.tangents[rows, 0], pieces.tangents[rows, 1]
    node = node + pieces.distance[rows][:, None, None] * normals_of(tangent)
    trimmed = np.zeros(breaks.shape)  # how far the piece's ends stand off the exact parallel's
    trimmed[:, 0] = lengths_of(node[:, 0] - pieces.ends[rows, 0])
    trimmed[:, -1] = lengths_of(node[:, -1] - pieces.ends[rows, 1])
    node[:, 0], node[:, -1] = pieces.ends[rows, 0], pieces.ends[rows, 1]
    tangent = tangent * pieces.backward[rows][:, None, None]

    within = t[:, :-1].reshape(count, parts, _STEP)[:, :, 1:]
    flat = np.repeat(pieces.row[rows], parts)
    distance = np.repeat(pieces.distance[rows], parts)[:, None, None]
    point, first, _ = curves.at(flat, within.reshape(count * parts, -1))
    normal = normals_of(first / np.maximum(lengths_of(first), 1e-300)[..., None])
    target = point + distance * normal
    start, stop = node[:, :-1].reshape(-1, 2), node[:, 1:].reshape(-1, 2)
    out, into = tangent[:, :-1].reshape(-1, 2), tangent[:, 1:].reshape(-1, 2)
    before, beyond = target - start[:, None], target - stop[:, None]
    cut = (dot(before, out[:, None]) < 0.0) & (lengths_of(before) <= 2.0 * trimmed[:, :-1].reshape(-1, 1))
    cut |= (dot(beyond, into[:, None]) > 0.0) & (lengths_of(beyond) <= 2.0 * trimmed[:, 1:].reshape(-1, 1))
    control, error = fit_cubics(start, stop, out, into, target, normal, ~cut)
    return control.reshape(count, parts, 4, 2), error.reshape(count, parts)


def fit_cubics(
    start: Floats,
    stop: Floats,
    out: Floats,
    into: Floats,
    target: Floats,
    normal: Floats,
    counts: NDArray[np.bool_],
) -> tuple[Floats, Floats]:
    """Return cubics with given ends and end tangents that pass nearest to given points.

    Parameters
    ----------
    start, stop
        End points in mm, shape (n, 2).
    out, into
        Unit directions of travel at the start and at the end, shape (n, 2).
    target, normal
        Points to pass, in order along the curve, and the unit normals there; shape (n, m, 2).
    counts
        Which of them count, shape (n, m); those before a trimmed end do not.

    Returns
    -------
    points
        Control points, shape (n, 4, 2).
    error
        Largest distance from a target point to its cubic in mm, shape (n,).

    Notes
    -----
    Gauss and Newton's method on the distances along the normals, the two handle lengths unknown;
    each round moves the foot points along the curve once.
    """
    whole = np.concatenate([start[:, None], target, stop[:, None]], axis=1)
    step = lengths_of(np.diff(whole, axis=1))
    total = np.maximum(step.sum(axis=1), 1e-300)
    u = np.cumsum(step, axis=1)[:, :-1] / total[:, None]
    handles = np.repeat((total / 3.0)[:, None], 2, axis=1)
    least, most = 1e-3 * total[:, None], 2.0 * total[:, None]
    lean_out, lean_into = dot(out[:, None], normal), dot(into[:, None], normal)
    for _ in range(_ROUNDS):
        here, speed = _cubic_at(start, stop, out, into, handles, u)
        u = np.clip(u + dot(target - here, speed) / np.maximum(dot(speed, speed), 1e-300), 0.0, 1.0)
        here, _ = _cubic_at(start, stop, out, into, handles, u)
        miss = dot(target - here, normal) * counts
        v = 1.0 - u
        by_out, by_into = 3.0 * v * v * u * lean_out * counts, -3.0 * v * u * u * lean_into * counts
        aa, ab, bb = (by_out * by_out).sum(1), (by_out * by_into).sum(1), (by_into * by_into).sum(1)
        pa, pb = (by_out * miss).sum(1), (by_into * miss).sum(1)
        damp = 1e-6 * (aa + bb) + _FLAT
        aa, bb = aa + damp, bb + damp
        det = aa * bb - ab * ab
        change = np.stack([bb * pa - ab * pb, aa * pb - ab * pa], axis=1) / det[:, None]
        handles = np.clip(handles + change, least, most)
    for _ in range(3):
        here, speed = _cubic_at(start, stop, out, into, handles, u)
        u = np.clip(u + dot(target - here, speed) / np.maximum(dot(speed, speed), 1e-300), 0.0, 1.0)
    here, _ = _cubic_at(start, stop, out, into, handles, u)
    error: Floats = np.where(counts, lengths_of(target - here), 0.0).max(axis=1)
    points = np.stack([start, start + handles[:, :1] * out, stop - handles[:, 1:] * into, stop], axis=1)
    return points, error


def _cubic_at(
    start: Floats, stop: Floats, out: Floats, into: Floats, handles: Floats, u: Floats
) -> tuple[Floats, Floats]:
    """Return points and derivatives of cubics at u, shape (n, m, 2) each."""
    chord = (stop - start)[:, None]
    one, two = (handles[:, :1] * out)[:, None], chord - (handles[:, 1:] * into)[:, None]
    uu = u[..., None]
    vv = 1.0 - uu
    here = start[:, None] + 3.0 * vv * vv * uu * one + 3.0 * vv * uu * uu * two + uu * uu * uu * chord
    speed = 3.0 * vv * vv * one + 6.0 * vv * uu * (two - one) + 3.0 * uu * uu * (chord - two)
    return here, speed
