"""What is seen of areas in groups, and how they run on under one another.

Areas: the lens of two circles, 2r²·acos(d/2r) − (d/2)·√(4r²−d²); the band around a circle, π((r+t)²−r²) (any handbook
of geometry).
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise.geometry.measures import area
from bladewise.geometry.overlaps import crossings
from bladewise.geometry.path import Path, SegmentKind, circle, rectangle
from bladewise.geometry.regions import Region
from bladewise.geometry.stacking import seen_in_groups, spread_under

LENS = 2 * 400 * math.acos(15 / 40) - 7.5 * math.sqrt(4 * 400 - 225)
DISC = math.pi * 400


def seen(*paths, groups=None, order=None, whole=False):
    groups = list(range(len(paths))) if groups is None else groups
    order = sorted(set(groups)) if order is None else order
    return seen_in_groups([Region(path) for path in paths], groups, lambda _: order, whole=whole)


def by_group(parts):
    sizes: dict[int, float] = {}
    for part in parts:
        sizes[part.group] = sizes.get(part.group, 0.0) + area(part.path)
    return sizes


def test_the_lower_of_two_discs_keeps_what_the_lens_leaves():
    stack = seen(circle((0, 0), 20), circle((15, 0), 20))
    assert by_group(stack.parts) == pytest.approx({0: DISC - LENS, 1: DISC}, abs=1e-6)
    assert stack.over == pytest.approx({(0, 1): LENS}, abs=0.2)  # measured on chords
    assert stack.touching == pytest.approx({(0, 1): 40 * math.acos(7.5 / 20)}, abs=0.01)
    assert {int(kind) for part in stack.parts for kind in part.path.kinds} == {SegmentKind.ARC}


def test_whole_underneath_leaves_the_lower_disc_as_it_was():
    stack = seen(circle((0, 0), 20), circle((15, 0), 20), whole=True)
    assert by_group(stack.parts) == pytest.approx({0: DISC, 1: DISC}, abs=1e-9)


def test_one_group_above_and_below_another_is_one_piece_where_it_touches():
    stack = seen(rectangle(0, 0, 30, 10), rectangle(10, -5, 10, 20), rectangle(15, 0, 15, 10), groups=[0, 1, 0])
    assert [(part.group, round(area(part.path), 9)) for part in stack.parts] == [(0, 100.0), (0, 150.0), (1, 150.0)]
    assert [part.source for part in stack.parts] == [0, 2, 1]


@pytest.mark.parametrize("trap", [0.1, 0.3, 2.0])
def test_the_trap_of_a_disc_is_the_band_around_it(trap):
    stack = seen(circle((0, 0), 30), circle((0, 0), 10), order=[1, 0])
    sizes = by_group(spread_under(stack.parts, stack.order, trap))
    band = math.pi * ((10 + trap) ** 2 - 100)
    assert sizes == pytest.approx({0: math.pi * 800, 1: math.pi * 100 + band}, abs=1e-6)


def test_the_trap_of_a_hole_is_the_band_inside_it():
    stack = seen(circle((0, 0), 30), circle((0, 0), 10))
    sizes = by_group(spread_under(stack.parts, stack.order, 0.5))
    assert sizes[0] == pytest.approx(math.pi * (900 - 9.5**2), abs=1e-6)


def test_nothing_spreads_into_bare_material_nor_past_the_far_side_of_a_thin_neighbour():
    stack = seen(rectangle(0, 0, 10, 10), rectangle(10, 0, 0.4, 10))
    spread = spread_under(stack.parts, stack.order, 2.0)
    assert by_group(spread) == pytest.approx({0: 104.0, 1: 4.0})
    assert max(part.path.bounds()[2] for part in spread if part.group == 0) == pytest.approx(10.4)
    assert min(part.path.bounds()[0] for part in spread) == 0.0


def test_nothing_spreads_across_a_gap_nor_across_a_third_colour():
    gap = seen(rectangle(0, 0, 10, 10), rectangle(10.2, 0, 10, 10))
    assert by_group(spread_under(gap.parts, gap.order, 1.0)) == pytest.approx({0: 100.0, 1: 100.0})
    row = seen(rectangle(0, 0, 10, 10), rectangle(10, 0, 0.5, 10), rectangle(10.5, 0, 10, 10))
    assert by_group(spread_under(row.parts, row.order, 1.0)) == pytest.approx({0: 105.0, 1: 15.0, 2: 100.0})


def test_without_a_distance_or_a_neighbour_the_parts_stay_as_they_are():
    stack = seen(circle((0, 0), 20))
    assert spread_under(stack.parts, stack.order, 1.0) == stack.parts
    assert spread_under(stack.parts, stack.order, 0.0) == stack.parts
    assert spread_under([], [], 1.0) == []
    assert seen().parts == []


@pytest.mark.timeout(60)
def test_a_trap_beside_a_tip_without_a_handle_runs_on_once_and_does_not_weave():
    leaf = Path(  # its tip has no handles, as drawing programs write it
        np.array(
            [
                [[85.0, 135.0], [50.0, 96.0], [76.0, 49.0], [92.0, 52.5]],
                [[92.0, 52.5], [140.0, 64.0], [165.58, 165.64], [165.58, 165.64]],
                [[165.58, 165.64], [165.58, 165.64], [131.0, 186.0], [85.0, 135.0]],
            ]
        ),
        np.full(3, int(SegmentKind.CUBIC), np.uint8),
        np.ones(3),
        np.array([0]),
        np.array([True]),
    )
    # the square ends a hair before the tip, so that the edge both share ends there, and at no node of the leaf's
    stack = seen(rectangle(60, 90, 105.569, 95), leaf)
    for order in ([0, 1], [1, 0]):
        for part in spread_under(stack.parts, order, 0.3):
            assert len(part.path) < 40
            assert crossings(part.path) == []


places = st.floats(0.0, 60.0).map(lambda value: round(value, 2))
discs = st.lists(
    st.tuples(places, places, st.floats(3.0, 25.0).map(lambda value: round(value, 2)), st.integers(0, 2)),
    min_size=1,
    max_size=6,
)


@settings(max_examples=40)
@given(discs)
def test_whatever_lies_on_whatever_the_parts_are_the_painted_area_once_and_whole_ones_paint_the_same(some):
    paths = [circle((x, y), r) for x, y, r, _ in some]
    groups = [group for *_, group in some]
    stack = seen(*paths, groups=groups)
    one = seen(*paths, groups=[0] * len(paths))
    painted = sum(area(part.path) for part in one.parts)
    assert sum(area(part.path) for part in stack.parts) == pytest.approx(painted, abs=1e-3)
    spread = spread_under(stack.parts, stack.order, 0.7)
    again = seen_in_groups(
        [Region(part.path) for part in sorted(spread, key=lambda part: stack.order.index(part.group))],
        [part.group for part in sorted(spread, key=lambda part: stack.order.index(part.group))],
        lambda _: stack.order,
    )
    assert by_group(again.parts) == pytest.approx(by_group(stack.parts), abs=2e-2)
