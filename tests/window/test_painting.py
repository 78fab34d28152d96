"""What a job looks like: closed forms, SVG 2 "Painting", and the same at every zoom.

Areas are read from the picture: the sum of a pixel's darkness is the area it covers, so a circle of
radius r must darken πr² pixels (closed form).
"""

import math
from pathlib import Path as FilePath

import numpy as np
import pytest
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from bladewise.document import (
    BLACK,
    Colour,
    Gradient,
    GradientKind,
    Group,
    Job,
    Layer,
    Lettering,
    Material,
    MaterialKind,
    Picture,
    Shape,
    Stop,
    Stroke,
    Style,
)
from bladewise.errors import CannotWrite
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import PathBuilder, circle, joined, polygon, rectangle
from bladewise.geometry.regions import FillRule
from bladewise.geometry.strokes import LineCap, LineJoin
from bladewise.window.chords import chords, chords_of
from bladewise.window.drawing import Drawing, prepare
from bladewise.window.painting import ViewMode, paint_leaf
from bladewise.window.paints import legible
from bladewise.window.paths import curves, curves_of, near_part, near_path, near_polylines, pieces
from bladewise.window.picture import render_picture, write_png
from bladewise.window.view import View

RED, BLUE, WHITE = Colour(255, 0, 0), Colour(0, 0, 255), Colour(255, 255, 255)


def sheet(*elements, size=100.0, materials=()):
    return Job("Job", size, size, (Layer("layer", "Layer", tuple(elements)),), materials)


def shape(path, fill=BLACK, **style):
    return Shape("shape", path, Style(fill=fill, **style))


def line(path, width=4.0, **stroke):
    return Shape("line", path, Style(stroke=Stroke(BLACK, width, **stroke)))


def pixels(job, width=400, view="fill", **options):
    image = render_picture(job, width_px=width, view=view, **options).convertToFormat(QImage.Format.Format_ARGB32)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine() // 4, 4)
    return rows[:, : image.width(), [2, 1, 0, 3]].astype(float)


def dark_mm2(job, width=400):
    """Return the area that black paint covers on a white sheet."""
    return float((1.0 - pixels(job, width)[:, :, 0] / 255.0).sum()) * (job.width_mm / width) ** 2


def at(picture, x_mm, y_mm, size=100.0):
    scale = picture.shape[1] / size
    return tuple(int(channel) for channel in picture[int(y_mm * scale), int(x_mm * scale), :3])


def test_a_circle_covers_its_area():
    assert dark_mm2(sheet(shape(circle((50, 50), 30)))) == pytest.approx(math.pi * 900, rel=1e-3)


def test_curves_of_every_kind_cover_what_they_enclose():
    pen = PathBuilder()
    pen.move_to((10, 50))
    pen.quadratic_to((50, 0), (90, 50))  # area under a quadratic: 2/3 of its triangle
    pen.close()
    assert dark_mm2(sheet(shape(pen.path()))) == pytest.approx(2 / 3 * 80 * 50 / 2, rel=1e-3)


def test_a_hole_shows_by_its_fill_rule():
    both = joined([circle((50, 50), 40), circle((50, 50), 20)])
    assert dark_mm2(sheet(shape(both))) == pytest.approx(math.pi * 1600, rel=1e-3)
    odd = shape(both, fill_rule=FillRule.EVEN_ODD)
    assert dark_mm2(sheet(odd)) == pytest.approx(math.pi * (1600 - 400), rel=1e-3)


@pytest.mark.parametrize(
    ("cap", "area"),
    [(LineCap.BUTT, 50 * 8), (LineCap.SQUARE, 58 * 8), (LineCap.ROUND, 50 * 8 + math.pi * 16)],
)
def test_strokes_end_as_their_caps_say(cap, area):
    path = polygon([(20, 50), (70, 50)], closed=False)
    assert dark_mm2(sheet(line(path, 8.0, cap=cap))) == pytest.approx(area, rel=1e-3)


