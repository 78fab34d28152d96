"""Islands made one piece: by bridges where they come near enough, or by a common backing.

A bridge is a band with round ends from one island to the next, across the least gap between them; where two
sides run along one another, across the middle of that stretch. No more bridges are laid than it takes, the
shortest first (J. B. Kruskal 1956). A backing fills what a disc of a given radius cannot reach between the
islands (the closing of mathematical morphology, J. Serra 1982); islands still apart are then bridged.

Lengths are mm, y down.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from bladewise.geometry import booleans
from bladewise.geometry.affine import Affine
from bladewise.geometry.flatten import flatten
from bladewise.geometry.parallels import closed
from bladewise.geometry.path import rectangle
from bladewise.geometry.regions import Region

if TYPE_CHECKING:
    from bladewise.geometry.path import Floats, Path

_SIDE_BY_SIDE = 0.1
"""Two sides count as running along one another while their gap grows by less than this share of the bridge's width."""
_CHORDS_MM = 0.01
"""Where a bridge goes is found on chords this near to the curves."""


class Joined(NamedTuple):
    """Islands after they were joined: the outline, how many bridges it took, and how many pieces there are now."""

    path: Path
    bridges: int
    pieces: int


def bridged(path: Path, width_mm: float, reach_mm: float) -> Joined:
    """Return an area whose islands are joined by bridges.

    Parameters
    ----------
    path
        A resolved area: outer outlines clockwise on the screen, holes the other way.
    width_mm
        Of each bridge, above 0.
    reach_mm
        Islands farther apart than this stay apart.
    """
    islands = [_polygon(piece) for piece in booleans.pieces(path)]
    bars = bars_between(islands, width_mm, reach_mm)
    if not bars:
        return Joined(path, 0, len(islands))
    whole = booleans.merge([Region(path), *(Region(bar) for bar in bars)])
    return Joined(whole, len(bars), len(booleans.pieces(whole)))


def backed(path: Path, width_mm: float, reach_mm: float) -> Joined:
    """Return an area with a common backing: what a disc of radius `reach_mm` cannot get into is filled.

    Islands within reach of one another that the backing does not hold together are bridged.
    """
    return bridged(closed(Region(path), reach_mm), width_mm, reach_mm)


def bars_between(islands: list[Any], width_mm: float, reach_mm: float) -> list[Path]:
    """Return the bridges that join islands, given as shapely polygons."""
    return [_bar(islands[a], islands[b], width_mm) for a, b in _links(islands, reach_mm)]


def _links(islands: list[Any], reach_mm: float) -> list[tuple[int, int]]:
    """Return the pairs of islands to be joined: the shortest gaps that join all that lie within reach."""
    if len(islands) < 2:
        return []
    shapes = np.array(islands)
    one, two = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=reach_mm)
    one, two = one[one < two], two[one < two]
    gaps = shapely.distance(shapes[one], shapes[two])
    group = list(range(len(islands)))

    def head(island: int) -> int:
        while group[island] != island:
            group[island] = group[group[island]]
            island = group[island]
        return island

    found = []
    for place in np.argsort(gaps, kind="stable").tolist():
        a, b = int(one[place]), int(two[place])
        if head(a) != head(b):
            group[head(a)] = head(b)
            found.append((a, b))
    return found


def _bar(one: Any, two: Any, width_mm: float) -> Path:
    """Return a band with round ends that joins two islands across their gap."""
    near = shapely.intersection(
        shapely.boundary(two), shapely.buffer(one, shapely.distance(one, two) + _SIDE_BY_SIDE * width_mm)
    )
    lines = shapely.get_parts(shapely.line_merge(near) if near.geom_type == "MultiLineString" else near)
    # where the gap is wide the buffer, of chords, may not come as far: then there is nothing, which is a line too
    lines = lines[(shapely.get_type_id(lines) == shapely.GeometryType.LINESTRING) & ~shapely.is_empty(lines)]
    if len(lines):
        middle = shapely.line_interpolate_point(lines[np.argmax(shapely.length(lines))], 0.5, normalized=True)
        start, end = shapely.get_coordinates(shapely.shortest_line(one, middle))
    else:
        start, end = shapely.get_coordinates(shapely.shortest_line(one, two))
    way = end - start
    gap = float(np.hypot(*way))
    if gap < 1e-9:  # they touch: across the line from one middle to the other
        way = shapely.get_coordinates(shapely.centroid(two))[0] - shapely.get_coordinates(shapely.centroid(one))[0]
    way = way / max(float(np.hypot(*way)), 1e-12)
    back, ahead = _depth(one, start, -way, width_mm), _depth(two, end, way, width_mm)
    half = width_mm / 2.0
    band = rectangle(-back - half, -half, gap + back + ahead + width_mm, width_mm, half, half)
    return band.transformed(Affine(way[0], way[1], -way[1], way[0], start[0], start[1]))


def _depth(island: Any, at: Floats, way: Floats, width_mm: float) -> float:
    """Return how far into an island a bridge's axis goes: half its width, or half of what there is."""
    ray = shapely.LineString([at + 1e-6 * way, at + width_mm * way])
    inside = shapely.get_parts(shapely.intersection(ray, island))
    touching = inside[shapely.distance(inside, shapely.Point(at)) < 1e-3] if len(inside) else inside
    return min(width_mm, float(shapely.length(touching).max(initial=0.0))) / 2.0


def _polygon(piece: Path) -> Any:
    flat = flatten(piece, _CHORDS_MM)
    rings = np.split(flat.coords, flat.starts[1:])
    areas = [math.fabs(shapely.Polygon(ring).area) for ring in rings]
    outer = int(np.argmax(areas))
    holes = [ring for place, ring in enumerate(rings) if place != outer]
    made = shapely.Polygon(rings[outer], holes)
    return made if made.is_valid else shapely.make_valid(made)
