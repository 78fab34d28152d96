"""Turning, leaning and scaling by grips about a pivot; the same by numbers on the bench. Our own design."""

import pytest
from PySide6.QtCore import QEvent, Qt

from bladewise.operations.arrange import Anchor
from bladewise.window.canvas import grips
from bladewise.window.canvas.grips import Grip
from bladewise.window.canvas.snapping import SnapRules
from window.canvas_hand import CTRL, SHIFT, near
from window.conftest import settle
from window.person import Key, Person


@pytest.fixture
def held(canvas, wanted):
    """Return a canvas with the square selected, from 10 to 40 both ways, snapping off."""
    canvas.snap_rules = SnapRules(frozenset())
    canvas.set_selection(frozenset({"square"}))
    return canvas


def place_of(canvas, grip):
    places = dict(grips.grip_places(canvas.view, canvas.selection_box(), canvas.pivot_mm()))
    return canvas.view.to_mm(places[grip].x(), places[grip].y())


def test_the_curved_arrow_turns_about_the_middle_in_one_step(held, hand, wanted):
    hand.press(*place_of(held, Grip.TURN), modifiers=SHIFT)
    hand.drag_to(60, 45, modifiers=SHIFT)
    held.grab()
    assert wanted == []
    hand.release(60, 45, modifiers=SHIFT)
    (step,) = wanted
    assert step.do == "rotate"
    assert step.record.angle_deg % 15 == 0
    assert step.record.anchor is Anchor.CENTRE
    box = held.selection_box()
    assert ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2) == pytest.approx((25, 25))


def test_a_pivot_dragged_to_a_corner_is_what_art_turns_about_until_something_else_is_selected(held, hand, wanted):
    held.snap_rules = SnapRules()
    hand.drag((25, 25), (39.8, 39.9), modifiers=CTRL)
    assert held.pivot == (40.0, 40.0)
    assert wanted == []
    held.snap_rules = SnapRules(frozenset())
    x, y = place_of(held, Grip.TURN)
    hand.drag((x, y), (40 + (40 - y), 40 + (x - 40)), modifiers=SHIFT)
    assert wanted[0].record.about_x_mm == 40.0
    assert wanted[0].record.angle_deg == 90.0
    assert near(held.selection_box(), (40, 10, 70, 40), 1e-6)
    held.set_selection(frozenset({"blob"}))
    assert held.pivot is None


def test_a_double_click_brings_the_pivot_back(held, hand):
    held.set_pivot((30.0, 20.0))
    hand.double_click(30.0, 20.0)
    assert held.pivot is None
    assert held.pivot_mm() == (25.0, 25.0)


def test_without_ctrl_the_middle_of_art_is_taken_hold_of_to_move_it(held, hand, wanted):
    hand.drag((25, 25), (35, 25))
    assert [each.do for each in wanted] == ["move"]


def test_slanted_bars_lean_across_and_down(held, hand, wanted):
    x, y = place_of(held, Grip.ACROSS)
    hand.drag((x, y), (x + 15, y))  # the top side, 15 above the pivot, goes 15 to the right
    x, y = place_of(held, Grip.DOWN)
    hand.drag((x, y), (x, y + 3))
    assert [each.do for each in wanted] == ["skew", "skew"]
    assert wanted[0].record.across_deg == pytest.approx(45.0, abs=0.3)
    assert wanted[0].record.down_deg == 0.0
    assert wanted[1].record.down_deg > 0.0


def test_escape_while_turning_leaves_everything(held, hand, wanted):
    hand.press(*place_of(held, Grip.TURN))
    hand.drag_to(70, 60)
    hand.key(Qt.Key.Key_Escape)
    hand.release(70, 60)
    assert wanted == []
    assert near(held.selection_box(), (10, 10, 40, 40))


def test_ctrl_scales_about_the_pivot(held, hand, wanted):
    held.set_pivot((10.0, 40.0))
    hand.drag((40, 10), (55, -5), modifiers=CTRL)
    assert near(held.selection_box(), (10, -5, 55, 40), 0.3)


def test_a_handle_snaps_to_other_art(held, hand, wanted):
    held.snap_rules = SnapRules()
    hand.drag((40, 25), (79.7, 50.0))
    assert held.selection_box()[2] == pytest.approx(80.0, abs=1e-9)
    assert held.selection_box()[3] == pytest.approx(40.0)


