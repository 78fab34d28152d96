"""Ctrl+K finds any action or verb by its words."""

from __future__ import annotations

import pytest

from bladewise.operations import OPERATIONS
from bladewise.window import menus
from bladewise.window.actions import declared
from bladewise.window.palette import ITEM, Palette
from window.person import Ctrl, Key, Person


@pytest.fixture
def person(squares, qtbot, monkeypatch) -> Person:
    return Person(squares, qtbot, monkeypatch)


def _open(person) -> Palette:
    person.presses(Key.Key_K, Ctrl)
    return next(each for each in person.window.findChildren(Palette) if each.isVisible())


def _titles(palette) -> list[str]:
    model = palette.model
    return [model.index(row).data() for row in range(model.rowCount())]


def test_everything_that_can_be_done_is_in_it(person):
    titles = set(_titles(_open(person)))
    assert {operation.title for operation in OPERATIONS if not operation.by_hand} <= titles
    said = " | ".join(titles)
    assert all(each.text.replace("&", "").rstrip("…") in said for each in declared() if each.name != "find")
    assert {"Theme: Dark", "Unit: Inches"} <= titles


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("stepped", "Stepped outline"),
        ("outline parallel", "Stepped outline"),
        ("dark", "Theme: Dark"),
        ("weed", "Drop specks"),
        ("hand-off", "Hand off"),
    ],
)
def test_words_of_name_or_help_find_it(person, qtbot, typed, first):
    palette = _open(person)
    qtbot.keyClicks(palette.line, typed)
    assert _titles(palette)[0] == first


def test_enter_opens_the_verb_found(person, qtbot):
    person.selects_all()
    palette = _open(person)
    qtbot.keyClicks(palette.line, "merge")
    qtbot.keyClick(palette.line, Key.Key_Return)
    assert person.window.bench.operation.name == "merge"
    assert not palette.isVisible()


def test_a_verb_that_does_not_fit_says_why_and_is_not_run(person, qtbot):
    palette = _open(person)
    qtbot.keyClicks(palette.line, "merge several")
    item = palette.list.currentIndex().data(ITEM)
    assert item.reason_not == "select 2 or more first"
    qtbot.keyClick(palette.line, Key.Key_Return)
    assert palette.isVisible()
    assert person.window.bench.operation is None


def test_arrows_choose_and_escape_leaves_everything_as_it_was(person, qtbot):
    person.window.canvas.setFocus()
    palette = _open(person)
    qtbot.keyClick(palette.line, Key.Key_Down)
    assert palette.list.currentIndex().row() == 1
    qtbot.keyClick(palette.line, Key.Key_Escape)
    assert not palette.isVisible()
    assert person.window.canvas.hasFocus()


def test_words_that_fit_nothing_say_so(person, qtbot):
    palette = _open(person)
    qtbot.keyClicks(palette.line, "xyzzy")
    assert palette.none.isVisible()
    qtbot.keyClick(palette.line, Key.Key_Return)
    assert palette.isVisible()


def test_every_action_says_in_a_few_words_what_it_is_for():
    for each in declared():
        assert each.tip, each.name
        assert each.tip[0].isupper(), each.name
        assert not each.tip.endswith("."), each.name


def test_every_action_stands_in_a_menu(window):
    named = {entry for _, entries in menus.declared() for entry in entries if isinstance(entry, str)}
    named |= {
        inner for _, entries in menus.declared() for entry in entries if isinstance(entry, tuple) for inner in entry[1]
    }
    assert {each.name for each in declared()} == named - {""}


def test_a_word_typed_whole_comes_first(person):
    palette = _open(person)
    palette.line.setText("line")
    assert _titles(palette)[0] == "Line"
