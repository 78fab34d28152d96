"""The bench: verbs that fit, numbers refused in place, a ghost before Enter, Escape that changes nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QPushButton

from bladewise import operations
from bladewise.errors import CannotApply
from bladewise.operations import OPERATIONS, ParameterType, Selection
from bladewise.session import Session
from bladewise.window.bench.fields import when_empty
from bladewise.window.bench.selection_field import SelectionField
from bladewise.window.messages import Message
from window.conftest import settle, take_away
from window.person import Key, Person, Shift

if TYPE_CHECKING:
    from PySide6.QtWidgets import QLineEdit


@pytest.fixture
def person(squares, qtbot, monkeypatch) -> Person:
    return Person(squares, qtbot, monkeypatch)


def _on_the_bench(window) -> set[str]:
    return {operation.name for operation in OPERATIONS if window.bench.entry(operation.name) is not None}


def test_with_nothing_selected_the_bench_offers_what_makes_art(squares):
    shapes = {"draw-rectangle", "draw-ellipse", "draw-polygon", "draw-star", "draw-line", "draw-outline"}
    shapes |= {"draw-path", "draw-freehand", "draw-guide"}
    assert shapes | {"set-lettering", "sheet", "ordered-size"} <= _on_the_bench(squares)
    assert squares.bench.findChild(QPushButton, "make-materials") is not None


def test_verbs_for_two_shapes_appear_when_two_are_selected(person):
    window = person.window
    person.clicks_art(20, 20)
    assert "merge" not in _on_the_bench(window)
    assert {"stepped-outline", "cut-line", "move", "scale", "restyle"} <= _on_the_bench(window)
    person.clicks_art(100, 80, Shift)
    assert {"merge", "cut-out", "keep-common", "split-at-overlaps", "fit-inside"} <= _on_the_bench(window)


def test_verbs_for_strokes_groups_and_lettering_appear_only_where_there_are_some(person):
    window = person.window
    window.desk.select_all()
    assert _on_the_bench(window).isdisjoint({"stroke-to-shape", "ungroup", "retype", "lettering-to-shapes"})
    window.desk.do_plain("set-lettering", text="Cup", size_mm=20)
    person.waits()
    assert {"retype", "lettering-to-shapes"} <= _on_the_bench(window)
    window.desk.select_all()
    window.desk.do_plain("group", on="all")
    person.waits()
    assert "ungroup" in _on_the_bench(window)


def test_enter_applies_the_numbers_typed(person):
    person.clicks_art(20, 20)
    person.takes("stepped-outline")
    person.fills(steps="2", distance_mm="5 mm")
    person.waits_for_ghost()
    person.enters()
    outlines = [shape for shape in person.window.desk.job.shapes() if shape.name.startswith("Outline")]
    assert [outline.name for outline in outlines] == ["Outline 10 mm", "Outline 5 mm"]
    assert not person.window.canvas.has_ghost


def test_escape_leaves_and_changes_nothing(person):
    before = person.window.desk.session.history
    person.clicks_art(20, 20)
    person.takes("stepped-outline")
    person.waits_for_ghost()
    person.presses(Key.Key_Escape)
    assert person.window.bench.operation is None
    assert not person.window.canvas.has_ghost
    assert person.window.desk.session.history is before


def test_lengths_are_taken_in_any_unit(person):
    person.clicks_art(20, 20)
    person.takes("stepped-outline")
    person.fills(distance_mm="3/8in")
    person.enters()
    step = person.window.desk.session.history.rows[-1].entry.step
    assert step.record.distance_mm == pytest.approx(9.525)


def test_bare_numbers_are_inches_when_inches_are_shown(person):
    person.clicks(person.window.pane.units.button("in"))
    person.clicks_art(20, 20)
    person.takes("stepped-outline")
    assert person.window.bench.form.fields["distance_mm"].line.text() == "0.1181 in"
    person.fills(distance_mm="0.5")
    person.enters()
    assert person.window.desk.session.history.rows[-1].entry.step.record.distance_mm == pytest.approx(12.7)


@pytest.mark.parametrize(
    ("typed", "reason"),
    [("-3", "“Distance” must be between 0.01 and 500 mm, not -3 mm."), ("wide", "“wide” is not a number.")],
)
def test_a_bad_number_is_refused_in_place_with_the_reason(person, typed, reason):
    window = person.window
    person.clicks_art(20, 20)
    person.takes("stepped-outline")
    person.fills(distance_mm=typed)
    assert reason in window.bench.strip.text.text()
    line = window.bench.form.fields["distance_mm"].line
    assert line.property("wrong") == "true"
    assert not window.bench.apply_button.isEnabled()
    before = window.desk.session.history
    person.presses(Key.Key_Return)
    assert window.desk.session.history is before
    assert window.bench.operation is not None
    person.fills(distance_mm="2")
    assert line.property("wrong") == "false"
    person.enters()


def test_arrow_keys_step_a_number(person, qtbot):
    person.clicks_art(20, 20)
    person.takes("stepped-outline")
    line: QLineEdit = person.window.bench.form.fields["distance_mm"].line
    line.setFocus()
    qtbot.keyClick(line, Key.Key_Up)
    assert line.text() == "4 mm"
    qtbot.keyClick(line, Key.Key_Down, Shift)
    assert line.text() == "3.9 mm"


def test_a_step_that_cannot_be_done_says_why_and_stays_open(person):
    window = person.window
    window.desk.do_plain("draw-rectangle", x_mm=150, y_mm=10, width_mm=5, height_mm=5, name="Far")
    person.waits()
    window.desk.select_all()
    person.takes("keep-common")
    person.presses(Key.Key_Return)
    person.waits()
    assert "nothing in common" in window.bench.strip.text.text()
    assert window.bench.operation is not None


def test_the_cutter_can_be_picked_on_the_canvas(person):
    window = person.window
    person.selects_all()
    person.takes("cut-out")
    person.picks("cutters")
    person.clicks_art(15, 15)
    assert len(window.desk.selection) == 2, "what was selected before is selected again"
    person.enters()
    left, right = window.desk.job.shapes()
    assert left.bounds == pytest.approx((10, 10, 70, 70))
    assert window.desk.session.history.rows[-1].entry.step.record.cutters == Selection.of(left.id)
    assert right.bounds == pytest.approx((50, 30, 110, 90))
    assert len(right.path) > 4


def test_what_acted_on_everything_is_kept_as_all(person):
    person.selects_all()
    person.takes("merge")
    person.enters()
    assert person.window.desk.session.history.rows[-1].entry.step.on.is_all


def test_a_rectangle_is_drawn_by_dragging(make_window, qtbot, monkeypatch):
    person = Person(make_window(Session.new("Sheet", 200, 100)), qtbot, monkeypatch)
    person.takes("draw-rectangle")
    person.drags_art((20, 20), (80, 60))
    (shape,) = person.window.desk.job.shapes()
    assert shape.bounds == pytest.approx((20, 20, 80, 60), abs=0.5)
    assert person.window.desk.selection == {shape.id}


def test_an_outline_is_drawn_by_clicking_points(make_window, qtbot, monkeypatch):
    person = Person(make_window(Session.new("Sheet", 200, 100)), qtbot, monkeypatch)
    person.takes("draw-outline")
    for x, y in ((20, 80), (60, 20), (100, 80)):
        person.clicks_art(x, y)
    person.enters()
    (shape,) = person.window.desk.job.shapes()
    assert shape.path.closed.all()
    assert shape.bounds == pytest.approx((20, 20, 100, 80), abs=0.5)


def test_every_kind_of_parameter_has_a_field_that_gives_back_its_default(squares):
    from bladewise.window.bench.form import StepForm
    from window.conftest import take_away

    kinds = set()
    for operation in OPERATIONS:
        form = StepForm(operation, squares.desk)
        for name, field in form.fields.items():
            default = next(each.default for each in operation.parameters if each.name == name)
            kinds.add(field.parameter.type)
            if default == "" and field.parameter.optional:
                continue
            assert field.read() == default, f"{operation.name}.{name}"
        take_away(form)
    assert kinds == set(ParameterType) - {ParameterType.ART}


def test_delete_needs_no_enter(person):
    person.clicks_art(20, 20)
    person.presses(Key.Key_Delete)
    person.waits()
    assert [shape.name for shape in person.window.desk.job.shapes()] == ["Right"]


def test_reports_of_a_step_are_told(person, qtbot):
    person.window.desk.do_plain("draw-rectangle", x_mm=150, y_mm=10, width_mm=5, height_mm=5)
    person.selects_all()
    person.takes("split-at-overlaps")
    settle(person.window, qtbot)
    assert "pieces" in person.window.bench.strip.text.text()


def test_the_steps_words_come_from_the_declaration(squares):
    squares.desk.select_all()
    button = squares.bench.verb("merge")
    assert button.text() == operations.operation("merge").title
    assert button.toolTip() == operations.operation("merge").help
    assert button.focusPolicy() & Qt.FocusPolicy.TabFocus


def test_a_long_refusal_is_read_whole_and_does_not_begin_with_all(window):
    window.resize(1280, 800)
    what = "The art ends more than 2 mm before the cut line, all along it: a bare margin lies between them."
    hint = "Make the reach as large as the margin, so that the art's edge runs on through it."
    window.desk.tell_error(CannotApply(what, where="all", hint=hint))
    text = window.bench.strip.text
    assert text.text() == f"{what} {hint}"
    assert QLabel.text(text).split() == f"{what} {hint}".split()
    assert "\n" in QLabel.text(text)
    window.desk.tell(Message("Done."))
    assert QLabel.text(text) == "Done."
    assert text.font().pointSizeF() == QApplication.font().pointSizeF()


@pytest.mark.parametrize(
    ("verb", "field", "word"),
    [
        ("bleed", "fill", "goes on from the art"),
        ("job-details", "customer", "as it is"),
        ("stencil", "panel", "The backmost, if it holds all"),
        ("restyle", "cap", "as it is"),
        ("add-tail", "drop_mm", "by itself"),
    ],
)
def test_an_empty_field_says_what_comes_of_it(window, verb, field, word):
    parameter = next(each for each in operations.operation(verb).parameters if each.name == field)
    if parameter.type is operations.ParameterType.SELECTION:
        shown = SelectionField(parameter, window.desk)
        assert shown.combo.itemText(0) == word
        take_away(shown)
    else:
        assert when_empty(parameter) == word
