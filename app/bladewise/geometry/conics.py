"""Circles and ellipses that points stand for.

Both are found by least squares on the algebraic distance: the circle as I. Kåsa had it (1976), the
ellipse with the sum of its two square coefficients held to 1 (P. L. Rosin, "A note on the least
squares fitting of ellipses", 1993). Exact points give the exact curve. Whether the points then lie on
it is judged by the distances to the first order (P. D. Sampson 1982).

Lengths are mm, y down; angles run clockwise on the screen.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.arcs import arc_rows, elliptic_rows
from bladewise.geometry.curves import cross
from bladewise.geometry.path import Path

if TYPE_CHECKING:
    from bladewise.geometry.arcs import Rows
    from bladewise.geometry.path import Floats

_LEAST_POINTS = 6
"""Five points lie on a conic anyway."""
_FLATTEST = 0.02
"""Least ratio of the half-axes: flatter ones are as good as lines."""
_LARGEST = 50.0
"""Greatest half-axis over the extent of the points: beyond, a cubic says the same."""
_LEAST_SWEEP = math.radians(15.0)
"""Of less than this, points tell nothing about the ellipse they are part of."""
_WHOLE = 1e-6
"""A ring's angles add up to a whole turn to this."""


class Ellipse(NamedTuple):
    """An ellipse: centre (2,) and its two half-axes as vectors (2, 2), the second a quarter turn after the first."""

    centre: Floats
    axes: Floats

    def away(self, points: Floats) -> Floats:
        """Return about how far points lie outside (negative: inside), shape (n,)."""
        off = points - self.centre
        square = (self.axes * self.axes).sum(axis=1)
        u = (off @ self.axes.T) / square
        slope = (u / np.sqrt(square)) * 2.0
        away: Floats = ((u * u).sum(axis=1) - 1.0) / np.maximum(np.hypot(slope[:, 0], slope[:, 1]), 1e-300)
        return away

    def angles(self, points: Floats) -> Floats:
        """Return the angle of each point in the frame of the half-axes, unwound along them, shape (n,)."""
        u = (points - self.centre) @ self.axes.T / (self.axes * self.axes).sum(axis=1)
        unwound: Floats = np.unwrap(np.arctan2(u[:, 1], u[:, 0]))
        return unwound

    def halves_at(self, angle: float) -> Floats:
        """Return the conjugate half-diameters at an angle: to the point there, and along the tangent."""
        cos, sin = math.cos(angle), math.sin(angle)
        return np.array([[cos, sin], [-sin, cos]]) @ self.axes


def ellipse_through(points: Floats) -> Ellipse | None:
    """Return the ellipse nearest to points, shape (n, 2); None where they are on no ellipse worth the name."""
    if len(points) < _LEAST_POINTS:
        return None
    origin = points.mean(axis=0)
    size = float(np.abs(points - origin).max())
    if not size > 0.0:
        return None
    x, y = ((points - origin) / size).T
    columns = np.stack([x * x - y * y, x * y, x, y, np.ones(len(x))], axis=1)
    (a, b, d, e, f), *_ = np.linalg.lstsq(columns, -y * y, rcond=None)
    form = np.array([[a, b / 2.0], [b / 2.0, 1.0 - a]])
    if not np.linalg.det(form) > 0.0:
        return None
    centre = np.linalg.solve(form, [-d / 2.0, -e / 2.0])
    level = float(centre @ form @ centre - f)
    if not level > 0.0:
        return None
    values, ways = np.linalg.eigh(form / level)
    half = 1.0 / np.sqrt(values)
    if half[1] < _FLATTEST * half[0] or half[0] > _LARGEST:
        return None
    second = np.array([-ways[1, 0], ways[0, 0]])
    return Ellipse(centre * size + origin, np.stack([ways[:, 0] * half[0], second * half[1]]) * size)


def whole_circle(points: Floats, tolerance_mm: float) -> Path | None:
    """Return the circle the vertices of a ring stand for, if they do."""
    if len(points) < _LEAST_POINTS:
        return None
    origin = points.mean(axis=0)
    x, y = (points - origin).T
    found, *_ = np.linalg.lstsq(np.stack([x, y, np.ones(len(x))], axis=1), x * x + y * y, rcond=None)
    centre = found[:2] / 2.0
    radius = math.sqrt(max(float(found[2] + centre @ centre), 0.0))
    spoke = np.stack([x, y], axis=1) - centre
    away = np.abs(np.hypot(spoke[:, 0], spoke[:, 1]) - radius)
    after = np.roll(spoke, -1, axis=0)
    step = np.arctan2(cross(spoke, after), (spoke * after).sum(axis=1))
    inside = radius - np.hypot(*((spoke + after) / 2.0).T)
    if not _goes_round(step) or radius <= 2.0 * tolerance_mm or max(away.max(), inside.max()) > tolerance_mm:
        return None
    first = centre + origin + (radius, 0.0)
    rows = arc_rows(first, first, centre + origin, math.copysign(2.0 * math.pi, step.sum()))
    return Path(*rows, np.zeros(1, np.int64), np.array([True]))


def whole_ellipse(points: Floats, tolerance_mm: float) -> Path | None:
    """Return the ellipse the vertices of a ring stand for, as four arcs between its axes, if they do."""
    found = ellipse_through(points)
    if found is None:
        return None
    ring = np.concatenate([points, points[:1]])
    middles = (ring[:-1] + ring[1:]) / 2.0
    step = np.diff(found.angles(ring))
    least = float(np.hypot(*found.axes[1]))
    off = max(float(np.abs(found.away(points)).max()), -float(found.away(middles).min()))
    if not _goes_round(step) or least <= 2.0 * tolerance_mm or off > tolerance_mm:
        return None
    first = found.centre + found.axes[0]
    rows = elliptic_rows(first, first, found.centre, found.axes, math.copysign(2.0 * math.pi, step.sum()))
    return Path(*rows, np.zeros(1, np.int64), np.array([True]))


def _goes_round(step: Floats) -> bool:
    total = float(step.sum())
    return abs(abs(total) - 2.0 * math.pi) < _WHOLE and bool((step * total > -1e-9).all())


class Elliptic(NamedTuple):
    """An elliptic run: its arcs, its directions at the start and the end, and how well it fits (share of allowed)."""

    rows: Rows
    first: Floats
    last: Floats
    strain: float


def elliptic_run(points: Floats, track: Floats, allowed: Floats) -> Elliptic | None:
    """Return the arcs of the ellipse that a run stands for, from its first point to its last, if it does.

    Parameters
    ----------
    points
        The run, shape (n, 2).
    track, allowed
        What it is judged by, as in `following.Run`.
    """
    found = ellipse_through(points)
    if found is None:
        return None
    strain = float((np.abs(found.away(track)) / allowed).max())
    if not strain <= 1.0:
        return None
    angles = found.angles(points)
    step = np.diff(angles)
    sweep = float(step.sum())
    if abs(sweep) < _LEAST_SWEEP or abs(sweep) > 2.0 * math.pi or (step * sweep < 0.0).any():
        return None
    begin, end = found.halves_at(float(angles[0])), found.halves_at(float(angles[-1]))
    rows = elliptic_rows(points[0], points[-1], found.centre, begin, sweep)
    first, last = (math.copysign(1.0, sweep) * halves[1] for halves in (begin, end))
    return Elliptic(rows, first / np.hypot(*first), last / np.hypot(*last), strain)
