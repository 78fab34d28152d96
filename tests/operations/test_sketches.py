"""Sketches: what a step comes to, near enough to be looked at, long before it has been computed."""

import math
from dataclasses import replace

import pytest

from bladewise import operations
from bladewise.document import BLACK, Colour, Job, Layer, Shape, Stroke, Style
from bladewise.geometry.measures import area
from bladewise.geometry.path import circle, joined, rectangle
from bladewise.geometry.regions import FillRule
from bladewise.operations.sketches import has_sketch, sketch

RED = Colour(200, 30, 30)


def job_of(*shapes):
    return Job("Job", 300, 200, (Layer("layer", "Layer", shapes),))


def made(job, result):
    known = {shape.id for shape in job.shapes()}
    return [shape for shape in result.shapes() if shape.id not in known]


RING = Shape("ring", joined([circle((60, 60), 30), circle((60, 60), 18).reversed()]), Style(fill=RED))
EVEN = Shape("even", joined([circle((60, 60), 30), circle((60, 60), 18)]), Style(fill=RED, fill_rule=FillRule.EVEN_ODD))
BAR = Shape("bar", rectangle(70, 50, 80, 20), Style(stroke=Stroke(BLACK, 6.0)))


@pytest.mark.parametrize("first", [RING, EVEN])
@pytest.mark.parametrize(
    ("do", "values"),
    [
        ("stepped-outline", {"distance_mm": 4.0, "steps": 3}),
        ("stepped-outline", {"distance_mm": 1.0, "side": "inside"}),
        ("stepped-outline", {"distance_mm": 5.0, "corner": "miter", "each": True}),
        ("cut-line", {"distance_mm": 2.0}),
        ("cut-line", {"distance_mm": 2.0, "holes": "outer", "inlet_radius_mm": 3.0, "point_radius_mm": 2.0}),
        ("cut-line", {"distance_mm": -1.0, "islands": "bridged", "bridge_width_mm": 3.0}),
        ("cut-line", {"distance_mm": 0.0, "islands": "backed", "reach_mm": 5.0}),
    ],
)
def test_a_sketch_is_what_the_step_will_make_to_within_what_can_be_seen(first, do, values):
    job = job_of(first, BAR)
    step = operations.step(do, {"on": "all", **values})
    assert has_sketch(step)
    look = sketch(job, step)
    exact = made(job, operations.apply(job, step).job)
    rough = [shape for shape in look.job.shapes() if shape.id in look.ids]
    assert len(rough) == len(exact)
    sizes = [sorted(area(shape.path) for shape in shapes) for shapes in (rough, exact)]
    assert sizes[0] == pytest.approx(sizes[1], rel=0.01)
    boxes = [sorted(shape.bounds for shape in shapes) for shapes in (rough, exact)]
    for ours, theirs in zip(*boxes, strict=True):
        assert ours == pytest.approx(theirs, abs=0.15)


def test_a_sketch_follows_the_number():
    job = job_of(RING)
    radii = []
    for distance in (1.0, 2.0, 7.5):
        look = sketch(job, operations.step("stepped-outline", {"on": "all", "distance_mm": distance}))
        (shape,) = (each for each in look.job.shapes() if each.id in look.ids)
        radii.append((shape.bounds[2] - shape.bounds[0]) / 2.0)
    assert radii == pytest.approx([31.0, 32.0, 37.5], abs=0.05)


def test_a_sketch_of_other_art_is_not_the_one_before():
    step = operations.step("stepped-outline", {"on": "all", "distance_mm": 2.0})
    small, large = job_of(RING), job_of(replace(RING, path=circle((60, 60), 50)))
    for job, radius in ((small, 32.0), (large, 52.0), (small, 32.0)):
        look = sketch(job, step)
        (shape,) = (each for each in look.job.shapes() if each.id in look.ids)
        assert (shape.bounds[2] - shape.bounds[0]) / 2.0 == pytest.approx(radius, abs=0.05)


def test_where_no_outline_is_left_there_is_no_sketch():
    step = operations.step("stepped-outline", {"on": "all", "distance_mm": 90.0, "side": "inside"})
    assert sketch(job_of(RING), step) is None


def test_nothing_to_outline_and_other_steps_have_no_sketch():
    assert sketch(job_of(), operations.step("stepped-outline", {"on": "all", "distance_mm": 3.0})) is None
    move = operations.step("move", {"on": "all", "dx_mm": 1.0})
    assert not has_sketch(move)
    assert sketch(job_of(RING), move) is None


def test_an_open_line_with_a_stroke_is_outlined_about_its_ends():
    from bladewise.geometry.path import polygon

    line = Shape("line", polygon([(20, 50), (120, 50)], closed=False), Style(stroke=Stroke(BLACK, 4.0)))
    look = sketch(job_of(line), operations.step("stepped-outline", {"on": "all", "distance_mm": 3.0}))
    (shape,) = (each for each in look.job.shapes() if each.id in look.ids)
    assert shape.bounds == pytest.approx((17.0, 45.0, 123.0, 55.0), abs=0.05)
    assert area(shape.path) == pytest.approx(100 * 10 + 4 * 6 + math.pi * 9, rel=0.01)