def test_a_miter_longer_than_its_limit_is_cut_off():
    """SVG 2, "miterlimit": miter length over width is 1 / sin(θ/2); θ = 90° gives 1.414."""
    corner = polygon([(20, 70), (50, 40), (80, 70)], closed=False)
    sharp = line(corner, 8.0, join=LineJoin.MITER, miter_limit=1.5)
    cut = line(corner, 8.0, join=LineJoin.MITER, miter_limit=1.4)
    assert dark_mm2(sheet(sharp)) - dark_mm2(sheet(cut)) == pytest.approx(8.0, abs=0.2)  # a triangle of 2 · 4² / 4


def test_dashes_leave_gaps():
    path = polygon([(10, 50), (90, 50)], closed=False)
    assert dark_mm2(sheet(line(path, 5.0, dash=(8.0, 2.0)))) == pytest.approx(64 * 5, rel=1e-3)
    assert dark_mm2(sheet(line(path, 5.0, dash=(0.0, 0.0)))) == pytest.approx(80 * 5, rel=1e-3)


def test_a_stroke_scaled_unevenly_keeps_its_pen():
    pen = Affine(2.0, 0.0, 0.0, 0.5)
    upright = line(polygon([(50, 20), (50, 80)], closed=False), 4.0, pen=pen)
    level = line(polygon([(20, 50), (80, 50)], closed=False), 4.0, pen=pen)
    assert dark_mm2(sheet(upright)) == pytest.approx(60 * 8, rel=2e-3)
    assert dark_mm2(sheet(level)) == pytest.approx(60 * 2, rel=2e-3)


def test_the_quick_stroke_covers_the_same_as_the_exact_one():
    leaf = line(circle((50, 50), 30), 6.0, join=LineJoin.ROUND)
    covered = []
    for exact in (True, False):
        image = QImage(400, 400, QImage.Format.Format_RGB32)
        image.fill(QColor("white"))
        painter = QPainter(image)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paint_leaf(painter, Drawing(leaf, exact_stroke=exact), View(4.0))
        painter.end()
        rows = np.frombuffer(image.constBits(), np.uint8).reshape(400, 400, 4)
        covered.append((1.0 - rows[:, :, 0] / 255.0).sum() / 16.0)
    assert covered[0] == pytest.approx(math.pi * (33**2 - 27**2), rel=1e-3)
    assert covered[1] == pytest.approx(covered[0], rel=0.02)


def test_opacity_of_a_shape_counts_for_fill_and_stroke_together():
    both = Shape("s", rectangle(20, 20, 60, 60), Style(fill=BLACK, stroke=Stroke(BLACK, 10.0), opacity=0.5))
    picture = pixels(sheet(both))
    assert at(picture, 50, 50) == at(picture, 22, 50)  # where the stroke lies over the fill
    assert abs(at(picture, 50, 50)[0] - 128) <= 1


def test_opacity_of_a_group_counts_for_all_of_it_at_once():
    pair = Group(
        "group",
        (
            Shape("a", rectangle(10, 10, 50, 50), Style(fill=RED)),
            Shape("b", rectangle(40, 40, 50, 50), Style(fill=BLUE)),
        ),
        opacity=0.5,
    )
    picture = pixels(sheet(pair))
    assert at(picture, 50, 50) == at(picture, 80, 80)  # no red shines through the blue
    assert abs(at(picture, 20, 20)[1] - 128) <= 1


def test_a_stroke_painted_first_lies_under_the_fill():
    path = rectangle(20, 20, 60, 60)
    over = Style(fill=RED, stroke=Stroke(BLUE, 10.0))
    under = Style(fill=RED, stroke=Stroke(BLUE, 10.0), stroke_first=True)
    assert at(pixels(sheet(Shape("s", path, over))), 23, 50) == BLUE
    assert at(pixels(sheet(Shape("s", path, under))), 23, 50) == RED


