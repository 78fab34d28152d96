"""Cut lines: at which distance, of which kind, about what, past which notches.

Areas: Steiner's formula, A + P·d + π·d² for a convex figure of area A and perimeter P grown by d, with the
perimeter P + 2·π·d (J. Steiner, "Über parallele Flächen", 1840; any text on integral geometry); a polygon whose
sides all stay shrinks to A − P·d + d²·Σ cot(α/2) over its inner angles α (elementary). Closing and opening by a
disc: J. Serra, "Image Analysis and Mathematical Morphology", 1982.
"""

import io
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import resvg_py
from PIL import Image

from bends import tightest
from bladewise import formats, operations
from bladewise.document import (
    CutKind,
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
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import area, contains, length, nearest_each
from bladewise.geometry.path import circle, joined, polygon, rectangle
from bladewise.geometry.regions import Region
from bladewise.geometry.strokes import LineCap
from pieces import BLUE, job_of, shape

DEMO_ART = Path(__file__).resolve().parents[2] / "demo_art"


def done(job, do, /, **values):
    return operations.apply(job, operations.step(do, values))


def lined(*shapes, **values):
    """Return the path of the cut line about shapes."""
    outcome = done(job_of(*shapes), "cut-line", **values)
    return outcome.job.element(outcome.made[0]).path


def line(key="leg", width=4.0, cap=LineCap.ROUND, fill=None):
    return Shape(
        key, polygon([(0, 0), (30, 0)], closed=False), Style(fill, stroke=Stroke(BLUE, width, cap)), name="Leg"
    )


HEXAGON = polygon([(50 + 20 * math.cos(k * math.pi / 3), 50 + 20 * math.sin(k * math.pi / 3)) for k in range(6)])
KITE = polygon([(30.0, 40.0), (58.0, 22.0), (91.0, 47.0), (62.0, 80.0), (41.0, 71.0)])


@pytest.mark.parametrize("distance", [0.3, 2.0, 11.0])
@pytest.mark.parametrize("path", [circle((50, 50), 20), rectangle(20, 20, 60, 30, 15, 15), HEXAGON, KITE])
def test_outward_a_cut_line_obeys_steiner(path, distance):
    cut = lined(shape("a", path), distance_mm=distance)
    a, p = area(path), length(path)
    assert area(cut) == pytest.approx(a + p * distance + math.pi * distance**2, abs=2e-3)
    assert length(cut) == pytest.approx(p + 2.0 * math.pi * distance, abs=2e-3)


@pytest.mark.parametrize("distance", [0.5, 3.0])
@pytest.mark.parametrize("path", [HEXAGON, KITE, rectangle(10, 10, 40, 25)])
def test_inward_a_convex_polygon_loses_what_its_sides_sweep(path, distance):
    corners = path.points[:, 0]
    before, after = np.roll(corners, 1, axis=0) - corners, np.roll(corners, -1, axis=0) - corners
    angle = np.arccos((before * after).sum(axis=1) / np.hypot(*before.T) / np.hypot(*after.T))
    cot = (1.0 / np.tan(angle / 2.0)).sum()
    cut = lined(shape("a", path), distance_mm=-distance)
    assert area(cut) == pytest.approx(area(path) - length(path) * distance + cot * distance**2, abs=1e-6)
    assert length(cut) == pytest.approx(length(path) - 2.0 * cot * distance, abs=1e-6)
    assert len(cut) == len(path)


def ring():
    return shape("ring", joined([circle((50, 50), 20), circle((50, 50), 8).reversed()]))


def test_a_cut_line_follows_the_holes_the_design_has():
    outcome = done(job_of(ring()), "cut-line")
    cut = outcome.job.element("cut-line")
    assert len(cut.path.starts) == 2
    assert area(cut.path) == pytest.approx(math.pi * (400 - 64), abs=1e-5)
    assert cut.style.fill is None
    kinds = {material.name: material.kind for material in outcome.job.materials_in_use()}
    assert kinds == {"Print": MaterialKind.PRINT, "Cut line": MaterialKind.CUT}


def test_a_cut_line_can_keep_to_the_outer_edge_or_leave_small_holes_out():
    assert len(done(job_of(ring()), "cut-line", holes="outer").job.element("cut-line").path.starts) == 1
    outcome = done(job_of(ring()), "cut-line", least_hole_mm2=500)
    assert len(outcome.job.element("cut-line").path.starts) == 1
    assert "1 small hole" in outcome.reports[0]


def test_a_cut_line_counts_the_painted_width_of_strokes():
    outcome = done(job_of(line(width=4.0)), "cut-line", distance_mm=1.0)
    assert area(outcome.job.element("cut-line").path) == pytest.approx(6 * 30 + math.pi * 9, abs=0.01)


def test_the_line_takes_a_colour_that_the_art_does_not_use():
    taken = job_of(shape("a", circle((50, 50), 10), operations.cut_lines.LINE_COLOURS[0]))
    assert done(taken, "cut-line").job.element("cut-line").style.stroke.paint == operations.cut_lines.LINE_COLOURS[1]


def test_thin_lines_of_a_print_are_printed_not_cut_but_a_knifes_own_line_stays():
    thin = shape("thin", polygon([(40, 50), (60, 50)], closed=False), fill=None, stroke=Stroke(BLUE, 0.05))
    slit = replace(thin, id="slit", material="slits")
    job = job_of(shape("disc", circle((50, 50), 20)), thin, slit).with_material(Material("slits", "Slits", BLUE))
    lined = done(job, "cut-line").job
    assert {each.id: each.material for each in lined.shapes()} == {
        "disc": "print",
        "thin": "print",
        "slit": "slits",
        "cut-line": "cut-line",
    }


# ------------------------------------------------------------------------------------------------------------- kinds


@pytest.mark.parametrize(
    ("kind", "key", "name"),
    [
        ("kiss", "cut-line", "Cut line"),
        ("through", "cut-line-through", "Through cut"),
        ("perforation", "cut-line-perforation", "Perforation"),
        ("crease", "cut-line-crease", "Crease"),
    ],
)
def test_each_kind_of_cut_has_its_material_and_its_layer(kind, key, name):
    job = done(job_of(shape("a", circle((50, 50), 20))), "cut-line", kind=kind).job
    material = job.material(key)
    assert (material.kind, material.cut, material.name) == (MaterialKind.CUT, CutKind(kind), name)
    assert (job.layers[-1].name, job.layers[-1].material) == (name, key)


def test_kiss_and_through_stand_side_by_side_about_the_same_art_in_two_colours():
    job = job_of(shape("a", circle((50, 50), 20)))
    job = done(job, "cut-line", distance_mm=1.0).job
    job = done(job, "cut-line", kind="through", distance_mm=4.0).job
    assert [layer.name for layer in job.layers] == ["Art", "Cut line", "Through cut"]
    sizes = [area(job.element(key).path) for key in ("cut-line", "cut-line-through")]
    assert sizes == pytest.approx([math.pi * 441, math.pi * 576], abs=1e-5)
    assert job.material("cut-line").colour != job.material("cut-line-through").colour


def test_a_second_line_of_a_kind_joins_the_first_on_its_layer_and_leaves_its_material_alone():
    job = job_of(shape("a", circle((50, 50), 20)), shape("b", circle((150, 50), 20)))
    job = done(job, "cut-line", on={"id": "a"}, line_colour="#123456").job
    job = done(job, "cut-line", on={"id": "b"}).job
    assert len(job.layers[-1].children) == 2
    assert {each.style.stroke.paint.hex for each in job.layers[-1].children} == {"#123456"}


def test_a_perforation_takes_its_lengths_with_it():
    job = done(job_of(shape("a", HEXAGON)), "cut-line", kind="perforation", cut_mm=2.5, gap_mm=0.8).job
    material = job.material("cut-line-perforation")
    assert (material.perforation_cut_mm, material.perforation_gap_mm) == (2.5, 0.8)


def test_a_line_goes_round_neither_marks_nor_guides_nor_bleed():
    job = done(job_of(shape("a", circle((50, 50), 20))), "cut-line").job
    job = done(job, "bleed", distance_mm=3.0).job
    guide = Shape("frame", rectangle(0, 0, 200, 200), Style(BLUE), material="frames")
    job = job.with_material(Material("frames", "Frames", BLUE, MaterialKind.GUIDE)).with_layer(
        Layer("frames-layer", "Frames", (guide,))
    )
    job = done(job, "cut-line", kind="through", distance_mm=1.0).job
    assert area(job.element("cut-line-through").path) == pytest.approx(math.pi * 441, abs=1e-5)
    assert job.element("frame").material == "frames"


def test_white_and_varnish_stay_what_they_are_when_art_becomes_print():
    white = Material("white", "White", BLUE, MaterialKind.WHITE)
    under = Layer("under", "White", (shape("w", circle((50, 50), 19)),), material="white")
    art = Layer("art", "Art", (shape("a", circle((50, 50), 20)),))
    job = done(Job("Test", 200, 200, (under, art), (white,)), "cut-line").job
    kinds = {each: job.material_of(job.placed(each)).kind for each in ("w", "a")}
    assert kinds == {"w": MaterialKind.WHITE, "a": MaterialKind.PRINT}


# ----------------------------------------------------------------------------------------------- what is painted counts


def test_paint_that_covers_nothing_is_not_gone_round_and_thin_paint_is():
    disc = shape("a", circle((50, 50), 20))
    ghost = Shape(
        "ghost", rectangle(0, 0, 90, 90), Style(BLUE, fill_opacity=0.0, stroke=Stroke(BLUE, 2.0, opacity=0.0))
    )
    fade = Gradient(GradientKind.LINEAR, (0, 0), (1, 0), (Stop(0.0, BLUE, 0.0), Stop(1.0, BLUE, 0.0)))
    faded = Shape("faded", rectangle(0, 0, 80, 80), Style(fade))
    assert area(lined(ghost, faded, disc)) == pytest.approx(math.pi * 400, abs=1e-6)
    tint = Shape("tint", rectangle(50, 30, 60, 40), Style(BLUE, fill_opacity=0.1))
    assert area(lined(tint, disc)) > math.pi * 400 + 60 * 40 / 2
    hidden = Group("g", (shape("c", circle((150, 50), 20)),), opacity=0.0)
    job = Job("Test", 200, 200, (Layer("art", "Art", (disc, hidden)),))
    assert len(done(job, "cut-line").job.element("cut-line").path.starts) == 1


def test_live_lettering_is_gone_round_by_its_outlines():
    word = Lettering("word", "O", "Sans", 20.0, Style(BLUE), outline=ring().path)
    assert area(lined(word, holes="outer", distance_mm=1.0)) == pytest.approx(math.pi * 441, abs=1e-5)


def test_art_that_only_clipping_shows_is_cut_where_it_is_clipped(tmp_path):
    art = tmp_path / "clipped.svg"
    art.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
        '<clipPath id="c"><circle cx="50" cy="50" r="20"/></clipPath>'
        '<rect width="100" height="100" fill="#c33" clip-path="url(#c)"/></svg>'
    )
    outcome = done(formats.read(art).current, "cut-line")
    assert area(outcome.job.element("cut-line").path) == pytest.approx(math.pi * 400, abs=1e-4)


