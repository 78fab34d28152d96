"""Stroke to shape, stepped outline.

Areas: Steiner's formula A + P·d + π·d² for convex shapes (J. Steiner 1840); the stadium w·l + π·w²/4.
"""

import math
from dataclasses import replace

import pytest

from bladewise import operations
from bladewise.document import Shape, Stroke, Style
from bladewise.errors import CannotApply
from bladewise.geometry.measures import area
from bladewise.geometry.path import circle, polygon, rectangle
from bladewise.geometry.strokes import LineCap
from pieces import BLUE, ORANGE, job_of, shape


def done(job, do, /, **values):
    return operations.apply(job, operations.step(do, values))


def line(key="leg", width=4.0, cap=LineCap.ROUND, fill=None):
    return Shape(
        key, polygon([(0, 0), (30, 0)], closed=False), Style(fill, stroke=Stroke(BLUE, width, cap)), name="Leg"
    )


def test_a_stroke_with_round_caps_becomes_a_stadium():
    result = done(job_of(line()), "stroke-to-shape").job.shapes()[0]
    assert area(result.path) == pytest.approx(4 * 30 + math.pi * 4, abs=1e-6)
    assert (result.id, result.style.fill, result.style.stroke) == ("leg", BLUE, None)


def test_fill_and_stroke_become_two_shapes_with_the_stroke_above():
    both = Shape("b", rectangle(0, 0, 20, 20), Style(ORANGE, stroke=Stroke(BLUE, 2.0)), name="Box")
    shapes = done(job_of(both), "stroke-to-shape").job.shapes()
    assert [each.style.fill for each in shapes] == [ORANGE, BLUE]
    assert [area(each.path) for each in shapes] == pytest.approx([400.0, 22 * 22 - 18 * 18])
    under = replace(both, style=replace(both.style, stroke_first=True))
    assert [each.style.fill for each in done(job_of(under), "stroke-to-shape").job.shapes()] == [BLUE, ORANGE]


def test_fill_and_stroke_of_one_colour_can_become_one_piece():
    both = Shape("b", rectangle(0, 0, 20, 20), Style(BLUE, stroke=Stroke(BLUE, 2.0)))
    shapes = done(job_of(both), "stroke-to-shape", merge_with_fill=True).job.shapes()
    assert [area(each.path) for each in shapes] == pytest.approx([22.0 * 22.0])


def test_without_any_stroke_the_step_says_so():
    with pytest.raises(CannotApply, match="None of these shapes has a stroke"):
        done(job_of(shape("a", rectangle(0, 0, 1, 1))), "stroke-to-shape")


def test_stepped_outlines_obey_steiner_and_lie_largest_at_the_back_on_a_layer_below():
    outcome = done(job_of(shape("a", rectangle(50, 50, 40, 20))), "stepped-outline", steps=3, distance_mm=2.5)
    below, art = outcome.job.layers
    assert art.id == "art"
    found = [area(each.path) for each in below.children]
    assert found == pytest.approx([800 + 120 * d + math.pi * d * d for d in (7.5, 5.0, 2.5)], abs=1e-5)


def test_each_step_takes_its_colour_from_the_list_nearest_first():
    outcome = done(job_of(shape("a", circle((50, 50), 10))), "stepped-outline", steps=2, colours=["#ffffff", "#000000"])
    assert [each.style.fill.hex for each in outcome.job.layers[0].children] == ["#000000", "#ffffff"]


@pytest.mark.parametrize(("corner", "extra"), [("miter", 4 * 9.0), ("bevel", 4 * 4.5), ("round", math.pi * 9)])
def test_corners_are_made_as_asked(corner, extra):
    outcome = done(job_of(shape("a", rectangle(50, 50, 40, 20))), "stepped-outline", distance_mm=3.0, corner=corner)
    assert area(outcome.job.layers[0].children[0].path) == pytest.approx(800 + 120 * 3 + extra, abs=1e-5)


def test_steps_inside_lie_above_and_those_that_vanish_are_counted():
    outcome = done(job_of(shape("a", circle((50, 50), 10))), "stepped-outline", steps=5, distance_mm=3.0, side="inside")
    inner = outcome.job.layers[-1].children
    assert [area(each.path) for each in inner] == pytest.approx([math.pi * r * r for r in (7, 4, 1)], abs=1e-4)
    assert "2 outlines vanished" in outcome.reports[0]


def test_an_outline_wider_than_the_art_inside_is_refused():
    with pytest.raises(CannotApply, match="too narrow"):
        done(job_of(shape("a", circle((50, 50), 1))), "stepped-outline", distance_mm=3.0, side="inside")


def test_strokes_too_thin_to_be_areas_are_named_not_passed_over():
    outcome = done(job_of(line("leg"), line("hair", width=0.08)), "stroke-to-shape")
    assert outcome.reports == ("1 stroke, 0.1 mm wide or less, stayed for the knife to follow.",)
    with pytest.raises(CannotApply, match=r"is 0[.]1 mm wide or less"):
        done(job_of(line("hair", width=0.08)), "stroke-to-shape")
