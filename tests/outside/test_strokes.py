"""Strokes against the outside: closed forms, SVG 2's own listing built bit by bit, resvg, picosvg's pairs.

Sources
-------
Stadium, annulus, sector: any handbook of geometry.
Miter rule: SVG 2, "Painting", 'stroke-miterlimit': miter length / stroke width = 1 / sin(θ / 2), so the default
limit of 4 flips at θ = 2·asin(1/4) = 28.955°.
The area of a stroke: SVG 2, "Computing the shape of the stroke", built anew in tests/swept.py.
Second opinion: resvg (PyPI `resvg_py`), the live stroke beside our shape; picosvg 0.23.0 (PyPI sdist, Apache-2.0),
drawings before and after its own conversion of strokes.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from bladewise.document import Shape
from bladewise.formats import read_svg
from bladewise.geometry.affine import Affine
from bladewise.geometry.booleans import cut_out, merge
from bladewise.geometry.dashes import dashed
from bladewise.geometry.measures import area, perimeter
from bladewise.geometry.path import PathBuilder, SegmentKind, circle, polygon
from bladewise.geometry.regions import Region
from bladewise.geometry.strokes import LineCap, LineJoin, StrokeGeometry, stroke_to_shape
from outside.pictures import Difference, difference, picture
from outside_cases import cases
from swept import farthest, polygon_of, swept

FARTHEST_MM = 0.005
"""The promise: no place of a stroke's outline further off than this."""


def bend(theta_deg, arm=100.0):
    """Two lines that meet at an inner angle."""
    theta = math.radians(theta_deg)
    return polygon([(arm, 0), (0, 0), (arm * math.cos(theta), arm * math.sin(theta))], closed=False)


@pytest.mark.parametrize("length", [0.5, 10.0, 300.0])
@pytest.mark.parametrize("width", [0.1, 3.0, 40.0])
def test_a_round_ended_line_is_a_stadium(length, width):
    shape = stroke_to_shape(polygon([(0, 0), (length, 0)], closed=False), StrokeGeometry(width, LineCap.ROUND))
    assert area(shape) == pytest.approx(length * width + math.pi * width * width / 4.0, rel=1e-9)


@pytest.mark.parametrize(("theta", "pointed"), [(28.9, False), (29.0, True), (28.9550, False), (28.9551, True)])
def test_the_default_miter_limit_flips_where_svg_says(theta, pointed):
    reach = -stroke_to_shape(bend(theta), StrokeGeometry(2.0)).bounds()[0]
    assert (reach > 3.0) is pointed


@pytest.mark.parametrize("theta", [15.0, 45.0, 90.0, 150.0])
def test_the_miter_is_as_long_as_svg_says(theta):
    width = 2.0
    corner = bend(theta)
    shape = stroke_to_shape(corner, StrokeGeometry(width, miter_limit=100.0))
    outward = -np.array([math.cos(math.radians(theta / 2)), math.sin(math.radians(theta / 2))])
    reach = float((shape.points[:, 0] @ outward).max())
    assert reach == pytest.approx(width / 2.0 / math.sin(math.radians(theta / 2.0)), abs=1e-9)


def test_an_arc_of_a_circle_is_a_sector_of_a_ring():
    pen = PathBuilder()
    pen.move_to((10, 0))
    pen.svg_arc_to(10, 10, 0, large=True, sweep=True, point=(0, -10))
    shape = stroke_to_shape(pen.path(), StrokeGeometry(4.0))
    assert area(shape) == pytest.approx(0.75 * math.pi * (12.0**2 - 8.0**2), abs=1e-9)
    assert (shape.kinds == SegmentKind.ARC).sum() == 6


def test_an_arc_wider_than_its_radius_reaches_beyond_its_centre():
    pen = PathBuilder()
    pen.move_to((1, 0))
    pen.svg_arc_to(1, 1, 0, large=False, sweep=True, point=(0, 1))
    shape = stroke_to_shape(pen.path(), StrokeGeometry(6.0))  # from −2 to 4 along each radius
    assert area(shape) == pytest.approx(0.25 * math.pi * (4.0**2 + 2.0**2), abs=1e-9)


