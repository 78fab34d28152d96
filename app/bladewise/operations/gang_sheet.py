"""Many stickers on one sheet: chosen designs with their cut lines and bleed, so many of each, in rows.

A design is everything that is printed and cut as one; its parts may lie on several layers, and stay there.
The first copy keeps the names its parts had, so that later steps find them; the others are numbered.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

import shapely

from bladewise.document import Box, Element, Group, Job, Layer, leaves_in
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    choice,
    integer,
    length,
    switch,
    wording,
)
from bladewise.operations.marking import is_mark, painted_extent
from bladewise.operations.rows import Laid, Size, fits, laid_out, most_on_a_sheet
from bladewise.operations.selection import Selection, nothing_matches
from bladewise.phrases import listing, phrase
from bladewise.units import counted, format_number

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

MOST_COPIES = 20_000
"""More copies than this are not laid out at once."""

_COUNT = re.compile(r"\s*(?:(?P<name>.*\S)[\s:×x]+)?(?P<count>\d+)\s*")


class Designs(StrEnum):
    """What counts as one design."""

    TOGETHER = "together"
    APART = "apart"
    LAYERS = "layers"


@dataclass(frozen=True, kw_only=True)
class GangSheet:
    """Copies of designs in rows on a sheet."""

    on: Selection = acts_on(help="The designs, with their cut lines and bleed")
    designs: Designs = choice(
        Designs.TOGETHER,
        help="One design is: all of it together; what lies apart, each for itself; or each layer",
    )
    counts: str = wording(
        "", help="How many: 24 of each, or by name, Badge 20; Star 8. Left empty: as many as a sheet holds"
    )
    width_mm: float | None = length(None, minimum=1.0, maximum=1e5, help="Width of the sheet; left out: as it is")
    height_mm: float | None = length(None, minimum=1.0, maximum=1e5, help="Height of the sheet; left out: as it is")
    margin_mm: float = length(10.0, minimum=0.0, maximum=1000.0, help="Left free along the edges of the sheet")
    gutter_mm: float = length(3.0, minimum=0.0, maximum=1000.0, help="Space between the copies")
    turn: bool = switch(default=True, help="Turn a design by a quarter where more of it fits")
    sheet: int = integer(1, minimum=1, maximum=10_000, help="Which of the sheets is laid out, if there are several")


class _Design(NamedTuple):
    name: str
    elements: tuple[Element, ...]
    box: Box

    @property
    def size(self) -> Size:
        return Size(self.box[2] - self.box[0], self.box[3] - self.box[1])


def gang_sheet(job: Job, record: GangSheet, progress: Progress) -> Result:
    """Lay copies of the designs out in rows; the sheet takes the size that was asked for."""
    designs = _designs(job, record)
    job = replace(job, width_mm=record.width_mm or job.width_mm, height_mm=record.height_mm or job.height_mm)
    room = Size(job.width_mm - 2.0 * record.margin_mm, job.height_mm - 2.0 * record.margin_mm)
    for design in designs:
        if not (fits(design.size, room) or (record.turn and fits(design.size.turned, room))):
            raise _too_large(design, room, record, job)
    sizes = [design.size for design in designs]
    counts = _counts(record, designs, job) or most_on_a_sheet(sizes, room, record.gutter_mm, may_turn=record.turn)
    if not any(counts):
        raise CannotApply(
            "The designs do not go onto the sheet together.",
            where=record.on.describe(job),
            hint="Make the sheet larger, or say how many of each.",
        )
    laid = laid_out(sizes, counts, room, record.gutter_mm, may_turn=record.turn)
    if laid is None:  # not while each design fits for itself
        raise _too_large(designs[0], room, record, job)
    if record.sheet > len(laid.sheets):
        raise CannotApply(
            phrase("There are only {sheets}.", sheets=counted(len(laid.sheets), "sheet", "sheets")),
            where=record.on.describe(job),
            hint=phrase("Lay out sheet 1 to {last}.", last=len(laid.sheets)),
        )
    progress(0.2)
    result, made = _filled(job, designs, laid, record, progress)
    return Result(result, tuple(_reports(designs, laid, counts, record, job)), made)


def _designs(job: Job, record: GangSheet) -> list[_Design]:
    elements = [each for each in record.on.elements(job) if not is_mark(each)]
    if not elements:
        raise nothing_matches(record.on, job)
    layers = {child.id: layer for layer in job.layers for child in _all_in(layer.children)}
    if record.designs is Designs.TOGETHER:
        groups = [elements]
    elif record.designs is Designs.LAYERS:
        by_layer: dict[str, list[Element]] = {}
        for each in elements:
            by_layer.setdefault(layers[each.id].id, []).append(each)
        groups = list(by_layer.values())
    else:
        groups = _apart(elements)
    found = []
    for parts in groups:
        box = painted_extent(leaves_in(parts))
        if box is not None:
            found.append(_Design(_name(parts, layers, record.designs, job), tuple(parts), box))
    if not found:
        raise nothing_matches(record.on, job)
    return found


def _name(parts: Sequence[Element], layers: dict[str, Layer], designs: Designs, job: Job) -> str:
    """Return what a design is called: its layer, its group, its largest named part, or the job."""
    if designs is Designs.LAYERS:
        return layers[parts[0].id].name
    if designs is Designs.TOGETHER and len(parts) > 1:
        return job.name
    named = [each for each in parts if each.name]
    named = [each for each in named if isinstance(each, Group)] or named

    def area(element: Element) -> float:
        box = element.bounds
        return 0.0 if box is None else (box[2] - box[0]) * (box[3] - box[1])

    return max(named, key=area).name if named else parts[0].id


def _apart(elements: list[Element]) -> list[list[Element]]:
    """Return elements in heaps: those whose boxes meet, directly or through others, lie in one."""
    measured = []
    for each in elements:
        box = painted_extent(leaves_in((each,)))
        if box is not None:
            measured.append((each, shapely.box(*box)))
    home = list(range(len(measured)))

    def root(place: int) -> int:
        while home[place] != place:
            home[place] = home[home[place]]
            place = home[place]
        return place

    tree = shapely.STRtree([box for _, box in measured])
    one, other = tree.query([box for _, box in measured], predicate="intersects")
    for a, b in zip(one.tolist(), other.tolist(), strict=True):
        low, high = sorted((root(a), root(b)))
        home[high] = low
    heaps: dict[int, list[Element]] = {}
    for place, (each, _) in enumerate(measured):
        heaps.setdefault(root(place), []).append(each)
    return list(heaps.values())


def _counts(record: GangSheet, designs: list[_Design], job: Job) -> list[int] | None:
    """Return how many of each design were asked for; None where nothing was."""
    asked = [part for part in re.split(r"[;,\n]", record.counts) if part.strip()]
    if not asked:
        return None
    found: list[int | None] = [None] * len(designs)
    for part in asked:
        match = _COUNT.fullmatch(part)
        if match is None or int(match["count"]) < 1:
            raise CannotApply(
                phrase("“{text}” does not say how many.", text=part.strip()),
                where=record.on.describe(job),
                hint="Write 24 for each, or a name and a number: Badge 20; Star 8.",
            )
        count, name = int(match["count"]), match["name"]
        meant = [place for place, design in enumerate(designs) if name is None or _is_called(design, name)]
        if not meant:
            names = listing(phrase("“{name}”", name=design.name) for design in designs)
            raise CannotApply(
                phrase("No design is called “{name}”.", name=name),
                where=record.on.describe(job),
                hint=phrase("They are called: {names}.", names=names),
            )
        for place in meant:
            found[place] = count
    lacking = [design.name for design, count in zip(designs, found, strict=True) if count is None]
    if lacking:
        raise CannotApply(
            phrase("It is not said how many of “{name}” are wanted.", name=lacking[0]),
            where=record.on.describe(job),
            hint="Say how many, or take it out of the selection.",
        )
    counts = [count for count in found if count is not None]
    if sum(counts) > MOST_COPIES:
        raise CannotApply(
            phrase("That would be {total} copies; {most} are laid out at once.", total=sum(counts), most=MOST_COPIES),
            where=record.on.describe(job),
            hint="Take them in parts.",
        )
    return counts


def _is_called(design: _Design, name: str) -> bool:
    wanted = name.casefold()
    return wanted == design.name.casefold() or any(
        wanted in (each.name.casefold(), each.id.casefold()) for each in _all_in(design.elements)
    )


def _all_in(elements: Iterable[Element]) -> Iterable[Element]:
    for each in elements:
        yield each
        if isinstance(each, Group):
            yield from _all_in(each.children)


class _Names:
    """Gives copies ids of their own: the stem and the copy's number, where that is free."""

    def __init__(self, job: Job) -> None:
        self._job = job
        self._taken: set[str] = set()

    def fresh(self, stem: str, number: int) -> str:
        name = f"{stem}-{number}"
        while name in self._taken or self._job.has_id(name):
            number += 1
            name = f"{stem}-{number}"
        self._taken.add(name)
        return name

    def renamed(self, element: Element, number: int) -> Element:
        """Return an element in which it and all it holds have ids of their own."""
        if isinstance(element, Group):
            children = tuple(self.renamed(child, number) for child in element.children)
            return replace(element, id=self.fresh(element.id, number), children=children)
        return replace(element, id=self.fresh(element.id, number))


