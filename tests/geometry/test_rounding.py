"""Rounded corners: true arcs that touch both sides."""

import math

import numpy as np
import pytest

from bladewise.geometry.measures import area, curvature_at, nearest_each, tangent_at
from bladewise.geometry.overlaps import crossings
from bladewise.geometry.path import EMPTY, PathBuilder, SegmentKind, circle, joined, polygon, rectangle
from bladewise.geometry.regions import FillRule
from bladewise.geometry.rounding import Bend, round_corners


def kinks_deg(path):
    """Return the turn at the end of each segment of a single subpath."""
    index = np.arange(len(path))
    a = tangent_at(path, index, np.ones(len(path)))
    b = tangent_at(path, np.roll(index, -1), np.zeros(len(path)))
    turn = np.abs(np.degrees(np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1))))
    return turn if path.closed[0] else turn[:-1]


def radii(path):
    """Return the radius of each arc at its start and in its middle, shape (k, 2)."""
    arcs = np.flatnonzero(path.kinds == SegmentKind.ARC)
    return np.stack([1.0 / np.abs(curvature_at(path, arcs, np.full(len(arcs), t))) for t in (0.0, 0.5)], axis=1)


def sail():
    """Return a closed outline of two curves and two lines, all four nodes corners."""
    pen = PathBuilder()
    pen.move_to((0.0, 0.0))
    pen.cubic_to((10.0, -8.0), (20.0, -8.0), (30.0, 0.0))
    pen.cubic_to((20.0, 10.0), (25.0, 20.0), (30.0, 30.0))
    pen.line_to((0.0, 30.0))
    pen.close()
    return pen.path()


@pytest.mark.parametrize("radius", [0.5, 2.0, 4.9])
def test_a_box_gets_the_corners_it_would_have_been_drawn_with(radius):
    rounding = round_corners(rectangle(5.0, 6.0, 20.0, 10.0), radius)
    assert area(rounding.path) == pytest.approx(200.0 - (4.0 - math.pi) * radius**2, abs=1e-12)
    assert np.bincount(rounding.path.kinds).tolist() == [0, 4, 0, 0, 4]
    assert [corner.radius_mm for corner in rounding.corners] == [radius] * 4
    assert kinks_deg(rounding.path).max() < 1e-9


def test_where_a_side_is_too_short_both_of_its_corners_shrink_until_they_meet():
    rounding = round_corners(rectangle(0.0, 0.0, 20.0, 10.0), 7.0)
    assert [corner.radius_mm for corner in rounding.corners] == pytest.approx([5.0] * 4)
    assert np.bincount(rounding.path.kinds).tolist() == [0, 2, 0, 0, 4]  # the short sides are used up
    assert area(rounding.path) == pytest.approx(200.0 - (4.0 - math.pi) * 25.0)
    assert kinks_deg(rounding.path).max() < 1e-6


@pytest.mark.parametrize("radius", [0.3, 1.0, 3.0])
def test_arcs_touch_true_curves(radius):
    path = round_corners(sail(), radius).path
    assert kinks_deg(path).max() < 1e-7
    np.testing.assert_allclose(radii(path), radius, rtol=1e-9)
    curves = path.kinds == SegmentKind.CUBIC
    assert nearest_each(sail(), path.points[curves][:, [0, 3]].reshape(-1, 2)).distances_mm.max() < 1e-12


def test_a_circle_too_large_for_a_bay_shrinks_until_it_crosses_neither_side():
    rounding = round_corners(sail(), 20.0)
    for corner in rounding.corners:
        assert 5.0 < corner.radius_mm < 20.0
    assert kinks_deg(rounding.path).max() < 1e-6
    assert (rounding.path.points[1:, 0] == rounding.path.points[:-1, 3]).all()


def test_corners_flatter_than_asked_stay():
    octagon = polygon([(10.0 * math.cos(a), 10.0 * math.sin(a)) for a in np.arange(8) * math.pi / 4.0])
    assert round_corners(octagon, 1.0, sharper_than_deg=130.0).path is octagon  # its corners enclose 135°
    assert len(round_corners(octagon, 1.0, sharper_than_deg=140.0).path) == 16


def test_corners_can_be_chosen_by_the_side_they_point_to():
    cross = polygon([(0, 0), (10, 2), (20, 0), (18, 10), (20, 20), (10, 18), (0, 20), (2, 10)])
    outside, inside = (round_corners(cross, 1.0, bend=bend) for bend in (Bend.OUTSIDE, Bend.INSIDE))
    assert sorted((corner.x, corner.y) for corner in outside.corners) == [(0, 0), (0, 20), (20, 0), (20, 20)]
    assert sorted((corner.x, corner.y) for corner in inside.corners) == [(2, 10), (10, 2), (10, 18), (18, 10)]
    assert area(outside.path) < area(cross) < area(inside.path)
    turned = round_corners(cross.reversed(), 1.0, bend=Bend.OUTSIDE)
    assert sorted(turned.corners) == sorted(outside.corners)


@pytest.mark.parametrize("rule", list(FillRule))
def test_the_corners_of_a_hole_point_the_other_way(rule):
    frame = rectangle(0.0, 0.0, 30.0, 30.0)
    window = rectangle(10.0, 10.0, 10.0, 10.0)
    window = window.reversed() if rule is FillRule.NONZERO else window
    rounding = round_corners(joined([frame, window]), 2.0, bend=Bend.INSIDE, rule=rule)
    first, second = rounding.path.subpaths()
    assert first == frame
    assert len(second) == 8