def picture(body, size=400, wide_mm=100.0, **more):
    """Return a placed picture of a drawing of so many pixels, as a PNG with its transparency."""
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="{size}" height="{size}">{body}</svg>'
    data = bytes(resvg_py.svg_to_bytes(svg_string=svg))
    return Picture("photo", data, "image/png", Affine(wide_mm, 0.0, 0.0, wide_mm, 50.0, 30.0), **more)


def test_a_picture_is_cut_along_its_visible_pixels():
    cut = lined(picture('<circle cx="200" cy="200" r="120"/>'), distance_mm=2.0)
    there = circle((100, 80), 32)
    pixel = 0.25
    apart = [(cut, there), (there, cut)]
    assert max(nearest_each(b, flatten(a, 0.005).coords).distances_mm.max() for a, b in apart) < 0.1 * pixel
    assert len(cut) <= 8


def test_a_picture_without_transparency_is_its_box_and_one_that_shows_nothing_is_none():
    flat = io.BytesIO()
    Image.new("RGB", (8, 4), "red").save(flat, "JPEG")
    whole = Picture("photo", flat.getvalue(), "image/jpeg", Affine(80.0, 0.0, 0.0, 40.0, 10.0, 10.0))
    assert area(lined(whole)) == pytest.approx(3200.0)
    broken = replace(whole, data=b"no picture")
    assert area(lined(broken)) == pytest.approx(3200.0)
    with pytest.raises(CannotApply, match="No line is left"):
        lined(picture(""))
    with pytest.raises(CannotApply, match="Nothing that paints"):
        lined(replace(whole, opacity=0.0))


