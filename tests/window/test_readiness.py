"""Readiness: what is wrong, where, and the step that mends it; and when the job may go to the cutter."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtWidgets import QPushButton

from bladewise.findings import Finding, Remedy, Severity
from bladewise.session import Session
from bladewise.window.readiness.mending import alike, together
from bladewise.window.readiness.panel import AT_FIRST
from bladewise.window.readiness.row import RuleHeading
from window.conftest import settle
from window.person import Ctrl, Key, Person, Shift


@pytest.fixture
def person(squares, qtbot, monkeypatch) -> Person:
    return Person(squares, qtbot, monkeypatch)


def _strokes(count: int) -> Session:
    session = Session.new("Strokes", 300, 100)
    for number in range(count):
        session.do("draw-ellipse", x_mm=5 + 12 * number, y_mm=20, width_mm=8, height_mm=8, name=f"Ring {number}")
    session.do("restyle", on="all", no_fill=True, stroke="#cc3311", stroke_width_mm=1.0)
    session._saved = session.history
    return session


def test_an_overlap_is_told_in_the_operators_words(squares):
    (row,) = squares.readiness.rows
    assert "“Right” and “Left” overlap by 800 mm²" in row.finding.message
    assert row.accessibleName().startswith("Will spoil the cut: ")
    assert squares.readiness.state.text() == "1 finding"
    assert not squares.desk.is_ready


def test_a_click_goes_to_the_place_and_selects_what_is_meant(person):
    window = person.window
    (row,) = window.readiness.rows
    person.clicks(row)
    assert window.desk.selection == set(row.finding.shapes)
    assert row.is_current
    middle = window.canvas.window_box().center()
    x, y = window.canvas.view.to_mm(middle.x(), middle.y())
    assert (x, y) == pytest.approx((row.finding.x_mm, row.finding.y_mm), abs=1.0)


def test_f8_goes_to_the_next_trouble_spot(person):
    person.presses(Key.Key_F8)
    assert person.window.readiness.rows[0].is_current


def test_the_remedy_adds_the_step_and_the_job_is_ready(person):
    window = person.window
    person.clicks(window.readiness.rows[0].remedy)
    person.waits()
    assert window.desk.session.history.rows[-1].entry.step.do == "merge"
    assert window.desk.is_ready
    assert window.readiness.export_button.isVisible()
    assert window.strip.chips["colour-cc3311"].figures_text().startswith("1 piece")


def test_a_change_is_checked_again(person):
    window = person.window
    person.clicks(window.readiness.rows[0].remedy)
    person.waits()
    assert window.desk.is_ready
    person.presses(Key.Key_Z, Ctrl)
    assert not window.desk.is_ready, "nothing is ready before it was checked"
    assert window.readiness.state.text() == "Checking…"
    person.waits()
    assert len(window.readiness.rows) == 1


def test_one_button_mends_all_findings_of_a_kind(make_window, qtbot):
    window = make_window(_strokes(5))
    settle(window, qtbot)
    (heading,) = window.readiness.area.widget().findChildren(RuleHeading)
    assert heading.mend.text() == "Mend all 5"
    heading.mend.click()
    settle(window, qtbot)
    assert [row.entry.step.do for row in window.desk.session.history.rows][-1] == "stroke-to-shape"
    assert window.desk.is_ready


def test_a_long_list_shows_its_beginning_and_the_rest_on_demand(make_window, qtbot):
    session = Session.new("Dots", 600, 300)
    session.do("draw-ellipse", x_mm=5, y_mm=5, width_mm=1, height_mm=1, name="Dot")
    session.do("duplicate", on="all", columns=AT_FIRST + 10, rows=1, gap_mm=4)
    session._saved = session.history
    window = make_window(session)
    settle(window, qtbot)
    assert len(window.desk.findings) == AT_FIRST + 10
    assert window.readiness.rows == [], "so many of one kind are told as a count"
    (heading,) = window.readiness.area.widget().findChildren(RuleHeading)
    assert heading.fold.accessibleName() == f"{AT_FIRST + 10} small pieces, closed"
    heading.fold.click()
    assert heading.fold.accessibleName() == f"{AT_FIRST + 10} small pieces, open"
    assert len(window.readiness.rows) == AT_FIRST
    more = next(each for each in window.readiness.area.widget().findChildren(QPushButton) if "more" in each.text())
    assert more.text() == "Show 10 more"
    more.click()
    assert len(window.readiness.rows) == AT_FIRST + 10


def test_an_empty_sheet_is_not_called_ready(window, qtbot):
    settle(window, qtbot)
    assert not window.desk.is_ready
    assert window.readiness.rows == []


def _finding(shape: str, do: str | None, **values: object) -> Finding:
    remedy = Remedy("Mend it", do, {"on": {"id": shape}, **values})
    return Finding("rule", Severity.SPOILS, (shape,), 0.0, 0.0, 1.0, "mm", "Wrong.", remedy)


def test_findings_are_mended_together_only_by_the_same_step_with_the_same_numbers():
    same = [_finding("a", "drop-specks", least_mm2=4.0), _finding("b", "drop-specks", least_mm2=4.0)]
    other = _finding("c", "drop-specks", least_mm2=5.0)
    assert alike([*same, other, _finding("d", None)]) == [same, [other]]
    assert together(same) == {"least_mm2": 4.0, "on": ["a", "b"]}
    assert together(same[:1]) is None
    assert alike([_finding("a", "merge"), _finding("b", "merge")]) == [], "merging all would join strangers"


def test_the_places_of_trouble_are_stepped_through_forward_and_back(make_window, qtbot):
    session = Session.new("Eight", 200, 100)
    session.do(
        "draw-outline",
        points_mm=[10, 10, 60, 60, 110, 10, 160, 60, 160, 10, 110, 60, 60, 10, 10, 60],
        closed=True,
        fill="#cc3311",
    )
    window = make_window(session)
    settle(window, qtbot)
    (finding,) = (each for each in window.desk.findings if each.rule == "crossing")
    places = finding.all_places
    remedy = _finding("a", "drop-specks").remedy
    twins = [replace(finding, shapes=(name,), remedy=remedy) for name in "ab"]
    text, mended = window.readiness._mend_all(twins)
    assert (text, mended) == (f"Mend all {2 * len(places)}", twins), "the button counts what the heading counts"
    assert len(places) > 1
    assert len(places) == finding.measure
    said = window.bench.strip.text
    stops = []
    for _ in places:
        qtbot.keyClick(window, Key.Key_F8)
        mark = window.canvas.marks()[-1]
        assert mark.is_current
        stops.append(window.canvas.view.to_mm(mark.place.x(), mark.place.y()))
        middle = window.canvas.window_box().center()
        assert (mark.place - middle).manhattanLength() < 2.0
    assert np.allclose(stops, places, atol=1e-6)
    assert f"place {len(places)} of {len(places)}" in said.text()
    assert window.desk.selection == frozenset(finding.shapes)
    qtbot.keyClick(window, Key.Key_F8, Shift)
    assert f"place {len(places) - 1} of {len(places)}" in said.text()
    for _ in range(len(places) - 1):
        qtbot.keyClick(window, Key.Key_F8, Shift)
    assert f"place {len(places)} of {len(places)}" in said.text(), "round to the last"


def test_the_way_of_the_knife_is_shown_by_key_and_brings_its_view(squares, qtbot):
    canvas = squares.canvas
    assert canvas.view_mode == "fill"
    qtbot.keyClick(squares, Key.Key_F5, Shift)
    assert canvas.view_mode == "outline"
    assert canvas.signs.direction
    qtbot.keyClick(squares, Key.Key_F5, Shift)
    assert canvas.view_mode == "outline"
    assert not canvas.signs.direction
    qtbot.keyClick(squares, Key.Key_F5, Ctrl)
    assert canvas.signs.hidden
