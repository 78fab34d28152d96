"""White where the cut is off: areas by formula, against shapely on chords, and none where the design is bare.

A disc of radius r moved by s leaves its old place by a lune of 2r²·(π/2 − arccos(s/2r)) + s/2·√(4r² − s²): the area of
the disc less the lens of two circles (Euclid's segments; the formula from memory).
"""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import affinity

from bladewise import operations
from bladewise.checks import check
from bladewise.document import PRINT
from bladewise.errors import Cancelled
from bladewise.geometry.path import circle, joined, polygon, rectangle
from bladewise.geometry.regions import FillRule, Region
from bladewise.operations.coats import areas_of
from bladewise.operations.misregistration import (
    FARTHEST_MM,
    Registration,
    clear_up_to,
    clearance,
    white_showing,
    worst_white,
)
from pieces import BLUE, job_of, print_of, shape


def lune(r, s):
    lens = 2.0 * r * r * math.acos(s / (2.0 * r)) - s / 2.0 * math.sqrt(4.0 * r * r - s * s)
    return math.pi * r * r - lens


def sticker(bleed_mm=0.0):
    return print_of(circle((50, 50), 20), shape("disc", circle((50, 50), 20 + bleed_mm)))


@pytest.mark.parametrize("shift", [0.3, 1.0, 4.0])
def test_a_disc_without_bleed_shows_a_lune(shift):
    found = white_showing(sticker(), (shift, 0.0))
    assert found.area_mm2 == pytest.approx(lune(20, shift), rel=1e-4)
    assert found.place[0] > 69.9
    assert abs(found.place[1] - 50.0) < 20.0


@pytest.mark.parametrize("direction", range(0, 360, 45))
def test_bleed_hides_an_error_of_its_own_size_and_no_more(direction):
    way = math.cos(math.radians(direction)), math.sin(math.radians(direction))
    job = sticker(bleed_mm=1.5)
    assert white_showing(job, (1.49 * way[0], 1.49 * way[1])).area_mm2 == pytest.approx(0.0, abs=1e-3)
    assert white_showing(job, (2.5 * way[0], 2.5 * way[1])).area_mm2 > 1.0


def test_how_far_the_cut_may_be_off_is_the_least_bleed():
    assert clear_up_to(sticker(1.5)) == pytest.approx(1.5, abs=0.01)
    assert clear_up_to(sticker()) == pytest.approx(0.0, abs=0.01)
    one_sided = print_of(rectangle(20, 20, 40, 30), shape("card", rectangle(17, 17, 45, 36)))
    assert clear_up_to(one_sided) == pytest.approx(2.0, abs=0.01)
    assert clear_up_to(print_of(circle((90, 90), 20), shape("card", rectangle(0, 0, 200, 200)))) == FARTHEST_MM


def test_without_print_or_without_a_line_there_is_nothing_to_be_off():
    assert clear_up_to(job_of(shape("disc", circle((50, 50), 20)))) is None
    assert not Registration(job_of()).is_print_and_cut
    assert white_showing(job_of(), (1.0, 0.0)).area_mm2 == 0.0
    assert worst_white(job_of(), 1.0).place is None


def test_the_worst_direction_is_found():
    job = print_of(rectangle(20, 20, 40, 30), shape("card", rectangle(17, 17, 43, 36)))  # no bleed at the right
    found = worst_white(job, 1.0)
    assert found.shift_mm == pytest.approx((1.0, 0.0))
    assert found.area_mm2 == pytest.approx(30.0, abs=0.01)
    assert found.place[0] == pytest.approx(60.5, abs=0.5)


def test_holes_that_are_cut_show_white_too_and_in_holes_drawn_apart_also():
    ring = joined([circle((50, 50), 20), circle((50, 50), 8).reversed()])
    bled = joined([circle((50, 50), 22), circle((50, 50), 8).reversed()])
    assert white_showing(print_of(ring, shape("ring", bled)), (1.0, 0.0)).area_mm2 == pytest.approx(
        lune(8, 1.0), rel=1e-3
    )
    apart = print_of(circle((50, 50), 8), shape("ring", bled))
    assert white_showing(apart, (1.0, 0.0)).area_mm2 == pytest.approx(lune(8, 1.0), rel=1e-3)
    into_it = joined([circle((50, 50), 22), circle((50, 50), 6).reversed()])
    assert white_showing(print_of(ring, shape("ring", into_it)), (1.0, 0.0)).area_mm2 == pytest.approx(0.0, abs=1e-3)


def test_a_margin_that_is_bare_on_purpose_is_no_fault():
    job = print_of(circle((50, 50), 25), shape("disc", circle((50, 50), 20)))
    assert white_showing(job, (1.0, 0.5)).area_mm2 == pytest.approx(0.0, abs=1e-6)
    assert clear_up_to(job) == FARTHEST_MM


def test_a_bare_stripe_that_runs_out_is_no_fault_but_the_art_beside_it_is():
    parts = [shape("left", rectangle(10, 10, 10, 20)), shape("right", rectangle(26, 10, 10, 20), BLUE)]
    job = print_of(rectangle(10, 10, 26, 20), *parts)
    assert white_showing(job, (0.0, 1.0)).area_mm2 == pytest.approx(20.0, abs=0.6)
    bled = operations.apply(job, operations.step("bleed", {"distance_mm": 2.0})).job
    assert white_showing(bled, (0.0, 1.0)).area_mm2 == pytest.approx(0.0, abs=0.05)
    assert clear_up_to(bled) == pytest.approx(2.0, abs=0.05)


