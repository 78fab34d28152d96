"""The first readiness rules: place, measure, message, remedy. The remedy of each finding must mend it.

Limits are common practice, no source. The lens of two circles: 2r²·acos(d/2r) − (d/2)·√(4r²−d²).
"""

import math
from dataclasses import replace

import pytest

from bladewise import operations
from bladewise.checks import Limits, check
from bladewise.document import PRINT, Lettering, Shape, Stroke, Style
from bladewise.findings import Severity
from bladewise.geometry.measures import area
from bladewise.geometry.path import circle, joined, polygon, rectangle
from bladewise.geometry.regions import FillRule
from pieces import BLUE, ORANGE, job_of, ring_and_bar, shape, two_circles


def rules(job):
    return [finding.rule for finding in check(job)]


def mended(job, *, but=()):
    """Apply every remedy that is a step, worst first, until none is left or nothing helps."""
    for _ in range(20):
        findings = [finding for finding in check(job) if finding.remedy.do and finding.rule not in but]
        if not findings:
            return job
        job = operations.apply(job, operations.step(findings[0].remedy.do, findings[0].remedy.values)).job
    return job


def test_a_clean_job_is_ready():
    assert rules(job_of(shape("a", circle((50, 50), 20)), shape("b", circle((150, 50), 20)))) == []


def test_an_overlap_gives_place_and_area():
    (finding,) = check(two_circles())
    lens = 2 * 400 * math.acos(15 / 40) - 7.5 * math.sqrt(4 * 400 - 225)
    assert finding.rule == "overlap"
    assert finding.severity is Severity.SPOILS
    assert finding.measure == pytest.approx(lens, abs=1e-6)
    assert math.hypot(finding.x_mm - 50, finding.y_mm - 50) < 20
    assert math.hypot(finding.x_mm - 65, finding.y_mm - 50) < 20
    assert "“Right” and “Left” overlap by 671.01 mm²" in finding.message
    assert rules(mended(two_circles())) == []


def test_two_of_one_colour_with_another_between_are_not_merged_but_trimmed_to_what_shows():
    job = job_of(
        shape("sun", circle((50, 50), 40)),
        shape("cup", circle((50, 50), 20), BLUE),
        shape("heart", circle((50, 50), 5)),
    )
    (finding,) = check(job)
    assert finding.remedy.do == "visible-parts"
    fixed = mended(job, but=["butted-edge"])
    assert rules(fixed) == ["butted-edge"]
    sizes = {each.id: area(each.path) / math.pi for each in fixed.shapes()}
    assert sizes == pytest.approx({"sun": 1600 - 400, "cup": 400 - 25, "heart": 25}, abs=1e-4)


def test_two_vinyls_may_overlap_for_each_is_cut_by_itself():
    assert rules(ring_and_bar()) == []


def test_print_and_guides_reach_no_knife():
    job = two_circles().with_material(PRINT)
    job = job.with_layer(replace(job.layers[0], material=PRINT.id))
    assert rules(job) == ["nothing-to-cut"]


def test_pieces_that_only_touch_do_not_overlap():
    assert "overlap" not in rules(job_of(shape("a", rectangle(0, 0, 10, 10)), shape("b", rectangle(10, 0, 10, 10))))
    assert rules(job_of(shape("a", circle((50, 50), 20)), shape("b", circle((90, 50), 20)))) == []


def test_an_outline_drawn_twice_is_a_double_cut_even_backwards_and_from_another_node():
    again = circle((50, 50), 20).reversed()
    turned = replace(again, points=again.points[[2, 3, 0, 1]], kinds=again.kinds, weights=again.weights)
    job = job_of(shape("a", circle((50, 50), 20)), shape("b", turned))
    (finding,) = check(job)
    assert (finding.rule, finding.remedy.do) == ("duplicate", "delete")
    assert rules(mended(job)) == []


def test_an_outline_that_crosses_itself_is_found_where_it_does():
    job = job_of(shape("bow", polygon([(0, 0), (20, 20), (20, 0), (0, 20)])))
    (finding,) = check(job)
    assert finding.rule == "crossing"
    assert (finding.x_mm, finding.y_mm) == pytest.approx((10, 10))
    assert rules(mended(job)) == []