def wandering(seed):
    """A path of one to five segments of every kind, as unruly as they come, and a stroke for it."""
    rng = np.random.default_rng(seed)
    pen, here = PathBuilder(), rng.uniform(0, 30, 2)
    pen.move_to(tuple(here))
    for _ in range(int(rng.integers(1, 6))):
        a, b, there = rng.uniform(0, 30, (3, 2))
        match int(rng.integers(4)):
            case 0:
                pen.line_to(tuple(there))
            case 1:
                pen.quadratic_to(tuple(a), tuple(there))
            case 2:
                pen.cubic_to(tuple(a), tuple(b), tuple(there))
            case _:
                pen.svg_arc_to(
                    *rng.uniform(3, 15, 2), rng.uniform(0, 90), large=rng.random() < 0.5, sweep=rng.random() < 0.5,
                    point=tuple(there),
                )  # fmt: skip
    if rng.random() < 0.5:
        pen.close()
    stroke = StrokeGeometry(
        float(rng.choice([0.5, 1, 2, 4, 8])), list(LineCap)[rng.integers(3)], list(LineJoin)[rng.integers(3)],
        miter_limit=float(rng.choice([1, 4, 10])),
    )  # fmt: skip
    return pen.path(), stroke


@pytest.mark.parametrize("seed", range(40))
def test_a_stroke_is_what_svg_lists_bit_by_bit(seed):
    path, stroke = wandering(seed)
    ours = polygon_of(stroke_to_shape(path, stroke))
    listed = swept(path, stroke.width_mm, stroke.cap, stroke.join, stroke.miter_limit)
    # where two outlines cross at a small angle the crossing moves further than the outlines do
    assert ours.symmetric_difference(listed).area < 2e-3 * listed.boundary.length
    assert ours.difference(listed.buffer(FARTHEST_MM)).area < 1e-4
    assert listed.difference(ours.buffer(FARTHEST_MM)).area < 1e-4


@pytest.mark.parametrize("seed", range(100, 112))
def test_dashes_under_an_uneven_scale_are_what_svg_lists(seed):
    path, stroke = wandering(seed)
    pen = Affine(1.5, 0.2, -0.3, 0.6, 1.0, 2.0)
    pattern, offset = (3.0, 1.5, 0.5, 2.0), 1.2
    ours = stroke_to_shape(
        path.transformed(pen),
        StrokeGeometry(stroke.width_mm, stroke.cap, stroke.join, stroke.miter_limit, pattern, offset, pen),
    )
    parts = dashed(path, pattern, offset).path
    listed = swept(parts, stroke.width_mm, stroke.cap, stroke.join, stroke.miter_limit)
    drawn = polygon_of(ours)
    back = polygon_of(ours.transformed(pen.inverse()))
    assert back.symmetric_difference(listed).area < 2e-3 * listed.boundary.length
    assert drawn.area == pytest.approx(back.area * pen.determinant, rel=1e-4)


def path_data(path):
    """SVG path data; arcs as the cubics nearest to them (for pictures only)."""
    words = []
    for one in path.subpaths():
        words.append("M{:.9g} {:.9g}".format(*one.points[0, 0]))
        for points, kind, weight in zip(one.points, one.kinds, one.weights, strict=True):
            start, a, b, end = points
            if kind == SegmentKind.ARC:
                share = 4.0 * weight / (3.0 * (1.0 + weight))
                a, b = start + share * (a - start), end + share * (a - end)
            elif kind == SegmentKind.QUADRATIC:
                a, b = start + 2.0 / 3.0 * (a - start), end + 2.0 / 3.0 * (a - end)
            if kind == SegmentKind.LINE:
                words.append("L{:.9g} {:.9g}".format(*end))
            else:
                words.append("C" + " ".join(f"{value:.9g}" for value in (*a, *b, *end)))
        words.append("Z" if one.closed[0] else "")
    return "".join(words)


def drawing(data, attributes):
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="400" height="400" viewBox="-10 -10 60 60">'
        f'<path d="{data}" {attributes}/></svg>'
    )


TAME = [
    polygon([(5, 5), (35, 8), (20, 35)], closed=False),
    polygon([(5, 5), (35, 8), (20, 35)]),
    circle((20, 20), 15),
]


