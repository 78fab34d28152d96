"""Perforations: lengths of cuts and gaps, corners that are cut, stretches that stay whole.

Lengths are checked against the sums they must come to; where cuts lie is common practice, no source.
"""

import math

import numpy as np
import pytest

from bladewise.errors import CannotApply
from bladewise.geometry.dashes import without_stretches
from bladewise.geometry.measures import nearest_each, segment_lengths
from bladewise.geometry.path import EMPTY, circle, joined, polygon, rectangle
from bladewise.geometry.perforation import corner_places, perforated


def lengths(path):
    return np.array([segment_lengths(each).sum() for each in path.subpaths()])


def test_cuts_and_gaps_of_sides_that_take_them_whole_are_as_asked():
    cuts = perforated(rectangle(0, 0, 40, 20), 3.0, 1.0)
    assert lengths(cuts) == pytest.approx(3.0)
    assert len(cuts.starts) == (40 + 20) * 2 / 4
    assert not cuts.closed.any()


@pytest.mark.parametrize("size", [(41.3, 17.9), (7.0, 300.0), (13.1, 13.1)])
def test_every_corner_is_in_the_middle_of_a_cut(size):
    box = rectangle(0, 0, *size)
    cuts = perforated(box, 2.0, 1.5)
    for corner in box.points[:, 0]:
        holding = [one for one in cuts.subpaths() if nearest_each(one, corner[None]).distances_mm[0] < 1e-9]
        assert len(holding) == 1
        ends = holding[0].points[[0, -1], [0, 3]]
        assert (np.hypot(*(ends - corner).T) > 0.5).all()


@pytest.mark.parametrize("path", [circle((0, 0), 31.7), rectangle(0, 0, 50.3, 20.9), rectangle(0, 0, 61, 33, 5, 5)])
def test_the_share_that_stays_whole_is_the_one_asked_for(path):
    whole = segment_lengths(path).sum()
    cuts = lengths(perforated(path, 3.0, 1.0))
    assert cuts.sum() == pytest.approx(0.75 * whole, rel=1e-9)
    assert cuts == pytest.approx(3.0, rel=0.15)


def test_a_line_that_ends_freely_begins_and_ends_with_a_whole_cut():
    cuts = perforated(polygon([(0, 0), (39, 0)], closed=False), 3.0, 1.0)
    assert lengths(cuts) == pytest.approx(3.0)
    assert len(cuts.starts) == 10
    assert cuts.bounds() == (0.0, 0.0, 39.0, 0.0)


def test_cuts_are_exact_parts_of_the_arcs_they_come_from():
    cuts = perforated(circle((0, 0), 20), 2.0, 1.0)
    flat = cuts.points[:, [0, 3]].reshape(-1, 2)
    assert np.hypot(*flat.T) == pytest.approx(20.0, abs=1e-9)
    assert segment_lengths(cuts).sum() == pytest.approx(2 / 3 * 2 * math.pi * 20)


def test_a_line_too_short_for_a_gap_is_cut_whole_and_nothing_stays_nothing():
    short = polygon([(0, 0), (2, 0)], closed=False)
    assert perforated(short, 3.0, 1.0) == short
    assert perforated(EMPTY, 3.0, 1.0) == EMPTY


@pytest.mark.parametrize("pattern", [(0.0, 1.0), (1.0, 0.0), (-1.0, 2.0), (math.nan, 1.0), (math.inf, 1.0)])
def test_lengths_that_mean_nothing_are_refused(pattern):
    with pytest.raises(ValueError, match="above 0"):
        perforated(circle((0, 0), 5), *pattern)


def test_a_perforation_finer_than_any_machine_is_refused():
    with pytest.raises(CannotApply, match="too fine"):
        perforated(rectangle(0, 0, 1e6, 1e6), 0.1, 0.1)


def test_corners_are_where_the_outline_turns_not_where_it_has_nodes():
    assert [each.tolist() for each in corner_places(rectangle(0, 0, 4, 2))] == [[0.0, 4.0, 6.0, 10.0]]
    assert [len(each) for each in corner_places(joined([circle((0, 0), 3), rectangle(0, 0, 9, 9, 2, 2)]))] == [0, 0]


def test_a_stretch_over_the_seam_leaves_one_part():
    box = rectangle(0, 0, 10, 10)
    part = without_stretches(box, [0], [-1.0], [2.0])
    assert lengths(part) == pytest.approx([37.0])
    assert part.points[0, 0].tolist() == [2.0, 0.0]
    assert part.points[-1, 3] == pytest.approx([0.0, 1.0])
    assert without_stretches(box, [0], [39.0], [42.0]).points == pytest.approx(part.points)


def test_stretches_that_overlap_are_taken_out_once_and_other_subpaths_stay():
    both = joined([rectangle(0, 0, 10, 10), circle((50, 50), 5)])
    left = without_stretches(both, [0, 0, 0], [3.0, 4.0, 20.0], [5.0, 6.0, 21.0])
    assert sorted(lengths(left)) == pytest.approx(sorted([14.0, 22.0, 10 * math.pi]))
    assert left.closed.sum() == 1


def test_a_stretch_longer_than_the_outline_leaves_nothing():
    assert without_stretches(rectangle(0, 0, 1, 1), [0], [0.5], [9.0]) == EMPTY


def test_a_part_over_the_seam_of_curves_is_one_part():
    ring = rectangle(0, 0, 80, 80, 12, 12)
    middle = float(segment_lengths(ring).sum()) / 2
    assert len(without_stretches(ring, [0], [middle - 1], [middle + 1]).starts) == 1
