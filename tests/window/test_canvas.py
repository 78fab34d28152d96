"""The canvas as a hand at the bench finds it: clicks, drags, keys, wheel. No source but our own design."""

import gc
import math

import pytest
from PySide6.QtCore import QEvent, QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import (
    QAccessible,
    QColor,
    QDropEvent,
    QHelpEvent,
    QImage,
    QMouseEvent,
    QPainter,
    QPalette,
    QWheelEvent,
)
from PySide6.QtWidgets import QApplication, QLineEdit, QToolTip, QVBoxLayout, QWidget

from bladewise import operations
from bladewise.document import Colour, Group, Job, Layer, Shape, Stroke, Style
from bladewise.findings import Finding, Remedy, Severity
from bladewise.geometry.path import circle, joined, polygon, rectangle
from bladewise.geometry.regions import FillRule
from bladewise.window.canvas import Canvas
from bladewise.window.canvas.marks import marks_in
from bladewise.window.canvas.rulers import steps
from bladewise.window.painting import ViewMode, paint_job

RED, BLUE = Colour(220, 30, 30), Colour(30, 30, 220)
SHIFT, ALT, CTRL = (
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.AltModifier,
    Qt.KeyboardModifier.ControlModifier,
)
NONE = Qt.KeyboardModifier.NoModifier
LEFT, MIDDLE = Qt.MouseButton.LeftButton, Qt.MouseButton.MiddleButton


def shape(key, path, colour=RED, **options):
    return Shape(key, path, Style(fill=colour), name=key.title(), **options)


def sheet(*elements):
    return Job("Job", 200.0, 100.0, (Layer("layer", "Layer", tuple(elements)),))


SQUARE = shape("square", rectangle(10, 10, 30, 30))
BLOB = shape("blob", circle((100, 50), 20), BLUE)
RING = Shape(
    "ring", joined([circle((160, 50), 20), circle((160, 50), 10)]), Style(fill=RED, fill_rule=FillRule.EVEN_ODD)
)


