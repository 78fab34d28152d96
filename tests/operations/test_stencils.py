"""A word cut out of a panel, its counters held."""

import math
from dataclasses import replace

import pytest

from bladewise import operations
from bladewise.document import Job, Layer, Lettering, Stroke, Style
from bladewise.errors import CannotApply
from bladewise.geometry.booleans import pieces
from bladewise.geometry.measures import area
from bladewise.geometry.path import circle, joined, rectangle
from bladewise.operations.stencils import stencil_bars
from pieces import BLUE, ORANGE, job_of, shape

RING = joined([circle((100, 100), 20), circle((100, 100), 10).reversed()])


def done(job, /, **values):
    return operations.apply(job, operations.step("stencil", values))


def on_a_panel():
    return job_of(shape("panel", rectangle(50, 50, 100, 100)), shape("o", RING, BLUE))


def test_the_word_is_cut_out_of_the_panel_that_holds_it_and_is_gone():
    outcome = done(on_a_panel())
    (piece,) = outcome.job.shapes()
    assert (piece.id, piece.style.fill) == ("panel", ORANGE)
    assert len(pieces(piece.path)) == 1
    assert outcome.reports[0] == "1 island found, 2 bridges put in."
    assert outcome.made == ("panel",)


def test_the_word_can_stay():
    assert [each.id for each in done(on_a_panel(), keep_word=True).job.shapes()] == ["panel", "o"]


def test_without_a_panel_a_rectangle_is_put_around_the_word():
    outcome = done(job_of(shape("o", RING, BLUE)), margin_mm=10, count=1)
    (piece,) = outcome.job.shapes()
    assert (piece.id, piece.name, piece.style.fill) == ("stencil", "Stencil", BLUE)
    assert piece.path.bounds() == (70.0, 70.0, 130.0, 130.0)
    kept = done(job_of(shape("o", RING, BLUE)), keep_word=True).job
    assert [each.id for each in kept.shapes()] == ["stencil", "o"]


def test_a_panel_that_is_named_need_not_lie_at_the_back_nor_hold_the_word():
    job = job_of(shape("o", RING, BLUE), shape("stripe", rectangle(0, 95, 200, 10)))
    (piece,) = done(job, panel="stripe").job.shapes()
    assert piece.id == "stripe"
    assert area(piece.path) == pytest.approx(2000 - 200 + 60, abs=5)
    assert done(job, panel="stripe").reports[0] == "1 island found, 2 bridges put in."


def test_live_lettering_is_cut_out_as_it_stands():
    word = Lettering("word", "O", "Any", 10.0, Style(fill=BLUE), outline=RING, name="Word")
    job = Job("j", 200, 200, (Layer("l", "L", (shape("panel", rectangle(50, 50, 100, 100)), word)),))
    assert [each.id for each in done(job).job.shapes()] == ["panel"]
    assert not [placed for placed in done(job).job.walk() if isinstance(placed.leaf, Lettering)]


def test_bridges_are_offered_for_dragging_and_taken_back_as_numbers():
    job = on_a_panel()
    step = operations.step("stencil", {"count": 1})
    (bar,) = stencil_bars(job, step.record)
    assert bar.width_mm == 3.0
    assert math.isclose(bar.start[0], bar.end[0])
    dragged = done(job, count=1, bridges_mm=[100.0, 100.0, 125.0, 100.0])
    assert dragged.reports[0] == "1 island found, 1 bridge put in."
    assert len(pieces(dragged.job.shapes()[0].path)) == 1


def test_small_islands_and_panels_in_pieces_are_told():
    tiny = joined([circle((100, 100), 4), circle((100, 100), 1).reversed()])
    job = job_of(shape("panel", rectangle(50, 50, 100, 100)), shape("o", tiny, BLUE))
    assert any("smaller than a bridge" in report for report in done(job).reports)
    bar = job_of(shape("panel", rectangle(50, 50, 100, 100)), shape("bar", rectangle(90, 0, 9, 200), BLUE))
    assert done(bar, panel="panel").reports == (
        "No counter here: nothing has to be held.",
        "The panel is 2 pieces that do not touch.",
    )


def test_an_island_that_cannot_be_held_is_named_with_its_place():
    job = job_of(shape("panel", circle((100, 100), 5)), shape("o", RING, BLUE))
    reports = done(job, panel="panel").reports
    assert "1 island is not held, no straight bridge reaches: at 100, 100 mm." in reports


@pytest.mark.parametrize(
    ("job", "values", "message"),
    [
        (job_of(shape("o", RING, None, Stroke(BLUE, 0.05))), {}, "no area"),
        (on_a_panel(), {"panel": "all"}, "must be one shape; 2 found"),
        (on_a_panel(), {"on": "panel", "panel": "panel"}, "Nothing in the job"),
        (on_a_panel(), {"bridges_mm": [1, 2, 3]}, "four numbers"),
        (job_of(shape("bare", rectangle(0, 0, 9, 9), None), shape("o", RING)), {"panel": "bare"}, "no fill"),
        (job_of(shape("dot", circle((95, 100), 1)), shape("disc", circle((95, 100), 5))), {"panel": "dot"}, "covers"),
    ],
)
def test_what_makes_no_stencil_is_refused_in_words(job, values, message):
    with pytest.raises(CannotApply, match=message):
        done(job, **values)


def test_the_step_is_put_into_words_and_a_panel_of_a_material_keeps_it():
    assert operations.summary(operations.step("stencil")) == "Stencil of all, bridges 3 mm wide at 90°"
    assert operations.summary(operations.step("stencil", {"way": "shortest"})).endswith("the shortest way")
    by_hand = operations.step("stencil", {"bridges_mm": [10, 10, 10, 30]})
    assert operations.summary(by_hand) == "Stencil of all, bridges 3 mm wide at 90°, 1 set by hand"
    job = on_a_panel()
    job = job.replaced({"panel": (replace(job.element("panel"), material="film"),)})
    assert done(job).job.shapes()[0].material == "film"
