"""Edges that shapes have in common, and lines of every kind of cut: what is a fault in one is meant in another.

Limits are common practice, no source.
"""

import dataclasses

import pytest

from bladewise import operations
from bladewise.checks import check
from bladewise.checks.readying import plan
from bladewise.document import PRINT, Colour, CutKind, Job, Layer, Material, MaterialKind, Shape, Stroke, Style
from bladewise.document import cut_line_id as line_id
from bladewise.findings import Severity
from bladewise.geometry.measures import area, length
from bladewise.geometry.path import circle, joined, polygon, rectangle
from pieces import BLUE, ORANGE, job_of, shape

VINYL = Material("v", "White", Colour(255, 255, 255))
ABOUT_MM = 0.05
"""A shared edge is measured within the blade's width, so that at either end a corner of the tolerance belongs to it."""


def line(key, path, width_mm=0.1):
    return Shape(key, path, Style(stroke=Stroke(BLUE, width_mm)), name=key.capitalize())


def of_one_vinyl(*shapes):
    return Job("J", 200, 200, (Layer("l", "L", shapes, material="v"),), (VINYL,))


def cut_as(cut, *shapes, print_of=()):
    material = Material(line_id(cut), "Line", BLUE, cut=cut)
    layers = (Layer("p", "Print", print_of, material="print"), Layer("l", "L", shapes, material=material.id))
    return Job("J", 200, 200, layers if print_of else layers[1:], (PRINT, material))


def rules(job):
    return [finding.rule for finding in check(job)]


def mended(job, finding):
    return operations.apply(job, operations.step(finding.remedy.do, finding.remedy.values)).job


def test_two_of_different_paint_that_share_an_edge_can_cut_it_once_when_asked_to():
    pair = shape("a", rectangle(10, 10, 20, 20)), shape("b", rectangle(30, 10, 20, 20), BLUE)
    (finding,) = check(of_one_vinyl(*pair))
    assert (finding.rule, finding.remedy.do) == ("shared-edge", "cut-edges-once")
    assert finding.measure == pytest.approx(20.0, abs=ABOUT_MM)
    assert not finding.remedy.safe  # the lower one loses its colour in the picture
    fixed = mended(of_one_vinyl(*pair), finding)
    assert sum(length(each.path) for each in fixed.shapes()) == pytest.approx(80 + 60)
    assert check(fixed) == []  # its open ends stop at the cut that goes on for them


def test_a_line_that_shares_an_edge_is_opened_there_unasked():
    job = of_one_vinyl(line("a", rectangle(10, 10, 20, 20)), shape("b", rectangle(30, 10, 20, 20)))
    found = plan(job)
    assert [each.do for each in found.steps] == ["cut-edges-once"]
    assert found.left == ()
    assert sum(length(each.path) for each in found.job.shapes()) == pytest.approx(80 + 60)


def test_three_in_a_row_are_cut_once_at_both_their_edges():
    row = [line(key, rectangle(10 + 20 * n, 10, 20, 20)) for n, key in enumerate("abc")]
    found = plan(of_one_vinyl(*row))
    assert found.left == ()
    assert sum(length(each.path) for each in found.job.shapes()) == pytest.approx(3 * 80 - 2 * 20)


def test_two_vinyls_edge_to_edge_need_each_their_own_edge_and_are_offered_a_trap():
    pair = shape("a", rectangle(10, 10, 20, 20)), shape("b", rectangle(30, 10, 20, 20), BLUE)
    (finding,) = check(job_of(*pair))
    assert (finding.rule, finding.severity) == ("butted-edge", Severity.WASTES)
    assert finding.measure == pytest.approx(20.0, abs=ABOUT_MM)
    assert "each vinyl needs its own edge" in finding.message
    assert not finding.remedy.safe
    fixed = mended(job_of(*pair), finding)
    assert check(fixed) == []
    assert sum(area(each.path) for each in fixed.shapes()) == pytest.approx(2 * 400 + 20 * 0.3, abs=1e-3)


def test_two_vinyls_of_which_one_runs_on_under_the_other_are_as_they_should_be():
    assert rules(job_of(shape("a", rectangle(10, 10, 20, 20)), shape("b", rectangle(29, 5, 20, 30), BLUE))) == []
    assert rules(job_of(shape("a", circle((30, 30), 20)), shape("b", circle((70, 30), 20), BLUE))) == []  # they touch


