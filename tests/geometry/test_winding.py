"""Inside or outside: what a click, a hole and a fill rule rely on."""

import math

import numpy as np
import pytest

from bladewise.geometry.measures import contains, winding_numbers
from bladewise.geometry.path import EMPTY, PathBuilder, circle, joined, polygon, rectangle
from bladewise.geometry.regions import FillRule, Region


def pentagram():
    corners = [(math.sin(4.0 * math.pi * k / 5.0), -math.cos(4.0 * math.pi * k / 5.0)) for k in range(5)]
    return polygon(corners)


def test_nothing_is_inside_an_empty_path():
    assert winding_numbers(EMPTY, [(0.0, 0.0)]).tolist() == [0]
    assert winding_numbers(circle((0.0, 0.0), 1.0), np.zeros((0, 2))).shape == (0,)


def test_a_dot_and_a_line_enclose_nothing():
    assert winding_numbers(polygon([(0.0, 0.0), (0.0, 0.0)]), [(0.0, 0.0), (-1.0, 0.0)]).tolist() == [0, 0]
    assert winding_numbers(polygon([(0.0, 0.0), (5.0, 5.0)]), [(0.0, 1.0), (-1.0, 0.0)]).tolist() == [0, 0]


def test_clockwise_on_the_screen_counts_up():
    path = circle((0.0, 0.0), 1.0)
    assert winding_numbers(path, (0.2, 0.1)).tolist() == [1]
    assert winding_numbers(path.reversed(), (0.2, 0.1)).tolist() == [-1]
    assert winding_numbers(joined([path, path]), (0.2, 0.1)).tolist() == [2]


def test_the_middle_of_a_pentagram_is_painted_by_one_rule_and_not_by_the_other():
    middle, tip = (0.0, 0.0), (0.0, -0.8)
    star = pentagram()
    assert abs(winding_numbers(star, middle)[0]) == 2
    assert contains(Region(star), [middle, tip]).tolist() == [True, True]
    assert contains(Region(star, FillRule.EVEN_ODD), [middle, tip]).tolist() == [False, True]


def test_an_open_shape_is_painted_closed():
    half = polygon([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)], closed=False)
    assert contains(Region(half), [(8.0, 5.0), (2.0, 5.0)]).tolist() == [True, False]


def test_a_ray_through_corners_and_turning_points_counts_once():
    diamond = polygon([(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)])
    disc = circle((0.0, 0.0), 1.0)
    points = [(-2.0, 0.0), (0.0, 0.0), (-2.0, 1.0), (-2.0, -1.0), (2.0, 0.0), (0.5, 0.0)]
    expected = [0, 1, 0, 0, 0, 1]
    assert winding_numbers(diamond, points).tolist() == expected
    assert winding_numbers(disc, points).tolist() == expected


def test_a_ray_along_an_edge_counts_right():
    steps = polygon([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (2.0, 4.0), (2.0, 2.0), (0.0, 2.0)])
    assert winding_numbers(steps, [(-1.0, 2.0), (1.0, 2.0 - 1e-12), (3.0, 2.0), (1.0, 3.0)]).tolist() == [0, 1, 1, 0]


def test_a_curve_s_turning_point_inside_a_segment_is_met_by_no_or_two_crossings():
    pen = PathBuilder()
    pen.move_to((0.0, 0.0))
    pen.cubic_to((0.0, 4.0), (4.0, 4.0), (4.0, 0.0))  # turns at y = 3
    pen.close()
    path = pen.path()
    points = [(-1.0, 3.0), (-1.0, 3.0 - 1e-13), (2.0, 3.0 - 1e-12), (2.0, 3.0 + 1e-12), (2.0, 1e-12)]
    assert winding_numbers(path.reversed(), points).tolist() == [0, 0, 1, 0, 1]


@pytest.mark.parametrize("gap_mm", [1e-3, 1e-6, 1e-9])
def test_points_a_hair_from_a_true_curve_are_told_apart(gap_mm):
    angle = np.linspace(0.0, 2.0 * math.pi, 500)
    around = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    disc = Region(circle((0.0, 0.0), 100.0))
    assert contains(disc, around * (100.0 - gap_mm)).all()
    assert not contains(disc, around * (100.0 + gap_mm)).any()


def test_a_hole_is_not_inside():
    ring = Region(joined([rectangle(0.0, 0.0, 9.0, 9.0), circle((4.5, 4.5), 2.0).reversed()]))
    assert contains(ring, [(4.5, 4.5), (1.0, 1.0)]).tolist() == [False, True]
