"""Where outlines overlap, cross or lie on one another: what a knife would cut twice.

Pairs are found through a tree of boxes, so a document of thousands of shapes takes well under a second.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.curves import segment_areas, segment_bounds
from bladewise.geometry.flatten import flatten
from bladewise.geometry.kernel import curve_true_noted
from bladewise.geometry.passes import crossing_passes
from bladewise.geometry.path import Path, joined
from bladewise.geometry.regions import Region
from bladewise.geometry.sources import gather
from bladewise.geometry.tolerances import COINCIDENT_MM, FLATTENING_MM, SLIVER_MM

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any


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
    inside: list[tuple[int, int, float, float]]
    paths, inside = curve_true_noted(regions, lambda polygons: _common(polygons, least_mm2), simplify=False)
    out = []
    for path, (one, two, x, y) in zip(paths, inside, strict=True):
        size = float(segment_areas(path.points, path.kinds, path.weights).sum())
        if path and size > least_mm2:
            out.append(Overlap(one, two, size, x, y, path))
    return out


def _common(polygons: Any, least_mm2: float) -> tuple[list[Any], list[tuple[int, int, float, float]]]:
    """Return what pairs of polygons have in common, each with the pair and a point inside it."""
    if not len(polygons):
        return [], []
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
    x, y = shapely.get_coordinates(shapely.point_on_surface(common)).T
    return list(common), list(zip(first.tolist(), second.tolist(), x.tolist(), y.tolist(), strict=True))


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
    found = crossing_passes(lines, tolerance_mm)
    homes = np.sort(np.stack([lines.region[found.first], lines.region[found.second]], axis=1), axis=1)
    rows = zip(homes.tolist(), found.places.tolist(), strict=True)
    return sorted({Crossing(one, two, x, y) for (one, two), (x, y) in rows})


def duplicates(paths: Sequence[Path], tolerance_mm: float = COINCIDENT_MM) -> list[Duplicate]:
    """Return every pair of subpaths that run along the same line within a tolerance, in either direction.

    Where an outline begins, which way it runs and how it is cut into segments play no part.
    """
    whole = joined(paths)
    if not whole:
        return []
    counts = [len(path.starts) for path in paths]
    home = np.repeat(np.arange(len(paths)), counts)
    subpath = np.arange(len(home)) - np.repeat(np.cumsum(counts) - counts, counts)
    each = segment_bounds(whole)
    low, high = np.minimum.reduceat(each[:, :2], whole.starts), np.maximum.reduceat(each[:, 2:], whole.starts)
    bounds = np.concatenate([low, high], axis=1)
    boxes: Any = shapely.box(*bounds.T)
    first, second = shapely.STRtree(boxes).query(boxes, predicate="dwithin", distance=tolerance_mm)
    likely = (first < second) & (np.abs(bounds[first] - bounds[second]).max(axis=1) <= tolerance_mm)
    first, second = first[likely], second[likely]
    lines: dict[int, Any] = {}
    rings = list(whole.subpaths()) if len(first) else []
    for ring in np.unique([first, second]).tolist():
        lines[ring] = shapely.LineString(flatten(rings[ring], max(tolerance_mm / 4.0, 1e-6)).coords)
    out = []
    for one, two in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        if lines[one].hausdorff_distance(lines[two]) <= tolerance_mm * 1.25:
            x, y = whole.points[whole.starts[one], 0].tolist()
            out.append(Duplicate(int(home[one]), int(home[two]), int(subpath[one]), int(subpath[two]), x, y))
    return out
