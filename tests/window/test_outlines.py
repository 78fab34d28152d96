"""Outline-only view tells the truth: what the knife follows, where it begins, which way it goes, what it never cuts."""

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtGui import QColor, QImage

from bladewise.document import Colour, Job, Layer, Material, MaterialKind, Shape, Stroke, Style
from bladewise.findings import Finding, Remedy, Severity
from bladewise.geometry.path import circle, joined, polygon, rectangle
from bladewise.window.canvas import Canvas
from bladewise.window.canvas.marks import MOST_MARKS, Trouble
from bladewise.window.view import View
from window.canvas_hand import RED, art, shape, sheet


@pytest.fixture
def outlines(qtbot):
    canvas = Canvas()
    qtbot.addWidget(canvas)
    canvas.resize(900, 500)
    canvas.show()
    canvas.set_view_mode("outline")
    yield canvas
    canvas.stop()


def show(canvas, job):
    canvas.set_job(job)
    canvas.finish_painting()
    return canvas.grab().toImage()


def has(image, canvas, x_mm, y_mm, colour, reach=9):
    """Whether a colour is to be seen within some pixels of a place."""
    middle = canvas.view.to_px(x_mm, y_mm).toPoint()
    wanted = QColor(colour)
    return any(
        sum(
            abs(one - other)
            for one, other in zip(image.pixelColor(x, y).getRgb()[:3], wanted.getRgb()[:3], strict=True)
        )
        < 60
        for x in range(middle.x() - reach, middle.x() + reach + 1)
        for y in range(middle.y() - reach, middle.y() + reach + 1)
    )


def pixels(image):
    """Return an image's channels as numbers, shape (height, width, 4)."""
    flat = np.frombuffer(image.convertToFormat(QImage.Format.Format_RGB32).constBits(), np.uint8)
    return flat.reshape(image.height(), image.width(), 4).astype(int)


def line_pixels(image, canvas, start, end):
    """Return along a level line whether each pixel is drawn on."""
    first, last = canvas.view.to_px(*start).toPoint(), canvas.view.to_px(*end).toPoint()
    return [
        min(image.pixelColor(x, y).lightness() for y in range(first.y() - 1, first.y() + 2)) < 200
        for x in range(first.x(), last.x())
    ]


def test_both_ends_of_an_open_outline_are_marked(outlines):
    line = Shape("line", polygon([(20, 20), (90, 20), (90, 70)], closed=False), Style(stroke=Stroke(RED, 1.0)))
    image = show(outlines, sheet(line, shape("ring", circle((150, 50), 20))))
    assert has(image, outlines, 20, 20, outlines.colours.open_end)
    assert has(image, outlines, 90, 70, outlines.colours.open_end)
    assert not has(image, outlines, 90, 20, outlines.colours.open_end)
    assert not has(image, outlines, 170, 50, outlines.colours.open_end)


def test_an_outline_that_ends_where_it_began_is_closed_for_the_knife(outlines):
    image = show(outlines, sheet(shape("a", polygon([(20, 20), (90, 20), (90, 70), (20, 20)], closed=False))))
    assert not has(image, outlines, 20, 20, outlines.colours.open_end)


def test_guides_have_no_open_ends_for_they_are_never_cut(outlines):
    guide = Shape("guide", polygon([(20, 20), (90, 20)], closed=False), Style())
    image = show(outlines, sheet(guide))
    assert not has(image, outlines, 20, 20, outlines.colours.open_end)


def test_where_the_knife_begins_and_which_way_it_goes_shows_on_demand(outlines):
    square = shape("square", rectangle(60, 20, 60, 60))
    plain = show(outlines, sheet(square))
    outlines.set_signs(direction=True, hidden=False)
    outlines.finish_painting()
    signed = outlines.grab().toImage()
    start = square.path.points[0, 0].tolist()
    assert has(signed, outlines, *start, outlines.colours.direction)
    assert not has(plain, outlines, *start, outlines.colours.direction)
    outlines.set_signs(direction=False, hidden=False)
    outlines.finish_painting()
    assert art(outlines) == plain.copy(30, 30, outlines.width() - 60, outlines.height() - 60)


def test_reversing_a_path_turns_its_arrows(outlines):
    ring = shape("ring", circle((100, 50), 30))
    outlines.set_signs(direction=True, hidden=False)
    show(outlines, sheet(ring))
    ahead = art(outlines)
    show(outlines, sheet(replace(ring, path=ring.path.reversed())))
    assert art(outlines) != ahead


