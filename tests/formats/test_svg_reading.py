"""What an operator relies on when a customer's drawing is opened."""

from __future__ import annotations

import base64
import gzip
import math
from typing import TYPE_CHECKING

import pytest

from bladewise.document import Align, Colour, Gradient, Group, Job, Lettering, Picture, Shape
from bladewise.errors import Cancelled, CannotRead
from bladewise.formats import read, read_svg, svg_text
from bladewise.formats.svg import tree
from bladewise.geometry.measures import area
from bladewise.geometry.path import SegmentKind
from bladewise.geometry.regions import FillRule
from bladewise.geometry.strokes import LineCap, LineJoin

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

RED, BLUE, BLACK = Colour(255, 0, 0), Colour(0, 0, 255), Colour(0, 0, 0)
DOT = base64.b64encode(
    bytes.fromhex(
        "89504e470d0a1a0a0000000d4948445200000002000000040806000000"
        "7f9d1c1c0000000c49444154789c6360a0100000004400015b3cf5fb0000000049454e44ae426082"
    )
).decode()


@pytest.fixture
def opened(tmp_path: Path) -> Callable[..., Job]:
    """Open a drawing given by what stands inside its root; 1 unit is 1 mm."""

    def opened(body: str, attributes: str = 'width="100mm" height="80mm" viewBox="0 0 100 80"') -> Job:
        path = tmp_path / "art.svg"
        spaces = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
        path.write_text(f"<svg {spaces} {attributes}>{body}</svg>", encoding="utf-8")
        return read_svg(path)

    return opened


def only(job: Job) -> Shape:
    """The one shape of a job."""
    (shape,) = job.shapes()
    return shape


# --- size ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("attributes", "size"),
    [
        ('width="2in" height="1in"', (50.8, 25.4)),
        ('width="192" viewBox="0 0 20 10"', (50.8, 25.4)),
        ('height="96" viewBox="0 0 20 10"', (50.8, 25.4)),
        ('viewBox="0 0 192 96"', (50.8, 25.4)),
        ('width="100%" height="100%" viewBox="0 0 192 96"', (50.8, 25.4)),
        ("", (300 * 25.4 / 96, 150 * 25.4 / 96)),
        ('width="-5" height="0" viewBox="0 0 192 96"', (50.8, 25.4)),
    ],
)
def test_the_sheet_is_as_large_as_the_drawing_says(opened, attributes: str, size: tuple[float, float]) -> None:
    job = opened("", attributes)
    assert (job.width_mm, job.height_mm) == pytest.approx(size, rel=1e-12)


def test_a_drawing_without_a_size_says_so(opened) -> None:
    assert any("how large" in note for note in opened("", 'viewBox="0 0 10 10"').notes)
    assert not opened("").notes


def test_the_corner_of_the_view_box_is_the_corner_of_the_sheet(opened) -> None:
    job = opened('<rect x="-10" y="5" width="4" height="4"/>', 'width="20mm" height="20mm" viewBox="-10 5 20 20"')
    assert only(job).bounds == (0.0, 0.0, 4.0, 4.0)


def test_a_view_box_of_another_shape_is_centred(opened) -> None:
    job = opened('<rect width="10" height="10"/>', 'width="40mm" height="20mm" viewBox="0 0 10 10"')
    assert only(job).bounds == pytest.approx((10.0, 0.0, 30.0, 20.0))


# --- shapes -------------------------------------------------------------------------------------------------------


def test_a_circle_stays_a_circle(opened) -> None:
    shape = only(opened('<circle cx="50" cy="40" r="30"/>'))
    assert (shape.path.kinds == SegmentKind.ARC).all()
    assert area(shape.path) == pytest.approx(math.pi * 900.0, rel=1e-14)


def test_round_corners_follow_one_another_and_are_cut_to_half_a_side(opened) -> None:
    one = only(opened('<rect width="20" height="10" rx="3"/>'))
    assert area(one.path) == pytest.approx(200.0 - (4.0 - math.pi) * 9.0, rel=1e-13)
    whole = only(opened('<rect width="20" height="10" rx="50" ry="50"/>'))
    assert area(whole.path) == pytest.approx(math.pi * 10.0 * 5.0, rel=1e-13)


