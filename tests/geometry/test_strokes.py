"""Strokes as the operator relies on them: the right form, few segments, nothing dropped or doubled."""

import math

import numpy as np
import pytest

from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.geometry.measures import area, contains
from bladewise.geometry.path import EMPTY, PathBuilder, SegmentKind, circle, ellipse, joined, polygon, rectangle
from bladewise.geometry.regions import Region
from bladewise.geometry.strokes import LineCap, LineJoin, StrokeGeometry, stroke_outline, stroke_to_shape

LINE = polygon([(0, 0), (10, 0)], closed=False)


def kinds(path):
    return {kind.name: int((path.kinds == kind).sum()) for kind in SegmentKind if (path.kinds == kind).any()}


def curve(*points, closed=False):
    pen = PathBuilder()
    pen.move_to(points[0])
    for a, b, c in zip(points[1::3], points[2::3], points[3::3], strict=True):
        pen.cubic_to(a, b, c)
    if closed:
        pen.close()
    return pen.path()


@pytest.mark.parametrize(
    ("cap", "painted", "segments"),
    [
        (LineCap.BUTT, 20.0, {"LINE": 4}),
        (LineCap.ROUND, 20.0 + math.pi, {"LINE": 2, "ARC": 4}),
        (LineCap.SQUARE, 24.0, None),
    ],
)
def test_a_line_becomes_a_bar_with_its_caps(cap, painted, segments):
    shape = stroke_to_shape(LINE, StrokeGeometry(2.0, cap))
    assert area(shape) == pytest.approx(painted, abs=1e-9)
    assert segments is None or kinds(shape) == segments


def test_a_ring_stays_arcs():
    shape = stroke_to_shape(circle((3, 4), 10), StrokeGeometry(2.0))
    assert kinds(shape) == {"ARC": 8}
    assert area(shape) == pytest.approx(math.pi * (121 - 81), abs=1e-9)


def test_a_ring_thicker_than_its_radius_has_no_hole():
    shape = stroke_to_shape(circle((0, 0), 10), StrokeGeometry(30.0))
    assert kinds(shape) == {"ARC": 4}
    assert area(shape) == pytest.approx(math.pi * 625, abs=1e-6)


def test_a_square_outline_of_sharp_corners_is_two_squares():
    shape = stroke_to_shape(rectangle(0, 0, 10, 10), StrokeGeometry(2.0))
    assert kinds(shape) == {"LINE": 8}
    assert area(shape) == pytest.approx(144 - 64, abs=1e-9)


@pytest.mark.parametrize(
    ("join", "corner"), [(LineJoin.ROUND, math.pi / 4), (LineJoin.BEVEL, 0.5), (LineJoin.MITER, 1)]
)
def test_each_join_adds_its_own_corner(join, corner):
    bend = polygon([(0, 0), (10, 0), (10, 10)], closed=False)
    shape = stroke_to_shape(bend, StrokeGeometry(2.0, join=join))
    assert area(shape) == pytest.approx(39.0 + corner, abs=1e-9)


def test_a_path_there_and_back_is_painted_once():
    shape = stroke_to_shape(polygon([(0, 0), (10, 0), (0, 0)], closed=False), StrokeGeometry(2.0))
    assert area(shape) == pytest.approx(20.0, abs=1e-9)


def test_a_turn_on_the_spot_gets_a_half_disc_from_a_round_join():
    there_and_back = polygon([(0, 0), (10, 0), (0, 0)], closed=False)
    shape = stroke_to_shape(there_and_back, StrokeGeometry(2.0, join=LineJoin.ROUND))
    assert area(shape) == pytest.approx(20.0 + math.pi / 2, abs=1e-9)


@pytest.mark.parametrize(("cap", "painted"), [(LineCap.BUTT, 0.0), (LineCap.ROUND, math.pi), (LineCap.SQUARE, 4.0)])
def test_a_subpath_of_no_length_is_a_dot_for_caps_that_reach_out(cap, painted):
    pen = PathBuilder()
    pen.move_to((5, 5))
    pen.close()
    assert area(stroke_to_shape(pen.path(), StrokeGeometry(2.0, cap))) == pytest.approx(painted, abs=1e-9)


def test_a_segment_of_no_length_makes_no_corner():
    pen = PathBuilder()
    pen.move_to((0, 0))
    pen.line_to((5, 0))
    pen.line_to((5, 0))
    pen.line_to((10, 0))
    assert stroke_to_shape(pen.path(), StrokeGeometry(2.0)) == stroke_to_shape(LINE, StrokeGeometry(2.0))


