"""Chords back to curves: what an operator relies on when an imported outline is tidied."""

import math

import numpy as np
import pytest

from bladewise.geometry.affine import Affine
from bladewise.geometry.bernstein import points_on, rational_cubics
from bladewise.geometry.curves import sub_segments
from bladewise.geometry.fitting import fit_polyline, fit_polylines, refit, refit_all
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import area, nearest_each, tangent_at
from bladewise.geometry.path import EMPTY, Path, PathBuilder, SegmentKind, circle, ellipse, joined, polygon, rectangle


def chords(path, tolerance_mm):
    coords = flatten(path, tolerance_mm).coords
    return coords[:-1] if path.closed[0] else coords


def kinds(path):
    return {kind.name: int((path.kinds == kind).sum()) for kind in SegmentKind if (path.kinds == kind).any()}


def kinks_deg(path):
    """Return the turn at each node of a single subpath."""
    index = np.arange(len(path))
    after = (index + 1) % len(path)
    a, b = tangent_at(path, index, np.ones(len(path))), tangent_at(path, after, np.zeros(len(path)))
    turn = np.degrees(np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1)))
    return np.abs(turn if path.closed[0] else turn[:-1])


def farthest(path, points):
    return float(nearest_each(path, points).distances_mm.max())


def cut_up(path, times):
    """Return the same curves with every segment cut in two, over and over."""
    for _ in range(times):
        ends, at = np.ones(len(path)), np.full(len(path), 0.4)
        first, first_weights = sub_segments(path.points, path.kinds, path.weights, ends * 0.0, at)
        second, second_weights = sub_segments(path.points, path.kinds, path.weights, at, ends)
        first[:, 3] = second[:, 0]
        path = Path(
            np.stack([first, second], axis=1).reshape(-1, 4, 2),
            np.repeat(path.kinds, 2),
            np.stack([first_weights, second_weights], axis=1).ravel(),
            path.starts * 2,
            path.closed,
        )
    return path


def wave_with_corner():
    pen = PathBuilder()
    pen.move_to((0.0, 0.0))
    pen.cubic_to((30.0, 0.0), (0.0, 40.0), (40.0, 40.0))
    pen.cubic_to((50.0, 40.0), (50.0, 0.0), (60.0, 0.0))
    pen.line_to((80.0, 0.0))
    pen.cubic_to((85.0, 0.0), (85.0, 20.0), (60.0, 30.0))
    pen.close()
    return pen.path()


# ------------------------------------------------------------------------------------ degenerate


def test_nothing_fits_to_nothing():
    assert fit_polyline(np.zeros((0, 2)), 0.1) == EMPTY
    assert refit(EMPTY, 0.1) == EMPTY


@pytest.mark.parametrize("closed", [True, False])
def test_one_place_however_often_repeated_is_a_dot(closed):
    dot = fit_polyline([(3.0, 4.0)] * 5, 0.1, closed=closed)
    np.testing.assert_array_equal(dot.points, np.full((1, 4, 2), (3.0, 4.0)))
    assert dot.closed[0] == closed


def test_two_places_are_a_line():
    assert fit_polyline([(0.0, 0.0), (5.0, 1.0), (5.0, 1.0)], 0.1) == polygon([(0.0, 0.0), (5.0, 1.0)], closed=False)
    assert len(fit_polyline([(0.0, 0.0), (5.0, 1.0)], 0.1, closed=True)) == 2


@pytest.mark.parametrize("tolerance_mm", [0.0, -1.0, math.nan])
def test_a_tolerance_must_be_above_nothing(tolerance_mm):
    with pytest.raises(ValueError, match="above 0 mm"):
        fit_polyline([(0.0, 0.0), (1.0, 1.0), (2.0, 0.0)], tolerance_mm)
    with pytest.raises(ValueError, match="above 0 mm"):
        refit(circle((0.0, 0.0), 1.0), tolerance_mm)


def test_places_that_are_no_numbers_are_refused():
    with pytest.raises(ValueError, match="finite"):
        fit_polyline([(0.0, 0.0), (math.inf, 1.0), (2.0, 0.0)], 0.1)


def test_a_ring_smaller_than_the_tolerance_still_lies_within_it():
    ring = np.random.default_rng(1).normal(size=(40, 2)) * 0.02
    assert farthest(fit_polyline(ring, 0.1, closed=True), ring) <= 0.1


# ------------------------------------------------------------------------- straights and corners


