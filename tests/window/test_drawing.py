"""Drawing by hand on the canvas: drags, clicks, keys; what is drawn is exact and one step. Our own design."""

import math

import pytest
from PySide6.QtCore import QEvent, QPointF, Qt

from bladewise.document import MaterialKind
from bladewise.geometry.path import SegmentKind
from bladewise.session import Session
from bladewise.window.canvas.guides import SettingGuide
from bladewise.window.canvas.snapping import SnapRules
from window.canvas_hand import ALT, CTRL, LEFT, SHIFT, Hand
from window.conftest import settle

Key = Qt.Key


@pytest.fixture
def window(make_window):
    window = make_window(Session.new("Sheet", 200, 100))
    window.canvas.snap_rules = SnapRules(frozenset())
    return window


@pytest.fixture
def hand(window, qtbot):
    return Hand(qtbot, window.canvas)


def steps(window):
    return [row.entry.step.do for row in window.desk.session.history.rows]


def only(window):
    (shape,) = window.desk.job.shapes()
    return shape


def test_a_rectangle_is_there_when_the_button_goes_up_and_its_numbers_stay_to_be_changed(window, hand, qtbot):
    window.open_verb("draw-rectangle")
    hand.press(20, 20)
    hand.drag_to(80, 60)
    assert window.bench.form.fields["width_mm"].line.text() == "60 mm"
    assert not window.desk.job.shapes()
    hand.release(80, 60)
    assert steps(window) == ["draw-rectangle"]
    assert only(window).bounds == pytest.approx((20, 20, 80, 60), abs=1e-6)
    line = window.bench.form.fields["radius_mm"].line
    line.selectAll()
    qtbot.keyClicks(line, "5")
    qtbot.keyClick(line, Key.Key_Return)
    settle(window, qtbot)
    assert steps(window) == ["draw-rectangle"]
    assert (only(window).path.kinds == SegmentKind.ARC).sum() == 4
    assert window.bench.operation is None


def test_several_are_drawn_one_after_the_other_until_escape(window, hand):
    window.open_verb("draw-ellipse")
    hand.drag((20, 20), (50, 40))
    hand.drag((60, 20), (90, 40))
    hand.key(Key.Key_Escape)
    assert steps(window) == ["draw-ellipse", "draw-ellipse"]
    assert window.bench.operation is None
    assert window.canvas.work is None


def test_shift_makes_a_circle_and_ctrl_draws_from_the_middle(window, hand):
    window.open_verb("draw-ellipse")
    hand.drag((50, 50), (70, 55), modifiers=SHIFT)
    box = only(window).bounds
    assert (box[2] - box[0], box[3] - box[1]) == pytest.approx((20, 20), abs=1e-6)
    window.desk.undo()
    hand.drag((50, 50), (70, 55), modifiers=CTRL)
    assert only(window).bounds == pytest.approx((30, 45, 70, 55), abs=1e-6)


def test_a_box_is_given_by_two_clicks_or_by_keys_alone(window, hand, qtbot):
    window.open_verb("draw-rectangle")
    window.canvas.setFocus()
    hand.click(30, 30)
    hand.send(QEvent.Type.MouseMove, hand.at(50, 50))
    hand.click(50, 50)
    assert only(window).bounds == pytest.approx((30, 30, 50, 50), abs=1e-6)
    work = window.canvas.work
    work._raw, work._by_keys = (99.0, 10.0), True
    for key in (Key.Key_Right, Key.Key_Return, *[Key.Key_Right] * 12, *[Key.Key_Down] * 3, Key.Key_Return):
        hand.key(key)
    assert window.desk.job.shapes()[-1].bounds == pytest.approx((100, 10, 112, 13), abs=1e-6)


def test_a_star_is_pulled_out_of_its_centre_and_its_tip_follows_the_hand(window, hand):
    window.open_verb("draw-star")
    hand.drag((100, 50), (100, 20))
    star = only(window)
    assert star.path.points[0, 0] == pytest.approx([100, 20], abs=1e-6)
    assert math.dist(star.path.points[1, 0], (100, 50)) == pytest.approx(30 * 9 / 20, abs=1e-3)
    window.bench.leave()
    window.open_verb("draw-polygon")
    hand.drag((40, 50), (47, 25), modifiers=SHIFT)
    record = window.desk.session.history.rows[-1].entry.step.record
    assert record.angle_deg == 15.0
    assert record.sides == 6


def test_a_line_keeps_to_45_degrees_with_shift(window, hand):
    window.open_verb("draw-line")
    hand.drag((20, 20), (60, 58), modifiers=SHIFT)
    (start, *_, end) = only(window).path.points[0].tolist()
    assert end[0] - start[0] == pytest.approx(end[1] - start[1])
    assert only(window).style.stroke is not None


