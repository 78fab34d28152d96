"""What comes apart along a drawn line, and what stays whole.

Exact references: areas of circular segments, r² (φ − sin φ) / 2; the pieces of a clean cut add up to the
whole; for a straight line, the common area with the half plane beside it.
"""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bladewise.geometry.affine import Affine
from bladewise.geometry.booleans import keep_common
from bladewise.geometry.measures import area, length
from bladewise.geometry.parting import lines_parted, parted
from bladewise.geometry.path import EMPTY, PathBuilder, SegmentKind, circle, ellipse, joined, polygon, rectangle
from bladewise.geometry.regions import Region

BOX = rectangle(0, 0, 40, 20)
RING = joined([circle((0, 0), 10), circle((0, 0), 5).reversed()])


def line(*points):
    return polygon(points, closed=False)


def areas(outline, across):
    return [area(part.path) for part in parted(outline, across)]


def test_a_circle_comes_apart_into_circular_segments_of_true_arcs():
    parts = parted(circle((0, 0), 10), line((-20, 3), (20, 3)))
    angle = 2.0 * math.acos(0.3)
    small = 50.0 * (angle - math.sin(angle))
    assert [area(part.path) for part in parts] == pytest.approx([100 * math.pi - small, small], rel=1e-12)
    assert [part.side for part in parts] == [-1, 1]  # seen along the line, what lies below is on the right
    for part in parts:
        assert sorted(part.path.kinds.tolist()) == [SegmentKind.LINE] + [SegmentKind.ARC] * (len(part.path) - 1)


def test_a_ring_comes_apart_where_the_line_goes_all_the_way_through():
    assert areas(RING, line((-20, 0), (20, 0))) == pytest.approx([37.5 * math.pi] * 2, rel=1e-12)
    beyond = 100.0 * (math.acos(0.3) - 0.3 * math.sqrt(0.91)) - 25.0 * (math.acos(0.6) - 0.48)
    assert areas(RING, line((-20, 3), (20, 3))) == pytest.approx([75 * math.pi - beyond, beyond], rel=1e-12)


@pytest.mark.parametrize(
    "across",
    [
        pytest.param(line((20, -5), (20, 10)), id="ends within"),
        pytest.param(line((5, 5), (35, 15)), id="lies within"),
        pytest.param(line((-5, 0), (45, 0)), id="runs along a side"),
        pytest.param(line((50, 0), (60, 9)), id="lies beside"),
        pytest.param(line((10, -5), (20, 0), (30, -5)), id="touches from without"),
        pytest.param(EMPTY, id="nothing"),
    ],
)
def test_what_the_line_does_not_part_stays_whole(across):
    assert parted(BOX, across) == []


def test_a_line_from_outside_into_a_hole_opens_a_ring_and_parts_nothing():
    assert parted(RING, line((-20, 3), (0, 0))) == []
    assert parted(circle((0, 0), 10), line((-20, 10), (20, 10))) == []


@pytest.mark.parametrize(
    "across",
    [
        pytest.param(line((20, -5), (20, 25)), id="across"),
        pytest.param(line((0, 0), (40, 20)), id="from corner to corner"),
        pytest.param(line((20, 0), (20, 20)), id="from side to side and no further"),
        pytest.param(line((20, 0.0005), (20, 19.9995)), id="all but from side to side"),
        pytest.param(line((-5, 0), (20, 0), (20, 30)), id="along a side first"),
        pytest.param(line((20, -5), (20, 8), (5, 8), (5, 12), (20, 12), (20, 25)), id="round a corner"),
    ],
)
def test_a_box_comes_apart_into_two(across):
    parts = areas(BOX, across)
    assert len(parts) == 2
    assert sum(parts) == pytest.approx(800, rel=1e-4)


def test_a_line_that_only_reaches_a_side_from_within_parts_there_too():
    assert areas(BOX, line((10, 25), (20, 0), (30, 25))) == pytest.approx([320, 320, 160])


def test_a_loop_drawn_within_comes_out_and_leaves_a_hole():
    for loop in (polygon([(5, 5), (15, 5), (15, 15), (5, 15)]), line((5, 5), (15, 5), (15, 15), (5, 15), (5, 4))):
        outer, inner = parted(BOX, loop)
        assert area(inner.path) == pytest.approx(100)
        assert area(outer.path) == pytest.approx(700)
        assert len(outer.path.starts) == 2
        assert outer.reached
    figure = polygon([(5, 5), (35, 15), (35, 5), (5, 15)])
    assert areas(BOX, figure) == pytest.approx([650, 75, 75])


