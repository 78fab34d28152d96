"""What a finding reaches over is drawn true to size: chords, areas, corners."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from bladewise import checks
from bladewise.checks.reach import NOTHING, Reaches
from bladewise.geometry.path import joined
from bladewise.geometry.regions import FillRule
from bladewise.session import Session

RED, BLUE = "#cc3311", "#0044aa"


def _reaches(session: Session, rule: str):
    findings = session.check()
    found = Reaches().of(session.job, findings)
    return [(finding, reach) for finding, reach in zip(findings, found, strict=True) if finding.rule == rule]


def test_a_narrow_bridge_is_a_chord_of_its_width_square_to_its_sides():
    session = Session.new("Neck", 100, 100)
    # two squares of 20 mm joined by a neck 0.3 mm wide and 10 mm long, from closed form
    session.do(
        "draw-outline",
        points_mm=[10, 10, 30, 10, 30, 19.85, 40, 19.85, 40, 10, 60, 10, 60, 30, 40, 30, 40, 20.15, 30, 20.15, 30, 30,
                   10, 30],
        closed=True,
        fill=RED,
    )  # fmt: skip
    ((finding, reach),) = _reaches(session, "narrow-bridge")
    (span,) = reach.spans
    assert span.size_mm == pytest.approx(finding.measure) == pytest.approx(0.3)
    assert math.hypot(span.x1 - span.x0, span.y1 - span.y0) == pytest.approx(0.3)
    assert abs(span.x1 - span.x0) < 1e-6
    assert sorted((span.y0, span.y1)) == pytest.approx([19.85, 20.15])


def test_a_gap_between_two_shapes_reaches_from_one_to_the_other():
    session = Session.new("Gap", 100, 100)
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=20, height_mm=20, fill=RED)
    session.do("draw-rectangle", x_mm=30.25, y_mm=10, width_mm=20, height_mm=20, fill=RED)
    ((_, reach),) = _reaches(session, "narrow-gap")
    (span,) = reach.spans
    assert sorted((span.x0, span.x1)) == pytest.approx([30.0, 30.25])
    assert span.y0 == pytest.approx(span.y1)


def test_an_overlap_is_the_area_both_cover():
    session = Session.new("Two", 200, 100)
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=60, height_mm=60, fill=RED)
    session.do("draw-rectangle", x_mm=50, y_mm=30, width_mm=60, height_mm=60, fill=RED)
    ((finding, reach),) = _reaches(session, "overlap")
    (((ring),),) = reach.areas
    assert (*ring.min(axis=0), *ring.max(axis=0)) == pytest.approx((50, 30, 70, 70))
    assert finding.measure == pytest.approx(20 * 40)


def test_what_lies_off_the_sheet_is_told_apart_from_what_lies_on_it():
    session = Session.new("Off", 100, 100)
    session.do("draw-rectangle", x_mm=80, y_mm=10, width_mm=60, height_mm=20, fill=RED)
    ((_, reach),) = _reaches(session, "off-sheet")
    (((ring),),) = reach.areas
    assert (*ring.min(axis=0), *ring.max(axis=0)) == pytest.approx((100, 10, 140, 30))


def test_an_open_outline_reaches_from_its_end_to_its_start():
    session = Session.new("Open", 100, 100)
    session.do("draw-outline", points_mm=[10, 10, 60, 10, 60, 60, 10, 12], closed=False, fill=RED)
    ((finding, reach),) = _reaches(session, "open-path")
    (span,) = reach.spans
    assert (span.x0, span.y0, span.x1, span.y1) == pytest.approx((10, 10, 10, 12))
    assert span.size_mm == finding.measure == pytest.approx(2.0)


def test_a_sharp_corner_has_the_directions_of_its_sides():
    session = Session.new("Sharp", 200, 100)
    session.do("draw-outline", points_mm=[10, 10, 110, 10, 110, 15], closed=True, fill=RED)
    ((finding, reach),) = _reaches(session, "sharp-corner")
    (corner,) = reach.corners
    turn = math.degrees(math.acos(np.dot(corner.one, corner.other)))
    assert turn == pytest.approx(finding.measure, abs=1e-6) == pytest.approx(math.degrees(math.atan(0.05)), abs=1e-6)


def test_what_runs_along_the_same_line_is_drawn_where_it_does():
    session = Session.new("Side by side", 100, 100)
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=20, height_mm=20, fill=RED)
    session.do("draw-rectangle", x_mm=30, y_mm=15, width_mm=20, height_mm=20, fill=RED)
    ((finding, reach),) = _reaches(session, "shared-edge")
    line = np.concatenate(reach.lines)
    assert line[:, 0] == pytest.approx(30.0, abs=0.05)
    assert np.ptp(line[:, 1]) == pytest.approx(finding.measure, abs=0.2) == pytest.approx(15.0, abs=0.2)


def test_what_the_two_fill_rules_see_differently_is_told_apart():
    session = Session.new("Ring", 100, 100)
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=60, height_mm=60, fill=RED)
    session.do("draw-rectangle", x_mm=20, y_mm=20, width_mm=20, height_mm=20, fill=RED)
    shapes = session.job.shapes()
    whole = replace(shapes[0], path=joined([shapes[0].path, shapes[1].path]))
    job = session.job.replaced({shapes[0].id: (whole,), shapes[1].id: ()})
    ((finding, reach),) = [
        (finding, reach)
        for finding, reach in zip(checks.check(job), Reaches().of(job, checks.check(job)), strict=True)
        if finding.rule == "fill-rule"
    ]
    (((ring),),) = reach.areas
    assert (*ring.min(axis=0), *ring.max(axis=0)) == pytest.approx((20, 20, 40, 40))
    assert finding.measure == pytest.approx(400.0)
    even = job.replaced({whole.id: (replace(whole, style=replace(whole.style, fill_rule=FillRule.EVEN_ODD)),)})
    told = [each for each in checks.check(even) if each.rule == "fill-rule"]
    assert [len(reach.areas) for reach in Reaches().of(even, told)] == [1] * len(told)


def test_a_short_bleed_reaches_from_the_cut_line_to_the_edge_of_the_print():
    session = Session.new("Sticker", 100, 100)
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=60, height_mm=60, fill=BLUE, name="Print")
    session.do("set-material", on={"name": "Print"}, material="Paper", kind="print")
    session.do("draw-rectangle", x_mm=10.4, y_mm=15, width_mm=50, height_mm=50, fill=RED, name="Cut")
    session.do("restyle", on={"name": "Cut"}, no_fill=True, stroke=RED, stroke_width_mm=0.01)
    ((finding, reach),) = _reaches(session, "short-bleed")
    (span,) = reach.spans
    assert sorted((span.x0, span.x1)) == pytest.approx([10.0, 10.4])
    assert span.size_mm == pytest.approx(finding.measure)


def test_what_did_not_change_is_not_worked_out_again(monkeypatch):
    session = Session.new("Two", 300, 100)
    for x in (10, 50, 150, 190):
        session.do("draw-rectangle", x_mm=x, y_mm=30, width_mm=60, height_mm=60, fill=RED, name=f"At {x}")
    reaches = Reaches()
    before = reaches.of(session.job, session.check())
    session.do("move", on={"name": "At 190"}, dx_mm=1.0, dy_mm=0.0)
    findings = checks.check(session.job)
    worked_out = []
    from bladewise.checks import reach

    monkeypatch.setitem(reach._SOLVERS, "overlap", lambda task: worked_out.append(task) or NOTHING)
    after = reaches.of(session.job, findings)
    assert len(worked_out) == 1
    assert {id(each) for each in before} & {id(each) for each in after}


def test_where_two_vinyls_meet_in_many_places_every_edge_is_drawn():
    session = Session.new("Rows", 100, 150)
    for row in range(3):
        at = {"y_mm": 10 + 40 * row, "width_mm": 20, "height_mm": 20}
        session.do("draw-rectangle", x_mm=10, fill=RED, **at)
        session.do("draw-rectangle", x_mm=30, fill="#0072b2", **at)
    ((finding, reach),) = _reaches(session, "butted-edge")
    # a corner of the tolerance is drawn as well at either end of each edge
    assert sum(np.ptp(line[:, 1]) for line in reach.lines) == pytest.approx(60.0, abs=0.5)
    assert finding.measure == pytest.approx(60.0, abs=0.5)


def test_what_is_drawn_goes_along_with_art_that_is_moved():
    session = Session.new("Moved", 200, 200)
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=40, height_mm=40, fill=RED, name="Under")
    session.do("draw-rectangle", x_mm=30, y_mm=30, width_mm=40, height_mm=40, fill=RED, name="Over")
    session.do("draw-rectangle", x_mm=70.2, y_mm=30, width_mm=20, height_mm=40, fill=RED, name="Beside")
    session.do("draw-rectangle", x_mm=150, y_mm=150, width_mm=70, height_mm=20, fill=BLUE, name="Off the sheet")
    finder = Reaches()
    finder.of(session.job, session.check())
    session.do("move", on="all", dx_mm=3.25, dy_mm=-1.5)
    findings = session.check()
    moved, anew = finder.of(session.job, findings), Reaches().of(session.job, findings)
    assert {"overlap", "off-sheet", "narrow-gap"} <= {finding.rule for finding in findings}
    for one, other in zip(moved, anew, strict=True):
        assert np.allclose(list(one.spans), list(other.spans))
        assert len(one.areas) == len(other.areas)
        for rings, others in zip(one.areas, other.areas, strict=True):
            assert all(np.allclose(ring, same) for ring, same in zip(rings, others, strict=True))
        assert all(np.allclose(line, same) for line, same in zip(one.lines, other.lines, strict=True))


def test_only_one_of_two_moved_is_worked_out_anew():
    session = Session.new("Moved apart", 200, 200)
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=40, height_mm=40, fill=RED, name="Under")
    session.do("draw-rectangle", x_mm=30, y_mm=30, width_mm=40, height_mm=40, fill=RED, name="Over")
    finder = Reaches()
    finder.of(session.job, session.check())
    session.do("move", on={"name": "Over"}, dx_mm=10, dy_mm=0)
    findings = session.check()
    (area,) = next(
        reach.areas
        for finding, reach in zip(findings, finder.of(session.job, findings), strict=True)
        if finding.rule == "overlap"
    )
    assert np.ptp(area[0], axis=0).tolist() == pytest.approx([10.0, 20.0])