def _filled(
    job: Job, designs: list[_Design], laid: Laid, record: GangSheet, progress: Progress
) -> tuple[Job, tuple[str, ...]]:
    """Return the job with the cells of one sheet filled, and the ids of what lies in them."""
    names = _Names(job)
    tops = {child.id: layer.id for layer in job.layers for child in layer.children}
    cells = laid.sheets[record.sheet - 1]
    replacements: dict[str, list[Element]] = {each.id: [] for design in designs for each in design.elements}
    made: list[str] = []
    numbers = [0] * len(designs)
    for place, cell in enumerate(cells):
        design = designs[cell.design]
        numbers[cell.design] += 1
        number = numbers[cell.design]
        to = _place(design, cell.x_mm + record.margin_mm, cell.y_mm + record.margin_mm, is_turned=cell.is_turned)
        bundles: dict[str, list[Element]] = {}
        for each in design.elements:
            copy = each.transformed(to) if number == 1 else names.renamed(each.transformed(to), number)
            if (home := tops.get(each.id)) is not None:
                bundles.setdefault(home, []).append(copy)
                if bundles[home][0] is copy:
                    replacements[each.id].append(copy)  # where the first of its layer lay; exchanged below
            else:
                replacements[each.id].append(copy)
                made.append(copy.id)
        for home, parts in bundles.items():
            first = next(each for each in design.elements if tops.get(each.id) == home)
            whole = parts[0]
            if len(parts) > 1:
                key = names.fresh(f"{first.id}-on-sheet", number)
                whole = Group(key, tuple(parts), name=f"{design.name} {number}")
                replacements[first.id][-1] = whole
            made.append(whole.id)
        progress(0.2 + 0.8 * (place + 1) / len(cells))
    return job.replaced({key: tuple(value) for key, value in replacements.items()}), tuple(made)


