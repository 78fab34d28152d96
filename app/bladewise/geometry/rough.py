"""Areas near enough to be looked at, in a few milliseconds: chords instead of curves, GEOS instead of the true kernel.

For what is shown while a number is still changing. Nothing that is kept, cut or checked comes from here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely

from bladewise.geometry.flatten import flatten
from bladewise.geometry.parallels import Corner
from bladewise.geometry.path import EMPTY, Path, SegmentKind
from bladewise.geometry.regions import FillRule
from bladewise.geometry.strokes import LineCap, LineJoin

if TYPE_CHECKING:
    from collections.abc import Iterable

    from shapely.geometry.base import BaseGeometry

    from bladewise.geometry.path import Floats
    from bladewise.geometry.regions import Region
    from bladewise.geometry.strokes import StrokeGeometry

_QUARTER = 10
"""Chords a quarter turn of a round corner."""

_CAPS: dict[LineCap, Literal["flat", "round", "square"]] = {
    LineCap.BUTT: "flat",
    LineCap.ROUND: "round",
    LineCap.SQUARE: "square",
}
_JOINS: dict[LineJoin, Literal["mitre", "round", "bevel"]] = {
    LineJoin.MITER: "mitre",
    LineJoin.ROUND: "round",
    LineJoin.BEVEL: "bevel",
}
_CORNERS: dict[Corner, Literal["mitre", "round", "bevel"]] = {
    Corner.ROUND: "round",
    Corner.BEVEL: "bevel",
    Corner.MITER: "mitre",
}


def rough_fill(region: Region, tolerance_mm: float) -> BaseGeometry:
    """Return about the area a region paints.

    With the nonzero rule, subpaths that run the other way than the largest count as holes: so it is in
    all but tangled art.
    """
    rings = [ring for ring in _rings(region.path, tolerance_mm) if len(ring) > 3]
    if not rings:
        return shapely.Polygon()
    if region.rule is FillRule.EVEN_ODD:
        return shapely.build_area(shapely.MultiLineString(rings))
    areas = np.array([_twice_area(ring) for ring in rings])
    way = np.sign(areas[np.abs(areas).argmax()])
    polygons = shapely.make_valid(np.array([shapely.Polygon(ring) for ring in rings]))
    solid, holes = polygons[areas * way >= 0.0], polygons[areas * way < 0.0]
    whole = shapely.union_all(solid)
    return shapely.difference(whole, shapely.union_all(holes)) if len(holes) else whole


def rough_stroke(path: Path, stroke: StrokeGeometry, tolerance_mm: float) -> BaseGeometry:
    """Return about the area a stroke paints, its dashes left aside."""
    scale = stroke.pen.mean_scale if stroke.pen else 1.0
    lines = [
        shapely.LinearRing(line) if closed and len(line) > 3 else shapely.LineString(line)
        for line, closed in zip(_rings(path, tolerance_mm), path.closed.tolist(), strict=True)
        if len(line) > 1
    ]
    bands = [
        line.buffer(
            0.5 * stroke.width_mm * scale,
            quad_segs=_QUARTER,
            cap_style=_CAPS[stroke.cap],
            join_style=_JOINS[stroke.join],
            mitre_limit=stroke.miter_limit,
        )
        for line in lines
    ]
    return shapely.union_all(bands)


def rough_union(areas: Iterable[BaseGeometry]) -> BaseGeometry:
    """Return all areas as one."""
    return shapely.union_all(list(areas))


def rough_parallel(
    area: BaseGeometry, distance_mm: float, *, corner: Corner, miter_limit: float, tolerance_mm: float
) -> Path:
    """Return about the outline of an area at a distance, outside (> 0) or inside (< 0), in straight lines."""
    grown = rough_grown(area, distance_mm, corner=corner, miter_limit=miter_limit)
    return straight_outlines(shapely.simplify(grown, tolerance_mm))


def rough_grown(
    area: BaseGeometry, distance_mm: float, *, corner: Corner = Corner.ROUND, miter_limit: float = 4.0
) -> BaseGeometry:
    """Return about an area grown (> 0) or shrunk (< 0) by a distance."""
    return area.buffer(distance_mm, quad_segs=_QUARTER, join_style=_CORNERS[corner], mitre_limit=max(miter_limit, 1.0))


def rough_without_holes(area: BaseGeometry, least_mm2: float) -> BaseGeometry:
    """Return an area with its holes filled that are smaller than a size."""
    solid = []
    for part in shapely.get_parts(area):
        if isinstance(part, shapely.Polygon) and not part.is_empty:
            holes = [ring for ring in part.interiors if shapely.Polygon(ring).area >= least_mm2]
            solid.append(shapely.Polygon(part.exterior, holes))
    return shapely.union_all(solid)


def _rings(path: Path, tolerance_mm: float) -> list[Floats]:
    flat = flatten(path, tolerance_mm)
    return np.split(flat.coords, flat.starts[1:]) if len(flat.coords) else []


def _twice_area(ring: Floats) -> float:
    x, y = (ring - ring[0]).T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def straight_outlines(area: BaseGeometry) -> Path:
    """Return the outlines of an area as closed lines, outer ones clockwise on the screen, holes the other way."""
    polygons = [each for each in shapely.get_parts(area) if isinstance(each, shapely.Polygon) and not each.is_empty]
    rings = [
        shapely.get_coordinates(ring)
        for polygon in shapely.orient_polygons(np.array(polygons))
        if polygons
        for ring in (polygon.exterior, *polygon.interiors)
    ]
    if not rings:
        return EMPTY
    starts, ends = np.concatenate([ring[:-1] for ring in rings]), np.concatenate([ring[1:] for ring in rings])
    sizes = np.array([len(ring) - 1 for ring in rings])
    count = len(starts)
    return Path(
        np.stack([starts, starts, ends, ends], axis=1),
        np.full(count, SegmentKind.LINE, np.uint8),
        np.ones(count),
        np.cumsum(sizes) - sizes,
        np.ones(len(rings), np.bool_),
    )
