"""Where outlines overlap, cross or lie on one another: what a knife would cut twice.

Pairs are found through a tree of boxes, so a document of thousands of shapes takes well under a second.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.curves import segment_areas
from bladewise.geometry.flatten import flatten
from bladewise.geometry.kernel import Kernel
from bladewise.geometry.path import Path
from bladewise.geometry.provenance import chords_of, closed_rings
from bladewise.geometry.regions import Region
from bladewise.geometry.sources import gather
from bladewise.geometry.tolerances import COINCIDENT_MM, FLATTENING_MM, SLIVER_MM
from bladewise.geometry.topology import passed_twice
from bladewise.geometry.weave import unwoven

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats


class Overlap(NamedTuple):
    """An area that two regions both paint: their indexes, its size, a point inside it, its outline."""

    first: int
    second: int
    area_mm2: float
    x: float
    y: float
    path: Path


class Crossing(NamedTuple):
    """A place (mm) where two outlines cross; `first` equals `second` where an outline crosses itself."""

    first: int
    second: int
    x: float
    y: float


class Duplicate(NamedTuple):
    """Two subpaths that are the same outline: path and subpath of each, and a point on it (mm)."""

    first: int
    second: int
    first_subpath: int
    second_subpath: int
    x: float
    y: float


def overlap_pairs(regions: Sequence[Region], *, least_mm2: float = 0.0) -> list[Overlap]:
    """Return every pair of regions that have an area in common, by index.

    Parameters
    ----------
    regions
        Any number.
    least_mm2
        Overlaps up to this size are left out; so are those thinner than `tolerances.SLIVER_MM`, which touch.
    """
    kernel = Kernel(regions, simplify=False)
    polygons = kernel.polygons
    if not len(polygons):
        return []
    first, second = shapely.STRtree(polygons).query(polygons, predicate="intersects")
    ahead = first < second
    first, second = first[ahead], second[ahead]
    order = np.lexsort((second, first))
    first, second = first[order], second[order]
    touching = shapely.touches(polygons[first], polygons[second])
    first, second = first[~touching], second[~touching]
    common = shapely.intersection(polygons[first], polygons[second])
    thick = (2.0 * shapely.area(common) > SLIVER_MM * shapely.length(common)) & (shapely.area(common) > least_mm2)
    first, second, common = first[thick], second[thick], common[thick]
    out = []
    if len(common):
        inside = shapely.get_coordinates(shapely.point_on_surface(common))
        for one, two, (x, y), path in zip(
            first.tolist(), second.tolist(), inside.tolist(), kernel.rebuilder.paths(list(common)), strict=True
        ):
            size = float(segment_areas(path.points, path.kinds, path.weights).sum())
            if path and size > least_mm2:
                out.append(Overlap(one, two, size, x, y, path))
    return out


def crossings(paths: Path | Sequence[Path], *, tolerance_mm: float = FLATTENING_MM) -> list[Crossing]:
    """Return every place where outlines cross one another or themselves.

    Parameters
    ----------
    paths
        One path or several; a crossing names them by index. Subpaths of one path that cross count as
        the path crossing itself. Outlines that only touch, or share a stretch, do not cross.
    tolerance_mm
        To which the curves are followed.
    """
    if isinstance(paths, Path):
        paths = [paths]
    lines = gather([Region(path) for path in paths], close=False)
    if not len(lines):
        return []
    woven = unwoven(lines)
    coords, ring = closed_rings(woven, chords_of(woven, tolerance_mm))
    strings: Any = shapely.linestrings(coords, indices=ring)
    first, second = shapely.STRtree(strings).query(strings, predicate="intersects")
    ahead = first < second
    first, second = first[ahead], second[ahead]
    found: set[Crossing] = set()
    met: Any = shapely.intersection(strings[first], strings[second])
    for one, two, shape in zip(first.tolist(), second.tolist(), met, strict=True):
        for place in _points(shape):
            if _cross_there(strings[one], strings[two], place):
                here, there = sorted((int(lines.ring_region[one]), int(lines.ring_region[two])))
                found.add(Crossing(here, there, *place))
    for number in np.flatnonzero(~shapely.is_simple(strings)).tolist():
        home = int(lines.ring_region[number])
        found.update(Crossing(home, home, x, y) for x, y in passed_twice(strings[number]).tolist())
    return sorted(found)


def duplicates(paths: Sequence[Path], tolerance_mm: float = COINCIDENT_MM) -> list[Duplicate]:
    """Return every pair of subpaths that run along the same line within a tolerance, in either direction.

    Where an outline begins, which way it runs and how it is cut into segments play no part.
    """
    strings: list[Any] = []
    homes: list[tuple[int, int]] = []
    for number, path in enumerate(paths):
        flat = flatten(path, max(tolerance_mm / 4.0, 1e-6))
        ends = np.append(flat.starts, len(flat.coords))[1:].tolist()
        for subpath, (start, end) in enumerate(zip(flat.starts.tolist(), ends, strict=True)):
            strings.append(shapely.LineString(flat.coords[start:end]))
            homes.append((number, subpath))
    if not strings:
        return []
    array = np.array(strings, dtype=object)
    bounds = shapely.bounds(array)
    boxes: Any = shapely.box(*bounds.T)
    first, second = shapely.STRtree(boxes).query(boxes, predicate="dwithin", distance=tolerance_mm)
    likely = (first < second) & (np.abs(bounds[first] - bounds[second]).max(axis=1) <= tolerance_mm)
    first, second = first[likely], second[likely]
    same = shapely.hausdorff_distance(array[first], array[second]) <= tolerance_mm * 1.25
    out = []
    for one, two in sorted(zip(first[same].tolist(), second[same].tolist(), strict=True)):
        (path_a, sub_a), (path_b, sub_b) = homes[one], homes[two]
        x, y = shapely.get_coordinates(array[one])[0].tolist()
        out.append(Duplicate(path_a, path_b, sub_a, sub_b, x, y))
    return out


def _points(shape: Any) -> list[tuple[float, float]]:
    parts = shapely.get_parts(shape)
    points = parts[shapely.get_type_id(parts) == shapely.GeometryType.POINT]
    return [(x, y) for x, y in shapely.get_coordinates(points).tolist()]


def _cross_there(one: Any, two: Any, place: tuple[float, float]) -> bool:
    """Whether the second line changes sides of the first at a common point."""
    ways_a, ways_b = _ways(shapely.get_coordinates(one), place), _ways(shapely.get_coordinates(two), place)
    if len(ways_a) != 2 or len(ways_b) != 2:
        return len(ways_a) > 2 or len(ways_b) > 2
    return _between(ways_a, ways_b[0]) != _between(ways_a, ways_b[1])


def _ways(coords: Floats, place: tuple[float, float]) -> NDArray[np.float64]:
    """Return the directions, as angles, in which a polyline leaves a point on it."""
    a, b = coords[:-1], coords[1:]
    point = np.array(place)
    way = b - a
    length2 = (way * way).sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        u = np.clip(np.nan_to_num(((point - a) * way).sum(axis=1) / length2), 0.0, 1.0)
    size = np.abs(coords).max() + 1.0
    near = (np.hypot(*(a + u[:, None] * way - point).T) < 1e-12 * size) & (length2 > 0.0)
    reach = 1e-11 * size
    ahead = near & (np.hypot(*(b - point).T) > reach)
    back = near & (np.hypot(*(a - point).T) > reach)
    out = np.concatenate([b[ahead] - point, a[back] - point])
    ways: Floats = np.arctan2(out[:, 1], out[:, 0])
    return ways


def _between(ways: NDArray[np.float64], way: float) -> bool:
    """Whether a direction lies in the turn from the first of two directions to the second."""
    turn, full = (way - ways[0]) % (2.0 * np.pi), (ways[1] - ways[0]) % (2.0 * np.pi)
    return bool(turn < full)