def test_lines_polylines_and_polygons_are_open_or_closed_as_they_should_be(opened) -> None:
    job = opened('<line x2="5" y2="5"/><polyline points="0,0 5,0 5,5"/><polygon points="0 0 5 0 5 5"/>')
    assert [bool(shape.path.closed[0]) for shape in job.shapes()] == [False, False, True]


def test_shapes_without_extent_are_left_out(opened) -> None:
    body = '<rect width="0" height="5"/><circle r="-3"/><path d=""/><ellipse rx="3" ry="0"/><polygon points="1 1"/>'
    assert opened(body).shapes() == []


def test_a_broken_path_is_drawn_up_to_the_error_and_told(opened) -> None:
    job = opened('<path id="wing" d="M0 0 L10 0 L10 10 L5"/>')
    assert len(only(job).path) == 2
    assert job.notes == ("1 path is broken in its data and was read up to there: wing.",)


@pytest.mark.parametrize("data", ["M0 0 L 1e300 0", "M nan 0 L 1 1", "M inf 0 L 1 1"])
def test_numbers_beyond_measure_are_left_out_and_told(opened, data: str) -> None:
    job = opened(f'<path d="{data}"/><rect width="1000" height="1" transform="scale(1e8)"/>')
    assert job.shapes() == []
    assert len(job.notes) >= 1


# --- transforms ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("transform", "box"),
    [
        ("translate(3)", (3, 0, 13, 5)),
        ("translate(3,4)", (3, 4, 13, 9)),
        ("scale(2)", (0, 0, 20, 10)),
        ("scale(2 -1)", (0, -5, 20, 0)),
        ("rotate(90)", (-5, 0, 0, 10)),
        ("rotate(90 5 5)", (5, 0, 10, 10)),
        ("matrix(1 0 0 1 7 8)", (7, 8, 17, 13)),
        ("skewX(45)", (0, 0, 15, 5)),
        ("translate(3,4) scale(2)", (3, 4, 23, 14)),
        ("translate(10mm 4px)rotate(0.25turn)", (10 * 96 / 25.4 - 5, 4, 10 * 96 / 25.4, 14)),
    ],
)
def test_transforms_put_art_where_they_say(opened, transform: str, box: tuple[float, ...]) -> None:
    shape = only(opened(f'<g transform="{transform}"><rect width="10" height="5"/></g>'))
    assert shape.bounds == pytest.approx(box, abs=1e-12)


def test_a_transform_nobody_understands_is_left_out_and_told(opened) -> None:
    job = opened('<rect id="r" width="10" height="5" transform="spin(3)"/>')
    assert only(job).bounds == (0.0, 0.0, 10.0, 5.0)
    assert job.notes == ("1 transform could not be understood and was left out: r.",)


def test_an_even_scale_scales_the_stroke_and_an_uneven_one_gives_it_a_pen(opened) -> None:
    even = only(opened('<path d="M0 0H9" stroke="#000" stroke-width="2" stroke-dasharray="1 2" transform="scale(3)"/>'))
    assert (even.style.stroke.width_mm, even.style.stroke.dash, even.style.stroke.pen) == (6.0, (3.0, 6.0), None)
    uneven = only(opened('<path d="M0 0H9" stroke="#000" stroke-width="2" transform="scale(3 1)"/>')).style.stroke
    assert (uneven.width_mm, uneven.pen[:4]) == (2.0, (3.0, 0.0, 0.0, 1.0))


def test_a_stroke_that_does_not_scale_keeps_its_width_in_px(opened) -> None:
    body = '<path d="M0 0H9" stroke="#000" stroke-width="96" vector-effect="non-scaling-stroke" transform="scale(7)"/>'
    assert only(opened(body)).style.stroke.width_mm == pytest.approx(25.4)