def test_open_paths_keep_their_ends():
    path = round_corners(polygon([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)], closed=False), 3.0).path
    np.testing.assert_array_equal(path.points[[0, -1], [0, 3]], [(0.0, 0.0), (10.0, 10.0)])
    assert path.kinds.tolist() == [SegmentKind.LINE, SegmentKind.ARC, SegmentKind.LINE]
    assert not path.closed[0]


def test_what_is_not_shortened_keeps_its_bits():
    before = joined([sail(), circle((50.0, 0.0), 3.0)])
    after = round_corners(before, 1.0, bend=Bend.INSIDE)
    assert after.path is before
    pen = PathBuilder()
    pen.move_to((0.0, 0.0))
    pen.line_to((10.0, 0.0))
    pen.line_to((10.0, 10.0))
    pen.cubic_to((10.0, 15.0), (15.0, 20.0), (20.0, 20.0))
    pen.cubic_to((25.0, 20.0), (30.0, 25.0), (30.0, 30.0))
    before = pen.path()
    after = round_corners(before, 2.0).path
    np.testing.assert_array_equal(after.points[-2:], before.points[-2:])


def test_a_circle_has_no_corners():
    assert round_corners(circle((0.0, 0.0), 5.0), 1.0).path == circle((0.0, 0.0), 5.0)
    assert round_corners(EMPTY, 1.0).path == EMPTY


def test_an_arc_runs_past_a_short_piece_that_goes_on_smoothly():
    pen = PathBuilder()
    pen.move_to((0.0, 0.0))
    for x in (9.0, 9.9, 10.0):
        pen.line_to((x, 0.0))
    pen.line_to((10.0, 10.0))
    rounding = round_corners(pen.path(), 3.0)
    assert rounding.corners[0].radius_mm == 3.0
    assert rounding.path.kinds.tolist() == [SegmentKind.LINE, SegmentKind.ARC, SegmentKind.LINE]
    assert rounding.path.points[0, 3].tolist() == pytest.approx([7.0, 0.0])


def test_a_drop_with_one_corner_is_rounded():
    pen = PathBuilder()
    pen.move_to((0.0, 0.0))
    pen.cubic_to((30.0, 30.0), (-30.0, 30.0), (0.0, 0.0))
    pen.close()
    path = round_corners(pen.path(), 2.0).path
    assert kinks_deg(path).max() < 1e-6
    np.testing.assert_allclose(radii(path), 2.0, rtol=1e-9)


def test_a_side_whose_handle_has_no_length_is_rounded_like_any_other():
    """Its derivative vanishes at the corner; the search once ran into a division of nothing by nothing."""
    pen = PathBuilder()
    pen.move_to((-20.0, 0.0))
    pen.line_to((0.0, 0.0))
    pen.cubic_to((0.0, 0.0), (2.0, 10.0), (10.0, 20.0))
    for radius in (0.5, 3.0, 60.0):
        rounding = round_corners(pen.path(), radius)
        assert rounding.corners[0].radius_mm > 0.0
        assert kinks_deg(rounding.path).max() < 1e-6


def test_an_arc_never_crosses_another_part_of_the_path():
    """A slot reaches almost into the corner that is rounded."""
    sheet = rectangle(0.0, 0.0, 40.0, 40.0)
    slot = polygon([(1.0, 1.0), (1.0, 1.2), (20.0, 20.2), (20.0, 20.0)]).reversed()
    rounding = round_corners(joined([sheet, slot]), 10.0, sharper_than_deg=100.0, bend=Bend.OUTSIDE)
    assert crossings(list(rounding.path.subpaths())) == []
    by_place = {(corner.x, corner.y): corner.radius_mm for corner in rounding.corners}
    assert 1.0 < by_place[0.0, 0.0] < 5.0
    assert by_place[40.0, 40.0] == 10.0


def test_a_line_that_turns_right_back_stays():
    rounding = round_corners(polygon([(0.0, 0.0), (10.0, 0.0), (0.0, 0.0)], closed=False), 1.0)
    assert rounding.corners == ()


def test_repeated_points_do_not_make_corners():
    with_dot = polygon([(0.0, 0.0), (10.0, 0.0), (10.0, 0.0), (10.0, 10.0)], closed=False)
    path = round_corners(with_dot, 2.0).path
    assert path.kinds.tolist() == [SegmentKind.LINE, SegmentKind.ARC, SegmentKind.LINE]


def test_the_radius_must_be_above_nothing():
    with pytest.raises(ValueError, match="above 0 mm"):
        round_corners(sail(), 0.0)


def test_touching_is_exact_at_any_size():
    for scale in (1e-2, 1e3):
        star = [
            (math.cos(a) * r * scale, math.sin(a) * r * scale)
            for a, r in zip(np.arange(10) * math.pi / 5, [9, 4] * 5, strict=True)
        ]
        path = round_corners(polygon(star), 0.5 * scale).path
        assert kinks_deg(path).max() < 1e-6
        np.testing.assert_allclose(radii(path), 0.5 * scale, rtol=1e-9)
