"""The finished piece on paper: cut along its lines, as shapely cuts it; what lies outside is gone."""

import math

import numpy as np
import pytest
import shapely

from bladewise.document import (
    CUT_LINE,
    CutKind,
    Group,
    Job,
    Layer,
    Material,
    Picture,
    Shape,
    Stroke,
    Style,
    cut_line_id,
    leaves_in,
)
from bladewise.errors import Cancelled
from bladewise.geometry.affine import Affine
from bladewise.geometry.measures import area
from bladewise.geometry.path import circle, joined, polygon, rectangle
from bladewise.layout import clipping
from bladewise.layout.clipping import clipped, pieces_of
from bladewise.layout.views import finished, flat_colours
from pieces import BLUE, ORANGE, shape

RING = joined([circle((50, 50), 20), circle((50, 50), 10).reversed()])


def area_of(elements):
    return sum(abs(area(leaf.path)) for leaf in leaves_in(elements))


def test_art_across_a_line_is_cut_along_it():
    found = clipped((shape("bar", rectangle(0, 45, 100, 10)),), circle((50, 50), 20))
    disc = shapely.Point(50, 50).buffer(20, quad_segs=4000)
    assert area_of(found) == pytest.approx(disc.intersection(shapely.box(0, 45, 100, 55)).area, rel=1e-5)


def test_art_about_a_piece_becomes_the_piece_and_holes_stay_open():
    found = clipped((shape("ground", rectangle(0, 0, 100, 100)),), RING)
    assert area_of(found) == pytest.approx(3.141592653589793 * 300, rel=1e-6)


def test_art_inside_stays_the_very_same_and_art_outside_or_in_a_hole_is_gone():
    inside, outside, hole = (
        shape(key, circle(at, 2)) for key, at in (("a", (65, 50)), ("b", (90, 90)), ("c", (50, 50)))
    )
    assert clipped((inside, outside, hole), RING) == (inside,)
    group = Group("g", (outside, hole))
    assert clipped((group, Group("h", (inside, outside))), RING) == (Group("h", (inside,)),)


def test_a_broad_stroke_is_cut_as_the_area_it_is():
    line = shape("line", polygon([(50, 50), (100, 50)], closed=False), fill=None, stroke=Stroke(BLUE, 4.0))
    (found,) = clipped((line,), circle((50, 50), 20))
    disc = shapely.Point(50, 50).buffer(20, quad_segs=4000)
    assert abs(area(found.path)) == pytest.approx(disc.intersection(shapely.box(50, 48, 100, 52)).area, rel=1e-5)
    assert found.style == Style(BLUE)


def test_a_stroke_that_reaches_over_the_line_is_cut_though_its_middle_does_not():
    (fill, band) = clipped((shape("disc", circle((50, 50), 19), stroke=Stroke(BLUE, 4.0)),), circle((50, 50), 20))
    assert fill.path == circle((50, 50), 19) or abs(area(fill.path)) == pytest.approx(3.14159265 * 361, rel=1e-5)
    assert band.path.bounds() == pytest.approx((30, 30, 70, 70), abs=0.01)


def test_copies_are_cut_as_the_first_was():
    pieces = joined([circle((50 + 60 * n, 50), 20) for n in range(5)])
    found = clipped(tuple(shape(f"bar{n}", rectangle(20 + 60 * n, 45, 45, 10)) for n in range(5)), pieces)
    areas = [abs(area(each.path)) for each in found]
    assert len(areas) == 5
    assert areas == pytest.approx([areas[0]] * 5)
    assert [each.bounds[0] for each in found] == pytest.approx([30 + 60 * n for n in range(5)], abs=0.7)


def test_pictures_that_cannot_be_read_stay_whole_where_they_touch_a_piece():
    picture = Picture("p", b"", "image/png", Affine(30, 0, 0, 30, 40, 40))
    far = Picture("q", b"", "image/png", Affine(5, 0, 0, 5, 90, 90))
    assert clipped((picture, far), circle((50, 50), 20)) == (picture,)