# resvg keeps square dots upright; SVG 2 has them face along the path: that one is held in tests/geometry
DASHED_CAPS = [
    (dash, offset, cap)
    for dash, offset in (((), 0.0), ((7.0, 3.0), 2.0), ((5.0,), -3.0), ((0.0, 6.0), 0.0))
    for cap in LineCap
    if dash[:1] != (0.0,) or cap is not LineCap.SQUARE
]


@pytest.mark.parametrize("path", TAME, ids=["open", "closed", "circle"])
@pytest.mark.parametrize("join", list(LineJoin))
@pytest.mark.parametrize(("dash", "offset", "cap"), DASHED_CAPS)
def test_resvg_paints_the_live_stroke_like_our_shape(path, cap, join, dash, offset):
    shape = stroke_to_shape(path, StrokeGeometry(3.0, cap, join, dash=dash, dash_offset=offset))
    live = drawing(
        path_data(path),
        f'fill="none" stroke="#000" stroke-width="3" stroke-linecap="{cap}" stroke-linejoin="{join}" '
        f'stroke-dasharray="{" ".join(map(str, dash)) or "none"}" stroke-dashoffset="{offset}"',
    )
    one, other = picture(live, 400, 400), picture(drawing(path_data(shape), ""), 400, 400)
    assert difference(one, other).within(Difference(mean=0.25, off=0.0015))  # rims, and soft edges where dashes meet
    assert (np.abs(one - other).max(axis=2) > 128).sum() <= 12  # of 160,000 pixels


def test_resvg_paints_an_unevenly_scaled_stroke_like_our_shape():
    pen = Affine(1.4, 0.3, -0.2, 0.5, 3.0, 4.0)
    inner = TAME[1]
    shape = stroke_to_shape(inner.transformed(pen), StrokeGeometry(3.0, dash=(8.0, 4.0), pen=pen))
    live = drawing(
        path_data(inner),
        f'transform="matrix({" ".join(map(str, pen))})" '
        'fill="none" stroke="#000" stroke-width="3" stroke-dasharray="8 4"',
    )
    one, other = picture(live, 400, 400), picture(drawing(path_data(shape), ""), 400, 400)
    assert difference(one, other).within(Difference(mean=0.25, off=0.0015))
    assert (np.abs(one - other).max(axis=2) > 128).sum() <= 12


def painted(job):
    """Everything a job's shapes paint, as one area; see-through paint counts whole."""
    regions = []
    for placed in job.walk():
        leaf = placed.leaf
        if not isinstance(leaf, Shape):
            continue
        if leaf.style.fill is not None:
            regions.append(Region(leaf.path, leaf.style.fill_rule))
        if (stroke := leaf.style.stroke) is not None:
            geometry = StrokeGeometry(
                stroke.width_mm,
                stroke.cap,
                stroke.join,
                stroke.miter_limit,
                stroke.dash,
                stroke.dash_offset,
                stroke.pen,
            )
            regions.append(Region(stroke_to_shape(leaf.path, geometry)))
    return merge(regions)


def pair(before):
    return before.with_name(before.name.replace("-before", "-nano"))


@pytest.mark.parametrize(
    "before", [one for one in cases("picosvg", "*stroke*-before.svg") if one.marks or pair(one.values[0]).exists()]
)
def test_strokes_become_what_picosvg_makes_of_them(before):
    ours, theirs = Region(painted(read_svg(before))), Region(painted(read_svg(pair(before))))
    apart = area(cut_out(ours, [theirs])) + area(cut_out(theirs, [ours]))
    # its circles are coarse quadratics: 0.021 mm off on average in the worst file, under 0.003 where lines prevail
    assert apart < 0.03 * perimeter(theirs.path)
    assert area(ours.path) == pytest.approx(area(theirs.path), rel=0.003)


def test_a_stroke_is_within_the_promise_over_a_large_drawing():
    pen = PathBuilder()  # 300 mm across
    pen.move_to((0, 150))
    pen.cubic_to((60, -120), (120, 420), (170, 150))
    pen.cubic_to((200, 0), (280, 60), (300, 150))
    for width in (1.0, 12.0, 60.0):
        ours = polygon_of(stroke_to_shape(pen.path(), StrokeGeometry(width)), 400)
        assert farthest(ours, swept(pen.path(), width, "butt", "miter")) < FARTHEST_MM
