"""Parallel outlines against the outside: Steiner's formula, other closed forms, the definition by distance.

Sources
-------
J. Steiner 1840: what lies within d of a convex shape has the area A + P·d + π·d² and the outline P + 2π·d.
Closed forms of circles and rectangles: any handbook of geometry.
Second kernels: GEOS (shapely's buffer of a flattening twenty times finer) and Clipper2 (PyPI `pyclipr`) for areas.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from bladewise.geometry.booleans import resolve
from bladewise.geometry.measures import area, perimeter
from bladewise.geometry.parallels import Corner, closed, opened, parallel
from bladewise.geometry.path import PathBuilder, circle, ellipse, polygon, rectangle
from bladewise.geometry.regions import Region
from swept import farthest, polygon_of, swept

FARTHEST_MM = 0.005
LISTING_MM = 0.003
"""How far the listing itself, made of chords, may lie off on flat curves of 300 mm (seen: 0.004 where by distance to
the source we are 0.0028 off)."""


def egg():
    pen = PathBuilder()
    pen.move_to((0, 0))
    pen.cubic_to((0, -60), (150, -90), (150, 0))
    pen.cubic_to((150, 50), (0, 80), (0, 0))
    pen.close()
    return pen.path()


def lens():
    pen = PathBuilder()
    pen.move_to((0, 0))
    pen.quadratic_to((40, -35), (80, 0))
    pen.quadratic_to((40, 20), (0, 0))
    pen.close()
    return pen.path()


CONVEX = {
    "circle": circle((3, 4), 20),
    "rectangle": rectangle(0, 0, 300, 120),
    "rounded": rectangle(0, 0, 60, 40, 10, 10),
    "triangle": polygon([(0, 0), (90, 10), (30, 70)]),
    "ellipse": ellipse((0, 0), 150, 60),
    "egg": egg(),
    "lens": lens(),
}


@pytest.mark.parametrize("shape", CONVEX.values(), ids=CONVEX.keys())
@pytest.mark.parametrize("distance", [0.05, 1.0, 8.0, 40.0])
def test_steiner_tells_area_and_outline_of_what_grows(shape, distance):
    grown = parallel(Region(shape), distance)
    outline = perimeter(grown)
    steiner = area(shape) + perimeter(shape) * distance + math.pi * distance**2
    assert abs(area(grown) - steiner) < 0.001 * outline  # 0.001 mm on average
    assert outline == pytest.approx(perimeter(shape) + 2.0 * math.pi * distance, rel=1e-5)


@pytest.mark.parametrize("shape", [CONVEX["circle"], CONVEX["rounded"], CONVEX["rectangle"], CONVEX["triangle"]])
def test_lines_and_circles_grow_without_any_error(shape):
    steiner = area(shape) + perimeter(shape) * 5.0 + math.pi * 25.0
    assert area(parallel(Region(shape), 5.0)) == pytest.approx(steiner, rel=1e-12)


def test_numbers_from_the_handbook():
    square = Region(rectangle(0, 0, 100, 100))
    assert area(parallel(square, -5.0)) == pytest.approx(8100.0, abs=1e-9)
    assert area(parallel(square, 5.0, corner=Corner.MITER)) == pytest.approx(12100.0, abs=1e-9)


def blob(seed, size=300.0):
    """A closed outline of curves around a centre: bays, bulges, corners and smooth nodes."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(4, 9))
    angle = np.sort(rng.uniform(0, 2 * np.pi, count)) + np.linspace(0, 2.0, count)
    reach = rng.uniform(0.25, 0.5, count) * size
    nodes = np.stack([np.cos(angle), np.sin(angle)], axis=1) * reach[:, None]
    pen = PathBuilder()
    pen.move_to(tuple(nodes[0]))
    for a, b in zip(nodes, np.roll(nodes, -1, axis=0), strict=True):
        one, two = rng.uniform(-0.2, 0.2, (2, 2)) * size
        pen.cubic_to(tuple(a + one), tuple(b + two), tuple(b))
    pen.close()
    return Region(pen.path())


@pytest.mark.parametrize("seed", range(16))
@pytest.mark.parametrize("distance", [0.25, 6.0, -0.8, -6.0])
def test_parallels_keep_the_promise_over_large_artwork(seed, distance):
    region = Region(resolve(blob(seed)))
    ours = polygon_of(parallel(region, distance))
    base, band = polygon_of(region.path), swept(region.path, 2.0 * abs(distance), "butt", "round")
    exact = base.union(band) if distance > 0 else base.difference(band)
    assert ours.difference(exact.buffer(FARTHEST_MM + LISTING_MM)).area < 1e-4
    assert exact.difference(ours.buffer(FARTHEST_MM + LISTING_MM)).area < 1e-3
    assert ours.symmetric_difference(exact).area < 2e-3 * exact.boundary.length + 1e-3


@pytest.mark.parametrize("seed", range(30, 36))
def test_other_kernels_find_the_same_area(seed):
    pyclipr = pytest.importorskip("pyclipr", reason="pyclipr has no wheel for every system, so it is not in the lock")
    region = Region(resolve(blob(seed, 80.0)))
    ours = parallel(region, 2.0)
    fine = polygon_of(region.path, 2000)
    assert area(ours) == pytest.approx(fine.buffer(2.0, quad_segs=400).area, rel=2e-5)
    offset = pyclipr.ClipperOffset()
    offset.scaleFactor = 100_000
    offset.arcTolerance = 50.0
    rings = [np.asarray(ring.coords)[:-1] for one in shapely.get_parts(fine) for ring in (one.exterior, *one.interiors)]
    offset.addPaths(rings, pyclipr.JoinType.Round, pyclipr.EndType.Polygon)
    theirs = sum(
        0.5 * (ring[:, 0] * np.roll(ring[:, 1], -1) - np.roll(ring[:, 0], -1) * ring[:, 1]).sum()
        for ring in (np.asarray(one)[:, :2] for one in offset.execute(2.0))
    )
    assert area(ours) == pytest.approx(abs(theirs), rel=1e-4)


@pytest.mark.parametrize("distance", [0.25, 2.0, -0.25, -2.0])
def test_large_unruly_drawings_keep_to_three_segments_a_source_segment(distance):
    regions = [Region(resolve(blob(seed))) for seed in range(8)]
    assert sum(len(parallel(region, distance)) for region in regions) <= 3 * sum(len(region.path) for region in regions)


def test_opening_and_closing_a_square_round_its_corners_to_the_radius():
    square = Region(rectangle(0, 0, 40, 40))
    assert area(opened(square, 5.0)) == pytest.approx(1600.0 - 100.0 + 25.0 * math.pi, abs=1e-9)
    assert area(closed(square, 5.0)) == pytest.approx(1600.0, abs=1e-9)


def test_an_ellipse_is_as_far_off_as_asked_everywhere():
    shape = CONVEX["ellipse"]
    grown = polygon_of(parallel(Region(shape), 10.0), 300)
    exact = polygon_of(shape, 2000).union(swept(shape, 20.0, "butt", "round"))
    assert farthest(grown, exact) < FARTHEST_MM
