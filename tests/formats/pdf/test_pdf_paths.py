"""Paths in the PDF are the paths of the job: real size, y up, curves as curves, to a ten-thousandth of a point."""

from __future__ import annotations

import math
from pathlib import Path as FilePath
from typing import TYPE_CHECKING

import numpy as np
import pytest

from bladewise.document import Colour, Gradient, GradientKind, Group, Layer, Shape, Stop, Stroke, Style
from bladewise.formats import read_svg
from bladewise.formats.pdf import pdf_bytes
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import PathBuilder, SegmentKind, circle, ellipse, joined, polygon, rectangle
from bladewise.geometry.regions import FillRule
from bladewise.geometry.strokes import LineCap, LineJoin
from pdf_reading import read_pdf
from pieces import BLUE, ORANGE, job_of, shape

if TYPE_CHECKING:
    from bladewise.document import Job
    from bladewise.geometry.path import Path
    from pdf_reading import Painted

POINTS = 72.0 / 25.4
ROOT = FilePath(__file__).resolve().parents[3]
EXACT_PT = 1e-4


def painted(job: Job, **options: object) -> list[Painted]:
    return read_pdf(pdf_bytes(job, **options))[1]


def on_page(points: object, height_mm: float = 200.0) -> object:
    places = np.asarray(points, dtype=float)
    return np.stack([places[..., 0] * POINTS, (height_mm - places[..., 1]) * POINTS], axis=-1)


def drawn() -> Path:
    pen = PathBuilder()
    pen.move_to((12.3456789, 20.0))
    pen.line_to((30.0, 21.0))
    pen.cubic_to((40.0, 10.0), (50.125, 60.5), (33.3333333, 70.0))
    pen.quadratic_to((20.0, 90.0), (5.0, 44.4))
    pen.close()
    return pen.path()


def test_lines_cubics_and_quadratics_lie_where_the_job_has_them() -> None:
    (one,) = painted(job_of(shape("art", drawn())))
    assert one.operator == "f"
    assert [operator for operator, _ in one.path] == ["m", "l", "c", "c", "l", "h"]
    p0, c, p1 = np.array([33.3333333, 70.0]), np.array([20.0, 90.0]), np.array([5.0, 44.4])
    wanted = [
        [(12.3456789, 20.0)], [(30.0, 21.0)], [(40.0, 10.0), (50.125, 60.5), (33.3333333, 70.0)],
        [p0 + 2.0 / 3.0 * (c - p0), p1 + 2.0 / 3.0 * (c - p1), p1], [(12.3456789, 20.0)],
    ]  # fmt: skip
    for (_, found), told in zip(one.path, wanted, strict=False):
        assert np.abs(found - on_page(told)).max() < EXACT_PT


@pytest.mark.parametrize("radius_mm", [3.0, 90.0, 2000.0])
def test_arcs_stay_within_a_thousandth_of_a_millimetre_with_few_curves(radius_mm: float) -> None:
    centre = (radius_mm + 10.0, radius_mm + 10.0)
    side = 2.0 * radius_mm + 20.0
    (one,) = painted(job_of(shape("disc", circle(centre, radius_mm)), width_mm=side, height_mm=side))
    middle = on_page(centre, side)
    here, count, worst = one.path[0][1][0], 0, 0.0
    t = np.linspace(0.0, 1.0, 101)[:, None]
    for operator, points in one.path[1:]:
        if operator != "c":
            continue
        a, b, c = points
        curve = (1 - t) ** 3 * here + 3 * t * (1 - t) ** 2 * a + 3 * t * t * (1 - t) * b + t**3 * c
        worst = max(worst, float(np.abs(np.hypot(*(curve - middle).T) / POINTS - radius_mm).max()))
        here, count = c, count + 1
    assert worst < 0.001
    assert count == {3.0: 4, 90.0: 8, 2000.0: 16}[radius_mm]


def test_an_arc_of_an_ellipse_keeps_to_it_too() -> None:
    (one,) = painted(job_of(shape("disc", ellipse((100.0, 100.0), 80.0, 5.0).transformed(Affine.rotated(30.0)))))
    turned = Affine.rotated(30.0)
    t = np.linspace(0.0, 1.0, 201)[:, None]
    here = one.path[0][1][0]
    for operator, points in one.path[1:]:
        if operator == "c":
            a, b, c = points
            curve = (1 - t) ** 3 * here + 3 * t * (1 - t) ** 2 * a + 3 * t * t * (1 - t) * b + t**3 * c
            here = c
            x, y = curve[:, 0] / POINTS, 200.0 - curve[:, 1] / POINTS
            back = turned.inverse().apply(np.stack([x, y], axis=1)) - (100.0, 100.0)
            level = np.hypot(back[:, 0] / 80.0, back[:, 1] / 5.0) - 1.0
            slope = np.hypot(back[:, 0] / 80.0**2, back[:, 1] / 5.0**2)
            assert np.abs(level / slope).max() < 0.001


