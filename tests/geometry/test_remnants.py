"""Hairlines of what is covered go to what covers them, lines that were drawn thin stay. Areas: rectangles by hand."""

import pytest

from bladewise.geometry.measures import area
from bladewise.geometry.path import rectangle
from bladewise.geometry.regions import Region
from bladewise.geometry.remnants import remnants_given
from bladewise.geometry.stacking import seen_in_groups


def given(*paths, below_mm=0.3):
    regions = [Region(path) for path in paths]
    stack = seen_in_groups(regions, range(len(paths)), lambda _: list(range(len(paths))))
    found = remnants_given(stack, regions, below_mm)
    return found, {part.group: area(part.path) for part in found.stack.parts}


def peeping(width_mm):
    """A panel, one on top of it that leaves a strip at the right, and a third beyond the strip."""
    return rectangle(0, 0, 30 + width_mm, 10), rectangle(0, 0, 30, 10), rectangle(30 + width_mm, 0, 20, 10)


def test_a_hairline_goes_to_what_covers_the_rest_of_it_and_the_neighbours_meet():
    found, sizes = given(*peeping(0.2))
    assert found.strips == 1
    assert sizes == pytest.approx({1: 302.0, 2: 200.0}, abs=1e-6)
    assert found.stack.touching[1, 2] == pytest.approx(10.0, abs=0.01)


def test_a_strip_as_wide_as_the_trap_stays_a_piece():
    found, sizes = given(*peeping(0.31))
    assert found.strips == 0
    assert sizes == pytest.approx({0: 3.1, 1: 300.0, 2: 200.0}, abs=1e-6)


def test_a_line_that_was_drawn_thin_stays_whether_covered_in_part_or_not():
    found, sizes = given(rectangle(0, 0, 30, 10), rectangle(10, 0, 0.2, 10), rectangle(0, 7, 30, 3))
    assert found.strips == 0
    assert sizes[1] == pytest.approx(1.4, abs=1e-6)


def test_the_rim_of_a_shape_on_a_larger_one_is_an_outline_and_stays():
    found, sizes = given(rectangle(0, 0, 30.4, 10.4), rectangle(0.2, 0.2, 30, 10))
    assert found.strips == 0
    assert sizes[0] == pytest.approx(30.4 * 10.4 - 300.0, abs=1e-6)


def test_a_hairline_at_one_side_goes_to_what_covers_the_rest_of_it_though_nothing_lies_beyond():
    found, sizes = given(rectangle(0, 0, 30.2, 10), rectangle(0, 0, 30, 10))
    assert found.strips == 1
    assert sizes == pytest.approx({1: 302.0}, abs=1e-6)


def test_a_spot_on_a_hairline_is_not_given_away():
    lower = rectangle(0, 0, 30.2, 10)
    upper, spot = rectangle(0, 0, 30, 10), rectangle(30, 4, 1.0, 1.0)
    regions = [Region(lower), Region(spot), Region(upper)]
    stack = seen_in_groups(regions, [0, 0, 1], lambda _: [0, 1])
    assert remnants_given(stack, regions, 0.3).strips == 0
