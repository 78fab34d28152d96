"""From rings of chords to GEOS polygons that cover what the regions paint.

Simple rings become polygons as they are; several rings are sorted into outlines and holes by how
they lie in one another. Only art that crosses itself needs the general way: node all chords, take
the faces, keep those the fill rule paints, and dissolve.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from numpy.typing import NDArray

from bladewise.geometry.curves import cross
from bladewise.geometry.regions import FillRule

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.geometry.path import Floats

Geometries = NDArray[Any]
"""An array of shapely geometries."""

NOTHING = shapely.Polygon()

_GRIDS = (None, 1e-13, 1e-12, 1e-11, 1e-10)
"""Grids for noding, as shares of the art's extent: first none."""

_FACES_AGREE = 1e-9
"""How far the faces of noded lines may be from the area that was swept, as a share of the extent squared."""


def region_polygons(
    coords: Floats,
    ring_of_vertex: NDArray[np.int64],
    ring_region: NDArray[np.int64],
    rules: Sequence[FillRule | None],
) -> Geometries:
    """Return one valid polygon or multipolygon a region.

    Parameters
    ----------
    coords
        Vertices of all rings, each ring closed by its first vertex, shape (v, 2).
    ring_of_vertex
        The ring of each vertex, rising, shape (v,).
    ring_region
        The region of each ring, rising, shape (r,).
    rules
        The fill rule of each region; None paints what is wound round clockwise, as results of ours are.
    """
    out = np.empty(len(rules), dtype=object)
    out[:] = NOTHING
    sizes = np.bincount(ring_of_vertex, minlength=len(ring_region))
    sound = sizes >= 4
    if not sound.any():
        return out
    keep = sound[ring_of_vertex]
    renumbered = np.cumsum(sound) - 1
    coords, ring_of_vertex = coords[keep], renumbered[ring_of_vertex[keep]]
    ring_region = ring_region[sound]
    rings: Any = shapely.linearrings(coords, indices=ring_of_vertex)
    polygons: Any = shapely.polygons(rings)
    valid: Any = shapely.is_valid(polygons)
    count = np.bincount(ring_region, minlength=len(rules))
    single = count[ring_region] == 1
    easy = single & valid
    out[ring_region[easy]] = polygons[easy]
    first = np.searchsorted(ring_region, np.arange(len(rules) + 1))
    for region in np.unique(ring_region[~easy]).tolist():
        chosen = slice(int(first[region]), int(first[region + 1]))
        shape = None
        if valid[chosen].all():
            shape = _nested(rings[chosen], polygons[chosen], rules[region])
        out[region] = _resolved(rings[chosen], rules[region]) if shape is None else shape
    return out


def paints(winding: NDArray[np.int64], rule: FillRule | None) -> NDArray[np.bool_]:
    """Whether each winding number counts as inside under a fill rule; None asks for positive ones."""
    if rule is None:
        return winding > 0
    inside: NDArray[np.bool_] = winding != 0 if rule is FillRule.NONZERO else winding % 2 != 0
    return inside


def _nested(rings: Geometries, polygons: Geometries, rule: FillRule | None) -> Any | None:
    """Return the area of simple rings that do not cross one another, None if they do."""
    one, two = shapely.STRtree(rings).query(rings, predicate="intersects")
    ahead = one < two
    if shapely.overlaps(polygons[one[ahead]], polygons[two[ahead]]).any():
        return None
    turns = np.where(shapely.is_ccw(rings), 1, -1)
    tree = shapely.STRtree(polygons)
    inner, outer = tree.query(polygons, predicate="within")
    apart = inner != outer
    inner, outer = inner[apart], outer[apart]
    twins = set(zip(inner.tolist(), outer.tolist(), strict=True))
    if any((outside, inside) in twins for inside, outside in twins):
        return None  # the same ring twice
    around = np.zeros(len(rings), np.int64)
    np.add.at(around, inner, turns[outer])
    was, now = paints(around, rule), paints(around + turns, rule)
    if rule is FillRule.EVEN_ODD:
        depth = np.bincount(inner, minlength=len(rings))
        was, now = depth % 2 != 0, depth % 2 == 0
    shells, holes = np.flatnonzero(now & ~was), np.flatnonzero(was & ~now)
    area = np.abs(shapely.area(polygons))
    owned: dict[int, list[int]] = {int(shell): [] for shell in shells}
    for hole in holes.tolist():
        parents = outer[inner == hole]
        parents = parents[np.isin(parents, shells)]
        if not len(parents):
            return None
        owned[int(parents[np.argmin(area[parents])])].append(hole)
    parts = [shapely.Polygon(rings[shell], [rings[hole] for hole in inside]) for shell, inside in owned.items()]
    if not parts:
        return NOTHING
    shape = parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)
    return shape if shape.is_valid else None


