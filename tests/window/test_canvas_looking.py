"""Zooming, pulling, peeking, and the picture that must follow every change. No source but our own design."""

import pytest
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import (
    QColor,
    QPalette,
)

from bladewise import operations
from bladewise.window.canvas import Canvas
from bladewise.window.painting import ViewMode
from window.canvas_hand import BLUE, LEFT, MIDDLE, RED, SHIFT, art, crowd


def test_a_new_job_is_shown_whole(canvas):
    rect = canvas.view.rect((0.0, 0.0, 200.0, 100.0))
    assert canvas.window_box().contains(rect)
    assert rect.width() > 0.8 * canvas.window_box().width()


def _do(canvas, name, **values):
    outcome = operations.apply(canvas.job, operations.step(name, values))
    canvas.set_job(outcome.job, outcome.changes)


def test_art_that_grows_out_of_the_view_is_shown_whole_again(canvas):
    _do(canvas, "scale", on={"id": ["square"]}, width_mm=900.0)
    assert canvas.seen(canvas.job.bounds) == 1.0


def test_a_sheet_made_to_fit_is_shown_whole_again(canvas):
    canvas.zoom_to_box((90.0, 30.0, 190.0, 80.0))
    _do(canvas, "sheet", width_mm=2000.0, height_mm=1000.0)
    near = canvas.view
    assert canvas.seen((0.0, 0.0, 2000.0, 1000.0)) < 0.1  # who looks closely stays where he is
    canvas.zoom_to_fit()
    assert canvas.view != near
    _do(canvas, "sheet", width_mm=9000.0, height_mm=4500.0)
    assert canvas.seen((0.0, 0.0, 9000.0, 4500.0)) == 1.0


def test_an_edit_that_leaves_all_in_view_leaves_the_view_as_it_is(canvas):
    canvas.zoom_by(0.5)
    before = canvas.view
    _do(canvas, "move", on={"id": ["square"]}, dx_mm=5.0, dy_mm=5.0)
    assert canvas.view == before


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