def test_corners_stay_corners_and_long_chords_stay_lines():
    for sides in (3, 4, 6, 9):
        angle = 2.0 * math.pi * np.arange(sides) / sides
        corners = 10.0 * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        assert fit_polyline(corners, 0.01, closed=True) == polygon(map(tuple, corners))


def test_points_strewn_along_a_square_s_sides_are_not_needed():
    side = np.linspace(0.0, 10.0, 50, endpoint=False)
    zero, full = np.zeros(50), np.full(50, 10.0)
    sides = [(side, zero), (full, side), (10.0 - side, full), (zero, 10.0 - side)]
    square = fit_polyline(np.concatenate([np.stack(each, axis=1) for each in sides]), 0.01, closed=True)
    assert kinds(square) == {"LINE": 4}
    assert area(square) == pytest.approx(100.0, abs=1e-9)


def test_a_corner_between_finely_cut_curves_is_kept():
    path = fit_polyline(chords(wave_with_corner(), 0.0005), 0.01, closed=True)
    corner = np.hypot(*(path.points[:, 0] - (60.0, 30.0)).T)
    assert corner.min() == 0.0
    assert np.sort(kinks_deg(path))[-2] > 40.0  # the two corners of the drawing
    assert np.sort(kinks_deg(path))[-3] < 1e-6  # everything else goes on smoothly


# -------------------------------------------------------------------------------------- circles


@pytest.mark.parametrize("cut_mm", [0.005, 0.0005])
def test_the_chords_of_a_circle_come_back_as_four_arcs(cut_mm):
    disc = fit_polyline(chords(circle((3.0, 4.0), 10.0), cut_mm), 0.01, closed=True)
    assert kinds(disc) == {"ARC": 4}
    assert area(disc) == pytest.approx(100.0 * math.pi, rel=1e-12)


def test_a_circle_run_the_other_way_keeps_its_direction():
    hole = fit_polyline(chords(circle((3.0, 4.0), 10.0).reversed(), 0.005), 0.01, closed=True)
    assert area(hole) == pytest.approx(-100.0 * math.pi, rel=1e-12)


def test_rounded_corners_come_back_as_lines_and_quarter_turns():
    path = fit_polyline(chords(rectangle(0.0, 0.0, 50.0, 30.0, 5.0, 5.0), 0.005), 0.01, closed=True)
    assert kinds(path) == {"LINE": 4, "ARC": 4}
    assert area(path) == pytest.approx(1500.0 - (4.0 - math.pi) * 25.0, rel=1e-6)
    assert kinks_deg(path).max() < 0.1


def test_half_turns_are_two_arcs_each_and_join_smoothly():
    pen = PathBuilder()
    pen.move_to((0.0, 0.0))
    pen.svg_arc_to(10.0, 10.0, 0.0, large=False, sweep=True, point=(20.0, 0.0))
    pen.svg_arc_to(5.0, 5.0, 0.0, large=False, sweep=False, point=(30.0, 0.0))
    path = fit_polyline(chords(pen.path(), 0.002), 0.01)
    assert kinds(path) == {"ARC": 4}
    assert kinks_deg(path).max() < 1.0


@pytest.mark.parametrize("cut_mm", [0.05, 0.005])
@pytest.mark.parametrize("turned_deg", [0.0, 33.0])
def test_the_chords_of_an_ellipse_come_back_as_four_arcs(cut_mm, turned_deg):
    oval = ellipse((3.0, 4.0), 30.0, 10.0).transformed(Affine.rotated(turned_deg))
    path = fit_polyline(chords(oval, cut_mm), 1.5 * cut_mm, closed=True)
    assert kinds(path) == {"ARC": 4}
    assert area(path) == pytest.approx(300.0 * math.pi, rel=1e-9)
    assert farthest(oval, points_on(rational_cubics(path), np.linspace(0, 1, 20)).reshape(-1, 2)) < 1e-7
    assert kinks_deg(path).max() < 1e-6


def test_an_ellipse_run_the_other_way_keeps_its_direction():
    hole = fit_polyline(chords(ellipse((3.0, 4.0), 30.0, 10.0).reversed(), 0.005), 0.01, closed=True)
    assert area(hole) == pytest.approx(-300.0 * math.pi, rel=1e-9)


def test_elliptic_corners_come_back_as_arcs_of_their_ellipse():
    path = fit_polyline(chords(rectangle(0.0, 0.0, 50.0, 30.0, 9.0, 5.0), 0.005), 0.01, closed=True)
    assert kinds(path) == {"LINE": 4, "ARC": 4}
    assert area(path) == pytest.approx(1500.0 - (4.0 - math.pi) * 45.0, rel=1e-9)


