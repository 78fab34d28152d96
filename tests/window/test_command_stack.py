"""The command stack: every step in words, its numbers changed in place, what follows recomputed."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QFileDialog

from bladewise import operations
from bladewise.recipe import read_recipe
from bladewise.session import Session
from bladewise.window.command_stack.model import _names
from window.conftest import settle
from window.person import Ctrl, Key, Person, Shift


@pytest.fixture
def session() -> Session:
    session = Session.new("Steps", 200, 100)
    session.do("draw-rectangle", x_mm=20, y_mm=20, width_mm=40, height_mm=30, name="Plate")
    session.do("stepped-outline", on="all", steps=1, distance_mm=3.0)
    session.do("move", on="all", dx_mm=10.0)
    session._saved = session.history
    return session


@pytest.fixture
def person(make_window, session, qtbot, monkeypatch) -> Person:
    window = make_window(session)
    settle(window, qtbot)
    return Person(window, qtbot, monkeypatch)


def _place(window, row: int, *, left: bool = False, right: bool = False) -> QPoint:
    rect = window.stack.list.visualRect(window.stack.model.index(row))
    x = rect.left() + 20 if left else rect.right() - 12 if right else rect.left() + 90
    return QPoint(x, rect.top() + 14)


def _click(window, qtbot, row: int, **where: bool) -> None:
    qtbot.mouseClick(window.stack.list.viewport(), Qt.MouseButton.LeftButton, pos=_place(window, row, **where))


def _double(window, qtbot, row: int) -> None:
    _click(window, qtbot, row)
    qtbot.mouseDClick(window.stack.list.viewport(), Qt.MouseButton.LeftButton, pos=_place(window, row))
    qtbot.waitUntil(lambda: window.stack.model.open_row == row)


def _width(window, name: str) -> float:
    box = next(shape.bounds for shape in window.desk.job.shapes() if shape.name.startswith(name))
    return box[2] - box[0]


def test_steps_are_listed_in_words_with_their_numbers(person):
    assert [row.text for row in person.window.stack.model.rows] == [
        "Art as it came",
        "Rectangle, 40 × 30 mm",
        "Stepped outline, 1 × 3 mm outside, round",
        "Move all by 10, 0 mm",
    ]
    assert [row.is_here for row in person.window.stack.model.rows] == [False, False, False, True]


def test_a_click_goes_to_a_point_and_what_comes_after_is_kept(person, qtbot):
    window = person.window
    _click(window, qtbot, 1)
    assert window.desk.session.history.position == 1
    assert len(window.desk.job.shapes()) == 1
    assert [row.is_done for row in window.stack.model.rows] == [True, True, False, False]
    _click(window, qtbot, 3)
    assert len(window.desk.job.shapes()) == 2
    _click(window, qtbot, 0)
    assert window.desk.job.shapes() == []


def test_a_number_is_changed_in_place_and_what_follows_is_recomputed(person, qtbot):
    window = person.window
    _double(window, qtbot, 2)
    assert window.desk.session.history.position == 3, "we stand where we stood"
    editor = window.stack._editor
    person.types(editor.form.fields["distance_mm"].line, "5 mm")
    person.waits_for_ghost()
    qtbot.keyClick(editor.form.fields["distance_mm"].line, Key.Key_Return)
    person.waits()
    assert window.stack.model.rows[2].text == "Stepped outline, 1 × 5 mm outside, round"
    assert _width(window, "Outline") == pytest.approx(50.0)
    plate = next(shape for shape in window.desk.job.shapes() if shape.name == "Plate")
    assert plate.bounds[0] == pytest.approx(30.0), "the move after it was done again"


def test_enter_opens_the_numbers_and_escape_leaves_them(person, qtbot):
    window = person.window
    before = window.desk.session.history
    window.stack.list.setFocus()
    qtbot.keyClick(window.stack.list, Key.Key_Return)
    assert window.stack.model.open_row == 3
    line = window.stack._editor.form.fields["dx_mm"].line
    person.types(line, "99")
    qtbot.keyClick(line, Key.Key_Escape)
    assert window.stack.model.open_row == -1
    assert window.desk.session.history is before
    assert not window.canvas.has_ghost


def test_a_bad_number_is_refused_in_the_stack_too(person, qtbot):
    window = person.window
    window.stack.edit(2)
    line = window.stack._editor.form.fields["steps"].line
    person.types(line, "0")
    assert "“Steps” must be between 1 and 50" in window.bench.strip.text.text()
    assert not window.stack._editor.apply_button.isEnabled()
    before = window.desk.session.history
    qtbot.keyClick(line, Key.Key_Return)
    assert window.desk.session.history is before


def test_a_click_on_the_box_switches_a_step_off_and_on(person, qtbot):
    window = person.window
    _click(window, qtbot, 2, left=True)
    person.waits()
    assert len(window.desk.job.shapes()) == 1
    assert not window.stack.model.rows[2].enabled
    window.stack.list.setCurrentIndex(window.stack.model.index(2))
    qtbot.keyClick(window.stack.list, Key.Key_Space)
    person.waits()
    assert len(window.desk.job.shapes()) == 2


def test_a_step_is_removed_by_its_cross_or_delete(person, qtbot):
    window = person.window
    _click(window, qtbot, 2, right=True)
    person.waits()
    assert [row.text for row in window.stack.model.rows][1:] == ["Rectangle, 40 × 30 mm", "Move all by 10, 0 mm"]
    window.stack.list.setFocus()
    window.stack.list.setCurrentIndex(window.stack.model.index(2))
    qtbot.keyClick(window.stack.list, Key.Key_Delete)
    person.waits()
    assert len(window.stack.model.rows) == 2


def test_delete_in_the_stack_removes_the_step_and_not_what_is_selected(person, qtbot):
    window = person.window
    window.desk.select_all()
    window.stack.list.setFocus()
    window.stack.list.setCurrentIndex(window.stack.model.index(3))
    qtbot.keyClick(window.stack.list, Key.Key_Delete)
    person.waits()
    assert len(window.stack.model.rows) == 3
    assert len(window.desk.job.shapes()) == 2


def test_opening_a_verb_closes_the_open_numbers_and_the_other_way_round(person):
    window = person.window
    window.desk.select_all()
    window.stack.edit(3)
    person.takes("rotate")
    assert window.stack.model.open_row == -1
    window.stack.edit(3)
    assert window.bench.operation is None


def test_a_step_that_fails_says_why_and_the_rest_stands(person, qtbot):
    window = person.window
    _click(window, qtbot, 1, left=True)  # no rectangle: nothing to outline, nothing to move
    person.waits()
    rows = window.stack.model.rows
    assert "Nothing" in rows[2].failure
    assert "Nothing" in window.bench.strip.text.text()
    assert "could not be done" in window.stack.model.index(2).data(Qt.ItemDataRole.AccessibleTextRole)


def test_undo_and_redo_follow_the_keys(person):
    window = person.window
    person.presses(Key.Key_Z, Ctrl)
    assert window.desk.session.history.position == 2
    person.presses(Key.Key_Z, Ctrl | Shift)
    assert window.desk.session.history.position == 3
    assert not window.actions_["redo"].isEnabled()


def test_undo_brings_back_the_stack_as_it_was_before_an_edit(person, qtbot):
    window = person.window
    before = window.desk.session.history
    _click(window, qtbot, 2, left=True)
    person.waits()
    person.presses(Key.Key_Z, Ctrl)
    assert window.desk.session.history is before


def test_what_a_step_acts_on_can_be_changed(person, qtbot):
    window = person.window
    plate = next(shape for shape in window.desk.job.shapes() if shape.name == "Plate")
    window.desk.select([plate.id])
    window.stack.edit(3)
    person.clicks(window.stack._editor.take)
    person.clicks(window.stack._editor.apply_button)
    person.waits()
    outline = next(shape for shape in window.desk.job.shapes() if shape.name.startswith("Outline"))
    assert outline.bounds[0] == pytest.approx(17.0), "the outline was not moved this time"


def test_the_steps_are_saved_as_a_recipe(person, tmp_path, monkeypatch):
    window = person.window
    target = tmp_path / "plate"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", staticmethod(lambda *_args: (str(target), "")))
    person.clicks(window.stack.recipe)
    recipe = read_recipe(tmp_path / "plate.toml")
    assert [step.do for step in recipe.steps] == ["draw-rectangle", "stepped-outline", "move"]


def test_a_saved_job_goes_back_through_steps_that_were_never_computed_here(
    person, qtbot, tmp_path, make_window, session
):
    session.save(tmp_path / "plate.svg")
    window = make_window(Session.open(tmp_path / "plate.svg"))
    settle(window, qtbot)
    assert not window.desk.session.is_modified
    window.desk.undo()
    settle(window, qtbot)
    assert window.desk.session.history.position == 2
    assert next(shape for shape in window.desk.job.shapes() if shape.name == "Plate").bounds[0] == pytest.approx(20.0)


def test_only_numbers_stand_out_not_digits_within_a_name():
    from bladewise.window.command_stack.delegate import numbers_in

    def found(text, *names):
        return [text[start:end] for start, end in numbers_in(text, names)]

    text = "Material of material colour-1c7c7d: Red #e8613c, 0.3 mm, -2 mm, 3 × 4 mm"
    assert found(text) == ["#e8613c", "0.3 mm", "-2 mm", "3 × 4 mm"]
    assert found("Lettering “OPEN 24”, 20 mm") == ["20 mm"]
    assert found("Move layer Layer 2, path-8 by 5, -3 mm", "Layer 2") == ["5", "-3 mm"]


def test_the_names_a_step_acts_on_are_known_to_its_row():
    step = operations.step("move", {"on": {"layer": ["Layer 2"], "name": ["Cup"]}, "dx_mm": 5.0})
    assert _names(step) == ("Layer 2",)
