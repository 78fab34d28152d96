"""The corners of SVG that customers' files do have: inheritance, selectors, markers, masks, pictures, places."""

from __future__ import annotations

import math
import struct
from typing import TYPE_CHECKING

import pytest

from bladewise.document import Colour, Gradient, Group, Picture
from bladewise.errors import CannotRead
from bladewise.formats import read_svg
from bladewise.formats.svg.pictures import data_uri, picture_data
from bladewise.formats.svg.values import angle_deg, colour, fraction, length_in_mm, number, transform
from bladewise.geometry.affine import IDENTITY, Affine
from bladewise.geometry.measures import area

if TYPE_CHECKING:
    from pathlib import Path

    from bladewise.document import Job

RED, GREEN = Colour(255, 0, 0), Colour(0, 128, 0)


@pytest.fixture
def opened(tmp_path: Path):
    def opened(body: str, attributes: str = 'width="100mm" height="80mm" viewBox="0 0 100 80"') -> Job:
        path = tmp_path / "art.svg"
        path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {attributes}>{body}</svg>', encoding="utf-8")
        return read_svg(path)

    return opened


@pytest.mark.parametrize(
    ("sheet", "matches"),
    [
        ("circle + rect", True), ("circle ~ rect", True), ("rect + circle", False), ("rect:last-child", True),
        ("rect:only-of-type", True), ("rect:only-child", False), ("rect:first-of-type", True),
        ("rect:nth-child(2)", True),
        ("rect:nth-child(even)", True), ("rect:nth-child(-n+1)", False), ("rect:nth-of-type(odd)", True),
        ("rect:not(#r)", False), ("rect:not(.other)", True), ('[data-k^="ab"]', True), ('[data-k$="cd"]', True),
        ('[data-k*="b-c"]', True), ('[data-k|="ab"]', True), ("[data-w~=two]", True), ("[data-w=two]", False),
        ("g > svg rect", False), ("svg g > rect", True), ("* rect", True),
        ("rect::before", False), ("rect:hover", False),
        (".a.b", True), (".a .b", False), ("g:root rect", False), ("rect, nonsense(", True), ("#r#r", True),
    ],
)  # fmt: skip
def test_selectors_match_what_they_should(opened, sheet: str, matches: bool) -> None:
    (_, rect) = opened(
        f"<style>{sheet.replace('>', '&gt;')} {{ fill: red }}</style>"
        '<g><circle r="1"/><rect id="r" class="a b" data-k="ab-cd" data-w="one two" width="1" height="1"/></g>'
    ).shapes()
    assert (rect.style.fill == RED) is matches


@pytest.mark.parametrize(
    ("outer", "inner", "fill", "opacity"),
    [
        ('fill="red"', 'fill="inherit"', RED, 1.0),
        ('fill="red"', 'style="fill:initial"', Colour(0, 0, 0), 1.0),
        ('fill="red" opacity=".5"', 'opacity="inherit"', RED, 0.5),
        ('fill="red" opacity=".5"', "", RED, 1.0),
        ('color="red" fill="currentColor"', 'color="green"', GREEN, 1.0),
        ('style="fill:green;fill:red"', "", RED, 1.0),
        ('fill="red"', 'fill="no such colour"', None, 1.0),
    ],
)
def test_properties_are_inherited_as_css_says(
    opened, outer: str, inner: str, fill: Colour | None, opacity: float
) -> None:
    (shape,) = opened(f'<g {outer}><rect width="1" height="1" {inner}/></g>').shapes()
    assert shape.style.fill == fill
    assert shape.style.opacity == opacity


