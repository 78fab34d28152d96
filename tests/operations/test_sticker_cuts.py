"""Kiss cut and through cut of stickers at once. Areas by Steiner's formula (J. Steiner 1840)."""

import math

import numpy as np
import pytest

from bladewise import operations
from bladewise.document import CutKind
from bladewise.geometry.measures import area, contains, least_distance
from bladewise.geometry.path import circle, rectangle
from bladewise.geometry.regions import Region
from pieces import job_of, shape


def cuts(*shapes, **values):
    outcome = operations.apply(job_of(*shapes), operations.step("sticker-cuts", values))
    kiss, through = (outcome.job.element(key) for key in outcome.made)
    return kiss, through, outcome


def test_a_disc_gets_a_kiss_cut_at_its_distance_and_a_box_through_around_it():
    kiss, through, outcome = cuts(shape("a", circle((50, 50), 20)), kiss_distance_mm=2.0, margin_mm=5.0)
    assert area(kiss.path) == pytest.approx(math.pi * 22**2, abs=1e-5)
    assert through.path.bounds() == pytest.approx((23, 23, 77, 77), abs=1e-6)
    assert area(through.path) == pytest.approx(54**2 - (4 - math.pi) * 9, abs=1e-5)
    kinds = {material.id: material.cut for material in outcome.job.materials if material.kind == "cut"}
    assert kinds == {"cut-line": CutKind.KISS, "cut-line-through": CutKind.THROUGH}
    layers = [(layer.name, layer.material) for layer in outcome.job.layers[-2:]]
    assert layers == [("Cut line", "cut-line"), ("Through cut", "cut-line-through")]


def test_a_through_cut_that_follows_the_outline_keeps_its_margin():
    kiss, through, _ = cuts(shape("a", rectangle(50, 50, 40, 20)), around="outline", margin_mm=6.0)
    assert area(through.path) == pytest.approx(800 + 120 * 8 + math.pi * 64, abs=1e-4)
    assert least_distance(kiss.path, through.path).distance_mm == pytest.approx(6.0, abs=1e-4)


@pytest.mark.parametrize(
    ("side", "box"),
    [
        ("left", (13, 23, 77, 77)),
        ("right", (23, 23, 87, 77)),
        ("top", (23, 13, 77, 77)),
        ("bottom", (23, 23, 77, 87)),
    ],
)
def test_a_pull_tab_sticks_out_at_its_side_and_no_kiss_cut_runs_into_it(side, box):
    kiss, through, _ = cuts(shape("a", circle((50, 50), 20)), pull_tab=side, pull_tab_length_mm=10.0)
    assert through.path.bounds() == pytest.approx(box, abs=1e-6)
    assert kiss.path.bounds() == pytest.approx((28, 28, 72, 72), abs=1e-6)
    assert len(through.path.starts) == 1
    assert least_distance(kiss.path, through.path).distance_mm == pytest.approx(5.0, abs=1e-6)


def test_a_pull_tab_is_as_wide_as_asked_and_round_at_its_root():
    _, through, _ = cuts(
        shape("a", circle((50, 50), 20)), pull_tab="right", pull_tab_length_mm=10.0, pull_tab_width_mm=12.0
    )
    inside = contains(Region(through.path), np.array([[82.0, 44.1], [82.0, 43.9], [77.2, 43.9], [86.9, 44.1]]))
    assert inside.tolist() == [True, False, True, False]


def test_stickers_whose_boxes_meet_share_one_and_others_do_not():
    three = [shape("a", circle((50, 50), 10)), shape("b", circle((78, 50), 10)), shape("c", circle((150, 50), 10))]
    kiss, through, outcome = cuts(*three)
    assert len(kiss.path.starts) == 3
    assert len(through.path.starts) == 2
    assert "3 stickers lie so close together that their through cuts are one: 2 pieces are cut out." in outcome.reports


def test_islands_can_share_one_backing():
    kiss, through, _ = cuts(
        shape("a", circle((50, 50), 10)), shape("b", circle((78, 50), 10)), islands="backed", reach_mm=15.0
    )
    assert len(kiss.path.starts) == len(through.path.starts) == 1
