"""What an operator relies on when a length, an area or a place along a path is shown."""

import math

import numpy as np
import pytest

from bladewise.geometry.affine import Affine
from bladewise.geometry.measures import (
    area,
    centroid,
    curvature_at,
    length,
    perimeter,
    point_at_length,
    ring_areas,
    segment_lengths,
    tangent_at,
)
from bladewise.geometry.path import EMPTY, Path, PathBuilder, circle, joined, polygon, rectangle


def one_cubic(*points):
    pen = PathBuilder()
    pen.move_to(points[0])
    pen.cubic_to(*points[1:])
    return pen.path()


def one_arc(radius, sweep_deg):
    pen = PathBuilder()
    pen.move_to((radius, 0.0))
    half = math.radians(sweep_deg) / 2.0
    control = radius / math.cos(half)
    end = (radius * math.cos(2.0 * half), radius * math.sin(2.0 * half))
    pen.arc_to((control * math.cos(half), control * math.sin(half)), end, math.cos(half))
    return pen.path()


DOT = polygon([(3.0, 4.0), (3.0, 4.0)])


def test_an_empty_path_measures_nothing():
    assert area(EMPTY) == length(EMPTY) == perimeter(EMPTY) == 0.0
    assert centroid(EMPTY) is None
    assert ring_areas(EMPTY).shape == segment_lengths(EMPTY).shape == (0,)
    with pytest.raises(ValueError, match="no places"):
        point_at_length(EMPTY, 1.0)


def test_a_dot_measures_nothing_and_points_along_x():
    assert area(DOT) == length(DOT) == 0.0
    assert centroid(DOT) == (3.0, 4.0)
    places = point_at_length(DOT, [0.0, 5.0])
    np.testing.assert_array_equal(places.points, [[3.0, 4.0], [3.0, 4.0]])
    np.testing.assert_array_equal(places.tangents, [[1.0, 0.0], [1.0, 0.0]])
    np.testing.assert_array_equal(curvature_at(DOT, [0], [0.5]), [0.0])


def test_clockwise_on_the_screen_is_positive_and_holes_subtract():
    outer, hole = rectangle(0.0, 0.0, 10.0, 10.0), rectangle(2.0, 2.0, 3.0, 3.0).reversed()
    np.testing.assert_array_equal(ring_areas(joined([outer, hole])), [100.0, -9.0])
    assert area(joined([outer, hole])) == 91.0


def test_a_square_with_a_hole_balances_where_both_do():
    ring = joined([rectangle(0.0, 0.0, 10.0, 10.0), rectangle(0.0, 0.0, 2.0, 2.0).reversed()])
    x, y = centroid(ring)
    assert x == pytest.approx((500.0 - 4.0) / 96.0, rel=1e-14)
    assert y == pytest.approx((500.0 - 4.0) / 96.0, rel=1e-14)


def test_an_open_shape_is_painted_closed():
    corner = polygon([(0.0, 0.0), (4.0, 0.0), (4.0, 3.0)], closed=False)
    assert area(corner) == 6.0
    assert length(corner) == 7.0
    assert perimeter(corner) == 12.0
    assert centroid(corner) == pytest.approx((8.0 / 3.0, 1.0))


def test_a_line_balances_at_its_middle_though_it_has_no_area():
    assert centroid(polygon([(0.0, 0.0), (10.0, 4.0)], closed=False)) == pytest.approx((5.0, 2.0))


def test_a_figure_of_eight_balances_by_its_outline():
    eight = polygon([(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)])
    assert area(eight) == 0.0
    assert centroid(eight) == pytest.approx((5.0, 5.0))


@pytest.mark.parametrize("sweep_deg", [1e-4, 0.1, 5.0, 22.9, 23.0, 60.0, 90.0])
def test_an_arc_of_any_sweep_has_the_area_of_its_circular_segment(sweep_deg):
    sweep = math.radians(sweep_deg)
    # θ − sin θ as its series, where the difference itself would cancel
    expected = sum((-1) ** k * sweep ** (2 * k + 3) / math.factorial(2 * k + 3) for k in range(12)) / 2.0
    # the arc's own ends and weight carry 1e-16, which a flat arc magnifies by 1/sweep²
    assert area(one_arc(1.0, sweep_deg)) == pytest.approx(expected, rel=1e-13 + 1e-15 / sweep**2)
    assert length(one_arc(1.0, sweep_deg)) == pytest.approx(sweep, rel=1e-10)


def test_a_shape_a_kilometre_from_the_corner_keeps_its_area():
    near = circle((0.0, 0.0), 5.0)
    far = near.transformed(Affine.moved(1e6, -1e6))
    assert area(far) == pytest.approx(25.0 * math.pi, rel=1e-9)
    assert length(far) == pytest.approx(10.0 * math.pi, rel=1e-9)