@pytest.mark.parametrize(
    ("font", "size", "weight", "italic"),
    [
        ("font:italic bold 12px/1.5 Nowhere", 12.0, 700, True),
        ("font-size:2em", 20.0, 400, False),
        ("font-size:150%", 15.0, 400, False),
        ("font-size:larger", 12.0, 400, False),
        ("font-size:x-large;font-weight:600", 24.0, 600, False),
        ("font-size:-3px;font-style:oblique", 10.0, 400, True),
    ],
)
def test_the_font_is_read_in_every_form(opened, font: str, size: float, weight: int, italic: bool) -> None:
    (placed,) = opened(f'<g font-size="10"><text style="{font}">Tea</text></g>').walk()
    text = placed.leaf
    assert (text.size_mm, text.weight, text.italic) == (pytest.approx(size), weight, italic)


def test_lengths_in_em_ex_and_percent_refer_to_font_and_viewport(opened) -> None:
    body = '<rect x="10%" y="10%" width="2em" height="4ex" font-size="5" stroke="red" stroke-width="1%"/>'
    (shape,) = opened(body).shapes()
    assert shape.bounds == pytest.approx((10.0, 8.0, 20.0, 18.0))
    assert shape.style.stroke.width_mm == pytest.approx(math.hypot(100.0, 80.0) / math.sqrt(2.0) / 100.0)


def test_geometry_may_stand_in_the_style_sheet(opened) -> None:
    body = "<style>circle{r:5px;cx:10px} path{d:path('M0 0 L9 9')}</style><circle/><path/>"
    circle, path = opened(body).shapes()
    assert circle.bounds == (5.0, -5.0, 15.0, 5.0)
    assert path.bounds == (0.0, 0.0, 9.0, 9.0)


def test_a_transform_in_the_style_turns_about_its_origin(opened) -> None:
    body = '<rect x="10" y="10" width="20" height="10" style="transform:rotate(90deg);transform-origin:10px 10px"/>'
    (shape,) = opened(body).shapes()
    assert shape.bounds == pytest.approx((0.0, 10.0, 10.0, 30.0))


def test_a_radial_gradient_keeps_its_focus_and_its_own_space(opened) -> None:
    body = (
        '<radialGradient id="g" gradientUnits="userSpaceOnUse" cx="50" cy="40" r="10" fx="45" '
        'gradientTransform="translate(1 2)"><stop offset=".5" stop-color="red"/><stop offset=".2" stop-color="green" '
        'stop-opacity=".5"/></radialGradient><g transform="scale(2)"><rect width="9" height="9" stroke="url(#g)" '
        'fill="none"/></g>'
    )
    (shape,) = opened(body).shapes()
    paint = shape.style.stroke.paint
    assert isinstance(paint, Gradient)
    assert (paint.start, paint.end, paint.radius) == ((45.0, 40.0), (50.0, 40.0), 10.0)
    assert [stop.offset for stop in paint.stops] == [0.5, 0.5], "offsets never fall back"
    assert paint.stops[1].opacity == 0.5
    assert paint.transform == Affine.scaled(2.0).after(Affine.moved(1.0, 2.0))


@pytest.mark.parametrize(
    "gradient",
    [
        '<linearGradient id="g"/>',
        '<linearGradient id="g" href="#g"/>',
        '<linearGradient id="g" gradientTransform="scale(0)"><stop/><stop offset="1"/></linearGradient>',
    ],
)
def test_a_gradient_without_a_gradient_paints_nothing(opened, gradient: str) -> None:
    (shape,) = opened(f'{gradient}<rect width="9" height="9" fill="url(#g)" stroke="red"/>').shapes()
    assert shape.style.fill is None


def test_a_gradient_of_no_length_is_its_last_colour(opened) -> None:
    stops = '<stop stop-color="green"/><stop offset="1" stop-color="red"/>'
    for head in ('<linearGradient id="g" x2="0"', '<radialGradient id="g" r="0"'):
        kind = head[1:].split()[0]
        (shape,) = opened(f'{head}>{stops}</{kind}><rect width="9" height="9" fill="url(#g)"/>').shapes()
        assert shape.style.fill == RED


# --- markers ------------------------------------------------------------------------------------------------------

MARKER = (
    '<marker id="m" markerWidth="2" markerHeight="2" {attributes}><rect width="2" height="2" fill="red"/></marker>'
    '<path d="M10 10 H30 V30" fill="none" stroke="#000" stroke-width="3" {ends}="url(#m)"/>'
)


