"""What an operator relies on where two outlines meet: every place, on both curves, once."""

import math

import numpy as np
import pytest

from bladewise.geometry.affine import Affine
from bladewise.geometry.intersections import meetings
from bladewise.geometry.path import EMPTY, PathBuilder, circle, joined, polygon, rectangle


def one_cubic(*points):
    pen = PathBuilder()
    pen.move_to(points[0])
    pen.cubic_to(*points[1:])
    return pen.path()


def test_two_cubics_meet_in_nine_places_at_most_and_these_do():
    """Bézout: 3 · 3. The curves y = T₃(x) and x = T₃(y) meet where cos 9θ = cos θ, x = cos θ (Chebyshev)."""
    upright = one_cubic((-1.0, -1.0), (-1 / 3, 5.0), (1 / 3, -5.0), (1.0, 1.0))
    found = meetings(upright, upright.transformed(Affine(0.0, 1.0, 1.0, 0.0, 0.0, 0.0)))
    expected = sorted([math.cos(k * math.pi / 4) for k in range(5)] + [math.cos(k * math.pi / 5) for k in range(1, 5)])
    np.testing.assert_allclose(np.sort(found.points[:, 0]), expected, atol=1e-9)
    assert not found.touching.any()


def test_two_circles_cross_twice_touch_once_or_stay_apart():
    first = circle((0.0, 0.0), 5.0)
    assert meetings(first, circle((6.0, 0.0), 5.0)).points.round(9).tolist() == [[3.0, 4.0], [3.0, -4.0]]
    outside, inside = meetings(first, circle((8.0, 6.0), 5.0)), meetings(first, circle((3.0, 0.0), 2.0))
    np.testing.assert_allclose(outside.points, [[4.0, 3.0]], atol=1e-7)
    np.testing.assert_allclose(inside.points, [[5.0, 0.0]], atol=1e-7)
    assert outside.touching.all()
    assert inside.touching.all()
    assert len(meetings(first, circle((10.0 + 1e-7, 0.0), 5.0)).points) == 0


@pytest.mark.parametrize("depth_mm", [1e-3, 1e-6])
def test_circles_that_overlap_by_a_hair_cross_in_two_places(depth_mm):
    found = meetings(circle((0.0, 0.0), 5.0), circle((10.0 - depth_mm, 0.0), 5.0))
    half = math.sqrt(25.0 - (5.0 - depth_mm / 2.0) ** 2)
    np.testing.assert_allclose(np.sort(found.points[:, 1]), [-half, half], rtol=1e-5)


def test_the_same_outline_twice_shares_stretches_and_meets_nowhere_else():
    round_one = circle((0.0, 0.0), 5.0)
    for other in (round_one, round_one.reversed(), round_one.transformed(Affine.rotated(10.0))):
        found = meetings(round_one, other)
        assert set(found.shared[:, 0].tolist()) == {0, 1, 2, 3}
        assert len(found.points) == 0


def test_abutting_rectangles_share_a_stretch_and_meet_at_its_ends():
    found = meetings(rectangle(0.0, 0.0, 10.0, 10.0), rectangle(10.0, 5.0, 10.0, 10.0))
    assert found.points.tolist() == [[10.0, 5.0], [10.0, 10.0]]
    assert found.shared.tolist() == [[1, 3]]


def test_an_outline_meets_itself_at_its_crossings_only():
    eight = polygon([(0, 0), (10, 10), (10, 0), (0, 10)])
    assert meetings(eight).points.tolist() == [[5.0, 5.0]]
    assert len(meetings(circle((0.0, 0.0), 5.0)).points) == 0
    loop = meetings(one_cubic((0.0, 0.0), (12.0, 10.0), (-2.0, 10.0), (10.0, 0.0)))
    np.testing.assert_allclose(loop.points, [[5.0, 5.0 + 10.0 / 13.0]], atol=1e-9)
    np.testing.assert_allclose(loop.first_parameters + loop.second_parameters, 1.0, atol=1e-9)


def test_a_crossing_at_a_node_is_told_once_at_the_segment_that_begins_there():
    found = meetings(rectangle(0.0, 0.0, 10.0, 10.0), polygon([(5.0, 5.0), (15.0, 15.0)], closed=False))
    assert found.points.tolist() == [[10.0, 10.0]]
    assert (found.first_segments[0], found.first_parameters[0]) == (2, 0.0)


def test_nothing_meets_nothing():
    assert len(meetings(EMPTY, circle((0.0, 0.0), 1.0)).points) == 0
    assert len(meetings(EMPTY).points) == 0
    assert len(meetings(circle((0.0, 0.0), 1.0), circle((5.0, 0.0), 1.0)).points) == 0


def test_thousands_of_circles_meet_in_as_many_places_as_reckoned():
    side = 30
    spots = [(3.0 * x, 3.0 * y) for x in range(side) for y in range(side)]
    even = joined([circle(spot, 2.0) for spot in spots[::2]])
    odd = joined([circle(spot, 2.0) for spot in spots[1::2]])
    pairs = sum(
        math.dist(a, b) < 4.0 for i, a in enumerate(spots[::2]) for b in spots[1::2]
        if abs(a[0] - b[0]) < 4 and abs(a[1] - b[1]) < 4
    )  # fmt: skip
    assert len(meetings(even, odd).points) == 2 * pairs
