"""What a polyline was before it was cut into chords: where it has corners, straights and smooth runs.

The points are taken as they are; nothing is moved here. A vertex is judged by how far a smooth
curve through it would have to bow out from the chords: a chord of length h that stands for a curve
of curvature κ lies κh²/8 inside it. Where that is more than the tolerance allows, the chord is no
chord but a straight line, and the turn between two straight lines is a corner. A second rule looks
over some tolerances to both sides, for corners between finely cut curves and in freehand lines.

Lengths are mm, y down; turns are radians, positive clockwise on the screen.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.tolerances import BOW_SHARE, DRAWN_KINK_DEG, SHARP_BEND_DEG

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats

_MERGE_SHARE = 0.125
"""Vertices within this share of the tolerance of a straight line say nothing about its shape."""
_LOOK = 4.0
"""A corner is looked for over this many tolerances to either side: a curve that fills a right angle
to within the tolerance begins 2.4 tolerances from its tip."""
_SHARP = math.radians(SHARP_BEND_DEG)
"""Turn over that distance from which a place may be a corner."""
_STAND_OUT = 2.5
"""How many times sharper than one of its surroundings it must be then."""
_KINK = math.radians(DRAWN_KINK_DEG)
"""Turn between a straight and a curve from which the place is a corner."""
_WINDOW = 12.0
"""Directions are taken from the points within this many tolerances, two to twelve to either side."""


class Structure(NamedTuple):
    """Where a polyline's shape changes its nature; arrays over its vertices and chords."""

    corner: NDArray[np.bool_]
    """Vertices at which the direction jumps."""
    straight: NDArray[np.bool_]
    """Chords that are straight lines, not parts of curves."""


def turns(points: Floats, *, closed: bool) -> Floats:
    """Return the turn at each vertex, shape (n,); 0 at the ends of an open polyline."""
    edges = _edges(points, closed=closed)
    before = np.roll(edges, 1, axis=0) if closed else np.concatenate([edges[:1], edges])
    after = edges if closed else np.concatenate([edges, edges[-1:]])
    return _angle(before, after)


def _edges(points: Floats, *, closed: bool) -> Floats:
    edges: Floats = np.roll(points, -1, axis=0) - points if closed else np.diff(points, axis=0)
    return edges


def _angle(a: Floats, b: Floats) -> Floats:
    angle: Floats = np.arctan2(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0], (a * b).sum(axis=-1))
    return angle


def bows(points: Floats, *, closed: bool) -> Floats:
    """Return how far a smooth curve through the points bows out over each chord, in mm, signed.

    The curvature at a vertex is its turn over half of both chords; a chord takes the lesser of its
    two vertices', and none if they turn opposite ways. Positive where the curve lies to the left of
    the chord, which is the outside of a clockwise turn.
    """
    edges = _edges(points, closed=closed)
    long = np.hypot(edges[:, 0], edges[:, 1])
    turn = turns(points, closed=closed)
    if closed:
        bend = 2.0 * turn / (np.roll(long, 1) + long)
        start, end = bend, np.roll(bend, -1)
    else:
        if len(points) < 3:
            return np.zeros(len(edges))
        inner = 2.0 * turn[1:-1] / (long[:-1] + long[1:])
        bend = np.concatenate([inner[:1], inner, inner[-1:]])
        start, end = bend[:-1], bend[1:]
    least = np.where(np.abs(start) < np.abs(end), start, end)
    bow: Floats = np.where(start * end > 0.0, least, 0.0) * long**2 / 8.0
    return bow


def merged(points: Floats, tolerance_mm: float, *, closed: bool) -> NDArray[np.int64]:
    """Return the vertices that say something about the shape (D. Douglas and T. Peucker 1973)."""
    ring = np.concatenate([points, points[:1]]) if closed else points
    numbered = np.column_stack([ring, np.arange(len(ring))])
    kept = shapely.get_coordinates(shapely.simplify(shapely.linestrings(numbered), tolerance_mm), include_z=True)
    index = kept[:, 2].astype(np.int64)
    return index[:-1] if closed else index


def structure(points: Floats, tolerance_mm: float, *, closed: bool) -> Structure:
    """Tell corners and straights of a polyline without repeated points.

    Parameters
    ----------
    points
        Vertices, shape (n, 2), n ≥ 2; of a closed one the first is not repeated.
    tolerance_mm
        How far the curve that takes its place may be from it.
    closed
        Whether the last vertex is joined to the first.
    """
    count = len(points)
    corner = np.zeros(count, np.bool_)
    straight = np.zeros(count if closed else count - 1, np.bool_)
    kept = merged(points, tolerance_mm * _MERGE_SHARE, closed=closed)
    if len(kept) < (3 if closed else 2):
        corner[kept] = True
        straight[:] = True
        return Structure(corner, straight)
    rough = points[kept]
    edges = _edges(rough, closed=closed)
    long = np.hypot(edges[:, 0], edges[:, 1])
    turn = np.abs(turns(rough, closed=closed))
    bow = np.abs(bows(rough, closed=closed))
    before = np.roll(long, 1) if closed else np.concatenate([long[:1], long])
    after = long if closed else np.concatenate([long, long[-1:]])
    is_corner = np.minimum(before, after) * turn / 8.0 > tolerance_mm * BOW_SHARE
    is_corner |= _sharp(points, kept, tolerance_mm, before, after, closed=closed)
    if not closed:
        is_corner[[0, -1]] = True
    end = np.roll(is_corner, -1) if closed else is_corner[1:]
    begin = is_corner if closed else is_corner[:-1]
    # a chord between two corners is a line; one that bows out too far to be a chord is, too
    is_straight = (bow > tolerance_mm * BOW_SHARE) | (begin & end)
    before_straight = np.roll(is_straight, 1) if closed else np.concatenate([[True], is_straight])
    after_straight = is_straight if closed else np.concatenate([is_straight, [True]])
    is_corner |= before_straight & after_straight
    beside = np.minimum(np.roll(turn, 1), np.roll(turn, -1))
    beside = np.where(before_straight, np.roll(turn, -1), np.where(after_straight, np.roll(turn, 1), beside))
    is_corner |= (before_straight ^ after_straight) & (turn > np.maximum(_KINK, 1.5 * beside))
    corner[kept] = is_corner
    spans = np.diff(np.append(kept, kept[0] + count)) if closed else np.diff(kept)
    covered = np.repeat(is_straight, spans)
    straight[:] = np.roll(covered, kept[0]) if closed else covered
    return Structure(corner, straight)