@pytest.mark.parametrize(
    ("attributes", "ends", "boxes"),
    [
        ("", "marker-start", [(10, 10, 16, 16)]),
        ("", "marker-mid", [(30, 10, 36, 16)]),
        ("", "marker-end", [(30, 30, 36, 36)]),
        ('markerUnits="userSpaceOnUse"', "marker-end", [(30, 30, 32, 32)]),
        ('markerUnits="userSpaceOnUse" refX="1" refY="2"', "marker-end", [(29, 28, 31, 30)]),
        ('markerUnits="userSpaceOnUse" refX="center" refY="bottom"', "marker-end", [(29, 28, 31, 30)]),
        ('markerUnits="userSpaceOnUse" orient="90"', "marker-start", [(8, 10, 10, 12)]),
        ('markerUnits="userSpaceOnUse" orient="auto"', "marker-end", [(28, 30, 30, 32)]),
        ('markerUnits="userSpaceOnUse" orient="auto-start-reverse"', "marker-start", [(8, 8, 10, 10)]),
        ('markerUnits="userSpaceOnUse" viewBox="0 0 4 4"', "marker-end", [(30, 30, 31, 31)]),
        ('markerWidth="0"', "marker-end", []),
    ],
)
def test_markers_stand_and_turn_as_they_should(
    opened, attributes: str, ends: str, boxes: list[tuple[float, ...]]
) -> None:
    body = MARKER.format(attributes=attributes, ends=ends)
    if "markerWidth" in attributes:
        body = body.replace('markerWidth="2" ', "", 1)
    found = [shape.bounds for shape in opened(body).shapes() if shape.style.fill == RED]
    assert found == [pytest.approx(box, abs=1e-9) for box in boxes]


def test_a_long_arc_is_one_command_with_no_marker_inside(opened) -> None:
    body = MARKER.format(attributes='markerUnits="userSpaceOnUse"', ends="marker-mid")
    body = body.replace("M10 10 H30 V30", "M10 40 A10 10 0 1 1 30 40 L30 50")
    found = [shape.bounds for shape in opened(body).shapes() if shape.style.fill == RED]
    assert found == [pytest.approx((30.0, 40.0, 32.0, 42.0))]


# --- clips and masks ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("definition", "use", "left"),
    [
        (
            '<clipPath id="c"><rect width="10" height="10"/><rect x="20" width="10" height="10"/></clipPath>',
            "clip-path", 200,
        ),
        (
            '<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width=".5" height=".5"/></clipPath>',
            "clip-path", 40 * 40 / 4,
        ),
        (
            '<clipPath id="d"><rect width="5" height="99"/></clipPath><clipPath id="c" clip-path="url(#d)">'
            '<rect width="10" height="10"/></clipPath>',
            "clip-path", 50,
        ),
        ('<clipPath id="c"><rect id="q" width="3" height="3" clip-path="url(#c)"/></clipPath>', "clip-path", 9),
        ('<clipPath id="c"/>', "clip-path", 0),
        (
            '<rect id="q" width="4" height="5" display="none"/><clipPath id="c">'
            '<use href="#q" x="2" transform="scale(2)"/></clipPath>',
            "clip-path", 0,
        ),
        ('<mask id="c"><g fill="white"><rect width="8" height="9"/></g></mask>', "mask", 72),
        (
            '<mask id="c" maskUnits="userSpaceOnUse" x="0" y="0" width="10" height="10">'
            '<rect width="90" height="90" fill="white"/></mask>',
            "mask", 100,
        ),
        (
            '<mask id="c" maskContentUnits="objectBoundingBox"><rect width="1" height=".25" fill="#fff"/></mask>',
            "mask", 400,
        ),
        ('<mask id="c"><rect width="9" height="9" fill="white" opacity=".5"/></mask>', "mask", 1600),
        (
            '<mask id="c" x="0" y="0" width=".5" height=".5"><rect width="9" height="9" fill="white"/></mask>',
            "mask", 1600,
        ),
        ('<mask id="c"><text fill="white">a</text></mask>', "mask", 1600),
    ],
)  # fmt: skip
def test_clips_and_masks_leave_what_they_should(opened, definition: str, use: str, left: float) -> None:
    job = opened(f'{definition}<rect width="40" height="40" fill="red" {use}="url(#c)"/>')
    found = [shape for shape in job.shapes() if shape.style.fill == RED]
    assert sum(abs(area(shape.path)) for shape in found) == pytest.approx(left)


