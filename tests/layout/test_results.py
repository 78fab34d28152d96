"""What leaves the printer and what the customer holds, looked at in resvg's picture (PyPI `resvg_py`) of the SVG."""

import io
from dataclasses import replace

import numpy as np
import pytest
import resvg_py
from PIL import Image

from bladewise import operations
from bladewise.document import CutKind, Layer, Material, MaterialKind, Shape, Stroke, Style, cut_line_id
from bladewise.formats import svg_text
from bladewise.geometry.path import circle, joined, rectangle
from bladewise.layout.films import PLAIN
from bladewise.layout.results import Cutting, cut_result, printed_result
from pieces import BLUE, ORANGE, job_of, print_of, shape

PX_A_MM = 5.0


def look(job, *places):
    """Return the colours a picture of a job has at places of the sheet."""
    job = replace(job, width_mm=101.6, height_mm=101.6)  # whole pixels at 96 an inch
    side = round(101.6 * PX_A_MM)
    png = resvg_py.svg_to_bytes(svg_string=svg_text(job), background="#ffffff", width=side, height=side, dpi=96.0)
    with Image.open(io.BytesIO(bytes(png))) as image:
        pixels = np.asarray(image.convert("RGB"))
    return [tuple(pixels[int(y * PX_A_MM), int(x * PX_A_MM)].tolist()) for x, y in places]


RING = joined([circle((50, 50), 20), circle((50, 50), 8).reversed()])
BLED = joined([circle((50, 50), 23), circle((50, 50), 5).reversed()])


def with_cut(job, key, path, kind):
    material = cut_line_id(kind)
    line = Shape(key, path, Style(stroke=Stroke(BLUE, 0.1)), material=material)
    job = job.with_material(Material(material, f"Line {kind}", BLUE, MaterialKind.CUT, cut=kind))
    return job.with_layer(Layer(f"{key}-layer", "Lines", (line,)))


def test_the_printer_prints_the_print_and_no_vinyl_no_guide_nothing_hidden():
    job = print_of(RING, shape("art", BLED))
    extra = [
        replace(shape("vinyl", rectangle(0, 0, 10, 10)), material="gold"),
        replace(shape("guide", rectangle(20, 0, 10, 10)), material="guides"),
        replace(shape("hidden", rectangle(40, 0, 10, 10)), visible=False),
    ]
    job = job.with_material(Material("gold", "Gold", ORANGE))
    job = job.with_material(Material("guides", "Guides", BLUE, MaterialKind.GUIDE)).with_layer(
        Layer("x", "X", tuple(extra))
    )
    result = printed_result(job)
    assert [each.leaf.id for each in result.walk()] == ["art", "line"]
    assert [layer.name for layer in result.layers] == ["Art", "Cut lines"]
    assert look(result, (50, 28), (50, 50), (5, 5)) == [ORANGE, (255, 255, 255), (255, 255, 255)]


def test_the_line_lies_over_the_print_though_its_layer_lay_below():
    job = print_of(RING, shape("art", BLED))
    job = replace(job, layers=job.layers[::-1])
    assert [each.leaf.id for each in printed_result(job).walk()] == ["art", "line"]


def test_a_kiss_cut_sticker_lies_on_its_liner_and_its_hole_is_gone():
    result = cut_result(print_of(RING, shape("art", BLED)))
    liner = tuple(PLAIN.liner)
    assert look(result, (50, 32), (50, 28), (50, 43.5), (50, 50), (5, 5)) == [ORANGE, liner, liner, liner, liner]


def test_a_through_cut_piece_is_alone():
    job = with_cut(job_of(shape("art", BLED)), "out", RING, CutKind.THROUGH)
    job = replace(job, materials=(*job.materials,))
    ground = replace(PLAIN, around=BLUE)
    assert look(cut_result(job, ground=ground), (50, 32), (50, 28), (50, 50)) == [ORANGE, BLUE, BLUE]


def test_a_kiss_cut_in_a_through_cut_is_a_sticker_on_a_piece_of_liner():
    job = with_cut(print_of(RING, shape("art", BLED)), "box", rectangle(20, 20, 60, 60), CutKind.THROUGH)
    ground = replace(PLAIN, around=BLUE)
    places = (50, 32), (50, 26), (50, 50), (22, 22), (15, 50)
    assert look(cut_result(job, ground=ground), *places) == [
        ORANGE,
        tuple(PLAIN.liner),
        tuple(PLAIN.liner),
        tuple(PLAIN.liner),
        BLUE,
    ]


@pytest.mark.parametrize("bleed_mm", [0.0, 3.0])
def test_a_cut_that_is_off_shows_white_where_the_print_does_not_run_on(bleed_mm):
    job = print_of(circle((50, 50), 20), shape("art", circle((50, 50), 20 + bleed_mm)))
    away, middle, off = look(cut_result(job, (2.0, 0.0)), (71, 50), (50, 50), (31, 50))
    assert middle == ORANGE
    assert off == tuple(PLAIN.liner)
    assert away == (ORANGE if bleed_mm else (255, 255, 255))


def test_film_that_is_not_white_is_seen_where_nothing_is_printed():
    job = print_of(circle((50, 50), 20), shape("art", circle((50, 50), 10)))
    assert look(cut_result(job, ground=replace(PLAIN, film=BLUE)), (50, 35))[0] == BLUE


def test_white_ink_is_seen_and_varnish_is_clear():
    job = print_of(circle((50, 50), 20), shape("art", circle((50, 50), 22)))
    for verb in ("white-underprint", "varnish"):
        job = operations.apply(job, operations.step(verb, {})).job
    assert [layer.name for layer in printed_result(job).layers] == ["White", "Art", "Cut lines"]


def test_a_job_without_a_cut_line_is_its_print():
    job = job_of(shape("art", BLED))
    assert [each.leaf.id for each in cut_result(job).walk()] == ["art"]
    assert [each.leaf.id for each in printed_result(job).walk()] == ["art"]
    assert Cutting(job).box is None
    assert Cutting(print_of(RING, shape("art", BLED))).box == pytest.approx((30, 30, 70, 70))


def test_print_that_hangs_over_the_sheets_edge_is_cut_away_too():
    job = print_of(circle((50, 50), 20), shape("art", rectangle(-30, -30, 160, 160)))
    job = replace(job, width_mm=100.0, height_mm=100.0)
    waste = cut_result(job).element("waste")
    assert waste.bounds == pytest.approx((-31.0, -31.0, 131.0, 131.0))
