"""Sharp tips put where the exact parallels cross.

A fitted parallel lies within a thousandth or two of the exact one. Where two cross at a small angle φ
that moves their crossing by up to 1/sin(φ/2) as much, along the curves: a gap between two strokes then
ends some hundredths too early or too late. The exact crossing is known all the same: it is as far from
both sources as asked. It is found by Newton's method on the two distances, and the two curves are
prolonged or cut back to end there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from bladewise.geometry.curves import cross, sub_segments
from bladewise.geometry.flatten import flatten
from bladewise.geometry.offset_curves import Curves, dot, lengths_of, normals_of
from bladewise.geometry.path import Path, SegmentKind
from bladewise.geometry.tolerances import FLATTENING_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats

_BLUNT = 0.5
"""Sine of half the angle from which on a tip is left as it is: it is off by twice the fit at most."""

_ROUNDS = 8

_FARTHEST = 40.0
"""A tip moves by this many times the fitting tolerance at most; if more is asked the look-up went astray."""

_BEYOND = 0.05
"""Share of a curve by which it may be prolonged or cut back."""


def sharpened(path: Path, source: Path, distance_mm: float, tolerance_mm: float) -> Path:
    """Return a resolved path with its sharp tips in their exact places.

    Parameters
    ----------
    path
        Outlines beside `source`, what is painted on their right as seen on the screen.
    source
        The path they run beside.
    distance_mm
        How far the source lies to the right of them (> 0) or to the left (< 0).
    tolerance_mm
        To which their curves were fitted.
    """
    before = np.arange(len(path)) - 1
    before[path.starts] = path.ends - 1
    kinds = path.kinds
    into, out = _tip_directions(path.points[before], end=1), _tip_directions(path.points, end=0)
    # the angle between the two curves at the tip; straight on is a half turn
    half = np.sqrt(np.clip(0.5 * (1.0 + dot(into, out)), 0.0, 1.0))
    sharp = (half < _BLUNT) & ((kinds == SegmentKind.CUBIC) | (kinds[before] == SegmentKind.CUBIC))
    sharp &= before != np.arange(len(path))
    if not sharp.any():
        return path
    second = np.flatnonzero(sharp)
    first = before[second]
    tip = path.points[second, 0]
    one = _Side(path, first, into[second], tip, source, distance_mm)
    two = _Side(path, second, out[second], tip, source, distance_mm)
    place = tip.copy()
    for _ in range(_ROUNDS):
        (miss, way), (other, across) = one.away(place), two.away(place)
        det = cross(way, across)
        det = np.where(np.abs(det) < 1e-6, np.nan, det)
        place = (
            place
            + np.stack([across[:, 1] * miss - way[:, 1] * other, way[:, 0] * other - across[:, 0] * miss], axis=1)
            / -det[:, None]
        )
    moved = lengths_of(place - tip)
    good = one.sound(place) & two.sound(place) & (moved < _FARTHEST * tolerance_mm)
    # each segment is changed at one end only in a round, and a tip only if both its curves reach it
    kept = np.flatnonzero(good)
    reached = np.ones(len(kept), np.bool_)
    changed = path
    for end, rows in ((1, first), (0, second)):
        reached &= _ended(changed, rows[kept], place[kept], end=end)[2]
    kept = kept[reached]
    for end, rows in ((1, first), (0, second)):
        points, weights = changed.points.copy(), changed.weights.copy()
        points[rows[kept]], weights[rows[kept]], _ = _ended(changed, rows[kept], place[kept], end=end)
        line = kinds == SegmentKind.LINE
        points[line, 1], points[line, 2] = points[line, 0], points[line, 3]
        changed = Path(points, kinds, weights, path.starts, path.closed)
    return changed


class _Side:
    """One of the two curves of each tip: how far places lie off it. Shapes (k,) and (k, 2)."""

    def __init__(
        self, path: Path, rows: NDArray[np.int64], tangent: Floats, tip: Floats, source: Path, distance_mm: float
    ) -> None:
        points, kinds, weights = path.points[rows], path.kinds[rows], path.weights[rows]
        self.straight = kinds == SegmentKind.LINE
        self.base, self.normal = points[:, 0], normals_of(tangent)
        self.round = kinds == SegmentKind.ARC
        leg = points[:, 1] - points[:, 0]
        size = lengths_of(leg)
        radius = size * weights / np.sqrt(np.maximum(1.0 - weights * weights, 1e-30))
        turn = np.sign(cross(leg, points[:, 3] - points[:, 1]))
        self.centre = points[:, 0] + (turn * radius / np.maximum(size, 1e-300))[:, None] * normals_of(leg)
        self.radius = np.where(self.round, radius, abs(distance_mm))
        self.free = ~self.straight & ~self.round
        self.curves = Curves.of(source.points, source.kinds, source.weights)
        self.row, self.t = np.zeros(len(rows), np.int64), np.zeros(len(rows))
        self.found = np.ones(len(rows), np.bool_)
        which = np.flatnonzero(self.free)
        if len(which):
            foot = tip[which] + distance_mm * self.normal[which]
            self.row[which], self.t[which], off = _nearest(source, foot)
            self.found[which] = off < 20.0 * FLATTENING_MM

    def away(self, place: Floats) -> tuple[Floats, Floats]:
        """Return how far the places lie off the curve, and the direction in which that grows."""
        away, way = dot(place - self.base, self.normal), self.normal.copy()
        foot = self.centre.copy()
        for _ in range(2):
            here, first, second = (each[:, 0] for each in self.curves.at(self.row, self.t[:, None]))
            rest = place - here
            slope = dot(first, first) - dot(rest, second)
            step = dot(rest, first) / np.where(np.abs(slope) < 1e-12, np.inf, slope)
            self.t = np.where(self.free, np.clip(self.t + step, -0.1, 1.1), self.t)
        here = self.curves.at(self.row, self.t[:, None])[0][:, 0]
        foot[self.free] = here[self.free]
        bent = ~self.straight
        rest = place - foot
        size = lengths_of(rest)
        away[bent] = (size - self.radius)[bent]
        way[bent] = (rest / np.maximum(size, 1e-300)[:, None])[bent]
        return away, way

    def sound(self, place: Floats) -> NDArray[np.bool_]:
        """Return where the places lie on the curve, and its foot on the source."""
        away, _ = self.away(place)
        with np.errstate(invalid="ignore"):
            on: NDArray[np.bool_] = (np.abs(away) < 1e-6) & self.found
        answer: NDArray[np.bool_] = on & (~self.free | ((self.t > -1e-6) & (self.t < 1.0 + 1e-6)))
        return answer


def _nearest(source: Path, places: Floats) -> tuple[NDArray[np.int64], Floats, Floats]:
    """Return the segment of a path nearest to each place, the parameter there, and the distance in mm."""
    flat = flatten(source, FLATTENING_MM)
    last = np.append(flat.starts[1:], len(flat.coords)) - 1
    start = np.delete(np.arange(len(flat.coords)), last)
    chords: Any = shapely.linestrings(np.stack([flat.coords[start], flat.coords[start + 1]], axis=1))
    (_, chord), off = shapely.STRtree(chords).query_nearest(
        shapely.points(places), all_matches=False, return_distance=True
    )
    at = start[chord]
    a, way = flat.coords[at], flat.coords[at + 1] - flat.coords[at]
    share = np.clip(dot(places - a, way) / np.maximum(dot(way, way), 1e-300), 0.0, 1.0)
    row = flat.segment[at]
    stop = np.where(flat.segment[at + 1] == row, flat.t[at + 1], 1.0)
    return row, flat.t[at] + share * (stop - flat.t[at]), off


def _tip_directions(points: Floats, *, end: int) -> Floats:
    """Return the unit directions of travel at one end of segments, shape (n, 2)."""
    order = (0, 1, 2, 3) if end == 0 else (3, 2, 1, 0)
    base = points[:, order[0]]
    way = points[:, order[3]] - base
    for other in (order[2], order[1]):
        leg = points[:, other] - base
        way = np.where((lengths_of(leg) > 1e-9)[:, None], leg, way)
    way = way / np.maximum(lengths_of(way), 1e-300)[:, None]
    return way if end == 0 else -way


def _ended(
    path: Path, rows: NDArray[np.int64], places: Floats, *, end: int
) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Return segments that end (or begin) at places, with their weights, and whether they reach them.

    Along themselves as far as that goes, the rest by moving the end with its handle.
    """
    corner, handle = (3, 2) if end else (0, 1)
    points, kinds, weights = path.points[rows], path.kinds[rows], path.weights[rows]
    way = (points[:, 3] - points[:, 2]) if end else (points[:, 1] - points[:, 0])
    cubic, line = kinds == SegmentKind.CUBIC, kinds == SegmentKind.LINE
    way = np.where(cubic, 3.0, 2.0 * weights)[:, None] * way
    change = dot(places - points[:, corner], way) / np.maximum(dot(way, way), 1e-300)
    reached = (np.abs(change) < _BEYOND) | line
    change = np.where(reached & ~line, change, 0.0)
    low, high = (np.zeros(len(rows)), 1.0 + change) if end else (change, np.ones(len(rows)))
    parts, shares = sub_segments(points, kinds, weights, low, high)
    rest = places - parts[:, corner]
    parts[cubic, handle] += rest[cubic]
    parts[:, corner] = places
    return parts, shares, reached