def test_a_clip_on_a_group_and_on_a_use_counts_for_all_they_hold(opened) -> None:
    job = opened(
        '<clipPath id="c"><rect width="10" height="80"/></clipPath>'
        '<defs><rect id="r" x="5" width="10" height="1"/></defs>'
        '<g clip-path="url(#c)"><rect width="20" height="1"/></g><use href="#r" clip-path="url(#c)"/>'
    )
    assert [area(shape.path) for shape in job.shapes()] == pytest.approx([10.0, 5.0])


def test_a_shape_well_inside_its_clip_is_untouched_and_not_spoken_of(opened) -> None:
    job = opened(
        '<clipPath id="c"><circle cx="50" cy="40" r="30"/></clipPath>'
        '<g clip-path="url(#c)"><path d="M45 40 h9 v1z"/></g>'
    )
    (shape,) = job.shapes()
    assert shape.path.points[0, 0].tolist() == [45.0, 40.0]
    assert not job.notes


# --- use, groups, opacity -----------------------------------------------------------------------------------------


def test_a_translucent_use_of_several_shapes_is_a_translucent_group(opened) -> None:
    (layer,) = opened('<defs><g id="g"><circle r="1"/><circle r="2"/></g></defs><use href="#g" opacity=".5"/>').layers
    (group,) = layer.children
    assert isinstance(group, Group)
    assert (group.opacity, len(group.children)) == (0.5, 2)


def test_a_translucent_drawing_keeps_its_opacity(opened) -> None:
    (layer,) = opened('<circle r="1"/>', 'viewBox="0 0 9 9" opacity=".25"').layers
    assert layer.children[0].opacity == 0.25


def test_uses_inside_uses_without_end_are_refused(opened) -> None:
    levels = "".join(f'<g id="l{level}">' + f'<use href="#l{level - 1}"/>' * 10 + "</g>" for level in range(1, 9))
    with pytest.raises(CannotRead, match="repeats its parts"):
        opened(f'<defs><rect id="l0" width="1" height="1"/>{levels}</defs><use href="#l8"/>')


def test_references_nested_too_deep_end_in_a_message(opened) -> None:
    chain = "".join(f'<g id="g{level}"><use href="#g{level + 1}"/></g>' for level in range(400))
    with pytest.raises(CannotRead, match="deep"):
        opened(f'<defs>{chain}<rect id="g400" width="1" height="1"/></defs><use href="#g0"/>')


def test_clip_paths_that_refer_to_one_another_for_ever_are_told(opened) -> None:
    chain = "".join(
        f'<clipPath id="c{level}" clip-path="url(#c{level + 1})"><rect width="9" height="9"/></clipPath>'
        for level in range(2000)
    )
    job = opened(f'{chain}<rect width="20" height="20" clip-path="url(#c0)"/>')
    assert any("back to itself" in note for note in job.notes)


# --- pictures -----------------------------------------------------------------------------------------------------

PNG = b"\x89PNG\r\n\x1a\n" + struct.pack(">I4sII", 13, b"IHDR", 30, 20) + b"\x08\x02"
GIF = b"GIF89a" + struct.pack("<HH", 30, 20) + b"\0"
JPEG = b"\xff\xd8\xff\xe0\x00\x04ab\xff\xc0\x00\x11\x08" + struct.pack(">HH", 20, 30) + b"\x03" + b"\0" * 9