def test_a_curve_that_crosses_itself_parts_what_it_encloses():
    pen = PathBuilder()
    pen.move_to((-10, 20))
    pen.cubic_to((70, -10), (-30, -10), (50, 20))
    parts = parted(rectangle(0, 0, 40, 30), pen.path())
    assert len(parts) == 4
    assert sum(area(part.path) for part in parts) == pytest.approx(1200, rel=1e-12)


def test_several_lines_part_at_once():
    grid = joined([line((10, -1), (10, 30)), line((-1, 10), (50, 10)), line((30, -1), (30, 30))])
    assert areas(BOX, grid) == pytest.approx([200, 200, 100, 100, 100, 100])


def test_holes_go_with_the_part_they_lie_in():
    holed = joined([BOX, circle((10, 10), 4).reversed(), circle((30, 10), 3).reversed()])
    right, left = parted(holed, line((20, -1), (20, 30)))
    assert area(right.path) == pytest.approx(400 - 9 * math.pi)
    assert area(left.path) == pytest.approx(400 - 16 * math.pi)


def test_pieces_that_the_line_does_not_reach_are_told():
    three = joined([circle((0, 0), 10), circle((40, 0), 10), circle((80, 30), 5)])
    parts = parted(three, line((-20, 0), (60, 0)))
    assert [part.reached for part in parts] == [True] * 4 + [False]
    assert parts[-1].path == circle((80, 30), 5)
    assert parts[-1].side == 1


places = st.floats(-50.0, 50.0).map(lambda value: round(value, 3))


@given(
    st.sampled_from([circle((0, 0), 20), ellipse((3, 1), 30, 9), rectangle(-15, -20, 33, 40, 4, 4), RING]),
    st.floats(0.0, 360.0),
    st.tuples(places, places),
    st.tuples(places, places),
)
@settings(max_examples=60)
def test_a_straight_cut_gives_the_areas_of_the_half_planes(outline, turn, one, two):
    outline = outline.transformed(Affine.rotated(turn))
    assume(math.dist(one, two) > 1.0)
    way = np.subtract(two, one) / math.dist(one, two)
    start, end = np.array(one) - 200 * way, np.array(two) + 200 * way
    aside = np.array([-way[1], way[0]]) * 400
    half = polygon([tuple(each) for each in (start, end, end + aside, start + aside)])
    below = area(keep_common([Region(outline), Region(half)]))
    parts = parted(outline, line(tuple(start), tuple(end)))
    if 0.01 < below < area(outline) - 0.01:
        assert sum(area(part.path) for part in parts) == pytest.approx(area(outline), rel=1e-9)
        assert sum(area(part.path) for part in parts if part.side == 1) == pytest.approx(below, abs=1e-3)
    else:
        assert sum(area(part.path) for part in parts) == pytest.approx(area(outline)) or not parts


@given(
    st.sampled_from([ellipse((3, 1), 30, 9), rectangle(-15, -20, 33, 40, 4, 4), RING]),
    st.lists(st.tuples(places, places), min_size=4, max_size=10),
    st.booleans(),
)
@settings(max_examples=60)
def test_whatever_the_line_the_parts_are_the_whole(outline, points, curved):
    pen = PathBuilder()
    pen.move_to(points[0])
    if curved:
        for first, second, end in zip(points[1::3], points[2::3], points[3::3], strict=False):
            pen.cubic_to(first, second, end)
    else:
        for point in points[1:]:
            pen.line_to(point)
    parts = parted(outline, pen.path())
    assert all(area(part.path) > 0.0 for part in parts)
    if parts:
        assert sum(area(part.path) for part in parts) == pytest.approx(area(outline), rel=1e-9)


def test_open_lines_are_cut_and_keep_their_curves():
    pen = PathBuilder()
    pen.move_to((0, 0))
    pen.cubic_to((10, 30), (30, -30), (40, 0))
    curve = pen.path()
    stretches = lines_parted(curve, line((-5, 1), (45, -1)))
    assert len(stretches) == 4
    assert all(stretch.kinds.tolist() == [3] for stretch in stretches)
    assert sum(map(length, stretches)) == pytest.approx(length(curve), rel=1e-9)
    both = joined([curve, line((0, 50), (40, 50))])
    again = lines_parted(both, line((20, -50), (20, 10)))
    assert [len(each.starts) for each in again] == [1, 1, 1]
    assert again[-1] == line((0, 50), (40, 50))
    assert lines_parted(curve, line((0, 50), (40, 50))) == []


def test_a_closed_outline_that_is_cut_as_a_line_falls_into_stretches():
    stretches = lines_parted(circle((0, 0), 10), line((-20, 3), (20, 3)))
    assert len(stretches) == 2
    assert not any(stretch.closed.any() for stretch in stretches)
    assert sum(map(length, stretches)) == pytest.approx(20 * math.pi)