# --- style --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "colour", "opacity"),
    [
        ("red", RED, 1.0),
        ("#f00", RED, 1.0),
        ("#FF0000", RED, 1.0),
        ("#ff000080", RED, 128 / 255),
        ("rgb(255, 0, 0)", RED, 1.0),
        ("rgb(100%, 0%, 0%)", RED, 1.0),
        ("rgba(255,0,0,.5)", RED, 0.5),
        ("rgb(255 0 0 / 25%)", RED, 0.25),
        ("hsl(240, 100%, 50%)", BLUE, 1.0),
        ("hsl(240deg 100% 50% / 0.5)", BLUE, 0.5),
        ("currentColor", BLUE, 1.0),
        ("url(#nothing) blue", BLUE, 1.0),
        ("black", BLACK, 1.0),
    ],
)
def test_colours_are_read_in_every_form(opened, text: str, colour: Colour, opacity: float) -> None:
    shape = only(opened(f'<g color="blue"><rect width="1" height="1" fill="{text}"/></g>'))
    assert shape.style.fill == colour
    assert shape.style.fill_opacity == pytest.approx(opacity)


def test_a_shape_without_a_word_is_black_and_none_is_none(opened) -> None:
    first, second = opened('<rect width="1" height="1"/><rect width="1" height="1" fill="none"/>').shapes()
    assert first.style.fill == BLACK
    assert second.style.fill is None


def test_every_property_of_a_stroke_is_read(opened) -> None:
    body = (
        '<path d="M0 0H9" style="stroke:red;stroke-width:2;stroke-linecap:round;stroke-linejoin:bevel;'
        'stroke-miterlimit:7;stroke-dasharray:1,2,3;stroke-dashoffset:4;stroke-opacity:.5;paint-order:stroke"/>'
    )
    style = only(opened(body)).style
    stroke = style.stroke
    assert (stroke.paint, stroke.width_mm, stroke.cap, stroke.join) == (RED, 2.0, LineCap.ROUND, LineJoin.BEVEL)
    assert (stroke.miter_limit, stroke.dash, stroke.dash_offset) == (7.0, (1.0, 2.0, 3.0, 1.0, 2.0, 3.0), 4.0)
    assert (stroke.opacity, style.stroke_first) == (0.5, True)


def test_fill_rules_and_opacities_are_read(opened) -> None:
    style = only(opened('<rect width="1" height="1" fill-rule="evenodd" fill-opacity="50%" opacity=".25"/>')).style
    assert (style.fill_rule, style.fill_opacity, style.opacity) == (FillRule.EVEN_ODD, 0.5, 0.25)


@pytest.mark.parametrize(
    ("sheet", "colour"),
    [
        ("rect{fill:red}", RED),
        (".a{fill:red} rect{fill:blue}", RED),
        ("#r{fill:red} .a.b{fill:blue}", RED),
        ("g rect{fill:red} rect{fill:blue}", RED),
        ("g>rect{fill:red}", RED),
        ("svg>rect{fill:blue} rect{fill:red}", RED),
        ("rect:first-child{fill:red}", RED),
        ("rect:not(.c){fill:red}", RED),
        ("rect:nth-child(2n+1){fill:red}", RED),
        ("[data-x=y]{fill:red}", RED),
        ("rect[width]{fill:red}", RED),
        ("rect{fill:blue} rect{fill:red}", RED),
        ("rect{fill:red !important} #r{fill:blue}", RED),
        ("/* no */ @media print{rect{fill:blue}} @media screen{rect{fill:red}}", RED),
        ("circle,rect{fill:red}", RED),
        ("rect{fill:red} rect:hover{fill:blue}", RED),
        ("rect{fill:red} ] nonsense { } ", RED),
    ],
)
def test_the_style_sheet_says_what_css_says(opened, sheet: str, colour: Colour) -> None:
    body = f'<style>{sheet}</style><g><rect id="r" class="a b" data-x="y" width="1" height="1" fill="green"/></g>'
    assert only(opened(body)).style.fill == colour


