"""Nearest places and gaps between outlines: what snapping and the weeding check rely on."""

import math

import numpy as np
import pytest

from bladewise.geometry.affine import Affine
from bladewise.geometry.measures import least_distance, nearest, nearest_each
from bladewise.geometry.path import EMPTY, PathBuilder, circle, joined, polygon, rectangle


def one_cubic(*points):
    pen = PathBuilder()
    pen.move_to(points[0])
    pen.cubic_to(*points[1:])
    return pen.path()


def test_an_empty_path_is_infinitely_far():
    found = nearest(EMPTY, (1.0, 2.0))
    assert found.distance_mm == math.inf
    assert found.segment == -1
    assert math.isnan(found.t)
    assert least_distance(EMPTY, circle((0.0, 0.0), 1.0)).distance_mm == math.inf
    assert least_distance(circle((0.0, 0.0), 1.0), EMPTY).first.segment == -1


def test_a_dot_is_as_far_as_its_place():
    dot = polygon([(3.0, 4.0), (3.0, 4.0)])
    assert nearest(dot, (0.0, 0.0)).distance_mm == 5.0
    assert least_distance(dot, polygon([(0.0, 0.0), (0.0, 0.0)])).distance_mm == 5.0


def test_the_nearest_place_of_a_circle_is_along_the_radius():
    rng = np.random.default_rng(5)
    points = rng.uniform(-30.0, 30.0, (400, 2))
    found = nearest_each(circle((1.0, -2.0), 10.0), points)
    out = np.hypot(points[:, 0] - 1.0, points[:, 1] + 2.0)
    np.testing.assert_allclose(found.distances_mm, np.abs(out - 10.0), atol=1e-12)
    np.testing.assert_allclose(np.hypot(*(found.points - points).T), found.distances_mm, atol=1e-12)


def test_the_centre_of_a_circle_is_equally_far_from_all_of_it():
    assert nearest(circle((3.0, 4.0), 10.0), (3.0, 4.0)).distance_mm == pytest.approx(10.0, rel=1e-14)


def test_a_point_on_the_curve_is_found_on_it():
    path = one_cubic((0.0, 0.0), (30.0, 40.0), (-20.0, 40.0), (10.0, 0.0))
    t = 0.3711
    s = 1.0 - t
    x = 3.0 * s * s * t * 30.0 - 3.0 * s * t * t * 20.0 + t**3 * 10.0
    y = 3.0 * s * t * 40.0 * (s + t)
    found = nearest(path, (x, y))
    assert found.distance_mm < 1e-13
    assert found.t == pytest.approx(t, abs=1e-12)


def test_neither_loop_nor_cusp_hides_the_nearest_place():
    rng = np.random.default_rng(11)
    for _ in range(40):
        path = one_cubic(*map(tuple, rng.normal(size=(4, 2)) * 10.0))
        points = rng.normal(size=(20, 2)) * 12.0
        t = np.linspace(0.0, 1.0, 4001)[:, None]
        s, (a, b, c, d) = 1.0 - t, path.points[0]
        dense = s**3 * a + 3.0 * s * s * t * b + 3.0 * s * t * t * c + t**3 * d
        sampled = np.hypot(*(points[:, None] - dense).transpose(2, 0, 1)).min(axis=1)
        found = nearest_each(path, points).distances_mm
        assert (found <= sampled + 1e-12).all()
        assert (found >= sampled - 0.02).all()


def test_far_from_the_corner_small_distances_keep_their_digits():
    far = circle((0.0, 0.0), 5.0).transformed(Affine.moved(1e6, 1e6))
    assert nearest(far, (1e6 + 5.001, 1e6)).distance_mm == pytest.approx(0.001, abs=1e-9)


def test_the_segment_and_its_parameter_are_named():
    found = nearest(rectangle(0.0, 0.0, 10.0, 20.0), (9.0, 5.0))
    assert (found.segment, found.t, found.point, found.distance_mm) == (1, 0.25, (10.0, 5.0), 1.0)


def test_two_circles_are_as_far_as_their_centres_less_both_radii():
    gap = least_distance(circle((0.0, 0.0), 10.0), circle((30.0, 40.0), 15.0))
    assert gap.distance_mm == pytest.approx(25.0, rel=1e-9)
    assert gap.first.point == pytest.approx((6.0, 8.0), abs=1e-5)
    assert gap.second.point == pytest.approx((21.0, 28.0), abs=1e-5)


def test_a_shape_inside_another_is_as_far_as_its_outline():
    outer, inner = circle((0.0, 0.0), 10.0), circle((2.0, 1.0), 5.0)
    assert least_distance(outer, inner).distance_mm == pytest.approx(5.0 - math.sqrt(5.0), rel=1e-9)


def test_outlines_that_cross_or_touch_have_no_gap():
    disc = circle((0.0, 0.0), 10.0)
    assert least_distance(disc, circle((12.0, 3.0), 10.0)).distance_mm < 1e-7
    assert least_distance(disc, circle((20.0, 0.0), 10.0)).distance_mm < 1e-7
    cross = least_distance(polygon([(0, 0), (7, 10)], closed=False), polygon([(0, 10), (9, 0)], closed=False))
    assert cross.distance_mm < 1e-7


def test_two_runs_at_one_constant_distance_are_that_far_apart():
    assert least_distance(circle((1.0, 1.0), 10.0), circle((1.0, 1.0), 7.0)).distance_mm == pytest.approx(3.0, rel=1e-9)
    lines = [polygon([(0.0, y), (100.0, y)], closed=False) for y in (0.0, 0.25)]
    assert least_distance(*lines).distance_mm == 0.25


def test_the_gap_between_many_segments_is_the_least_of_all_pairs():
    rng = np.random.default_rng(3)
    first = joined(circle((float(x), float(y)), 1.0) for x, y in rng.uniform(0.0, 50.0, (12, 2)))
    second = joined(circle((float(x) + 60.0, float(y)), 2.0) for x, y in rng.uniform(0.0, 50.0, (12, 2)))
    a = np.array([(*ring.points[0, 0],) for ring in first.subpaths()]) - (1.0, 0.0)
    b = np.array([(*ring.points[0, 0],) for ring in second.subpaths()]) - (2.0, 0.0)
    centres = np.hypot(*(a[:, None] - b).transpose(2, 0, 1)).min()
    assert least_distance(first, second).distance_mm == pytest.approx(centres - 3.0, rel=1e-9)
