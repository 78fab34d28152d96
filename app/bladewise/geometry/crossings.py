"""The exact place where two curves cross, refined by Newton's method from where their chords crossed."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.curves import derivative_at, homogeneous, point_at, rational_at
from bladewise.geometry.path import SegmentKind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats

_ROUNDS = 12
"""Newton doubles the digits each round; near-tangent crossings only halve the error, so a few more."""

_LEAP = 0.25
"""Largest step in t a round: a wild step leaves the branch that the chords chose."""


_SAMPLES = 13
"""Places at which a curve is sampled before the nearest is refined; a cubic turns at most three times."""


_SLOW = 0.02
"""An end whose handle is this short, as a share of the curve's size, is no place to begin Newton's method at."""


_SHARES = np.array([0.0, 0.2, 0.4, 0.6, 0.8, 1.0])
"""Of the way from a crossing of chords to that of the curves: where the curves are held against each other."""


class Curves(NamedTuple):
    """Some segments: control points, kinds, weights, as in `Path`."""

    points: Floats
    kinds: NDArray[np.uint8]
    weights: Floats


def refine(first: Curves, t: Floats, second: Curves, u: Floats, near: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Return where each curve of `first` crosses its partner of `second`.

    Parameters
    ----------
    first, second
        n segments each.
    t, u
        Starting parameters, shape (n,). They may end outside 0…1: then the crossing lies on a neighbour.
    near
        Points near the crossings, shape (n, 2); the reckoning is done relative to them so that
        nothing is lost far from the origin.

    Returns
    -------
    t, u, places, miss
        Refined parameters, the crossings (n, 2), and the distance in mm that is left between the curves there.
    """
    first = Curves(first.points - near[:, None], first.kinds, first.weights)
    second = Curves(second.points - near[:, None], second.kinds, second.weights)
    t, u = t.copy(), u.copy()
    form_a, form_b = homogeneous(*first), homogeneous(*second)
    with np.errstate(all="ignore"):
        for _ in range(_ROUNDS):
            place_a, slope_a = rational_at(*form_a, t)
            place_b, slope_b = rational_at(*form_b, u)
            gap = place_b - place_a
            det = slope_a[:, 1] * slope_b[:, 0] - slope_a[:, 0] * slope_b[:, 1]
            dt = (gap[:, 1] * slope_b[:, 0] - gap[:, 0] * slope_b[:, 1]) / det
            du = (gap[:, 1] * slope_a[:, 0] - gap[:, 0] * slope_a[:, 1]) / det
            dt = np.where(np.isfinite(dt), np.clip(dt, -_LEAP, _LEAP), 0.0)
            du = np.where(np.isfinite(du), np.clip(du, -_LEAP, _LEAP), 0.0)
            t += dt
            u += du
            if max(np.abs(dt).max(initial=0.0), np.abs(du).max(initial=0.0)) < 1e-14:
                break
        place_a, _ = rational_at(*form_a, t)
        place_b, _ = rational_at(*form_b, u)
        miss = np.hypot(*(place_b - place_a).T)
    miss = np.where(np.isfinite(miss), miss, np.inf)
    return t, u, 0.5 * (place_a + place_b) + near, miss


def side_by_side(
    first: Curves, second: Curves, old: tuple[Floats, Floats], new: tuple[Floats, Floats], apart_mm: float
) -> NDArray[np.bool_]:
    """Return whether curves stay near each other all the way from where their chords crossed to where they do.

    Curves that all but touch run side by side for long, and their crossing may lie far along them.

    Parameters
    ----------
    first, second
        n segments each.
    old, new
        The parameters on both at which the chords and the curves cross, each of shape (n,).
    apart_mm
        How far apart they may be on the way.
    """
    both, other = _together(first, second), _together(second, first)
    begin, end = np.concatenate(old), np.concatenate(new)
    t = begin + _SHARES[:, None] * (end - begin)
    rows = np.tile(np.arange(len(begin)), len(_SHARES))
    places = point_at(both.points[rows], both.kinds[rows], both.weights[rows], t.ravel())
    _, away = project(Curves(other.points[rows], other.kinds[rows], other.weights[rows]), places)
    farthest: Floats = away.reshape(2 * len(_SHARES), -1).max(axis=0)
    return farthest < apart_mm


def _together(one: Curves, two: Curves) -> Curves:
    return Curves(
        np.concatenate([one.points, two.points]),
        np.concatenate([one.kinds, two.kinds]),
        np.concatenate([one.weights, two.weights]),
    )


def project(curves: Curves, places: Floats) -> tuple[Floats, Floats]:
    """Return the nearest parameter on each curve to its own point, and the distance in mm, two arrays (n,).

    The nearest of some samples is refined by Gauss's and Newton's method on the foot of the
    perpendicular; ends count.
    """
    t: Floats = np.zeros(len(places))
    away: Floats = np.zeros(len(places))
    if not len(places):
        return t, away
    line = curves.kinds == SegmentKind.LINE
    if line.any():
        a, way = curves.points[line, 0], curves.points[line, 3] - curves.points[line, 0]
        length2 = np.maximum((way * way).sum(axis=1), 1e-300)
        t[line] = np.clip(((places[line] - a) * way).sum(axis=1) / length2, 0.0, 1.0)
    bent = np.flatnonzero(~line)
    if len(bent):
        t[bent] = _foot(Curves(curves.points[bent], curves.kinds[bent], curves.weights[bent]), places[bent])
    foot, _ = derivative_at(curves.points - places[:, None], curves.kinds, curves.weights, t)
    away = np.hypot(*foot.T)
    for end, corner in ((0.0, 0), (1.0, 3)):
        gap = np.hypot(*(curves.points[:, corner] - places).T)
        nearer = gap <= away
        t[nearer], away[nearer] = end, gap[nearer]
    return t, away


