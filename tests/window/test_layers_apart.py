"""Layers drawn apart: numbered in the order in which they are stuck, and nothing can be edited there."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt

from bladewise import operations
from bladewise.document.exploding import by_material
from bladewise.operations.application import applications_of
from bladewise.session import Session


def _job():
    session = Session.new("Three", 200, 100)
    session.do("draw-rectangle", x_mm=0, y_mm=0, width_mm=100, height_mm=60, fill="#ffcc00")
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=20, height_mm=20, fill="#cc3311")
    session.do("draw-rectangle", x_mm=60, y_mm=10, width_mm=20, height_mm=20, fill="#0072b2")
    return session


@pytest.fixture
def apart(make_window, qtbot):
    window = make_window(_job())
    window.actions_["layers-apart"].trigger()
    view = window.pane.apart
    qtbot.waitUntil(lambda: bool(view.turns), timeout=10_000)
    return window, view


def test_layers_that_nowhere_meet_are_stuck_at_once():
    assert list(applications_of(by_material(_job().job)).values()) == [0, 1, 1]


def test_what_only_touches_is_stuck_one_after_the_other():
    job = _job().job
    seen = operations.apply(job, operations.step("separate-colours", {"how": "seen"})).job
    assert sorted(applications_of(by_material(seen)).values()) == [0, 1, 1]


def test_each_vinyl_has_its_number_and_name(apart):
    _, view = apart
    assert [each.split(".")[0] for each in view.names()] == ["1", "2", "2"]
    assert view.told.text() == "3 layers, stuck in 2 goes"


def test_the_slider_takes_them_apart_until_no_two_overlap(apart):
    _, view = apart
    view.slider.setValue(100)
    boxes = [view._lifted(each) for each in view.sheets]
    for number, low in enumerate(boxes):
        for high in boxes[number + 1 :]:
            assert high[0] >= low[2] - 1e-6 or high[3] <= low[1] + 1e-6
    view.slider.setValue(0)
    assert [view._lifted(each) for each in view.sheets] == [each.box for each in view.sheets]


def test_nothing_is_edited_or_selected_there(apart, qtbot):
    window, view = apart
    job, selection = window.desk.job, window.desk.selection
    for key in (Qt.Key.Key_Left, Qt.Key.Key_Up, Qt.Key.Key_Up, Qt.Key.Key_Right, Qt.Key.Key_Down, Qt.Key.Key_E):
        qtbot.keyClick(view, key)
    qtbot.mousePress(view, Qt.MouseButton.LeftButton, pos=QPoint(300, 200))
    qtbot.mouseMove(view, QPoint(340, 260))
    qtbot.mouseRelease(view, Qt.MouseButton.LeftButton, pos=QPoint(340, 260))
    assert (window.desk.job, window.desk.selection) == (job, selection)


def test_keys_choose_a_layer_and_escape_leaves(apart, qtbot):
    window, view = apart
    qtbot.keyClick(view, Qt.Key.Key_Up)
    assert view.chosen == 0
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    assert view.chosen == -1
    assert window.pane.apart is view
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    assert window.pane.apart is None
    assert window.canvas.isVisible()


def test_it_follows_the_job(apart, qtbot):
    window, view = apart
    window.desk.undo()
    assert len(view.sheets) == 2


def test_every_sheet_gets_its_picture_however_many_there_are(make_window, qtbot, monkeypatch):
    monkeypatch.setattr("bladewise.window.materials.layers_apart._SLICE_S", 1e-9)
    window = make_window(_job())
    window.actions_["layers-apart"].trigger()
    view = window.pane.apart
    qtbot.waitUntil(lambda: len(view._pictures) == 3, timeout=10_000)
    view.slider.setValue(10)
    qtbot.waitUntil(lambda: {each.asked for each in view._pictures.values()} == {view.view().scale}, timeout=10_000)
