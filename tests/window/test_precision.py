"""From a whole banner of five metres to a hundredth of a millimetre at its far end: what is shown is where it is."""

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtGui import QImage

from bladewise.document import BLACK, Colour, Job, Layer, Shape, Stroke, Style
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import PathBuilder, circle, joined, rectangle
from bladewise.window.canvas import Canvas
from bladewise.window.view import MOST_SCALE, View
from window.canvas_hand import Hand, art

FAR = (4999.0625, 1499.03125)  # a place whose digits leave room for a hundredth of a thousandth behind them
BANNER = (5100.0, 1600.0)
NEAR = (100.0, 100.0)
RED = Colour(220, 30, 30)


def wave():
    builder = PathBuilder()
    builder.move_to((-30.0, 0.0))
    builder.cubic_to((-10.0, -25.0), (10.0, 25.0), (30.0, 0.002))
    builder.quadratic_to((32.0, 30.0), (0.0, 30.0))
    builder.close()
    return builder.path()


def things():
    """Return art of every size about the origin."""
    return (
        Shape("wave", wave(), Style(fill=Colour(40, 120, 200))),
        Shape("speck", circle((0.0015, -0.001), 0.003), Style(fill=RED)),
        Shape("frame", rectangle(-0.012, -0.008, 0.024, 0.016), Style(stroke=Stroke(BLACK, 0.001))),
        Shape("disc", joined([circle((0.4, 0.3), 0.45), circle((0.4, 0.3), 0.4401)]), Style(fill=RED)),
    )


def job_at(x, y):
    moved = tuple(shape.transformed(Affine.moved(x, y)) for shape in things())
    return Job("Job", *BANNER, (Layer("layer", "Layer", moved),))


@pytest.fixture
def canvas(qtbot):
    canvas = Canvas()
    qtbot.addWidget(canvas)
    canvas.resize(700, 460)
    canvas.show()
    yield canvas
    canvas.stop()


def picture(canvas, job, view):
    canvas.set_job(job)
    canvas.set_view(view)
    canvas.finish_painting()
    return art(canvas)


def levels(image):
    flat = np.frombuffer(image.convertToFormat(QImage.Format.Format_RGB32).constBits(), np.uint8)
    return flat.reshape(image.height(), image.width(), 4)[:, :, :3].astype(int)


@pytest.mark.parametrize("mode", ["fill", "outline"])
@pytest.mark.parametrize("scale", [10.0, 300.0, 8_000.0, MOST_SCALE])
def test_the_far_end_of_a_banner_looks_as_if_it_were_its_beginning(canvas, scale, mode):
    canvas.set_view_mode(mode)
    here = View(scale, NEAR[0] - 330.0 / scale, NEAR[1] - 210.0 / scale)
    there = View(scale, FAR[0] - 330.0 / scale, FAR[1] - 210.0 / scale)
    near = levels(picture(canvas, job_at(*NEAR), here))
    far = levels(picture(canvas, job_at(*FAR), there))
    assert len(np.unique(near.reshape(-1, 3), axis=0)) > 2, "something is to be seen"
    difference = np.abs(near - far).max(axis=2)
    assert (difference > 24).mean() < 2e-4, "but for the rounding of edges"


def test_zooming_in_all_the_way_by_the_wheel_keeps_the_place_under_the_pointer(canvas, qtbot):
    canvas.set_job(job_at(*FAR))
    canvas.zoom_to_fit()
    hand = Hand(qtbot, canvas)
    canvas.center_on(*FAR)
    place = canvas.view.to_mm(350.0, 230.0)
    for _ in range(70):
        hand.wheel(*place, 1)
    assert canvas.view.scale == MOST_SCALE
    there = canvas.view.to_px(*place)
    assert abs(there.x() - 350.0) + abs(there.y() - 230.0) < 1e-3
    back = canvas.view.to_px(*canvas.view.to_mm(123.0, 321.0))
    assert abs(back.x() - 123.0) + abs(back.y() - 321.0) < 1e-4


@pytest.mark.parametrize("mode", ["fill", "outline"])
def test_an_edge_at_the_far_end_is_on_the_pixel_its_number_says(canvas, mode):
    canvas.set_view_mode(mode)
    left = 4999.06251
    block = Shape("block", rectangle(left, 1400.0, 0.5, 90.0), Style(fill=BLACK))
    canvas.set_job(Job("Job", *BANNER, (Layer("layer", "Layer", (block,)),)))
    for offset in (0, 17, 200):  # pixels the edge lies from the middle, reached by panning what is painted
        view = View(MOST_SCALE, left - (350.0 + offset) / MOST_SCALE, 1450.0)
        canvas.set_view(view)
        canvas.finish_painting()
        row = levels(canvas.grab().toImage())[230, 40:, :].max(axis=1)
        dark = np.flatnonzero(row < 140) + 40
        assert abs(dark[0] - view.to_px(left, 1450.0).x()) <= 1.01


def test_a_ghost_at_the_far_end_lies_where_the_step_will_put_it(canvas):
    canvas.set_job(job_at(*FAR))
    scale = 20_000.0
    canvas.set_view(View(scale, FAR[0] - 330.0 / scale, FAR[1] - 210.0 / scale))
    left, top = FAR[0] + 0.0031, FAR[1] + 0.0022
    ghost = Shape("ghost", rectangle(left, top, 0.004, 0.003), Style(fill=RED))
    job = replace(job_at(*FAR), layers=(*job_at(*FAR).layers, Layer("new", "New", (ghost,))))
    canvas.finish_painting()
    before = levels(canvas.grab().toImage())
    canvas.set_ghost(job, frozenset({"ghost"}))
    canvas.finish_painting()
    changed = np.abs(levels(canvas.grab().toImage()) - before).max(axis=2) > 6
    rows, columns = np.nonzero(changed)
    corner = canvas.view.to_px(left, top)
    assert abs(columns.min() - corner.x()) <= 1.5
    assert abs(rows.min() - corner.y()) <= 1.5
    assert abs(columns.max() - corner.x() - 0.004 * scale) <= 2.0
