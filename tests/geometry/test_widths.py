"""What an operator relies on when told that a bridge or a gap is too narrow to cut."""

import math

import numpy as np
import pytest

from bladewise.geometry.affine import Affine
from bladewise.geometry.bernstein import points_on, rational_cubics
from bladewise.geometry.path import EMPTY, PathBuilder, circle, joined, polygon, rectangle
from bladewise.geometry.regions import Region
from bladewise.geometry.widths import narrow_gaps, narrow_widths, narrowest_gap, narrowest_width

BOW_TIE = polygon([(0, 0), (10, 4), (20, 0), (20, 10), (10, 6), (0, 10)])


def hourglass(waist_mm):
    """Return two mirrored cubics that come nearest to each other in their middles."""
    bend = waist_mm / 2.0
    pen = PathBuilder()
    pen.move_to((0.0, -10.0))
    pen.cubic_to((8.0, (10.0 - 4.0 * bend) / 3.0), (12.0, (10.0 - 4.0 * bend) / 3.0), (20.0, -10.0))
    pen.line_to((20.0, 10.0))
    pen.cubic_to((12.0, (4.0 * bend - 10.0) / 3.0), (8.0, (4.0 * bend - 10.0) / 3.0), (0.0, 10.0))
    pen.close()
    return pen.path()


def test_a_neck_between_two_corners_is_measured_from_corner_to_corner():
    (found,) = narrow_widths(BOW_TIE, 3.0)
    assert found.width_mm == 2.0
    assert found.place == (10.0, 5.0)
    assert {found.first.point, found.second.point} == {(10.0, 4.0), (10.0, 6.0)}
    assert narrow_widths(BOW_TIE, 2.0) == []


@pytest.mark.parametrize("waist_mm", [0.001, 0.05, 0.8, 3.0])
def test_a_neck_between_curves_is_measured_on_the_true_curves(waist_mm):
    path = hourglass(waist_mm)
    found = narrowest_width(path)
    assert found.width_mm == pytest.approx(waist_mm, abs=1e-9)
    assert found.place == pytest.approx((10.0, 0.0), abs=1e-6)
    for foot in (found.first, found.second):
        on_curve = points_on(rational_cubics(path)[[foot.segment]], np.array([foot.t]))[0, 0]
        np.testing.assert_allclose(on_curve, foot.point, atol=1e-12)


@pytest.mark.parametrize("turn_deg", [0.0, 17.3, 45.0, 90.0, 200.0])
def test_a_hairline_is_as_wide_as_drawn_however_it_lies(turn_deg):
    hairline = rectangle(0.0, 0.0, 300.0, 0.4).transformed(Affine.rotated(turn_deg))
    (found,) = narrow_widths(hairline, 1.0)
    assert found.width_mm == pytest.approx(0.4, abs=1e-12)


def test_a_ring_set_off_centre_is_narrowest_on_one_side():
    ring = joined([circle((0.0, 0.0), 10.0), circle((1.5, 0.0), 8.0).reversed()])
    found = narrowest_width(ring)
    assert found.width_mm == pytest.approx(0.5, abs=1e-12)
    assert found.place == pytest.approx((9.75, 0.0), abs=1e-9)


def test_a_dot_is_as_wide_as_its_diameter_and_told_once():
    (found,) = narrow_widths(circle((3.0, 4.0), 0.2), 1.0)
    assert found.width_mm == pytest.approx(0.4, abs=1e-12)
    assert found.place == pytest.approx((3.0, 4.0), abs=1e-9)


@pytest.mark.parametrize(
    "tip",
    [
        polygon([(0, 0), (1, 0), (0.5, 0.8)]),
        polygon([(0, 0), (50, 4), (0, 8)]),
        polygon([(10 * math.cos(a) * r, 10 * math.sin(a) * r) for k in range(10)
                 for a, r in [(k * math.pi / 5, 1.0 if k % 2 else 0.75)]]),
    ],
    ids=["triangle", "needle of nine degrees", "flat star"],
)  # fmt: skip
def test_a_tip_has_no_width(tip):
    assert narrow_widths(tip, 0.5) == []


def test_a_needle_too_slender_to_close_still_has_no_width_at_its_tip():
    assert narrow_widths(polygon([(0, 0), (100, 1), (0, 2)]), 1.0) == []