def test_a_gradient_runs_between_its_stops_and_in_its_own_space():
    ramp = Gradient(
        GradientKind.LINEAR, (0.0, 0.0), (1.0, 0.0), (Stop(0.0, BLACK), Stop(1.0, WHITE)), transform=Affine(a=100.0)
    )
    picture = pixels(sheet(shape(rectangle(0, 0, 100, 100), ramp)))
    for x in (10, 50, 90):
        assert abs(at(picture, x, 50)[0] - 255 * x / 100) <= 2


def test_two_stops_at_one_place_make_a_hard_edge():
    stops = (Stop(0.0, RED), Stop(0.5, RED), Stop(0.5, BLUE), Stop(1.0, BLUE))
    ramp = Gradient(GradientKind.LINEAR, (0.0, 0.0), (100.0, 0.0), stops)
    picture = pixels(sheet(shape(rectangle(0, 0, 100, 100), ramp)))
    assert at(picture, 48, 50) == RED
    assert at(picture, 52, 50) == BLUE


def test_a_gradient_of_no_length_is_its_last_stop():
    """SVG 2, "linearGradient": where both ends are one point, the last stop's colour is used."""
    stops = (Stop(0.0, RED), Stop(1.0, BLUE))
    flat = Gradient(GradientKind.LINEAR, (3.0, 3.0), (3.0, 3.0), stops)
    dot = Gradient(GradientKind.RADIAL, (3.0, 3.0), (3.0, 3.0), stops, radius=0.0)
    for paint in (flat, dot):
        assert at(pixels(sheet(shape(rectangle(0, 0, 100, 100), paint))), 50, 50) == BLUE


def test_a_placed_picture_lies_where_its_transform_puts_it():
    image = QImage(2, 1, QImage.Format.Format_RGB32)
    image.setPixelColor(0, 0, QColor(255, 0, 0))
    image.setPixelColor(1, 0, QColor(0, 0, 255))
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    assert image.save(buffer, "PNG")
    placed = Picture("p", bytes(data.data()), "image/png", Affine(60.0, 0.0, 0.0, 30.0, 20.0, 10.0))
    picture = pixels(sheet(placed))
    assert at(picture, 25, 25) == RED
    assert at(picture, 75, 25) == BLUE
    assert at(picture, 50, 60) == WHITE


def test_a_picture_that_cannot_be_read_paints_nothing():
    assert dark_mm2(sheet(Picture("p", b"no picture", "image/png", Affine(50.0, 0.0, 0.0, 50.0)))) == 0.0


def test_lettering_is_painted_by_the_outlines_it_was_last_set_with():
    word = Lettering("w", "O", "A font that is not there", 10.0, Style(fill=BLACK), outline=circle((50, 50), 10))
    assert dark_mm2(sheet(word)) == pytest.approx(math.pi * 100, rel=1e-3)


def test_hidden_art_is_not_shown():
    hidden = Shape("s", rectangle(0, 0, 100, 100), Style(fill=BLACK), visible=False)
    asleep = Layer("x", "X", (shape(rectangle(0, 0, 100, 100)),), visible=False)
    job = Job("Job", 100.0, 100.0, (Layer("layer", "Layer", (hidden,)), asleep))
    for view in ViewMode:
        assert (pixels(job, view=view)[:, :, :3] == 255).all()


def test_outlines_are_hairlines_in_the_materials_colour_and_nothing_is_filled():
    thick = Shape("s", rectangle(20, 20, 60, 60), Style(fill=RED, stroke=Stroke(BLUE, 10.0)))
    picture = pixels(sheet(thick), view="outline")
    assert at(picture, 50, 50) == WHITE
    inked = (picture[:, :, :3].min(axis=2) < 250).sum()
    assert 240 * 4 * 0.9 < inked < 240 * 4 * 2.2  # one pixel wide, two where it falls between
    row = picture[200, 70:90, :3]
    assert row[:, 0].min() > 200  # red stays, green and blue go
    assert row[:, 1].min() < 140


