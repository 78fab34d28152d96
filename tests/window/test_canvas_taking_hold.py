"""Selecting, moving and scaling on the canvas by mouse and keys. No source but our own design."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import (
    QColor,
)
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from bladewise import operations
from bladewise.document import Group, Shape, Stroke, Style
from bladewise.geometry.path import polygon, rectangle
from bladewise.window.canvas import Canvas
from window.canvas_hand import (
    ALT,
    BLOB,
    BLUE,
    CTRL,
    NONE,
    RED,
    RING,
    SHIFT,
    SQUARE,
    near,
    shape,
    sheet,
)


def test_a_click_selects_what_is_painted_there_and_nothing_where_nothing_is(canvas, hand):
    hand.click(20, 20)
    assert canvas.selection == {"square"}
    hand.click(70, 80)
    assert canvas.selection == frozenset()


def test_a_hole_is_not_the_shape(canvas, hand):
    hand.click(160, 50)
    assert canvas.selection == frozenset()
    hand.click(175, 50)
    assert canvas.selection == {"ring"}


def test_in_outline_view_only_the_outline_can_be_taken_hold_of(canvas, hand):
    canvas.set_view_mode("outline")
    hand.click(25, 25)
    assert canvas.selection == frozenset()
    hand.click(10.2, 25)
    assert canvas.selection == {"square"}


def test_the_topmost_is_selected_and_alt_reaches_what_lies_beneath(canvas, hand):
    canvas.set_job(sheet(shape("low", rectangle(10, 10, 60, 60)), shape("high", rectangle(20, 20, 60, 60), BLUE)))
    hand.click(40, 40)
    assert canvas.selection == {"high"}
    hand.click(40, 40, ALT)
    assert canvas.selection == {"low"}
    hand.click(40, 40, ALT)
    assert canvas.selection == {"high"}


def test_shift_click_adds_and_takes_away(canvas, hand):
    hand.click(20, 20)
    hand.click(100, 50, SHIFT)
    assert canvas.selection == {"square", "blob"}
    hand.click(20, 20, SHIFT)
    assert canvas.selection == {"blob"}


def test_a_thin_stroke_is_hit_a_few_pixels_beside_it_and_a_thick_one_over_its_width(canvas, hand):
    line = polygon([(20, 50), (180, 50)], closed=False)
    canvas.set_job(sheet(Shape("line", line, Style(stroke=Stroke(RED, 0.1)))))
    hand.click(100, 50 + 3 / canvas.view.scale)
    assert canvas.selection == {"line"}
    hand.click(100, 50 + 9 / canvas.view.scale)
    assert canvas.selection == frozenset()
    canvas.set_job(sheet(Shape("line", line, Style(stroke=Stroke(RED, 20.0)))))
    hand.click(100, 58)
    assert canvas.selection == {"line"}


def test_locked_and_hidden_art_cannot_be_picked(canvas, hand):
    canvas.set_job(
        sheet(
            shape("locked", rectangle(10, 10, 30, 30), locked=True),
            shape("gone", rectangle(60, 10, 30, 30), visible=False),
        )
    )
    hand.click(20, 20)
    hand.click(70, 20, SHIFT)
    hand.drag((2, 2), (190, 90))
    assert canvas.selection == frozenset()


def test_a_rubber_band_takes_what_lies_wholly_inside(canvas, hand):
    hand.drag((5, 5), (110, 75))
    assert canvas.selection == {"square"}
    hand.drag((125, 75), (3, 3))
    assert canvas.selection == {"square", "blob"}


def test_with_alt_the_band_also_takes_what_it_touches(canvas, hand):
    hand.drag((5, 5), (85, 55), ALT)
    assert canvas.selection == {"square", "blob"}
    hand.drag((95, 78), (105, 73), ALT)  # below the blob, its box touched, its outline not
    assert canvas.selection == frozenset()


def test_a_band_beside_a_slanting_edge_does_not_touch_it(canvas, hand):
    canvas.set_job(sheet(shape("wedge", polygon([(20, 10), (180, 90), (20, 90)]))))
    hand.drag((120, 20), (170, 50), ALT)
    assert canvas.selection == frozenset()
    hand.drag((120, 20), (100, 60), ALT)
    assert canvas.selection == {"wedge"}
    canvas.set_view_mode("outline")
    hand.drag((60, 80), (80, 45), ALT)
    assert canvas.selection == frozenset()


def test_with_shift_the_band_adds(canvas, hand):
    hand.click(175, 50)
    hand.drag((5, 5), (45, 45), SHIFT)
    assert canvas.selection == {"ring", "square"}


@pytest.fixture
def grouped(canvas):
    inner = Group("inner", (SQUARE, BLOB))
    canvas.set_job(sheet(Group("outer", (inner, RING)), shape("alone", rectangle(60, 80, 10, 10))))
    return canvas


def test_a_click_selects_the_outermost_group_and_a_double_click_goes_one_level_in(grouped, hand):
    hand.click(20, 20)
    assert grouped.selection == {"outer"}
    hand.double_click(20, 20)
    assert grouped.selection == {"inner"}
    hand.double_click(20, 20)
    assert grouped.selection == {"square"}
    hand.click(100, 50)
    assert grouped.selection == {"blob"}


def test_escape_leaves_a_group_one_way_and_a_click_elsewhere_another(grouped, hand):
    hand.double_click(20, 20)
    hand.key(Qt.Key.Key_Escape)
    assert grouped.selection == {"outer"}
    assert grouped.entered_group is None
    hand.double_click(20, 20)
    hand.click(65, 85)
    assert grouped.selection == {"alone"}
    assert grouped.entered_group is None


def test_a_band_around_a_whole_group_selects_the_group_and_around_a_part_of_it_nothing(grouped, hand):
    hand.drag((2, 2), (190, 98))
    assert grouped.selection == {"outer", "alone"}
    hand.drag((2, 2), (45, 45))
    assert grouped.selection == frozenset()


def test_tab_steps_through_the_art_and_leaves_at_the_end(qtbot):
    window = QWidget()
    layout = QVBoxLayout(window)
    canvas, field = Canvas(), QLineEdit()
    layout.addWidget(canvas)
    layout.addWidget(field)
    qtbot.addWidget(window)
    window.show()
    window.activateWindow()
    canvas.set_job(sheet(SQUARE, BLOB))
    canvas.setFocus()
    seen = []
    canvas.selection_changed.connect(seen.append)
    for _ in range(3):
        qtbot.keyClick(canvas, Qt.Key.Key_Tab)
    assert seen == [{"square"}, {"blob"}, frozenset()]
    qtbot.keyClick(canvas, Qt.Key.Key_Backtab, SHIFT)
    assert canvas.selection == {"blob"}
    canvas.stop()


def test_escape_lets_go(canvas, hand):
    hand.click(20, 20)
    hand.key(Qt.Key.Key_Escape)
    assert canvas.selection == frozenset()


def test_what_a_step_removed_is_no_longer_selected(canvas, hand):
    hand.click(20, 20)
    outcome = operations.apply(canvas.job, operations.step("delete", {"on": {"id": ["square"]}}))
    canvas.set_job(outcome.job, outcome.changes)
    assert canvas.selection == frozenset()


def test_a_drag_moves_art_and_is_one_step(canvas, hand, wanted):
    hand.drag((20, 20), (30, 35), ALT)
    assert [step.do for step in wanted] == ["move"]
    assert wanted[0].on.id == ("square",)
    assert near(canvas.job.element("square").bounds, (20, 25, 50, 55))


def test_while_it_is_dragged_art_shows_where_it_would_lie(canvas, hand):
    hand.press(20, 20)
    hand.drag_to(60, 50, ALT)
    assert hand.colour(75, 65) == QColor(*RED)
    assert hand.colour(15, 15) == QColor("white")
    assert near(canvas.job.element("square").bounds, (10, 10, 40, 40))


def test_escape_aborts_a_drag(canvas, hand, wanted):
    hand.press(20, 20)
    hand.drag_to(60, 50)
    hand.key(Qt.Key.Key_Escape)
    hand.release(60, 50)
    assert wanted == []
    assert hand.colour(35, 35) == QColor(*RED)
    assert canvas.selection == {"square"}


def test_moved_art_lies_back_when_the_step_does_not_apply(canvas, hand):
    hand.press(20, 20)
    hand.drag_to(60, 50, ALT)
    hand.release(60, 50, ALT)
    assert hand.colour(75, 65) == QColor(*RED)  # still in the air
    canvas.settle()
    assert hand.colour(75, 65) == QColor("white")
    assert hand.colour(35, 35) == QColor(*RED)


def test_shift_keeps_a_move_level(canvas, hand, wanted):
    hand.press(20, 20)
    hand.drag_to(50, 24, SHIFT)
    hand.release(50, 24, SHIFT)
    assert wanted[0].record.dy_mm == 0.0
    assert wanted[0].record.dx_mm == pytest.approx(30, abs=0.3)


def test_several_shapes_move_together(canvas, hand, wanted):
    hand.drag((5, 5), (125, 75))
    hand.drag((100, 50), (105, 50), ALT)
    assert set(wanted[0].on.id) == {"square", "blob"}


def test_a_move_snaps_to_the_edge_of_the_sheet_and_says_so(canvas, hand, wanted):
    hints = []
    canvas.hint_changed.connect(hints.append)
    hand.press(20, 20)
    hand.drag_to(10.7, 70)
    hand.release(10.7, 70)
    assert canvas.job.element("square").bounds[0] == pytest.approx(0.0, abs=1e-9)
    assert any("left edge of the sheet" in hint for hint in hints)
    assert hints[-1] == ""


def test_a_click_without_a_drag_moves_nothing(canvas, hand, wanted):
    hand.drag((5, 5), (125, 75))
    hand.click(20, 20)
    assert wanted == []
    assert canvas.selection == {"square"}


@pytest.mark.parametrize(
    ("handle", "pull", "modifiers", "box"),
    [
        ((40, 40), (50, 60), NONE, (10, 10, 50, 60)),
        ((10, 10), (5, 0), NONE, (5, 0, 40, 40)),
        ((40, 25), (55, 90), NONE, (10, 10, 55, 40)),
        ((25, 40), (25, 60), NONE, (10, 10, 40, 60)),
        ((40, 40), (70, 45), SHIFT, (10, 10, 70, 70)),
        ((40, 40), (45, 45), CTRL, (5, 5, 45, 45)),
        ((40, 25), (55, 25), SHIFT, (10, 2.5, 55, 47.5)),
    ],
)
def test_handles_scale_and_the_opposite_side_stays(canvas, hand, wanted, handle, pull, modifiers, box):
    hand.click(20, 20)
    hand.drag(handle, pull, modifiers)
    assert [step.do for step in wanted] == ["scale"]
    assert near(canvas.job.element("square").bounds, box, 0.4)


def test_while_it_is_scaled_art_shows_at_its_new_size(canvas, hand):
    hand.click(20, 20)
    hand.press(40, 40)
    hand.drag_to(80, 80)
    assert hand.colour(70, 30) == QColor(*RED)
    hand.key(Qt.Key.Key_Escape)
    assert hand.colour(70, 20) == QColor("white")


def test_a_line_has_no_handles_that_could_only_fail(canvas, hand, wanted):
    line = polygon([(20, 50), (120, 50)], closed=False)
    canvas.set_job(sheet(Shape("line", line, Style(stroke=Stroke(RED, 0.2)))))
    hand.click(70, 50)
    frame = canvas.selection_box()
    assert frame[1] == frame[3]
    hand.drag((120, 50), (140, 50))
    assert near(canvas.job.element("line").bounds, (20, 50, 140, 50))


def test_locked_art_selected_elsewhere_cannot_be_dragged(canvas, hand, wanted):
    canvas.set_job(sheet(shape("locked", rectangle(10, 10, 30, 30), locked=True)))
    canvas.set_selection(frozenset({"locked"}))
    hand.drag((20, 20), (60, 50))
    canvas.set_selection(frozenset({"locked"}))
    hand.drag((40, 40), (60, 60))
    assert wanted == []


def test_arrows_nudge_by_a_tenth_and_with_shift_by_a_millimetre(canvas, hand, wanted):
    hand.click(20, 20)
    hand.key(Qt.Key.Key_Right)
    hand.key(Qt.Key.Key_Up, SHIFT)
    assert [(step.record.dx_mm, step.record.dy_mm) for step in wanted] == [(0.1, 0.0), (0.0, -1.0)]


def test_an_arrow_held_down_is_one_step(qtbot, canvas, hand, wanted):
    hand.click(20, 20)
    for _ in range(7):
        qtbot.keyPress(canvas, Qt.Key.Key_Down)
    qtbot.keyRelease(canvas, Qt.Key.Key_Down)
    assert [(step.record.dx_mm, step.record.dy_mm) for step in wanted] == [(0.0, pytest.approx(0.7))]
