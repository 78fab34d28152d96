"""Guides: straight lines without paint to place art by. What shows no paint is of no vinyl, so no knife follows one."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bladewise.document import Job, Shape, Style
from bladewise.geometry.path import polygon
from bladewise.operations.declaration import Operation, Progress, Result, choice, length
from bladewise.operations.drawing import at_front
from bladewise.phrases import phrase
from bladewise.units import format_number


class Way(StrEnum):
    """Which way a guide runs."""

    UPRIGHT = "upright"
    LEVEL = "level"


@dataclass(frozen=True, kw_only=True)
class DrawGuide:
    """A guide as long as the sheet."""

    way: Way = choice(Way.UPRIGHT, help="Which way it runs")
    at_mm: float = length(0.0, minimum=-1e6, maximum=1e6, help="How far from the left, or from the top")


def draw_guide(job: Job, record: DrawGuide, progress: Progress) -> Result:
    """Put a guide at the front."""
    progress(1.0)
    if record.way is Way.UPRIGHT:
        ends = [(record.at_mm, 0.0), (record.at_mm, job.height_mm)]
    else:
        ends = [(0.0, record.at_mm), (job.width_mm, record.at_mm)]
    fresh = job.fresh_id("guide")
    return Result(at_front(job, Shape(fresh, polygon(ends, closed=False), Style(), "Guide")), (), (fresh,))


OPERATIONS = (
    Operation(
        "draw-guide",
        "Guide",
        "Set a line to snap to; it is never cut.",
        DrawGuide,
        draw_guide,
        lambda r: phrase("Guide, {way} at {at} mm", way=r.way, at=format_number(r.at_mm)),
        least=0,
    ),
)
