"""The whole way from art to cut files without a mouse: bring in art, merge, stepped outline, check, export."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QFileDialog, QLineEdit

from bladewise.formats.destinations import FORMATS
from bladewise.window.bench.fields import TypedField
from bladewise.window.hand_off.papers import PapersDialog
from bladewise.window.hand_off.screen import HandOff
from bladewise.window.palette import Palette
from bladewise.window.readiness.row import FindingRow
from window.conftest import DEMO, settle

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget
    from pytestqt.qtbot import QtBot

    from bladewise.window.main_window import MainWindow

Key = Qt.Key
Ctrl = Qt.KeyboardModifier.ControlModifier
Shift = Qt.KeyboardModifier.ShiftModifier

ART = """<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 200 100">
<g fill="#cc3311"><path id="P" d="M20 20h20v60H20z"/><path id="u" d="M35 40h40v20H35z"/></g>
<path id="tail" d="M20 90h120" fill="none" stroke="#cc3311" stroke-width="4"/></svg>"""


class Keyboard:
    """Somebody who only presses keys, wherever the focus is."""

    def __init__(self, window: MainWindow, qtbot: QtBot) -> None:
        self.window = window
        self._bot = qtbot

    @property
    def focus(self) -> QWidget:
        focus = QApplication.focusWidget()
        assert focus is not None
        return focus

    def press(self, key: Key, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        self._bot.keyClick(self.focus, key, held)

    def type(self, text: str) -> None:
        assert isinstance(self.focus, QLineEdit)
        self._bot.keyClicks(self.focus, text)

    def tab_to(self, wanted: QWidget, most: int = 60) -> None:
        for _ in range(most):
            if self.focus is wanted:
                return
            self.press(Key.Key_Tab)
        pytest.fail(f"Tab never comes to {wanted}")

    def rest(self) -> None:
        settle(self.window, self._bot)

    def find(self, words: str) -> None:
        """Ctrl+K, some words, Enter."""
        self.press(Key.Key_K, Ctrl)
        palettes = self.window.findChildren(Palette)
        assert palettes
        self.type(words)
        self.press(Key.Key_Return)


@pytest.fixture
def keyboard(window, qtbot) -> Keyboard:
    settle(window, qtbot)
    return Keyboard(window, qtbot)


def test_from_art_to_cut_files_without_a_mouse(keyboard, tmp_path, monkeypatch, qtbot):
    window, desk = keyboard.window, keyboard.window.desk
    art = tmp_path / "puddle.svg"
    art.write_text(ART)
    monkeypatch.setattr(QFileDialog, "getOpenFileName", staticmethod(lambda *_args: (str(art), "")))
    keyboard.press(Key.Key_B, Ctrl)
    keyboard.rest()
    assert len(desk.job.shapes()) == 3

    # the first two shapes are taken one after the other in the layers, then merged
    while keyboard.focus is not window.layers.tree:
        keyboard.press(Key.Key_F6)
    keyboard.press(Key.Key_Home)
    for _ in range(10):
        index = window.layers.tree.currentIndex()
        if index.data() == "u":
            break
        keyboard.press(Key.Key_Down)
    keyboard.press(Key.Key_Down, Shift)
    assert len(desk.selection) == 2
    keyboard.find("merge")
    assert window.bench.operation is not None
    keyboard.press(Key.Key_Return)
    keyboard.rest()
    assert len(desk.job.shapes()) == 2

    keyboard.find("stepped outline")
    assert window.bench.form is not None
    distance = window.bench.form.fields["distance_mm"]
    assert isinstance(distance, TypedField)
    keyboard.tab_to(distance.line)
    distance.line.selectAll()
    keyboard.type("far")
    assert not window.bench.apply_button.isEnabled()
    assert "is not a number" in window.bench.strip.text.text()
    distance.line.selectAll()
    keyboard.type("=1/4in*2")
    keyboard.press(Key.Key_Return)
    keyboard.rest()
    step = desk.session.history.rows[-1].entry.step
    assert step.do == "stepped-outline"
    assert step.record.distance_mm == pytest.approx(12.7)

    for _ in range(12):
        keyboard.rest()
        if not desk.findings:
            break
        while not isinstance(keyboard.focus, FindingRow):
            keyboard.press(Key.Key_F6)
        row = keyboard.focus
        keyboard.press(Key.Key_Return)
        assert row.is_current
        keyboard.tab_to(row.remedy)
        keyboard.press(Key.Key_Space)
    assert desk.is_ready, [finding.message for finding in desk.findings]

    keyboard.press(Key.Key_F9)
    (screen,) = window.findChildren(HandOff)
    qtbot.waitUntil(lambda: screen.isAncestorOf(QApplication.focusWidget()))
    keyboard.tab_to(screen.folder)
    screen.folder.selectAll()
    keyboard.type(str(tmp_path / "cut"))
    qtbot.waitUntil(screen.write_button.isEnabled)
    keyboard.press(Key.Key_Return)
    qtbot.waitUntil(screen.results.close_button.isVisible)
    keyboard.tab_to(screen.results.close_button)
    keyboard.press(Key.Key_Space)
    keyboard.rest()
    window.activateWindow()  # a window manager does so when a dialog closes
    qtbot.waitUntil(lambda: QApplication.focusWidget() is not None)
    assert sorted(tmp_path.glob("cut/*/*.svg"))
    assert window.isWindowModified()

    monkeypatch.setattr(
        QFileDialog, "getSaveFileName", staticmethod(lambda *_args: (str(tmp_path / "puddle job.svg"), ""))
    )
    keyboard.press(Key.Key_S, Ctrl)
    assert window.files.finish_writing()
    assert not window.isWindowModified()


def test_a_number_in_the_stack_is_changed_without_a_mouse(squares, qtbot):
    keyboard = Keyboard(squares, qtbot)
    squares.desk.do_plain("move", on="all", dx_mm=5)
    keyboard.rest()
    while keyboard.focus is not squares.stack.list:
        keyboard.press(Key.Key_F6)
    keyboard.press(Key.Key_End)
    keyboard.press(Key.Key_Return)
    assert isinstance(keyboard.focus, QLineEdit)
    keyboard.type("12.5")
    keyboard.press(Key.Key_Return)
    keyboard.rest()
    assert squares.desk.session.history.rows[-1].entry.step.record.dx_mm == 12.5


def test_the_job_the_sheet_and_the_materials_are_reached_by_tab(squares, qtbot):
    keyboard = Keyboard(squares, qtbot)
    squares.strip.name.setFocus()
    chip = next(iter(squares.strip.chips.values()))
    for stop in (squares.strip.sheet, chip, squares.layers.search, squares.layers.tree, squares.canvas):
        keyboard.tab_to(stop, most=12)


def test_the_sticker_goes_to_the_print_shop_the_table_and_the_bench_without_a_mouse(
    keyboard, tmp_path, monkeypatch, qtbot
):
    window, desk = keyboard.window, keyboard.window.desk
    art = DEMO / "sticker.svg"
    monkeypatch.setattr(QFileDialog, "getOpenFileName", staticmethod(lambda *_args: (str(art), "")))
    keyboard.press(Key.Key_O, Ctrl)
    keyboard.rest()
    keyboard.press(Key.Key_A, Ctrl)
    keyboard.find("cut line")
    assert window.bench.form is not None
    distance = window.bench.form.fields["distance_mm"]
    assert isinstance(distance, TypedField)
    keyboard.tab_to(distance.line)
    distance.line.selectAll()
    keyboard.type("2")
    keyboard.press(Key.Key_Return)
    keyboard.rest()
    assert desk.is_ready, [finding.message for finding in desk.findings]

    keyboard.press(Key.Key_F9)
    (screen,) = window.findChildren(HandOff)
    qtbot.waitUntil(lambda: screen.isAncestorOf(QApplication.focusWidget()))
    for name, kind in (("Print shop", "pdf"), ("Table", "hpgl")):
        keyboard.tab_to(screen.destinations.new_button)
        keyboard.press(Key.Key_Space)
        (band,) = [each for each in screen.destinations.bands.values() if each.is_open]
        assert keyboard.focus is band.form.name  # what it is called is asked first
        keyboard.type(name)
        keyboard.tab_to(band.form.format.button("svg"))
        for _ in range(len(FORMATS)):
            if band.form.format.value() != kind:
                keyboard.press(Key.Key_Right)
        assert band.form.format.value() == kind
        keyboard.tab_to(band.form.name)
        keyboard.press(Key.Key_Return)
    for name in ("Cut files", "Layered drawing"):
        keyboard.tab_to(screen.destinations.bands[name].tick)
        keyboard.press(Key.Key_Space)
    keyboard.tab_to(screen.folder)
    screen.folder.selectAll()
    keyboard.type(str(tmp_path / "out"))
    qtbot.waitUntil(screen.write_button.isEnabled, timeout=20_000)
    assert screen.write_button.text() == "Write 2 files"
    keyboard.press(Key.Key_Return)
    qtbot.waitUntil(screen.results.close_button.isVisible, timeout=20_000)
    keyboard.tab_to(screen.results.close_button)
    keyboard.press(Key.Key_Space)
    (pdf,) = (tmp_path / "out" / "Print shop").iterdir()
    (cut,) = (tmp_path / "out" / "Table").iterdir()
    assert pdf.read_bytes().startswith(b"%PDF")
    assert cut.read_text("ascii").startswith("IN;")

    window.activateWindow()  # a window manager does so when a dialog closes
    qtbot.waitUntil(lambda: QApplication.focusWidget() is not None)
    keyboard.press(Key.Key_F9, Ctrl)
    (papers,) = window.findChildren(PapersDialog)
    qtbot.waitUntil(lambda: papers.isAncestorOf(QApplication.focusWidget()))
    assert keyboard.focus is papers.details["customer"]
    keyboard.type("Ada Reed")
    keyboard.tab_to(papers.file)
    papers.file.selectAll()
    keyboard.type(str(tmp_path / "ticket.pdf"))
    qtbot.waitUntil(papers.write_button.isEnabled, timeout=20_000)
    keyboard.press(Key.Key_Return)
    qtbot.waitUntil((tmp_path / "ticket.pdf").exists, timeout=20_000)
    qtbot.waitUntil(lambda: papers.written is not None)
    keyboard.tab_to(papers.close_button)
    keyboard.press(Key.Key_Space)
    keyboard.rest()
    assert desk.job.details.customer == "Ada Reed"
