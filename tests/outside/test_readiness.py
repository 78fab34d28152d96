"""Make cut-ready on art of several colours by others: every drawing ends ready, or with what a person must decide.

The art is every 120th file of a set of openly licensed emoji (packaging/outside_data.py), 36 px of it brought to
100 mm, as a sign would be; the pictures before and after are resvg's. tests/benchmarks/bench_readying.py counts
hundreds.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from bladewise.checks.readying import plan
from bladewise.document import Colour, Job, Layer, Shape, Style
from bladewise.geometry.path import rectangle
from outside.readied import apart, readied
from outside_cases import cases

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.parametrize("path", cases("twemoji", every=120))
def test_every_emoji_ends_ready_or_with_what_a_person_must_decide_and_looks_the_same(path: Path) -> None:
    ended = readied(path)
    assert ended.wrong == ()
    assert ended.looks_the_same, f"{100.0 * ended.apart:.2f} % of the picture is another after {ended.steps}"


def test_a_piece_that_is_gone_is_another_picture_and_a_seam_is_none() -> None:
    def job(*boxes: tuple[float, float, float, float]) -> Job:
        shapes = tuple(Shape(f"s{n}", rectangle(*box), Style(Colour(0, 90, 160))) for n, box in enumerate(boxes))
        return Job("J", 100, 100, (Layer("l", "L", shapes),))

    whole, halves = job((10, 10, 80, 80)), job((10, 10, 40, 80), (50, 10, 40, 80))
    assert apart(whole, halves) == 0.0
    assert apart(whole, job((10, 10, 80, 76))) == pytest.approx(0.032, abs=0.005)


def test_see_through_art_keeps_its_look() -> None:
    """Two of one colour overlap, one of them half see-through: one piece of them would look another."""
    solid, clear = Style(Colour(0, 90, 160)), Style(Colour(0, 90, 160), opacity=0.5)
    shapes = Shape("a", rectangle(10, 10, 50, 50), solid), Shape("b", rectangle(40, 40, 50, 50), clear)
    job = Job("J", 100, 100, (Layer("l", "L", shapes),))
    assert apart(job, plan(job).job) == 0.0
