"""Shapes against shapes.

Areas: the lens of two circles 2r²·acos(d/2r) − (d/2)·√(4r²−d²) (any handbook of geometry).
"""

import math
from dataclasses import replace

import pytest

from bladewise import operations
from bladewise.document import Shape, Stroke, Style
from bladewise.errors import CannotApply
from bladewise.geometry.measures import area
from bladewise.geometry.path import SegmentKind, circle, polygon, rectangle
from pieces import BLUE, ORANGE, job_of, ring_and_bar, shape, two_circles

LENS = 2 * 400 * math.acos(15 / 40) - 7.5 * math.sqrt(4 * 400 - 225)
DISC = math.pi * 400


def done(job, do, /, **values):
    return operations.apply(job, operations.step(do, values))


def areas(job):
    return {each.id: area(each.path) for each in job.shapes()}


def test_merging_two_circles_leaves_one_shape_of_arcs():
    outcome = done(two_circles(), "merge")
    assert areas(outcome.job) == pytest.approx({"right": 2 * DISC - LENS}, abs=1e-6)
    assert set(outcome.job.shapes()[0].path.kinds) == {SegmentKind.ARC}
    assert outcome.made == ("right",)


@pytest.mark.parametrize(("survivor", "colour"), [("topmost", BLUE), ("backmost", ORANGE), ("largest", ORANGE)])
def test_merging_two_colours_keeps_the_one_asked_for(survivor, colour):
    merged = done(ring_and_bar(), "merge", survivor=survivor).job.shapes()
    assert [each.style.fill for each in merged] == [colour]


def test_merging_can_give_the_piece_a_colour_of_its_own():
    merged = done(ring_and_bar(), "merge", fill="#112233").job.shapes()
    assert merged[0].style.fill.hex == "#112233"


def test_merging_by_colour_leaves_the_other_colour_alone():
    job = job_of(
        shape("a", rectangle(0, 0, 10, 10)),
        shape("x", rectangle(5, 5, 10, 10), BLUE),
        shape("b", rectangle(8, 0, 10, 10)),
    )
    outcome = done(job, "merge", by_colour=True)
    assert areas(outcome.job) == pytest.approx({"x": 100.0, "b": 180.0})
    assert outcome.job.element("x") is job.element("x")


def test_merging_pieces_that_do_not_touch_says_so():
    outcome = done(job_of(shape("a", rectangle(0, 0, 1, 1)), shape("b", rectangle(5, 0, 1, 1))), "merge")
    assert "2 pieces" in outcome.reports[0]


def test_the_topmost_cuts_the_others_and_stays():
    outcome = done(ring_and_bar(), "cut-out")
    job = ring_and_bar()
    assert outcome.job.element("bar") is not None
    assert outcome.job.element("bar").path == job.element("bar").path
    assert areas(outcome.job)["disc"] < DISC - 300


def test_a_named_cutter_can_go_when_it_has_cut():
    outcome = done(ring_and_bar(), "cut-out", on=["bar", "disc"], cutters=["disc"], keep_cutter=False)
    assert list(areas(outcome.job)) == ["bar"]


def test_a_shape_wholly_under_the_cutter_is_gone_and_reported():
    job = job_of(shape("small", rectangle(5, 5, 2, 2)), shape("big", rectangle(0, 0, 20, 20)))
    outcome = done(job, "cut-out")
    assert list(areas(outcome.job)) == ["big"]
    assert "nothing of it is left" in outcome.reports[0]


def test_cut_out_and_keep_common_part_the_area():
    common = areas(done(two_circles(), "keep-common").job)["right"]
    rest = areas(done(two_circles(), "cut-out").job)["left"]
    assert common == pytest.approx(LENS, abs=1e-6)
    assert common + rest == pytest.approx(DISC, abs=1e-6)


def test_shapes_with_nothing_in_common_are_left_alone_with_a_reason():
    job = job_of(shape("a", rectangle(0, 0, 1, 1)), shape("b", rectangle(5, 0, 1, 1)))
    with pytest.raises(CannotApply, match="nothing in common") as caught:
        done(job, "keep-common")
    assert caught.value.hint


def test_splitting_gives_every_region_its_own_shape_in_the_colour_that_shows():
    outcome = done(ring_and_bar(), "split-at-overlaps")
    blue = [each for each in outcome.job.shapes() if each.style.fill == BLUE]
    orange = [each for each in outcome.job.shapes() if each.style.fill == ORANGE]
    assert (len(orange), len(blue)) == (2, 3)
    assert sum(areas(outcome.job).values()) == pytest.approx(
        area(operations.apply(ring_and_bar(), operations.step("merge")).job.shapes()[0].path), abs=1e-6
    )


