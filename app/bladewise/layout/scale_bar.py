"""A scale bar: a length to be measured on paper or screen, so that nobody has to trust a printer's settings.

Its parts are black and white in turn, its ends are edges, and its length is a round number of millimetres or
inches; whoever lays a rule on it sees whether the page was printed at 100 percent.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import NamedTuple

from bladewise.document import BLACK, Colour, Job, Layer, Shape, Style
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import rectangle
from bladewise.layout.page import POINT_MM, Box, Item, Page, Words, page_as_job, width_of
from bladewise.phrases import phrase
from bladewise.units import MM_PER_INCH, format_number

_WHITE = Colour(255, 255, 255)
_HEIGHT_MM = 2.4
_LINE_MM = 0.3


class ScaleBar(NamedTuple):
    """How long a bar is and into how many parts it is divided."""

    length_mm: float
    parts: int
    text: str


def bar_for(room_mm: float, unit: str = "mm", *, most_mm: float = 100.0) -> ScaleBar:
    """Return the longest bar of a round length that fits a room.

    Parameters
    ----------
    room_mm
        How much room there is; less than a millimetre is treated as one.
    unit
        "mm" or "in".
    most_mm
        No longer than this.
    """
    whole = MM_PER_INCH if unit == "in" else 1.0
    limit = max(min(room_mm, most_mm) / whole, 1e-3)
    rounds = [(factor * 10.0**power, factor) for power in range(-3, 5) for factor in (1, 2, 5)]
    length, factor = max(each for each in rounds if each[0] <= limit + 1e-9)
    parts = {1: 10, 2: 4, 5: 5}[factor]
    return ScaleBar(length * whole, parts, phrase("{length} {unit}", length=format_number(length), unit=unit))


def bar_items(bar: ScaleBar, x_mm: float, y_mm: float, text: str, *, height_mm: float = _HEIGHT_MM) -> list[Item]:
    """Return a bar whose left end and upper edge lie at a place, with a line of text under it.

    The frame lies inside, so that the outermost black edges are exactly the bar's length apart.
    """
    part = bar.length_mm / bar.parts
    edges = [x_mm + number * part for number in range(bar.parts)] + [x_mm + bar.length_mm]
    line = min(_LINE_MM, height_mm / 4.0)
    items: list[Item] = [
        Box(x_mm, y_mm, bar.length_mm, height_mm, fill=BLACK),
        *(
            Box(
                left,
                y_mm + line,
                right - left - (line if number == bar.parts - 1 else 0.0),
                height_mm - 2.0 * line,
                _WHITE,
            )
            for number, (left, right) in enumerate(itertools.pairwise(edges))
            if number % 2 == 1
        ),
    ]
    size = max(height_mm * 1.25, 0.1)
    return [*items, Words(x_mm, y_mm + height_mm + size * 1.15, text, size)]


def with_scale_bar(job: Job, unit: str = "mm") -> Job:
    """Return a job on a sheet that is longer by a strip with a scale bar at its foot: for a picture of it."""
    size = min(max(min(job.width_mm, job.height_mm) / 30.0, 8.0 * POINT_MM), 40.0)
    bar = bar_for(job.width_mm * 0.8, unit, most_mm=1e6)
    high, left = size * 0.8, min(size, job.width_mm * 0.1)
    while width_of(bar.text, high * 1.25) > job.width_mm - left and high > 0.05:
        high *= 0.8
    page = Page(job.width_mm, 3.5 * size, tuple(bar_items(bar, left, size * 0.6, bar.text, height_mm=high)))
    shapes = [
        replace(shape.transformed(Affine.moved(0.0, job.height_mm)), id=job.fresh_id(f"scale-bar-{number}"))
        for number, shape in enumerate(page_as_job(page, "").shapes())
    ]
    strip = rectangle(0.0, job.height_mm, job.width_mm, page.height_mm)
    ground = Shape(job.fresh_id("scale-bar-ground"), strip, Style(fill=_WHITE))
    layer = Layer(job.fresh_id("scale-bar"), "Scale bar", (ground, *shapes))
    return replace(job, height_mm=job.height_mm + page.height_mm, layers=(*job.layers, layer))
