"""Marks by which the layers line up: the same in every vinyl, outside the art."""

from dataclasses import replace

import pytest

from bladewise import checks, operations
from bladewise.document import Job, Layer, Material, MaterialKind
from bladewise.errors import CannotApply
from bladewise.geometry.measures import area
from bladewise.geometry.path import rectangle
from bladewise.operations.marking import MarkKind, is_mark, mark_outline, spots_beside
from pieces import BLUE, job_of, ring_and_bar, shape


def done(job, /, **values):
    return operations.apply(job, operations.step("registration-marks", values))


def marks_by_material(job):
    found = {}
    for placed in job.walk():
        if is_mark(placed.leaf):
            found.setdefault(job.material_of(placed).id, []).append(placed.leaf)
    return found


def separated():
    return operations.apply(ring_and_bar(), operations.step("separate-colours")).job


@pytest.mark.parametrize("count", [2, 3, 4])
def test_every_vinyl_gets_the_same_marks_at_the_same_places_on_its_own_layer(count):
    outcome = done(separated(), marks=count)
    found = marks_by_material(outcome.job)
    assert set(found) == {"colour-e69f00", "colour-0072b2"}
    one, other = found.values()
    assert [mark.path for mark in one] == [mark.path for mark in other]
    assert len(one) == count
    assert [sum(is_mark(each) for each in layer.children) for layer in outcome.job.layers] == [count, count]
    assert outcome.reports == (f"{count} marks in each of 2 vinyls, at the same places.",)


def test_marks_stand_off_the_art_and_cross_nothing():
    job = done(separated(), gap_mm=4, size_mm=6).job
    art = [each.bounds for each in job.shapes() if not is_mark(each)]
    left, right = min(box[0] for box in art), max(box[2] for box in art)
    for mark in filter(is_mark, job.shapes()):
        x0, _, x1, _ = mark.bounds
        assert x1 == pytest.approx(left - 4) or x0 == pytest.approx(right + 4)


@pytest.mark.parametrize(("kind", "wanted"), [("cross", 2 * 6 * 1.2 - 1.2**2), ("square", 36.0), ("round", 28.2743)])
def test_a_mark_is_one_closed_outline(kind, wanted):
    path = mark_outline(MarkKind(kind), (10.0, 10.0), 3.0)
    assert len(path.starts) == 1
    assert area(path) == pytest.approx(wanted, abs=1e-3)
    assert path.bounds() == pytest.approx((7.0, 7.0, 13.0, 13.0))


def test_done_again_the_marks_are_exchanged_not_added():
    once = done(separated()).job
    again = done(once, kind="square", marks=2).job
    assert sum(is_mark(each) for each in again.shapes()) == 4
    assert done(once).job.shapes() == once.shapes()


def test_marks_over_the_edge_of_the_sheet_are_told():
    reports = done(job_of(shape("all", rectangle(0, 0, 200, 200)))).reports
    assert reports[-1] == "They stand over the edge of the sheet by 13 mm: make the sheet larger."


def test_marks_stand_at_foot_and_head_and_keep_apart_beside_flat_art():
    assert [each[:2] for each in spots_beside((0.0, 0.0, 100.0, 50.0), 8.0, 5.0, 3)] == [
        (-9.0, 46.0),
        (109.0, 46.0),
        (-9.0, 4.0),
    ]
    assert {each.y for each in spots_beside((0.0, 0.0, 100.0, 2.0), 8.0, 5.0, 4)} == {7.5, -5.5}


def test_guides_and_print_get_no_marks():
    guide = Material("guide", "Guide", BLUE, MaterialKind.GUIDE)
    job = replace(ring_and_bar(), materials=(guide,))
    job = job.replaced({"bar": (replace(job.element("bar"), material="guide"),)})
    assert set(marks_by_material(done(job).job)) == {"colour-e69f00"}
    only = Job("j", 9, 9, (Layer("l", "L", (shape("a", rectangle(0, 0, 5, 5)),), material="guide"),), (guide,))
    with pytest.raises(CannotApply, match="cut from a vinyl"):
        done(only)
    with pytest.raises(CannotApply, match="Nothing in the job"):
        done(job, on={"name": "Nobody"})
    assert operations.summary(operations.step("registration-marks")).endswith("3 of 8 mm in each vinyl")


def test_marks_that_lie_on_each_other_are_no_findings():
    job = done(separated()).job
    ids = {each.id for each in job.shapes() if is_mark(each)}
    assert [each for each in checks.check(job) if ids & set(each.shapes)] == []