def test_guides_are_dashed_in_outline_view():
    guide = Material("guide", "Guide", BLUE, MaterialKind.GUIDE)
    path = polygon([(10, 50), (90, 50)], closed=False)
    solid = Shape("s", path, Style(stroke=Stroke(BLUE, 0.1)))
    dashed = Shape("s", path, Style(stroke=Stroke(BLUE, 0.1)), material="guide")
    inked = [(pixels(sheet(each, materials=(guide,)), view="outline")[:, :, 0] < 200).sum() for each in (solid, dashed)]
    assert 0.4 < inked[1] / inked[0] < 0.8


@pytest.mark.parametrize("paper", [WHITE, Colour(0xD2, 0xD5, 0xD9), Colour(0x1B, 0x1E, 0x23), BLACK])
@pytest.mark.parametrize("colour", [WHITE, BLACK, Colour(255, 241, 214), Colour(27, 42, 65), Colour(240, 228, 66)])
def test_a_hairline_can_be_told_from_the_sheet_whatever_vinyl_it_stands_for(colour, paper):
    """Contrast as WCAG 2.2 defines it; 2:1 is ours: a thin line in its own colour, not text."""
    high, low = sorted((legible(colour, paper).luminance, paper.luminance), reverse=True)
    assert (high + 0.05) / (low + 0.05) >= 1.9


def test_a_colour_that_can_be_told_is_left_as_it_is():
    assert legible(RED, WHITE) == RED


def test_a_picture_can_be_see_through():
    picture = pixels(sheet(shape(rectangle(0, 0, 50, 50))), transparent=True)
    assert picture[10, 10, 3] == 255
    assert picture[300, 300, 3] == 0


def test_a_png_is_true_to_size_and_written_whole(tmp_path):
    target = tmp_path / "out.png"
    write_png(sheet(shape(circle((50, 50), 30))), target, scale=10.0)
    image = QImage(str(target))
    assert (image.width(), image.height()) == (1000, 1000)
    assert image.dotsPerMeterX() == 10_000
    assert [each.name for each in tmp_path.iterdir()] == ["out.png"]


def test_a_picture_that_cannot_be_written_says_so_and_leaves_nothing(tmp_path):
    with pytest.raises(CannotWrite) as problem:
        write_png(sheet(), tmp_path / "no such folder" / "out.png")
    assert problem.value.hint
    with pytest.raises(CannotWrite) as problem:
        write_png(sheet(), tmp_path / "out.png", width_px=2_000_000)
    assert problem.value.hint
    with pytest.raises(CannotWrite):
        render_picture(Job("Job", 0.0, 0.0))
    assert not list(tmp_path.iterdir())


def test_a_picture_needs_neither_a_window_nor_a_screen(tmp_path):
    """The command line makes pictures: no QApplication there."""
    import subprocess
    import sys

    code = (
        "from bladewise.document import Job; from bladewise.window.picture import write_png; "
        f"write_png(Job('x', 50.0, 20.0), r'{tmp_path / 'x.png'}', width_px=50); "
        "from PySide6.QtCore import QCoreApplication as app; assert app.instance() is None"
    )
    app = FilePath(__file__).resolve().parents[2] / "app"
    subprocess.run([sys.executable, "-c", code], check=True, env={"PYTHONPATH": str(app)}, timeout=60)
    assert (tmp_path / "x.png").stat().st_size > 50


# --- paths -----------------------------------------------------------------------------------------------------------


def test_arcs_become_cubics_that_stay_within_a_millionth_of_the_radius():
    path = curves(circle((0.0, 0.0), 1.0))
    radii = []
    for share in np.linspace(0.0, 1.0, 200):
        point = path.pointAtPercent(float(share))
        radii.append(math.hypot(point.x(), point.y()))
    assert np.abs(np.array(radii) - 1.0).max() < 5e-6