@pytest.mark.parametrize(("data", "kind"), [(PNG, "image/png"), (GIF, "image/gif"), (JPEG, "image/jpeg")])
def test_the_size_of_a_picture_is_read_from_its_own_bytes(data: bytes, kind: str) -> None:
    found = picture_data(data_uri(data, "application/octet-stream"))
    assert found == (data, kind, (30, 20))


@pytest.mark.parametrize(
    "link", ["data:image/svg+xml,<svg/>", "data:image/png;base64,!!!", "data:text/plain,hello", "data:,", "x.png"]
)
def test_what_is_no_picture_is_none(link: str) -> None:
    assert picture_data(link) is None


def test_a_picture_escaped_by_percent_signs_is_read() -> None:
    link = "data:image/gif," + "".join(f"%{byte:02x}" for byte in GIF)
    assert picture_data(link) == (GIF, "image/gif", (30, 20))


@pytest.mark.parametrize(
    ("attributes", "box"),
    [
        ("", (0, 0, 30, 20)),
        ('width="60"', (0, 0, 60, 40)),
        ('height="10"', (0, 0, 15, 10)),
        ('width="30" height="30"', (0, 5, 30, 25)),
        ('width="30" height="30" preserveAspectRatio="xMinYMax"', (0, 10, 30, 30)),
        ('width="30" height="30" preserveAspectRatio="none"', (0, 0, 30, 30)),
        ('width="30" height="30" preserveAspectRatio="xMidYMid slice"', (-7.5, 0, 37.5, 30)),
    ],
)
def test_a_picture_fits_its_frame(opened, attributes: str, box: tuple[float, ...]) -> None:
    job = opened(f'<image href="{data_uri(PNG, "image/png")}" {attributes}/>')
    (placed,) = job.walk()
    assert isinstance(placed.leaf, Picture)
    assert placed.leaf.bounds == pytest.approx(box)
    assert bool(job.notes) is ("slice" in attributes)


# --- values -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text", ["#12", "#12345", "rgb(1,2)", "rgb(1,2,x)", "hsl(1,2,3)", "rgba(1,2,3,x)", "notacolour", "", "url(#x)"]
)
def test_what_is_no_colour_is_none(text: str) -> None:
    assert colour(text) is None


def test_colours_beyond_their_range_are_held_to_it() -> None:
    assert colour("rgb(300, -20, 10.6)") == (Colour(255, 0, 11), 1.0)
    assert colour("transparent") == (Colour(0, 0, 0), 0.0)
    assert colour("#0f08") == (Colour(0, 255, 0), 136 / 255)


@pytest.mark.parametrize(
    "text", ["rotate(1 2)", "scale()", "matrix(1 2 3)", "rotate(10%)", "translate(1e99)", "scale(2", "x"]
)
def test_what_is_no_transform_is_none(text: str) -> None:
    assert transform(text) is None


def test_transforms_in_their_rarer_forms() -> None:
    assert transform("none") == transform("") == IDENTITY
    assert transform("translateX(3) translateY(4)") == Affine.moved(3.0, 4.0)
    assert transform("scaleX(3), scaleY(4)") == Affine.scaled(3.0, 4.0)
    assert transform("skewY(45)") == pytest.approx(Affine(b=1.0))
    assert transform("skew(45deg, 0deg)") == pytest.approx(Affine(c=1.0))


def test_plain_values() -> None:
    assert (number("1e2"), number("x", 7.0), number("1e99", 7.0), number(None)) == (100.0, 7.0, 7.0, None)
    assert (fraction("150%"), fraction("-1"), fraction(".25"), fraction("1px")) == (1.0, 0.0, 0.25, 1.0)
    assert angle_deg("100grad") == pytest.approx(90.0)
    assert length_in_mm("2em", None) == pytest.approx(32 * 25.4 / 96)
    assert length_in_mm("50%", 200.0) == 100.0
    assert length_in_mm("3 furlongs", None) is None
