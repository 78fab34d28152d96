"""Whoever cannot see or point can use the window: names on all that takes the focus, all of it reached by Tab."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QApplication, QWidget

from bladewise import operations
from bladewise.operations import OPERATIONS
from bladewise.window.bench.colour_fields import ColourChoice
from bladewise.window.command_stack.editor import StepEditor
from bladewise.window.dialogs.export import ExportDialog
from bladewise.window.dialogs.notes import NotesDialog
from bladewise.window.dialogs.questions import show_about
from bladewise.window.dialogs.shortcuts import ShortcutsDialog
from bladewise.window.palette import Palette, items
from window.conftest import settle, take_away

if TYPE_CHECKING:
    from collections.abc import Iterator

    from PySide6.QtGui import QAccessibleInterface
    from pytestqt.qtbot import QtBot

    from bladewise.window.main_window import MainWindow

_SELF_NAMED = frozenset({"qt_toolbar_ext_button"})


def _walk(interface: QAccessibleInterface, depth: int = 0) -> Iterator[QAccessibleInterface]:
    yield interface
    if depth > 40:
        return
    for index in range(interface.childCount()):
        child = interface.child(index)
        if child is not None and child.isValid():
            yield from _walk(child, depth + 1)


def unnamed(widget: QWidget) -> list[str]:
    """Return the controls under a widget that can take the focus and have no name."""
    QAccessible.setActive(True)
    found = []
    for interface in _walk(QAccessible.queryAccessibleInterface(widget)):
        state = interface.state()
        if not state.focusable or state.invisible or state.disabled:
            continue
        if not interface.text(QAccessible.Text.Name).strip():
            thing = interface.object()
            name = thing.objectName() if thing is not None else ""
            if name not in _SELF_NAMED:
                found.append(f"{interface.role()} {type(thing).__name__} {name} in {_path(thing)}")
    return found


def _path(thing: object) -> str:
    parts = []
    while isinstance(thing, QWidget):
        parts.append(type(thing).__name__)
        thing = thing.parentWidget()
    return " < ".join(parts)


def test_every_control_of_the_empty_window_has_a_name(window, qtbot):
    settle(window, qtbot)
    assert unnamed(window) == []


def test_every_control_of_a_window_at_work_has_a_name(squares):
    squares.desk.select_all()
    assert unnamed(squares) == []


def test_every_field_of_every_step_has_a_name(squares):
    for operation in OPERATIONS:
        editor = StepEditor(operations.step(operation.name), squares.desk)
        editor.show()
        assert unnamed(editor) == [], operation.name
        take_away(editor)


def test_every_control_of_every_dialog_has_a_name(squares):
    dialogs = [
        ExportDialog(squares.desk, squares),
        NotesDialog(("1 filter effect was left out.",), "Cup", squares),
        ShortcutsDialog(squares.actions_, squares.preferences, squares),
        show_about(squares),
        Palette(items(squares.actions_, squares.desk, squares.open_verb), squares),
        ColourChoice(squares.desk, squares, None, none_word="as it is"),
    ]
    for dialog in dialogs:
        dialog.show()
        assert unnamed(dialog) == [], type(dialog).__name__
        take_away(dialog)


def _stops(window: MainWindow, start: QWidget, qtbot: QtBot, most: int = 120) -> list[QWidget]:
    """Return what Tab comes to from a control on, until it comes to the canvas or back to the start."""
    start.setFocus()
    seen = [start]
    for _ in range(most):
        qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
        focus = QApplication.focusWidget()
        if focus is None or focus is start or focus is window.canvas:
            break
        seen.append(focus)
    return seen


def test_tab_reaches_every_panel_and_leaves_the_canvas_again(squares, qtbot):
    after = _stops(squares, squares.pane.units.button("mm"), qtbot)
    for panel in (squares.stack, squares.readiness, squares.bench, squares.strip, squares.layers):
        assert any(panel.isAncestorOf(stop) for stop in after), panel
    squares.canvas.setFocus()
    for _ in range(3):  # two shapes, then on
        qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
    assert QApplication.focusWidget() is not squares.canvas
    assert squares.pane.isAncestorOf(QApplication.focusWidget())


def test_every_verb_and_chip_and_finding_is_a_tab_stop(squares, qtbot):
    squares.desk.select_all()
    stops = _stops(squares, squares.stack.list, qtbot)
    assert squares.bench.verb("merge") in stops
    assert next(iter(squares.strip.chips.values())) in stops
    assert squares.readiness.rows[0] in stops
    assert squares.readiness.rows[0].remedy in stops


def test_f6_goes_from_panel_to_panel_and_keeps_what_is_selected(squares, qtbot):
    squares.desk.select_all()
    squares.canvas.setFocus()
    seen = []
    for _ in range(6):
        qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_F6)
        seen.append(QApplication.focusWidget())
    assert seen[0] is squares.stack.list
    assert seen[1] is squares.readiness.rows[0]
    assert seen[2] is squares.bench.verb("merge")
    assert squares.strip.isAncestorOf(seen[3])
    assert seen[4] is squares.layers.tree
    assert seen[5] is squares.canvas
    assert len(squares.desk.selection) == 2
