"""The first start shows the window in five cards; after that they come only when asked for."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QSettings, QSize, Qt
from PySide6.QtWidgets import QApplication

from bladewise.window.main_window import first_size
from bladewise.window.tour import Tour

Key = Qt.Key


@pytest.fixture
def fresh(window):
    window.preferences._settings.remove("tour-seen")
    return window


def shown(window):
    return [each for each in window.findChildren(Tour) if each.isVisible()]


def test_the_tour_comes_once_by_itself(fresh):
    fresh.greet()
    (tour,) = shown(fresh)
    tour.leave()
    fresh.greet()
    assert shown(fresh) == []
    fresh.actions_["tour"].trigger()
    assert len(shown(fresh)) == 1


def test_work_that_was_lost_comes_before_the_tour(fresh, monkeypatch):
    monkeypatch.setattr(fresh, "offer_lost_work", lambda: True)
    fresh.greet()
    assert shown(fresh) == []
    assert not fresh.preferences.tour_seen


def test_keys_alone_go_through_the_five_cards(fresh, qtbot):
    fresh.canvas.setFocus()
    fresh.greet()
    (tour,) = shown(fresh)
    seen = []
    for _ in range(5):
        seen.append(tour.card.title.text())
        part, card = tour._part(), tour.card.geometry()
        assert tour.rect().contains(card)
        assert tour.stops[tour.place].beside is fresh.pane or not part.intersects(card)
        assert QApplication.focusWidget() is tour.card.next_button
        if tour.place < 4:
            qtbot.keyClick(QApplication.focusWidget(), Key.Key_Return)
    assert len(set(seen)) == 5
    qtbot.keyClick(QApplication.focusWidget(), Key.Key_Left)
    assert tour.place == 3
    qtbot.keyClick(QApplication.focusWidget(), Key.Key_Right)
    qtbot.keyClick(QApplication.focusWidget(), Key.Key_Return)
    assert shown(fresh) == []
    assert QApplication.focusWidget() is fresh.canvas


def test_notes_on_a_file_just_opened_come_when_the_tour_is_over(fresh, monkeypatch):
    seen = []
    monkeypatch.setattr(fresh, "show_notes", lambda: seen.append(len(shown(fresh))))
    fresh.greet()
    fresh.files.notes_arrived.emit()
    assert seen == []
    shown(fresh)[0].leave()
    assert seen == [0]
    fresh.files.notes_arrived.emit()
    assert seen == [0, 0]


def test_the_window_opens_no_larger_than_the_screen_has_room_for():
    assert first_size(QSize(1920, 1080)) == QSize(1440, 900)
    small = first_size(QSize(1280, 720))
    assert small.width() == 1280
    assert small.height() < 720


def test_tab_stays_within_the_card(fresh, qtbot):
    fresh.greet()
    (tour,) = shown(fresh)
    tour.step(1)
    stops = set()
    for _ in range(6):
        qtbot.keyClick(QApplication.focusWidget(), Key.Key_Tab)
        stops.add(QApplication.focusWidget())
    assert stops == {tour.card.leave_button, tour.card.back_button, tour.card.next_button}


def test_escape_leaves_the_tour(fresh, qtbot):
    fresh.greet()
    qtbot.keyClick(QApplication.focusWidget(), Key.Key_Escape)
    assert shown(fresh) == []


def test_the_tour_follows_the_size_of_the_window(fresh, qtbot):
    fresh.greet()
    (tour,) = shown(fresh)
    fresh.resize(1000, 700)
    qtbot.waitUntil(lambda: tour.size() == fresh.size())
    assert tour.rect().contains(tour.card.geometry())


def test_that_it_was_seen_is_kept(fresh, tmp_path):
    fresh.greet()
    fresh.preferences._settings.sync()
    assert QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat).value("tour-seen") == "true"