def test_fill_rules_and_holes_are_kept() -> None:
    ring = joined([rectangle(10, 10, 40, 40), rectangle(20, 20, 20, 20)])
    style = Style(fill=ORANGE, fill_rule=FillRule.EVEN_ODD)
    job = job_of(shape("a", ring), shape("b", ring))
    job = job.replaced({"b": (type(job.shapes()[1])("b", ring, style),)})
    assert [one.operator for one in painted(job)] == ["f", "f*"]


def test_a_stroke_has_its_width_caps_joins_miter_and_dashes_in_points() -> None:
    stroke = Stroke(BLUE, 2.5, LineCap.ROUND, LineJoin.BEVEL, dash=(3.0, 1.0, 2.0), dash_offset=-1.0)
    sharp = Stroke(BLUE, 1.0, LineCap.SQUARE, LineJoin.MITER, miter_limit=7.0)
    line = polygon([(10, 10), (50, 20), (30, 60)], closed=False)
    first, second = painted(job_of(shape("a", line, None, stroke), shape("b", line, None, sharp)))
    assert (first.look.cap, first.look.join) == (1, 2)
    assert first.look.width == pytest.approx(2.5 * POINTS, abs=1e-5)
    dash, start = first.look.dash
    assert dash == pytest.approx([one * POINTS for one in (3.0, 1.0, 2.0, 3.0, 1.0, 2.0)], abs=1e-5)
    assert start == pytest.approx(11.0 * POINTS, abs=1e-5), "an offset below nothing is the same dashes further on"
    assert (second.look.cap, second.look.join, second.look.miter_limit) == (2, 0, 7.0)


def test_a_stroke_under_an_uneven_scale_keeps_its_pen_and_its_place() -> None:
    line = polygon([(10, 10), (50, 20), (30, 60)], closed=False)
    stroke = Stroke(BLUE, 1.0, pen=Affine(3.0, 0.0, 0.5, 1.0))
    (one,) = painted(job_of(shape("a", line, None, stroke)))
    for (_, found), told in zip(one.path, [(10, 10), (50, 20), (30, 60)], strict=True):
        assert np.abs(found - on_page([told])).max() < EXACT_PT
    linear = one.look.place[:2, :2] * one.look.width
    flipped = np.array([[3.0, 0.0], [0.5, 1.0]]) @ np.diag([POINTS, -POINTS])
    assert np.abs(linear - flipped).max() < 1e-5


def test_what_svg_paints_nothing_of_paints_nothing_here() -> None:
    line = polygon([(10, 10), (50, 20)], closed=False)
    flat = Stroke(BLUE, 1.0, pen=Affine(1.0, 0.0, 0.0, 0.0))
    job = job_of(
        shape("filled line", line), shape("no width", line, None, Stroke(BLUE, 0.0)), shape("flat", line, None, flat)
    )
    assert painted(job) == []


def test_a_square_dot_is_painted() -> None:
    dot = polygon([(10, 10), (10, 10)], closed=False)
    (one,) = painted(job_of(shape("a", dot, None, Stroke(BLUE, 2.0, LineCap.SQUARE))))
    (_, start), (_, end) = one.path
    assert 0.0 < np.abs(end - start).max() < 1e-3


def test_opacity_is_a_graphics_state_and_a_group_only_where_things_overlap() -> None:
    disc = circle((50.0, 50.0), 20.0)
    job = job_of(shape("a", disc), shape("b", disc, BLUE, Stroke(ORANGE, 3.0)), shape("c", disc))
    a, b, c = job.shapes()
    faint = Style(fill=ORANGE, fill_opacity=0.5, opacity=0.5)
    both = Style(fill=BLUE, stroke=Stroke(ORANGE, 3.0, opacity=0.25), opacity=0.5)
    job = job.replaced({"a": (type(a)("a", disc, faint),), "b": (type(b)("b", disc, both),), "c": ()})
    first, form, fill, stroke = painted(job)
    assert first.look.fill_opacity == 0.25
    assert (form.operator, form.look.fill_opacity) == ("Form", 0.5)
    assert (fill.operator, stroke.operator) == ("f", "S")
    assert stroke.look.stroke_opacity == 0.25
    group = Group("g", (job.shapes()[0], c), opacity=0.5)
    held = type(job)("Test", 200.0, 200.0, (Layer("art", "Art", (group,)),))
    kinds = [one.operator for one in painted(held)]
    assert kinds == ["Form", "f", "f"]


def test_the_stroke_lies_under_the_fill_where_it_is_painted_first() -> None:
    disc = circle((50.0, 50.0), 20.0)
    style = Style(fill=ORANGE, stroke=Stroke(BLUE, 3.0), stroke_first=True)
    job = job_of(shape("a", disc))
    job = job.replaced({"a": (type(job.shapes()[0])("a", disc, style),)})
    assert [one.operator for one in painted(job)] == ["S", "f"]


