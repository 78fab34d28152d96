"""The rules that hold art against its material, its sheet and its order. Limits are common practice, no source.

Each test draws the smallest art that has the fault, and art beside the limit that has not.
"""

import dataclasses
import math

import pytest

from bladewise import operations
from bladewise.checks import check, is_ready, verdict
from bladewise.document import (
    KNOWN_PROFILES,
    PRINT,
    Colour,
    Gradient,
    GradientKind,
    Group,
    Job,
    Layer,
    Lettering,
    Material,
    Picture,
    Profile,
    Shape,
    Stop,
    Stroke,
    Style,
)
from bladewise.findings import Severity
from bladewise.geometry.affine import Affine
from bladewise.geometry.measures import area
from bladewise.geometry.path import circle, joined, polygon, rectangle
from bladewise.geometry.regions import FillRule
from pieces import BLUE, ORANGE, job_of, shape


def found(job, rule, **options):
    return [finding for finding in check(job, **options) if finding.rule == rule]


def the(job, rule, **options):
    (finding,) = found(job, rule, **options)
    return finding


def mended(job, finding):
    return operations.apply(job, operations.step(finding.remedy.do, finding.remedy.values)).job


def dumbbell(neck_mm, x=0.0):
    half = neck_mm / 2
    return polygon(
        [(x + 10, 10), (x + 30, 10), (x + 30, 20 - half), (x + 40, 20 - half), (x + 40, 10), (x + 60, 10),
         (x + 60, 30), (x + 40, 30), (x + 40, 20 + half), (x + 30, 20 + half), (x + 30, 30), (x + 10, 30)]
    )  # fmt: skip


def test_a_narrow_bridge_is_measured_and_marked_where_it_is():
    finding = the(job_of(shape("bone", dumbbell(0.4))), "narrow-bridge")
    assert finding.measure == pytest.approx(0.4, abs=1e-6)
    assert 30 <= finding.x_mm <= 40
    assert finding.y_mm == pytest.approx(20.0)
    assert finding.severity is Severity.WASTES
    assert finding.remedy.do is None
    assert finding.remedy.text.startswith("Someone has to decide")
    assert found(job_of(shape("bone", dumbbell(0.6))), "narrow-bridge") == []


def test_a_bridge_no_wider_than_twice_the_film_is_thick_may_spoil_the_cut():
    finding = the(job_of(shape("bone", dumbbell(0.1))), "narrow-bridge")
    assert finding.severity is Severity.MAY_SPOIL
    thick = KNOWN_PROFILES["reflective"]
    assert the(job_of(shape("bone", dumbbell(0.25))), "narrow-bridge", profile=thick).severity is Severity.MAY_SPOIL


def test_a_narrow_gap_within_a_shape_is_filled_by_its_remedy_but_not_unasked():
    slit = joined([rectangle(10, 10, 40, 30), rectangle(20, 20, 20, 0.3).reversed()])
    job = job_of(shape("plate", slit))
    finding = the(job, "narrow-gap")
    assert finding.measure == pytest.approx(0.3)
    assert not finding.remedy.is_safe_step
    after = mended(job, finding)
    assert found(after, "narrow-gap") == []
    assert area(after.shapes()[0].path) == pytest.approx(1200, abs=0.01)


def test_a_narrow_gap_between_two_shapes_is_told_with_both():
    pair = shape("a", rectangle(10, 10, 20, 20)), shape("b", rectangle(30.3, 10, 20, 20))
    finding = the(job_of(*pair), "narrow-gap")
    assert finding.measure == pytest.approx(0.3)
    assert finding.shapes == ("b", "a")
    assert finding.x_mm == pytest.approx(30.15)
    apart = pair[0], shape("b", rectangle(30.6, 10, 20, 20))
    assert found(job_of(*apart), "narrow-gap") == []
    other = pair[0], shape("b", rectangle(30.3, 10, 20, 20), BLUE)
    assert found(job_of(*other), "narrow-gap") == []  # another vinyl


