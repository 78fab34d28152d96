"""Whether rebuilt rings cross themselves or one another, and where.

The curves that were put back need not do what their chords did. So the rings are looked at once more
through a much finer flattening, and those that fail through a finer one still: near-tangent sides whose
chords cross are not curves that cross.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.flatten import chord_counts, chord_vertices
from bladewise.geometry.meeting import Meetings, hull_boxes, lonely
from bladewise.geometry.sources import Sources
from bladewise.geometry.topology import passed_twice

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats

_FINER = 16.0
"""The rings are checked at a flattening this many times finer than the one that decided the topology."""

_FINER_STILL = 256.0
"""How many times finer again the polygons are that failed."""

WOVEN = 1000
"""Sides that cross more often than this all but coincide; chords however fine weave more, and tell nothing."""


class Rings(NamedTuple):
    """Rings of segments.

    Parameters
    ----------
    points, kinds, weights
        Segments, ring after ring, as in `Path`.
    single
        Segments that have nothing near them: one chord does, shape (n,).
    size
        The number of segments of each ring, shape (r,).
    polygon
        The polygon each ring belongs to, equal numbers side by side, its outer ring first, shape (r,).
    """

    points: Floats
    kinds: NDArray[np.uint8]
    weights: Floats
    single: NDArray[np.bool_]
    size: NDArray[np.int64]
    polygon: NDArray[np.int64]


def crossed_places(rings: Rings, tolerance_mm: float) -> Floats:
    """Return where the rings of a polygon cross themselves or one another, in mm, shape (k, 2).

    Where sides all but coincide there are more than `WOVEN` of these, and no closer look is taken: the finer the
    chords are, the more often they cross.

    Parameters
    ----------
    rings
        At least one.
    tolerance_mm
        Of the flattening that decided the topology.
    """
    tolerance_mm /= _FINER
    rings = rings._replace(single=rings.single | _apart(rings))
    shapes = _polygons(rings, tolerance_mm)
    broken = ~shapely.is_valid(shapes)
    if not broken.any():
        return np.zeros((0, 2))
    suspects = _chosen(rings, broken)
    passed = _passed(shapes[broken])
    if len(passed) > WOVEN:
        return passed
    near = _holding(suspects, passed, tolerance_mm)
    shapes = _polygons(suspects, np.where(near, tolerance_mm / _FINER_STILL, tolerance_mm))
    return _passed(shapes[~shapely.is_valid(shapes)])


def _apart(rings: Rings) -> NDArray[np.bool_]:
    """Return which segments have no other near enough to cross, shape (n,): one chord tells as much as many."""
    starts = np.append(0, np.cumsum(rings.size))
    ring = np.repeat(np.arange(len(rings.size)), rings.size)
    closed = np.ones(len(rings.size), np.bool_)
    sources = Sources(rings.points, rings.kinds, rings.weights, ring, starts, rings.polygon, closed)
    return lonely(sources, *Meetings(sources, 0.0).pairs(), np.flatnonzero(~rings.single))


def _passed(shapes: Any) -> Floats:
    """Return where the outlines of polygons pass through themselves or one another, shape (k, 2)."""
    return np.concatenate([np.zeros((0, 2)), *(passed_twice(shapely.boundary(shape)) for shape in shapes)])


def _holding(rings: Rings, places: Floats, slack_mm: float) -> NDArray[np.bool_]:
    """Return which segments may pass any of the places, shape (n,): only they are worth a closer look."""
    low, high = hull_boxes(rings.points, slack_mm)
    diagonals: Any = shapely.linestrings(np.stack([low, high], axis=1))  # a diagonal has the box
    tree = shapely.STRtree(diagonals)
    near = np.zeros(len(rings.points), np.bool_)
    near[tree.query(shapely.points(places))[1]] = True
    return near


def _number(rings: Rings) -> NDArray[np.int64]:
    """Return a running number of each ring's polygon, shape (r,)."""
    return np.cumsum(np.append(True, rings.polygon[1:] != rings.polygon[:-1])) - 1


def _chosen(rings: Rings, wanted: NDArray[np.bool_]) -> Rings:
    """Return the rings of some of the polygons, given in order."""
    kept = wanted[_number(rings)]
    rows = np.repeat(kept, rings.size)
    segments = rings.points[rows], rings.kinds[rows], rings.weights[rows], rings.single[rows]
    return Rings(*segments, rings.size[kept], rings.polygon[kept])


def _polygons(rings: Rings, tolerance_mm: float | Floats) -> Any:
    """Return the polygons of the rings' chords, in order."""
    points, kinds, weights = rings[:3]
    counts = np.where(rings.single, 1, chord_counts(points, kinds, weights, tolerance_mm))
    coords, segment, _ = chord_vertices(points, kinds, weights, counts)
    ring = np.repeat(np.arange(len(rings.size)), rings.size)
    last = np.cumsum(np.bincount(ring[segment], minlength=len(rings.size)))
    coords = np.insert(coords, last, points[np.cumsum(rings.size) - 1, 3], axis=0)
    closed: Any = shapely.linearrings(coords, indices=np.insert(ring[segment], last, np.arange(len(rings.size))))
    number = _number(rings)
    begins = np.append(np.flatnonzero(np.append(True, number[1:] != number[:-1])), len(number))
    out: Any = shapely.polygons(closed[begins[:-1]])
    for place in np.flatnonzero(np.diff(begins) > 1).tolist():
        out[place] = shapely.polygons(closed[begins[place]], holes=closed[begins[place] + 1 : begins[place + 1]])
    return out
