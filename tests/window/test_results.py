"""As printed, as cut: what is shown, what a cut that is off does, by hand, keys and numbers; nothing is changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from bladewise.session import Session
from bladewise.window.results.pad import ShiftPad
from bladewise.window.results.page import ResultsDialog
from window.conftest import settle

if TYPE_CHECKING:
    from collections.abc import Callable

    from pytestqt.qtbot import QtBot

    from bladewise.window.main_window import MainWindow

Key = Qt.Key


@pytest.fixture
def shown(make_window: Callable[..., MainWindow], qtbot: QtBot) -> Callable[..., ResultsDialog]:
    """Return what opens the page on a printed square, with the steps asked for."""

    def show(*steps: tuple[str, dict[str, object]], art: bool = True) -> ResultsDialog:
        session = Session.new("Square", 100, 100)
        if art:
            session.do("draw-rectangle", x_mm=20, y_mm=20, width_mm=60, height_mm=60, fill="#cc3311", name="Square")
        for do, values in steps:
            session.do(do, **values)
        session._saved = session.history
        window = make_window(session)
        settle(window, qtbot)
        window.actions_["as-printed"].trigger()
        (dialog,) = window.findChildren(ResultsDialog)
        qtbot.waitUntil(lambda: dialog.measured is not None, timeout=20_000)
        return dialog

    return show


CUT = ("cut-line", {})
BLED = ("bleed", {"distance_mm": 1.5})


def pixel(dialog: ResultsDialog, x: float, y: float) -> str:
    """Return the colour the picture has at a place of the sheet."""
    dialog.view.finish_painting()
    at = dialog.view.view.to_px(x, y).toPoint()
    return dialog.view.grab().toImage().pixelColor(at).name()


def test_as_printed_shows_the_bleed_and_the_line_and_as_cut_takes_the_waste_off(shown):
    dialog = shown(CUT, BLED)
    assert pixel(dialog, 50, 50) == "#cc3311"
    assert pixel(dialog, 50, 19) == "#cc3311"
    dialog.modes.button("cut").click()
    assert pixel(dialog, 50, 21) == "#cc3311"
    assert pixel(dialog, 50, 19) == "#e6dfce"
    dialog.accept()


def test_it_says_how_far_the_cut_may_be_off(shown):
    bled = shown(CUT, BLED)
    assert bled.clear.text() == "No white shows up to 1.5 mm, whichever way."
    assert bled.white.text() == "The cut is where it should be."
    bled.accept()


def test_without_bleed_white_shows_at_once_and_the_worst_way_is_found(shown):
    dialog = shown(CUT)
    assert dialog.clear.text().startswith("White shows as soon as the cut is off")
    dialog.worst.click()
    assert dialog.is_cut
    across, down = map(abs, dialog.shift)
    assert across == pytest.approx(down, abs=0.001)  # a square's worst way is towards a corner
    assert dialog.white.text() == "Off by 1 mm this way: 84.3 mm² of white."
    assert dialog.view.place is not None
    dialog.to_place.click()
    dialog.accept()


def test_the_arrow_keys_move_the_cut_and_home_puts_it_back(shown):
    dialog = shown(CUT, BLED)
    dialog.pad.setFocus()
    for _ in range(4):
        QTest.keyClick(dialog.pad, Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    QTest.keyClick(dialog.pad, Key.Key_Up)
    assert dialog.shift == pytest.approx((2.0, -0.1))
    assert dialog.is_cut
    assert dialog.across.text() == "2 mm"
    assert dialog.down.text() == "-0.1 mm"
    assert "of white" in dialog.white.text()
    assert not dialog.pad.is_clear
    assert dialog.pad.accessibleDescription() == "2 mm to the right, -0.1 mm down"
    QTest.keyClick(dialog.pad, Key.Key_Home)
    assert dialog.shift == (0.0, 0.0)
    assert dialog.pad.is_clear
    dialog.accept()


def test_numbers_move_the_cut_and_what_is_no_length_is_refused_where_it_stands(shown):
    dialog = shown(CUT, BLED)
    dialog.across.setText("1/16in")
    dialog.across.editingFinished.emit()
    assert dialog.shift[0] == pytest.approx(1.5875)
    dialog.down.setText("far")
    dialog.down.editingFinished.emit()
    assert dialog.down.problem
    assert dialog.shift == pytest.approx((1.5875, 0.0))
    dialog.middle.click()
    assert dialog.shift == (0.0, 0.0)
    assert not dialog.down.problem
    dialog.accept()


def test_the_pad_speaks_of_the_unit_that_is_chosen():
    pad = ShiftPad("in")
    assert pad.ring_texts() == ["0.05", "0.1 in"]
    pad.show_clear(5.0)
    assert pad.ring_texts() == ["0.1", "0.2", "0.3 in"]
    assert ShiftPad("mm").ring_texts() == ["1", "2", "3 mm"]


def test_the_knob_follows_the_hand_and_stays_on_the_pad(shown):
    dialog = shown(CUT, BLED)
    pad = dialog.pad
    QTest.mouseClick(pad, Qt.MouseButton.LeftButton, pos=QPoint(pad.width() // 2 + 32, pad.height() // 2))
    assert dialog.shift[0] == pytest.approx(1.0, abs=0.05)
    QTest.mouseClick(pad, Qt.MouseButton.LeftButton, pos=QPoint(pad.width() - 1, 1))
    assert dialog.shift == (pad.reach_mm, -pad.reach_mm)
    dialog.accept()


def test_the_picture_is_pulled_and_zoomed_by_hand_and_by_keys(shown):
    dialog = shown(CUT, BLED)
    view = dialog.view
    before = view.view
    QTest.keyClick(view, Key.Key_Plus)
    assert view.view.scale > before.scale
    QTest.keyClick(view, Key.Key_Right)
    assert view.view.x_mm > before.x_mm
    QTest.keyClick(view, Key.Key_Minus)
    QTest.keyClick(view, Key.Key_0)
    assert view.view.scale == pytest.approx(before.scale)
    at = view.rect().center()
    QTest.mousePress(view, Qt.MouseButton.LeftButton, pos=at)
    QTest.mouseMove(view, at + QPoint(40, 0))
    QTest.mouseRelease(view, Qt.MouseButton.LeftButton, pos=at + QPoint(40, 0))
    assert view.view.x_mm < before.x_mm
    dialog.accept()


def test_nothing_is_changed_by_looking(shown):
    dialog = shown(CUT, BLED)
    desk = dialog._desk
    job, rows = desk.job, len(desk.session.history.rows)
    dialog.modes.button("cut").click()
    dialog.set_shift(1.0, 1.0)
    QTest.keyClick(dialog.view, Key.Key_Delete)
    assert desk.job is job
    assert len(desk.session.history.rows) == rows
    dialog.accept()


def test_without_a_cut_line_it_says_so_and_there_is_nothing_to_move(shown):
    dialog = shown()
    assert dialog.clear.text() == "There is no closed cut line yet."
    assert not dialog.pad.isEnabled()
    assert not dialog.worst.isEnabled()
    assert pixel(dialog, 50, 50) == "#cc3311"
    dialog.accept()
    empty = shown(art=False)
    assert empty.clear.text() == "There is no closed cut line yet."
    empty.accept()


def test_everything_has_a_name_for_those_who_cannot_see_it(shown):
    dialog = shown(CUT, BLED)
    assert dialog.view.accessibleName() == "As printed"
    assert "No white shows" in dialog.view.accessibleDescription()
    for each in (dialog.pad, dialog.across, dialog.down):
        assert each.accessibleName()
    dialog.accept()


def test_the_film_is_chosen_and_seen_beneath_the_ink_and_named_for_what_it_is(shown, qtbot):
    dialog = shown(CUT, BLED)
    assert pixel(dialog, 5, 5) == "#ffffff"
    dialog.films.button("dark").click()
    qtbot.waitUntil(lambda: dialog.looks.film == "dark", timeout=20_000)
    assert pixel(dialog, 5, 5) == "#26282b"
    assert pixel(dialog, 50, 50) not in ("#cc3311", "#26282b")  # ink is a glaze on it
    assert dialog.clear.text() == "No bare film shows up to 1.5 mm, whichever way."
    dialog.set_shift(6.0, 0.0)
    assert dialog.white.text().endswith("mm² of bare film.")
    assert pixel(dialog, 84, 50) == "#26282b"
    dialog.films.button("white").click()
    qtbot.waitUntil(lambda: dialog.looks.film == "white", timeout=20_000)
    assert pixel(dialog, 84, 50) == "#ffffff"
    assert dialog.white.text().endswith("mm² of white.")
    dialog.accept()