def test_a_strip_that_tapers_is_told_where_it_ends():
    strip = polygon([(0, 0), (20, 0.1), (20, 0.4), (0, 0.5)])
    (found,) = narrow_widths(strip, 1.0)
    assert 0.3 <= found.width_mm < 0.303
    assert found.place[0] > 19.7


def test_a_strip_with_round_ends_counts_though_its_sides_are_not_quite_parallel():
    pen = PathBuilder()
    pen.move_to((0.0, 0.0))
    pen.line_to((20.0, 0.002))
    pen.svg_arc_to(0.149, 0.149, 0.0, large=False, sweep=True, point=(20.0, 0.3))
    pen.line_to((0.0, 0.302))
    pen.svg_arc_to(0.151, 0.151, 0.0, large=False, sweep=True, point=(0.0, 0.0))
    pen.close()
    (found,) = narrow_widths(pen.path(), 0.5)
    assert found.width_mm == pytest.approx(0.298, abs=1e-3)


def test_a_hole_in_a_strip_leaves_two_bridges_beside_it():
    plate = joined([rectangle(0.0, 0.0, 100.0, 4.0), circle((50.0, 2.2), 1.5).reversed()])
    found = narrow_widths(plate, 1.0)
    assert [round(one.width_mm, 9) for one in found] == [0.3, 0.7]
    assert narrow_widths(plate, 4.5)[2].width_mm == pytest.approx(4.0, abs=1e-9)


def test_a_letter_s_bar_meets_its_stem_in_no_narrow_place():
    found = narrowest_width(polygon([(0, 0), (10, 0), (10, 3), (2, 3), (2, 10), (0, 10)]))
    assert found.width_mm == pytest.approx(2.0, abs=1e-9)


def test_a_gap_between_parts_an_inlet_and_a_hole_are_gaps():
    parts = joined([circle((0.0, 0.0), 10.0), circle((20.3, 0.0), 10.0)])
    assert narrowest_gap(parts).width_mm == pytest.approx(0.3, abs=1e-12)
    comb = polygon([(0, 0), (10, 0), (10, 10), (5.4, 10), (5.4, 2), (5, 2), (5, 10), (0, 10)])
    assert narrowest_gap(comb).width_mm == pytest.approx(0.4, abs=1e-12)
    punched = joined([circle((0.0, 0.0), 10.0), circle((1.0, 0.0), 0.3).reversed()])
    assert narrowest_gap(punched).width_mm == pytest.approx(0.6, abs=1e-12)
    assert narrow_gaps(punched, 0.6) == []


def test_one_convex_part_has_no_gap():
    assert narrowest_gap(circle((0.0, 0.0), 3.0)) is None


def test_nothing_has_no_width():
    assert narrowest_width(EMPTY) is None
    assert narrow_widths([], 1.0) == []
    assert narrow_widths(BOW_TIE, 0.0) == []
    assert narrow_widths(polygon([(0, 0), (5, 0), (5, 0.1)], closed=False), 1.0) == []


def test_several_shapes_are_measured_each_for_itself():
    shapes = [rectangle(0.0, 0.0, 10.0, 10.0), BOW_TIE, rectangle(9.9, 0.0, 10.0, 10.0), rectangle(0.0, 0.0, 5.0, 0.2)]
    found = narrow_widths(shapes, 3.0)
    assert [(one.area, round(one.width_mm, 12)) for one in found] == [(3, 0.2), (1, 2.0)]
    assert found[1].first.segment < len(BOW_TIE)


def test_a_region_is_measured_as_it_paints():
    crossing = Region(joined([rectangle(0.0, 4.0, 20.0, 0.5), rectangle(8.0, 0.0, 4.0, 10.0)]))
    found = narrow_widths(crossing, 1.0)
    assert [round(one.width_mm, 9) for one in found] == [0.5, 0.5]
    assert sorted(one.place[0] < 8.0 for one in found) == [False, True]


def test_a_touch_is_no_width():
    touching = joined([circle((0.0, 0.0), 10.0), circle((5.0, 0.0), 5.0).reversed()])
    assert all(one.width_mm > 1e-3 for one in narrow_widths(touching, 5.0))
