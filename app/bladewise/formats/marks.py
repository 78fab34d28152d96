"""Registration marks: by which two colours, or print and cut, line up on the bench.

Plain crosses, squares and rings of our own; size and place are the operator's. No machine reads
them: they are for people and for the edge of a table.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bladewise.document import BLACK, Job, Shape, Stroke, Style
from bladewise.errors import CannotWrite
from bladewise.geometry.path import Point
from bladewise.operations.marking import MarkKind, art_of, in_the_way, mark_outline
from bladewise.operations.painted import HAIRLINE_MM, label
from bladewise.phrases import phrase

MARK_KINDS = tuple(str(each) for each in MarkKind if each is not MarkKind.NONE)


@dataclass(frozen=True)
class RegistrationMarks:
    """Which marks, how large, and where.

    Parameters
    ----------
    kind
        "cross", "square", "round" or "corner".
    size_mm
        Extent of a mark, across and down.
    line_mm
        Width of the line where marks are printed; a knife follows its middle.
    inset_mm
        Distance of the marks' outer edges from the sheet's corners.
    places
        Centres of the marks in mm on the sheet; the four corners if empty.
    """

    kind: str = "cross"
    size_mm: float = 6.0
    line_mm: float = HAIRLINE_MM
    inset_mm: float = 5.0
    places: tuple[Point, ...] = ()


def marks_on(job: Job, marks: RegistrationMarks) -> list[Shape]:
    """Return the marks as shapes on the sheet of a job, beside its art.

    Raises
    ------
    CannotWrite
        If the kind is not known, the marks do not fit the sheet, or art lies where a mark would stand.
    """
    shapes = mark_shapes(marks, job.width_mm, job.height_mm)
    blocking = in_the_way(art_of(job, job.walk()), [box for shape in shapes if (box := shape.bounds) is not None])
    if blocking:
        raise CannotWrite(
            phrase(
                "{name} lies where a registration mark would stand."
                if len(blocking) == 1
                else "{name} and {more} more lie where registration marks would stand.",
                name=label(blocking[0]),
                more=len(blocking) - 1,
            ),
            where=job.name,
            hint="Make the sheet larger than the art, or set the marks nearer to its corners.",
        )
    return shapes


def mark_shapes(marks: RegistrationMarks, width_mm: float, height_mm: float) -> list[Shape]:
    """Return the marks as shapes on a sheet.

    Raises
    ------
    CannotWrite
        If the kind is not known, or the marks do not fit the sheet.
    """
    if marks.kind not in MARK_KINDS:
        raise CannotWrite(
            phrase("“{kind}” is no registration mark.", kind=marks.kind),
            hint=phrase("Known: {join}.", join=", ".join(MARK_KINDS)),
        )
    if not (marks.size_mm > 0.0 and math.isfinite(marks.size_mm) and marks.line_mm > 0.0):
        raise CannotWrite("Registration marks need a size and a line above 0 mm.")
    reach = marks.size_mm / 2.0
    at = marks.inset_mm + reach
    places = marks.places or ((at, at), (width_mm - at, at), (width_mm - at, height_mm - at), (at, height_mm - at))
    for x, y in places:
        if not (reach <= x <= width_mm - reach and reach <= y <= height_mm - reach):
            raise CannotWrite(
                phrase(
                    "A registration mark at {x:g}, {y:g} mm does not fit the sheet of {width:g} × {height:g} mm.",
                    x=x,
                    y=y,
                    width=width_mm,
                    height=height_mm,
                ),
                hint="Make the marks smaller, or set them further in.",
            )
    style = Style(stroke=Stroke(BLACK, marks.line_mm))
    return [
        Shape(
            f"mark-{number}",
            mark_outline(MarkKind(marks.kind), place, reach, corner=_corner(place, width_mm, height_mm)),
            style,
            name=f"Registration mark {number}",
        )
        for number, place in enumerate(places, start=1)
    ]


def _corner(place: Point, width_mm: float, height_mm: float) -> tuple[int, int]:
    """Return the corner of the sheet that a place is nearest to: −1 left or upper, 1 right or lower."""
    return (-1 if place[0] < width_mm / 2.0 else 1), (-1 if place[1] < height_mm / 2.0 else 1)
