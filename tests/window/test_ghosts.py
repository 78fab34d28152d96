"""The ghost follows the number and the number follows the hand."""

import math

import pytest
from PySide6.QtCore import QPoint, QPointF, QRectF, Qt

from bladewise.geometry.affine import Affine
from bladewise.geometry.path import circle
from bladewise.window.canvas.grip import Grip, grip_on
from bladewise.window.view import View
from window.conftest import settle
from window.person import Key, Person

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def outlining(squares, qtbot, monkeypatch):
    """Return a person with the numbers of a stepped outline of both squares open, and its ghost on the canvas."""
    person = Person(squares, qtbot, monkeypatch)
    person.selects_all()
    person.takes("stepped-outline")
    person.waits_for_ghost()
    qtbot.waitUntil(lambda: squares.canvas.grip is not None)
    return person


def pull(person, qtbot, by_px):
    """Pull the grip by so many pixels along its way, the button still down."""
    canvas = person.window.canvas
    grip = canvas.grip
    start = grip.place(canvas.view).toPoint()
    qtbot.mousePress(canvas, LEFT, pos=start)
    for part in (0.4, 1.0):
        way = QPoint(round(by_px * part * grip.across), round(by_px * part * grip.down))
        qtbot.mouseMove(canvas, start + way)
    return start + way


def distance(person):
    return person.window.bench.form.fields["distance_mm"].read()


def test_the_number_follows_the_hand_out_and_back(outlining, qtbot):
    window = outlining.window
    canvas = window.canvas
    before = distance(outlining)
    end = pull(outlining, qtbot, 60)
    moved = 60 / canvas.view.scale
    assert distance(outlining) == pytest.approx(before + moved, abs=0.2)
    assert canvas.grip.label
    qtbot.mouseRelease(canvas, LEFT, pos=end)
    assert canvas.grip.label == ""
    grown = distance(outlining)
    qtbot.waitUntil(lambda: window.bench._ready is not None and not window.desk.ghosts.is_busy, timeout=10_000)
    end = pull(outlining, qtbot, -30)
    qtbot.mouseRelease(canvas, LEFT, pos=end)
    assert distance(outlining) == pytest.approx(grown - 30 / canvas.view.scale, abs=0.2)
    chosen = distance(outlining)
    outlining.enters()
    row = window.desk.session.history.rows[-1]
    assert row.entry.step.record.distance_mm == pytest.approx(chosen)


def test_the_grip_follows_the_number(outlining, qtbot):
    canvas = outlining.window.canvas
    before = canvas.grip
    outlining.fills(distance_mm="9 mm")
    qtbot.waitUntil(lambda: canvas.grip is not None and abs(canvas.grip.x_mm - before.x_mm) > 5.0)
    assert canvas.grip.x_mm - before.x_mm == pytest.approx(9.0 - 3.0, abs=0.3)


def test_several_steps_are_pulled_by_the_outermost(outlining, qtbot):
    canvas = outlining.window.canvas
    outlining.fills(steps="3")
    qtbot.waitUntil(lambda: canvas.grip is not None and canvas.grip.x_mm > 118.0)
    before = distance(outlining)
    end = pull(outlining, qtbot, 60)
    qtbot.mouseRelease(canvas, LEFT, pos=end)
    assert distance(outlining) == pytest.approx(before + 60 / canvas.view.scale / 3.0, abs=0.2)


def test_no_distance_less_than_the_least_can_be_pulled(outlining, qtbot):
    end = pull(outlining, qtbot, -2000)
    qtbot.mouseRelease(outlining.window.canvas, LEFT, pos=end)
    assert distance(outlining) == pytest.approx(0.01)


def test_a_sketch_shows_at_once_and_the_step_itself_takes_its_place(outlining, qtbot):
    window = outlining.window
    shown = []
    window.desk.ghost_changed.connect(lambda job, changed: shown.append((job, changed)))
    outlining.fills(distance_mm="5")
    qtbot.waitUntil(lambda: window.bench._ready is not None and window.bench._ready[0].record.distance_mm == 5.0)
    sketches = [changed for job, changed in shown if job is not None and any("sketch" in each for each in changed)]
    assert sketches
    assert shown[-1][0] is window.bench._ready[2].job


def test_only_the_latest_of_numbers_typed_in_haste_is_shown_in_the_end(outlining, qtbot):
    window = outlining.window
    for text in ("2", "20", "20.5", "4"):
        outlining.fills(distance_mm=text)
    qtbot.waitUntil(lambda: window.bench._ready is not None and window.bench._ready[0].record.distance_mm == 4.0)
    qtbot.waitUntil(lambda: not window.desk.ghosts.is_busy and not window.desk.sketches.is_busy)
    assert window.bench._ready[0].record.distance_mm == 4.0
    box = window.canvas._ghost.made_box()
    assert box[0] == pytest.approx(6.0, abs=0.05)
    outlining.fills(distance_mm="8")
    outlining.fills(distance_mm="4")
    qtbot.waitUntil(lambda: not window.desk.ghosts.is_busy and not window.desk.sketches.is_busy)
    assert window.canvas._ghost.made_box()[0] == pytest.approx(6.0, abs=0.05)


def test_leaving_takes_ghost_and_grip_away(outlining, qtbot):
    outlining.fills(distance_mm="5")
    outlining.presses(Key.Key_Escape)
    settle(outlining.window, qtbot)
    qtbot.waitUntil(lambda: not outlining.window.desk.sketches.is_busy)
    assert not outlining.window.canvas.has_ghost
    assert outlining.window.canvas.grip is None


WINDOW = QRectF(0, 0, 800, 600)
VIEW = View(4.0, 0.0, 0.0)


def test_a_grip_points_the_way_its_outline_grows():
    ring = circle((100, 75), 40)
    grip = grip_on(ring, VIEW, WINDOW, inward=False)
    out = math.hypot(grip.x_mm - 100, grip.y_mm - 75)
    assert out == pytest.approx(40.0, abs=0.1 / VIEW.scale)
    assert (grip.across, grip.down) == pytest.approx(((grip.x_mm - 100) / 40, (grip.y_mm - 75) / 40), abs=0.05)
    inward = grip_on(ring, VIEW, WINDOW, inward=True)
    assert (inward.x_mm - 100) * inward.across + (inward.y_mm - 75) * inward.down < 0.0
    assert grip_on(ring.reversed(), VIEW, WINDOW, inward=False).across == pytest.approx(grip.across)


def test_a_grip_is_put_where_the_outline_is_seen():
    ring = circle((100, 75), 40)
    near = View(40.0, 55.0, 70.0)
    grip = grip_on(ring, near, WINDOW, inward=False)
    assert WINDOW.contains(grip.place(near))
    assert grip_on(ring, View(40.0, 300.0, 300.0), WINDOW, inward=False) is None
    assert grip_on(ring.transformed(Affine.scaled(0.0)), VIEW, WINDOW, inward=False) is None


def test_a_grip_is_taken_hold_of_within_a_finger_s_width():
    grip = Grip(10.0, 10.0, 1.0, 0.0)
    assert grip.is_at(VIEW, QPointF(48.0, 44.0))
    assert not grip.is_at(VIEW, QPointF(60.0, 40.0))
    assert grip.cursor is Qt.CursorShape.SizeHorCursor
    assert Grip(0, 0, 0.0, -1.0).cursor is Qt.CursorShape.SizeVerCursor
