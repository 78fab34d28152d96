"""Dashes as SVG 2 lays them out along a path ("Painting", section "Dashing")."""

import numpy as np
import pytest

from bladewise.geometry.dashes import dashed
from bladewise.geometry.measures import segment_lengths
from bladewise.geometry.path import EMPTY, PathBuilder, SegmentKind, circle, joined, polygon, rectangle

LINE = polygon([(0, 0), (10, 0)], closed=False)


def along(path):
    """Start and end in x of each dash of a horizontal line."""
    return [(float(one.points[0, 0, 0]), float(one.points[-1, 3, 0])) for one in path.subpaths()]


def lengths(path):
    return [float(segment_lengths(one).sum()) for one in path.subpaths()]


@pytest.mark.parametrize(
    ("pattern", "offset", "expected"),
    [
        ((2, 1), 0, [(0, 2), (3, 5), (6, 8), (9, 10)]),
        ((3,), 0, [(0, 3), (6, 9)]),  # odd: taken twice
        ((1, 2, 3), 0, [(0, 1), (3, 6), (7, 9)]),
        ((4, 2), 1, [(0, 3), (5, 9)]),
        ((4, 2), 5, [(1, 5), (7, 10)]),
        ((4, 2), -1, [(1, 5), (7, 10)]),
        ((4, 2), -601, [(1, 5), (7, 10)]),
        ((20, 5), 0, [(0, 10)]),
        ((5, 20), 6, []),
    ],
)
def test_dashes_lie_where_svg_puts_them(pattern, offset, expected):
    found = along(dashed(LINE, pattern, offset).path)
    assert len(found) == len(expected)
    assert np.array(found) == pytest.approx(np.array(expected), abs=1e-9) if expected else not found


@pytest.mark.parametrize("pattern", [(), (0, 0), (2, -1), (float("nan"), 1), (float("inf"), 1)])
def test_a_pattern_that_means_nothing_leaves_the_path_alone(pattern):
    assert dashed(LINE, pattern).path is LINE


def test_an_empty_path_has_no_dashes():
    assert dashed(EMPTY, (2, 1)).path == EMPTY


def test_a_dash_runs_over_a_corner():
    found = dashed(polygon([(0, 0), (3, 0), (3, 5)], closed=False), (5, 10)).path
    assert len(found.starts) == 1
    assert found.points[:, [0, 3]].tolist() == [[[0, 0], [3, 0]], [[3, 0], [3, 2]]]


def test_each_subpath_begins_the_pattern_anew():
    two = joined([LINE, polygon([(0, 5), (4, 5)], closed=False)])
    assert lengths(dashed(two, (6, 3)).path) == pytest.approx([6, 1, 4])


def test_the_seam_of_a_closed_path_parts_no_dash():
    found = dashed(rectangle(0, 0, 10, 10), (6, 4), 3).path  # on from −3 to 3 around the start
    assert lengths(found) == pytest.approx([6, 6, 6, 6])
    assert not found.closed.any()


def test_a_closed_path_with_a_gap_at_its_end_starts_there():
    assert lengths(dashed(rectangle(0, 0, 10, 10), (6, 4)).path) == pytest.approx([6, 6, 6, 6])


def test_a_pattern_without_gaps_leaves_a_closed_path_closed():
    ring = circle((0, 0), 10)
    assert dashed(ring, (3, 0)).path == ring


def test_a_long_dash_that_covers_a_closed_path_leaves_it_closed():
    ring = rectangle(0, 0, 10, 10)
    assert dashed(ring, (50, 10)).path == ring


def test_dashes_of_an_arc_are_arcs():
    found = dashed(circle((0, 0), 10), (5, 5)).path
    assert set(found.kinds.tolist()) == {int(SegmentKind.ARC)}
    assert np.hypot(found.points[:, 3, 0], found.points[:, 3, 1]) == pytest.approx(10.0)
    assert lengths(found)[1:-1] == pytest.approx([5.0] * (len(found.starts) - 2))


def test_dashes_of_no_length_tell_place_and_direction():
    found = dashed(polygon([(0, 0), (6, 8)], closed=False), (0, 5))
    assert found.path == EMPTY
    assert found.places == pytest.approx(np.array([[0, 0], [3, 4]]))  # none at the very end
    assert found.directions == pytest.approx(np.array([[0.6, 0.8]] * 2))


def test_a_subpath_of_no_length_is_kept_where_the_pattern_begins_with_a_dash():
    pen = PathBuilder()
    pen.move_to((1, 1))
    pen.close()
    assert dashed(pen.path(), (2, 1)).path == pen.path()
    assert dashed(pen.path(), (2, 1), 2.5).path == EMPTY


def test_dashes_and_gaps_add_up_to_the_whole_curve():
    pen = PathBuilder()
    pen.move_to((0, 0))
    pen.cubic_to((30, 40), (-10, 40), (20, 0))
    pen.quadratic_to((40, -20), (50, 10))
    path = pen.path()
    dashes, gaps = dashed(path, (3, 2)).path, dashed(path, (2, 3), -3).path
    assert sum(lengths(dashes)) + sum(lengths(gaps)) == pytest.approx(segment_lengths(path).sum(), abs=1e-6)
