"""Edges that two outlines share are cut once."""

import math

import pytest

from bladewise.geometry.measures import length
from bladewise.geometry.path import EMPTY, circle, joined, rectangle
from bladewise.geometry.regions import Region
from bladewise.geometry.shared_edges import without_shared
from bladewise.geometry.stacking import seen_in_groups


def test_of_a_square_beside_another_three_sides_are_left_as_one_line():
    left, shared = without_shared(rectangle(10, 0, 10, 10), rectangle(0, 0, 10, 10))
    assert shared == pytest.approx(10.0)
    assert (len(left.starts), len(left)) == (1, 3)
    assert not left.closed.any()


@pytest.mark.parametrize("first", [0, 1, 2, 3])
def test_the_line_left_runs_over_the_closing_point_wherever_that_is(first):
    from bladewise.geometry.affine import Affine

    turned = rectangle(0, 0, 10, 10).transformed(Affine.rotated(90.0 * first, about=(5.0, 5.0)))
    left, shared = without_shared(turned, rectangle(10, 0, 10, 10))
    assert shared == pytest.approx(10.0)
    assert len(left.starts) == 1
    assert length(left) == pytest.approx(30.0)


def test_a_shorter_neighbour_leaves_what_it_does_not_reach():
    left, shared = without_shared(rectangle(0, 0, 10, 10), joined([rectangle(10, 2, 5, 5), rectangle(-5, 0, 5, 3)]))
    assert shared == pytest.approx(8.0)
    assert length(left) == pytest.approx(32.0)
    assert len(left.starts) == 2


def test_curves_are_shared_as_curves():
    parts = seen_in_groups([Region(circle((0, 0), 20)), Region(circle((15, 0), 20))], [0, 1], lambda _: [0, 1]).parts
    left, shared = without_shared(parts[0].path, parts[1].path)
    arc = 40 * math.acos(7.5 / 20)
    assert shared == pytest.approx(arc, abs=1e-6)
    assert length(left) == pytest.approx(40 * math.pi - arc, abs=1e-6)
    other, again = without_shared(parts[1].path, parts[0].path)
    assert again == pytest.approx(arc, abs=1e-6)
    assert length(other) == pytest.approx(40 * math.pi - arc, abs=1e-6)


def test_an_outline_wholly_on_another_is_gone_and_one_that_only_touches_stays():
    assert without_shared(circle((0, 0), 5), circle((0, 0), 5).reversed()) == (EMPTY, pytest.approx(10 * math.pi))
    one = rectangle(0, 0, 10, 10)
    for other in (rectangle(10, 10, 5, 5), rectangle(3, -5, 3, 20), circle((15, 5), 5), EMPTY):
        left, shared = without_shared(one, other)
        assert left is one
        assert shared == 0.0