@pytest.mark.parametrize("beyond", [0.0, 0.01])
def test_a_trap_is_not_offered_again_where_it_ends_at_the_far_side_of_a_narrow_strip(beyond):
    strip = shape("strip", rectangle(30, 10, 0.6, 60), BLUE)
    job = job_of(shape("a", rectangle(10, 10, 20.6 - beyond, 60)), strip)
    (finding,) = (each for each in check(job) if each.rule == "butted-edge")
    assert finding.remedy.do is None
    assert "No trap parts these edges" in finding.remedy.text


def test_across_a_gap_of_a_hair_no_trap_is_offered_for_none_runs_on():
    pair = shape("a", rectangle(10, 10, 20, 20)), shape("b", rectangle(30.015, 10, 20, 20), BLUE)
    (finding,) = check(job_of(*pair))
    assert (finding.rule, finding.remedy.do) == ("butted-edge", None)


def test_the_trap_is_offered_for_those_it_parts_alone():
    job = job_of(
        shape("a", rectangle(10, 10, 20, 20)),
        shape("b", rectangle(30, 10, 20, 20), BLUE),
        shape("c", rectangle(10, 60, 20, 20)),
        shape("d", rectangle(30.015, 60, 20, 20), BLUE),
    )
    (finding,) = check(job)
    assert sorted(finding.shapes) == ["a", "b", "c", "d"]
    assert sorted(finding.remedy.values["on"]["id"]) == ["a", "b"]
    (left,) = check(mended(job, finding))
    assert (left.rule, left.remedy.do) == ("butted-edge", None)


def test_many_places_where_two_vinyls_meet_are_one_finding():
    job = job_of(
        *(shape(f"a{n}", rectangle(10, 10 + 40 * n, 20, 20)) for n in range(3)),
        *(shape(f"b{n}", rectangle(30, 10 + 40 * n, 20, 20), BLUE) for n in range(3)),
    )
    (finding,) = check(job)
    assert (len(finding.places), len(finding.shapes)) == (3, 6)
    assert finding.measure == pytest.approx(60.0, abs=3 * ABOUT_MM)


@pytest.mark.parametrize("cut", [CutKind.PERFORATION, CutKind.CREASE])
def test_perforations_and_creases_may_end_anywhere_and_cross(cut):
    lines = (
        line("a", polygon([(0, 50), (100, 50)], closed=False)),
        line("b", polygon([(50, 0), (50, 99)], closed=False)),
    )
    assert rules(cut_as(cut, *lines)) == []


@pytest.mark.parametrize("cut", [CutKind.KISS, CutKind.THROUGH])
def test_cuts_that_end_in_the_middle_or_cross_are_faults(cut):
    lines = (
        line("a", polygon([(0, 50), (100, 50)], closed=False)),
        line("b", polygon([(50, 0), (50, 99)], closed=False)),
    )
    assert sorted(rules(cut_as(cut, *lines))) == ["crossing", "open-path", "open-path"]


def tabbed(tab_mm):
    """Return a frame of two halves with a tab at the middle of its upper and of its lower side."""
    left, right = 50 - tab_mm / 2, 50 + tab_mm / 2
    return joined([
        polygon([(right, 10), (90, 10), (90, 60), (right, 60)], closed=False),
        polygon([(left, 60), (10, 60), (10, 10), (left, 10)], closed=False),
    ])  # fmt: skip


def test_tabs_of_a_through_cut_are_meant_and_in_a_kiss_cut_they_are_gaps():
    assert rules(cut_as(CutKind.THROUGH, line("a", tabbed(2.0)))) == []
    assert rules(cut_as(CutKind.KISS, line("a", tabbed(2.0)))) == ["open-path"]
    assert rules(cut_as(CutKind.THROUGH, line("a", tabbed(30.0)))) == ["open-path"]  # a hand's breadth is no tab
    half = tabbed(2.0).subpaths()
    assert rules(cut_as(CutKind.THROUGH, line("a", next(iter(half))))) == ["open-path"]


def test_a_slit_from_one_cut_to_another_is_no_open_path_but_one_that_ends_short_of_it_is():
    frame = line("frame", rectangle(10, 10, 80, 80))
    through = line("slit", polygon([(10, 50), (90, 50)], closed=False))
    short = line("slit", polygon([(10, 50), (89, 50)], closed=False))
    assert "open-path" not in rules(cut_as(CutKind.KISS, frame, through))
    assert "open-path" in rules(cut_as(CutKind.KISS, frame, short))