def test_an_edge_that_two_shapes_share_is_cut_once_after_its_remedy():
    job = job_of(shape("a", rectangle(10, 10, 20, 20)), shape("b", rectangle(30, 15, 20, 30)))
    finding = the(job, "shared-edge")
    assert finding.measure == pytest.approx(15.0, abs=0.1)
    assert finding.x_mm == pytest.approx(30.0, abs=0.03)
    after = mended(job, finding)
    assert check(after) == []
    assert sum(area(each.path) for each in after.shapes()) == pytest.approx(1000.0)


def test_edges_a_hundredth_apart_are_one_cut_and_discs_that_touch_share_none():
    near = job_of(shape("a", rectangle(10, 10, 20, 20)), shape("b", rectangle(30.01, 10, 20, 20)))
    assert the(near, "shared-edge").measure == pytest.approx(20.0, abs=0.1)
    assert check(job_of(shape("a", circle((50, 50), 20)), shape("b", circle((90, 50), 20)))) == []


def test_art_that_never_shows_is_told_unless_a_part_of_it_shows():
    job = job_of(shape("under", circle((50, 50), 10)), shape("over", circle((50, 50), 20), BLUE))
    finding = the(job, "hidden-art")
    assert (finding.shapes, finding.severity) == (("under",), Severity.WASTES)
    assert [each.id for each in mended(job, finding).shapes()] == ["over"]
    peeking = job_of(shape("under", circle((50, 50), 20.1)), shape("over", circle((50, 50), 20), BLUE))
    assert found(peeking, "hidden-art") == []


def test_two_together_hide_what_neither_hides_alone_and_clear_paint_hides_nothing():
    halves = shape("left", rectangle(30, 30, 20, 40), BLUE), shape("right", rectangle(50, 30, 20, 40), Colour(0, 99, 0))
    under = shape("under", circle((50, 50), 10))
    assert the(job_of(under, *halves), "hidden-art").shapes == ("under",)
    clear = dataclasses.replace(halves[1], style=dataclasses.replace(halves[1].style, opacity=0.5))
    assert found(job_of(under, halves[0], clear), "hidden-art") == []


def test_a_sharp_corner_gives_its_angle():
    angle = 8.0
    tip = polygon(
        [(10, 50), (60, 50), (10 + 50 * math.cos(math.radians(angle)), 50 - 50 * math.sin(math.radians(angle)))]
    )
    finding = the(job_of(shape("tip", tip)), "sharp-corner")
    assert finding.measure == pytest.approx(angle, abs=1e-6)
    assert (finding.x_mm, finding.y_mm) == (10, 50)
    assert found(job_of(shape("tip", tip)), "sharp-corner", profile=Profile(sharpest_corner_deg=7.0)) == []
    assert found(mended(job_of(shape("tip", tip)), finding), "sharp-corner") == []


def test_too_many_nodes_are_told_with_what_would_do():
    places = [(50 + 10 * math.cos(a * math.pi / 180), 50 + 10 * math.sin(a * math.pi / 180)) for a in range(360)]
    job = job_of(shape("round", polygon(places)))
    finding = the(job, "many-nodes")
    fewer = mended(job, finding).shapes()[0].path
    assert finding.measure == 360
    assert f"360 segments where {len(fewer)} would do" in finding.message
    assert len(fewer) <= 8
    assert found(job_of(shape("round", circle((50, 50), 10))), "many-nodes") == []


def test_a_point_without_extent_is_a_hole_pecked():
    dot = polygon([(70, 70), (70, 70)], closed=False)
    job = job_of(shape("a", joined([circle((50, 50), 10), dot])))
    finding = the(job, "stray-point")
    assert (finding.x_mm, finding.y_mm) == (70, 70)
    assert check(mended(job, finding)) == []


def test_what_lies_off_the_sheet_is_moved_onto_it_where_all_of_it_fits():
    job = job_of(shape("a", rectangle(-5, 20, 20, 20)), shape("b", rectangle(50, 190, 20, 20), BLUE))
    finding = the(job, "off-sheet")
    assert (finding.measure, finding.shapes) == (10.0, ("b", "a"))
    after = mended(job, finding)
    assert after.bounds == pytest.approx((0.0, 10.0, 75.0, 200.0))
    assert check(after) == []