def cut_job(*cuts):
    layers = [Layer("art", "Art", (shape("bleed", rectangle(0, 0, 100, 100)),))]
    materials = []
    for number, (kind, path) in enumerate(cuts):
        key = cut_line_id(kind)
        materials.append(Material(key, f"{kind}", ORANGE, cut=kind))
        line = Shape(f"line{number}", path, Style(stroke=Stroke(ORANGE, 0.05)))
        layers.append(Layer(f"cut{number}", "Cut", (line,), key))
    return Job("Sticker", 100.0, 100.0, tuple(layers), tuple(dict.fromkeys(materials)))


def test_a_sticker_on_its_piece_of_liner_is_the_sticker():
    job = cut_job((CutKind.THROUGH, rectangle(10, 10, 80, 80)), (CutKind.KISS, circle((50, 50), 20)))
    assert pieces_of(job).bounds() == pytest.approx((30, 30, 70, 70))
    alone = cut_job((CutKind.THROUGH, rectangle(10, 10, 80, 80)), (CutKind.CREASE, rectangle(50, 10, 1, 80)))
    assert pieces_of(alone).bounds() == pytest.approx((10, 10, 90, 90))


def test_the_finished_picture_shows_no_bleed():
    job = cut_job((CutKind.KISS, circle((50, 50), 20)))
    assert job.materials[0].id == CUT_LINE
    view = finished(job)
    boxes = [leaf.bounds for leaf in view.shapes()]
    assert all(box[0] >= 0 and box[2] <= view.width_mm and box[1] >= 0 and box[3] <= view.height_mm for box in boxes)
    assert flat_colours(view) == [ORANGE]
    assert view.shapes()[0].bounds[2] - view.shapes()[0].bounds[0] == pytest.approx(40.0)


def scattered(count):
    """Return discs that lie over one another and across a line with waves, and the line."""
    places = np.random.default_rng(5).uniform(0.0, 120.0, (count, 2)).tolist()
    discs = tuple(shape(f"disc-{number}", circle(at, 3.0 + number % 7)) for number, at in enumerate(places))
    turns = np.linspace(0.0, 2.0 * math.pi, 600, endpoint=False)
    far = 45.0 + 6.0 * np.sin(9.0 * turns)
    return discs, polygon(np.stack([60.0 + far * np.cos(turns), 60.0 + far * np.sin(turns)], axis=1).tolist())


def test_of_much_art_each_leaf_is_cut_as_if_it_were_alone(monkeypatch):
    monkeypatch.setattr(clipping, "_AT_ONCE", 20)
    discs, line = scattered(260)
    within = shapely.Polygon(line.points[:, 0])
    left: dict[str, float] = {}
    for leaf in leaves_in(clipped(discs, line)):
        key = leaf.id.split("-part-")[0]
        left[key] = left.get(key, 0.0) + abs(area(leaf.path))
    expected = {}
    for number, disc in enumerate(discs):
        x0, y0, x1, y1 = disc.bounds
        round_ = shapely.Point((x0 + x1) / 2.0, (y0 + y1) / 2.0).buffer(3.0 + number % 7, quad_segs=500)
        if (size := round_.intersection(within).area) > 0.0:
            expected[disc.id] = size
    assert left == pytest.approx(expected, rel=1e-4, abs=1e-3)


def test_cutting_much_art_can_be_stopped_on_the_way(monkeypatch):
    monkeypatch.setattr(clipping, "_AT_ONCE", 20)
    discs, line = scattered(260)
    told = []

    def stop(done):
        told.append(done)
        if done > 0.3:
            raise Cancelled

    with pytest.raises(Cancelled):
        clipped(discs, line, stop)
    assert told == sorted(told)
    assert 0.3 < told[-1] < 1.0
