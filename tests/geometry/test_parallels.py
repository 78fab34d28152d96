"""Parallel outlines as the operator relies on them: exact where exact is possible, clean where things vanish."""

import math

import pytest

from bladewise.geometry.booleans import resolve
from bladewise.geometry.measures import area
from bladewise.geometry.parallels import BATCH, Corner, closed, opened, parallel, parallel_each
from bladewise.geometry.path import EMPTY, PathBuilder, SegmentKind, circle, joined, polygon, rectangle
from bladewise.geometry.regions import FillRule, Region

SQUARE = Region(rectangle(0, 0, 100, 100))
RING = Region(joined([circle((0, 0), 20), circle((0, 0), 10).reversed()]))


def kinds(path):
    return {kind.name: int((path.kinds == kind).sum()) for kind in SegmentKind if (path.kinds == kind).any()}


@pytest.mark.parametrize(
    ("corner", "painted", "segments"),
    [
        (Corner.MITER, 110.0**2, {"LINE": 4}),
        (Corner.ROUND, 100.0**2 + 4 * 500 + math.pi * 25, {"LINE": 4, "ARC": 4}),
        (Corner.BEVEL, 100.0**2 + 4 * 500 + 50, {"LINE": 8}),
    ],
)
def test_corners_outside_take_the_form_asked_for(corner, painted, segments):
    grown = parallel(SQUARE, 5.0, corner=corner)
    assert area(grown) == pytest.approx(painted, abs=1e-9)
    assert kinds(grown) == segments


@pytest.mark.parametrize("corner", list(Corner))
def test_corners_inside_stay_sharp(corner):
    shrunk = parallel(SQUARE, -5.0, corner=corner)
    assert area(shrunk) == pytest.approx(8100.0, abs=1e-9)
    assert kinds(shrunk) == {"LINE": 4}


def test_an_inner_corner_takes_the_form_asked_for_when_shrunk():
    notch = Region(polygon([(0, 0), (20, 0), (20, 10), (10, 10), (10, 20), (0, 20)]))
    strips = 80.0 - 5.0  # along the outline of 80 mm; they overlap by 1 mm² at each of the five outer corners
    for corner, filled in ((Corner.MITER, 1.0), (Corner.BEVEL, 0.5), (Corner.ROUND, math.pi / 4)):
        assert area(parallel(notch, -1.0, corner=corner)) == pytest.approx(300.0 - strips - filled, abs=1e-9)


def test_a_pointed_corner_beyond_the_limit_is_flat():
    spike = Region(polygon([(0, 0), (100, 5), (0, 10)]))
    assert parallel(spike, 1.0, corner=Corner.MITER).bounds()[2] < 102.0
    assert parallel(spike, 1.0, corner=Corner.MITER, miter_limit=50.0).bounds()[2] > 115.0


def test_no_distance_is_the_region_itself():
    assert parallel(SQUARE, 0.0) == resolve(SQUARE)


def test_circles_stay_circles_both_ways():
    for distance in (5.0, -5.0):
        found = parallel(RING, distance)
        assert kinds(found) in ({"ARC": 8}, {})
    assert area(parallel(RING, 3.0)) == pytest.approx(math.pi * (23**2 - 7**2), abs=1e-9)
    assert area(parallel(RING, -3.0)) == pytest.approx(math.pi * (17**2 - 13**2), abs=1e-9)


def test_a_hole_that_closes_up_is_gone():
    assert len(parallel(RING, 12.0).starts) == 1


@pytest.mark.parametrize("distance", [-5.0, -5.001, -50.0])
def test_what_is_too_thin_vanishes_without_a_remainder(distance):
    assert parallel(Region(rectangle(0, 0, 10, 30)), distance) == EMPTY
    assert parallel(Region(circle((0, 0), 5)), distance) == EMPTY


def test_a_waist_parts_into_two_pieces():
    dumbbell = Region(
        polygon(
            [
                (0, 0),
                (10, 0),
                (10, 4),
                (20, 4),
                (20, 0),
                (30, 0),
                (30, 10),
                (20, 10),
                (20, 6),
                (10, 6),
                (10, 10),
                (0, 10),
            ]
        )
    )
    assert len(parallel(dumbbell, -1.5).starts) == 2


def test_shapes_that_grow_into_one_another_merge():
    two = Region(joined([rectangle(0, 0, 10, 10), rectangle(12, 0, 10, 10)]))
    assert len(parallel(two, 0.5).starts) == 2
    assert len(parallel(two, 1.5).starts) == 1