def test_art_larger_than_its_sheet_is_for_a_person_who_may_make_the_sheet_larger():
    job = job_of(shape("a", rectangle(-5, 10, 300, 20)))
    finding = the(job, "off-sheet")
    assert not finding.remedy.is_safe_step
    after = mended(job, finding)
    assert check(after) == []
    assert (after.width_mm, after.height_mm, after.bounds) == (300.0, 20.0, (0.0, 0.0, 300.0, 20.0))


def test_art_wider_than_its_roll_either_way_is_told():
    vinyl = Material("v", "White", ORANGE, profile=Profile(roll_width_mm=100.0))
    job = Job("J", 400, 400, (Layer("l", "L", (shape("a", rectangle(0, 0, 300, 120)),), material="v"),), (vinyl,))
    assert the(job, "over-roll").measure == 120.0
    lying = Job("J", 400, 400, (Layer("l", "L", (shape("a", rectangle(0, 0, 300, 90)),), material="v"),), (vinyl,))
    assert found(lying, "over-roll") == []


def test_art_is_held_to_its_ordered_size():
    job = dataclasses.replace(job_of(shape("a", rectangle(10, 10, 80, 40))), ordered_width_mm=100.0)
    finding = the(job, "ordered-size")
    assert finding.message == "The art is 80 mm wide; 100 mm were ordered."
    after = mended(job, finding)
    assert found(after, "ordered-size") == []
    both = dataclasses.replace(job, ordered_height_mm=40.0)
    assert the(both, "ordered-size").remedy.do is None
    assert found(dataclasses.replace(job, ordered_width_mm=80.3), "ordered-size") == []


def test_gradients_clear_paint_and_pictures_cannot_be_cut():
    fade = Gradient(GradientKind.LINEAR, (0, 0), (1, 0), (Stop(0, ORANGE), Stop(1, BLUE)))
    vinyl = Material("v", "White", ORANGE)
    children = (
        Shape("fade", circle((30, 30), 10), Style(fade)),
        Group("g", (Shape("clear", circle((80, 30), 10), Style(ORANGE)),), opacity=0.5),
        Picture("photo", b"\x89PNG\r\n\x1a\n", "image/png", Affine(20, 0, 0, 20, 100, 100)),
        Shape("solid", circle((30, 80), 10), Style(ORANGE)),
    )
    job = Job("J", 200, 200, (Layer("l", "L", children, material="v"),), (vinyl,))
    told = {finding.rule: finding for finding in check(job)}
    assert set(told) == {"gradient", "see-through", "bitmap"}
    assert {rule: finding.shapes for rule, finding in told.items()} == {
        "gradient": ("fade",),
        "see-through": ("clear",),
        "bitmap": ("photo",),
    }
    assert all(finding.remedy.do is None for finding in told.values())
    printed = dataclasses.replace(job, layers=(Layer("l", "L", children, material="print"),), materials=(PRINT,))
    assert [finding.rule for finding in check(printed)] == ["nothing-to-cut"]


def test_two_vinyls_that_differ_by_a_hair_become_one():
    near = Colour(0xE6, 0x9F, 0x01)
    job = job_of(
        shape("a", circle((30, 50), 10)), shape("b", circle((80, 50), 10)), shape("c", circle((130, 50), 10), near)
    )
    finding = the(job, "near-colours")
    assert (finding.shapes, finding.severity) == (("c",), Severity.WASTES)
    after = mended(job, finding)
    assert check(after) == []
    assert len(after.materials_in_use()) == 1


def test_materials_the_operator_has_named_stay_two_however_near():
    gloss, matt = Material("g", "Gloss", ORANGE), Material("m", "Matt", ORANGE)
    layers = (
        Layer("1", "1", (shape("a", circle((30, 50), 10)),), material="g"),
        Layer("2", "2", (shape("b", circle((80, 50), 10)),), material="m"),
    )
    assert check(Job("J", 200, 200, layers, (gloss, matt))) == []


