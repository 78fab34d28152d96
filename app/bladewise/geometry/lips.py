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
from bladewise.geometry.measures import tangent_at
from bladewise.geometry.path import Path, polygon
from bladewise.geometry.tolerances import ABUTTING_MM, ROUNDED_CORNER_DEG

if TYPE_CHECKING:
    from bladewise.geometry.flatten import Flattening
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


def end_sectors(path: Path, flat: Flattening, neighbours: Any, distance_mm: float) -> list[Sector]:
    """Return the sectors at the corners where an area stops abutting its neighbours.

    Parameters
    ----------
    path
        A resolved path.
    flat
        The same on chords.
    neighbours
        The neighbours' outlines as a shapely geometry, on chords.
    distance_mm
        How far the strip runs on under the neighbours.
    """
    before = np.arange(len(path)) - 1
    before[path.starts] = path.ends - 1
    arriving, leaving = (
        tangent_at(path, before, np.ones(len(path))),
        tangent_at(path, np.arange(len(path)), 0.0 * before),
    )
    turn = np.degrees(np.arctan2(cross(arriving, leaving), (arriving * leaving).sum(axis=1)))
    corners = np.flatnonzero(turn > 180.0 - ROUNDED_CORNER_DEG)
    if len(corners):
        corners = corners[_abut(path.points[corners, 0], neighbours)]
    if not len(corners):
        return []
    around = _Around(path, flat)
    probe = _PROBE * distance_mm
    abuts = [_abut(around.off(corners, by), neighbours) for by in (-probe, probe)]
    reach = _BEYOND * distance_mm
    return [
        Sector(
            shapely.Point(path.points[chain[0], 0]) if len(chain) == 1 else shapely.LineString(path.points[chain, 0]),
            polygon(_outline(path.points[chain, 0], arriving[chain], turn[chain], reach)),
        )
        for chain in around.chains(corners[abuts[0] != abuts[1]], probe)
    ]


def _abut(places: Floats, neighbours: Any) -> Any:
    return shapely.distance(shapely.points(places), neighbours) <= ABUTTING_MM


class _Around:
    """Distances along outlines, measured on chords."""

    def __init__(self, path: Path, flat: Flattening) -> None:
        steps = np.hypot(*np.diff(flat.coords, axis=0, prepend=flat.coords[:1]).T)
        steps[flat.starts] = 0.0
        self._coords = flat.coords
        self._upto = np.cumsum(steps)
        self._first = flat.starts
        self._last = np.append(flat.starts[1:], len(flat.coords)) - 1
        self._starts = path.starts
        nodes = np.flatnonzero(flat.t == 0.0)
        self._node = nodes[np.searchsorted(flat.segment[nodes], np.arange(len(path)))]

    def _ring(self, corners: Any) -> Any:
        return np.searchsorted(self._starts, corners, side="right") - 1

    def off(self, corners: Any, by_mm: float) -> Floats:
        """Return the places so far along the outline from nodes."""
        ring = self._ring(corners)
        begin, end = self._upto[self._first[ring]], self._upto[self._last[ring]]
        along = begin + np.mod(self._upto[self._node[corners]] + by_mm - begin, end - begin)
        return np.stack([np.interp(along, self._upto, self._coords[:, axis]) for axis in (0, 1)], axis=1)

    def chains(self, corners: Any, within_mm: float) -> list[Any]:
        """Return nodes in lots of those that follow one another closely on their outline."""
        out: list[Any] = []
        rings = self._ring(corners)
        for ring in np.unique(rings).tolist():
            own = corners[rings == ring]
            along = self._upto[self._node[own]]
            whole = self._upto[self._last[ring]] - self._upto[self._first[ring]]
            gaps = np.diff(along, append=along[0] + whole)
            apart = np.flatnonzero(gaps >= within_mm)
            if not len(apart):
                out.append(own)
                continue
            turned = -(int(apart[-1]) + 1)
            out += np.split(np.roll(own, turned), np.flatnonzero(np.roll(gaps, turned) >= within_mm)[:-1] + 1)
        return out


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
