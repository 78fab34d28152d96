"""Bridges of a stencil.

Closed form: the strip |x| ≤ w/2 of a disc of radius R has the area 2·(R²·asin(w/2R) + w/2·√(R² − w²/4)).
"""

import math

import pytest

from bladewise.geometry.booleans import pieces
from bladewise.geometry.bridges import Bar, Ground, stencil
from bladewise.geometry.measures import area
from bladewise.geometry.path import SegmentKind, circle, joined, rectangle
from bladewise.geometry.regions import Region

PANEL = Region(rectangle(-40, -40, 80, 80))
RING = [Region(joined([circle((0, 0), 20), circle((0, 0), 10).reversed()]))]


def strip(radius, width):
    return radius**2 * math.asin(width / 2 / radius) + width / 2 * math.sqrt(radius**2 - width**2 / 4)


@pytest.mark.parametrize("angle", [90.0, 0.0, 37.0])
@pytest.mark.parametrize("count", [1, 2])
def test_bars_across_a_ring_leave_exactly_their_strip_standing(angle, count):
    made = stencil(PANEL, RING, 4.0, angle_deg=angle, count=count)
    assert (len(made.islands), len(made.bars), len(made.loose)) == (1, count, 0)
    left = 6400 - math.pi * 300 + count * (strip(20, 4) - strip(10, 4))
    assert area(made.path) == pytest.approx(left, abs=1e-6)
    assert len(pieces(made.path)) == 1
    for bar in made.bars:
        turn = math.degrees(math.atan2(bar.end[1] - bar.start[1], bar.end[0] - bar.start[0]))
        assert (turn - angle) % 180.0 == pytest.approx(0.0, abs=1e-9) or (turn - angle) % 180.0 == pytest.approx(180.0)
    assert {SegmentKind(kind) for kind in made.path.kinds} == {SegmentKind.LINE, SegmentKind.ARC}


def test_the_shortest_way_is_found_where_the_letter_is_thinnest():
    thin = [Region(joined([circle((0, 0), 20), circle((7, -7), 9).reversed()]))]
    made = stencil(PANEL, thin, 1.0, angle_deg=None)
    (bar,) = made.bars
    assert bar.length_mm == pytest.approx(20 - 9 - math.hypot(7, 7), abs=0.2)
    assert math.degrees(math.atan2(bar.end[1], bar.end[0])) == pytest.approx(-45.0, abs=3.0)


def test_an_island_may_hold_its_neighbour_and_every_one_is_held():
    letter = [Region(joined([rectangle(0, 0, 20, 34), *(rectangle(5, y, 10, 10).reversed() for y in (4, 20))]))]
    made = stencil(PANEL, letter, 2.0, count=1)
    assert len(made.islands) == len(made.bars) == 2
    assert len(pieces(made.path)) == 1
    sideways = stencil(PANEL, letter, 2.0, angle_deg=0.0, count=2)
    assert len(sideways.bars) == 4
    assert not sideways.loose


def test_an_island_that_nothing_reaches_at_the_angle_is_held_another_way():
    word = [Region(joined([rectangle(-39, -60, 78, 120), rectangle(-5, -5, 10, 10).reversed()]))]
    made = stencil(PANEL, word, 2.0)
    assert len(made.islands) == 1
    assert not made.loose
    (bar,) = made.bars
    assert abs(bar.end[0] - bar.start[0]) > abs(bar.end[1] - bar.start[1])


def test_bars_given_by_hand_come_first_and_what_they_miss_is_held_too():
    two = [*RING, Region(joined([circle((0, 0), 9), circle((0, 0), 5).reversed()]))]
    hand = Bar((0.0, 0.0), (0.0, 30.0), 2.0)
    made = stencil(PANEL, two, 2.0, given=[hand])
    assert made.bars == [hand]
    assert not made.loose
    off = Bar((30.0, 30.0), (35.0, 30.0), 2.0)
    assert len(stencil(PANEL, RING, 2.0, given=[off]).bars) == 2


def test_a_counter_slimmer_than_a_bar_is_held_all_the_same():
    slim = [Region(joined([rectangle(-10, -10, 20, 20), rectangle(-5, -0.5, 10, 1.0).reversed()]))]
    made = stencil(PANEL, slim, 3.0, angle_deg=0.0)
    assert len(made.bars) == 1
    assert len(pieces(made.path)) == 1


def test_without_counters_or_without_a_rest_there_are_no_bars():
    assert stencil(PANEL, [Region(circle((0, 0), 5))], 2.0).bars == []
    covered = stencil(Region(circle((0, 0), 5)), RING, 2.0)
    assert (len(covered.islands), len(covered.loose), covered.bars) == (1, 1, [])
    assert not stencil(Region(circle((0, 0), 5)), [Region(circle((0, 0), 6))], 2.0).path


def test_an_island_with_a_bar_by_hand_gets_no_more_than_that():
    hand = Bar((0.0, 0.0), (0.0, 30.0), 2.0)
    assert stencil(PANEL, RING, 2.0, count=4, given=[hand]).bars == [hand]


def test_the_ground_gives_the_bars_that_the_stencil_puts_in():
    ground = Ground(PANEL, RING)
    assert len(ground) == 1
    for count in (1, 3):
        assert ground.bars(2.0, count=count) == stencil(PANEL, RING, 2.0, count=count).bars


@pytest.mark.parametrize("bearing_deg", range(0, 360, 30))
def test_a_bar_runs_from_the_island_to_where_the_hand_is_and_holds_it(bearing_deg):
    ground = Ground(PANEL, RING)
    turn = math.radians(bearing_deg)
    middle = ground.middle(0)
    bar = ground.bar_at(0, (middle[0] + 100.0 * math.cos(turn), middle[1] + 100.0 * math.sin(turn)), 2.0, None)
    assert bar is not None
    found = math.degrees(math.atan2(bar.end[1] - bar.start[1], bar.end[0] - bar.start[0]))
    assert abs(math.remainder(found - bearing_deg, 360.0)) < 0.5
    assert ground.held_by(bar) == [0]
    made = stencil(PANEL, RING, 2.0, given=[bar])
    assert not made.loose
    assert len(pieces(made.path)) == 1


def test_level_with_the_island_the_direction_set_is_kept():
    ground = Ground(PANEL, RING)
    x, y = ground.middle(0)
    bar = ground.bar_at(0, (x + 1.0, y - 50.0), 2.0, 90.0)
    assert bar is not None
    assert bar.start[0] == pytest.approx(bar.end[0])
    assert min(bar.start[1], bar.end[1]) < y
