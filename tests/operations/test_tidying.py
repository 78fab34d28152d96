"""Corners rounded, edges smoothed, nodes spared: as steps, with what the operator is told."""

import math
from dataclasses import replace

import numpy as np
import pytest

from bladewise import operations
from bladewise.document import Lettering, Style
from bladewise.errors import CannotApply
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import area
from bladewise.geometry.path import SegmentKind, circle, joined, polygon, rectangle
from bladewise.geometry.regions import FillRule
from pieces import BLUE, ORANGE, job_of, shape


def done(job, do, /, **values):
    return operations.apply(job, operations.step(do, values))


def path(outcome, key="a"):
    return outcome.job.element(key).path


def stairs():
    """Return a disc of radius 20 mm as a trace of 0.5 mm pixels draws it."""
    rows = np.arange(-39, 40) * 0.5
    half = np.floor(np.sqrt(400.0 - rows**2) / 0.5) * 0.5
    right = [(x, y) for y, x in zip(rows, half, strict=True) for y in (y - 0.25, y + 0.25)]
    return polygon([(50 + x, 50 + y) for x, y in right + [(-x, y) for x, y in reversed(right)]])


def test_corners_become_arcs_of_the_radius_asked_for():
    outcome = done(job_of(shape("a", rectangle(10, 10, 40, 20))), "round-corners", radius_mm=3)
    assert area(path(outcome)) == pytest.approx(800 - (4 - math.pi) * 9)
    assert outcome.reports == ("4 corners are round now.",)
    assert outcome.made == ("a",)


def test_a_radius_too_large_shrinks_and_the_operator_is_told_where():
    strip = shape("a", polygon([(10, 10), (50, 10), (50, 14), (10, 30)]))
    outcome = done(job_of(strip), "round-corners", radius_mm=5)
    assert outcome.reports[0] == "4 corners are round now."
    assert "2 corners got a smaller radius, the sides being too short: " in outcome.reports[1]
    assert "at 50, 10" in outcome.reports[1]


def test_only_the_corners_meant_are_rounded():
    cross = polygon([(0, 0), (10, 2), (20, 0), (18, 10), (20, 20), (10, 18), (0, 20), (2, 10)])
    job = job_of(shape("a", cross))
    outside, inside = (
        area(path(done(job, "round-corners", radius_mm=1, corners=each))) for each in ("outside", "inside")
    )
    assert outside < area(cross) < inside
    assert done(job, "round-corners", sharper_than_deg=20).reports == ("There are no such corners.",)


def test_the_fill_rule_tells_what_a_hole_is():
    frame = shape("a", joined([rectangle(0, 0, 30, 30), rectangle(10, 10, 10, 10)]))
    holed = replace(frame, style=replace(frame.style, fill_rule=FillRule.EVEN_ODD))
    rounded = list(path(done(job_of(holed), "round-corners", radius_mm=2, corners="outside")).subpaths())
    assert [len(ring) for ring in rounded] == [8, 4]
    assert done(job_of(holed), "round-corners").job.element("a").style.fill_rule is FillRule.EVEN_ODD


def test_a_traced_disc_loses_its_stairs():
    outcome = done(job_of(shape("a", stairs())), "smooth-edges", amount_mm=0.6)
    assert len(path(outcome)) <= 6
    assert area(path(outcome)) == pytest.approx(area(stairs()), rel=0.01)
    assert outcome.reports[0].startswith("316 segments became ")


def test_edges_that_are_smooth_stay_and_nothing_is_recorded():
    job = job_of(shape("a", circle((50, 50), 10)), shape("b", rectangle(0, 0, 10, 20)))
    for step, told in (("smooth-edges", "These edges are smooth already."), ("fewer-nodes", "No node can be spared.")):
        outcome = done(job, step)
        assert not outcome.changes
        assert outcome.reports == (told,)


def test_chords_become_curves_again():
    chords = polygon(map(tuple, flatten(circle((50, 50), 20), 0.01).coords[:-1].tolist()))
    outcome = done(job_of(shape("a", chords), shape("b", rectangle(0, 0, 5, 5), BLUE)), "fewer-nodes")
    assert path(outcome).kinds.tolist() == [SegmentKind.ARC] * 4
    assert area(path(outcome)) == pytest.approx(400 * math.pi, rel=1e-9)
    assert outcome.made == ("a",)


def test_names_and_colours_stay():
    outcome = done(job_of(shape("a", rectangle(0, 0, 10, 10), ORANGE)), "round-corners", radius_mm=1)
    assert outcome.job.element("a").style.fill == ORANGE
    assert outcome.job.element("a").name == "A"


@pytest.mark.parametrize("step", ["round-corners", "smooth-edges", "fewer-nodes"])
def test_live_lettering_has_no_outlines_yet(step):
    live = Lettering("t", "Cup", Style(fill=ORANGE), size_mm=20.0)
    with pytest.raises(CannotApply, match="Live lettering"):
        done(job_of(live), step)


def test_the_steps_are_told_with_their_numbers():
    told = [
        operations.summary(operations.step(do, values))
        for do, values in (
            ("round-corners", {"radius_mm": 3, "corners": "inside"}),
            ("smooth-edges", {"amount_mm": 0.5}),
            ("fewer-nodes", {}),
        )
    ]
    assert told == [
        "Round inside corners of all, radius 3 mm",
        "Smooth the edges of all by 0.5 mm",
        "Fewer nodes for all, within 0.02 mm",
    ]