def test_every_kind_of_segment_crosses_into_qt_where_it_was():
    pen = PathBuilder()
    pen.move_to((0, 0))
    pen.line_to((10, 0))
    pen.quadratic_to((20, 0), (20, 10))
    pen.cubic_to((20, 20), (10, 30), (0, 20))
    pen.close()
    pen.move_to((50, 50))
    pen.line_to((60, 60))
    path = joined([pen.path(), circle((100.0, 0.0), 5.0)])
    box = curves(path).boundingRect()
    ours = path.bounds()
    for mine, theirs in zip(ours, (box.left(), box.top(), box.right(), box.bottom()), strict=True):
        assert theirs == pytest.approx(mine, abs=1e-4)
    assert len(curves(path).toSubpathPolygons()) == 3
    assert curves(joined([])).isEmpty()


def test_chords_stay_within_their_tolerance():
    path = circle((0.0, 0.0), 100.0)
    for tolerance in (1.0, 0.1, 0.01):
        corners = chords(path, tolerance).toFillPolygon()
        points = np.array([(corner.x(), corner.y()) for corner in corners])
        middles = (points[1:] + points[:-1]) / 2.0
        assert np.abs(np.hypot(*points.T) - 100.0).max() < 1e-9
        assert (100.0 - np.hypot(*middles.T)).max() <= tolerance


def test_paths_made_together_are_those_made_one_by_one():
    builder = PathBuilder()
    builder.move_to((0.0, 0.0))
    builder.quadratic_to((5.0, 9.0), (10.0, 0.0))
    builder.line_to((4.0, -3.0))
    paths = [circle((3.0, 4.0), 20.0), joined([]), builder.path(), joined([rectangle(0, 0, 4, 4), circle((9, 9), 2)])]
    rules = [FillRule.EVEN_ODD, FillRule.NONZERO, FillRule.NONZERO, FillRule.EVEN_ODD]
    for tolerance in (1.0, 0.01):
        alone = [chords(path, tolerance, rule) for path, rule in zip(paths, rules, strict=True)]
        assert chords_of(paths, tolerance, rules) == alone
    assert curves_of(paths, rules) == [curves(path, rule) for path, rule in zip(paths, rules, strict=True)]


@pytest.mark.parametrize("scale", [1.0, 40.0])
def test_art_that_was_moved_looks_as_if_it_had_been_drawn_there(scale):
    stroke = Stroke(BLACK, 1.5)
    shape = Shape("a", circle((5.0, 5.0), 4.0), Style(fill=RED, stroke=stroke))
    moved = shape.transformed(Affine.moved(3.25, -1.5))
    before = Drawing(shape)
    prepare([before], scale, filled=True)
    assert before.stroke_area
    taken = Drawing(moved).after(Drawing(shape).after(before))
    fresh = Drawing(moved)
    for ours, theirs in (
        (taken.area(scale), fresh.area(scale)),
        (taken.curves, fresh.curves),
        (taken.stroke_chords(scale), fresh.stroke_chords(scale)),
    ):
        assert ours.elementCount() == theirs.elementCount()
        gaps = [
            max(abs(ours.elementAt(i).x - theirs.elementAt(i).x), abs(ours.elementAt(i).y - theirs.elementAt(i).y))
            for i in range(ours.elementCount())
        ]
        assert max(gaps) < 1e-9
    turned = Drawing(shape.transformed(Affine.rotated(30.0))).after(before)
    assert turned.curves == Drawing(turned.leaf).curves


def test_pieces_of_a_long_outline_are_the_outline():
    path = joined([circle((float(index), 0.0), 2.0) for index in range(50)])
    parts = pieces(path, 33)
    assert sum(len(part) for part in parts) == len(path)
    assert np.array_equal(np.concatenate([part.points for part in parts]), path.points)
    assert sum(len(part.starts) for part in parts) >= 50