def test_a_style_attribute_is_stronger_than_the_sheet(opened) -> None:
    body = '<style>#r{fill:blue}</style><rect id="r" width="1" height="1" style="fill:red"/>'
    assert only(opened(body)).style.fill == RED


def test_what_a_style_sheet_imports_is_not_fetched_and_told(opened) -> None:
    job = opened("<style>@import url(http://example.invalid/a.css); rect{fill:red}</style><rect width='1' height='1'/>")
    assert only(job).style.fill == RED
    assert job.notes == ("1 part of the style sheet was left out: @import.",)


def test_a_gradient_takes_what_it_lacks_from_the_one_it_refers_to(opened) -> None:
    body = (
        '<linearGradient id="a"><stop offset="0" stop-color="red"/><stop offset="100%" stop-color="blue"/>'
        '</linearGradient><linearGradient id="b" href="#a" x2="0" y2="1" spreadMethod="reflect"/>'
        '<rect x="10" y="20" width="30" height="40" fill="url(#b)"/>'
    )
    paint = only(opened(body)).style.fill
    assert isinstance(paint, Gradient)
    assert [stop.colour for stop in paint.stops] == [RED, BLUE]
    assert paint.spread.value == "reflect"
    start, end = (paint.transform.apply(point) for point in ((0.0, 0.0), (0.0, 1.0)))
    assert (start.tolist(), end.tolist()) == ([10.0, 20.0], [10.0, 60.0])


def test_a_gradient_of_one_stop_is_a_colour(opened) -> None:
    body = '<linearGradient id="a"><stop stop-color="red"/></linearGradient><rect width="1" height="1" fill="url(#a)"/>'
    assert only(opened(body)).style.fill == RED


# --- structure ----------------------------------------------------------------------------------------------------


def test_named_groups_at_the_top_are_the_layers(opened) -> None:
    job = opened(
        '<g id="back"><rect width="1" height="1"/></g>'
        '<g id="x"><title>Front</title><g><rect width="1" height="1"/></g></g>'
    )
    assert [(layer.id, layer.name) for layer in job.layers] == [("back", "back"), ("x", "Front")]
    assert isinstance(job.layers[1].children[0], Group)


def test_loose_art_lies_on_one_layer(opened) -> None:
    job = opened('<g id="a"><rect width="1" height="1"/></g><circle r="3"/>')
    assert [layer.name for layer in job.layers] == ["Art"]


def test_names_come_from_titles_labels_and_ids(opened) -> None:
    job = opened(
        '<rect id="one" width="1" height="1"><title>The  first</title></rect>'
        '<rect aria-label="second" width="1" height="1"/><rect id="three" width="1" height="1"/>'
    )
    assert [shape.name for shape in job.shapes()] == ["The first", "second", "three"]


def test_ids_are_kept_and_made_unique(opened) -> None:
    job = opened('<rect id="a" width="1" height="1"/><rect id="a" width="2" height="1"/><rect width="3" height="1"/>')
    ids = [shape.id for shape in job.shapes()]
    assert ids[0] == "a"
    assert len(set(ids)) == 3


def test_hidden_art_is_kept_and_stays_hidden(opened) -> None:
    job = opened(
        '<rect id="a" width="1" height="1" display="none"/><rect id="b" width="1" height="1" visibility="hidden"/>'
        '<g visibility="hidden"><rect id="c" width="1" height="1" visibility="visible"/></g>'
        '<g style="display:none"><rect id="d" width="1" height="1"/></g>'
    )
    assert {placed.leaf.id: placed.visible for placed in job.walk()} == {"a": False, "b": False, "c": True, "d": False}


def test_a_use_is_drawn_where_it_stands_with_what_it_inherits(opened) -> None:
    job = opened('<defs><rect id="r" width="2" height="2"/></defs><use href="#r" x="5" y="6" fill="red" id="u"/>')
    shape = only(job)
    assert (shape.id, shape.bounds, shape.style.fill) == ("u", (5.0, 6.0, 7.0, 8.0), RED)