def _resolved(rings: Geometries, rule: FillRule | None) -> Any:
    """Return the area that self-crossing rings paint: node, take the faces, keep the painted, dissolve.

    Lines that all but lie on one another can make GEOS lose faces without a word. By Green's theorem the
    faces, each as often as it is wound round, make up the area the rings sweep; where they do not, the
    lines are noded again on a grid, the finest that serves.
    """
    coords, ring = shapely.get_coordinates(rings, return_index=True)
    lines = shapely.linestrings(coords, indices=ring)
    size = float(np.ptp(coords, axis=0).max())
    allowed = _FACES_AGREE * size * (size + 1e-3 * float(np.abs(coords).max()))
    swept = _swept(coords, ring)
    best, least = NOTHING, np.inf
    for grid in _GRIDS:
        noded = shapely.union_all(lines, grid_size=grid and grid * size)
        faces = shapely.get_parts(shapely.polygonize([noded]))
        turns = winding_numbers(rings, shapely.get_coordinates(shapely.point_on_surface(faces)))
        astray = abs(float((turns * shapely.area(faces)).sum()) - swept)
        if astray < least:
            best, least = _dissolved(faces[paints(turns, rule)]), astray
        if least <= allowed:
            break
    return best


def _dissolved(faces: Geometries) -> Any:
    """Return the union of faces of noded lines: they share their edges to the last bit, so no overlay is needed."""
    if not len(faces):
        return NOTHING
    try:
        shape = shapely.coverage_union_all(faces)
    except shapely.errors.GEOSException:  # lines that all but coincide were noded badly
        return shapely.union_all(faces)
    return shape if shape.is_valid else shapely.union_all(faces)


def _swept(coords: Floats, ring: NDArray[np.int64]) -> float:
    """Return the signed area that closed rings sweep, given by their vertices, ring after ring."""
    coords = coords - coords[np.searchsorted(ring, ring)]
    same = ring[1:] == ring[:-1]
    return 0.5 * float(np.where(same, cross(coords[:-1], coords[1:]), 0.0).sum())


def passed_twice(lines: Any) -> Floats:
    """Return the points where polylines pass through themselves or one another, shape (n, 2)."""
    noded = shapely.get_parts(shapely.union_all([lines]))
    ends = shapely.get_coordinates(shapely.boundary(noded))
    loops = noded[shapely.is_closed(noded)]
    if len(loops):
        ends = np.concatenate([ends, np.repeat(shapely.get_coordinates(shapely.get_point(loops, 0)), 2, axis=0)])
    places, count = np.unique(ends, axis=0, return_counts=True)
    crossed: Floats = places[count >= 4]
    return crossed


def winding_numbers(rings: Geometries, points: Floats) -> NDArray[np.int64]:
    """Return how often the rings run round each point, shape (n,); y-down clockwise counts positive.

    A ray to the right is crossed upward or downward (half-open, so that a vertex counts once).
    """
    coords, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    a, b = coords[:-1][same], coords[1:][same]
    winding = np.zeros(len(points), np.int64)
    if not len(a) or not len(points):
        return winding
    edges: Any = shapely.linestrings(np.stack([a, b], axis=1))
    far = np.full(len(points), a[:, 0].max() + 1.0)
    rays: Any = shapely.linestrings(np.stack([points, np.stack([far, points[:, 1]], axis=1)], axis=1))
    row, edge = shapely.STRtree(edges).query(rays)
    x, y = points[row].T
    (ax, ay), (bx, by) = a[edge].T, b[edge].T
    down, up = (ay <= y) & (by > y), (by <= y) & (ay > y)
    side = (bx - ax) * (y - ay) - (by - ay) * (x - ax)
    turn = np.where(down & (side > 0.0), 1, 0) - np.where(up & (side < 0.0), 1, 0)
    np.add.at(winding, row, turn)
    return winding
