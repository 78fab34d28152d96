"""The page of keys tells of every key there is, and every key it tells of does something."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QLabel

from bladewise.window import keys
from bladewise.window.dialogs.shortcuts import ShortcutsDialog


def pressed(text: str) -> QKeyEvent:
    combination = QKeySequence(text)[0]
    return QKeyEvent(QEvent.Type.KeyPress, combination.key(), combination.keyboardModifiers(), "")


@pytest.fixture
def page(squares):
    squares.actions_["shortcuts"].trigger()
    (dialog,) = squares.findChildren(ShortcutsDialog)
    yield {label.text() for label in dialog.findChildren(QLabel)}
    dialog.close()


def test_every_key_of_every_action_is_on_the_page(squares, page):
    form = QKeySequence.SequenceFormat.NativeText
    for name, action in squares.actions_.all.items():
        if typed := keys.typed(action.shortcuts()):
            assert action.text().replace("&", "").rstrip("…") in page, name
            assert ", ".join(key.toString(form) for key in typed) in page, name


def test_the_nudges_on_the_page_are_those_of_the_preferences(squares):
    squares.preferences.set_length_mm("nudge", 0.3)
    assert any("0.3 mm" in key.text for key in keys.canvas_keys(squares.preferences))


def test_no_two_actions_share_a_key(squares):
    seen = [key.toString() for action in squares.actions_.all.values() for key in action.shortcuts()]
    assert sorted(seen) == sorted(set(seen))


@pytest.mark.parametrize("key", [each for key in keys.canvas_keys() for each in key.keys])
def test_the_canvas_takes_every_key_it_is_said_to(squares, key):
    squares.canvas.setFocus()
    squares.desk.select([squares.desk.job.shapes()[0].id])
    event = pressed(key)
    squares.canvas.event(event)
    assert event.isAccepted()


@pytest.mark.parametrize("key", [each for key in keys.layer_keys() for each in key.keys])
def test_the_layers_take_every_key_they_are_said_to(squares, key):
    tree = squares.layers.tree
    layer = squares.layers.model.index_of(squares.desk.job.layers[0].id)
    tree.setFocus()
    tree.setCurrentIndex(layer)
    event = pressed(key)
    tree.event(event)
    assert event.isAccepted()


@pytest.mark.parametrize("key", [each for key in keys.stack_keys() for each in key.keys])
def test_the_stack_takes_every_key_it_is_said_to(squares, key, qtbot):
    stack = squares.stack
    stack.list.setFocus()
    stack.list.setCurrentIndex(stack.model.index(1))
    event = pressed(key)
    stack.list.event(event)
    assert event.isAccepted()
    qtbot.waitUntil(lambda: not squares.desk.steps.is_busy)
    stack.leave()


def test_keys_of_the_number_block_mean_the_same(qapp):
    event = QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_Enter, Qt.KeyboardModifier.KeypadModifier, "")
    assert keys.meant(keys.stack_keys(), event) == "open"


@pytest.mark.parametrize("key", [each for key in keys.readying_keys() if key.name != "leave" for each in key.keys])
def test_the_steps_of_make_cut_ready_take_every_key_they_are_said_to(squares, qtbot, key):
    squares.show_readying(whole=True)
    page = squares.stage.currentWidget()
    qtbot.waitUntil(lambda: bool(page.rows) and not page._worker.is_busy, timeout=30_000)
    event = pressed(key)
    (page if key.startswith("Ctrl") else page.rows[0]).keyPressEvent(event)
    assert event.isAccepted()
    qtbot.waitUntil(lambda: not page._worker.is_busy, timeout=30_000)