@pytest.mark.parametrize("cut", [CutKind.KISS, CutKind.THROUGH, CutKind.PERFORATION])
def test_a_ring_of_any_cut_too_near_the_edge_of_the_print_is_told_and_bleed_offered(cut):
    print_of = (shape("art", rectangle(20, 20, 60, 60)),)
    (finding,) = check(cut_as(cut, line("ring", rectangle(20.5, 20.5, 59, 59)), print_of=print_of))
    assert (finding.rule, finding.measure, finding.remedy.do) == ("short-bleed", 0.5, "bleed")


@pytest.mark.parametrize("cut", [CutKind.PERFORATION, CutKind.CREASE])
def test_a_fold_or_a_tear_line_across_the_print_is_no_short_bleed(cut):
    across = line("fold", polygon([(10, 50), (90, 50)], closed=False))
    assert rules(cut_as(cut, across, print_of=(shape("art", rectangle(20, 20, 60, 60)),))) == []


def test_a_ring_that_is_creased_sets_no_piece_free_so_none_is_too_small_or_too_narrow():
    small, frame = line("dot", rectangle(50, 50, 1, 0.3)), line("frame", rectangle(10, 10, 90, 90))
    assert rules(cut_as(CutKind.CREASE, small, frame)) == []
    assert sorted(rules(cut_as(CutKind.KISS, small, frame))) == ["narrow-bridge", "small-piece"]


@pytest.mark.parametrize("cut", list(CutKind))
def test_a_cut_line_drawn_wide_becomes_a_hairline_and_not_an_area(cut):
    job = cut_as(cut, line("ring", rectangle(20, 20, 60, 60), width_mm=1.0))
    found = plan(job)
    assert [each.do for each in found.steps] == ["restyle"]
    assert found.left == ()
    assert found.job.shapes()[0].path == job.shapes()[0].path


@pytest.mark.parametrize("kind", [MaterialKind.WHITE, MaterialKind.VARNISH, MaterialKind.PRINT, MaterialKind.GUIDE])
def test_what_is_printed_is_never_held_to_the_rules_of_vinyl(kind):
    faulty = (
        shape("a", rectangle(10, 10, 0.3, 0.3)),
        shape("b", polygon([(20, 20), (60, 60), (60, 20), (20, 60)])),
        shape("c", rectangle(50, 30, 30, 30)),
        dataclasses.replace(shape("d", rectangle(190, 10, 90, 9)), style=Style(ORANGE, opacity=0.5)),
    )
    ink = Material("ink", "Ink", ORANGE, kind)
    vinyl = Layer("v", "V", (shape("good", rectangle(120, 120, 40, 40), BLUE),))
    job = Job("J", 200, 200, (Layer("l", "L", faulty, material="ink"), vinyl), (ink,))
    assert check(job) == []


def test_a_see_through_shape_is_not_merged_unasked_for_it_would_look_another():
    clear = dataclasses.replace(shape("b", circle((65, 50), 20)), style=Style(ORANGE, opacity=0.5))
    job = job_of(shape("a", circle((50, 50), 20)), clear)
    findings = check(job)
    assert [each.rule for each in findings] == ["overlap", "see-through"]
    assert findings[0].remedy.do == "merge"
    assert "see-through" in findings[0].remedy.text
    assert plan(job).steps == ()


def test_a_shape_under_a_see_through_group_counts_as_see_through():
    job = job_of(shape("a", circle((50, 50), 20)), shape("b", circle((65, 50), 20)))
    job = operations.apply(job, operations.step("group", {"on": {"id": ["a", "b"]}})).job
    (group,) = job.layers[0].children
    job = job.replaced({group.id: (dataclasses.replace(group, opacity=0.5),)})
    assert plan(job).steps == ()


def test_what_shows_nothing_at_all_is_deleted_unasked():
    unseen = dataclasses.replace(shape("b", circle((150, 50), 20)), style=Style(ORANGE, opacity=0.0))
    job = job_of(shape("a", circle((50, 50), 20)), unseen)
    (finding,) = check(job)
    assert (finding.rule, finding.shapes) == ("hidden-art", ("b",))
    assert [each.id for each in plan(job).job.shapes()] == ["a"]