def _sharp(
    points: Floats, kept: NDArray[np.int64], tolerance_mm: float, before: Floats, after: Floats, *, closed: bool
) -> NDArray[np.bool_]:
    """Return which of the kept vertices turn sharply within a few tolerances and their surroundings do not."""
    edges = _edges(points, closed=closed)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(edges[:, 0], edges[:, 1]))])
    whole = along[-1]
    track = np.concatenate([points, points[:1]]) if closed else points
    here = along[kept]
    back, ahead = np.maximum(_LOOK * tolerance_mm, before), np.maximum(_LOOK * tolerance_mm, after)

    def at(where: Floats) -> Floats:
        where = where % whole if closed else np.clip(where, 0.0, whole)
        return np.stack([np.interp(where, along, track[:, axis]) for axis in range(2)], axis=1)

    # the place itself is left out: in a shaky line the kept vertices are the ones that stick out
    far_back, near_back, near_ahead, far_ahead = (at(here + leap) for leap in (-back, -back / 4.0, ahead / 4.0, ahead))
    twice_back, twice_ahead = at(here - 2.0 * back), at(here + 2.0 * ahead)
    arriving, leaving = near_back - far_back, far_ahead - near_ahead
    middle = np.abs(_angle(arriving, leaving))
    wider = np.abs(_angle(near_back - twice_back, twice_ahead - near_ahead))
    behind, beyond = np.abs(_angle(far_back - twice_back, arriving)), np.abs(_angle(leaving, twice_ahead - far_ahead))
    sharp = (middle > _SHARP) & (wider > _SHARP) & (middle > _STAND_OUT * np.minimum(behind, beyond))
    # of several along one bend only the sharpest is the corner
    for step in (1, -1):
        apart = np.abs(here - np.roll(here, step))
        apart = np.minimum(apart, whole - apart) if closed else apart
        near = apart < _LOOK * tolerance_mm
        rival = np.roll(middle * sharp, step)
        sharp &= ~(near & ((rival > middle) | ((rival == middle) & (step == 1) & (rival > 0.0))))
    return sharp


def directions(points: Floats, tolerance_mm: float, *, wrap: bool = False) -> tuple[Floats, Floats]:
    """Return unit tangents and smoothed places of the points of one run, by local cubics.

    A cubic in the length run is fitted by least squares to the nearest points of each (A. Savitzky
    and M. Golay 1964, for uneven steps). On exact points it gives the direction to the fourth order
    of their spacing, on a shaky line it averages.

    Parameters
    ----------
    points
        The run, shape (n, 2), n ≥ 2.
    tolerance_mm
        Sets how far to either side points are taken.
    wrap
        Whether the run goes round; its last point is then the first again.
    """
    steps = np.hypot(*np.diff(points, axis=0).T)
    reach = int(np.clip(math.ceil(_WINDOW * tolerance_mm / max(float(np.median(steps)), 1e-300)), 2, 12))
    if wrap:
        reach = min(reach, len(points) - 1)
        points = np.concatenate([points[-1 - reach : -1], points, points[1 : 1 + reach]])
        steps = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    count = len(points)
    size = min(2 * reach + 1, count)
    degree = min(3, size - 1)
    centre = np.arange(count)
    window = np.clip(centre - reach, 0, count - size)[:, None] + np.arange(size)
    offset = along[window] - along[:, None]
    scale = np.maximum(np.abs(offset).max(axis=1, keepdims=True), 1e-300)
    powers = (offset / scale)[..., None] ** np.arange(degree + 1)
    local = points[window] - points[:, None]
    found = np.linalg.pinv(powers)[:, :2] @ local
    way = found[:, 1]
    far = np.hypot(way[:, 0], way[:, 1])
    lost = far < 1e-12 * scale[:, 0]
    if lost.any():
        around = points[np.minimum(centre + 1, count - 1)] - points[np.maximum(centre - 1, 0)]
        way = np.where(lost[:, None], around, way)
        far = np.hypot(way[:, 0], way[:, 1])
    unit = way / np.maximum(far, 1e-300)[:, None]
    places = points + found[:, 0]
    inside = slice(reach, count - reach) if wrap else slice(None)
    return unit[inside], places[inside]