def test_a_kiss_cut_inside_a_through_cut_box_is_judged_by_its_own_line():
    from bladewise.document import CutKind, Layer, Material, MaterialKind, Shape, Stroke, Style, cut_line_id

    key = cut_line_id(CutKind.THROUGH)
    box = Shape("box", rectangle(10, 10, 80, 80), Style(stroke=Stroke(BLUE, 0.1)), material=key)
    job = sticker(1.0).with_material(Material(key, "Through", BLUE, MaterialKind.CUT, cut=CutKind.THROUGH))
    job = job.with_layer(Layer("boxes", "Boxes", (box,)))
    assert clear_up_to(job) == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize("shift", [(0.7, -0.4), (-1.3, 0.2), (3.0, 3.0)])
def test_areas_agree_with_shapely_on_chords(shift):
    print_ = joined([rectangle(9, 9, 42, 33, 6, 6), circle((30, 25), 5).reversed()])
    cut = rectangle(10, 10, 40, 31, 5, 5)
    printed, inside = areas_of([Region(print_), Region(cut)], 0.0005)
    moved = affinity.translate(inside, *shift)
    expected = shapely.area(shapely.difference(shapely.difference(moved, inside), printed))
    assert white_showing(print_of(cut, shape("art", print_)), shift).area_mm2 == pytest.approx(expected, abs=2e-3)


@pytest.mark.parametrize(
    ("bars", "up_to_mm", "place"),
    [
        (
            [(18, 18, 64, 24), (18, 58, 64, 24)],
            2.0,
            None,
        ),  # a bare stripe straight through is meant
        ([(18, 18, 64, 24), (18, 58, 62, 24)], 0.0, (80.0, 70.0)),  # the lower bar ends at the line
        ([(18, 18, 64, 24), (18, 58, 62.5, 24)], 0.5, (80.0, 70.0)),
        ([(20.1, 18, 60, 64)], 0.0, (20.0, 50.0)),  # a gap between print and line is no design
    ],
)
def test_one_line_tells_a_bare_stripe_from_print_that_ends_too_soon(bars, up_to_mm, place):
    (printed,) = areas_of([Region(joined(rectangle(*bar) for bar in bars))])
    found = clearance(rectangle(20, 20, 60, 60), FillRule.NONZERO, printed, 2.0)
    assert found.up_to_mm == pytest.approx(up_to_mm, abs=0.02)
    if place is None:
        assert found.place is None
    else:
        assert found.place[0] == pytest.approx(place[0], abs=0.02)
        assert abs(found.place[1] - place[1]) <= 40.0


def test_an_open_line_has_no_clearance():
    assert clearance(polygon([(0, 0), (9, 9)], closed=False), FillRule.NONZERO, shapely.box(0, 0, 20, 20)) is None


@pytest.mark.parametrize(("right_mm", "rules"), [(82.0, []), (80.0, ["short-bleed"])])
def test_the_check_lets_stripes_with_bare_film_between_them_run_through_the_line(right_mm, rules):
    bars = (shape(f"bar{top}", rectangle(18, top, right_mm - 18, 20)) for top in (18, 62))
    job = print_of(rectangle(20, 20, 60, 60), *bars)
    job = replace(job, layers=(replace(job.layers[0], material=PRINT.id), *job.layers[1:])).with_material(PRINT)
    found = [each for each in check(job) if each.rule == "short-bleed"]
    assert [each.rule for each in found] == rules
    if rules:
        assert (found[0].x_mm, found[0].measure) == pytest.approx((80.0, 0.0), abs=0.02)


@pytest.mark.parametrize("bleed_mm", [0.2, 0.7, 1.8, 4.0, 9.0])
def test_where_white_shows_first_is_found_at_every_distance(bleed_mm):
    """A disc printed off its place by so much reaches beyond the line by what is left on the other side."""
    job = print_of(circle((100, 100), 30), shape("disc", circle((101, 100), 31 + bleed_mm)))
    assert clear_up_to(job) == pytest.approx(bleed_mm, abs=0.012)
    ring = joined([circle((100, 100), 50), circle((100, 100), 22).reversed()])
    printed = joined([circle((100, 100), 65), circle((101, 100), 21 - bleed_mm).reversed()])
    assert clear_up_to(print_of(ring, shape("ring", printed))) == pytest.approx(bleed_mm, abs=0.012)


def test_measuring_many_lines_can_be_stopped_between_them():
    places = [(x, y) for x in range(10, 190, 20) for y in range(10, 190, 20)]
    rng = np.random.default_rng(3)
    discs = [shape(f"disc-{n}", circle(at, 7.0 + float(rng.uniform(0.2, 2.0)))) for n, at in enumerate(places)]
    registration = Registration(print_of(joined(circle(at, 7.0) for at in places), *discs))
    told = []

    def stop(done):
        told.append(done)
        if done >= 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        registration.clear(stop)
    assert told[-1] < 1.0
    assert registration.clear() == pytest.approx(0.2, abs=0.2)  # stopped, it can still be asked
