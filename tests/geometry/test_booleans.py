"""What an operator relies on when shapes are merged, cut out and parted."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bladewise.geometry.affine import Affine
from bladewise.geometry.booleans import (
    cut_out,
    fit_inside,
    keep_common,
    merge,
    pieces,
    resolve,
    split_at_overlaps,
    trim_open,
    visible_parts,
)
from bladewise.geometry.curves import segment_areas
from bladewise.geometry.path import EMPTY, Path, PathBuilder, circle, joined, polygon, rectangle
from bladewise.geometry.rebuild import Tally
from bladewise.geometry.regions import FillRule, Region


def area(path: Path) -> float:
    return float(segment_areas(path.points, path.kinds, path.weights).sum())


def lens(radius: float, distance: float) -> float:
    return 2 * radius**2 * math.acos(distance / 2 / radius) - distance / 2 * math.sqrt(4 * radius**2 - distance**2)


ONE, TWO = Region(circle((0.0, 0.0), 10.0)), Region(circle((12.0, 0.0), 10.0))
BOWTIE = polygon([(0, 0), (10, 10), (10, 0), (0, 10)])
STAR = polygon([(10 * math.cos(k * 0.8 * math.pi), 10 * math.sin(k * 0.8 * math.pi)) for k in range(5)])


def test_merged_circles_are_arcs_with_the_area_of_the_lens_taken_once() -> None:
    """Closed form: the lens of two equal circles, any handbook of geometry."""
    merged = merge([ONE, TWO])
    assert len(merged.starts) == 1
    assert set(merged.kinds.tolist()) == {4}
    assert area(merged) == pytest.approx(2 * math.pi * 100 - lens(10, 12), abs=1e-9)


def test_what_is_common_and_what_is_cut_out_make_up_the_subject() -> None:
    common, rest = keep_common([ONE, TWO]), cut_out(ONE, [TWO])
    assert area(common) == pytest.approx(lens(10, 12), abs=1e-9)
    assert area(common) + area(rest) == pytest.approx(math.pi * 100, abs=1e-9)


def test_crossings_lie_on_both_circles() -> None:
    common = keep_common([ONE, TWO])
    ends = common.points[:, 0]
    crossing = ends[np.abs(ends[:, 0] - 6.0) < 1e-3]
    assert np.allclose(np.abs(crossing), [[6.0, 8.0]] * 2, atol=1e-9)


def test_a_shape_that_meets_nothing_comes_back_bit_for_bit() -> None:
    alone = circle((50.0, 3.0), 7.0)
    assert resolve(Region(alone)) == alone
    merged = merge([ONE, TWO, Region(alone)])
    assert any(part == alone for part in merged.subpaths())


def test_segments_that_are_not_cut_keep_their_bits() -> None:
    merged = merge([ONE, TWO])
    sources = {segment.tobytes() for region in (ONE, TWO) for segment in region.path.points}
    untouched = sum(segment.tobytes() in sources for segment in merged.points)
    assert untouched == 4
    assert len(merged) == 8


def test_outer_rings_run_clockwise_on_the_screen_and_holes_the_other_way() -> None:
    ring = cut_out(Region(circle((0, 0), 10).reversed()), [Region(circle((0, 0), 5))])
    outer, hole = ring.subpaths()
    assert area(outer) == pytest.approx(100 * math.pi)
    assert area(hole) == pytest.approx(-25 * math.pi)


def test_fit_inside_keeps_the_part_under_any_of_the_frames() -> None:
    stripe = Region(rectangle(0, 0, 100, 1))
    kept = fit_inside(stripe, [Region(rectangle(10, -5, 10, 10)), Region(rectangle(50, -5, 5, 10))])
    assert area(kept) == pytest.approx(15)
    assert len(pieces(kept)) == 2


def test_visible_parts_never_overlap_and_cover_what_is_painted() -> None:
    regions = [Region(circle((4.0 * k, 1.0 * k), 6.0)) for k in range(6)]
    parts = visible_parts(regions)
    assert sum(area(part) for part in parts) == pytest.approx(area(merge(regions)), abs=1e-6)
    assert parts[-1] == regions[-1].path


def test_split_at_overlaps_names_who_covers_each_piece() -> None:
    split = {piece.members: area(piece.path) for piece in split_at_overlaps([ONE, TWO])}
    assert split.keys() == {(0,), (0, 1), (1,)}
    assert split[0, 1] == pytest.approx(lens(10, 12), abs=1e-9)


def test_a_bow_tie_is_resolved_into_its_two_halves() -> None:
    done = resolve(Region(BOWTIE))
    assert area(done) == pytest.approx(50)
    assert len(pieces(done)) == 2


def test_a_star_keeps_its_middle_under_nonzero_and_loses_it_under_even_odd() -> None:
    full, hollow = resolve(Region(STAR)), resolve(Region(STAR, FillRule.EVEN_ODD))
    inner = 10 * math.cos(2 * math.pi / 5) / math.cos(math.pi / 5)
    pentagon = 2.5 * inner**2 * math.sin(2 * math.pi / 5)
    assert len(full.starts) == 1
    assert len(pieces(hollow)) == 5
    assert area(full) - area(hollow) == pytest.approx(pentagon, abs=1e-9)


def test_fill_rules_decide_about_a_hole_drawn_the_same_way_round() -> None:
    both = joined([circle((0, 0), 10), circle((0, 0), 5)])
    assert area(resolve(Region(both))) == pytest.approx(100 * math.pi)
    assert area(resolve(Region(both, FillRule.EVEN_ODD))) == pytest.approx(75 * math.pi)


def test_pieces_keep_their_own_holes_and_islands_stand_alone() -> None:
    target = joined([circle((0, 0), 10), circle((0, 0), 8).reversed(), circle((0, 0), 4)])
    found = pieces(resolve(Region(target)))
    assert sorted(len(piece.starts) for piece in found) == [1, 2]


def test_a_line_is_parted_where_it_enters_and_leaves() -> None:
    line = polygon([(-20.0, 0.0), (20.0, 0.0)], closed=False)
    inner, outer = trim_open(line, [ONE], inside=True), trim_open(line, [ONE], inside=False)
    assert np.allclose(inner.points[0, [0, 3]], [[-10, 0], [10, 0]])
    assert len(outer.starts) == 2
    assert not inner.closed.any()


def test_a_circle_cut_as_a_line_is_not_broken_at_its_first_node() -> None:
    inner = trim_open(TWO.path, [Region(rectangle(15, -20, 20, 40))], inside=True)
    assert len(inner.starts) == 1


@pytest.mark.parametrize("nothing", [EMPTY, polygon([(0, 0), (5, 5)]), polygon([(1, 1), (1, 1), (1, 1)])])
def test_what_has_no_area_adds_nothing(nothing: Path) -> None:
    empty = Region(nothing)
    assert area(merge([ONE, empty])) == pytest.approx(100 * math.pi)
    assert cut_out(ONE, [empty]) == ONE.path
    assert not keep_common([ONE, empty])
    assert not resolve(empty)
    assert pieces(nothing) == []
    assert visible_parts([empty])[0] == EMPTY


def test_nothing_in_gives_nothing_out() -> None:
    assert merge([]) == EMPTY
    assert keep_common([]) == EMPTY
    assert visible_parts([]) == []
    assert split_at_overlaps([]) == []
    assert trim_open(EMPTY, [ONE], inside=True) == EMPTY


def test_an_open_outline_is_closed_by_a_line_as_painting_does() -> None:
    pen = PathBuilder()
    pen.move_to((0, 0))
    pen.quadratic_to((5, 10), (10, 0))
    done = resolve(Region(pen.path()))
    assert area(done) == pytest.approx(100 / 3)
    assert sorted(done.kinds.tolist()) == [1, 2]


def test_a_number_that_is_not_one_is_refused_with_its_place() -> None:
    with pytest.raises(ValueError, match=r"segment 1 of region 1 .* not a finite number"):
        merge([ONE, Region(polygon([(0, 0), (1, 1), (math.nan, 0)]))])


def test_abutting_rectangles_merge_without_a_hairline() -> None:
    merged = merge([Region(rectangle(0, 0, 5, 5)), Region(rectangle(5, 0, 5, 5))])
    assert len(merged.starts) == 1
    assert area(merged) == pytest.approx(50)


def test_a_curve_folded_on_its_own_line_paints_as_the_line() -> None:
    pen = PathBuilder()
    pen.move_to((0, 0))
    pen.cubic_to((15, 0), (-5, 0), (10, 0))
    pen.line_to((5, 10))
    pen.close()
    done = resolve(Region(pen.path()))
    assert area(done) == pytest.approx(50)
    assert set(done.kinds.tolist()) == {1}


@pytest.mark.parametrize("turn_deg", [1.0, 22.5, 45.0, 89.0])
def test_a_circle_over_itself_with_other_nodes_stays_one_circle(turn_deg: float) -> None:
    same = Region(ONE.path.transformed(Affine.rotated(turn_deg)))
    merged = merge([ONE, same])
    assert len(merged.starts) == 1
    assert area(merged) == pytest.approx(100 * math.pi, abs=1e-9)
    assert not cut_out(ONE, [same])
    assert area(keep_common([ONE, same])) == pytest.approx(100 * math.pi, abs=1e-9)


def test_a_piece_cut_out_and_put_back_leaves_no_trace_of_the_cut() -> None:
    rest, piece = cut_out(ONE, [TWO]), keep_common([ONE, TWO])
    back = merge([Region(rest), Region(piece)])
    assert len(back.starts) == 1
    assert area(back) == pytest.approx(100 * math.pi, abs=1e-9)


@pytest.mark.parametrize("gap_mm", [0.0, 1e-9, 1e-6, 1e-3])
def test_circles_that_touch_or_all_but_touch_do_not_upset_a_merge(gap_mm: float) -> None:
    merged = merge([ONE, Region(circle((20.0 + gap_mm, 0.0), 10.0))])
    assert area(merged) == pytest.approx(200 * math.pi, abs=1e-3)


@pytest.mark.parametrize(("size", "away"), [(1e-3, 0.0), (1e3, 0.0), (1.0, 1e6)])
def test_size_and_place_do_not_matter(size: float, away: float) -> None:
    placed = [Region(region.path.transformed(Affine(size, 0, 0, size, away, away))) for region in (ONE, TWO)]
    tally = Tally()
    merged = merge(placed, tally=tally)
    origin = merged.points[0, 0]
    exact = segment_areas(merged.points - origin, merged.kinds, merged.weights).sum()
    assert float(exact) / size**2 == pytest.approx(2 * math.pi * 100 - lens(10, 12), rel=1e-7)
    assert tally.kept == 0
