"""Colours taken apart for vinyl.

Areas: bands and lenses in closed form, as in the tests of `geometry.stacking`; rectangles by hand.
"""

import math
from dataclasses import replace

import pytest

from bladewise import checks, operations
from bladewise.document import Colour, Group, Job, Layer, Lettering, Material, MaterialKind, Picture, Stroke, Style
from bladewise.document.style import Gradient, GradientKind, Stop
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.geometry.measures import area
from bladewise.geometry.path import circle, polygon, rectangle
from pieces import BLUE, ORANGE, job_of, ring_and_bar, shape

WHITE, BLACK = Colour(255, 255, 255), Colour(0, 0, 0)


def done(job, /, **values):
    return operations.apply(job, operations.step("separate-colours", values))


def sizes(job):
    return {layer.name: sum(area(each.path) for each in layer.children) for layer in job.layers}


def target():
    """A white disc on a black one."""
    return job_of(shape("black", circle((50, 50), 30), BLACK), shape("white", circle((50, 50), 10), WHITE))


def test_what_is_seen_lies_on_a_layer_a_vinyl_in_the_order_of_application():
    outcome = done(ring_and_bar(), how="seen")
    job = outcome.job
    assert [(layer.name, layer.material) for layer in job.layers] == [
        ("Orange #e69f00", "colour-e69f00"),
        ("Blue #0072b2", "colour-0072b2"),
    ]
    assert [[each.id for each in layer.children] for layer in job.layers] == [["disc", "disc-part"], ["bar"]]
    assert sizes(job)["Blue #0072b2"] == pytest.approx(600.0)
    assert {material.name for material in job.materials} == {"Orange #e69f00", "Blue #0072b2"}
    assert outcome.made == ("disc", "disc-part", "bar")
    assert outcome.reports == ("2 layers in 2 goes, the lowest first: 1. Orange #e69f00; 2. Blue #0072b2.",)


def test_the_lighter_runs_on_under_the_darker_though_it_lay_on_top():
    job = done(target(), trap_mm=0.4).job
    assert [layer.name for layer in job.layers] == ["White #ffffff", "Black #000000"]
    assert sizes(job) == pytest.approx({"White #ffffff": math.pi * 10.4**2, "Black #000000": math.pi * 800}, abs=1e-6)


@pytest.mark.parametrize(("spread", "first"), [("lighter", "White"), ("darker", "Black"), ("lower", "Black")])
def test_who_spreads_is_stuck_first(spread, first):
    job = done(target(), spread=spread).job
    assert job.layers[0].name.startswith(first)
    assert done(target(), spread="upper").job.layers[0].name.startswith("White")


def test_without_a_trap_the_edges_butt():
    assert sizes(done(target(), trap_mm=0).job) == pytest.approx(sizes(done(target(), how="seen").job), abs=1e-9)


def test_a_strip_narrower_than_the_trap_is_no_piece_of_vinyl_and_is_told():
    job = job_of(
        shape("under", rectangle(0, 0, 30.2, 10), BLACK),
        shape("over", rectangle(0, 0, 30, 10), ORANGE),
        shape("beside", rectangle(30.2, 0, 20, 10), WHITE),
    )
    outcome = done(job, trap_mm=0.3)
    assert sizes(outcome.job) == pytest.approx({"White #ffffff": 203.0, "Orange #e69f00": 302.0}, abs=1e-6)
    assert "1 strip narrower than the trap went to the colour that covers the rest of it." in outcome.reports
    assert checks.check(outcome.job) == []
    assert len(done(job, trap_mm=0.1).job.layers) == len(done(job, how="seen").job.layers) == 3


def test_layered_lower_colours_run_under_upper_ones_by_the_overlap_or_whole():
    overlap = sizes(done(target(), how="layered", overlap_mm=2.0).job)
    assert overlap == pytest.approx({"Black #000000": math.pi * (900 - 64), "White #ffffff": math.pi * 100}, abs=1e-6)
    whole = sizes(done(target(), how="layered", under="whole").job)
    assert whole == pytest.approx({"Black #000000": math.pi * 900, "White #ffffff": math.pi * 100}, abs=1e-6)


