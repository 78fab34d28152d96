"""Hands for the tests: what a person does with mouse and keys, by the words and places that person sees."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtWidgets import QApplication, QCheckBox, QComboBox, QFileDialog, QLineEdit, QPushButton, QWidget

from bladewise.formats.destinations import choices_of
from bladewise.window.bench.colour_fields import ColourChoice, ColoursField
from bladewise.window.bench.fields import ChoiceField, SwitchField
from bladewise.window.bench.selection_field import SelectionField
from bladewise.window.hand_off.screen import HandOff
from bladewise.window.layer_tree.model import NAME
from window.conftest import settle

if TYPE_CHECKING:
    import pytest
    from pytestqt.qtbot import QtBot

    from bladewise.window.main_window import MainWindow

PICTURES = "BLADEWISE_PICTURES"
"""An environment variable that names a folder for pictures of the window; without it none are written."""

Key = Qt.Key
Ctrl = Qt.KeyboardModifier.ControlModifier
Shift = Qt.KeyboardModifier.ShiftModifier


class Person:
    """Somebody at the window."""

    def __init__(self, window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
        """Sit down."""
        self.window = window
        self._bot = qtbot
        self._patch = monkeypatch
        self._bot.keyClick(window.canvas, Key.Key_Escape)

    # --- files ----------------------------------------------------------------------------------------------------

    def opens(self, path: Path) -> None:
        """Press the key for opening and choose a file."""
        self._patch.setattr(QFileDialog, "getOpenFileName", staticmethod(lambda *_args: (str(path), "")))
        self.presses(Key.Key_O, Ctrl)
        self.waits()
        assert self.window.desk.job.shapes(), self.window.bench.strip.text.text()
        for dialog in self.dialogs():
            dialog.close()

    def exports(self, folder: Path, *, marks: str = "") -> list[Path]:
        """Open the hand-off, type the folder, choose the marks of the cut files, write, close."""
        self.presses(Key.Key_F9)
        self._bot.waitUntil(lambda: any(isinstance(each, HandOff) for each in self.dialogs()))
        screen = next(each for each in self.dialogs() if isinstance(each, HandOff))
        self.types(screen.folder, str(folder))
        if marks:
            self.clicks(screen.destinations.bands["Cut files"].change)
            form = screen.destinations.bands["Cut files"].form
            assert form is not None
            combo = form.fields["marks"].combos["marks"]
            combo.setCurrentIndex(choices_of("marks").index(marks))
            self.clicks(screen.destinations.bands["Cut files"].keep_button)
        self._bot.waitUntil(screen.write_button.isEnabled, timeout=30_000)
        self.picture("export", screen)
        self.clicks(screen.write_button)
        self._bot.waitUntil(screen.results.close_button.isVisible, timeout=30_000)
        self.picture("export-written", screen)
        self.clicks(screen.results.close_button)
        self.waits()
        return sorted(folder.rglob("*.svg"))

    def dialogs(self) -> list[QWidget]:
        """Return the dialogs that are open."""
        return [each for each in QApplication.topLevelWidgets() if each.isVisible() and each is not self.window]

    # --- hands ----------------------------------------------------------------------------------------------------

    def presses(self, key: Key, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        """Press a key wherever the focus is."""
        self._bot.keyClick(self.window.focusWidget() or self.window, key, held)

    def clicks(self, control: QWidget) -> None:
        """Click on a control."""
        assert control.isEnabled()
        at = QPoint(12, control.height() // 2) if isinstance(control, QCheckBox) else control.rect().center()
        self._bot.mouseClick(control, Qt.MouseButton.LeftButton, pos=at)

    def types(self, line: QLineEdit, text: str) -> None:
        """Type over what stands in a line."""
        line.setFocus()
        line.selectAll()
        self._bot.keyClicks(line, text)

    def waits(self) -> None:
        """Wait until the window is at rest."""
        settle(self.window, self._bot)

    # --- canvas and layers ----------------------------------------------------------------------------------------

    def at(self, x_mm: float, y_mm: float) -> QPoint:
        """Return where a place of the sheet lies on the canvas."""
        place: QPointF = self.window.canvas.view.to_px(x_mm, y_mm)
        return place.toPoint()

    def clicks_art(self, x_mm: float, y_mm: float, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        """Click on the canvas."""
        self._bot.mouseClick(self.window.canvas, Qt.MouseButton.LeftButton, held, self.at(x_mm, y_mm))

    def drags_art(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        """Drag on the canvas."""
        canvas, button = self.window.canvas, Qt.MouseButton.LeftButton
        first, last = self.at(*start), self.at(*end)
        self._bot.mousePress(canvas, button, pos=first)
        for part in (0.3, 0.6, 1.0):
            step = first + (last - first) * part
            self._bot.mouseMove(canvas, step)
        self._bot.mouseRelease(canvas, button, pos=last)

    def selects_all(self) -> None:
        """Press the key for selecting all."""
        self.presses(Key.Key_A, Ctrl)

    def clicks_row(
        self, any_id: str, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier, column: int = NAME
    ) -> None:
        """Click on a row of the layer tree."""
        tree, model = self.window.layers.tree, self.window.layers.model
        index = model.index_of(any_id, column)
        assert index.isValid(), any_id
        tree.scrollTo(index)
        self._bot.mouseClick(tree.viewport(), Qt.MouseButton.LeftButton, held, tree.visualRect(index).center())

    # --- bench ----------------------------------------------------------------------------------------------------

    def takes(self, verb: str) -> None:
        """Click on a verb of the bench, or choose it from the menu of those that are folded up."""
        entry = self.window.bench.entry(verb)
        assert entry is not None, f"{verb} is not on the bench"
        if isinstance(entry, QPushButton):
            self.clicks(entry)
        else:
            entry.trigger()

    def fills(self, **numbers: str) -> None:
        """Type into fields of the open verb."""
        assert self.window.bench.form is not None
        for name, text in numbers.items():
            line = self.window.bench.form.fields[name].focusProxy()
            assert isinstance(line, QLineEdit)
            self.types(line, text)

    def ticks(self, name: str) -> None:
        """Click on a box of the open verb."""
        assert self.window.bench.form is not None
        field = self.window.bench.form.fields[name]
        assert isinstance(field, SwitchField)
        self.clicks(field.box)

    def chooses(self, name: str, value: str) -> None:
        """Click on a word of a choice of the open verb."""
        assert self.window.bench.form is not None
        field = self.window.bench.form.fields[name]
        assert isinstance(field, ChoiceField)
        if field.segments is not None:
            self.clicks(field.segments.button(value))
        elif field.combo is not None:
            field.combo.setCurrentIndex(field.combo.findData(value))

    def picks(self, name: str) -> None:
        """Choose “Pick…” for a selection of the open verb."""
        assert self.window.bench.form is not None
        field = self.window.bench.form.fields[name]
        assert isinstance(field, SelectionField)
        combo: QComboBox = field.combo
        combo.setFocus()
        while combo.currentData() != "pick":
            self._bot.keyClick(combo, Key.Key_Down)
        assert field.is_picking

    def adds_colour(self, text: str) -> None:
        """Add a colour to the list of colours of the open verb, typed as #rrggbb."""
        assert self.window.bench.form is not None
        field = self.window.bench.form.fields["colours"]
        assert isinstance(field, ColoursField)
        self.clicks(field.more)
        self.clicks(field.swatches[-1])
        choice = next(each for each in self.dialogs() if isinstance(each, ColourChoice))
        self.types(choice.line, text)
        self._bot.keyClick(choice.line, Key.Key_Return)
        self.window.activateWindow()  # a window manager does so when a sheet of colours closes

    def waits_for_ghost(self) -> None:
        """Wait until the canvas shows what the open verb would do."""
        self._bot.waitUntil(lambda: self.window.canvas.has_ghost, timeout=30_000)

    def enters(self) -> None:
        """Press Enter and wait until the step is done."""
        before = len(self.window.desk.session.history.rows)
        self.presses(Key.Key_Return)
        self.waits()
        said = self.window.bench.strip.text.text()
        assert len(self.window.desk.session.history.rows) == before + 1, said
        assert self.window.bench.operation is None, said

    # --- readiness ------------------------------------------------------------------------------------------------

    def mends(self, rule: str) -> None:
        """Click on the remedy of every finding of a rule, one after the other, until there is none."""
        panel = self.window.readiness
        for _ in range(20):
            panel.open_rule(rule)
            row = next((each for each in panel.rows if each.finding.rule == rule), None)
            if row is None:
                return
            panel.area.ensureWidgetVisible(row)
            self.clicks(row.remedy)
            self.waits()

    # --- pictures -------------------------------------------------------------------------------------------------

    def picture(self, name: str, widget: QWidget | None = None) -> None:
        """Keep a picture of the window, if a folder was named for them."""
        folder = os.environ.get(PICTURES)
        if folder:
            self.window.canvas.finish_painting()
            Path(folder).mkdir(parents=True, exist_ok=True)
            (widget or self.window).grab().save(str(Path(folder) / f"{name}.png"))