def test_a_path_has_corners_where_clicked_and_curves_where_dragged_and_closes_on_its_first_node(window, hand):
    window.open_verb("draw-path")
    hand.click(20, 80)
    hand.drag((60, 20), (80, 20))
    hand.click(100, 80)
    assert not window.desk.job.shapes()
    hand.click(20, 80)
    path = only(window).path
    assert path.closed.all()
    assert path.kinds.tolist() == [SegmentKind.CUBIC, SegmentKind.CUBIC, SegmentKind.LINE]
    assert path.points[0, 2] == pytest.approx([40, 20], abs=1e-6)
    assert path.points[1, 1] == pytest.approx([80, 20], abs=1e-6)


def test_enter_ends_an_open_path_and_backspace_takes_the_last_node_back(window, hand):
    window.open_verb("draw-path")
    for place in ((20, 20), (60, 20), (60, 60), (90, 90)):
        hand.click(*place)
    hand.key(Key.Key_Backspace)
    hand.key(Key.Key_Return)
    path = only(window).path
    assert len(path) == 2
    assert not path.closed.any()
    assert window.bench.operation is None


def test_escape_gives_up_the_path_first_and_then_the_verb(window, hand):
    window.open_verb("draw-path")
    hand.click(20, 20)
    hand.click(60, 20)
    hand.key(Key.Key_Escape)
    assert window.bench.operation is not None
    hand.key(Key.Key_Escape)
    assert window.bench.operation is None
    assert steps(window) == []


def test_a_freehand_line_becomes_few_curves(window, hand, qtbot):
    window.open_verb("draw-freehand")
    hand.press(20, 50)
    for index in range(1, 121):
        place = hand.at(20 + index, 50 + 20 * math.sin(index / 20))
        hand.send(QEvent.Type.MouseMove, place, LEFT)
    hand.release(140, 50 + 20 * math.sin(6))
    settle(window, qtbot)
    path = only(window).path
    assert 2 <= len(path) <= 12
    assert not path.closed.any()
    assert path.bounds() == pytest.approx((20, 30, 140, 70), abs=1.5)


def test_a_line_across_a_shape_parts_it(window, hand, qtbot):
    window.desk.do_plain("draw-rectangle", x_mm=20, y_mm=20, width_mm=60, height_mm=40)
    window.open_verb("part-along-line")
    hand.drag((50, 10), (50, 90))
    settle(window, qtbot)
    assert sorted(each.bounds for each in window.desk.job.shapes()) == [
        pytest.approx((20, 20, 50, 60), abs=1e-6),
        pytest.approx((50, 20, 80, 60), abs=1e-6),
    ]
    assert window.bench.operation is None


def test_what_is_drawn_snaps_and_alt_leaves_it_out(window, hand):
    window.canvas.snap_rules = SnapRules()
    window.desk.do_plain("draw-rectangle", x_mm=20, y_mm=20, width_mm=60, height_mm=40)
    window.open_verb("draw-line")
    hand.drag((80.3, 60.2), (150.0, 90.0))
    assert window.desk.job.shapes()[-1].path.points[0, 0].tolist() == [80.0, 60.0]
    hand.drag((80.3, 60.2), (150.0, 91.0), modifiers=ALT)
    assert window.desk.job.shapes()[-1].path.points[0, 0].tolist() != [80.0, 60.0]


def test_a_guide_is_pulled_out_of_a_ruler_and_never_cut(window, hand, qtbot):
    canvas = window.canvas
    hand.send(QEvent.Type.MouseButtonPress, QPointF(8, 200))
    assert isinstance(canvas.work, SettingGuide)
    hand.drag_to(70, 30)
    canvas.grab()
    hand.release(70, 30)
    (guide,) = window.desk.job.shapes()
    assert guide.bounds == pytest.approx((70, 0, 70, 100), abs=0.3)
    placed = window.desk.job.placed(guide.id)
    assert window.desk.job.material_of(placed).kind is MaterialKind.GUIDE
    hand.send(QEvent.Type.MouseButtonPress, QPointF(200, 8))
    hand.send(QEvent.Type.MouseButtonRelease, QPointF(200, 8))
    assert canvas.work is None
    assert steps(window) == ["draw-guide"]


def test_a_guide_is_set_by_its_numbers_too(window, hand, qtbot):
    window.open_verb("draw-guide")
    line = window.bench.form.fields["at_mm"].line
    line.selectAll()
    qtbot.keyClicks(line, "1in")
    qtbot.keyClick(line, Key.Key_Return)
    settle(window, qtbot)
    assert only(window).bounds[0] == pytest.approx(25.4)
    assert window.canvas.work is None