def test_an_overlap_wider_than_the_upper_colour_fills_the_lower_one():
    assert sizes(done(target(), how="layered", overlap_mm=40).job)["Black #000000"] == pytest.approx(math.pi * 900)


def test_colours_over_and_under_one_another_in_turn_are_told_and_look_the_same():
    job = job_of(
        shape("low", rectangle(0, 0, 40, 10)),
        shape("bar", rectangle(10, -5, 10, 20), BLUE),
        shape("high", rectangle(15, 0, 2, 10)),
    )
    outcome = done(job, how="layered", under="whole")
    assert any("in one place and over it in another" in report for report in outcome.reports)
    assert sizes(outcome.job) == pytest.approx({"Orange #e69f00": 400.0, "Blue #0072b2": 180.0})


def test_whole_underneath_names_colours_that_only_meet_edge_to_edge():
    job = job_of(shape("a", rectangle(0, 0, 10, 10)), shape("b", rectangle(10, 0, 10, 10), BLUE))
    reports = done(job, how="layered", under="whole").reports
    assert "Edge to edge, nothing runs on underneath: Orange #e69f00 and Blue #0072b2." in reports


def test_colours_that_never_meet_are_stuck_in_one_application():
    job = job_of(
        shape("ground", rectangle(0, 0, 100, 100), WHITE),
        shape("a", circle((20, 20), 10)),
        shape("b", circle((70, 70), 10), BLUE),
    )
    outcome = done(job)
    assert outcome.reports[0] == (
        "3 layers in 2 goes, the lowest first: 1. White #ffffff; 2. Orange #e69f00 + Blue #0072b2."
    )


def test_pieces_of_one_vinyl_merge_where_they_meet_and_no_edge_between_them_is_cut_twice():
    vinyl = Material("sun", "Sun", ORANGE)
    job = job_of(shape("a", rectangle(0, 0, 10, 10)), shape("b", rectangle(10, 0, 10, 10), Colour(230, 160, 9)))
    job = replace(job, materials=(vinyl,), layers=(replace(job.layers[0], material="sun"),))
    outcome = done(job)
    (piece,) = outcome.job.shapes()
    assert area(piece.path) == pytest.approx(200.0)
    assert piece.style.fill == ORANGE
    assert any("2 colours are cut from Sun" in report for report in outcome.reports)
    assert any("joined another" in report for report in outcome.reports)


def test_strokes_as_wide_as_they_are_become_pieces_of_their_own_vinyl():
    job = job_of(shape("a", rectangle(10, 10, 20, 20), ORANGE, Stroke(BLUE, 2.0)))
    assert sizes(done(job, how="seen").job) == pytest.approx(
        {"Orange #e69f00": 18.0**2, "Blue #0072b2": 22.0**2 - 18**2}
    )
    behind = job.replaced({"a": (replace(job.element("a"), style=replace(job.element("a").style, stroke_first=True)),)})
    assert sizes(done(behind, how="seen").job) == pytest.approx(
        {"Orange #e69f00": 400.0, "Blue #0072b2": 22.0**2 - 400.0}
    )


def test_a_stroke_goes_to_the_vinyl_of_its_colour_or_with_its_layer():
    job = job_of(shape("a", rectangle(10, 10, 20, 20), ORANGE, Stroke(BLUE, 2.0)))
    sea, sun = Material("sea", "Sea", BLUE), Material("sun", "Sun", ORANGE)
    listed = replace(job, materials=(sea, sun), layers=(replace(job.layers[0], material="sun"),))
    assert set(sizes(done(listed).job)) == {"Sea", "Sun"}
    all_sun = replace(listed, materials=(sun,))
    assert sizes(done(all_sun).job) == pytest.approx({"Sun": 22.0**2})


def test_live_lettering_takes_part_with_the_outlines_it_has():
    word = Lettering("word", "I", "Any", 10.0, Style(fill=BLUE), outline=rectangle(20, 20, 4, 10), name="Word")
    job = Job("j", 100, 100, (Layer("l", "L", (shape("ground", rectangle(0, 0, 60, 60)), word)),))
    assert sizes(done(job, how="seen").job) == pytest.approx({"Orange #e69f00": 3560.0, "Blue #0072b2": 40.0})


