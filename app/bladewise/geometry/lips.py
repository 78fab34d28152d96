"""Where a strip that runs on under a neighbour ends: square to the edge the two share, not round about its end.

What lies within a distance of an area reaches, at each of its corners, round the corner in a sector. Where the area
abuts its neighbour on one side of a corner only, that sector would be a lip: it hangs on the area by the corner
alone, is as narrow as the strip is wide, and holds nothing together. Left out, the strip ends square. Round a corner
both sides of which abut the neighbour the strip runs on.

Lengths are mm, y down; areas lie to the right of their outlines as seen along them on the screen.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.curves import cross
from bladewise.geometry.measures import point_at_length, segment_lengths, tangent_at
from bladewise.geometry.path import Path, polygon
from bladewise.geometry.tolerances import ABUTTING_MM, ROUNDED_CORNER_DEG

if TYPE_CHECKING:
    from bladewise.geometry.path import Floats, Point

_PROBE = 0.5
"""So many distances along the outline from the corner it is looked whether a side abuts."""
_BEYOND = 1.05
"""A sector goes a little farther than the strip is wide."""
_STEP_DEG = 30.0


class Sector(NamedTuple):
    """An end, and the outline of all that lies beyond it: between the normals of the first side and of the last."""

    end: Any
    """A corner, or what runs from corner to corner where an end has several, as a shapely geometry."""
    path: Path


def end_sectors(path: Path, neighbours: Any, distance_mm: float) -> list[Sector]:
    """Return the sectors at the corners where an area stops abutting its neighbours.

    Parameters
    ----------
    path
        A resolved path.
    neighbours
        The neighbours' outlines as a shapely geometry, on chords.
    distance_mm
        How far the strip runs on under the neighbours.
    """
    before = _before(path)
    rows = np.arange(len(path))
    arriving, leaving = tangent_at(path, before, np.ones(len(path))), tangent_at(path, rows, np.zeros(len(path)))
    turn = np.degrees(np.arctan2(cross(arriving, leaving), (arriving * leaving).sum(axis=1)))
    corners = np.flatnonzero(turn > 180.0 - ROUNDED_CORNER_DEG)
    if not len(corners):
        return []
    abuts = [
        shapely.distance(shapely.points(_along(path, corners, off)), neighbours) <= ABUTTING_MM
        for off in (-_PROBE * distance_mm, _PROBE * distance_mm)
    ]
    ending = corners[abuts[0] != abuts[1]]
    along = _begin(path)
    reach = _BEYOND * distance_mm
    return [
        Sector(
            shapely.Point(path.points[chain[0], 0]) if len(chain) == 1 else shapely.LineString(path.points[chain, 0]),
            polygon(_outline(path.points[chain, 0], arriving[chain], turn[chain], reach)),
        )
        for chain in _chains(path, ending, along, _PROBE * distance_mm)
    ]


def _chains(path: Path, corners: Any, along: Floats, within_mm: float) -> list[Any]:
    """Return the corners in lots of those that follow one another closely on their outline."""
    chains: list[Any] = []
    whole = np.add.reduceat(segment_lengths(path), path.starts)
    ring = np.searchsorted(path.starts, corners, side="right") - 1
    for number in np.unique(ring).tolist():
        own = corners[ring == number]
        gaps = np.diff(along[own], append=along[own[0]] + whole[number])
        apart = np.flatnonzero(gaps >= within_mm)
        if not len(apart):
            chains.append(own)
            continue
        own = np.roll(own, -(apart[-1] + 1))
        chains += np.split(own, np.flatnonzero(np.roll(gaps, -(apart[-1] + 1)) >= within_mm)[:-1] + 1)
    return chains


def _begin(path: Path) -> Floats:
    """Return how far along the path each segment begins."""
    lengths = segment_lengths(path)
    return np.asarray(np.cumsum(lengths) - lengths)


def _before(path: Path) -> Any:
    before = np.arange(len(path)) - 1
    before[path.starts] = path.ends - 1
    return before


def _along(path: Path, nodes: Any, off_mm: float) -> Floats:
    """Return the places so far along the outline from its nodes."""
    begin, lengths = _begin(path), segment_lengths(path)
    ring = np.searchsorted(path.starts, nodes, side="right") - 1
    first = begin[path.starts[ring]]
    whole = np.add.reduceat(lengths, path.starts)[ring]
    return np.asarray(point_at_length(path, first + (begin[nodes] - first + off_mm) % whole).points)


def _outline(corners: Floats, arriving: Floats, turns_deg: Floats, reach_mm: float) -> list[Point]:
    """Return the outline of what lies beyond some corners: round each from the normal before it to that after it."""
    rim = []
    for (x, y), way, turn in zip(corners.tolist(), arriving.tolist(), turns_deg.tolist(), strict=True):
        first = math.atan2(-way[0], way[1])  # the area lies to the right, outside is to the left
        count = math.ceil(turn / _STEP_DEG)
        step = math.radians(turn) / count
        reach = reach_mm / math.cos(step / 2.0)
        rim += [
            (x + reach * math.cos(first + step * n), y + reach * math.sin(first + step * n)) for n in range(count + 1)
        ]
    return [(float(x), float(y)) for x, y in corners[::-1]] + rim
