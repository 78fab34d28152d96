"""Outlines around crowded art: what cannot show is never drawn, and what can show is all there."""

import numpy as np
import pytest
import shapely

from bladewise.geometry.booleans import resolve
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import area
from bladewise.geometry.nearness import Nearness
from bladewise.geometry.parallels import parallel
from bladewise.geometry.path import PathBuilder, SegmentKind, joined, polygon, rectangle
from bladewise.geometry.regions import Region
from bladewise.geometry.rims import on_the_rim, rim_bands


def comb(teeth):
    """A bar with narrow teeth: the inlets close up."""
    places = [(0, 20), (0, 0)]
    for tooth in range(teeth):
        places += [(tooth + 0.2, -8), (tooth + 0.8, -8), (tooth + 1, 0)]
    return polygon([*places, (teeth, 20)])


def burr(seed, count=60):
    """A disc with a jagged rim of cubics."""
    rng = np.random.default_rng(seed)
    angle = np.arange(count) * 2.0 * np.pi / count
    nodes = np.stack([np.cos(angle), np.sin(angle)], axis=1) * (20.0 + rng.normal(0, 0.6, count))[:, None]
    pen = PathBuilder()
    pen.move_to(tuple(nodes[0]))
    for a, b in zip(nodes, np.roll(nodes, -1, axis=0), strict=True):
        way = b - a
        aside = np.array([-way[1], way[0]]) * rng.uniform(-0.4, 0.4)
        pen.cubic_to(tuple(a + way / 3 + aside), tuple(b - way / 3 - aside), tuple(b))
    pen.close()
    return resolve(Region(pen.path()))


def deviation(result, source, distance):
    """Largest difference from the distance asked, at every tenth of a millimetre of the result."""
    lines = shapely.MultiLineString([flatten(ring, 1e-4).coords for ring in source.subpaths()])
    places = shapely.segmentize(
        shapely.MultiLineString([flatten(ring, 1e-4).coords for ring in result.subpaths()]), 0.1
    )
    points = shapely.points(shapely.get_coordinates(places))
    return np.abs(shapely.distance(points, lines) - distance).max()


@pytest.mark.parametrize("distance", [0.5, 3.0, 9.0, -0.5, -3.0])
@pytest.mark.parametrize("seed", range(3))
def test_a_jagged_rim_is_outlined_at_the_distance_asked(seed, distance):
    shape = burr(seed)
    assert deviation(parallel(Region(shape), distance), shape, abs(distance)) < 0.005


def test_hidden_bends_are_left_out_of_what_geos_is_asked():
    shape = burr(0, 200)
    bands = rim_bands(shape, 6.0, 0.003, Nearness(shape, 0.0015))
    assert (bands.kinds != SegmentKind.LINE).sum() < len(shape) / 2


def test_inlets_that_close_up_leave_no_trace():
    grown = parallel(Region(comb(12)), 2.0)
    assert len(grown.starts) == 1
    assert deviation(grown, comb(12), 2.0) < 3e-4
    assert len(grown) <= 12 * 3 + 8


def test_a_hole_that_stays_open_keeps_its_place_among_hidden_bends():
    frame = joined([rectangle(0, 0, 40, 40), rectangle(10, 10, 20, 20).reversed()])
    teeth = [polygon([(10 + 2 * k, 10), (11 + 2 * k, 13), (12 + 2 * k, 10)]) for k in range(10)]
    shape = resolve(Region(joined([frame, *teeth])))
    grown = parallel(Region(shape), 2.0)
    assert len(grown.starts) == 2
    assert deviation(grown, shape, 2.0) < 3e-4


def test_a_notch_thinner_than_the_margin_is_no_rim():
    notched = polygon([(0, 0), (10, 0), (10, 4.99), (2, 5), (10, 5.01), (10, 10), (0, 10)])
    grown = parallel(Region(notched), 1.0)
    assert len(grown.starts) == 1
    assert grown.bounds() == pytest.approx((-1, -1, 11, 11))


def test_an_outline_partly_on_the_rim_and_partly_deeper_is_refused():
    square = rectangle(0, 0, 10, 10)
    near = Nearness(square, 0.001)
    assert on_the_rim(rectangle(-2, -2, 14, 14, 2, 2), 2.0, near) is not None
    assert on_the_rim(polygon([(-2, -2), (12, -2), (12, 12), (5, 11), (-2, 12)]), 2.0, near) is None


def test_small_lettering_grown_into_one_blot_is_the_blot():
    bars = [rectangle(0.5 * k, 0.3 * (k % 3), 0.2, 2.0) for k in range(30)]
    grown = parallel(Region(joined(bars)), 3.0)
    fine = shapely.union_all([shapely.box(*bar.bounds()) for bar in bars]).buffer(3.0, quad_segs=300)
    assert area(grown) == pytest.approx(fine.area, rel=1e-5)
    assert len(grown.starts) == 1