def test_stripes_fit_inside_a_word_and_keep_their_colours():
    stripes = [shape(f"stripe{n}", rectangle(0, 10.0 * n, 100, 5), BLUE if n % 2 else ORANGE) for n in range(6)]
    outcome = done(job_of(*stripes, shape("word", circle((50, 30), 20))), "fit-inside")
    kept = outcome.job.shapes()
    assert [each.style.fill for each in kept] == [BLUE, ORANGE, BLUE, ORANGE]
    assert outcome.job.element("word") is None
    assert "2 shapes lay wholly outside" in outcome.reports[0]


def test_the_frame_can_stay_behind_its_pattern():
    job = job_of(shape("pattern", rectangle(0, 0, 50, 50)), shape("frame", circle((25, 25), 10), BLUE))
    outcome = done(job, "fit-inside", keep_frame=True)
    assert [each.id for each in outcome.job.shapes()] == ["frame", "pattern"]


def test_what_shows_adds_up_to_what_was_painted():
    whole = area(done(ring_and_bar(), "merge").job.shapes()[0].path)
    assert sum(areas(done(ring_and_bar(), "visible-parts").job).values()) == pytest.approx(whole, abs=1e-6)


def test_a_bare_stroke_is_pointed_out_not_guessed_at():
    line = Shape("line", polygon([(0, 0), (10, 0)], closed=False), Style(stroke=Stroke(ORANGE)), name="Leg")
    with pytest.raises(CannotApply, match="only a stroke") as caught:
        done(job_of(shape("a", rectangle(0, 0, 5, 5)), line), "merge")
    assert "Leg" in caught.value.where


def test_a_selection_that_finds_nothing_says_so():
    with pytest.raises(CannotApply, match="Nothing in the job matches"):
        done(two_circles(), "merge", on={"fill": "#123456"})


def test_self_crossing_input_comes_out_as_it_paints():
    bow = polygon([(0, 0), (10, 10), (10, 0), (0, 10)])
    outcome = done(job_of(shape("bow", bow), shape("far", rectangle(50, 50, 1, 1))), "merge")
    assert areas(outcome.job)["far"] == pytest.approx(50.0 + 1.0)


def test_segments_a_merge_does_not_cut_come_back_bit_for_bit():
    job = job_of(shape("a", circle((50, 50), 20)), shape("b", rectangle(60, 45, 30, 10)))
    merged = done(job, "merge").job.shapes()[0].path
    kept = {tuple(map(float, row.ravel())) for row in merged.points}
    left_half = [row for row in job.element("a").path.points if row[:, 0].max() <= 50.0]
    assert len(left_half) == 2
    assert all(
        tuple(map(float, row.ravel())) in kept or tuple(map(float, row[::-1].ravel())) in kept for row in left_half
    )


@pytest.mark.parametrize("do", ["merge", "visible-parts", "split-at-overlaps", "keep-common"])
@pytest.mark.parametrize("on_top", [False, True])
def test_a_frame_without_paint_takes_no_part_where_there_is_art(do, on_top):
    frame = shape("frame", rectangle(0, 0, 200, 200), fill=None)
    art = two_circles().shapes()
    with_frame = done(job_of(*art, frame) if on_top else job_of(frame, *art), do).job
    assert with_frame.element("frame") == frame
    assert [each for each in with_frame.shapes() if each.id != "frame"] == done(two_circles(), do).job.shapes()


def test_shapes_without_paint_are_merged_when_there_are_no_others():
    job = job_of(shape("a", rectangle(0, 0, 10, 10), fill=None), shape("b", rectangle(8, 0, 10, 10), fill=None))
    assert areas(done(job, "merge").job) == pytest.approx({"b": 180.0})


@pytest.mark.parametrize("do", ["merge", "visible-parts", "split-at-overlaps", "keep-common"])
def test_one_shape_and_a_frame_without_paint_are_left_alone(do):
    job = job_of(shape("frame", rectangle(0, 0, 99, 99), fill=None), shape("a", rectangle(8, 0, 10, 10)))
    with pytest.raises(CannotApply, match="no paint") as caught:
        done(job, do)
    assert caught.value.where == "“Frame”"


@pytest.mark.parametrize("do", ["merge", "cut-out", "fit-inside", "visible-parts"])
def test_a_live_stroke_that_follows_the_new_edges_is_pointed_out(do):
    stroked = [replace(each, style=replace(each.style, stroke=Stroke(BLUE, 2.0))) for each in two_circles().shapes()]
    assert any("new edges" in report for report in done(job_of(*stroked), do).reports)
    assert not any("new edges" in report for report in done(two_circles(), do).reports)