def test_pixels_finer_than_a_knife_are_joined_and_the_edge_stays_where_it_was():
    fine = picture('<circle cx="501" cy="499" r="300"/>', size=1001, wide_mm=10.0)
    cut = lined(fine)
    there = circle((50 + 5010 / 1001, 30 + 4990 / 1001), 3000 / 1001)
    assert nearest_each(there, flatten(cut, 0.001).coords).distances_mm.max() < 0.01


def test_a_soft_shadow_is_left_out_or_taken_in_by_how_much_of_it_shows():
    body = '<circle cx="200" cy="200" r="160" fill-opacity="0.3"/><circle cx="200" cy="200" r="120"/>'
    assert math.sqrt(area(lined(picture(body))) / math.pi) == pytest.approx(30.0, abs=0.25)
    assert math.sqrt(area(lined(picture(body), least_opacity=20)) / math.pi) == pytest.approx(40.0, abs=0.25)


def test_the_outer_edge_alone_does_not_mind_how_thin_the_art_is_inside():
    thin = shape("thin", joined([circle((50, 50), 30), circle((50, 50), 29).reversed()]))
    assert area(lined(thin, holes="outer", distance_mm=-2.0)) == pytest.approx(math.pi * 784, abs=1e-5)


# --------------------------------------------------------------------------------------------- notches, points, islands