class Hand:
    """A person at the canvas, who points in millimetres."""

    def __init__(self, qtbot, canvas):
        self.qtbot, self.canvas = qtbot, canvas

    def at(self, x_mm, y_mm):
        return self.canvas.view.to_px(x_mm, y_mm)

    def send(self, kind, pixel, button=LEFT, modifiers=NONE):
        held = Qt.MouseButton.NoButton if kind is QEvent.Type.MouseButtonRelease else button
        if kind is QEvent.Type.MouseMove:
            button = Qt.MouseButton.NoButton
        event = QMouseEvent(kind, pixel, QPointF(self.canvas.mapToGlobal(pixel)), button, held, modifiers)
        QApplication.sendEvent(self.canvas, event)

    def click(self, x_mm, y_mm, modifiers=NONE):
        pixel = self.at(x_mm, y_mm)
        self.send(QEvent.Type.MouseButtonPress, pixel, modifiers=modifiers)
        self.send(QEvent.Type.MouseButtonRelease, pixel, modifiers=modifiers)

    def double_click(self, x_mm, y_mm):
        self.click(x_mm, y_mm)
        pixel = self.at(x_mm, y_mm)
        self.send(QEvent.Type.MouseButtonDblClick, pixel)
        self.send(QEvent.Type.MouseButtonRelease, pixel)

    def press(self, x_mm, y_mm, modifiers=NONE, button=LEFT):
        self.send(QEvent.Type.MouseButtonPress, self.at(x_mm, y_mm), button, modifiers)

    def drag_to(self, x_mm, y_mm, modifiers=NONE, button=LEFT):
        for _ in range(2):
            self.send(QEvent.Type.MouseMove, self.at(x_mm, y_mm), button, modifiers)

    def release(self, x_mm, y_mm, modifiers=NONE, button=LEFT):
        self.send(QEvent.Type.MouseButtonRelease, self.at(x_mm, y_mm), button, modifiers)

    def drag(self, start, end, modifiers=NONE):
        self.press(*start, modifiers=modifiers)
        self.drag_to(*end, modifiers=modifiers)
        self.release(*end, modifiers=modifiers)

    def wheel(self, x_mm, y_mm, notches, modifiers=NONE):
        pixel = self.at(x_mm, y_mm)
        event = QWheelEvent(
            pixel,
            QPointF(self.canvas.mapToGlobal(pixel)),
            QPoint(),
            QPoint(0, 120 * notches),
            Qt.MouseButton.NoButton,
            modifiers,
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(self.canvas, event)

    def key(self, key, modifiers=NONE):
        self.qtbot.keyClick(self.canvas, key, modifiers)

    def colour(self, x_mm, y_mm):
        self.canvas.finish_painting()
        image = self.canvas.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
        pixel = self.at(x_mm, y_mm).toPoint()
        return image.pixelColor(pixel)


@pytest.fixture
def canvas(qtbot):
    canvas = Canvas()
    qtbot.addWidget(canvas)
    canvas.resize(900, 500)
    canvas.show()
    canvas.set_job(sheet(SQUARE, BLOB, RING))
    canvas.finish_painting()
    yield canvas
    canvas.stop()


@pytest.fixture
def hand(qtbot, canvas):
    return Hand(qtbot, canvas)


@pytest.fixture
def wanted(canvas):
    """Return the steps that the canvas asks for, each done at once as the window does."""
    asked = []

    def do(step):
        asked.append(step)
        outcome = operations.apply(canvas.job, step)
        canvas.set_job(outcome.job, outcome.changes)

    canvas.step_wanted.connect(do)
    return asked


def art(canvas):
    """Return what is shown, without the rulers, the ring of the focus and the pointer's mark."""
    return canvas.grab().toImage().copy(30, 30, canvas.width() - 60, canvas.height() - 60)


def near(box, expected, tolerance=0.3):
    return all(math.isclose(a, b, abs_tol=tolerance) for a, b in zip(box, expected, strict=True))


# --- selecting -------------------------------------------------------------------------------------------------------


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


# --- moving and scaling ----------------------------------------------------------------------------------------------


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


# --- looking ---------------------------------------------------------------------------------------------------------


def test_a_new_job_is_shown_whole(canvas):
    rect = canvas.view.rect((0.0, 0.0, 200.0, 100.0))
    assert canvas.window_box().contains(rect)
    assert rect.width() > 0.8 * canvas.window_box().width()


def test_the_wheel_zooms_at_the_pointer(canvas, hand):
    before, scale = hand.at(160, 50), canvas.view.scale
    hand.wheel(160, 50, 3)
    after = hand.at(160, 50)
    assert canvas.view.scale == pytest.approx(scale * 1.25**3)
    assert (after - before).manhattanLength() < 1.5


def test_shift_wheel_goes_sideways(canvas, hand):
    before = canvas.view
    hand.wheel(100, 50, 1, SHIFT)
    assert canvas.view.scale == before.scale
    assert canvas.view.x_mm < before.x_mm
    assert canvas.view.y_mm == before.y_mm


@pytest.mark.parametrize("way", ["space", "middle"])
def test_the_sheet_is_pulled_with_space_or_the_middle_button(qtbot, canvas, hand, wanted, way):
    start, scale = hand.at(20, 20), canvas.view.scale
    button = MIDDLE if way == "middle" else LEFT
    if way == "space":
        qtbot.keyPress(canvas, Qt.Key.Key_Space)
    hand.send(QEvent.Type.MouseButtonPress, start, button)
    hand.send(QEvent.Type.MouseMove, start + QPointF(50, 30), button)
    hand.send(QEvent.Type.MouseButtonRelease, start + QPointF(50, 30), button)
    if way == "space":
        qtbot.keyRelease(canvas, Qt.Key.Key_Space)
    assert (hand.at(20, 20) - start - QPointF(50, 30)).manhattanLength() < 1e-6
    assert canvas.view.scale == scale
    assert wanted == []
    assert canvas.selection == frozenset()


def test_keys_zoom_and_show_all_again(canvas, hand):
    fitted = canvas.view
    hand.key(Qt.Key.Key_Plus)
    assert canvas.view.scale > fitted.scale
    hand.key(Qt.Key.Key_Minus)
    assert canvas.view.scale == pytest.approx(fitted.scale)
    hand.key(Qt.Key.Key_Minus)
    hand.key(Qt.Key.Key_0)
    assert canvas.view == fitted


def test_zooming_ends_at_a_kilometre_and_at_a_hundredth_of_a_millimetre(canvas, hand):
    for _ in range(60):
        hand.wheel(100, 50, 3)
    assert canvas.width() / canvas.view.scale == pytest.approx(0.009, rel=0.01)
    for _ in range(90):
        canvas.zoom_by(0.5)
    assert canvas.width() / canvas.view.scale == pytest.approx(900_000.0, rel=0.01)


def test_a_place_is_brought_into_the_middle_and_a_box_into_the_window(canvas):
    canvas.center_on(150.0, 20.0)
    middle = canvas.window_box().center()
    assert (canvas.view.to_px(150.0, 20.0) - middle).manhattanLength() < 2.0
    canvas.zoom_to_box((90.0, 40.0, 110.0, 60.0))
    assert canvas.window_box().contains(canvas.view.rect((90.0, 40.0, 110.0, 60.0)))


def test_view_and_mode_can_be_kept_and_shown_again(qtbot, canvas):
    canvas.set_view_mode("outline")
    canvas.zoom_to_box((90.0, 40.0, 110.0, 60.0))
    state, view = canvas.view_state(), canvas.view
    canvas.zoom_to_fit()
    canvas.set_view_mode("fill")
    canvas.restore_view_state(state)
    assert canvas.view_mode is ViewMode.OUTLINE
    assert canvas.view.scale == pytest.approx(view.scale)
    assert canvas.view.x_mm == pytest.approx(view.x_mm, abs=2.0 / view.scale)
    canvas.restore_view_state({"scale": "no number"})
    assert canvas.view.scale == pytest.approx(view.scale)


def test_holding_e_shows_outlines_for_as_long_and_a_tap_toggles(qtbot, canvas, hand, monkeypatch):
    from bladewise.window.canvas import canvas as module

    now = [100.0]
    monkeypatch.setattr(module.time, "monotonic", lambda: now[0])
    assert hand.colour(25, 25) == QColor(*RED)
    qtbot.keyPress(canvas, Qt.Key.Key_E)
    assert canvas.shown_mode is ViewMode.OUTLINE
    assert hand.colour(25, 25) == QColor("white")
    now[0] += 2.0
    qtbot.keyRelease(canvas, Qt.Key.Key_E)
    assert canvas.shown_mode is ViewMode.FILL
    assert hand.colour(25, 25) == QColor(*RED)
    modes = []
    canvas.view_mode_changed.connect(modes.append)
    hand.key(Qt.Key.Key_E)
    assert canvas.view_mode is ViewMode.OUTLINE
    hand.key(Qt.Key.Key_E)
    assert modes == ["outline", "fill"]


def test_only_one_material_is_shown_strongly_and_only_it_can_be_picked(canvas, hand):
    blue = next(each for each in canvas.job.materials_in_use() if each.colour == BLUE)
    canvas.set_material_filter(blue.id)
    assert hand.colour(100, 50) == QColor(*BLUE)
    assert hand.colour(25, 25) == QColor("white")
    hand.click(20, 20)
    assert canvas.selection == frozenset()
    canvas.set_material_filter(None)
    assert hand.colour(25, 25) == QColor(*RED)


def test_a_change_is_on_screen_at_once(canvas, hand):
    outcome = operations.apply(canvas.job, operations.step("restyle", {"on": {"id": ["square"]}, "fill": "#00ff00"}))
    canvas.set_job(outcome.job, outcome.changes)
    assert canvas.is_sharp
    assert hand.colour(25, 25) == QColor("#00ff00")


@pytest.mark.parametrize(
    ("step", "values", "place", "colour"),
    [
        ("delete", {"on": {"id": ["square"]}}, (25, 25), "white"),
        ("show", {"on": {"id": ["square"]}, "visible": False}, (25, 25), "white"),
        ("move", {"on": {"id": ["square"]}, "dx_mm": 50.0, "dy_mm": 50.0}, (75, 75), "#dc1e1e"),
        ("duplicate", {"on": {"id": ["square"]}, "gap_mm": 2.0}, (57, 25), "#dc1e1e"),
        ("sheet", {"width_mm": 60.0, "height_mm": 60.0}, (25, 25), "#dc1e1e"),
    ],
)
def test_whatever_a_step_does_the_picture_is_that_of_a_canvas_opened_anew(
    qtbot, canvas, hand, step, values, place, colour
):
    outcome = operations.apply(canvas.job, operations.step(step, values))
    canvas.set_job(outcome.job, outcome.changes)
    fresh = Canvas()
    qtbot.addWidget(fresh)
    fresh.resize(canvas.size())
    fresh.show()
    fresh.set_job(outcome.job)
    fresh.set_view(canvas.view)
    fresh.finish_painting()
    canvas.finish_painting()
    assert hand.colour(*place) == QColor(colour)
    assert art(fresh) == art(canvas)
    fresh.stop()


def test_pulling_and_zooming_end_in_the_picture_of_a_canvas_that_was_there_at_once(qtbot, canvas):
    for index in range(12):
        canvas.set_view(canvas.view.panned(17 - 5 * index, 9 - 2 * index))
        canvas.repaint()
    canvas.zoom_by(1.7)
    canvas.repaint()
    canvas.set_view(canvas.view.panned(-31, 12))
    qtbot.waitUntil(lambda: canvas.is_sharp)
    fresh = Canvas()
    qtbot.addWidget(fresh)
    fresh.resize(canvas.size())
    fresh.show()
    fresh.set_job(canvas.job)
    fresh.set_view(canvas.view)
    fresh.finish_painting()
    assert art(fresh) == art(canvas)
    fresh.stop()


def test_pulling_leaves_no_seam(qtbot, canvas):
    canvas.set_job(crowd(700))
    canvas.zoom_to_box((30.0, 20.0, 90.0, 60.0), 0.0)
    qtbot.waitUntil(lambda: canvas.is_sharp)
    for dx, dy in ((13, 0), (-85, 5), (80, -60), (-3, -7), (0, 71), (69, 9)):
        canvas.set_view(canvas.view.panned(dx, dy))
        canvas.repaint()
        assert canvas.is_sharp
    fresh = Canvas()
    qtbot.addWidget(fresh)
    fresh.resize(canvas.size())
    fresh.show()
    fresh.set_job(canvas.job)
    fresh.set_view(canvas.view)
    fresh.finish_painting()
    assert art(fresh) == art(canvas)
    fresh.stop()


def test_two_steps_taken_back_at_once_leave_nothing_of_either(qtbot, canvas, hand):
    before = canvas.job
    moved = operations.apply(before, operations.step("move", {"on": {"id": ["square"]}, "dx_mm": 40.0})).job
    fewer = operations.apply(moved, operations.step("delete", {"on": {"id": ["blob"]}})).job
    canvas.set_job(fewer, before.changes_to(fewer))
    assert canvas.is_sharp
    assert hand.colour(100, 50) == QColor("white")
    assert hand.colour(15, 15) == QColor("white")
    assert hand.colour(75, 35) == QColor(*RED)
    canvas.set_job(before, fewer.changes_to(before))
    assert hand.colour(100, 50) == QColor(*BLUE)
    assert hand.colour(15, 15) == QColor(*RED)
    assert hand.colour(75, 35) == QColor("white")


def test_a_window_made_larger_keeps_the_job_fitted_until_someone_chooses_a_view(qtbot, canvas):
    fresh = Canvas()
    qtbot.addWidget(fresh)
    fresh.resize(500, 400)
    fresh.set_job(canvas.job)
    fresh.show()
    fresh.resize(1000, 800)
    assert fresh.view.rect((0.0, 0.0, 200.0, 100.0)).width() > 800
    fresh.stop()


def test_a_dark_window_dims_the_sheet_and_keeps_the_colours_of_the_art(canvas, hand):
    palette = QPalette()
    palette.setColor(QPalette.ColorRole.Window, QColor("#23272e"))
    palette.setColor(QPalette.ColorRole.WindowText, QColor("#e6e9ee"))
    canvas.setPalette(palette)
    assert hand.colour(25, 25) == QColor(*RED)
    assert 180 < hand.colour(5, 90).lightness() < 230
    canvas.set_view_mode("outline")
    assert hand.colour(5, 90).lightness() < 60


# --- above the art ---------------------------------------------------------------------------------------------------


def test_a_ghost_shows_what_a_step_would_make_and_goes_without_a_trace(canvas, hand):
    plain = canvas.grab().toImage()
    outcome = operations.apply(
        canvas.job, operations.step("move", {"on": {"id": ["square"]}, "dx_mm": 0.0, "dy_mm": 50.0})
    )
    canvas.set_ghost(outcome.job)
    assert canvas.has_ghost
    ghostly = hand.colour(25, 75)
    assert ghostly != QColor("white")
    assert ghostly.lightness() > 150
    canvas.set_ghost(None)
    assert canvas.grab().toImage() == plain


def test_a_ghost_shows_what_would_be_gone(canvas, hand):
    outcome = operations.apply(canvas.job, operations.step("delete", {"on": {"id": ["square"]}}))
    plain = canvas.grab().toImage()
    canvas.set_ghost(outcome.job)
    assert canvas.grab().toImage() != plain


def finding(rule, x, y):
    return Finding(rule, Severity.SPOILS, ("square",), x, y, 1.0, "mm", f"{rule} at {x}, {y}", Remedy("Mend it"))


def test_findings_are_marked_in_place_and_those_on_one_spot_are_counted(canvas):
    canvas.set_findings([finding("overlap", 25, 25), finding("overlap", 25.1, 25), finding("open-path", 100, 50)], 2)
    marks = canvas.marks()
    assert sorted(len(mark.findings) for mark in marks) == [1, 2]
    assert [mark.is_current for mark in marks] == [False, True]
    assert (marks[-1].place - canvas.view.to_px(100, 50)).manhattanLength() < 1e-9


def test_marks_of_different_rules_differ_in_shape_not_only_in_colour(canvas):
    rules = ("overlap", "crossing", "open-path", "stroke", "small-piece", "something-new")
    marks = marks_in(
        [finding(rule, 30.0 * index, 50.0) for index, rule in enumerate(rules)], None, canvas.view, canvas.window_box()
    )
    assert len({mark.look.shape for mark in marks}) == len(rules)


def test_thousands_of_findings_do_not_hide_the_current_one(canvas):
    canvas.set_findings([finding("overlap", index % 97 * 2.0, index // 97 * 1.9) for index in range(4500)], 1234)
    assert canvas.marks()[-1].findings == (1234,)
    assert not canvas.grab().isNull()


def test_an_empty_canvas_says_what_to_do(qtbot):
    canvas = Canvas()
    qtbot.addWidget(canvas)
    canvas.resize(700, 500)
    canvas.show()
    empty = canvas.grab().toImage()
    canvas.set_job(Job("Job", 200.0, 100.0))
    told = canvas.grab().toImage()
    canvas.set_job(sheet(SQUARE))
    canvas.finish_painting()
    middle = QPoint(360, 260)
    assert empty.pixelColor(middle) != canvas.grab().toImage().pixelColor(middle)
    assert told.pixelColor(middle) != QColor("white")
    canvas.stop()


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_ruler_ticks_can_be_read_at_every_zoom(unit):
    from bladewise.units import MM_PER_UNIT

    for exponent in range(-30, 51):
        scale = 10.0 ** (exponent / 10.0)
        step, parts = steps(scale, unit)
        pixels = step * MM_PER_UNIT[unit] * scale
        assert 60.0 <= pixels <= 330.0
        assert pixels / parts >= 5.9 or parts == 1


def test_inch_rulers_halve_below_an_inch():
    step, parts = steps(10.0, "in")  # 254 px an inch
    assert (step, parts) == (0.5, 16)


# --- signals ---------------------------------------------------------------------------------------------------------


def test_the_pointer_tells_where_it_is_in_millimetres(qtbot, canvas, hand):
    with qtbot.waitSignal(canvas.pointer_moved) as told:
        hand.send(QEvent.Type.MouseMove, hand.at(33.0, 44.0), Qt.MouseButton.NoButton)
    assert told.args == [pytest.approx(33.0, abs=1e-6), pytest.approx(44.0, abs=1e-6)]


def test_dropped_files_are_handed_on(qtbot, canvas, tmp_path):
    art = tmp_path / "art.svg"
    art.write_text("<svg/>")
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(art)), QUrl("https://example.org/x.svg")])
    drop = QDropEvent(QPointF(100, 100), Qt.DropAction.CopyAction, data, LEFT, NONE)
    with qtbot.waitSignal(canvas.files_dropped) as dropped:
        canvas.dropEvent(drop)
    assert dropped.args == [[str(art)]]


def test_the_canvas_has_a_name_for_a_screen_reader(canvas):
    interface = QAccessible.queryAccessibleInterface(canvas)
    assert interface.text(QAccessible.Text.Name)
    assert interface.text(QAccessible.Text.Description)


# --- the picture behind ----------------------------------------------------------------------------------------------


def crowd(count):
    """Return a job of many small shapes in rows, over a long wavy outline of some thousand segments."""
    wave = polygon([(index * 0.16, 50.0 + 30.0 * math.sin(index / 40.0)) for index in range(1200)], closed=False)
    places = [(2.0 + index % 60 * 3.2, 2.0 + index // 60 * 3.2) for index in range(count)]
    dots = [shape(f"dot-{index}", circle(place, 1.2)) for index, place in enumerate(places)]
    pair = shape("a", rectangle(20, 20, 40, 30), BLUE), shape("b", rectangle(40, 30, 40, 30))
    veil = Group("veil", pair, opacity=0.5)
    return sheet(Shape("wave", wave), *dots, veil)


@pytest.mark.parametrize("mode", list(ViewMode))
def test_the_canvas_shows_what_a_picture_of_the_job_shows(canvas, mode):
    """Culling, slices and short cuts must not show: the same pixels as the painter of the picture files."""
    job = crowd(700)
    canvas.set_job(job)
    canvas.set_view_mode(mode.value)
    canvas.zoom_to_box((30.0, 20.0, 90.0, 60.0), 0.0)
    canvas.finish_painting()
    wanted = QImage(canvas.size(), QImage.Format.Format_RGB32)
    wanted.fill(QColor("white"))
    painter = QPainter(wanted)
    paint_job(painter, job, canvas.view, mode=mode)
    painter.end()
    assert art(canvas) == wanted.copy(30, 30, canvas.width() - 60, canvas.height() - 60)


def test_much_art_is_painted_in_slices_and_the_window_answers_meanwhile(qtbot, canvas):
    canvas.set_job(crowd(800))
    canvas.set_view_mode("outline")
    canvas.set_view_mode("fill")
    canvas.zoom_by(1.01)
    assert not canvas.is_sharp
    assert not canvas.grab().isNull()
    qtbot.waitUntil(lambda: canvas.is_sharp, timeout=10_000)


def test_dragging_a_crowd_shows_all_of_it_before_long(qtbot, canvas, hand):
    job = crowd(800)
    canvas.set_job(job)
    canvas.set_selection(frozenset(f"dot-{index}" for index in range(800)))
    hand.press(34.0, 11.6)
    hand.drag_to(34.0, 26.6, ALT)
    canvas.repaint()
    qtbot.waitUntil(lambda: canvas._lifted.is_complete, timeout=10_000)
    far = 2.0 + 59 * 3.2, 2.0 + 12 * 3.2 + 15.0
    assert hand.colour(*far) == QColor(*RED)
    hand.key(Qt.Key.Key_Escape)
    assert hand.colour(*far) == QColor("white")


def test_one_shape_of_a_translucent_group_can_be_dragged_out_of_it(canvas, hand, wanted):
    canvas.set_job(crowd(0))
    hand.double_click(25, 25)
    assert canvas.selection == {"a"}
    hand.press(25, 25)
    hand.drag_to(125, 35, ALT)
    assert hand.colour(25, 25) == QColor("white")
    hand.release(125, 35, ALT)
    assert near(canvas.job.element("a").bounds, (120, 30, 160, 60), 0.5)
    middle = hand.colour(155, 55)
    assert abs(middle.blue() - 237) < 4
    assert abs(middle.red() - 142) < 4


def test_an_edit_while_the_picture_is_in_the_making_is_in_the_picture(qtbot, canvas, hand):
    canvas.set_job(crowd(800))
    canvas.zoom_by(1.01)
    assert not canvas.is_sharp
    outcome = operations.apply(canvas.job, operations.step("restyle", {"on": {"id": ["dot-0"]}, "fill": "#00ff00"}))
    canvas.set_job(outcome.job, outcome.changes)
    qtbot.waitUntil(lambda: canvas.is_sharp, timeout=10_000)
    assert hand.colour(2.0, 2.0) == QColor("#00ff00")


def test_peeking_after_an_edit_shows_the_edited_outlines(canvas, hand):
    canvas.peek(True)
    canvas.peek(False)
    outcome = operations.apply(canvas.job, operations.step("move", {"on": {"id": ["square"]}, "dx_mm": 40.0}))
    canvas.set_job(outcome.job, outcome.changes)
    canvas.peek(True)
    assert hand.colour(10.0, 25) == QColor("white")
    assert hand.colour(50.0, 25) != QColor("white")


def test_a_canvas_dropped_in_the_middle_of_its_work_does_not_end_the_program(qtbot):
    canvas = Canvas()
    canvas.resize(600, 400)
    canvas.show()
    canvas.set_job(crowd(800))
    canvas.zoom_by(1.01)
    assert not canvas.is_sharp
    canvas.deleteLater()
    del canvas
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    gc.collect()


def test_a_mark_tells_what_it_means(canvas):
    canvas.set_findings([finding("overlap", 25, 25), finding("overlap", 25.1, 25)], None)
    spot = canvas.view.to_px(25, 25).toPoint()
    QApplication.sendEvent(canvas, QHelpEvent(QEvent.Type.ToolTip, spot, canvas.mapToGlobal(spot)))
    assert "overlap at 25, 25" in QToolTip.text()
    assert "overlap at 25.1, 25" in QToolTip.text()