def test_a_cusp_does_not_cost_the_length_its_digits():
    # (t², t³) up to a move: both handles meet, the speed is 0 in the middle of the curve
    cusp = one_cubic((1.0, -1.0), (-1 / 3, 1.0), (-1 / 3, -1.0), (1.0, 1.0))
    exact = 2.0 * (13.0 * math.sqrt(13.0) - 8.0) / 27.0  # semicubical parabola, W. Neile 1657
    assert length(cusp) == pytest.approx(exact, rel=1e-10)


def test_a_curve_that_doubles_back_on_a_line_counts_both_ways():
    back = one_cubic((0.0, 0.0), (2.0, 0.0), (-1.0, 0.0), (1.0, 0.0))
    # x(t) turns where 6t² − 6t + 1 … : x' = 6 − 30t + 30t²
    t = (1.0 - math.sqrt(0.2)) / 2.0
    turn = 6.0 * t - 15.0 * t**2 + 10.0 * t**3
    assert length(back) == pytest.approx(2.0 * (2.0 * turn - 1.0) + 1.0, rel=1e-9)


def test_places_along_a_path_of_several_pieces():
    path = joined([polygon([(0.0, 0.0), (3.0, 0.0)], closed=False), circle((0.0, 0.0), 2.0)])
    quarter = math.pi
    places = point_at_length(path, [-1.0, 1.5, 3.0 + quarter / 2.0, 3.0 + 2.0 * quarter, 1e9])
    expected = [[0.0, 0.0], [1.5, 0.0], [math.sqrt(2.0), math.sqrt(2.0)], [-2.0, 0.0], [2.0, 0.0]]
    np.testing.assert_allclose(places.points, expected, atol=1e-12)
    np.testing.assert_array_equal(places.segments[[0, 1, 2]], [0, 0, 1])
    assert places.parameters[-1] == 1.0
    np.testing.assert_allclose(places.tangents[[0, 4]], [[1.0, 0.0], [0.0, 1.0]], atol=1e-12)


def test_places_at_equal_steps_are_equally_far_apart_even_through_a_cusp():
    cusp = one_cubic((1.0, -1.0), (-1 / 3, 1.0), (-1 / 3, -1.0), (1.0, 1.0))
    steps = np.linspace(0.0, length(cusp), 33)
    places = point_at_length(cusp, steps)
    # y = s³, x = s² with s = 2t − 1: length from the cusp is ((4 + 9s²)^(3/2) − 8) / 27
    s = 2.0 * places.parameters - 1.0
    along = np.sign(s) * ((4.0 + 9.0 * s * s) ** 1.5 - 8.0) / 27.0
    np.testing.assert_allclose(along, steps - length(cusp) / 2.0, atol=1e-9)


def test_the_direction_is_known_where_a_handle_has_no_length():
    path = one_cubic((0.0, 0.0), (0.0, 0.0), (1.0, 2.0), (1.0, 2.0))
    np.testing.assert_allclose(tangent_at(path, [0, 0], [0.0, 1.0]), np.full((2, 2), (1.0, 2.0)) / math.sqrt(5.0))
    late = one_cubic((0.0, 0.0), (0.0, 0.0), (0.0, 0.0), (0.0, 7.0))
    np.testing.assert_array_equal(tangent_at(late, [0], [0.0]), [[0.0, 1.0]])


def test_at_a_cusp_the_direction_is_the_one_in_which_the_curve_goes_on():
    cusp = one_cubic((1.0, -1.0), (-1 / 3, 1.0), (-1 / 3, -1.0), (1.0, 1.0))
    np.testing.assert_allclose(tangent_at(cusp, [0], [0.5]), [[1.0, 0.0]], atol=1e-9)


def test_curvature_is_positive_where_the_path_turns_clockwise_on_the_screen():
    clockwise = circle((7.0, 1.0), 4.0)
    np.testing.assert_allclose(curvature_at(clockwise, [0, 1, 2], [0.0, 0.3, 1.0]), 0.25, rtol=1e-12)
    np.testing.assert_allclose(curvature_at(clockwise.reversed(), [0, 1], [0.2, 0.9]), -0.25, rtol=1e-12)
    np.testing.assert_array_equal(curvature_at(rectangle(0.0, 0.0, 1.0, 2.0), [0, 1], [0.5, 0.0]), 0.0)


def test_curvature_is_infinite_where_a_handle_has_no_length():
    path = one_cubic((0.0, 0.0), (0.0, 0.0), (1.0, 0.0), (1.0, 1.0))
    assert curvature_at(path, [0], [0.0])[0] == math.inf
    assert curvature_at(path.transformed(Affine.scaled(1.0, -1.0)), [0], [0.0])[0] == -math.inf


def test_lengths_of_nothing_but_lines_are_those_of_their_ends():
    path = rectangle(1.0, 1.0, 30.0, 40.0)
    np.testing.assert_array_equal(segment_lengths(path), [30.0, 40.0, 30.0, 40.0])


def test_a_mirrored_shape_has_the_opposite_area():
    path = circle((1.0, 2.0), 3.0)
    mirrored: Path = path.transformed(Affine.scaled(-1.0, 1.0))
    assert area(mirrored) == pytest.approx(-area(path), rel=1e-14)