COMB = polygon([(0, 0), (60, 0), (60, 40), (42, 40), (42, 6), (41, 6), (41, 40), (22, 40), (17, 12), (12, 40), (0, 40)])
"""A block with a slit of 1 mm and a notch that narrows to a point."""


@pytest.mark.parametrize("radius", [0.8, 2.0])
@pytest.mark.parametrize("distance", [0.0, 1.5])
def test_inlets_and_points_are_rounded_to_what_a_blade_can_follow(radius, distance):
    cut = lined(shape("a", COMB), distance_mm=distance, inlet_radius_mm=radius, point_radius_mm=radius)
    convex, concave = tightest(cut)
    assert convex >= radius * 0.98
    assert concave >= radius * 0.98
    assert len(cut) <= 2.5 * len(COMB)


def test_a_slit_narrower_than_the_radius_allows_fills_up_and_nothing_else_grows():
    cut = lined(shape("a", COMB), inlet_radius_mm=0.8)
    assert contains(Region(cut), np.array([[41.5, 20.0], [17.0, 35.0]])).tolist() == [True, False]
    assert cut.bounds() == pytest.approx(COMB.bounds(), abs=1e-6)
    assert area(cut) > area(COMB)


def test_a_spike_thinner_than_the_radius_allows_goes():
    spiked = joined([rectangle(0, 0, 30, 30), rectangle(29, 14, 20, 0.6)])
    cut = lined(shape("a", spiked), point_radius_mm=1.0)
    stub = 1.0 - math.sqrt(1.0 - 0.3**2)  # how far a disc of 1 mm reaches into a spike of 0.6 mm
    assert cut.bounds() == pytest.approx((0, 0, 30 + stub, 30), abs=1e-4)


def test_islands_are_cut_apart_bridged_or_backed():
    pair = [shape("a", rectangle(0, 0, 20, 20)), shape("b", rectangle(26, 0, 20, 20))]
    assert len(lined(*pair).starts) == 2
    bridged = lined(*pair, islands="bridged", bridge_width_mm=5.0)
    assert area(bridged) == pytest.approx(800 + 6 * 5, abs=1e-5)
    backed = lined(*pair, islands="backed", reach_mm=40.0)
    assert len(backed.starts) == 1
    assert area(backed) > 46 * 19
    outcome = done(job_of(*pair), "cut-line", islands="bridged", reach_mm=3.0)
    assert "2 pieces are left: they lie more than 3 mm apart." in outcome.reports


def test_bridges_go_from_line_to_line_at_its_distance():
    pair = [shape("a", rectangle(0, 0, 20, 20)), shape("b", rectangle(30, 0, 20, 20))]
    outcome = done(job_of(*pair), "cut-line", distance_mm=2.0, islands="bridged", reach_mm=7.0, bridge_width_mm=4.0)
    one = 400 + 80 * 2 + math.pi * 4
    assert area(outcome.job.element("cut-line").path) == pytest.approx(2 * one + 6 * 4, abs=1e-4)
    assert "1 bridge was laid." in outcome.reports


def test_what_stands_in_a_hole_that_is_left_out_is_no_piece_of_its_own():
    target = shape("a", joined([circle((50, 50), 30), circle((50, 50), 20).reversed(), circle((50, 50), 8)]))
    assert len(lined(target).starts) == 3
    assert len(lined(target, holes="outer").starts) == 1
    assert len(lined(target, least_hole_mm2=2000).starts) == 1


def test_the_sticker_of_the_demonstration_is_cut_along_all_its_scallops():
    job = formats.read(DEMO_ART / "sticker.svg").current
    cut = done(job, "cut-line", least_hole_mm2=20.0).job.element("cut-line").path
    base = job.element("sticker-base").path
    assert len(cut) == len(base)
    for one, other in ((cut, base), (base, cut)):
        assert nearest_each(other, flatten(one, 0.01).coords).distances_mm.max() < 0.02