def test_an_outline_within_a_solid_fill_is_cut_all_the_same_and_so_is_told():
    path = joined([circle((50, 50), 20), circle((50, 50), 10)])
    job = job_of(shape("disc", path))
    finding = the(job, "fill-rule")
    assert finding.severity is Severity.MAY_SPOIL
    after = mended(job, finding)
    assert check(after) == []
    assert area(after.shapes()[0].path) == pytest.approx(400 * math.pi, abs=1e-6)
    ring = Shape("ring", path, Style(ORANGE, fill_rule=FillRule.EVEN_ODD))
    assert the(job_of(ring), "fill-rule").severity is Severity.WASTES
    after = mended(job_of(ring), the(job_of(ring), "fill-rule"))
    assert check(after) == []
    assert area(after.shapes()[0].path) == pytest.approx(300 * math.pi, abs=1e-6)


def words(transform):
    return Lettering(
        "t", "Open", "Josefin Sans", 20.0, Style(BLUE), transform=transform, outline=rectangle(60, 60, 40, 10)
    )


@pytest.mark.parametrize(
    ("across", "pressed", "wrong"), [(1, False, False), (-1, False, True), (1, True, True), (-1, True, False)]
)
def test_words_are_mirrored_where_they_are_pressed_on_from_the_back_and_nowhere_else(across, pressed, wrong):
    film = Material("f", "Film", BLUE, profile=Profile(heat_transfer=pressed))
    text = words(Affine(across, 0, 0, 1, 80, 80))
    job = Job("J", 200, 200, (Layer("l", "L", (text,), material="f"),), (film,))
    told = found(job, "mirrored-words")
    assert bool(told) is wrong
    if told:
        assert not told[0].remedy.is_safe_step
        assert found(mended(job, told[0]), "mirrored-words") == []


def sticker(print_mm, line_mm):
    art = Shape("art", circle((100, 100), print_mm), Style(BLUE), material="print")
    line = Shape("line", circle((100, 100), line_mm), Style(stroke=Stroke(ORANGE, 0.05)), material="cut-line")
    return Job("J", 200, 200, (Layer("l", "L", (art, line)),), (PRINT, Material("cut-line", "Cut line", ORANGE)))


def test_a_cut_line_needs_bleed_beyond_it_or_bare_film_within():
    assert the(sticker(50, 50), "short-bleed").measure == pytest.approx(0.0, abs=0.01)
    assert the(sticker(50.5, 50), "short-bleed").measure == pytest.approx(0.5, abs=0.02)
    assert found(sticker(52, 50), "short-bleed") == []
    assert found(sticker(47, 50), "short-bleed") == []
    for print_mm in (50, 50.5, 49.5):
        job = sticker(print_mm, 50)
        assert found(mended(job, the(job, "short-bleed")), "short-bleed") == []


def test_strokes_that_are_thin_only_because_the_art_is_tiny_are_scaled_first():
    icon = Shape("icon", circle((5, 5), 4), Style(stroke=Stroke(BLUE, 0.09)))
    job = job_of(icon, width_mm=10, height_mm=10)
    finding = the(job, "thin-stroke")
    assert finding.remedy.do is None
    ordered = dataclasses.replace(job, ordered_width_mm=100.0)
    after = mended(ordered, the(ordered, "thin-stroke"))
    assert [each.rule for each in found(after, "stroke")] == ["stroke"]
    assert found(job_of(Shape("a", circle((50, 50), 40), Style(stroke=Stroke(BLUE, 0.09)))), "thin-stroke") == []


def test_each_material_is_held_to_its_own_profile():
    thick = Material("thick", "Thick", ORANGE, profile=Profile(least_piece_mm2=200.0, least_bridge_mm=3.0))
    layers = (
        Layer("1", "1", (shape("a", dumbbell(2.0)),), material="thick"),
        Layer("2", "2", (shape("b", dumbbell(2.0, 80), BLUE),)),
    )
    told = found(Job("J", 200, 200, layers, (thick,)), "narrow-bridge")
    assert [finding.shapes for finding in told] == [("a",)]


def test_what_is_only_wasteful_is_told_and_does_not_hold_the_job_up():
    findings = check(job_of(shape("bone", dumbbell(0.4))))
    assert is_ready(findings)
    assert verdict(findings) == "Ready to cut; 1 finding."
    assert not is_ready(check(job_of(shape("bone", dumbbell(0.05)))))
    assert verdict([]) == "Ready to cut."
