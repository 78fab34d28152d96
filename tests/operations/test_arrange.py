"""Placing art."""

import math

import pytest

from bladewise import operations
from bladewise.document import Group, Job, Layer, Shape, Stroke, Style
from bladewise.errors import CannotApply
from bladewise.geometry.measures import area
from bladewise.geometry.path import circle, rectangle
from pieces import BLUE, job_of, ring_and_bar, shape


def done(job, do, /, **values):
    return operations.apply(job, operations.step(do, values)).job


def box(job, key="a"):
    return job.element(key).bounds


def one():
    return job_of(shape("a", rectangle(10, 20, 40, 20)))


def test_moving_goes_right_and_down():
    assert box(done(one(), "move", dx_mm=5, dy_mm="1/2in")) == pytest.approx((15, 32.7, 55, 52.7))


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ({"width_mm": 80}, (-10, 10, 70, 50)),
        ({"height_mm": 10, "anchor": "top-left"}, (10, 20, 30, 30)),
        ({"width_mm": 80, "height_mm": 20, "anchor": "bottom-right"}, (-30, 20, 50, 40)),
        ({"width_mm": 80, "height_mm": 20, "anchor": "top"}, (-10, 20, 70, 40)),
    ],
)
def test_scaling_reaches_the_exact_size_and_keeps_its_anchor(values, expected):
    assert box(done(one(), "scale", **values)) == pytest.approx(expected)


def test_scaling_says_what_happens_to_strokes():
    job = job_of(Shape("a", rectangle(0, 0, 10, 10), Style(stroke=Stroke(BLUE, 1.0))))
    assert done(job, "scale", width_mm=20).element("a").style.stroke.width_mm == pytest.approx(2.0)
    assert done(job, "scale", width_mm=20, scale_strokes=False).element("a").style.stroke.width_mm == 1.0


def test_scaling_without_a_size_or_without_extent_is_refused():
    with pytest.raises(CannotApply, match="No size"):
        done(one(), "scale")
    flat = job_of(shape("a", rectangle(0, 0, 10, 10).transformed(operations.arrange.Affine(d=0.0))))
    with pytest.raises(CannotApply, match="no extent"):
        done(flat, "scale", height_mm=5)


def test_four_quarter_turns_are_no_turn_to_the_last_bit():
    job = one()
    for _ in range(4):
        job = done(job, "rotate", angle_deg=90)
    assert job.element("a").path == one().element("a").path


def test_turning_about_a_corner_keeps_the_corner():
    turned = done(one(), "rotate", angle_deg=90, anchor="top-left")
    assert box(turned) == pytest.approx((-10, 20, 10, 60))


def test_a_mirrored_shape_mirrored_again_is_itself():
    twice = done(done(one(), "mirror"), "mirror")
    assert twice.element("a").path == one().element("a").path
    assert area(done(one(), "mirror").element("a").path) == pytest.approx(-area(one().element("a").path))


def test_mirroring_about_the_sheet_moves_art_to_the_other_side():
    assert box(done(one(), "mirror", about_sheet=True)) == pytest.approx((150, 20, 190, 40))


def test_lining_up_with_each_other_and_with_the_sheet():
    job = ring_and_bar()
    assert box(done(job, "align", edge="left"), "bar")[0] == pytest.approx(30.0)
    centred = done(job, "align", edge="middle", to="sheet")
    assert centred.bounds[1] + centred.bounds[3] == pytest.approx(200.0)


def test_rows_and_columns_keep_the_gap_and_every_copy_has_its_own_id():
    job = done(one(), "duplicate", columns=3, rows=2, gap_mm=5)
    boxes = sorted(each.bounds for each in job.shapes())
    assert len({each.id for each in job.shapes()}) == 6
    assert boxes[0] == (10, 20, 50, 40)
    assert boxes[-1] == pytest.approx((100, 45, 140, 65))


def test_a_duplicated_group_has_fresh_ids_all_the_way_down():
    job = Job("j", 100, 100, (Layer("l", "L", (Group("g", (shape("a", circle((5, 5), 2)),)),)),))
    copied = done(job, "duplicate", on={"id": "g"})
    assert [each.id for each in copied.elements()] == ["g", "a", "g-2", "a-2"]


def test_an_absurd_number_of_copies_is_refused():
    with pytest.raises(CannotApply, match="1000000 pieces"):
        done(one(), "duplicate", columns=1000, rows=1000)


def test_the_sheet_fits_around_the_art():
    job = done(one(), "sheet", fit=True, margin_mm=3)
    assert (job.width_mm, job.height_mm) == pytest.approx((46, 26))
    assert box(job) == pytest.approx((3, 3, 43, 23))
    assert done(one(), "sheet", width_mm="1m").width_mm == 1000


def test_a_circle_turned_stays_a_circle():
    job = done(job_of(shape("a", circle((50, 50), 10))), "rotate", angle_deg=33)
    assert area(job.element("a").path) == pytest.approx(math.pi * 100, rel=1e-14)
