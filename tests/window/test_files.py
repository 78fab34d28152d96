"""Files through the window: opened, brought in, dropped, saved, saved as pictures; nothing lost without being asked."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QDialog, QFileDialog, QMessageBox

from bladewise.formats import write_job_file
from bladewise.session import Session
from bladewise.window.dialogs import questions
from bladewise.window.dialogs.notes import NotesDialog
from bladewise.window.dialogs.questions import Answer
from window.conftest import DEMO, settle
from window.person import Ctrl, Key, Person

if TYPE_CHECKING:
    from pathlib import Path

ART = '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="40mm" viewBox="0 0 80 40">{}</svg>'
SQUARE = '<rect id="square" x="10" y="10" width="20" height="20" fill="#0072b2"/>'


@pytest.fixture
def person(window, qtbot, monkeypatch) -> Person:
    settle(window, qtbot)
    return Person(window, qtbot, monkeypatch)


@pytest.fixture
def square(tmp_path) -> Path:
    path = tmp_path / "square.svg"
    path.write_text(ART.format(SQUARE))
    return path


def _asked(monkeypatch, answer: Answer) -> list[str]:
    asked: list[str] = []

    def ask(_parent, name):
        asked.append(name)
        return answer

    monkeypatch.setattr("bladewise.window.files.ask_unsaved", ask)
    return asked


def _drop(window, *paths: Path) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    copy, button, none = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    enter = QDragEnterEvent(QPointF(50, 50).toPoint(), copy, data, button, none)
    window.dragEnterEvent(enter)
    assert enter.isAccepted()
    window.dropEvent(QDropEvent(QPointF(50, 50), copy, data, button, none))


def test_artwork_is_opened_and_remembered(person, square):
    person.opens(square)
    assert person.window.windowTitle().startswith("square")
    assert not person.window.isWindowModified()
    assert person.window.preferences.recent == [square]
    assert [action.text() for action in person.window.recent.actions()] == ["square.svg"]


def test_a_recent_file_is_opened_from_the_menu(person, square):
    person.opens(square)
    person.window.files.new()
    assert person.window.desk.job.shapes() == []
    person.window.recent.actions()[0].trigger()
    person.waits()
    assert len(person.window.desk.job.shapes()) == 1


def test_a_file_that_is_no_drawing_is_refused_in_one_sentence(person, tmp_path, qtbot):
    bad = tmp_path / "photo.svg"
    bad.write_bytes(b"\x89PNG\r\n not a drawing")
    person.window.files.open(bad)
    settle(person.window, qtbot)
    assert "photo.svg" in person.window.bench.strip.text.text()
    assert person.window.desk.job.shapes() == []


def test_a_recent_file_that_is_gone_is_forgotten(person, square, qtbot):
    person.opens(square)
    square.unlink()
    person.window.files.open(square)
    settle(person.window, qtbot)
    assert person.window.preferences.recent == []


def test_a_job_is_never_saved_over_the_artwork_it_came_from(person, square, qtbot):
    person.window.files.open(square)
    settle(person.window, qtbot)
    before = square.read_bytes()
    person.window.files.save_to(square)
    settle(person.window, qtbot)
    assert square.read_bytes() == before
    assert "artwork itself" in person.window.bench.strip.text.text()


def test_what_was_not_understood_is_shown_once_and_can_be_read_again(person, tmp_path, qtbot):
    path = tmp_path / "soft.svg"
    path.write_text(
        ART.format(
            '<filter id="f"><feGaussianBlur stdDeviation="2"/></filter>'
            '<rect x="1" y="1" width="9" height="9" filter="url(#f)"/>'
        )
    )
    person.window.files.open(path)
    settle(person.window, qtbot)
    (notes,) = person.window.findChildren(NotesDialog)
    assert notes.isVisible()
    notes.close_button.click()
    assert person.window.actions_["notes"].isEnabled()
    qtbot.wait(10)
    person.window.actions_["notes"].trigger()
    assert person.window.findChildren(NotesDialog)[-1].isVisible()
    person.window.findChildren(NotesDialog)[-1].close()
    person.window.desk.do_plain("rename", name="Soft")
    settle(person.window, qtbot)
    job = person.window.desk.session.save(tmp_path / "soft.job.svg")
    before = len(person.window.findChildren(NotesDialog))
    person.window.files.open(job)
    settle(person.window, qtbot)
    assert person.window.desk.job.notes
    assert len(person.window.findChildren(NotesDialog)) == before, "a job that is opened again does not repeat them"


def test_a_dropped_file_is_opened_on_an_empty_sheet_and_brought_into_a_job(person, square, qtbot):
    _drop(person.window, square)
    settle(person.window, qtbot)
    assert person.window.desk.session.history.rows == ()
    _drop(person.window, square)
    settle(person.window, qtbot)
    assert len(person.window.desk.job.shapes()) == 2
    assert len(person.window.desk.selection) == 1, "what came in is selected"
    assert person.window.isWindowModified()


def test_saving_asks_for_a_name_once_and_opening_brings_all_back(person, square, tmp_path, monkeypatch, qtbot):
    person.opens(square)
    person.selects_all()
    person.window.desk.do_plain("move", on="all", dx_mm=5)
    target = tmp_path / "kept"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", staticmethod(lambda *_args: (str(target), "")))
    person.presses(Key.Key_S, Ctrl)
    qtbot.waitUntil((tmp_path / "kept.svg").is_file)
    assert person.window.files.finish_writing()
    assert not person.window.isWindowModified()
    monkeypatch.setattr(QFileDialog, "getSaveFileName", staticmethod(lambda *_args: pytest.fail("asked again")))
    person.window.desk.do_plain("move", on="all", dx_mm=5)
    assert person.window.isWindowModified()
    person.presses(Key.Key_S, Ctrl)
    assert person.window.files.finish_writing()
    assert square.read_text() == ART.format(SQUARE), "the artwork itself is never written to"
    person.window.files.open(tmp_path / "kept.svg")
    settle(person.window, qtbot)
    assert [row.entry.step.do for row in person.window.desk.session.history.rows] == ["move", "move"]


def test_a_job_that_cannot_be_saved_says_so_and_stays_unsaved(person, square, tmp_path, monkeypatch):
    person.opens(square)
    person.window.desk.do_plain("move", on="all", dx_mm=5)
    nowhere = tmp_path / "none" / "kept.svg"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", staticmethod(lambda *_args: (str(nowhere), "")))
    person.presses(Key.Key_S, Ctrl)
    assert person.window.files.finish_writing()
    assert person.window.isWindowModified()
    assert person.window.bench.strip.text.property("role") == "trouble"


@pytest.mark.parametrize("answer", list(Answer))
def test_closing_with_unsaved_changes_asks(squares, monkeypatch, tmp_path, answer):
    squares.desk.do_plain("move", on="all", dx_mm=5)
    asked = _asked(monkeypatch, answer)
    target = tmp_path / "squares.svg"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", staticmethod(lambda *_args: (str(target), "")))
    closed = squares.close()
    assert asked == ["Squares"]
    assert closed is (answer is not Answer.CANCEL)
    assert target.is_file() is (answer is Answer.SAVE)


def test_closing_without_changes_asks_nothing(squares, monkeypatch):
    asked = _asked(monkeypatch, Answer.CANCEL)
    assert squares.close()
    assert asked == []


@pytest.mark.parametrize(
    ("button", "answer"),
    [
        (QMessageBox.StandardButton.Save, Answer.SAVE),
        (QMessageBox.StandardButton.Discard, Answer.DISCARD),
        (QMessageBox.StandardButton.Cancel, Answer.CANCEL),
    ],
)
def test_the_question_has_three_answers(squares, monkeypatch, button, answer):
    shown = []

    def answer_it(box):
        shown.append(box.text())
        return button.value

    monkeypatch.setattr(QMessageBox, "exec", answer_it)
    assert questions.ask_unsaved(squares, "Cup") is answer
    assert shown == ["“Cup” has changes that are not saved."]


def test_a_picture_of_the_job_is_saved(person, square, tmp_path, monkeypatch):
    person.opens(square)
    target = tmp_path / "look.png"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", staticmethod(lambda *_args: (str(target), "")))
    person.window.actions_["save-picture"].trigger()
    assert person.window.files.finish_writing()
    assert target.read_bytes().startswith(b"\x89PNG")


def test_the_window_goes_on_while_a_file_is_being_written(person, square, tmp_path, monkeypatch, qtbot):
    window = person.window
    person.opens(square)
    window.desk.do_plain("move", on="all", dx_mm=5)
    hold = threading.Event()

    def slow(job_file, path):
        hold.wait(10)
        write_job_file(job_file, path)

    monkeypatch.setattr("bladewise.window.files.write_job_file", slow)
    window.files.save_to(tmp_path / "slow.svg")
    window.desk.do_plain("move", on="all", dx_mm=5)
    assert len(window.desk.session.history.rows) == 2, "a step done meanwhile"
    assert not (tmp_path / "slow.svg").exists()
    hold.set()
    assert window.files.finish_writing()
    assert len(Session.open(tmp_path / "slow.svg").history.rows) == 1
    assert window.isWindowModified(), "the second step is still to be saved"


def test_each_job_is_seen_again_as_it_was_left(person, square, tmp_path, qtbot):
    window = person.window
    other = tmp_path / "other.svg"
    other.write_text(ART.format(SQUARE))
    person.opens(square)
    material = next(iter(window.strip.chips))
    window.canvas.zoom_to_box((12, 12, 18, 18))
    window.canvas.set_view_mode("outline")
    window.desk.filter_material(material)
    left = window.canvas.view
    person.opens(other)
    window.canvas.set_view_mode("fill")
    assert window.canvas.view != left
    assert window.desk.material_filter is None
    person.opens(square)
    assert window.canvas.view.scale == pytest.approx(left.scale)
    assert window.canvas.view.x_mm == pytest.approx(left.x_mm, abs=1.0 / left.scale)
    assert str(window.canvas.view_mode) == "outline"
    assert window.desk.material_filter == material


@pytest.mark.parametrize("damage", ["{", "[]", '{"x": 3}', "null"])
def test_damaged_views_are_passed_over(person, square, damage):
    person.window.preferences.set_text("views", damage)
    person.opens(square)
    assert person.window.canvas.job is person.window.desk.job


def test_long_work_shows_its_progress_and_can_be_stopped(person, qtbot):
    window = person.window
    strip = window.bench.strip

    def work(progress):
        import time

        for step in range(300):
            progress(step / 300)
            time.sleep(0.01)

    window.desk.steps.start(work, lambda _result: None, window.desk.tell_error, title="Merge")
    qtbot.waitUntil(strip.bar.isVisible)
    assert strip.work.text() == "Merge…"
    qtbot.waitUntil(lambda: strip.bar.value() > 0)
    strip.stop.click()
    qtbot.waitUntil(lambda: not strip.bar.isVisible())
    assert strip.text.text() == "Stopped; nothing was changed."


def test_the_window_opens_on_the_demo_with_all_panels_in_step(make_window, qtbot):
    window = make_window(Session.open(DEMO / "mascot.svg"))
    settle(window, qtbot)
    assert len(window.strip.chips) == 5
    assert window.layers.count.text() == "48 shapes"
    assert window.desk.findings
    assert window.readiness.first_stop() is not None
    assert window.canvas.job is window.desk.job


def test_no_dialog_is_left_over_when_the_window_closes(squares):
    squares.show_shortcuts()
    squares.show_about()
    assert all(dialog.isVisible() for dialog in squares.findChildren(QDialog))
    for dialog in squares.findChildren(QDialog):
        dialog.close()
