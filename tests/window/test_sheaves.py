"""Verbs on the bench: all of them in reach whatever its width, the usual ones open as long as there is room."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QPushButton

from bladewise.window.bench import fitting
from bladewise.window.bench.sheaves import Plan, Sheaf, plan


class _Verb:
    def __init__(self, name):
        self.name = name


def _sheaf(name, count, folds, *, always=False):
    return Sheaf(name, name, name, tuple(_Verb(f"{name}-{each}") for each in range(count)), folds, always)


def _width(name):
    return 100.0


def test_all_stand_open_where_there_is_room():
    every = [_sheaf("combine", 4, 9), _sheaf("place", 5, 1)]
    assert plan(every, _width, 600.0, 3) == Plan(frozenset(), 2)


def test_what_is_done_least_folds_first():
    every = [_sheaf("combine", 4, 9), _sheaf("place", 5, 1), _sheaf("colours", 2, 5)]
    assert plan(every, _width, 450.0, 2).folded == {"place"}


def test_what_folded_for_a_larger_one_opens_again():
    every = [_sheaf("few", 2, 1), _sheaf("many", 9, 2)]
    assert plan(every, _width, 450.0, 1) == Plan(frozenset({"many"}), 2)


def test_what_does_not_fit_even_folded_shares_one_menu():
    every = [_sheaf(f"s{number}", 3, number) for number in range(9)]
    found = plan(every, _width, 250.0, 2)
    assert found.folded == {each.name for each in every}
    assert found.shown == 3  # with the menu of the rest that is two rows of two


@pytest.mark.parametrize("width", [900, 1280, 1440, 2200])
def test_every_verb_that_fits_is_in_reach_and_in_sight(squares, qtbot, width):
    squares.resize(width, 800)
    squares.desk.select_all()
    bench = squares.bench
    qtbot.waitUntil(lambda: bench._verbs._shown is not None and bench._verbs._shown[-1] == bench._verbs_room())
    for verbs in fitting.verbs(squares.desk):
        for each in verbs:
            assert bench.entry(each.name) is not None, each.name
    page = bench._verbs.widget()
    seen = bench._verbs.viewport().height()
    for button in page.findChildren(QPushButton):
        if button.isVisible():
            assert button.geometry().bottom() <= seen, button.text()
            assert button.geometry().right() <= bench._verbs.viewport().width(), button.text()
