"""A strip that runs on under a neighbour ends square where the shared edge ends, and goes round what is surrounded."""

import math

import pytest

from bladewise.geometry.booleans import cut_out
from bladewise.geometry.measures import area
from bladewise.geometry.path import circle, polygon, rectangle
from bladewise.geometry.regions import Region
from bladewise.geometry.stacking import Part, spread_under
from bladewise.geometry.widths import narrow_widths

TRAP = 0.3


def under(lower, upper):
    """Return the lower area, run on under the upper one."""
    parts = [Part(lower, 0, 0), Part(upper, 1, 1)]
    return next(part.path for part in spread_under(parts, [0, 1], TRAP) if part.group == 0)


def test_the_ends_of_a_trap_are_square_and_not_narrow():
    box = under(rectangle(0, 0, 10, 10), rectangle(10, -5, 10, 20))
    assert box.bounds() == pytest.approx((0, 0, 10 + TRAP, 10), abs=1e-6)
    assert area(box) == pytest.approx(100 + 10 * TRAP, abs=1e-6)  # two quarters of a disc more, were they round
    assert narrow_widths(box, 0.5) == []


@pytest.mark.parametrize("lean", [-6.0, -2.0, 3.0, 8.0])
def test_a_slanting_side_that_ends_at_the_neighbour_leaves_no_lip(lean):
    slanting = under(polygon([(0, 0), (10, 0), (10, 10), (0, 10 + lean)]), rectangle(10, -5, 10, 30))
    assert slanting.bounds()[2:] == pytest.approx((10 + TRAP, max(10, 10 + lean)), abs=1e-6)
    assert narrow_widths(slanting, 0.5) == []


def test_a_trap_goes_round_a_corner_that_the_neighbour_surrounds():
    box = rectangle(0, 0, 10, 10)
    around = cut_out(Region(rectangle(0, 0, 20, 20)), [Region(box)])
    grown = under(box, around)
    assert area(grown) == pytest.approx(100 + 2 * 10 * TRAP + math.pi * TRAP**2 / 4, abs=1e-4)


def test_a_step_too_small_to_see_where_the_edge_ends_leaves_no_hair():
    stepped = polygon([(0, 0), (9.98, 0), (10, 0.02), (10, 9.98), (9.98, 10), (0, 10)])
    around = cut_out(Region(rectangle(9.98, -5, 10, 20)), [Region(stepped)])
    assert narrow_widths(under(stepped, around), 0.5) == []


def test_a_disc_on_a_disc_runs_on_under_it_up_to_the_horns():
    upper = circle((8, 0), 6)
    lower = cut_out(Region(circle((0, 0), 6)), [Region(upper)])
    grown = under(lower, upper)
    inner = cut_out(Region(upper), [Region(circle((8, 0), 6 - TRAP))])
    assert area(cut_out(Region(grown), [Region(lower), Region(inner)])) == pytest.approx(0.0, abs=1e-3)
    assert narrow_widths(grown, 0.29) == []