def test_a_symbol_fits_its_view_box_into_the_size_of_the_use(opened) -> None:
    job = opened(
        '<symbol id="s" viewBox="0 0 10 10"><rect width="10" height="10"/></symbol>'
        '<use xlink:href="#s" x="20" y="20" width="40" height="40"/>'
    )
    assert only(job).bounds == pytest.approx((20.0, 20.0, 60.0, 60.0))


def test_references_in_a_circle_are_refused_one_by_one_and_the_rest_is_read(opened) -> None:
    job = opened('<g id="a"><use href="#a"/><rect width="1" height="1"/></g><use href="#gone"/>')
    assert len(job.shapes()) == 1
    assert any("back to themselves" in note or "back to itself" in note for note in job.notes)
    assert any("leads nowhere: #gone" in note for note in job.notes)


def test_a_switch_draws_the_first_that_fits(opened) -> None:
    job = opened(
        '<switch><rect id="x" requiredExtensions="http://example.invalid" width="1" height="1"/>'
        '<rect id="de" systemLanguage="de" width="1" height="1"/>'
        '<rect id="en" systemLanguage="fr, en-GB" width="1" height="1"/><rect id="rest" width="1" height="1"/></switch>'
    )
    assert only(job).id == "en"


def test_the_opacity_of_a_group_stays_with_the_group(opened) -> None:
    (layer,) = opened('<g id="a" opacity=".5"><rect width="1" height="1"/></g>').layers
    (group,) = layer.children
    assert isinstance(group, Group)
    assert group.opacity == 0.5


def test_a_nested_drawing_is_cut_to_its_frame(opened) -> None:
    job = opened('<svg x="10" y="10" width="10" height="10" viewBox="0 0 5 5"><rect width="50" height="2"/></svg>')
    assert only(job).bounds == pytest.approx((10.0, 10.0, 20.0, 14.0))


def test_a_clip_becomes_geometry(opened) -> None:
    job = opened(
        '<clipPath id="c"><circle cx="10" cy="10" r="5"/></clipPath>'
        '<rect id="r" width="10" height="20" clip-path="url(#c)"/>'
    )
    assert area(only(job).path) == pytest.approx(math.pi * 25.0 / 2.0, rel=1e-6)
    assert job.notes == ("1 clipped shape was cut to its clip path: r.",)


def test_a_stroke_across_a_clip_does_not_run_along_its_edge(opened) -> None:
    job = opened(
        '<clipPath id="c"><rect width="10" height="20"/></clipPath>'
        '<rect x="5" y="5" width="20" height="10" fill="red" stroke="blue" stroke-width="2" clip-path="url(#c)"/>'
    )
    fill, stroke = job.shapes()
    assert fill.style.stroke is stroke.style.stroke is None
    assert area(fill.path) == pytest.approx(50.0)
    assert area(stroke.path) == pytest.approx(6 * 12 - 4 * 8)


def test_a_black_and_white_mask_is_a_clip_and_any_other_is_told(opened) -> None:
    plain = opened(
        '<mask id="m"><rect width="20" height="20" fill="#fff"/><circle cx="10" cy="10" r="5"/></mask>'
        '<rect width="20" height="20" mask="url(#m)"/>'
    )
    assert area(only(plain).path) == pytest.approx(400.0 - math.pi * 25.0, rel=1e-6)
    grey = opened(
        '<mask id="m"><rect width="9" height="9" fill="#888"/></mask><rect width="9" height="9" mask="url(#m)"/>'
    )
    assert grey.notes == ("1 mask was left out; what it hid is shown: rect-1.",)


def test_an_arrow_head_becomes_a_shape_beside_its_line(opened) -> None:
    job = opened(
        '<marker id="m" markerWidth="4" markerHeight="4" refX="0" refY="2" orient="auto" markerUnits="userSpaceOnUse">'
        '<path d="M0 0 L4 2 L0 4Z"/></marker><path d="M10 10 V30" stroke="#000" marker-end="url(#m)"/>'
    )
    line, head = job.shapes()
    assert line.bounds == (10.0, 10.0, 10.0, 30.0)
    assert head.bounds == pytest.approx((8.0, 30.0, 12.0, 34.0))


