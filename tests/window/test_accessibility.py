"""Whoever cannot see or point can use the window: names on all that takes the focus, all of it reached by Tab."""

from __future__ import annotations

import importlib
import pkgutil
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QApplication, QDialog, QMenu, QWidget

from bladewise import operations
from bladewise.document import Colour
from bladewise.operations import OPERATIONS
from bladewise.window import dialogs as dialog_package
from bladewise.window.bench.colour_fields import ColourChoice
from bladewise.window.command_stack.editor import StepEditor
from bladewise.window.dialogs.lost_work import LostWorkDialog
from bladewise.window.dialogs.notes import NotesDialog
from bladewise.window.dialogs.preferences import PreferencesDialog
from bladewise.window.dialogs.questions import colour_dialog, show_about
from bladewise.window.dialogs.shortcuts import ShortcutsDialog
from bladewise.window.hand_off.paper_making import Sort
from bladewise.window.hand_off.papers import PapersDialog
from bladewise.window.hand_off.screen import HandOff
from bladewise.window.palette import Palette, items
from bladewise.window.recovery import Lost
from bladewise.window.theme import Scheme
from bladewise.window.tour import Tour
from window.conftest import settle, take_away

if TYPE_CHECKING:
    from collections.abc import Iterator

    from PySide6.QtGui import QAccessibleInterface, QImage
    from pytestqt.qtbot import QtBot

    from bladewise.window.main_window import MainWindow


@pytest.fixture
def at_work(squares, qtbot):
    """Return a window at work whose ghosts and measures are let run out."""
    yield squares
    squares.bench.leave()
    squares.canvas.put_down()
    qtbot.waitUntil(lambda: not squares.desk.ghosts.is_busy and not squares.desk.errands.is_busy, timeout=20_000)


@pytest.fixture
def lettered(make_window, two_squares, qtbot):
    """Return a window on two squares and a word, so that every verb has something to work on."""
    two_squares.do("set-lettering", text="OPEN", x_mm=20, y_mm=95, size_mm=10)
    window = make_window(two_squares)
    settle(window, qtbot)
    yield window
    window.bench.leave()
    desk = window.desk
    qtbot.waitUntil(lambda: not any(each.is_busy for each in (desk.steps, desk.ghosts, desk.errands)), timeout=20_000)


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


def dialogs(window: MainWindow) -> list[QWidget]:
    """Return every page and dialog there is."""
    lost = Lost(Path("lost.svg"), "Awning", None, 0.0)
    return [
        HandOff(window.desk, None, window),
        PapersDialog(window.desk, Sort.TICKET, None, window),
        NotesDialog(("1 filter effect was left out.",), "Cup", window),
        NotesDialog((), "Cup", window),
        ShortcutsDialog(window.actions_, window.preferences, window),
        PreferencesDialog(window.preferences, window.choose_theme, window),
        LostWorkDialog([lost], window),
        show_about(window),
        colour_dialog(Colour(204, 51, 17), window, "Colour of Red"),
        Palette(items(window.actions_, window.desk, window.open_verb), window),
        ColourChoice(window.desk, window, None, none_word="as it is"),
    ]


def test_every_dialog_there_is_is_walked(squares):
    """A dialog that is added to the package and forgotten here fails this."""
    walked = {type(dialog) for dialog in dialogs(squares)}
    for module in pkgutil.iter_modules(dialog_package.__path__):
        found = importlib.import_module(f"{dialog_package.__name__}.{module.name}")
        for thing in vars(found).values():
            if isinstance(thing, type) and issubclass(thing, QDialog) and thing.__module__ == found.__name__:
                assert thing in walked, thing.__name__


def test_every_control_of_every_dialog_has_a_name(squares):
    for dialog in dialogs(squares):
        dialog.show()
        assert unnamed(dialog) == [], type(dialog).__name__
        assert dialog.windowTitle() or dialog.accessibleName(), type(dialog).__name__
        take_away(dialog)


def test_every_control_of_the_tour_has_a_name(squares):
    squares.show_tour()
    (tour,) = squares.findChildren(Tour)
    for _ in range(5):
        assert unnamed(tour) == []
        assert tour.card.accessibleName()
        tour.step(1)