@pytest.mark.parametrize("scale", [1.0, 100.0, 1e4, 1e5])
def test_far_in_the_near_part_of_a_path_is_exact(scale):
    """A circle of a quarter metre at the far end of a banner; its rim must pass the middle of the window."""
    angle = math.radians(33.3)
    rim = 4000.0 + 250.0 * math.cos(angle), 300.0 + 250.0 * math.sin(angle)
    view = View(scale, rim[0] - 400.0 / scale, rim[1] - 300.0 / scale)
    coords, _ = near_polylines(circle((4000.0, 300.0), 250.0), view, (0.0, 0.0, 800.0, 600.0))
    inside = coords[(coords >= 0.0).all(axis=1) & (coords <= (800.0, 600.0)).all(axis=1)]
    x, y = view.x_mm + inside[:, 0] / scale, view.y_mm + inside[:, 1] / scale
    if len(inside):
        assert np.abs((np.hypot(x - 4000.0, y - 300.0) - 250.0) * scale).max() < 0.01
    along, to = np.diff(coords, axis=0), np.array([400.0, 300.0]) - coords[:-1]
    t = np.clip((along * to).sum(axis=1) / np.maximum((along * along).sum(axis=1), 1e-12), 0.0, 1.0)
    assert np.hypot(*(to - t[:, None] * along).T).min() < 0.2
    assert np.abs(coords).max() <= 13_000.0


def test_an_area_much_larger_than_the_window_fills_it():
    image = QImage(200, 200, QImage.Format.Format_RGB32)
    image.fill(QColor("white"))
    painter = QPainter(image)
    paint_leaf(painter, Drawing(shape(circle((4000.0, 300.0), 250.0))), View(5e4, 4000.0, 300.0))
    painter.end()
    assert image.pixelColor(100, 100) == QColor("black")
    outline = near_path(circle((4000.0, 300.0), 250.0), View(5e4, 4000.0, 300.0), (0.0, 0.0, 200.0, 200.0))
    assert outline.controlPointRect().contains(QRectF(0.0, 0.0, 200.0, 200.0))


@pytest.mark.parametrize("angle", [0.0, 33.3, 90.0])
def test_far_in_a_stroke_is_as_wide_as_it_is(angle):
    """Also across the seam of a closed path (angle 0, where the circle begins)."""
    rim = 400.0 + 250.0 * math.cos(math.radians(angle)), 300.0 + 250.0 * math.sin(math.radians(angle))
    leaf = Shape("s", circle((400.0, 300.0), 250.0), Style(stroke=Stroke(BLACK, 0.02)))
    image = QImage(300, 300, QImage.Format.Format_RGB32)
    image.fill(QColor("white"))
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    paint_leaf(painter, Drawing(leaf), View(5000.0, rim[0] - 0.03, rim[1] - 0.03))
    painter.end()
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(300, 300, 4)
    tilt = max(abs(math.cos(math.radians(angle))), abs(math.sin(math.radians(angle))))
    assert (1.0 - rows[:, :, 0] / 255.0).sum() == pytest.approx(300 * 100 / tilt, rel=0.01)


def test_the_near_part_of_a_path_is_whole_where_it_is_near():
    ring = circle((0.0, 0.0), 10.0)
    assert near_part(ring, (-20.0, -20.0, 20.0, 20.0)) == ring
    right = near_part(ring, (9.0, -1.0, 11.0, 1.0))  # both quarters beside the seam, as one open run
    assert len(right) == 2
    assert len(right.starts) == 1
    assert not right.closed.any()
    assert not near_part(ring, (50.0, 50.0, 60.0, 60.0))


def test_hairlines_of_one_outline_do_not_depend_on_how_it_is_cut():
    wavy = PathBuilder()
    wavy.move_to((5.0, 50.0))
    for index in range(1, 1300):
        wavy.line_to((5.0 + index * 0.069, 50.0 + 30.0 * math.sin(index / 40.0)))
    leaf = Shape("s", wavy.path(), Style(stroke=Stroke(BLACK, 0.1)))
    whole = pixels(sheet(leaf), view="outline")
    short = Shape("t", pieces(wavy.path(), 400)[0], Style(stroke=Stroke(BLACK, 0.1)))
    part = pixels(sheet(short), view="outline")
    assert (whole[:, :90] == part[:, :90]).all()
