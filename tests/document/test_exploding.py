"""The exploded view: layers lifted off one another in order."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise.document import Job, Layer, Shape
from bladewise.document.exploding import exploded_offsets
from bladewise.geometry.path import rectangle

numbers = st.floats(1.0, 90.0).map(lambda value: round(value, 2))


def job_of_boxes(boxes):
    layers = [Layer(f"l{number}", "L", (Shape(f"s{number}", rectangle(*box)),)) for number, box in enumerate(boxes)]
    return Job("j", 200.0, 200.0, tuple(layers))


@settings(max_examples=50)
@given(st.lists(st.tuples(numbers, numbers, numbers, numbers), min_size=1, max_size=6), st.floats(0.0, 180.0))
def test_lifted_all_the_way_no_layer_overlaps_another_and_the_lowest_stays(boxes, slant):
    offsets = exploded_offsets(job_of_boxes(boxes), slant_deg=slant)
    assert offsets["l0"] == (0.0, 0.0)
    moved = [
        (x + dx, y + dy, x + w + dx, y + h + dy) for (x, y, w, h), (dx, dy) in zip(boxes, offsets.values(), strict=True)
    ]
    for number, one in enumerate(moved):
        for other in moved[:number]:
            across = min(one[2], other[2]) - max(one[0], other[0])
            down = min(one[3], other[3]) - max(one[1], other[1])
            assert min(across, down) <= 1e-6


def test_the_amount_goes_from_nothing_to_all_in_proportion():
    job = job_of_boxes([(0, 0, 10, 10), (0, 0, 10, 10), (0, 0, 10, 10)])
    assert set(exploded_offsets(job, 0.0).values()) == {(0.0, 0.0)}
    half, full = exploded_offsets(job, 0.5), exploded_offsets(job, 1.0)
    for key, (dx, dy) in full.items():
        assert half[key] == pytest.approx((dx / 2, dy / 2))
    lifts = [math.hypot(*each) for each in full.values()]
    assert lifts == sorted(lifts)
    assert lifts[1] < lifts[2]


def test_hidden_and_empty_layers_take_no_place():
    job = job_of_boxes([(0, 0, 10, 10), (0, 0, 10, 10), (0, 0, 10, 10)])
    layers = (job.layers[0], replace(job.layers[1], visible=False), Layer("empty", "E"), job.layers[2])
    offsets = exploded_offsets(replace(job, layers=layers), slant_deg=90.0)
    assert offsets == {"l0": (0.0, 0.0), "l1": (0.0, 0.0), "empty": (0.0, 0.0), "l2": (0.0, -10.0)}