@pytest.mark.parametrize("kind", [MaterialKind.GUIDE, MaterialKind.PRINT])
def test_only_what_a_knife_follows_is_drawn_unbroken(outlines, kind):
    cut = Shape("cut", rectangle(20, 20, 160, 20), Style(fill=RED))
    other = Shape("other", rectangle(20, 60, 160, 20), Style(fill=RED), material="m")
    job = Job("Job", 200, 100, (Layer("l", "L", (cut, other)),), materials=(Material("m", "M", RED, kind),))
    image = show(outlines, job)
    assert all(line_pixels(image, outlines, (25, 20), (175, 20)))
    broken = line_pixels(image, outlines, (25, 60), (175, 60))
    assert any(broken)
    assert not all(broken)


def test_hidden_art_shows_dotted_when_asked_for_and_not_otherwise(outlines):
    hidden = replace(shape("hidden", rectangle(20, 60, 160, 20)), visible=False)
    job = sheet(shape("seen", rectangle(20, 20, 160, 20)), hidden)
    image = show(outlines, job)
    assert not any(line_pixels(image, outlines, (25, 60), (175, 60)))
    outlines.set_signs(direction=False, hidden=True)
    outlines.finish_painting()
    dots = line_pixels(outlines.grab().toImage(), outlines, (25, 60), (175, 60))
    assert any(dots)
    assert not all(dots)
    outlines.set_view_mode("fill")
    outlines.finish_painting()
    assert not any(line_pixels(outlines.grab().toImage(), outlines, (25, 60), (175, 60)))


def test_signs_stay_whole_where_the_picture_was_moved_and_mended(outlines):
    lines = [
        Shape(
            f"l{index}",
            polygon([(10 + 9 * index, 10), (14 + 9 * index, 90)], closed=False),
            Style(stroke=Stroke(RED, 1)),
        )
        for index in range(20)
    ]
    outlines.set_signs(direction=True, hidden=False)
    show(outlines, sheet(*lines, shape("ring", joined([circle((100, 50), 30), circle((100, 50), 12)]))))
    outlines.zoom_by(3.0)
    outlines.finish_painting()
    for dx, dy in ((37, 0), (0, -41), (-19, 23), (5, 3)):
        outlines.set_view(outlines.view.panned(dx, dy))
        outlines.grab()
    outlines.finish_painting()
    moved = art(outlines)
    for buffer in outlines._buffers.values():
        buffer.forget()
    outlines.finish_painting()
    assert np.abs(pixels(art(outlines)) - pixels(moved)).max() <= 8, "but for the rounding of edges"


def finding(places, rule="crossing"):
    return Finding(
        rule, Severity.SPOILS, ("a",), *places[0], float(len(places)), "crossings", "crosses", Remedy("mend"), places
    )


VIEW = View(4.0, 0.0, 0.0)


def test_every_crossing_is_marked_and_those_on_one_spot_are_counted(outlines):
    places = ((30.0, 30.0), (30.2, 30.2), (90.0, 50.0))
    marks = Trouble([finding(places)]).marks(VIEW, outlines.window_box())
    assert sorted(mark.label for mark in marks) == ["", "2"]
    assert all(mark.findings == (0,) for mark in marks)


def test_what_would_be_cut_twice_says_so(outlines):
    (mark,) = Trouble([finding(((30.0, 30.0),), "duplicate")]).marks(VIEW, outlines.window_box())
    assert mark.label == "2×"


def test_ten_thousand_crossings_become_marks_that_can_be_told_apart_and_lose_none(outlines):
    places = tuple((1.0 + index % 200, 1.0 + index // 200 * 1.5) for index in range(10_000))
    trouble = Trouble([finding(places)])
    box = outlines.window_box()
    marks = trouble.marks(VIEW, box, 0, 5050)
    assert len(marks) <= MOST_MARKS
    assert marks[-1].is_current
    assert (marks[-1].place - VIEW.to_px(*places[5050])).manhattanLength() < 1e-9
    whole = box.adjusted(-4000, -4000, 4000, 4000)
    assert sum(int(mark.label or 1) for mark in trouble.marks(VIEW, whole, 0, 5050)) == len(places)


def test_marks_do_not_regroup_while_the_sheet_is_panned(outlines):
    trouble = Trouble([finding(tuple((10.0 + index * 1.7, 40.0) for index in range(60)))])
    box = outlines.window_box().adjusted(-2000, -2000, 2000, 2000)
    before = sorted(mark.label for mark in trouble.marks(VIEW, box))
    for step in range(1, 15):
        assert sorted(mark.label for mark in trouble.marks(VIEW.panned(step, 2 * step), box)) == before


def test_the_material_s_colour_is_the_hairline_s(outlines):
    image = show(outlines, sheet(shape("a", rectangle(20, 20, 60, 60), Colour(20, 60, 200))))
    middle = outlines.view.to_px(50, 20).toPoint()
    across = [image.pixelColor(middle.x(), middle.y() + step) for step in range(-2, 3)]
    assert any(colour.blue() - colour.red() > 60 for colour in across)
