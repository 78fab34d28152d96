"""Make cut-ready proposes what is safe, in order, with reasons; what a person must decide is left alone."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise import operations
from bladewise.checks import Checker, check
from bladewise.checks.readying import mend_all_safe, plan
from bladewise.document import Colour, Lettering, Material, MaterialKind, Shape, Stroke, Style
from bladewise.geometry import booleans
from bladewise.geometry.affine import Affine
from bladewise.geometry.measures import area
from bladewise.geometry.path import circle, ellipse, joined, polygon, rectangle
from bladewise.geometry.regions import Region
from bladewise.history import History
from bladewise.operations import Selection
from pieces import BLUE, ORANGE, job_of, shape, two_circles


def messy():
    """Return a job with a stroke, two overlaps, an outline drawn twice, a stray point, a thin bridge."""
    dot = polygon([(150, 150), (150, 150)], closed=False)
    return job_of(
        shape("left", circle((50, 50), 20), stroke=Stroke(BLUE, 2.0)),
        shape("right", circle((65, 50), 20)),
        shape("twice", circle((65, 50), 20)),
        shape("dotted", joined([rectangle(120, 20, 30, 30), dot])),
        shape("thin", rectangle(20, 150, 100, 0.05)),
    )


def test_the_steps_one_by_one_give_the_job_of_the_plan_and_mend_what_they_say():
    found = plan(messy())
    history = History(messy())
    for proposal in found.proposals:
        assert proposal.findings
        assert proposal.reason.startswith(proposal.findings[0].message)
        history, _ = history.applied(proposal.step)
    assert history.job == found.job
    assert check(found.job) == list(found.left)
    assert not any(finding.remedy.is_safe_step for finding in found.left)
    for _ in found.proposals:
        history = history.at(history.position - 1)
    assert history.job == messy()


def test_what_is_no_shape_yet_comes_first():
    steps = [step.do for step in plan(messy()).steps]
    assert steps[0] == "stroke-to-shape"
    assert {"delete", "drop-stray-points"} <= set(steps)


def test_what_a_person_must_decide_is_left_with_its_finding():
    job = job_of(shape("thin", rectangle(20, 150, 100, 0.05)))
    found = plan(job)
    assert found.job == job
    assert [finding.rule for finding in found.left] == ["narrow-bridge"]
    assert found.steps == ()


def test_only_the_selected_art_is_touched():
    job = job_of(*two_circles().shapes(), shape("c", circle((150, 50), 20)), shape("d", circle((160, 50), 20)))
    found = plan(job, on=Selection(id=("c", "d")))
    assert [step.do for step in found.steps] == ["merge"]
    assert {"left", "right"} <= {each.id for each in found.job.shapes()}
    assert [finding.rule for finding in found.left] == ["overlap"]


def test_nothing_is_proposed_that_would_leave_nothing_to_cut():
    job = job_of(shape("line", polygon([(10, 10), (50, 50), (10, 10)])), width_mm=60, height_mm=60)
    found = plan(job)
    assert len(found.job.shapes()) == 1


def test_many_of_a_kind_are_one_step():
    strokes = [Shape(f"s{n}", circle((30 + 30 * n, 50), 10), Style(stroke=Stroke(BLUE, 2.0))) for n in range(5)]
    found = plan(job_of(*strokes))
    assert [step.do for step in found.steps] == ["stroke-to-shape"]
    assert "4 more like it" in found.proposals[0].reason
    assert mend_all_safe(job_of(*strokes)) == found.steps


def test_merging_hides_nothing_that_lay_on_the_lower_one_and_shows_nothing_that_lay_under_the_upper():
    lower, upper = shape("lower", rectangle(10, 10, 90, 40)), shape("upper", rectangle(80, 10, 90, 40))
    on_lower, under_upper = shape("on", circle((30, 30), 8), BLUE), shape("under", circle((150, 30), 8), BLUE)
    half_under = shape("half", rectangle(160, 20, 20, 10), BLUE)

    def after(*shapes):
        found = plan(job_of(*shapes))
        assert not any(finding.severity == 0 for finding in found.left)
        left = found.job.shapes()
        seen = zip(left, booleans.visible_parts([each.region for each in left]), strict=True)
        total = {ORANGE: 0.0, BLUE: 0.0}
        for each, path in seen:
            total[each.style.fill] += area(path)
        return pytest.approx(total, abs=0.05)

    whole, disc = 160.0 * 40.0, math.pi * 64.0
    assert {ORANGE: whole - disc, BLUE: disc} == after(lower, on_lower, upper)
    assert {ORANGE: whole, BLUE: 0.0} == after(lower, under_upper, upper)
    assert {ORANGE: whole - disc, BLUE: disc + 100.0} == after(lower, on_lower, half_under, upper)


def test_a_merge_that_was_thought_out_before_another_one_moved_its_cover_is_thought_out_again():
    """The hat lies over the face; merged with the hair it goes down to it: the ear must not bring the face up then."""
    face, hair = shape("face", rectangle(20, 30, 60, 60)), shape("hair", rectangle(10, 5, 40, 24), BLUE)
    ear, hat = shape("ear", circle((20, 60), 8)), shape("hat", rectangle(10, 20, 90, 30), BLUE)
    job = job_of(face, hair, ear, hat, shape("on-hair", circle((15, 12), 6), Colour(0, 99, 0)))
    job = job_of(*(job.shapes()[place] for place in (0, 1, 4, 2, 3)))

    def seen(some):
        sizes = {}
        shapes = some.shapes()
        for each, path in zip(shapes, booleans.visible_parts([one.region for one in shapes]), strict=True):
            sizes[each.style.fill] = sizes.get(each.style.fill, 0.0) + area(path)
        return sizes

    assert seen(plan(job).job) == pytest.approx(seen(job), abs=0.05)


def test_make_cut_ready_is_a_step_for_recipes_and_tells_what_it_did():
    outcome = operations.apply(messy(), operations.step("make-cut-ready"))
    assert outcome.job == plan(messy()).job
    assert len(outcome.reports) == len(plan(messy()).proposals) + 1
    assert "to be decided by someone" in outcome.reports[-1]
    again = operations.apply(job_of(shape("a", circle((50, 50), 20))), operations.step("make-cut-ready"))
    assert again.reports == ("There is nothing to mend.",)
    assert not again.changes


places = st.integers(20, 180)
sizes = st.integers(4, 40)


@st.composite
def outlines(draw):
    x, y, size, other = draw(places), draw(places), draw(sizes), draw(sizes)
    kind = draw(st.sampled_from(["circle", "ellipse", "box", "ring", "bow", "open", "dot", "dense"]))
    if kind == "circle":
        return circle((x, y), size)
    if kind == "ellipse":
        return ellipse((x, y), size, other)
    if kind == "box":
        return rectangle(x, y, size, other)
    if kind == "ring":
        return joined([circle((x, y), size), circle((x, y), size / 2)])
    if kind == "bow":
        return polygon([(x, y), (x + size, y + other), (x + size, y), (x, y + other)])
    if kind == "open":
        return polygon([(x, y), (x + size, y + other), (x + size, y)], closed=False)
    if kind == "dense":
        return polygon([(x + step * 0.2, y + (step % 2) * 0.001) for step in range(80)] + [(x + 8, y + other)])
    return joined([rectangle(x, y, size, other), polygon([(x - 9, y), (x - 9, y)])])


@st.composite
def art(draw):
    paths = draw(st.lists(outlines(), min_size=1, max_size=5))
    styles = st.sampled_from(
        [Style(ORANGE), Style(BLUE), Style(stroke=Stroke(ORANGE, 0.05)), Style(ORANGE, stroke=Stroke(BLUE, 1.0))]
    )
    return [Shape(f"s{n}", path, draw(styles), f"S{n}") for n, path in enumerate(paths)]


edits = st.lists(
    st.tuples(st.integers(0, 5), st.sampled_from(["move", "drop", "hide", "recolour", "turn"]), st.integers(-20, 20)),
    min_size=1,
    max_size=4,
)


def edited(job, which, do, amount):
    shapes = job.shapes()
    if not shapes:
        return job
    key = shapes[which % len(shapes)].id
    if do == "move":
        return operations.apply(job, operations.step("move", {"on": {"id": key}, "dx_mm": amount})).job
    if do == "drop":
        return job.without([key])
    if do == "hide":
        return operations.apply(job, operations.step("show", {"on": {"id": key}, "visible": False})).job
    if do == "recolour":
        return operations.apply(job, operations.step("restyle", {"on": {"id": key}, "fill": "#0072b2"})).job
    return operations.apply(job, operations.step("rotate", {"on": {"id": key}, "angle_deg": amount})).job


@settings(max_examples=15)
@given(art(), edits)
def test_a_checker_that_knows_the_job_before_an_edit_finds_what_a_check_from_nothing_finds(shapes, done):
    job = job_of(*shapes)
    checker = Checker()
    assert checker.check(job) == check(job)
    for which, do, amount in done:
        job = edited(job, which, do, amount)
        assert checker.check(job) == check(job)


def test_moving_one_shape_of_many_works_out_little():
    many = [shape(f"s{n}", circle((10 + 12 * (n % 14), 10 + 12 * (n // 14)), 5.9)) for n in range(196)]
    checker = Checker()
    job = job_of(*many)
    checker.check(job)
    first = checker.worked_out
    checker.check(job)
    assert checker.worked_out == 0
    moved = job.replaced({"s40": (job.element("s40").transformed(Affine.moved(0.05, 0.0)),)})
    assert checker.check(moved) == check(moved)
    assert 0 < checker.worked_out < first / 20


def test_live_lettering_becomes_shapes_where_its_font_is_there_and_is_left_where_it_is_not():
    text = Lettering("t", "Open", "No Such Font", 20.0, Style(BLUE), outline=rectangle(60, 60, 40, 10))
    found = plan(job_of(shape("a", circle((30, 30), 10)), text))
    assert found.job.shapes() or found.left


def test_a_check_can_be_broken_off_and_goes_on_from_there():
    class Enough(Exception):
        pass

    told = []

    def stop(fraction):
        told.append(fraction)
        if fraction > 0.4:
            raise Enough

    job, checker = messy(), Checker()
    with pytest.raises(Enough):
        checker.check(job, stop)
    assert told == sorted(told)
    found = checker.check(job, told.append)
    assert found == check(job)
    assert told[-1] == 1.0
    fresh = Checker()
    fresh.check(job)
    assert 0 < checker.worked_out < fresh.worked_out


def test_hairs_left_over_by_trimming_are_dropped_and_bridges_are_left_to_a_person():
    hairy = booleans.merge([Region(circle((50, 50), 20)), Region(rectangle(50, 49.99, 23, 0.02))])
    bone = booleans.merge(
        [Region(circle((50, 150), 20)), Region(circle((100, 150), 20)), Region(rectangle(50, 150, 50, 0.01))]
    )
    found = plan(job_of(shape("hairy", hairy), shape("bone", bone)))
    assert [(step.do, step.on.id) for step in found.steps] == [("drop-hairs", ("hairy",))]
    assert found.job.element("hairy").path.bounds()[2] == pytest.approx(70.0, abs=0.02)
    assert found.job.element("bone").path == bone
    (left,) = found.left
    assert (left.rule, left.shapes, left.remedy.safe) == ("narrow-bridge", ("bone",), False)
    asked = operations.apply(found.job, operations.step(left.remedy.do, dict(left.remedy.values)))
    assert len(asked.job.element("bone").path.starts) == 2
    assert check(asked.job) == []


def but_for_places(findings):
    """Return findings without places: of an overlap any point will do."""
    return [dataclasses.replace(finding, x_mm=0.0, y_mm=0.0, places=()) for finding in findings]


def test_art_that_is_only_moved_is_not_looked_at_again_and_its_findings_move_with_it():
    print_material = Material("print", "Print", ORANGE, kind=MaterialKind.PRINT)
    job = messy()
    art = Shape("art", circle((150, 60), 12), Style(ORANGE, stroke=Stroke(BLUE, 2.0)), material="print")
    line = Shape("line", circle((150, 60), 12.5), Style(stroke=Stroke(BLUE, 0.05)), material="cut-line")
    job = job.with_material(print_material).with_material(Material("cut-line", "Cut line", BLUE))
    job = job.replaced({"dotted": (*job.shapes()[3:4], art, line)})
    checker = Checker()
    before = checker.check(job)
    everything = {"id": [layer.id for layer in job.layers]}
    for dx, dy in ((0.1, 0.7), (1 / 3, -2.2), (7.77, 0.0), (0.01, 0.01)):
        job = operations.apply(job, operations.step("move", {"on": everything, "dx_mm": dx, "dy_mm": dy})).job
        after = checker.check(job)
        assert checker.worked_out == 0
        assert but_for_places(after) == but_for_places(check(job)) == but_for_places(before)
        for one, other in zip(before, after, strict=True):
            places = np.array(one.all_places) + np.array((dx, dy))
            assert np.array(other.all_places) == pytest.approx(places, abs=2e-4)  # rounded to 1e-4 each
        before = after
    job = operations.apply(job, operations.step("move", {"on": {"id": "left"}, "dx_mm": 0.4, "dy_mm": 0.0})).job
    assert but_for_places(checker.check(job)) == but_for_places(check(job))
    assert 0 < checker.worked_out < 12  # what it has to do with its neighbours is another
    job = operations.apply(job, operations.step("rotate", {"on": everything, "angle_deg": 3.0})).job
    assert checker.check(job) == check(job)


@settings(max_examples=8, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 5), st.floats(-9, 9), st.floats(-9, 9)), min_size=1, max_size=4))
def test_whatever_is_moved_the_findings_are_those_of_a_check_from_nothing(moves):
    """Shapes are moved one by one or together; what is known of them goes along."""
    job, checker = messy(), Checker()
    checker.check(job)
    for which, dx, dy in moves:
        on = ("left", "right", "twice", "dotted", "thin", ["left", "right"])[which]
        job = operations.apply(job, operations.step("move", {"on": {"id": on}, "dx_mm": dx, "dy_mm": dy})).job
        assert but_for_places(checker.check(job)) == but_for_places(check(job))
