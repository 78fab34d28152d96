"""Lining up: by edges and middles, on the sheet, at equal distances, with equal gaps."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.operations.declaration import Operation, Progress, Result, acts_on, choice, length
from bladewise.operations.selection import Selection, measured_or_refuse
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Mapping

    from bladewise.document import Box, Element, Job


class Edge(StrEnum):
    """What is lined up."""

    LEFT = "left"
    CENTRE = "centre"
    RIGHT = "right"
    TOP = "top"
    MIDDLE = "middle"
    BOTTOM = "bottom"

    @property
    def axis(self) -> int:
        """0 for edges that stand upright, 1 for those that lie."""
        return 0 if self in (Edge.LEFT, Edge.CENTRE, Edge.RIGHT) else 1

    def of(self, box: Box) -> float:
        """Return where it is in a box, along its axis."""
        low, high = box[self.axis], box[self.axis + 2]
        if self in (Edge.LEFT, Edge.TOP):
            return low
        return high if self in (Edge.RIGHT, Edge.BOTTOM) else (low + high) / 2.0


class Reference(StrEnum):
    """What it is lined up with."""

    SELECTION = "selection"
    SHEET = "sheet"


class Which(StrEnum):
    """In which direction."""

    BOTH = "both"
    ACROSS = "across"
    DOWN = "down"


class Way(StrEnum):
    """Side by side, or one below the other."""

    ACROSS = "across"
    DOWN = "down"


@dataclass(frozen=True, kw_only=True)
class Align:
    """Line art up."""

    on: Selection = acts_on()
    edge: Edge = choice(Edge.CENTRE, help="What is lined up")
    to: Reference = choice(Reference.SELECTION, help="With each other, or as one with the sheet")


@dataclass(frozen=True, kw_only=True)
class CentreOnSheet:
    """Bring art, as one, to the middle of the sheet."""

    on: Selection = acts_on()
    which: Which = choice(Which.BOTH, help="Across, down, or both")


@dataclass(frozen=True, kw_only=True)
class Distribute:
    """Bring edges or middles to equal distances between the outermost two."""

    on: Selection = acts_on()
    by: Edge = choice(Edge.CENTRE, help="What comes to lie at equal distances")


@dataclass(frozen=True, kw_only=True)
class EqualGaps:
    """Make the gaps between neighbours equal."""

    on: Selection = acts_on()
    way: Way = choice(Way.ACROSS, help="Side by side, or one below the other")
    gap_mm: float | None = length(
        None, minimum=-1e5, maximum=1e5, help="The gap; left out: the outermost two stay and share what is between them"
    )


def align(job: Job, record: Align, progress: Progress) -> Result:
    """Line elements up with each other, or all of them as one with the sheet."""
    elements, box = measured_or_refuse(record.on, job)
    progress(1.0)
    if record.to is Reference.SHEET:
        by = record.edge.of((0.0, 0.0, job.width_mm, job.height_mm)) - record.edge.of(box)
        return _shifted(job, elements, {each.id: _along(record.edge.axis, by) for each in elements})
    goal = record.edge.of(box)
    return _shifted(
        job,
        elements,
        {each.id: _along(record.edge.axis, goal - record.edge.of(each.bounds)) for each in elements if each.bounds},
    )


def centre_on_sheet(job: Job, record: CentreOnSheet, progress: Progress) -> Result:
    """Bring elements, as one, to the middle of the sheet."""
    elements, box = measured_or_refuse(record.on, job)
    dx, dy = job.width_mm / 2.0 - Edge.CENTRE.of(box), job.height_mm / 2.0 - Edge.MIDDLE.of(box)
    shift = (0.0 if record.which is Which.DOWN else dx, 0.0 if record.which is Which.ACROSS else dy)
    progress(1.0)
    return _shifted(job, elements, {each.id: shift for each in elements})


def distribute(job: Job, record: Distribute, progress: Progress) -> Result:
    """Bring elements to equal distances; the outermost two stay."""
    elements, _ = measured_or_refuse(record.on, job)
    rows = sorted((record.by.of(each.bounds), each.id) for each in elements if each.bounds)
    if len(rows) < 3:
        msg = phrase("There is nothing to distribute between two; {count} found.", count=len(rows))
        raise CannotApply(msg, where=record.on.describe(job), hint="Select three or more.")
    first, last = rows[0][0], rows[-1][0]
    step = (last - first) / (len(rows) - 1)
    progress(1.0)
    shifts = {key: first + step * number - at for number, (at, key) in enumerate(rows[1:-1], start=1)}
    return _shifted(job, elements, {key: _along(record.by.axis, by) for key, by in shifts.items()})


def equal_gaps(job: Job, record: EqualGaps, progress: Progress) -> Result:
    """Make the gaps equal: those given, or what the outermost two leave; the first stays."""
    elements, _ = measured_or_refuse(record.on, job)
    axis = 0 if record.way is Way.ACROSS else 1
    rows = [(each.bounds[axis], each.bounds[axis + 2], each.id) for each in elements if each.bounds]
    rows.sort(key=lambda row: row[0] + row[1])
    if len(rows) < 2:
        msg = "One alone has no gap."
        raise CannotApply(msg, where=record.on.describe(job), hint="Select two or more.")
    gap = record.gap_mm
    if gap is None:
        between = sum(high - low for low, high, _ in rows[1:-1])
        gap = (rows[-1][0] - rows[0][1] - between) / (len(rows) - 1)
    place = rows[0][1] + gap
    shifts: dict[str, tuple[float, float]] = {}
    for low, high, key in rows[1:]:
        shifts[key] = _along(axis, place - low)
        place += high - low + gap
    progress(1.0)
    return _shifted(job, elements, shifts)


def _along(axis: int, by: float) -> tuple[float, float]:
    return (by, 0.0) if axis == 0 else (0.0, by)


def _shifted(job: Job, elements: list[Element], shifts: Mapping[str, tuple[float, float]]) -> Result:
    moved: dict[str, tuple[Element, ...]] = {
        each.id: (each.transformed(Affine.moved(*shifts[each.id])),)
        for each in elements
        if shifts.get(each.id, (0.0, 0.0)) != (0.0, 0.0)
    }
    return Result(job.replaced(moved), (), tuple(each.id for each in elements))


def _gaps(record: EqualGaps) -> str:
    size = "" if record.gap_mm is None else phrase(", {gap} mm", gap=format_number(record.gap_mm))
    return phrase("Equal gaps {way}, {describe}{size}", way=record.way, describe=record.on.describe(), size=size)


OPERATIONS = (
    Operation(
        "align",
        "Line up",
        "Line art up with each other or with the sheet.",
        Align,
        align,
        lambda r: phrase("Line up {describe}, {edge} with the {to}", describe=r.on.describe(), edge=r.edge, to=r.to),
    ),
    Operation(
        "centre-on-sheet",
        "Centre on the sheet",
        "Bring art, as one, to the middle of the sheet.",
        CentreOnSheet,
        centre_on_sheet,
        lambda r: (
            phrase("Centre {describe} on the sheet", describe=r.on.describe())
            if r.which is Which.BOTH
            else phrase("Centre {describe} on the sheet, {which}", describe=r.on.describe(), which=r.which)
        ),
    ),
    Operation(
        "distribute",
        "Distribute",
        "Bring edges or middles to equal distances between the outermost two.",
        Distribute,
        distribute,
        lambda r: phrase("Distribute {describe} by {by}", describe=r.on.describe(), by=r.by),
        least=3,
    ),
    Operation(
        "equal-gaps",
        "Equal gaps",
        "Make the gaps between neighbours equal, or a given width.",
        EqualGaps,
        equal_gaps,
        _gaps,
        least=2,
    ),
)
