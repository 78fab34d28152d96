"""What an operator relies on when shapes overlap, cross or lie on one another."""

from __future__ import annotations

import math

import pytest

from bladewise.geometry.overlaps import crossings, duplicates, overlap_pairs
from bladewise.geometry.path import EMPTY, Path, PathBuilder, circle, joined, polygon, rectangle
from bladewise.geometry.regions import Region


def test_overlapping_circles_are_named_with_area_and_a_place_inside() -> None:
    (found,) = overlap_pairs([Region(circle((0, 0), 10)), Region(circle((12, 0), 10)), Region(circle((90, 0), 10))])
    assert (found.first, found.second) == (0, 1)
    assert found.area_mm2 == pytest.approx(200 * math.acos(0.6) - 6 * math.sqrt(400 - 144), abs=1e-9)
    assert math.hypot(found.x, found.y) < 10
    assert math.hypot(found.x - 12, found.y) < 10


def test_pieces_that_abut_do_not_overlap() -> None:
    assert overlap_pairs([Region(rectangle(0, 0, 5, 5)), Region(rectangle(5, 0, 5, 5))]) == []


def test_a_figure_of_eight_crosses_itself_once_in_its_middle() -> None:
    (found,) = crossings(polygon([(0, 0), (10, 10), (10, 0), (0, 10)]))
    assert (found.first, found.second) == (0, 0)
    assert (found.x, found.y) == pytest.approx((5, 5))


def test_two_outlines_cross_where_they_change_sides_and_not_where_they_touch() -> None:
    square = rectangle(0, 0, 10, 10)
    assert len(crossings([square, rectangle(5, 5, 10, 10)])) == 2
    assert crossings([square, rectangle(10, 0, 10, 10)]) == []
    assert crossings([square, polygon([(5, 10), (8, 15), (2, 15)])]) == []
    assert len(crossings([square, polygon([(10, 5), (15, 9), (5, 9)])])) == 2


def test_a_looping_curve_crosses_itself() -> None:
    pen = PathBuilder()
    pen.move_to((0, 0))
    pen.cubic_to((20, 10), (-10, 10), (10, 0))
    assert len(crossings(pen.path())) == 1


def rotated_nodes(path: Path, by: int) -> Path:
    pen = PathBuilder()
    order = [(k + by) % len(path) for k in range(len(path))]
    pen.move_to(tuple(path.points[order[0], 0]))
    for k in order:
        pen.arc_to(tuple(path.points[k, 1]), tuple(path.points[k, 3]), float(path.weights[k]))
    pen.close()
    return pen.path()


def test_duplicates_are_found_reversed_and_from_another_node() -> None:
    ring = circle((3, 4), 10)
    found = duplicates([ring, ring.reversed(), rotated_nodes(ring, 2), circle((3, 4), 10.1)], 0.01)
    assert {(pair.first, pair.second) for pair in found} == {(0, 1), (0, 2), (1, 2)}


def test_a_hole_drawn_twice_in_one_shape_is_a_duplicate() -> None:
    (found,) = duplicates([joined([rectangle(0, 0, 9, 9), circle((4, 4), 2), circle((4, 4), 2)])])
    assert (found.first, found.first_subpath, found.second_subpath) == (0, 1, 2)


def test_no_outlines_no_findings() -> None:
    assert overlap_pairs([]) == []
    assert crossings([]) == []
    assert crossings(EMPTY) == []
    assert duplicates([EMPTY, EMPTY]) == []