def _foot(curves: Curves, places: Floats) -> Floats:
    numerator, denominator = homogeneous(curves.points - places[:, None], curves.kinds, curves.weights)
    samples = np.linspace(0.0, 1.0, _SAMPLES)
    n0, n1, n2, n3 = (numerator[:, power, :, None] for power in range(4))
    places_on = ((n3 * samples + n2) * samples + n1) * samples + n0
    sizes = places_on[:, 0] ** 2 + places_on[:, 1] ** 2
    if (denominator[:, 1:] != 0.0).any():
        sizes /= (denominator @ np.stack([np.ones(_SAMPLES), samples, samples * samples])) ** 2
    best = sizes.argmin(axis=1)
    # a curve that comes by twice may be nearest between two samples neither of which is the nearest of all
    sizes[np.abs(np.arange(_SAMPLES) - best[:, None]) <= 1] = np.inf
    starts = samples[np.concatenate([best, sizes.argmin(axis=1)])]
    both = _polished(np.concatenate([numerator] * 2), np.concatenate([denominator] * 2), starts)
    t, other = both[: len(best)], both[len(best) :]
    nearer = _squared(numerator, denominator, other) < _squared(numerator, denominator, t)
    return np.where(nearer, other, t)


def _polished(numerator: Floats, denominator: Floats, start: Floats) -> Floats:
    """Return the foot of the perpendicular near each start: Gauss's method, or a narrowing search where it runs off."""
    still = _stands_still(numerator, denominator, start)
    if len(still):
        start = start.copy()
        start[still] = _narrowed(numerator[still], denominator[still], start[still])
    t = start.copy()
    for _ in range(6):
        place, slope = rational_at(numerator, denominator, t)
        speed = np.maximum((slope * slope).sum(axis=1), 1e-300)
        bend = _second(numerator, denominator, t, place, slope)
        full = speed + (place * bend).sum(axis=1)  # Newton where the distance is convex, Gauss elsewhere
        step = (place * slope).sum(axis=1) / np.where(full > 0.1 * speed, full, speed)
        moved = np.clip(t - np.clip(step, -0.1, 0.1), 0.0, 1.0)
        settled = np.abs(moved - t).max(initial=0.0) < 1e-14
        t = moved
        if settled:
            break
    least = _squared(numerator, denominator, start)
    lost = np.flatnonzero(_squared(numerator, denominator, t) > least * (1.0 + 1e-9))
    if len(lost):
        t[lost] = _narrowed(numerator[lost], denominator[lost], start[lost])
    return t


def _stands_still(numerator: Floats, denominator: Floats, start: Floats) -> NDArray[np.int64]:
    """Return which starts are ends where a curve sets off slowly, as it does from a handle on its node.

    There Gauss's method has no way to go, or halves a far too large first step for longer than it is given.
    """
    ends = np.flatnonzero((start == 0.0) | (start == 1.0))
    _, slope = rational_at(numerator[ends], denominator[ends], start[ends])
    slow = np.abs(slope).max(axis=1) < _SLOW * np.abs(numerator[ends, 1:]).max(axis=(1, 2))
    still: NDArray[np.int64] = ends[slow]
    return still


def _second(numerator: Floats, denominator: Floats, t: Floats, place: Floats, slope: Floats) -> Floats:
    """Return the second derivative by t of curves whose point and first derivative are known, shape (n, 2)."""
    top = 6.0 * numerator[:, 3] * t[:, None] + 2.0 * numerator[:, 2]
    if not (denominator[:, 1:] != 0.0).any():
        return top
    low = (denominator[:, 2] * t + denominator[:, 1]) * t + denominator[:, 0]
    low_slope = 2.0 * denominator[:, 2] * t + denominator[:, 1]
    low_bend = 2.0 * denominator[:, 2]
    bend: Floats = (top - 2.0 * slope * low_slope[:, None] - place * low_bend[:, None]) / low[:, None]
    return bend


def _squared(numerator: Floats, denominator: Floats, t: Floats) -> Floats:
    """Return the squared distance of each curve's point at t from the origin, shape (n,)."""
    place, _ = rational_at(numerator, denominator, t)
    squared: Floats = (place * place).sum(axis=1)
    return squared


def _narrowed(numerator: Floats, denominator: Floats, near: Floats) -> Floats:
    """Return the parameter of least distance between the neighbours of a sample: golden section, where Newton ran off.

    A curve that turns back on itself near the place sends Gauss's method past the foot.
    """
    low, high = np.maximum(near - 1.0 / (_SAMPLES - 1), 0.0), np.minimum(near + 1.0 / (_SAMPLES - 1), 1.0)
    golden = 0.5 * (np.sqrt(5.0) - 1.0)
    for _ in range(45):
        one, two = high - golden * (high - low), low + golden * (high - low)
        left = _squared(numerator, denominator, one) < _squared(numerator, denominator, two)
        low, high = np.where(left, low, one), np.where(left, two, high)
    return 0.5 * (low + high)
