"""Bridges of a stencil in the hand: dragged round their islands, added, taken away; the step says where they are."""

from __future__ import annotations

import math

import pytest
from PySide6.QtCore import Qt

from bladewise import operations
from bladewise.session import Session
from bladewise.window.canvas.handiwork import Modifiers
from bladewise.window.materials.pull_bridges import PullBridges, _middle


@pytest.fixture
def stencil(make_window, qtbot):
    session = Session.new("Stencil", 200, 200)
    session.do("draw-rectangle", x_mm=20, y_mm=20, width_mm=160, height_mm=160, fill="#cc3311", name="panel")
    session.do("draw-ellipse", x_mm=60, y_mm=60, width_mm=80, height_mm=80, fill="#000000", name="o")
    session.do("draw-ellipse", x_mm=80, y_mm=80, width_mm=40, height_mm=40, fill="#000000", name="hole")
    session.do("cut-out", on={"name": ["o", "hole"]})
    session.do("delete", on={"name": ["hole"]})
    window = make_window(session)
    window.desk.select_all()
    window.bench.open("stencil")
    work = window.canvas.work
    assert isinstance(work, PullBridges)
    qtbot.waitUntil(lambda: len(work.bars) == 2, timeout=20_000)
    return window, work


def _bearing(bar):
    x, y = _middle(bar)
    return math.degrees(math.atan2(y - 100.0, x - 100.0)) % 360.0


def _step(window):
    return window.bench.form.step(window.desk.on_selection())


def test_islands_and_bridges_are_found_by_themselves(stencil):
    window, work = stencil
    assert len(work.ground) == 1
    assert sorted(round(_bearing(bar)) for bar in work.bars) == [90, 270]
    assert _step(window).record.bridges_mm == ()


def test_a_bridge_is_dragged_round_its_island(stencil, qtbot):
    window, work = stencil
    view = window.canvas.view
    work.press(view.to_px(*_middle(work.bars[0])), Modifiers.NoModifier)
    work.move(view.to_px(110.0, 70.0), Modifiers.NoModifier)
    upright = work.bars[0]
    assert upright.start[0] == pytest.approx(110.0, abs=0.5)  # level with the island the angle holds
    assert upright.end[0] == pytest.approx(upright.start[0])
    assert max(upright.start[1], upright.end[1]) < 100.0
    work.move(view.to_px(130.0, 100.0), Modifiers.NoModifier)
    work.release(view.to_px(130.0, 100.0), Modifiers.NoModifier)
    beside = work.bars[0]
    assert _bearing(beside) == pytest.approx(0.0, abs=1.0)  # beside it the bridge runs from its middle to the hand
    assert beside.end[1] == pytest.approx(beside.start[1], abs=0.1)
    numbers = _step(window).record.bridges_mm
    assert len(numbers) == 8
    assert numbers[:2] == pytest.approx(beside.start, abs=1e-3)


def test_keys_turn_add_and_take_away(stencil, qtbot):
    window, work = stencil
    canvas = window.canvas
    canvas.setFocus()
    qtbot.keyClick(canvas, Qt.Key.Key_Tab)
    assert work.chosen == 0
    before = _bearing(work.bars[0])
    for _ in range(9):
        qtbot.keyClick(canvas, Qt.Key.Key_Right)
    assert (_bearing(work.bars[0]) - before) % 360.0 == pytest.approx(45.0, abs=2.0)
    qtbot.keyClick(canvas, Qt.Key.Key_Insert)
    assert len(work.bars) == 3
    qtbot.keyClick(canvas, Qt.Key.Key_Delete)
    assert len(work.bars) == 2
    assert {"panel", "o"} <= {placed.leaf.name for placed in window.desk.job.walk()}  # Delete did not reach the art


def test_the_last_bridge_of_an_island_stays(stencil):
    _, work = stencil
    work.choose(0)
    work.remove()
    assert len(work.bars) == 1
    work.choose(0)
    work.remove()
    assert len(work.bars) == 1


def test_a_double_click_adds_one_there_and_the_step_keeps_all(stencil, qtbot):
    window, work = stencil
    work.double_click(window.canvas.view.to_px(150.0, 150.0), Modifiers.NoModifier)
    assert len(work.bars) == 3
    assert any(abs(_bearing(bar) - 45.0) < 3.0 for bar in work.bars)
    made = operations.apply(window.desk.job, _step(window))
    assert made.reports[0] == "1 island found, 3 bridges put in."


def test_all_go_back_to_come_by_themselves(stencil, qtbot):
    window, work = stencil
    work.choose(0)
    work.turn(40.0)
    field = window.bench.form.fields["bridges_mm"]
    assert field.told.text() == "2 by hand"
    field.back.click()
    assert _step(window).record.bridges_mm == ()
    qtbot.waitUntil(lambda: sorted(round(_bearing(bar)) for bar in work.bars) == [90, 270], timeout=20_000)


def test_escape_lets_go_of_the_bridge_then_of_the_verb(stencil, qtbot):
    window, work = stencil
    window.canvas.setFocus()
    work.choose(1)
    qtbot.keyClick(window.canvas, Qt.Key.Key_Escape)
    assert work.chosen == -1
    assert window.bench.operation is not None
    qtbot.keyClick(window.canvas, Qt.Key.Key_Escape)
    assert window.bench.operation is None
    assert window.canvas.work is None
