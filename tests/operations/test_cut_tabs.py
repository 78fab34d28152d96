"""Tabs in through cuts: what stays whole is what was asked for; where tabs stand is common practice, no source."""

import math

import numpy as np
import pytest

from bladewise import checks, operations
from bladewise.document import CutKind, Material, Shape, Stroke, Style
from bladewise.errors import CannotApply
from bladewise.geometry.measures import nearest_each, segment_lengths
from bladewise.geometry.path import circle, joined, polygon, rectangle
from pieces import BLUE, job_of

THROUGH = Material("board", "Board", BLUE, cut=CutKind.THROUGH)


def board(path, material=THROUGH):
    cut = Shape("cut", path, Style(stroke=Stroke(BLUE, 0.1)), name="Cut", material=material.id)
    return job_of(cut).with_material(material)


def tabbed(path, **values):
    outcome = operations.apply(board(path), operations.step("cut-tabs", values))
    return outcome.job.element("cut").path, outcome


def whole_of(path):
    return float(segment_lengths(path).sum())


@pytest.mark.parametrize("path", [rectangle(0, 0, 90, 55), circle((50, 50), 40), rectangle(0, 0, 80, 80, 12, 12)])
@pytest.mark.parametrize(("count", "width"), [(1, 2.0), (4, 1.0), (7, 3.5)])
def test_the_length_left_whole_is_what_was_asked_for(path, count, width):
    cut, outcome = tabbed(path, count=count, width_mm=width)
    assert whole_of(path) - whole_of(cut) == pytest.approx(count * width, abs=1e-6)
    assert len(cut.starts) == count
    assert not cut.closed.any()
    assert outcome.job.element("cut").material == "board"


def test_the_gaps_are_tabs_as_wide_as_asked_and_the_rest_lies_on_the_outline():
    box = rectangle(0, 0, 90, 55)
    cut, _ = tabbed(box, count=4, width_mm=2.0)
    ends = cut.points[cut.ends - 1, 3]
    begins = np.roll(cut.points[cut.starts, 0], -1, axis=0)
    assert np.hypot(*(ends - begins).T) == pytest.approx(2.0, abs=1e-9)
    assert nearest_each(box, cut.points[:, [0, 3]].reshape(-1, 2)).distances_mm.max() < 1e-9


@pytest.mark.parametrize("count", [2, 3, 4, 5, 8])
def test_no_tab_stands_at_a_corner(count):
    box = rectangle(0, 0, 60, 40)
    cut, _ = tabbed(box, count=count, width_mm=2.0)
    ends = np.concatenate([cut.points[cut.starts, 0], cut.points[cut.ends - 1, 3]])
    away = np.hypot(*(ends[:, None] - box.points[:, 0][None]).transpose(2, 0, 1))
    assert away.min() > 1.5


def test_tabs_stand_on_the_straights_of_an_outline_with_tight_bends():
    slot = rectangle(0, 0, 60, 6, 3, 3)
    cut, _ = tabbed(slot, count=2, width_mm=2.0)
    ends = np.concatenate([cut.points[cut.starts, 0], cut.points[cut.ends - 1, 3]])
    assert ((ends[:, 0] >= 3.0) & (ends[:, 0] <= 57.0)).all()


def test_tabs_every_so_often():
    cut, _ = tabbed(circle((0, 0), 100 / math.pi), spread="distance", every_mm=24.0, width_mm=1.0)
    assert len(cut.starts) == 8


def test_tabs_at_places_given_in_mm_stand_there():
    cut, _ = tabbed(rectangle(0, 0, 100, 50), spread="places", places_mm=[50.0, 125.0], width_mm=4.0)
    ends = sorted(
        map(tuple, np.concatenate([cut.points[cut.starts, 0], cut.points[cut.ends - 1, 3]]).round(6).tolist())
    )
    assert ends == [(48.0, 0.0), (52.0, 0.0), (100.0, 23.0), (100.0, 27.0)]


def test_holes_get_tabs_only_if_asked():
    ring = joined([circle((0, 0), 30), circle((0, 0), 10).reversed()])
    cut, _ = tabbed(ring, count=3)
    assert (int(cut.closed.sum()), len(cut.starts)) == (1, 4)
    cut, _ = tabbed(ring, count=3, in_holes=True)
    assert (int(cut.closed.sum()), len(cut.starts)) == (0, 6)


def test_an_outline_too_short_for_its_tabs_gets_as_many_as_it_holds_and_says_so():
    cut, outcome = tabbed(rectangle(0, 0, 5, 5), count=9, width_mm=2.0)
    assert len(cut.starts) == 4
    assert "1 outline is too short" in outcome.reports[1]


def test_only_through_cuts_that_are_closed_get_tabs():
    kiss = Material("vinyl", "Vinyl", BLUE)
    with pytest.raises(CannotApply, match="no through cut"):
        operations.apply(board(rectangle(0, 0, 9, 9), kiss), operations.step("cut-tabs", {}))
    with pytest.raises(CannotApply, match="closed and long enough"):
        tabbed(polygon([(0, 0), (50, 0)], closed=False))
    with pytest.raises(CannotApply, match="No place"):
        tabbed(rectangle(0, 0, 9, 9), spread="places")


def test_a_second_step_leaves_the_tabs_there_are():
    first = operations.apply(board(rectangle(0, 0, 90, 55)), operations.step("cut-tabs", {})).job
    with pytest.raises(CannotApply, match="open lines have theirs"):
        operations.apply(first, operations.step("cut-tabs", {}))


@pytest.mark.parametrize("count", [1, 6])
def test_the_readiness_check_takes_tabs_for_meant(count):
    job = operations.apply(board(rectangle(20, 20, 90, 55)), operations.step("cut-tabs", {"count": count})).job
    assert "open-path" not in {finding.rule for finding in checks.check(job)}
    torn = board(polygon([(20, 20), (110, 20), (110, 75), (20, 75)], closed=False))
    assert "open-path" in {finding.rule for finding in checks.check(torn)}
