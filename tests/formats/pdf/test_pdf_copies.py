"""Art that lies on a sheet many times is said once in a PDF, and painted everywhere as if it were said each time."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from bladewise.document import (
    Colour,
    Element,
    Gradient,
    GradientKind,
    Group,
    Job,
    Layer,
    Shape,
    Stop,
    Stroke,
    Style,
)
from bladewise.formats.pdf import copies, pdf_bytes
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import circle, joined, polygon
from outside.pictures import difference
from outside.test_pdf import BOUND, apart, pdfium_picture
from pdf_reading import read_pdf
from pieces import BLUE, ORANGE, shape

if TYPE_CHECKING:
    from pdf_reading import Painted

WARM = Gradient(
    GradientKind.LINEAR, (10.0, 10.0), (20.0, 10.0), (Stop(0.0, Colour(255, 0, 0)), Stop(1.0, Colour(255, 255, 0)))
)
PLACES = [(21.0 * across, 21.0 * down) for down in range(3) for across in range(5)]


def rosette(fill: object = ORANGE) -> tuple[Shape, ...]:
    dots = joined(circle((15.0 + 6.0 * np.cos(turn), 15.0 + 6.0 * np.sin(turn)), 1.0) for turn in range(6))
    line = polygon([(10.0, 10.0), (20.0, 12.0), (12.0, 20.0)], closed=False)
    disc = Shape("disc", circle((15.0, 15.0), 5.0), Style(fill=fill))
    return shape("dots", dots, BLUE), disc, shape("line", line, None, Stroke(BLUE, 0.8))


def moved(elements: tuple[Element, ...], number: int, place: tuple[float, float]) -> tuple[Element, ...]:
    found = []
    for each in elements:
        copy = each.transformed(Affine.moved(*place))
        if isinstance(copy, Group):
            copy = replace(copy, children=moved(copy.children, number, (0.0, 0.0)))
        found.append(replace(copy, id=f"{copy.id}-{number}"))
    return tuple(found)


def sheet(one: tuple[Element, ...], places: list[tuple[float, float]] = PLACES) -> Job:
    children = [each for number, place in enumerate(places) for each in moved(one, number, place)]
    return Job("Sheet", 120.0, 80.0, (Layer("art", "Art", tuple(children)),))


def forms(data: bytes) -> int:
    pdf, _ = read_pdf(data)
    objects = pdf.pages[0].Resources.get("/XObject", {})
    return sum(one.Subtype == "/Form" and "/Group" not in one for one in objects.values())


def strokes_and_fills(data: bytes) -> list[Painted]:
    return [one for one in read_pdf(data)[1] if one.path]


def test_copies_are_painted_where_they_would_be_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    job = sheet(rosette())
    once = pdf_bytes(job)
    monkeypatch.setattr(copies, "_LEAST_SAVED", 10**9)
    each = pdf_bytes(job)
    assert (forms(once), forms(each)) == (1, 0)
    assert len(once) < len(each) / 2
    told, wanted = strokes_and_fills(once), strokes_and_fills(each)
    assert [one.operator for one in told] == [one.operator for one in wanted]
    for one, other in zip(told, wanted, strict=True):
        assert [verb for verb, _ in one.path] == [verb for verb, _ in other.path]
        assert replace(one.look, place=None) == replace(other.look, place=None)
        for (_, found), (_, meant) in zip(one.path, other.path, strict=True):
            assert found is None or np.abs(found - meant).max() < 1e-4


def test_groups_that_are_copies_are_said_once_too() -> None:
    data = pdf_bytes(sheet((Group("whole", rosette()),)))
    assert forms(data) == 1
    assert len(strokes_and_fills(data)) == 3 * len(PLACES)


@pytest.mark.parametrize(
    "one",
    [
        pytest.param(rosette(WARM), id="a gradient goes with its art"),
        pytest.param((Group("veil", rosette(), opacity=0.5),), id="a group seen through as a whole"),
        pytest.param(rosette(replace(WARM, stops=(*WARM.stops[:1], Stop(1.0, ORANGE, 0.2)))), id="a clear gradient"),
    ],
)
def test_pdfium_paints_copies_as_resvg_does(one: tuple[Element, ...]) -> None:
    seen = apart(sheet(one))
    assert seen.within(BOUND), seen


def test_a_copy_whose_first_hangs_far_off_the_sheet_is_whole() -> None:
    job = sheet(rosette(), [(-400.0, 0.0), *PLACES])
    there = sheet(rosette())
    assert difference(pdfium_picture(pdf_bytes(job), 480), pdfium_picture(pdf_bytes(there), 480)).within(BOUND)


@pytest.mark.parametrize("what", ["colour", "place", "hidden"])
def test_what_differs_by_a_little_is_no_copy(what: str) -> None:
    """The seventh of fifteen copies differs: it is painted as it is, and those after it are copies again."""
    job = sheet(rosette())
    children = list(job.layers[0].children)
    odd = children[3 * 6 + 1]
    assert isinstance(odd, Shape)
    if what == "colour":
        children[3 * 6 + 1] = replace(odd, style=Style(fill=BLUE))
    elif what == "place":
        children[3 * 6 + 1] = odd.transformed(Affine.moved(0.01, 0.0))
    else:
        children[3 * 6 + 1] = replace(odd, visible=False)
    job = replace(job, layers=(replace(job.layers[0], children=tuple(children)),))
    told = strokes_and_fills(pdf_bytes(job))
    shown = [each for each in children if each.visible]
    assert len(told) == len(shown)
    for one, meant in zip(told, shown, strict=True):
        x, y = meant.path.points[0, 0] * (72.0 / 25.4)
        assert np.abs(one.path[0][1] - (x, 80.0 * 72.0 / 25.4 - y)).max() < 1e-4
    if what == "colour":
        assert told[19].look.fill[1] == pytest.approx([channel / 255.0 for channel in BLUE], abs=1e-6)