def test_a_gentle_curve_keeps_to_few_segments():
    shape = stroke_to_shape(curve((0, 0), (10, 10), (30, 10), (40, 0)), StrokeGeometry(2.0))
    assert kinds(shape)["LINE"] == 2
    assert kinds(shape)["CUBIC"] <= 6


def test_smooth_nodes_leave_no_corner_behind():
    smooth = curve((0, 0), (0, 5), (5, 10), (10, 10), (15, 10), (20, 5), (20, 0))
    shape = stroke_to_shape(smooth, StrokeGeometry(1.0, join=LineJoin.BEVEL))
    assert kinds(shape)["LINE"] == 2


def test_a_cusp_is_rounded_as_the_turn_it_is():
    cusp = curve((0, 0), (30, 30), (0, 30), (30, 0))
    shape = stroke_to_shape(cusp, StrokeGeometry(2.0))
    tip = np.array([[15.0, 22.5 + 0.99], [15.0, 22.5 + 1.01]])
    assert contains(Region(shape), tip).tolist() == [True, False]


def test_a_curve_that_doubles_back_on_a_line_is_painted_to_its_far_end():
    shape = stroke_to_shape(curve((0, 0), (30, 0), (30, 0), (0, 0)), StrokeGeometry(2.0))
    far = 22.5
    assert shape.bounds()[2] == pytest.approx(far + 1.0, abs=1e-6)
    assert area(shape) == pytest.approx(2 * far + math.pi / 2, abs=1e-3)


def test_a_straight_curve_gives_straight_sides():
    ends = [(13.6, -10.0), (-10.0, 29.4)]
    pen = PathBuilder()
    pen.move_to(ends[0])
    pen.quadratic_to(ends[0], ends[1])  # a handle of no length: rounding puts it a hair before the start
    pen.cubic_to(ends[1], (0.1, 29.4), (0.1, 29.4))
    shape = stroke_to_shape(pen.path(), StrokeGeometry(0.4))
    assert kinds(shape) == {"LINE": 6}


def test_a_curve_straight_but_for_rounding_stays_one_cubic_a_side():
    shape = stroke_to_shape(curve((0, 0), (10, 1e-7), (20, -1e-7), (30, 0)), StrokeGeometry(2.0))
    assert len(shape) == 4


def test_nothing_painted_gives_an_empty_path():
    assert stroke_to_shape(LINE, StrokeGeometry(0.0)) == EMPTY
    assert stroke_to_shape(EMPTY, StrokeGeometry(2.0)) == EMPTY
    assert stroke_to_shape(LINE, StrokeGeometry(2.0, pen=Affine(1, 0, 0, 0, 0, 0))) == EMPTY


def test_the_outline_before_resolving_never_counts_a_place_backwards():
    wide = stroke_outline(curve((0, 0), (20, 30), (40, -30), (60, 5)), StrokeGeometry(30.0))
    inside = np.stack(np.meshgrid(np.linspace(-20, 80, 61), np.linspace(-30, 30, 61)), axis=-1).reshape(-1, 2)
    from bladewise.geometry.measures import winding_numbers

    counts = winding_numbers(wide, inside)
    assert counts.min() == 0
    assert counts.max() >= 2


class TestPens:
    def test_an_unevenly_scaled_ring_is_the_ring_scaled(self):
        pen = Affine(3.0, 0.0, 0.0, 0.5, 7.0, -2.0)
        ring = circle((1, 2), 10).transformed(pen)
        shape = stroke_to_shape(ring, StrokeGeometry(2.0, pen=pen))
        assert kinds(shape) == {"ARC": 8}
        assert area(shape) == pytest.approx(math.pi * 40 * 1.5, abs=1e-6)

    def test_a_mirrored_pen_gives_outlines_the_right_way_round(self):
        pen = Affine(-1.0, 0.3, 0.0, 1.0, 0.0, 0.0)
        shape = stroke_to_shape(LINE.transformed(pen), StrokeGeometry(2.0, pen=pen))
        assert area(shape) == pytest.approx(20.0, abs=1e-9)

    def test_a_turned_and_enlarged_pen_counts_width_in_its_own_units(self):
        pen = Affine.rotated(30.0).after(Affine.scaled(2.0))
        shape = stroke_to_shape(LINE.transformed(pen), StrokeGeometry(2.0, LineCap.SQUARE, pen=pen))
        assert area(shape) == pytest.approx(24.0 * 4.0, abs=1e-9)

    def test_a_square_dot_faces_the_way_its_space_does(self):
        pen = PathBuilder()
        pen.move_to((0, 0))
        pen.line_to((0, 0))
        turned = StrokeGeometry(2.0, LineCap.SQUARE, pen=Affine.rotated(45.0))
        shape = stroke_to_shape(pen.path(), turned)
        assert shape.bounds() == pytest.approx((-math.sqrt(2), -math.sqrt(2), math.sqrt(2), math.sqrt(2)))

    @pytest.mark.parametrize("scale", [1e-3, 1e3])
    def test_the_size_of_pen_units_does_not_matter(self, scale):
        bend = curve((0, 0), (10, 10), (30, 10), (40, 0))
        small = StrokeGeometry(2.0 / scale, LineCap.ROUND, pen=Affine.scaled(scale))
        assert area(stroke_to_shape(bend, small)) == pytest.approx(
            area(stroke_to_shape(bend, StrokeGeometry(2.0, LineCap.ROUND))), abs=1e-6
        )


