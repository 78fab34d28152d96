"""Placing art."""

import math

import pytest

from bladewise import operations
from bladewise.document import Shape, Stroke, Style
from bladewise.errors import CannotApply
from bladewise.geometry.measures import area
from bladewise.geometry.path import circle, rectangle
from pieces import BLUE, job_of, shape


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


def test_one_length_leaves_the_other_as_it_is_if_the_ratio_is_not_kept():
    wide = done(one(), "scale", width_mm=80, keep_ratio=False, anchor="left")
    assert box(wide) == pytest.approx((10, 20, 90, 40))
    high = done(one(), "scale", height_mm="1in", keep_ratio=False, anchor="top-left")
    assert box(high) == pytest.approx((10, 20, 50, 45.4))


@pytest.mark.parametrize(
    ("do", "values", "expected"),
    [
        ("scale", {"width_mm": 80, "about_x_mm": 0, "about_y_mm": 0}, (20, 40, 100, 80)),
        ("scale", {"width_mm": 80, "about_x_mm": 10}, (10, 10, 90, 50)),
        ("rotate", {"angle_deg": 90, "about_x_mm": 0, "about_y_mm": 0}, (-40, 10, -20, 50)),
        ("mirror", {"about_x_mm": 0}, (-50, 20, -10, 40)),
        ("mirror", {"anchor": "right"}, (50, 20, 90, 40)),
        ("mirror", {"across": "top-bottom", "anchor": "bottom"}, (10, 40, 50, 60)),
        ("skew", {"across_deg": 45}, (0, 20, 60, 40)),
        ("skew", {"across_deg": 45, "anchor": "bottom-left"}, (10, 20, 70, 40)),
        ("skew", {"down_deg": 45, "anchor": "top-left"}, (10, 20, 50, 80)),
        ("skew", {"across_deg": 45, "about_y_mm": 0}, (-30, 20, 30, 40)),
    ],
)
def test_it_goes_about_any_point_that_is_named(do, values, expected):
    assert box(done(one(), do, **values)) == pytest.approx(expected)


def test_leaning_takes_the_top_to_the_right_and_keeps_the_area():
    leaned = done(one(), "skew", across_deg=20, down_deg=0)
    assert leaned.element("a").path.points[0, 0, 0] > 10
    assert area(leaned.element("a").path) == pytest.approx(800)
    with pytest.raises(CannotApply, match="flat or turned over"):
        done(one(), "skew", across_deg=-60, down_deg=60)


def test_the_step_says_what_happens_to_strokes():
    assert operations.summary(operations.step("scale", {"width_mm": 80})) == "Scale all to 80 mm wide"
    kept = operations.summary(operations.step("scale", {"height_mm": 5, "scale_strokes": False}))
    assert kept == "Scale all to 5 mm high, strokes keep their width"
    assert operations.summary(operations.step("skew", {"across_deg": 10})) == "Skew all by 10°, 0°"


def test_the_sheet_fits_around_the_art():
    job = done(one(), "sheet", fit=True, margin_mm=3)
    assert (job.width_mm, job.height_mm) == pytest.approx((46, 26))
    assert box(job) == pytest.approx((3, 3, 43, 23))
    assert done(one(), "sheet", width_mm="1m").width_mm == 1000


def test_a_circle_turned_stays_a_circle():
    job = done(job_of(shape("a", circle((50, 50), 10))), "rotate", angle_deg=33)
    assert area(job.element("a").path) == pytest.approx(math.pi * 100, rel=1e-14)