@pytest.mark.parametrize("name", [operation.name for operation in OPERATIONS if not operation.by_hand])
def test_every_control_of_every_open_verb_has_a_name(lettered, name):
    window = lettered
    window.desk.select_all() if operations.operation(name).least else window.desk.select(())
    window.open_verb(name)
    QApplication.processEvents()
    assert unnamed(window) == []
    window.bench.leave()


@pytest.mark.parametrize("action", ["edit-nodes", "measure", "guide-upright", "guide-level"])
def test_every_control_of_what_the_hand_is_about_has_a_name(at_work, action):
    squares = at_work
    squares.desk.select([squares.desk.job.shapes()[0].id])
    squares.actions_[action].trigger()
    assert unnamed(squares) == []
    squares.bench.leave()


def test_every_line_of_every_menu_says_something(squares):
    squares.desk.select_all()
    squares.layers.tree.selectAll()
    material = next(iter(squares.strip.chips.values())).material
    menus = [
        *squares.menuBar().findChildren(QMenu),
        squares.canvas_menu(),
        squares.layers.menu(),
        squares.stack.menu(1),
        squares.strip.menu(material),
    ]
    for menu in menus:
        assert menu.actions() or menu is squares.recent
        for action in menu.actions():
            assert action.isSeparator() or action.text().strip(), menu.title()


NO_ROLES = (QAccessible.Role.NoRole, QAccessible.Role.Client, QAccessible.Role.Window)


def test_every_control_says_what_kind_of_thing_it_is(squares):
    QAccessible.setActive(True)
    squares.desk.select_all()
    for interface in _walk(QAccessible.queryAccessibleInterface(squares)):
        state = interface.state()
        thing = interface.object()
        if state.focusable and not state.invisible and thing is not squares.canvas:
            assert interface.role() not in NO_ROLES, f"{type(thing).__name__} in {_path(thing)}"


def _focusable(within: QWidget) -> list[QWidget]:
    return [
        each
        for each in within.findChildren(QWidget)
        if each.isVisible()
        and each.isEnabled()
        and each.focusPolicy() & Qt.FocusPolicy.TabFocus
        and not each.focusProxy()
    ]


def _look(widget: QWidget) -> QImage:
    QApplication.processEvents()
    return widget.grab().toImage()


def _shows_focus(widget: QWidget, elsewhere: QWidget) -> bool:
    """Whether something about a control, or of what it lies in, looks different while it has the focus."""
    elsewhere.setFocus()
    holder = widget if widget.height() >= 8 else widget.parentWidget()
    without = _look(holder)
    widget.setFocus(Qt.FocusReason.TabFocusReason)
    with_it = _look(holder)
    if QApplication.focusWidget() is not widget:
        return True  # it hands the focus on, and that one is looked at by itself
    return without != with_it


@pytest.mark.parametrize("scheme", [Scheme.LIGHT, Scheme.DARK])
def test_the_focus_shows_on_every_control_of_the_window(squares, scheme):
    """WCAG 2.2, success criterion 2.4.7."""
    squares.choose_theme(scheme)
    squares.desk.select_all()
    squares.canvas.finish_painting()
    for widget in _focusable(squares):
        elsewhere = squares.layers.search if widget is not squares.layers.search else squares.canvas
        assert _shows_focus(widget, elsewhere), _path(widget)
    squares.choose_theme(Scheme.SYSTEM)


@pytest.mark.parametrize(
    "opened", ["stepped-outline", "rotate", "set-lettering", "draw-polygon", "restyle", "edit-nodes", "measure"]
)
def test_the_focus_shows_on_every_control_of_the_open_bench(at_work, opened):
    window = at_work
    window.desk.select([window.desk.job.shapes()[0].id])
    if opened in window.actions_.all:
        window.actions_[opened].trigger()
    else:
        if not operations.operation(opened).least:
            window.desk.select(())
        window.open_verb(opened)
    controls = _focusable(window.bench)
    assert controls
    for widget in controls:
        if widget.isVisible():
            assert _shows_focus(widget, window.layers.search), _path(widget)


def test_the_focus_shows_on_every_control_of_every_dialog(squares, qtbot):
    for dialog in dialogs(squares):
        dialog.show()
        dialog.activateWindow()
        controls = _focusable(dialog)
        for widget in controls:
            others = [each for each in controls if each is not widget]
            if others and isinstance(dialog, QDialog):
                assert _shows_focus(widget, others[0]), f"{type(dialog).__name__}: {_path(widget)}"
        take_away(dialog)
        squares.activateWindow()


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