def test_an_open_path_gives_its_gap_and_where_it_stops():
    job = job_of(Shape("a", polygon([(0, 0), (10, 0), (10, 10), (0, 3)], closed=False), Style(ORANGE), name="Leaf"))
    (finding,) = check(job)
    assert (finding.rule, finding.measure, finding.x_mm, finding.y_mm) == ("open-path", 3.0, 0.0, 3.0)
    assert rules(mended(job)) == []


def test_a_live_stroke_and_live_lettering_are_no_edges_yet():
    line = Shape("leg", polygon([(0, 0), (30, 0)], closed=False), Style(stroke=Stroke(BLUE, 4.0)), name="Leg")
    text = Lettering("t", "Open", "Josefin Sans", 20.0, Style(BLUE), outline=rectangle(60, 60, 10, 10), name="Open")
    job = job_of(line).with_layer(replace(job_of(line).layers[0], children=(line, text)))
    assert sorted(rules(job)) == ["live-lettering", "stroke"]
    assert "4 mm stroke of “Leg”" in next(each for each in check(job) if each.rule == "stroke").message


def test_a_hairline_is_a_line_to_follow_and_no_stroke():
    job = job_of(Shape("a", circle((50, 50), 20), Style(stroke=Stroke(BLUE, 0.1))))
    assert rules(job) == []


def test_small_pieces_and_holes_are_found_by_area():
    path = joined([rectangle(0, 0, 20, 20), rectangle(5, 5, 1, 1).reversed()])
    job = job_of(shape("a", path))
    (finding,) = check(job)
    assert (finding.rule, finding.measure, finding.unit) == ("small-piece", 1.0, "mm²")
    assert check(job, Limits(least_piece_mm2=0.5)) == []
    assert rules(mended(job)) == []


def test_hidden_art_is_not_cut():
    job = two_circles()
    job = job.replaced({"right": (replace(job.element("right"), visible=False),)})
    assert rules(job) == []


def test_lines_that_cross_need_a_person():
    one = Shape("a", polygon([(0, 0), (10, 10)], closed=False), Style(stroke=Stroke(BLUE, 0.1)))
    two = Shape("b", polygon([(0, 10), (10, 0)], closed=False), Style(stroke=Stroke(BLUE, 0.1)))
    findings = [finding for finding in check(job_of(one, two)) if finding.rule == "crossing"]
    assert len(findings) == 1
    assert findings[0].remedy.do is None


def test_an_even_odd_ring_is_no_overlap_with_itself():
    path = joined([circle((50, 50), 20), circle((50, 50), 10)])
    ring = Shape("ring", path, Style(ORANGE, fill_rule=FillRule.EVEN_ODD))
    assert rules(job_of(ring)) == ["fill-rule"]


def test_findings_in_plain_form_carry_what_is_documented():
    entry = check(two_circles())[0].plain()
    assert {"rule", "shape", "x_mm", "y_mm", "measure", "unit", "message", "remedy"} <= set(entry)
    assert entry["step"] == {"do": "merge", "on": {"id": ["left", "right"]}}


def test_worst_comes_first():
    job = job_of(*two_circles().shapes(), shape("dust", rectangle(150, 150, 1, 1)))
    assert rules(job) == ["overlap", "small-piece"]


def test_an_unseen_frame_about_the_art_is_not_cut():
    frame = shape("frame", rectangle(0, 0, 100, 100), fill=None)
    assert rules(job_of(frame, shape("a", circle((50, 50), 20)))) == []
    assert rules(job_of(frame)) == ["nothing-to-cut"]


def test_a_job_without_art_is_not_ready():
    (finding,) = check(job_of())
    assert "no art shows" in finding.message


def test_an_outline_that_ends_where_it_began_is_not_open():
    ring = polygon([(0, 0), (10, 0), (10, 10), (0, 0)], closed=False)
    assert rules(job_of(shape("a", ring))) == []
    speck = polygon([(0, 0), (1, 0), (1, 1), (0, 0)], closed=False)
    assert rules(job_of(shape("a", speck))) == ["small-piece"]


