"""Islands joined into one piece. Areas are those of the figures the pieces are made of."""

import math

import numpy as np
import pytest

from bladewise.geometry import booleans
from bladewise.geometry.joining import backed, bridged
from bladewise.geometry.measures import area, contains
from bladewise.geometry.path import circle, joined, rectangle
from bladewise.geometry.regions import Region


def test_two_squares_are_bridged_across_the_middle_of_the_sides_that_face_each_other():
    squares = joined([rectangle(0, 0, 20, 20), rectangle(25, 0, 20, 20)])
    found = bridged(squares, 4.0, 6.0)
    assert (found.bridges, found.pieces) == (1, 1)
    assert area(found.path) == pytest.approx(2 * 400 + 5 * 4, abs=1e-6)
    on_edge = [[22.5, 8.05], [22.5, 11.95], [22.5, 7.9], [22.5, 12.1]]
    assert contains(Region(found.path), np.array(on_edge)).tolist() == [True, True, False, False]


def test_islands_out_of_reach_stay_apart():
    found = bridged(joined([circle((0, 0), 5), circle((20, 0), 5)]), 3.0, 9.0)
    assert (found.bridges, found.pieces) == (0, 2)


def test_no_more_bridges_are_laid_than_it_takes_and_the_shortest_are():
    places = [(0, 0), (12, 0), (24, 0), (0, 13), (12, 13), (24, 13)]
    found = bridged(joined([circle(place, 5) for place in places]), 2.0, 100.0)
    assert (found.bridges, found.pieces) == (5, 1)
    # across 2 mm in rows, and once across 3 mm
    assert contains(Region(found.path), np.array([[6.0, 0.0], [18.0, 0.0], [6.0, 13.0], [18.0, 13.0]])).all()


def test_a_bridge_between_discs_has_its_width_between_them_and_ends_inside():
    found = bridged(joined([circle((0, 0), 10), circle((26, 0), 10)]), 4.0, 10.0)
    half = 2.0
    # the band from edge to edge: the gap plus the two slices the discs' edges fall back by over its width
    fallback = 10 * half * 2 - (100 * math.asin(half / 10) + half * math.sqrt(100 - half * half))
    assert area(found.path) == pytest.approx(2 * math.pi * 100 + 6 * 4 + 2 * fallback, abs=1e-5)


def test_a_narrow_bridge_is_laid_across_a_gap_many_times_as_wide():
    for turn in range(0, 180, 15):
        way = math.radians(turn)
        far = circle((60.0 * math.cos(way), 60.0 * math.sin(way)), 3.0)
        found = bridged(joined([circle((0.0, 0.0), 3.0), far]), 0.2, 100.0)
        assert (found.bridges, found.pieces) == (1, 1)


def test_a_thin_island_is_not_pierced_by_its_bridge():
    thin = joined([rectangle(0, 0, 20, 20), rectangle(23, 0, 1, 20)])
    box = bridged(thin, 6.0, 5.0).path.bounds()
    assert box[2] <= 23 + 0.5 + 3.0 + 1e-9  # the round end stands about the middle of what is there


def test_an_island_in_a_hole_is_bridged_to_what_surrounds_it():
    ring = joined([circle((0, 0), 30), circle((0, 0), 20).reversed(), circle((4, 0), 10)])
    found = bridged(ring, 3.0, 8.0)
    assert (found.bridges, found.pieces) == (1, 1)
    assert contains(Region(found.path), np.array([[17.0, 0.0]]))[0]


def test_islands_that_touch_in_a_point_become_one_piece():
    found = bridged(joined([rectangle(0, 0, 10, 10), rectangle(10, 10, 10, 10)]), 2.0, 1.0)
    assert found.pieces == 1


def test_a_backing_fills_what_its_radius_cannot_reach_and_bridges_the_rest():
    discs = joined([circle((0, 0), 10), circle((22, 0), 10)])
    found = backed(discs, 3.0, 30.0)
    assert found.pieces == 1
    assert found.bridges == 0
    # a disc of 30 mm that rolls over both touches them from (11, h): the waist is h - 30 to either side
    waist = math.sqrt(40**2 - 11**2) - 30
    at = [[11.0, waist - 0.01], [11.0, waist + 0.01]]
    assert contains(Region(found.path), np.array(at)).tolist() == [True, False]
    far = backed(joined([circle((0, 0), 1), circle((22, 0), 1)]), 3.0, 21.0)
    assert (far.bridges, far.pieces) == (1, 1)
    assert len(booleans.pieces(far.path)) == 1