def _place(design: _Design, x_mm: float, y_mm: float, *, is_turned: bool) -> Affine:
    """Return the move that puts a design's upper left corner at a place, after a quarter turn where it is turned."""
    x0, y0, _, y1 = design.box
    if not is_turned:
        return Affine.moved(x_mm - x0, y_mm - y0)
    return Affine.moved(x_mm + y1, y_mm - x0).after(Affine.rotated(90.0))


def _reports(designs: list[_Design], laid: Laid, counts: list[int], record: GangSheet, job: Job) -> list[str]:
    here = laid.counts(record.sheet - 1)
    total, on_this = sum(counts), sum(here.values())
    area = sum(design.size.width_mm * design.size.height_mm * here[place] for place, design in enumerate(designs))
    rows = counted(laid.rows[record.sheet - 1], "row", "rows")
    share = format_number(100.0 * area / (job.width_mm * job.height_mm), 0)
    told = [phrase("{count} in {rows}; {share} % of the sheet is art.", count=on_this, rows=rows, share=share)]
    if len(designs) > 1:
        each = [phrase("“{name}”: {count}", name=one.name, count=here[place]) for place, one in enumerate(designs)]
        told.append(listing(each))
    turned = {cell.design for cell in laid.sheets[record.sheet - 1] if cell.is_turned}
    if turned:
        names = listing(phrase("“{name}”", name=designs[place].name) for place in sorted(turned))
        told.append(phrase("Turned by a quarter: {names}.", names=names))
    if len(laid.sheets) > 1:
        sheets = [sum(laid.counts(number).values()) for number in range(len(laid.sheets))]
        told.append(
            phrase(
                "This is sheet {sheet} of {sheets}; they hold {counts}. {left} of {total} are not on this one.",
                sheet=record.sheet,
                sheets=len(laid.sheets),
                counts=_runs(sheets),
                left=total - on_this,
                total=total,
            )
        )
    return told


def _runs(counts: list[int]) -> str:
    """Return counts in a row, equal ones together: "3 × 24, 12"."""
    runs: list[tuple[int, int]] = []
    for count in counts:
        if runs and runs[-1][1] == count:
            runs[-1] = (runs[-1][0] + 1, count)
        else:
            runs.append((1, count))
    return ", ".join(f"{times} × {count}" if times > 1 else str(count) for times, count in runs)


def _too_large(design: _Design, room: Size, record: GangSheet, job: Job) -> CannotApply:
    return CannotApply(
        phrase(
            "“{name}” is {width} × {height} mm; within its margins the sheet is {across} × {down} mm.",
            name=design.name,
            width=format_number(design.size.width_mm, 1),
            height=format_number(design.size.height_mm, 1),
            across=format_number(max(0.0, room.width_mm), 1),
            down=format_number(max(0.0, room.height_mm), 1),
        ),
        where=record.on.describe(job),
        hint="Make the sheet larger or the margins smaller.",
    )


def _summary(record: GangSheet) -> str:
    counts = record.counts.strip()
    text = phrase(
        "Gang sheet of {on}, {counts}",
        on=record.on.describe(),
        counts=phrase("{counts} copies", counts=counts)
        if counts.isdigit()
        else phrase("{counts}", counts=counts)
        if counts
        else phrase("as many as it holds"),
    )
    return text if record.sheet == 1 else phrase("{text}, sheet {sheet}", text=text, sheet=record.sheet)


OPERATIONS = (
    Operation(
        "gang-sheet",
        "Gang sheet",
        "Many stickers on one sheet: so many of each design, in rows, with cut lines and bleed.",
        GangSheet,
        gang_sheet,
        _summary,
    ),
)
