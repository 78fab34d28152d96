"""Part along a line: shapes come apart where a line is drawn across them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bladewise.document import Element, Job, Shape, outline_of
from bladewise.errors import CannotApply
from bladewise.geometry import booleans
from bladewise.geometry.parting import lines_parted, parted
from bladewise.geometry.path import Path, joined, polygon
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    lengths,
    optional_selection,
    switch,
)
from bladewise.operations.painted import reshaped
from bladewise.operations.selection import Selection, nothing_matches, shapes_or_refuse
from bladewise.phrases import phrase


@dataclass(frozen=True, kw_only=True)
class PartAlongLine:
    """Shapes come apart along a line drawn across them; open lines are cut there."""

    on: Selection = acts_on()
    points_mm: tuple[float, ...] = lengths((), help="The line: x and y of each point in turn")
    along: Selection | None = optional_selection(help="Instead: a line that is there, curves and all")
    keep_line: bool = switch(default=False, help="Keep that line")
    by_side: bool = switch(default=False, help="What lies on one side of the line stays one shape")


def part_along_line(job: Job, record: PartAlongLine, progress: Progress) -> Result:
    """Let shapes come apart along a line; the largest part keeps the name."""
    line, taken_up = _line(job, record)
    shapes = [shape for shape in shapes_or_refuse(record.on, job) if shape.id not in taken_up]
    if not shapes:
        msg = "There is no shape here but the line itself."
        raise CannotApply(msg, where=record.on.describe(job), hint="Choose the shapes to part as well.")
    replacements: dict[str, tuple[Element, ...]] = {}
    made: list[str] = []
    fresh: set[str] = set()
    whole = 0
    for done, shape in enumerate(shapes):
        paths = _parts(shape, line, by_side=record.by_side)
        progress((done + 1) / len(shapes))
        if len(paths) < 2:
            whole += 1
            continue
        parts: list[Shape] = []
        for number, path in enumerate(paths):
            key = shape.id if not number else job.fresh_id(f"{shape.id}-part", taken=fresh)
            fresh.add(key)
            name = shape.name if not number else f"{shape.name or shape.id} {number + 1}"
            parts.append(replace(reshaped(shape, path), id=key, name=name))
        replacements[shape.id] = tuple(parts)
        made += [part.id for part in parts]
    if not replacements:
        msg = "The line does not go all the way through anything here."
        raise CannotApply(msg, where=record.on.describe(job), hint="Draw it from one side of the shape to the other.")
    if not record.keep_line:
        replacements |= dict.fromkeys(taken_up, ())
    reports = (
        (
            phrase(
                "{whole} of {count} shapes stayed whole: the line does not go through them.",
                whole=whole,
                count=len(shapes),
            ),
        )
        if whole
        else ()
    )
    return Result(job.replaced(replacements), reports, tuple(made))


def _line(job: Job, record: PartAlongLine) -> tuple[Path, list[str]]:
    """Return the line, and the ids of the art that it is."""
    if record.along is not None:
        art = record.along.elements(job)
        path = joined(outline_of(element) for element in art)
        if not path:
            raise nothing_matches(record.along, job)
        return path, [element.id for element in art]
    numbers = record.points_mm
    points = list(zip(numbers[0::2], numbers[1::2], strict=False))
    if len(numbers) % 2 or len(set(points)) < 2:
        msg = "A line needs two points or more, x and y of each."
        raise CannotApply(msg, where=record.on.describe(job), hint="Draw a line across the shapes.")
    return polygon(points, closed=False), []


def _parts(shape: Shape, line: Path, *, by_side: bool) -> list[Path]:
    """Return the paths that a shape falls into; one or none if it stays whole."""
    if shape.style.fill is None:
        return lines_parted(shape.path, line)
    parts = parted(booleans.resolve(shape.region), line)
    if by_side:
        groups = [[part for part in parts if part.side == side] for side in (1, -1, 0)]
    else:
        groups = [[part] for part in parts if part.reached]
        groups.append([part for part in parts if not part.reached])
    return [joined(part.path for part in group) for group in groups if group]


def _line_text(record: PartAlongLine) -> str:
    what = phrase("a line") if record.along is None else record.along.describe()
    return phrase("Part {describe} along {what}", describe=record.on.describe(), what=what)


OPERATIONS = (
    Operation(
        "part-along-line",
        "Part along a line",
        "Shapes come apart along a line drawn across them; open lines are cut there.",
        PartAlongLine,
        part_along_line,
        _line_text,
    ),
)
