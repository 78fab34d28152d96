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


_SAMPLES = 9
"""Places at which a curve is sampled before the nearest is refined; a cubic turns at most three times."""


_SHARES = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
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
    near = np.ones(len(old[0]), np.bool_)
    for one, two, begin, end in ((first, second, old[0], new[0]), (second, first, old[1], new[1])):
        for share in _SHARES:
            near &= project(two, point_at(*one, begin + share * (end - begin)))[1] < apart_mm
    return near


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
    bent = (denominator[:, 1:] != 0.0).any()
    n0, n1, n2, n3 = (numerator[:, power] for power in range(4))
    t, least = np.zeros(len(places)), np.full(len(places), np.inf)
    for sample in np.linspace(0.0, 1.0, _SAMPLES).tolist():
        place = ((n3 * sample + n2) * sample + n1) * sample + n0
        size = place[:, 0] ** 2 + place[:, 1] ** 2
        if bent:
            size /= (denominator @ [1.0, sample, sample * sample]) ** 2
        nearer = size < least
        t[nearer], least[nearer] = sample, size[nearer]
    for _ in range(6):
        at = t[:, None]
        place = ((n3 * at + n2) * at + n1) * at + n0
        slope = (3.0 * n3 * at + 2.0 * n2) * at + n1
        if bent:
            low = (denominator[:, 2] * t + denominator[:, 1]) * t + denominator[:, 0]
            low_slope = 2.0 * denominator[:, 2] * t + denominator[:, 1]
            place /= low[:, None]
            slope = (slope - place * low_slope[:, None]) / low[:, None]
        speed = np.maximum((slope * slope).sum(axis=1), 1e-300)
        t = np.clip(t - np.clip((place * slope).sum(axis=1) / speed, -0.1, 0.1), 0.0, 1.0)
    return t