def test_one_finding_tells_of_all_the_places_where_a_shape_is_open():
    one = polygon([(0, 0), (10, 0), (10, 10), (0, 3)], closed=False)
    two = polygon([(20, 0), (30, 0), (30, 10), (20, 5)], closed=False)
    job = job_of(shape("a", joined([one, two])))
    (finding,) = check(job)
    assert finding.message == "“A” is open in 2 places, by up to 5 mm: the pieces would stay attached there."
    assert (finding.measure, finding.x_mm, finding.y_mm) == (5.0, 20.0, 5.0)
    assert rules(mended(job)) == []


def test_an_open_line_that_crosses_itself_needs_a_person():
    loop = polygon([(0, 0), (20, 20), (20, 0), (0, 20)], closed=False)
    job = job_of(Shape("a", loop, Style(stroke=Stroke(BLUE, 0.1))))
    (finding,) = (each for each in check(job) if each.rule == "crossing")
    assert finding.remedy.do is None


def test_rings_that_share_one_of_two_outlines_are_merged_not_thrown_away():
    outer = joined([circle((50, 50), 30), circle((50, 50), 20).reversed()])
    inner = joined([circle((50, 50), 20), circle((50, 50), 10).reversed()])
    job = job_of(shape("outer", outer), shape("inner", inner))
    assert [(each.rule, each.remedy.do) for each in check(job)] == [("duplicate", "merge")]
    fixed = mended(job)
    assert rules(fixed) == []
    assert sum(area(each.path) for each in fixed.shapes()) == pytest.approx(math.pi * (900 - 100), abs=1e-4)


@pytest.mark.parametrize("line_on_top", [False, True])
def test_a_bare_line_on_an_area_is_what_goes(line_on_top):
    disc = shape("disc", joined([circle((50, 50), 20), circle((50, 50), 10).reversed()]))
    line = Shape("line", circle((50, 50), 20), Style(stroke=Stroke(ORANGE, 0.1)))
    job = job_of(disc, line) if line_on_top else job_of(line, disc)
    (finding,) = check(job)
    assert (finding.rule, finding.remedy.do) == ("duplicate", "delete")
    assert [each.id for each in mended(job).shapes()] == ["disc"]
    whole = replace(disc, path=circle((50, 50), 20))
    job = job_of(whole, line) if line_on_top else job_of(line, whole)
    assert [each.id for each in mended(job).shapes()] == ["disc"]


def test_outlines_that_touch_or_cross_by_less_than_a_knife_can_follow_are_no_tangle():
    """The loop is 10 mm long and up to 0.00001 mm wide."""
    sliver = joined(
        [polygon([(0, 10), (10, 10), (10, 20), (0, 20)]), polygon([(0, 5), (10, 5), (10, 10.00001), (0, 10)])]
    )
    assert rules(job_of(shape("a", sliver))) == []
    deep = joined([polygon([(0, 10), (10, 10), (10, 20), (0, 20)]), polygon([(0, 5), (10, 5), (10, 10.01), (0, 10)])])
    assert rules(job_of(shape("a", deep))) == ["crossing"]


def test_loops_that_turn_both_ways_are_found_though_their_areas_cancel():
    backwards = polygon([(10, 0), (-10, 0), (-10, 10), (10, 10)])
    twice = joined([rectangle(0, 0, 10, 10), polygon([(5, -5), (15, -5), (15, 15), (5, 15)]), backwards])
    assert "crossing" in rules(job_of(shape("a", twice)))


def test_what_is_no_shape_yet_is_mended_before_overlaps_so_that_strokes_keep_their_place():
    back = shape("back", circle((50, 50), 20), stroke=Stroke(BLUE, 2.0))
    between = shape("between", circle((60, 50), 12), BLUE)
    front = shape("front", circle((65, 50), 10))
    job = job_of(back, between, front)
    assert rules(job)[0] == "stroke"
    fixed = mended(job, but=["butted-edge"])
    assert rules(fixed) == ["butted-edge"]
    assert sum(area(each.path) for each in fixed.shapes() if each.id.endswith("stroke")) < math.pi * (21**2 - 19**2)
