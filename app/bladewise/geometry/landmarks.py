"""Places of an outline worth hitting exactly: middles, centres, crossings, tangents, and what lies near a place.

The hand points roughly; what it means is one of these. Each function takes the segments near the hand
(a few, found by `Neighbourhood`) and answers for all of them at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.bernstein import derivatives, rational_cubics
from bladewise.geometry.crossings import Curves, project, refine
from bladewise.geometry.curves import cross, point_at
from bladewise.geometry.measures import point_at_length, segment_lengths
from bladewise.geometry.path import Path, SegmentKind
from bladewise.geometry.tolerances import ON_CURVE_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats, Point

_BLOCK = 64
"""Segments whose common box is looked at first; then only those of the boxes that are near."""
_ROUNDS = 12
"""Newton doubles its digits each round; from beside the place that is more than enough."""
_LEAP = 0.2
"""Largest step in t a round, so that the search stays at the place it began with."""


class Neighbourhood:
    """The segments of a path in boxes of boxes: which of them pass near a place."""

    def __init__(self, path: Path) -> None:
        """Box the segments of a path by their control points, which contain them."""
        self.path = path
        self._low, self._high = path.points.min(axis=1), path.points.max(axis=1)
        starts = np.arange(0, len(path), _BLOCK)
        self._starts = starts
        if len(path):
            self._block_low = np.minimum.reduceat(self._low, starts)
            self._block_high = np.maximum.reduceat(self._high, starts)

    def near(self, place: Point, reach_mm: float) -> NDArray[np.int64]:
        """Return the segments whose box comes within a reach of a place, rising; they may themselves lie farther."""
        if not len(self.path):
            return np.zeros(0, np.int64)
        low, high = np.array(place) - reach_mm, np.array(place) + reach_mm
        blocks = np.flatnonzero(((self._block_low <= high) & (self._block_high >= low)).all(axis=1))
        if not len(blocks):
            return np.zeros(0, np.int64)
        if len(blocks) == len(self._starts):
            rows = np.arange(len(self.path))
        else:
            rows = (self._starts[blocks][:, None] + np.arange(_BLOCK)).ravel()
            rows = rows[rows < len(self.path)]
        found: NDArray[np.int64] = rows[((self._low[rows] <= high) & (self._high[rows] >= low)).all(axis=1)]
        return found


def segments_of(path: Path, rows: NDArray[np.int64]) -> Path:
    """Return some segments of a path, each an open subpath of its own."""
    return Path(
        path.points[rows],
        path.kinds[rows],
        path.weights[rows],
        np.arange(len(rows)),
        np.zeros(len(rows), np.bool_),
    )


def feet(path: Path, place: Point) -> tuple[Floats, Floats, Floats]:
    """Return the nearest point of each segment to a place.

    Returns
    -------
    t, distances, points
        Shapes (n,), (n,) in mm, (n, 2) in mm.
    """
    curves = Curves(path.points, path.kinds, path.weights)
    t, away = project(curves, np.broadcast_to(np.array(place), (len(path), 2)))
    return t, away, point_at(path.points, path.kinds, path.weights, t)


def middles(path: Path) -> Floats:
    """Return the place halfway along each segment by length, shape (n, 2) in mm."""
    lengths = segment_lengths(path)
    if not len(lengths) or lengths.sum() <= 0.0:
        return path.points[:, 0].copy()
    places = point_at_length(path, np.cumsum(lengths) - lengths / 2.0).points
    line = path.kinds == SegmentKind.LINE
    places[line] = (path.points[line, 0] + path.points[line, 3]) / 2.0
    return places


def arc_centres(path: Path) -> Floats:
    """Return the centre of the circle or ellipse of each arc, shape (n, 2) in mm; NaN for every other kind.

    With its control triangle P0, P1, P2, weight w and M halfway from P0 to P2 the centre is
    P1 + (M − P1) / (1 − w²), which any affine transform carries along (G. Farin, *Curves and Surfaces for
    CAGD*, the chapter on conics; from memory).

    Examples
    --------
    >>> from bladewise.geometry.path import circle
    >>> bool(abs(arc_centres(circle((3.0, 4.0), 5.0)) - [3.0, 4.0]).max() < 1e-9)
    True
    """
    centres = np.full((len(path), 2), np.nan)
    arc = (path.kinds == SegmentKind.ARC) & (np.abs(path.weights) < 1.0 - 1e-9)
    if arc.any():
        corner = path.points[arc, 1]
        middle = (path.points[arc, 0] + path.points[arc, 3]) / 2.0
        centres[arc] = corner + (middle - corner) / (1.0 - path.weights[arc] ** 2)[:, None]
    return centres


def crossings_near(path: Path, place: Point, reach_mm: float) -> tuple[Floats, NDArray[np.int64]]:
    """Return where segments cross one another within a reach of a place, shape (k, 2) in mm, and which, (k, 2).

    The search begins at the nearest points of both, so it is meant for segments that pass within the
    reach. Joints, where one ends and another begins, are no crossings.
    """
    if len(path) < 2:
        return np.zeros((0, 2)), np.zeros((0, 2), np.int64)
    t, _, _ = feet(path, place)
    a, b = np.triu_indices(len(path), 1)
    first, second = (Curves(path.points[rows], path.kinds[rows], path.weights[rows]) for rows in (a, b))
    near = np.broadcast_to(np.array(place), (len(a), 2))
    t_a, t_b, places, miss = refine(first, t[a], second, t[b], near)
    inside = (t_a >= -1e-9) & (t_a <= 1.0 + 1e-9) & (t_b >= -1e-9) & (t_b <= 1.0 + 1e-9)
    ends = (np.minimum(t_a, 1.0 - t_a) < 1e-9) & (np.minimum(t_b, 1.0 - t_b) < 1e-9)
    good = inside & ~ends & (miss <= ON_CURVE_MM) & (np.hypot(*(places - place).T) <= reach_mm)
    return places[good], np.stack([a, b], axis=1)[good]


def tangent_places(path: Path, origin: Point, place: Point) -> Floats:
    """Return where lines from an origin touch curves, searched from the point of each curve nearest to a place.

    Returns
    -------
    Floats
        One row a segment, shape (n, 2) in mm; NaN for lines and where there is none.
    """
    return _met(path, origin, place, touching=True)


def square_places(path: Path, origin: Point, place: Point) -> Floats:
    """Return where lines from an origin meet segments at a right angle; see `tangent_places`, lines count here."""
    return _met(path, origin, place, touching=False)


def _met(path: Path, origin: Point, place: Point, *, touching: bool) -> Floats:
    """Solve cross(P − A, P') = 0, or dot(P − A, P') = 0, by Newton's method."""
    found = np.full((len(path), 2), np.nan)
    bent = path.kinds != SegmentKind.LINE
    rows = np.flatnonzero(bent) if touching else np.arange(len(path))
    if not len(rows):
        return found
    part = segments_of(path, rows)
    control = rational_cubics(part, np.array(origin))
    t, _, _ = feet(part, place)

    def measure(at: Floats, velocity: Floats) -> Floats:
        value: Floats = cross(at, velocity) if touching else (at * velocity).sum(axis=1)
        return value

    for _ in range(_ROUNDS):
        point, first, second = (each[:, 0] for each in derivatives(control, t[:, None]))
        value = measure(point, first)
        slope = cross(point, second) if touching else (first * first).sum(axis=1) + (point * second).sum(axis=1)
        step = np.divide(value, slope, out=np.zeros_like(t), where=np.abs(slope) > 1e-300)
        t = np.clip(t - np.clip(step, -_LEAP, _LEAP), 0.0, 1.0)
    point, first, _ = (each[:, 0] for each in derivatives(control, t[:, None]))
    size = np.hypot(*point.T) * np.hypot(*first.T)
    good = np.abs(measure(point, first)) <= 1e-7 * np.maximum(size, 1e-12)
    good &= np.hypot(*point.T) > 1e-6  # from a place on the curve itself every direction would do
    found[rows[good]] = point[good] + np.array(origin)
    return found
