"""What a job takes: lengths and areas held against shapely, rolls and costs against arithmetic."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise import operations
from bladewise.document import CutKind, Job, Layer, Material, MaterialKind, Profile, Stroke
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import circle, joined, polygon, rectangle
from bladewise.layout.figures import Figurer, Pace, Travel, material_figures, need_of, travel_of
from pieces import BLUE, ORANGE, job_of, ring_and_bar, shape
from strategies import paths


def lines_of(path):
    found = flatten(path, 1e-4)
    return [shapely.LineString(part) for part in np.split(found.coords, found.starts[1:]) if len(part) > 1]


@given(found=st.lists(paths(), min_size=1, max_size=4))
@settings(max_examples=40, deadline=None)
def test_the_knifes_way_is_that_of_the_flattened_lines_and_the_jumps_between_them(found):
    lines = [line for path in found for line in lines_of(path)]
    travel = travel_of(found)
    assert travel.lifts == sum(len(path.starts) for path in found)
    assert travel.down_mm == pytest.approx(sum(line.length for line in lines), rel=1e-4, abs=1e-2)
    if not joined(found):
        return
    whole = flatten(joined(found), 1e-3)
    ends = [*whole.starts[1:], len(whole.coords)]
    places = np.vstack([[0.0, 0.0], *[whole.coords[[a, b - 1]] for a, b in zip(whole.starts, ends, strict=True)]])
    jumps = np.hypot(*(places[1::2] - places[0:-1:2]).T).sum()
    assert travel.up_mm == pytest.approx(jumps, rel=1e-9, abs=1e-6)


def test_a_closed_contour_ends_where_it_began():
    assert travel_of([rectangle(30, 40, 10, 5), rectangle(30, 40, 1, 1)]) == Travel(34.0, 50.0, 2)
    assert travel_of([polygon([(3, 4), (6, 8)], closed=False)], start=(0, 0)) == Travel(5.0, 5.0, 1)
    assert travel_of([]) == Travel(0.0, 0.0, 0)


def test_pieces_and_areas_are_those_of_shapely():
    job = job_of(
        shape("ring", joined([circle((50, 50), 20), circle((50, 50), 10).reversed(), rectangle(90, 40, 20, 20)]))
    )
    (found,) = material_figures(job)
    assert found.figures.pieces == 2
    ring = shapely.Point(50, 50).buffer(20, quad_segs=2000) - shapely.Point(50, 50).buffer(10, quad_segs=2000)
    assert found.figures.area_mm2 == pytest.approx(ring.area + 400, rel=1e-5)
    assert found.figures.travel_mm == pytest.approx(2 * np.pi * 30 + 80)


def test_materials_stand_in_the_order_in_which_they_are_put_on():
    found = material_figures(ring_and_bar())
    assert [(each.turn, each.material.id) for each in found] == [(1, "colour-e69f00"), (2, "colour-0072b2")]


def test_guides_and_hidden_art_take_nothing_and_print_is_not_followed_by_a_knife():
    guide, ink = Material("g", "Guide", BLUE, MaterialKind.GUIDE), Material("p", "Print", BLUE, MaterialKind.PRINT)
    parts = (
        replace(shape("a", rectangle(0, 0, 10, 10)), material="g"),
        replace(shape("b", rectangle(0, 0, 10, 10)), material="p"),
        replace(shape("c", rectangle(0, 0, 10, 10)), visible=False),
    )
    job = Job("J", 50.0, 50.0, (Layer("l", "L", parts),), (guide, ink))
    (found,) = material_figures(job)
    assert found.material == ink
    assert found.travel == Travel(0.0, 0.0, 0)
    assert found.seconds == 0.0


def test_of_a_roll_its_width_is_taken_and_the_shorter_way_round():
    need = need_of((0, 0, 480, 200), roll_width_mm=610, margin_mm=10)
    assert (need.across_mm, need.along_mm, need.is_turned) == (610, 220, False)
    upright = need_of((0, 0, 200, 480), roll_width_mm=610, margin_mm=10)
    assert (upright.across_mm, upright.along_mm, upright.is_turned) == (610, 220, True)
    assert need_of((0, 0, 700, 480), roll_width_mm=610, margin_mm=10).along_mm == 720
    over = need_of((0, 0, 700, 800), roll_width_mm=610, margin_mm=10)
    assert (over.on_roll, over.area_mm2) == (False, 720 * 820)
    assert need_of((5, 5, 105, 55), None, margin_mm=0) == (100, 50, False, False)


def test_the_cost_is_that_of_what_is_taken_off_the_roll():
    vinyl = Material("v", "Red", ORANGE, profile=Profile(roll_width_mm=500, price_a_m2=12.0))
    job = Job("J", 500.0, 300.0, (Layer("l", "L", (shape("a", rectangle(10, 10, 380, 80)),), "v"),), (vinyl,))
    (found,) = material_figures(job, margin_mm=10)
    assert found.cost == pytest.approx(12.0 * 0.5 * 0.1)
    (bare,) = material_figures(job_of(shape("a", rectangle(0, 0, 9, 9))))
    assert bare.cost is None


def test_time_follows_from_way_and_pace():
    pace = Pace(cutting_mm_s=100, moving_mm_s=200, lift_s=0.5)
    assert pace.seconds(Travel(1000, 400, 4)) == pytest.approx(10 + 2 + 2)


def test_of_a_perforation_only_the_cuts_are_cut():
    perforated = Material("v", "Tear", ORANGE, cut=CutKind.PERFORATION, perforation_cut_mm=3, perforation_gap_mm=1)
    line = shape("a", rectangle(10, 10, 40, 20), fill=None, stroke=Stroke(ORANGE, 0.05))
    job = Job("J", 100.0, 100.0, (Layer("l", "L", (line,), "v"),), (perforated,))
    (found,) = material_figures(job)
    assert found.travel.down_mm == pytest.approx(0.75 * 120, rel=0.02)
    assert found.travel.lifts == 30


def test_marks_are_cut_but_are_no_pieces():
    job = operations.apply(ring_and_bar(), operations.step("registration-marks", {"marks": 3})).job
    for found in material_figures(job):
        assert (found.figures.pieces, found.marks, found.travel.lifts) == (1, 3, 4)


def test_contours_go_in_the_order_that_is_asked_for():
    job = job_of(shape("far", rectangle(100, 0, 1, 1)), shape("near", rectangle(10, 0, 1, 1)))
    (as_they_lie,) = material_figures(job)
    (turned,) = material_figures(job, order=lambda path: reversed(list(path.subpaths())))
    assert as_they_lie.travel.up_mm == pytest.approx(100 + 90)
    assert turned.travel.up_mm == pytest.approx(10 + 90)


def test_marks_are_no_pieces_on_the_chips_either():
    plain = job_of(shape("a", rectangle(60, 70, 30, 30)), shape("b", rectangle(110, 70, 30, 30)))
    marked = operations.apply(plain, operations.step("registration-marks", {"marks": 3})).job
    figurer = Figurer()
    figurer.measure(plain, lambda _part: None)
    (before,) = figurer.by_material.values()
    figurer.measure(marked, lambda _part: None)
    (chip,) = figurer.by_material.values()
    (paper,) = material_figures(marked)
    assert paper.marks > 0
    assert (chip.pieces, chip.area_mm2) == (before.pieces, before.area_mm2) == (2, 1800.0)
    assert (chip.pieces, chip.area_mm2) == (paper.figures.pieces, paper.figures.area_mm2)
    assert chip.travel_mm > before.travel_mm, "the knife follows them all the same"
