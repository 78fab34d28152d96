"""Laws that hold for any curve whatever."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from bladewise.geometry.affine import Affine
from bladewise.geometry.bernstein import points_on, rational_cubics
from bladewise.geometry.curves import sub_segments
from bladewise.geometry.measures import (
    area,
    centroid,
    contains,
    least_distance,
    length,
    nearest_each,
    point_at_length,
    winding_numbers,
)
from bladewise.geometry.path import Path, PathBuilder
from bladewise.geometry.regions import FillRule, Region

coordinate = st.integers(-200, 200).map(lambda n: n / 4.0)
point = st.tuples(coordinate, coordinate)


@st.composite
def closed_paths(draw):
    """Rings of any kinds of segments, crossing themselves as they like."""
    pen = PathBuilder()
    pen.move_to(draw(point))
    for _ in range(draw(st.integers(2, 6))):
        match draw(st.integers(0, 3)):
            case 0:
                pen.line_to(draw(point))
            case 1:
                pen.quadratic_to(draw(point), draw(point))
            case 2:
                pen.cubic_to(draw(point), draw(point), draw(point))
            case _:
                pen.arc_to(draw(point), draw(point), math.cos(math.radians(draw(st.integers(1, 45)))))
    pen.close()
    return pen.path()


def cut_everywhere(path, t):
    """Return the path with every segment cut in two at t."""
    at = np.full(len(path), t)
    first, first_weights = sub_segments(path.points, path.kinds, path.weights, np.zeros(len(path)), at)
    second, second_weights = sub_segments(path.points, path.kinds, path.weights, at, np.ones(len(path)))
    return Path(
        np.stack([first, second], axis=1).reshape(-1, 4, 2),
        np.repeat(path.kinds, 2),
        np.stack([first_weights, second_weights], axis=1).ravel(),
        path.starts * 2,
        path.closed,
    )


share = st.floats(0.05, 0.95)


@given(closed_paths(), share)
def test_cutting_segments_in_two_changes_neither_area_nor_length(path, t):
    pieces = cut_everywhere(path, t)
    assert area(pieces) == pytest.approx(area(path), abs=1e-9)
    assert length(pieces) == pytest.approx(length(path), rel=1e-9, abs=1e-12)


@given(closed_paths(), st.tuples(*[st.floats(-3.0, 3.0)] * 4))
def test_a_transform_scales_the_area_by_its_determinant(path, numbers):
    affine = Affine(*numbers, 5.0, -7.0)
    assert area(path.transformed(affine)) == pytest.approx(area(path) * affine.determinant, abs=1e-8)


@given(closed_paths(), st.tuples(*[st.floats(-3.0, 3.0)] * 4))
def test_the_centroid_goes_where_the_shape_goes(path, numbers):
    affine = Affine(*numbers, 5.0, -7.0)
    assume(abs(area(path)) > 1.0)
    assume(abs(affine.determinant) > 0.1)
    moved = centroid(path.transformed(affine))
    np.testing.assert_allclose(moved, affine.apply(np.array(centroid(path))), atol=1e-6)


@given(closed_paths())
def test_running_backwards_turns_the_area_and_keeps_the_length(path):
    assert area(path.reversed()) == pytest.approx(-area(path), abs=1e-9)
    assert length(path.reversed()) == pytest.approx(length(path), rel=1e-9)


@given(closed_paths(), st.lists(point, min_size=1, max_size=5))
def test_no_sample_of_the_curve_is_nearer_than_the_nearest_place(path, points):
    found = nearest_each(path, points)
    dense = points_on(rational_cubics(path), np.linspace(0.0, 1.0, 400)).reshape(-1, 2)
    sampled = np.hypot(*(np.array(points)[:, None] - dense).transpose(2, 0, 1)).min(axis=1)
    assert (found.distances_mm <= sampled + 1e-11).all()
    control = rational_cubics(path)[found.segments]
    np.testing.assert_allclose(points_on(control, found.parameters[:, None])[:, 0], found.points, atol=1e-10)
    np.testing.assert_allclose(np.hypot(*(found.points - points).T), found.distances_mm, atol=1e-10)


@given(closed_paths(), closed_paths())
def test_no_pair_of_samples_is_nearer_than_the_least_distance(first, second):
    gap = least_distance(first, second.transformed(Affine.moved(70.0, 30.0)))
    t = np.linspace(0.0, 1.0, 60)
    dense = points_on(rational_cubics(first), t).reshape(-1, 2)
    other = points_on(rational_cubics(second), t).reshape(-1, 2) + np.array([70.0, 30.0])
    sampled = np.hypot(*(dense[:, None] - other).transpose(2, 0, 1)).min()
    assert gap.distance_mm <= sampled + 1e-7
    assert math.dist(gap.first.point, gap.second.point) == pytest.approx(gap.distance_mm, abs=1e-9)


@given(closed_paths(), st.floats(0.0, 1.0))
def test_the_way_to_a_place_has_the_length_asked_for(path, part):
    whole = length(path)
    assume(whole > 0.1)
    places = point_at_length(path, part * whole)
    segment, t = int(places.segments[0]), float(places.parameters[0])
    rows = slice(0, segment + 1)
    points, weights = path.points[rows].copy(), path.weights[rows].copy()
    last, last_weight = sub_segments(
        points[-1:], path.kinds[segment : segment + 1], weights[-1:], np.zeros(1), np.array([t])
    )
    points[-1], weights[-1] = last[0], last_weight[0]
    way = Path(points, path.kinds[rows], weights, path.starts, np.zeros(1, np.bool_))
    assert length(way) == pytest.approx(part * whole, abs=1e-7 * whole)


@given(closed_paths(), st.lists(point, min_size=1, max_size=5))
def test_winding_is_the_angle_swept_by_the_curve(path, points):
    """Against the definition: the change of angle seen from the point, over a full turn."""
    at = np.array(points) + np.array([0.1234, 0.0567])
    assume((nearest_each(path, at).distances_mm > 0.05).all())
    dense = points_on(rational_cubics(path), np.linspace(0.0, 1.0, 4001)).reshape(-1, 2)
    ways = dense[None] - at[:, None]
    angle = np.unwrap(np.arctan2(ways[..., 1], ways[..., 0]), axis=1)
    expected = np.rint((angle[:, -1] - angle[:, 0]) / (2.0 * math.pi)).astype(int)
    np.testing.assert_array_equal(winding_numbers(path, at), expected)
    np.testing.assert_array_equal(contains(Region(path, FillRule.EVEN_ODD), at), expected % 2 != 0)
