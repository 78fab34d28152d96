"""What we read from a drawing looks like the drawing: our layered SVG of it beside the original.

Both are painted by resvg (PyPI `resvg_py`, dpi=96), so that only reading and writing are on trial; and
for the W3C SVG 1.1 suite our copy stands against the suite's own pictures. Lettering is left out,
because which font a computer has is not what is tested; where the suite's pictures show lettering,
those places are not looked at. Bounds, selection and skips are in pictures.py.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from bladewise.formats import read_svg, svg_text
from outside.pictures import (
    BOUND,
    CLIPPED_BOUND,
    CUSTOMERS,
    DEMO,
    SKIPPED,
    W3C,
    W3C_BOUND,
    W3C_SKIPPED,
    difference,
    lettering_boxes,
    own_picture,
    picture,
    size_in_px,
    without_lettering,
)

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.parametrize(
    ("parameters", "skipped", "compared"), [(CUSTOMERS, SKIPPED, 469), (W3C, W3C_SKIPPED, 92)], ids=["customers", "w3c"]
)
def test_as_many_files_are_compared_as_we_say(parameters, skipped, compared) -> None:
    if any(one.marks for one in parameters):
        pytest.skip("a set is not there")
    left = [one for one in parameters if one.values[0].name not in skipped]
    assert len(left) >= compared
    assert {*skipped} <= {one.values[0].name for one in parameters}, "a skip that skips nothing"


@pytest.mark.parametrize("path", DEMO)
def test_a_demo_drawing_looks_the_same_after_reading_and_writing(path: Path) -> None:
    job = read_svg(path)
    size = size_in_px(job.width_mm, job.height_mm)
    held = lettering_boxes(job, *size)
    original, copy = picture(path, *size), picture(svg_text(without_lettering(job)), *size)
    original[held] = copy[held] = 255.0
    assert difference(original, copy).within(BOUND)


@pytest.mark.parametrize("path", CUSTOMERS)
def test_customers_art_looks_the_same_after_reading_and_writing(path: Path) -> None:
    if reason := SKIPPED.get(path.name):
        pytest.skip(reason)
    job = read_svg(path)
    size = size_in_px(job.width_mm, job.height_mm)
    apart = difference(picture(path, *size), picture(svg_text(without_lettering(job)), *size))
    bound = CLIPPED_BOUND if any("clip" in note for note in job.notes) else BOUND
    assert apart.within(bound), f"{apart}, {job.notes}"


@pytest.mark.parametrize("path", W3C)
def test_a_file_of_the_w3c_suite_looks_like_the_suites_own_picture(path: Path) -> None:
    if reason := W3C_SKIPPED.get(path.name):
        pytest.skip(reason)
    wanted = own_picture(path)
    if wanted is None:
        pytest.skip("the suite has no picture of this file")
    job = read_svg(path)
    height, width = wanted.shape[:2]
    copy = picture(svg_text(without_lettering(job)), width, height)
    assert copy.shape == wanted.shape
    held = lettering_boxes(job, width, height)
    wanted[held] = copy[held] = 255.0
    apart = difference(wanted, copy)
    assert apart.within(W3C_BOUND), f"{apart}, {job.notes}"
