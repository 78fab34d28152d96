"""The bar that tells whether a page or a picture is true to size."""

import pytest

from bladewise.layout.page import Box, Words
from bladewise.layout.scale_bar import bar_for, bar_items, with_scale_bar
from pieces import two_circles


@pytest.mark.parametrize(
    ("room", "unit", "most", "length", "text"),
    [
        (180, "mm", 100, 100, "100 mm"),
        (99, "mm", 100, 50, "50 mm"),
        (7.2, "mm", 100, 5, "5 mm"),
        (2400, "mm", 1e6, 2000, "2000 mm"),
        (110, "in", 101.6, 50.8, "2 in"),
        (200, "in", 254, 127, "5 in"),
        (0.03, "mm", 100, 0.02, "0.02 mm"),
    ],
)
def test_a_bar_is_the_longest_round_length_that_fits(room, unit, most, length, text):
    bar = bar_for(room, unit, most_mm=most)
    assert bar.length_mm == pytest.approx(length)
    assert bar.text == text


def test_the_outermost_black_is_exactly_as_long_as_the_bar_says():
    ground, *parts = [each for each in bar_items(bar_for(100), 10.0, 20.0, "100 mm") if isinstance(each, Box)]
    assert (ground.x_mm, ground.width_mm) == (10.0, 100.0)
    assert min(part.x_mm for part in parts) > 10.0
    assert max(part.x_mm + part.width_mm for part in parts) < 110.0
    assert len(parts) == 5


def test_a_job_gets_a_strip_with_a_bar_under_it_and_is_else_as_it_was():
    job = two_circles()
    longer = with_scale_bar(job)
    assert longer.width_mm == job.width_mm
    assert longer.layers[:-1] == job.layers
    lengths = [each.bounds[2] - each.bounds[0] for each in longer.layers[-1].children]
    assert any(length == pytest.approx(100.0) for length in lengths)
    assert all(each.bounds[1] >= job.height_mm - 1e-9 for each in longer.layers[-1].children)
    assert longer.bounds[3] <= longer.height_mm


def test_the_words_say_the_length():
    words = [each.text for each in bar_items(bar_for(60), 0, 0, "Measure this bar: 50 mm") if isinstance(each, Words)]
    assert words == ["Measure this bar: 50 mm"]