def test_an_oval_that_is_no_ellipse_is_not_called_one():
    pen = PathBuilder()
    pen.move_to((0.0, 0.0))
    pen.cubic_to((0.0, 12.0), (30.0, 9.0), (30.0, 0.0))
    pen.cubic_to((30.0, -9.0), (0.0, -12.0), (0.0, 0.0))
    pen.close()
    path = fit_polyline(chords(pen.path(), 0.005), 0.01, closed=True)
    assert "CUBIC" in kinds(path)


@pytest.mark.parametrize("cut_mm", [0.05, 0.005])
def test_lines_and_arcs_of_coarse_chords_touch_without_a_kink(cut_mm):
    """The radius came out 0.2 % off and the joints 0.2° bent where chords were cut to 0.05 mm."""
    drawn = rectangle(0.0, 0.0, 50.0, 30.0, 5.0, 5.0).transformed(Affine.rotated(17.0))
    path = fit_polyline(chords(drawn, cut_mm), 1.5 * cut_mm, closed=True)
    assert kinds(path) == {"LINE": 4, "ARC": 4}
    assert kinks_deg(path).max() < 1e-6
    assert area(path) == pytest.approx(area(drawn), rel=1e-9)


def test_a_bend_on_coarse_chords_does_not_stay_faceted():
    """A cubic that swung out between coarse chords gave way to the chords of the bend: nine turns of 10° to 17°."""
    pen = PathBuilder()
    pen.move_to((7.36, -7.24))
    for control, end in (
        ((7.64, -5.6), (8.28, -4.9)),
        ((8.92, -4.2), (9.96, -4.2)),
        ((11.6, -4.2), (12.84, -5.14)),
        ((14.08, -6.08), (16.0, -8.36)),
    ):
        pen.quadratic_to(control, end)
    path = fit_polyline(chords(pen.path(), 0.05), 0.075)
    assert len(path) == 2
    assert kinks_deg(path).max(initial=0.0) < 1.5


# ---------------------------------------------------------------------------------------- curves


@pytest.mark.parametrize("cut_mm", [0.005, 0.0005])
def test_curves_come_back_smooth_within_the_tolerance_in_few_pieces(cut_mm):
    source = chords(ellipse((0.0, 0.0), 30.0, 10.0), cut_mm)
    path = fit_polyline(source, 0.01, closed=True)
    assert len(path) <= 5
    assert farthest(path, source) <= 0.01
    assert (
        farthest(
            ellipse((0.0, 0.0), 30.0, 10.0), points_on(rational_cubics(path), np.linspace(0, 1, 50)).reshape(-1, 2)
        )
        < 0.01
    )
    assert kinks_deg(path).max() < 0.5


def test_every_node_of_an_exact_polyline_s_curve_is_one_of_its_points():
    s = np.linspace(0.0, 2.0 * math.pi, 300)
    source = np.stack([10.0 * s, 10.0 * np.sin(s)], axis=1)
    path = fit_polyline(source, 0.01)
    np.testing.assert_allclose(
        nearest_each(polygon(map(tuple, source), closed=False), path.points[:, 0]).distances_mm, 0.0, atol=1e-12
    )
    np.testing.assert_array_equal(path.points[[0, -1], [0, 3]], source[[0, -1]])
    assert len(path) <= 4


def test_a_shaky_freehand_line_becomes_a_few_smooth_curves():
    s = np.linspace(0.0, 2.0 * math.pi, 400)
    true = np.stack([10.0 * s, 10.0 * np.sin(s)], axis=1)
    drawn = true + np.random.default_rng(2).normal(size=true.shape) * 0.05
    path = fit_polyline(drawn, 0.2)
    assert len(path) <= 5
    assert farthest(path, drawn) <= 0.2
    assert kinks_deg(path).max(initial=0.0) <= 1.0
    assert farthest(path, true[5:-5]) < 0.15  # the hand is steadier than its tolerance


def test_a_tighter_tolerance_takes_more_pieces():
    s = np.linspace(0.0, 3.0 * math.pi, 600)
    source = np.stack([(1.0 + s) * np.cos(s), (1.0 + s) * np.sin(s)], axis=1)
    counts = [len(fit_polyline(source, tolerance)) for tolerance in (0.5, 0.003)]
    assert counts[0] < counts[1] < 20