# --- pictures and text --------------------------------------------------------------------------------------------


def test_a_picture_inside_the_file_is_kept_and_one_outside_is_told(opened) -> None:
    job = opened(
        f'<image id="in" x="10" width="20" height="20" href="data:image/png;base64,{DOT}"/>'
        '<image href="photo.jpg" width="9" height="9"/>'
        '<image xlink:href="http://example.invalid/x.png" width="9" height="9"/>'
    )
    (placed,) = job.walk()
    assert isinstance(placed.leaf, Picture)
    assert placed.leaf.bounds == pytest.approx((15.0, 0.0, 25.0, 20.0)), "2 × 4 pixels, fitted and centred"
    assert job.notes == (
        "2 pictures lie outside the file and were not fetched: photo.jpg, http://example.invalid/x.png.",
    )


def test_text_stays_live_lettering(opened) -> None:
    job = opened(
        '<text x="10" y="20" font-family="\'Nowhere Sans\', serif" font-size="8" font-weight="bold" '
        'font-style="italic" text-anchor="middle" letter-spacing=".5" fill="red"> '
        "Fresh <tspan>coffee</tspan>\n daily </text>"
    )
    (placed,) = job.walk()
    text = placed.leaf
    assert isinstance(text, Lettering)
    assert (text.text, text.family, text.size_mm, text.weight) == ("Fresh coffee daily", "Nowhere Sans", 8.0, 700)
    assert (text.italic, text.align, text.letter_spacing_mm, text.style.fill) == (True, Align.MIDDLE, 0.5, RED)
    assert text.transform.apply((0.0, 0.0)).tolist() == [10.0, 20.0]
    assert any("Nowhere Sans" in note for note in job.notes)


def test_text_on_several_lines_is_one_lettering_a_line(opened) -> None:
    job = opened('<text font-size="5"><tspan x="1" y="10">One</tspan><tspan x="1" dy="6">Two</tspan></text>')
    texts = [placed.leaf for placed in job.walk()]
    assert [one.text for one in texts] == ["One", "Two"]
    assert [one.transform.f for one in texts] == [10.0, 16.0]


# --- what is not understood ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("body", "note"),
    [
        ('<rect width="1" height="1" filter="url(#f)"/>', "1 filter effect was left out; the art is shown without it."),
        (
            '<pattern id="p"/><rect id="r" width="1" height="1" fill="url(#p)"/>',
            "1 pattern fill is shown in plain grey: r.",
        ),
        ("<foreignObject/>", "1 block of web content (foreignObject) was left out."),
        ("<script>alert(1)</script>", "1 script was left out; nothing in it is run."),
        (
            '<rect width="1" height="1"><animate attributeName="x"/><set/></rect>',
            "2 animations were left out; the art is shown as it stands at rest.",
        ),
        ('<use href="other.svg#a"/>', "1 reference leads outside the file and was not followed: other.svg#a."),
        (
            '<rect width="1" height="1" style="mix-blend-mode:multiply"/>',
            "1 blend mode was left out; colours may look different.",
        ),
        ("<blink/>", "1 element is not known to SVG and was left out: blink."),
        ("<style>@font-face{font-family:x}</style>", "1 font kept inside the drawing was left out."),
    ],
)
def test_what_is_not_understood_is_told_by_name_and_count(opened, body: str, note: str) -> None:
    assert opened(body).notes == (note,)


# --- refusals -----------------------------------------------------------------------------------------------------