class TestDashes:
    def test_dashes_are_shapes_of_their_own(self):
        shape = stroke_to_shape(LINE, StrokeGeometry(1.0, dash=(2.0, 1.0)))
        assert len(shape.starts) == 4
        assert area(shape) == pytest.approx(2 + 2 + 2 + 1, abs=1e-9)

    @pytest.mark.parametrize(("cap", "one"), [(LineCap.ROUND, math.pi / 4), (LineCap.SQUARE, 1.0)])
    def test_dashes_of_no_length_are_dots(self, cap, one):
        shape = stroke_to_shape(LINE, StrokeGeometry(1.0, cap, dash=(0.0, 4.0)))
        assert area(shape) == pytest.approx(3 * one, abs=1e-9)

    def test_dots_with_blunt_caps_paint_nothing(self):
        assert stroke_to_shape(LINE, StrokeGeometry(1.0, dash=(0.0, 4.0))) == EMPTY

    def test_square_dots_face_along_the_path(self):
        slope = polygon([(0, 0), (10, 10)], closed=False)
        shape = stroke_to_shape(slope, StrokeGeometry(2.0, LineCap.SQUARE, dash=(0.0, 100.0)))
        assert shape.bounds() == pytest.approx((-math.sqrt(2), -math.sqrt(2), math.sqrt(2), math.sqrt(2)))

    def test_overlapping_dashes_merge(self):
        shape = stroke_to_shape(LINE, StrokeGeometry(2.0, LineCap.SQUARE, dash=(2.0, 1.0)))
        assert len(shape.starts) == 1
        assert area(shape) == pytest.approx(24.0, abs=1e-9)

    def test_a_dash_around_the_seam_of_a_closed_path_is_one(self):
        square = rectangle(0, 0, 10, 10)
        shape = stroke_to_shape(square, StrokeGeometry(2.0, dash=(6.0, 4.0), dash_offset=3.0))
        corner = np.array([[-0.9, -0.9]])
        assert contains(Region(shape), corner).all()

    def test_a_pattern_that_never_gaps_leaves_a_closed_path_closed(self):
        ring = circle((0, 0), 10)
        whole = stroke_to_shape(ring, StrokeGeometry(2.0))
        assert area(stroke_to_shape(ring, StrokeGeometry(2.0, dash=(5.0, 0.0)))) == pytest.approx(area(whole), abs=1e-9)

    def test_hopeless_patterns_are_refused_with_a_way_out(self):
        with pytest.raises(CannotApply, match="dash") as refused:
            stroke_to_shape(LINE, StrokeGeometry(1.0, dash=(1e-6, 1e-6)))
        assert refused.value.hint
        with pytest.raises(CannotApply, match="dashes are far shorter"):
            stroke_to_shape(circle((0, 0), 20), StrokeGeometry(10.0, LineCap.ROUND, dash=(0.01, 0.05)))


def test_several_subpaths_are_one_painted_area():
    cross = joined([polygon([(-5, 0), (5, 0)], closed=False), polygon([(0, -5), (0, 5)], closed=False)])
    shape = stroke_to_shape(cross, StrokeGeometry(2.0))
    assert len(shape.starts) == 1
    assert area(shape) == pytest.approx(36.0, abs=1e-9)


def test_an_ellipse_keeps_to_three_segments_an_arc_and_side():
    shape = stroke_to_shape(ellipse((0, 0), 40, 25), StrokeGeometry(2.0))
    assert len(shape) <= 3 * 4 * 2


@pytest.mark.parametrize("place", [1e3, 1e5])
def test_far_from_the_origin_the_stroke_is_the_same(place):
    bend = curve((0, 0), (10, 10), (30, 10), (40, 0))
    moved = Affine.moved(place, -place)
    near, far = (stroke_to_shape(path, StrokeGeometry(3.0)) for path in (bend, bend.transformed(moved)))
    assert len(far) == len(near)
    assert area(far) == pytest.approx(area(near), abs=1e-3)
