"""Readiness while the work goes on: only what holds is shown, the rest is checked again, and the hand comes first."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QHelpEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QToolTip

from bladewise.findings import Severity
from bladewise.session import Session
from bladewise.window.canvas.marks import _LOOKS, MarkShape, look_of
from bladewise.window.canvas.reaches import Drawn
from bladewise.window.readiness.row import RuleHeading, SeverityHeading
from window.conftest import settle
from window.person import Key, Person

RED, BLUE = "#cc3311", "#0044aa"


@pytest.fixture
def four() -> Session:
    """Return two pairs of squares that overlap, a red one on the left, a blue one on the right."""
    session = Session.new("Four", 300, 100)
    for colour, x in ((RED, 10), (BLUE, 160)):
        session.do("draw-rectangle", x_mm=x, y_mm=10, width_mm=60, height_mm=60, fill=colour, name=f"Under {x}")
        session.do("draw-rectangle", x_mm=x + 40, y_mm=30, width_mm=60, height_mm=60, fill=colour, name=f"Over {x}")
    session._saved = session.history
    return session


@pytest.fixture
def window(make_window, four, qtbot):
    window = make_window(four)
    settle(window, qtbot)
    return window


def _id(window, name: str) -> str:
    return next(placed.leaf.id for placed in window.desk.job.walk() if placed.leaf.name == name)


def _move(window, name: str) -> None:
    window.desk.do_plain("move", on={"name": name}, dx_mm=1.0, dy_mm=0.0)


def test_what_is_not_about_the_change_stays_in_view_and_the_rest_stands_back(window, qtbot):
    desk, panel = window.desk, window.readiness
    assert len(panel.rows) == 2
    _move(window, "Over 10")
    assert not desk.is_checked
    assert panel.state.text() == "Checking…"
    (kept,) = desk.findings
    assert set(kept.shapes) == {_id(window, "Under 160"), _id(window, "Over 160")}
    assert [row.is_stale for row in panel.rows] == [finding is not kept for finding in (r.finding for r in panel.rows)]
    assert len(window.canvas.marks()) == 1, "no mark stands where nothing may be wrong any more"
    settle(window, qtbot)
    assert len(panel.rows) == 2
    assert not any(row.is_stale for row in panel.rows)


def test_a_remedy_that_may_no_longer_hold_does_nothing(window):
    _move(window, "Over 10")
    steps = len(window.desk.session.history.rows)
    stale = next(row for row in window.readiness.rows if row.is_stale)
    stale.remedy.click()
    assert len(window.desk.session.history.rows) == steps


def test_rows_that_say_the_same_stay_with_their_focus(window, qtbot):
    row = next(row for row in window.readiness.rows if "160" in row.accessibleName())
    row.setFocus()
    _move(window, "Over 10")
    settle(window, qtbot)
    assert row in window.readiness.rows
    assert row.hasFocus()


def test_no_check_runs_while_the_hand_is_busy_on_the_canvas(window, qtbot):
    canvas, check = window.canvas, window.desk.check
    qtbot.mousePress(canvas, Qt.MouseButton.MiddleButton, pos=QPoint(300, 300))
    _move(window, "Over 10")
    QTest.qWait(120)
    assert not check.worker.is_busy
    assert not window.desk.is_checked
    qtbot.mouseRelease(canvas, Qt.MouseButton.MiddleButton, pos=QPoint(300, 300))
    settle(window, qtbot)
    assert len(window.desk.findings) == 2


def test_the_check_of_an_edit_gives_way_to_the_next(window, qtbot):
    for _ in range(5):
        _move(window, "Over 10")
    _move(window, "Over 160")
    settle(window, qtbot)
    found = {finding.message for finding in window.desk.findings}
    assert any("overlap by 600 mm²" in each for each in found), "five steps of one mm: 15 mm × 40 mm"
    assert any("overlap by 760 mm²" in each for each in found)


def test_what_a_finding_reaches_over_is_drawn_when_it_is_known(window, qtbot):
    qtbot.waitUntil(lambda: all(window.desk.check.reaches))
    assert [len(reach.areas) for reach in window.desk.check.reaches] == [1, 1]
    assert len(window.canvas._drawn._areas) == 2
    window.canvas.repaint()


def test_a_click_on_a_mark_selects_its_row_and_leaves_the_view(window, qtbot):
    canvas, view = window.canvas, window.canvas.view
    mark = canvas.marks()[0]
    qtbot.mouseClick(canvas, Qt.MouseButton.LeftButton, pos=mark.place.toPoint())
    (row,) = (row for row in window.readiness.rows if row.is_current)
    assert window.desk.selection == set(row.finding.shapes)
    assert canvas.view == view
    assert canvas.marks()[-1].is_current


def test_a_mark_tells_its_sentence_and_its_remedy(window, monkeypatch):
    said = []
    monkeypatch.setattr(QToolTip, "showText", staticmethod(lambda _at, text, *_rest: said.append(text)))
    canvas = window.canvas
    at = canvas.marks()[0].place.toPoint()
    canvas.event(QHelpEvent(QHelpEvent.Type.ToolTip, at, canvas.mapToGlobal(at)))
    assert "overlap by 800 mm²" in said[0]
    assert "Merge the two into one piece" in said[0]


def test_the_list_and_the_marks_are_those_of_the_material_that_is_chosen(window, qtbot):
    person = Person(window, qtbot, None)
    red, blue = (next(chip for chip in window.strip.chips.values() if chip.title == name) for name in ("Red", "Blue"))
    person.clicks(red)
    panel = window.readiness
    assert [row.finding.shapes[0] for row in panel.rows] == [_id(window, "Over 10")]
    assert panel.filter_text.text() == "Only " + red.material.name
    assert len(window.canvas.marks()) == 1
    person.clicks(panel.show_all)
    assert len(panel.rows) == 2
    assert not blue.isChecked()
    assert not panel.filter.isVisible()


def test_chips_tell_how_many_and_how_bad(window):
    for chip in window.strip.chips.values():
        assert chip._found == {Severity.SPOILS: 1}
        assert chip.accessibleName().endswith("1 × will spoil the cut")


def test_all_that_is_safe_is_mended_step_by_step(window, qtbot):
    panel, history = window.readiness, window.desk.session.history
    assert panel.mend_all.text() == "Mend all 2 that are safe"
    panel.mend_all.click()
    settle(window, qtbot)
    qtbot.waitUntil(lambda: window.desk.is_ready)
    assert len(window.desk.session.history.rows) == len(history.rows) + 2
    assert "2 steps done; each can be undone by itself. Nothing is left." in window.bench.strip.text.text()
    window.desk.undo()
    settle(window, qtbot)
    assert len(window.desk.findings) == 1, "one step is undone, the other stays"


def test_findings_stand_under_their_harm_and_their_rule(make_window, qtbot):
    session = Session.new("Mixed", 200, 100)
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=60, height_mm=60, fill=RED)
    session.do("draw-rectangle", x_mm=50, y_mm=30, width_mm=60, height_mm=60, fill=RED)
    session.do("draw-ellipse", x_mm=150, y_mm=20, width_mm=1, height_mm=1, fill=RED)
    session._saved = session.history
    window = make_window(session)
    settle(window, qtbot)
    page = window.readiness.area.widget()
    assert [(head.severity, head.count) for head in page.findChildren(SeverityHeading)] == [
        (Severity.SPOILS, 1),
        (Severity.MAY_SPOIL, 1),
    ]
    heads = page.findChildren(RuleHeading)
    assert [head.fold.text() for head in heads] == ["Overlap", "Small piece"]
    heads[0].fold.setFocus()
    qtbot.keyClick(heads[0].fold, Key.Key_Left)
    assert [row.finding.rule for row in window.readiness.rows] == ["small-piece"]
    qtbot.keyClick(heads[0].fold, Key.Key_Right)
    assert [row.finding.rule for row in window.readiness.rows] == ["overlap", "small-piece"]


def test_f8_opens_what_is_folded_up(make_window, qtbot):
    session = Session.new("Dots", 300, 100)
    session.do("draw-ellipse", x_mm=5, y_mm=5, width_mm=1, height_mm=1, name="Dot")
    session.do("duplicate", on="all", columns=12, rows=1, gap_mm=4)
    session._saved = session.history
    window = make_window(session)
    settle(window, qtbot)
    assert window.readiness.rows == []
    qtbot.keyClick(window, Key.Key_F8)
    assert len(window.readiness.rows) == 12
    assert window.readiness.rows[0].is_current


def test_no_two_families_of_one_colour_share_a_mark():
    looks = [(look.shape, look.colour.name()) for look in _LOOKS.values()]
    assert len(set(looks)) == len(looks)
    assert {look.shape for look in _LOOKS.values()} >= set(MarkShape) - {MarkShape.ROUND}
    assert look_of("a rule to come").shape is MarkShape.ROUND


def test_a_narrow_bridge_shows_its_width_where_it_is(make_window, qtbot):
    session = Session.new("Neck", 100, 100)
    session.do(
        "draw-outline",
        points_mm=[10, 10, 30, 10, 30, 19.85, 40, 19.85, 40, 10, 60, 10, 60, 30, 40, 30, 40, 20.15, 30, 20.15, 30, 30,
                   10, 30],
        closed=True,
        fill=RED,
    )  # fmt: skip
    session._saved = session.history
    window = make_window(session)
    settle(window, qtbot)
    qtbot.waitUntil(lambda: any(window.desk.check.reaches))
    qtbot.keyClick(window, Key.Key_F8)
    canvas = window.canvas
    canvas.finish_painting()
    bare = canvas.grab().toImage()
    canvas._drawn = Drawn()
    plain = canvas.grab().toImage()
    mark = canvas.marks()[-1].place
    half = 0.15 * canvas.view.scale
    assert half > 2.0, "near enough to be seen"
    for side in (-1.0, 1.0):  # a bar at each side of the neck, level with it
        at = QPointF(mark.x() + 4.0, mark.y() + side * half).toPoint()
        near = [QPoint(at.x(), at.y() + dy) for dy in (-1, 0, 1)]
        assert any(bare.pixelColor(point) != plain.pixelColor(point) for point in near)
