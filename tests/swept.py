"""The area of a stroke put together bit by bit as SVG 2 lists it, for holding `stroke_to_shape` against.

SVG 2, "Painting: Filling, Stroking", "Computing the shape of the stroke": all points on the line
perpendicular to the path at each place, a wedge at each corner, a shape at each open end. Here the
perpendiculars are some hundreds of small quadrilaterals a segment (two triangles where neighbouring
perpendiculars cross), and GEOS unites them. Nothing of the code under test takes part.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from bladewise.geometry.curves import point_at
from bladewise.geometry.measures import tangent_at
from bladewise.geometry.path import Path, SegmentKind

Floats = NDArray[np.float64]


def right_of(tangents: Floats) -> Floats:
    return np.stack([-tangents[..., 1], tangents[..., 0]], axis=-1)


def cross(a: Floats, b: Floats) -> Floats:
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]


def sampled(path: Path, index: int, most_turn: float = 0.006) -> tuple[Floats, Floats]:
    """Return places and unit tangents along a segment, so close that each step turns little (radians)."""
    t = np.linspace(0.0, 1.0, 2 if path.kinds[index] == SegmentKind.LINE else 201)
    for _ in range(25):
        tangent = tangent_at(path, np.full(len(t), index), t)
        turn = np.abs(np.arctan2(cross(tangent[:-1], tangent[1:]), (tangent[:-1] * tangent[1:]).sum(axis=1)))
        wide = turn > most_turn
        if len(t) == 2 or not wide.any():
            break
        t = np.sort(np.concatenate([t, ((t[:-1] + t[1:]) / 2.0)[wide]]))
    one = slice(index, index + 1)
    count = len(t)
    place = point_at(
        np.repeat(path.points[one], count, axis=0),
        np.repeat(path.kinds[one], count),
        np.repeat(path.weights[one], count),
        t,
    )
    return place, tangent


def strips(place: Floats, tangent: Floats, half: float) -> list[shapely.Polygon]:
    left, right = place - half * right_of(tangent), place + half * right_of(tangent)
    a, b, c, d = left[:-1], left[1:], right[1:], right[:-1]
    between = cross(d - a, c - b)
    share = cross(b - a, c - b) / np.where(between == 0.0, 1.0, between)
    folded = (((b - a) * (c - d)).sum(axis=1) < 0.0) & (share > 0.0) & (share < 1.0)
    waist = a + share[:, None] * (d - a)
    corners = [np.stack([a, b, c, d], axis=1)[~folded]]
    corners += [np.stack([a, b, waist], axis=1)[folded], np.stack([d, c, waist], axis=1)[folded]]
    return [shapely.MultiPoint(one).convex_hull for group in corners for one in group]


def fan(centre: Floats, arm: Floats, turn: float) -> shapely.Polygon:
    steps = max(2, int(abs(turn) / 0.01))
    angle = np.linspace(0.0, turn, steps)
    cos, sin = np.cos(angle), np.sin(angle)
    rim = np.stack([arm[0] * cos - arm[1] * sin, arm[0] * sin + arm[1] * cos], axis=1)
    return shapely.Polygon(np.vstack([[centre], centre + rim]))


def swept(path: Path, width: float, cap: str, join: str, miter_limit: float = 4.0) -> shapely.Geometry:
    """Return the area of an undashed stroke; no segment may be without length."""
    half, parts = width / 2.0, []
    for one in path.subpaths():
        runs = [sampled(one, index) for index in range(len(one))]
        for place, tangent in runs:
            parts += strips(place, tangent, half)
        closed = bool(one.closed[0])
        for before, after in zip(runs, runs[1:] + runs[:1] if closed else runs[1:], strict=False):
            centre, into, out = before[0][-1], before[1][-1], after[1][0]
            turn = math.atan2(float(cross(into, out)), float(into @ out))
            if abs(turn) < 1e-9:
                continue
            side = -half if turn > 0.0 else half
            a, b = side * right_of(into), side * right_of(out)
            if join == "round":
                parts.append(fan(centre, a, turn))
            elif join == "miter" and 1.0 / max(math.cos(turn / 2.0), 1e-12) <= miter_limit:
                tip = (a + b) / (2.0 * math.cos(turn / 2.0) ** 2)
                parts.append(shapely.Polygon([centre, centre + a, centre + tip, centre + b]))
            else:
                parts.append(shapely.Polygon([centre, centre + a, centre + b]))
        if not closed:
            for centre, outward in ((runs[0][0][0], -runs[0][1][0]), (runs[-1][0][-1], runs[-1][1][-1])):
                a = -half * right_of(outward)
                if cap == "round":
                    parts.append(fan(centre, a, math.pi))
                elif cap == "square":
                    ahead = half * outward
                    parts.append(shapely.Polygon([centre + a, centre + a + ahead, centre - a + ahead, centre - a]))
    solid = [part for part in parts if part.geom_type == "Polygon" and part.area > 1e-14]
    seam = 2e-5  # closes the hairlines between neighbours that rounding leaves
    return shapely.union_all(solid).buffer(seam, join_style="mitre").buffer(-seam, join_style="mitre")


def polygon_of(path: Path, steps: int = 120) -> shapely.Geometry:
    """Return a resolved path as a fine polygon."""
    rings = []
    for one in path.subpaths():
        runs = [one.points[:1, 0]]
        for index in range(len(one)):
            count = 1 if one.kinds[index] == SegmentKind.LINE else steps
            t = np.arange(1, count + 1) / count
            row = slice(index, index + 1)
            runs.append(
                point_at(
                    np.repeat(one.points[row], count, axis=0),
                    np.repeat(one.kinds[row], count),
                    np.repeat(one.weights[row], count),
                    t,
                )
            )
        rings.append(shapely.Polygon(np.concatenate(runs)))
    shape: shapely.Geometry = shapely.Polygon()
    for ring in rings:
        assert ring.is_valid, "a ring of a result crosses itself"
        shape = shape.symmetric_difference(ring)
    return shape


def farthest(one: shapely.Geometry, other: shapely.Geometry) -> float:
    """Return the largest distance from an outline to the other, both ways, in mm."""
    if one.is_empty or other.is_empty:
        return 0.0 if one.is_empty and other.is_empty else math.inf
    answers = []
    for here, there in ((one.boundary, other.boundary), (other.boundary, one.boundary)):
        shapely.prepare(there)
        points = shapely.points(shapely.get_coordinates(shapely.segmentize(here, 0.1)))
        answers.append(float(shapely.distance(points, there).max()))
    return max(answers)
