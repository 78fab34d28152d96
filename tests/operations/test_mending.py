"""Hairs are dropped as a step: what goes, what stays, and what is said about it."""

import pytest

from bladewise import operations
from bladewise.document import Stroke
from bladewise.geometry import booleans
from bladewise.geometry.path import circle, polygon, rectangle
from bladewise.geometry.regions import Region
from pieces import BLUE, ORANGE, job_of, shape


def united(*paths):
    return booleans.merge([Region(path) for path in paths])


HAIRY = united(circle((50, 50), 20), rectangle(50, 49.99, 23, 0.02))
BONE = united(circle((50, 150), 20), circle((100, 150), 20), rectangle(50, 150, 50, 0.01))


def dropped(job, **values):
    return operations.apply(job, operations.step("drop-hairs", values))


def test_a_hair_goes_and_a_bridge_is_told():
    outcome = dropped(job_of(shape("hairy", HAIRY), shape("bone", BONE)))
    assert outcome.reports == ("1 hair is gone.", "1 bridge is left: a hair that holds two pieces together.")
    assert outcome.job.element("hairy").path.bounds()[2] == pytest.approx(70.0, abs=0.02)
    assert outcome.job.element("bone").path == BONE


def test_bridges_go_when_asked():
    outcome = dropped(job_of(shape("bone", BONE)), parting=True)
    assert outcome.reports == ("1 hair is gone.",)
    assert len(outcome.job.element("bone").path.starts) == 2


def test_a_stout_spur_stays_unless_more_may_go():
    stout = united(circle((50, 50), 20), rectangle(50, 49.95, 30, 0.1))
    job = job_of(shape("stout", stout))
    assert dropped(job).reports == ("There are no hairs to drop.",)
    assert dropped(job).job == job
    assert dropped(job, most_mm2=5.0).job.element("stout").path.bounds()[2] == pytest.approx(70.0, abs=0.02)


def test_open_lines_are_left_alone():
    job = job_of(shape("line", polygon([(0, 0), (50, 0), (50, 0.01), (0, 0.01)], closed=False)))
    assert dropped(job).job == job


def test_gaps_in_a_shape_with_a_stroke_that_shows_are_left_and_told():
    rings = booleans.merge([Region(rectangle(0, 0, 10, 10)), Region(rectangle(10.2, 0, 10, 10))])
    plain, bordered = shape("plain", rings), shape("bordered", rings, BLUE, Stroke(ORANGE, 2.0))
    outcome = operations.apply(job_of(plain, bordered), operations.step("fill-gaps", {}))
    assert len(outcome.job.element("plain").path.starts) == 1
    assert outcome.job.element("bordered") == bordered
    assert outcome.reports == ("1 shape has a stroke that shows and is left as before: use stroke to shape first.",)