SVG = '<svg xmlns="http://www.w3.org/2000/svg">'


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "The file is empty."),
        (b"  \n", "The file is empty."),
        (b"%PDF-1.7 ...", "This is not an SVG drawing."),
        (b"\x00\x01\x02\x03", "This is not an SVG drawing."),
        (b"<html><body/></html>", "This is not an SVG drawing: its root element is “html”."),
        (f"{SVG}<rect".encode(), "The drawing is broken in line 1: unclosed token."),
        (f"{SVG}\n<g></svg>".encode(), "The drawing is broken in line 2: mismatched tag."),
        (b"\x1f\x8b\x08\xffbroken all through", "The compressed drawing is broken."),
        (gzip.compress(f"{SVG}</svg>".encode(), mtime=0)[:-9], "The compressed drawing is cut short."),
        (f'<!DOCTYPE svg [<!ENTITY x SYSTEM "a.txt">]>{SVG}&x;</svg>'.encode(), "outside itself"),
        (f'<!DOCTYPE svg [<!ENTITY % x SYSTEM "a.dtd"> %x;]>{SVG}</svg>'.encode(), "outside itself"),
        (f'<!DOCTYPE svg [<!ENTITY a "x"><!ENTITY b "&a;&a;">]>{SVG}&b;</svg>'.encode(), "entity bomb"),
        (f"{SVG}{'<g>' * 300}{'</g>' * 300}</svg>".encode(), "nests more than"),
        (b'<?xml version="1.0" encoding="martian"?><svg/>', "encoding"),
    ],
)
def test_a_file_that_is_no_drawing_gets_one_clear_message(tmp_path: Path, data: bytes, what: str) -> None:
    path = tmp_path / "art.svg"
    path.write_bytes(data)
    with pytest.raises(CannotRead) as caught:
        read(path)
    assert what in caught.value.what
    assert caught.value.where == "art.svg"
    assert "\n" not in str(caught.value)


def test_a_missing_file_and_a_folder_get_a_message_too(tmp_path: Path) -> None:
    with pytest.raises(CannotRead, match="no such file"):
        read(tmp_path / "gone.svg")
    with pytest.raises(CannotRead, match="folder"):
        read(tmp_path)


def test_too_large_a_file_is_refused_also_when_it_is_packed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tree, "MAX_BYTES", 10_000)
    plain, packed = tmp_path / "plain.svg", tmp_path / "packed.svgz"
    text = f"{SVG}{' ' * 20_000}</svg>".encode()
    plain.write_bytes(text)
    packed.write_bytes(gzip.compress(text))
    for path in (plain, packed):
        with pytest.raises(CannotRead, match="larger than"):
            read(path)


def test_entities_of_honest_files_are_read(tmp_path: Path) -> None:
    path = tmp_path / "art.svg"
    path.write_text(
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd" '
        '[<!ENTITY ns "http://www.w3.org/2000/svg"><!ENTITY red "fill:#f00">]>'
        '<svg xmlns="&ns;"><rect width="1" height="1" style="&red;"/></svg>'
    )
    assert only(read_svg(path)).style.fill == RED


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "iso-8859-1"])
def test_drawings_in_other_encodings_are_read(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "art.svg"
    declared = encoding.removesuffix("-sig")
    text = f'<?xml version="1.0" encoding="{declared}"?>{SVG}<rect id="Bläser" width="1" height="1"/></svg>'
    path.write_bytes(text.encode(encoding))
    assert only(read_svg(path)).id == "Bläser"


def test_a_packed_drawing_is_the_same_drawing(tmp_path: Path, opened) -> None:
    job = opened('<rect width="3" height="4"/>')
    packed = tmp_path / "art.svgz"
    packed.write_bytes(gzip.compress(svg_text(job).encode()))
    assert read_svg(packed).shapes() == job.shapes()


def test_a_drawing_without_namespaces_is_read_all_the_same(tmp_path: Path) -> None:
    path = tmp_path / "art.svg"
    path.write_text(
        '<svg width="9" height="9"><defs><rect id="r" width="1" height="1"/></defs><use xlink:href="#r"/></svg>'
    )
    assert len(read_svg(path).shapes()) == 1


def test_reading_tells_how_far_it_is_and_can_be_stopped(tmp_path: Path) -> None:
    path = tmp_path / "art.svg"
    art = '<rect width="1" height="1"/>' * 3000
    path.write_text(f"{SVG}{art}</svg>")
    seen: list[float] = []
    read(path, seen.append)
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    assert len(seen) > 4

    def stop(done: float) -> None:
        if done > 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        read(path, stop)