def test_print_lines_and_guides_stay_where_they_are_and_are_told():
    gradient = Gradient(GradientKind.LINEAR, (0, 0), (1, 0), (Stop(0, BLUE), Stop(1, ORANGE)))
    guide = Material("guide", "Guide", BLUE, MaterialKind.GUIDE)
    job = job_of(
        shape("line", rectangle(0, 0, 5, 5), None, Stroke(BLUE, 0.05)),
        replace(shape("shade", circle((5, 5), 2)), style=Style(fill=gradient)),
        replace(shape("edged", circle((5, 5), 2)), style=Style(fill=BLUE, stroke=Stroke(gradient, 2.0))),
        replace(shape("frame", rectangle(0, 0, 90, 90)), material="guide"),
        *ring_and_bar().shapes(),
        replace(shape("hidden", circle((50, 50), 40)), visible=False),
    )
    job = replace(job, materials=(guide,))
    job = replace(job, layers=(*job.layers, Layer("p", "P", (Picture("photo", b"", "image/png", Affine()),))))
    outcome = done(job, how="seen")
    assert [layer.name for layer in outcome.job.layers] == ["Art", "Orange #e69f00", "Blue #0072b2", "P"]
    assert [each.id for each in outcome.job.layers[0].children] == ["line", "shade", "edged", "frame", "hidden"]
    assert outcome.reports[-2:] == (
        "Not taken apart, left on its own layer: 3 with gradients or pictures.",
        "Left as it was: 2 lines, guides or prints.",
    )


def test_see_through_colours_are_taken_as_solid_and_told_and_clear_ones_left():
    job = job_of(
        replace(shape("a", circle((50, 50), 20)), style=Style(fill=ORANGE, opacity=0.5)),
        replace(shape("b", circle((50, 50), 10)), style=Style(fill=BLUE, opacity=0.0)),
    )
    outcome = done(job)
    assert outcome.reports[-2] == "1 see-through shape was taken as solid: vinyl is."
    assert sizes(outcome.job)["Orange #e69f00"] == pytest.approx(math.pi * 400)


def test_nothing_to_separate_is_refused_in_words():
    with pytest.raises(CannotApply, match="flat colour that is cut"):
        done(job_of(shape("bare", circle((5, 5), 2), None)))
    with pytest.raises(CannotApply, match="has an area"):
        done(job_of(shape("thin", polygon([(0, 0), (5, 0)], closed=False))))
    with pytest.raises(CannotApply, match="Nothing in the job"):
        done(ring_and_bar(), on={"name": "Nobody"})


def test_groups_are_opened_and_names_are_kept():
    group = Group("g", tuple(ring_and_bar().shapes()), name="Badge", opacity=0.9)
    outcome = done(Job("j", 100, 100, (Layer("l", "L", (group,)),)), how="seen")
    assert [each.name for each in outcome.job.shapes()] == ["Disc", "Disc 2", "Bar"]
    assert "see-through" in outcome.reports[-1]


@pytest.mark.parametrize("values", [{"how": "seen"}, {"how": "butted"}, {"how": "layered"}])
def test_a_separated_job_has_no_overlap_and_no_double_cut_in_any_one_vinyl(values):
    job = done(target(), **values).job
    assert not [found for found in checks.check(job) if found.rule in ("overlap", "duplicate", "crossing")]


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"how": "seen"}, "what is seen, edge to edge"),
        ({}, "edge to edge, the lighter 0.3 mm under the other"),
        ({"how": "layered"}, "lower ones 2 mm under upper ones"),
        ({"how": "layered", "under": "whole"}, "lower ones whole under upper ones"),
    ],
)
def test_the_step_is_put_into_words(values, words):
    assert operations.summary(operations.step("separate-colours", values)) == f"Separate the colours of all: {words}"


def test_art_left_out_that_lay_above_some_of_it_is_told():
    job = job_of(shape("low", rectangle(0, 0, 20, 20), BLUE), shape("high", rectangle(5, 5, 5, 5), ORANGE))
    outcome = done(job, on={"id": "low"})
    said = (
        "1 shape that lay above some of this lies below the new layers now: move them up again where they should show."
    )
    assert said in outcome.reports
    assert said not in done(job, on="all").reports