def test_a_gradient_is_a_shading_whose_stops_and_axis_are_the_jobs() -> None:
    stops = (Stop(0.25, Colour(255, 0, 0)), Stop(0.5, Colour(0, 255, 0)), Stop(0.5, Colour(0, 0, 255), 0.5))
    gradient = Gradient(
        GradientKind.LINEAR, (1.0, 2.0), (3.0, 4.0), stops, transform=Affine(10.0, 0.0, 0.0, 5.0, 7.0, 8.0)
    )
    job = job_of(shape("a", rectangle(10, 10, 50, 50)))
    job = job.replaced({"a": (type(job.shapes()[0])("a", rectangle(10, 10, 50, 50), Style(fill=gradient)),)})
    pdf, (one,) = read_pdf(pdf_bytes(job))
    assert one.look.fill[0] == "Pattern"
    assert one.look.masked, "a stop that is half clear"
    pattern = pdf.pages[0].Resources.Pattern[one.look.fill[1][0]]
    a, b, c, d, e, f = (float(value) for value in pattern.Matrix)
    x0, y0, x1, y1 = (float(value) for value in pattern.Shading.Coords)
    for x, y, told in ((x0, y0, (17.0, 18.0)), (x1, y1, (37.0, 28.0))):
        assert np.abs(np.array([a * x + c * y + e, b * x + d * y + f]) - on_page(told)).max() < EXACT_PT
    function = pattern.Shading.Function
    assert [round(float(value), 6) for value in function.Bounds] == [0.25, 0.5]
    ends = [[float(value) for value in part.C0] + [float(value) for value in part.C1] for part in function.Functions]
    assert ends == [[1, 0, 0, 1, 0, 0], [1, 0, 0, 0, 1, 0], [0, 0, 1, 0, 0, 1]]


def test_a_sheet_beyond_five_metres_has_a_larger_unit_and_keeps_its_size() -> None:
    pdf, (one,) = read_pdf(pdf_bytes(job_of(shape("a", rectangle(10, 10, 7000, 50)), width_mm=8000.0)))
    unit = int(pdf.pages[0].obj.UserUnit)
    assert unit == 2
    assert float(pdf.pages[0].mediabox[2]) * unit == pytest.approx(8000.0 * POINTS, abs=1e-3)
    wide = max(points[:, 0].max() for _, points in one.path if points is not None)
    assert wide * unit == pytest.approx(7010.0 * POINTS, abs=1e-3)
    assert math.isclose(float(pdf.pages[0].mediabox[3]) * unit, 200.0 * POINTS, abs_tol=1e-3)


def anchors(path: Path, height_mm: float) -> list[list[object]]:
    """Return what each subpath must say in order: corners, and the control points of every cubic, on the page."""
    found = []
    for part in path.subpaths():
        rows: list[object] = [on_page([part.points[0, 0]], height_mm)]
        for kind, (p0, p1, p2, p3) in zip(part.kinds, part.points, strict=True):
            match kind:
                case SegmentKind.CUBIC:
                    rows.append(on_page([p1, p2, p3], height_mm))
                case SegmentKind.QUADRATIC:
                    rows.append(on_page([p0 + (p1 - p0) * 2.0 / 3.0, p3 + (p1 - p3) * 2.0 / 3.0, p3], height_mm))
                case _:
                    rows.append(on_page([p3], height_mm))
        found.append(rows)
    return found


def said(one: Painted) -> list[list[object]]:
    subpaths: list[list[object]] = []
    for operator, points in one.path:
        if operator == "m":
            subpaths.append([])
        if points is not None:
            subpaths[-1].append(points)
    return subpaths


@pytest.mark.parametrize("path", sorted((ROOT / "demo_art").glob("*.svg")), ids=lambda path: path.name)
def test_every_node_and_handle_of_the_demo_jobs_is_in_the_pdf(path: FilePath) -> None:
    job = read_svg(path)
    job = job.without([placed.leaf.id for placed in job.walk() if not isinstance(placed.leaf, Shape)])
    fills = [one for one in painted(job) if one.operator in ("f", "f*")]
    shapes = [one for one in job.shapes(visible_only=True) if one.style.fill is not None and one.style.opacity > 0.0]
    assert len(fills) == len(shapes) > 0
    for one, drawn_shape in zip(fills, shapes, strict=True):
        for told, wanted in zip(said(one), anchors(drawn_shape.path, job.height_mm), strict=True):
            place = 0
            for row in wanted:  # an arc may take several cubics: its end is among what follows
                while len(told[place]) < len(row) or np.abs(told[place][-len(row) :] - row).max() >= EXACT_PT:
                    place += 1
                place += 1
            assert place == len(told)