def test_many_outlines_at_once_come_back_as_each_alone_within_the_tolerance():
    drawn = [wave_with_corner(), circle((0.0, 0.0), 4.0), rectangle(0.0, 0.0, 9.0, 9.0, 2.0, 2.0)]
    lines = [chords(path, 0.01) for path in drawn]
    together = fit_polylines(lines, 0.015, closed=True)
    for path, line in zip(together, lines, strict=True):
        assert farthest(path, line) <= 0.015
        assert len(path) == len(fit_polyline(line, 0.015, closed=True))


def test_corners_that_are_told_are_the_only_ones():
    square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    dense = np.concatenate(
        [np.linspace(a, b, 40, endpoint=False) for a, b in zip(square, square[1:] + square[:1], strict=True)]
    )
    corners = np.zeros(len(dense), bool)
    corners[[0, 80]] = True
    path = fit_polyline(dense, 0.05, closed=True, corners=corners)
    assert (kinks_deg(path) > 20.0).sum() >= 2
    assert farthest(path, dense) <= 0.05
    assert {(0.0, 0.0), (10.0, 10.0)} <= set(map(tuple, path.points[:, 0].tolist()))


# ----------------------------------------------------------------------------------------- refit


@pytest.mark.parametrize(
    "path", [circle((0.0, 0.0), 10.0), rectangle(0.0, 0.0, 50.0, 30.0, 5.0, 5.0), wave_with_corner()]
)
def test_a_path_that_needs_all_its_nodes_stays_as_it_is(path):
    assert refit(path, 0.01) == path


def test_needless_nodes_go():
    wave = wave_with_corner()
    many = joined([cut_up(wave, 3), cut_up(circle((0.0, 90.0), 5.0), 3), cut_up(rectangle(0, 0, 9, 9, 2, 2), 1), wave])
    path = refit(many, 0.01)
    assert [len(each) for each in path.subpaths()] == [5, 4, 8, 5]
    assert list(path.subpaths())[3] == wave
    assert farthest(path, flatten(many, 0.001).coords) <= 0.01
    np.testing.assert_array_equal(path.closed, many.closed)


def test_corners_of_a_curved_path_stay_where_they_were():
    path = refit(cut_up(wave_with_corner(), 2), 0.01)
    corners = path.points[:, 0][np.roll(kinks_deg(path), 1) > 30.0]
    assert sorted(map(tuple, corners.round(9).tolist())) == [(0.0, 0.0), (60.0, 30.0)]


def test_only_the_stretch_that_has_too_many_nodes_is_fitted_anew():
    wave = wave_with_corner()
    many = cut_up(wave, 2)
    # the first curve as drawn, the rest of the outline in quarters
    mixed = Path(
        np.concatenate([wave.points[:1], many.points[4:]]),
        np.concatenate([wave.kinds[:1], many.kinds[4:]]),
        np.concatenate([wave.weights[:1], many.weights[4:]]),
        wave.starts,
        wave.closed,
    )
    path = refit(mixed, 0.01)
    assert len(path) == 5
    np.testing.assert_array_equal(path.points[0], wave.points[0])
    assert farthest(mixed, points_on(rational_cubics(path), np.linspace(0, 1, 50)).reshape(-1, 2)) <= 0.01


def test_within_a_smooth_run_segments_that_no_other_can_replace_keep_their_bits():
    pen = PathBuilder()
    pen.move_to((0.0, 0.0))
    pen.cubic_to((20.0, 0.0), (20.0, 30.0), (40.0, 30.0))
    pen.cubic_to((60.0, 30.0), (60.0, 0.0), (80.0, 0.0))
    pen.cubic_to((100.0, 0.0), (100.0, 30.0), (120.0, 30.0))
    few = pen.path()
    points, weights = cut_up(few, 2).points, cut_up(few, 2).weights
    mixed = Path(
        np.concatenate([few.points[:1], points[4:8], few.points[2:]]),
        np.full(6, SegmentKind.CUBIC, np.uint8),
        np.concatenate([few.weights[:1], weights[4:8], few.weights[2:]]),
        few.starts,
        few.closed,
    )
    path = refit(mixed, 0.01)
    assert len(path) == 3
    np.testing.assert_array_equal(path.points[[0, 2]], few.points[[0, 2]])


def test_many_paths_at_once_come_back_in_order():
    paths = [cut_up(wave_with_corner(), 2), EMPTY, circle((0.0, 0.0), 3.0), cut_up(circle((0.0, 0.0), 3.0), 2)]
    found = refit_all(paths, 0.01)
    assert [len(path) for path in found] == [5, 0, 4, 4]
    assert found[2] is not None
    assert found[2] == paths[2]