def test_a_self_crossing_outline_grows_as_it_paints():
    bow = polygon([(0, 0), (20, 20), (20, 0), (0, 20)])
    star = Region(joined([circle((0, 0), 10), circle((0, 0), 5)]), FillRule.EVEN_ODD)
    assert area(parallel(Region(bow), 1.0)) > area(resolve(Region(bow)))
    assert area(parallel(star, 1.0)) == pytest.approx(math.pi * (11**2 - 4**2), abs=1e-9)


def test_a_curve_keeps_to_three_segments_a_source_segment():
    pen = PathBuilder()
    pen.move_to((0, 0))
    pen.cubic_to((20, -30), (60, -30), (80, 0))
    pen.cubic_to((60, 10), (20, 30), (0, 0))
    pen.close()
    for distance in (0.25, 2.0, -2.0):
        assert len(parallel(Region(pen.path()), distance)) <= 3 * 2 + 2


def test_an_open_path_counts_with_its_closing_line():
    corner = polygon([(0, 0), (10, 0), (10, 10)], closed=False)
    assert area(parallel(Region(corner), -0.5)) == pytest.approx(
        area(parallel(Region(polygon([(0, 0), (10, 0), (10, 10)])), -0.5)), abs=1e-9
    )


@pytest.mark.parametrize("distance", [float("nan"), float("inf")])
def test_a_distance_must_be_a_number(distance):
    with pytest.raises(ValueError, match="finite"):
        parallel(SQUARE, distance)


@pytest.mark.parametrize("before_tip", [0.0, 0.1])  # the sides touch; the sides cross by a hair
def test_a_tip_whose_sides_touch_or_cross_is_rounded_like_any_other(before_tip):
    for mirror in (1.0, -1.0):
        pen = PathBuilder()
        pen.move_to((before_tip, 0))
        pen.line_to((2.6, -0.1 * mirror))
        pen.quadratic_to((0, 0), (0, 2.3 * mirror))
        pen.close()
        grown = parallel(Region(pen.path()), 0.4)
        assert grown.bounds()[2] == pytest.approx(3.0, abs=0.002)


class TestOpenedAndClosed:
    def test_opening_rounds_what_sticks_out(self):
        assert area(opened(Region(rectangle(0, 0, 10, 10)), 1.0)) == pytest.approx(100 - 4 + math.pi, abs=1e-9)

    def test_opening_removes_a_bridge(self):
        pair = Region(joined([rectangle(0, 0, 10, 10), rectangle(9, 4.5, 12, 1), rectangle(20, 0, 10, 10)]))
        assert len(opened(pair, 1.0).starts) == 2

    def test_closing_fills_a_slot_and_leaves_the_outline(self):
        slot = Region(polygon([(0, 0), (30, 0), (30, 20), (15.5, 20), (15.5, 5), (14.5, 5), (14.5, 20), (0, 20)]))
        filled = closed(slot, 2.0)
        assert filled.bounds() == pytest.approx((0, 0, 30, 20))
        assert area(filled) == pytest.approx(600.0, abs=0.5)

    def test_a_radius_of_nothing_changes_nothing(self):
        assert opened(SQUARE, 0.0) == closed(SQUARE, 0.0) == resolve(SQUARE)


def test_many_regions_drawn_together_come_out_as_each_for_itself():
    """Far apart, touching, one in the hole of another, too small for an inward parallel, and more than one batch."""
    holding = joined([rectangle(0, 0, 90, 90), rectangle(10, 10, 70, 70).reversed()])
    some = [
        holding,
        circle((45, 45), 12),
        polygon([(30, 20), (40, 20), (35, 30)]),
        *(circle((120 + 21 * (n % 20), 12 + 21 * (n // 20)), 10) for n in range(BATCH // 4 + 20)),
        circle((200, 300), 1),
    ]
    for distance in (0.5, 3.0, -2.0):
        together = parallel_each(some, distance)
        assert len(together) == len(some)
        for path, found in zip(some, together, strict=True):
            alone = parallel(Region(path), distance)
            assert len(found.starts) == len(alone.starts)
            assert area(found) == pytest.approx(area(alone), abs=1e-6)
            assert found.bounds() == pytest.approx(alone.bounds(), abs=1e-6)
    assert parallel_each([], 1.0) == []
    assert parallel_each([EMPTY, SQUARE.path], 1.0)[0] == EMPTY