def test_what_a_grip_does_is_said_when_the_pointer_is_over_it(held, hand):
    said = []
    held.hint_changed.connect(said.append)
    hand.send(QEvent.Type.MouseMove, held.view.to_px(*place_of(held, Grip.TURN)))
    assert "turn about the pivot" in said[-1]


@pytest.fixture
def person(squares, qtbot, monkeypatch):
    person = Person(squares, qtbot, monkeypatch)
    person.clicks_art(20, 20)
    return person


def types(person, qtbot, name, text):
    line = person.window.bench.place.fields[name].line
    person.types(line, text)
    qtbot.keyClick(line, Key.Key_Return)
    settle(person.window, qtbot)


def left(person):
    return next(each for each in person.window.desk.job.shapes() if each.name == "Left")


def test_place_and_size_are_typed_with_units_and_sums(person, qtbot):
    place = person.window.bench.place
    assert place.isVisible()
    assert place.fields["x_mm"].line.text() == "40 mm"
    types(person, qtbot, "x_mm", "=210/3")
    assert left(person).bounds == pytest.approx((40, 10, 100, 70))
    types(person, qtbot, "width_mm", "3/8in")
    assert left(person).bounds == pytest.approx((70 - 4.7625, 40 - 4.7625, 70 + 4.7625, 40 + 4.7625))
    types(person, qtbot, "angle_deg", "45")
    assert person.window.desk.session.history.rows[-1].entry.step.do == "rotate"
    assert place.fields["angle_deg"].line.text() == "0°"


def test_without_the_lock_only_one_side_changes_about_the_point_picked(person, qtbot):
    place = person.window.bench.place
    person.clicks(place.picker.buttons[Anchor.TOP_LEFT])
    assert person.window.canvas.pivot_mm() == pytest.approx((10.0, 10.0))
    person.clicks(place.lock)
    types(person, qtbot, "height_mm", "20")
    assert left(person).bounds == pytest.approx((10, 10, 70, 30))
    assert place.fields["y_mm"].line.text() == "10 mm"


def test_what_strokes_do_is_one_choice_for_handles_and_numbers(person, qtbot):
    window = person.window
    person.clicks(window.bench.place.strokes)
    assert not window.canvas.scale_strokes
    types(person, qtbot, "width_mm", "30")
    assert window.desk.session.history.rows[-1].entry.step.record.scale_strokes is False
    box = left(person).bounds
    person.drags_art((box[2], box[3]), (box[2] + 10, box[3] + 10))
    settle(window, qtbot)
    assert window.desk.session.history.rows[-1].entry.step.do == "scale"
    assert window.desk.session.history.rows[-1].entry.step.record.scale_strokes is False


def test_a_bad_number_is_refused_in_place(person, qtbot):
    before = len(person.window.desk.session.history.rows)
    types(person, qtbot, "width_mm", "wide")
    assert len(person.window.desk.session.history.rows) == before
    assert "wide" in person.window.bench.strip.text.text()
    assert person.window.bench.place.fields["width_mm"].line.property("wrong") == "true"


def test_the_numbers_stay_to_the_last_digit_where_nothing_was_typed(person, qtbot):
    person.window.desk.do_plain("move", on=[left(person).id], dx_mm=1 / 3, dy_mm=0.0)
    before = left(person).bounds
    line = person.window.bench.place.fields["x_mm"].line
    qtbot.keyClick(line, Key.Key_Return)
    assert left(person).bounds == before


def test_nothing_selected_has_no_place_and_every_point_of_the_picker_a_name(person, qtbot):
    place = person.window.bench.place
    names = {button.accessibleName() for button in place.picker.buttons.values()}
    assert len(names) == 9
    person.window.desk.select(())
    assert not place.isVisible()


def test_escape_in_a_field_goes_back_to_the_canvas(person, qtbot):
    line = person.window.bench.place.fields["x_mm"].line
    person.types(line, "99")
    qtbot.keyClick(line, Key.Key_Escape)
    assert line.text() == "40 mm"
    assert person.window.canvas.hasFocus()
