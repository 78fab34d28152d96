"""What lies above the art, what the canvas tells, and the picture it keeps behind. No source but our own design."""

import gc

import pytest
from PySide6.QtCore import QEvent, QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import (
    QAccessible,
    QColor,
    QDropEvent,
    QHelpEvent,
    QImage,
    QPainter,
)
from PySide6.QtWidgets import QApplication, QToolTip

from bladewise import operations
from bladewise.document import Job
from bladewise.findings import Finding, Remedy, Severity
from bladewise.window.canvas import Canvas
from bladewise.window.canvas.marks import marks_in
from bladewise.window.canvas.rulers import steps
from bladewise.window.painting import ViewMode, paint_job
from window.canvas_hand import (
    ALT,
    LEFT,
    NONE,
    RED,
    SQUARE,
    art,
    crowd,
    near,
    sheet,
)


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
