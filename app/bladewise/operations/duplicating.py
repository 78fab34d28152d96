"""More of the same: copies in rows and columns, in a ring, in place; and art copied from one job to another.

Art on its way between jobs is text (`document.plain`), so that a step that pastes holds what it pastes
and can be replayed, saved and undone like any other.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace

from bladewise.document import Element, Group, Job, Material, leaves_in
from bladewise.document.plain import from_plain, to_plain
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    angle,
    art,
    integer,
    length,
    switch,
    wording,
)
from bladewise.operations.drawing import at_front
from bladewise.operations.selection import Selection, elements_or_refuse, measured_or_refuse
from bladewise.phrases import phrase
from bladewise.units import counted, format_number

_MOST_PIECES = 200_000
_HEAD = "bladewise art 1\n"


@dataclass(frozen=True, kw_only=True)
class Duplicate:
    """Copy art in rows and columns."""

    on: Selection = acts_on()
    columns: int = integer(2, minimum=1, maximum=1000, help="How many side by side")
    rows: int = integer(1, minimum=1, maximum=1000, help="How many below each other")
    gap_mm: float = length(5.0, minimum=-1e5, maximum=1e5, help="Space between them")
    row_gap_mm: float | None = length(
        None, minimum=-1e5, maximum=1e5, help="Space between the rows; left out: as between the columns"
    )


@dataclass(frozen=True, kw_only=True)
class DuplicateInRing:
    """Copy art about a point."""

    on: Selection = acts_on()
    count: int = integer(6, minimum=2, maximum=1000, help="How many in all")
    radius_mm: float = length(40.0, minimum=0.0, maximum=1e6, help="From the ring's centre to the middle of the art")
    about_x_mm: float | None = length(None, help="Instead: about this point, from the left of the sheet")
    about_y_mm: float | None = length(None, help="Instead: about this point, from the top of the sheet")
    sweep_deg: float = angle(360.0, minimum=-360.0, maximum=360.0, help="Over how much of the ring, clockwise")
    turned: bool = switch(default=True, help="The copies turn with the ring; otherwise they stay upright")


@dataclass(frozen=True, kw_only=True)
class DuplicateHere:
    """Copy art in place."""

    on: Selection = acts_on()
    dx_mm: float = length(0.0, minimum=-1e6, maximum=1e6, help="The copy moved to the right (minus: left)")
    dy_mm: float = length(0.0, minimum=-1e6, maximum=1e6, help="The copy moved down (minus: up)")


@dataclass(frozen=True, kw_only=True)
class Paste:
    """Put copied art into the job."""

    art: str = art(help="The art as it was copied")
    into: str | None = wording(None, help="A layer, by id or name; left out: the topmost that takes new art")
    dx_mm: float = length(0.0, minimum=-1e6, maximum=1e6, help="Moved to the right of where it lay (minus: left)")
    dy_mm: float = length(0.0, minimum=-1e6, maximum=1e6, help="Moved below where it lay (minus: above)")


def duplicate(job: Job, record: Duplicate, progress: Progress) -> Result:
    """Copy elements in rows and columns; copies lie just above what they were made from."""
    elements, box = measured_or_refuse(record.on, job)
    row_gap = record.gap_mm if record.row_gap_mm is None else record.row_gap_mm
    across, down = box[2] - box[0] + record.gap_mm, box[3] - box[1] + row_gap
    places = [
        Affine.moved(column * across, row * down)
        for row in range(record.rows)
        for column in range(record.columns)
        if row or column
    ]
    return _copied(job, record.on, elements, places, progress)


def duplicate_in_ring(job: Job, record: DuplicateInRing, progress: Progress) -> Result:
    """Copy elements about a point; without one, the art is the top of the ring."""
    elements, box = measured_or_refuse(record.on, job)
    x, y = (box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0
    centre = (
        x if record.about_x_mm is None else record.about_x_mm,
        record.about_y_mm
        if record.about_y_mm is not None
        else y + (record.radius_mm if record.about_x_mm is None else 0),
    )
    whole = abs(record.sweep_deg) == 360.0
    step = record.sweep_deg / (record.count if whole else record.count - 1)
    places = []
    for number in range(1, record.count):
        turn = Affine.rotated(number * step, about=centre)
        if record.turned:
            places.append(turn)
        else:
            places.append(Affine.moved(turn.a * x + turn.c * y + turn.e - x, turn.b * x + turn.d * y + turn.f - y))
    return _copied(job, record.on, elements, places, progress)


def duplicate_here(job: Job, record: DuplicateHere, progress: Progress) -> Result:
    """Copy elements just above themselves; the copies are what is worked on next."""
    elements, _ = measured_or_refuse(record.on, job)
    result = _copied(job, record.on, elements, [Affine.moved(record.dx_mm, record.dy_mm)], progress)
    old = {element.id for element in elements}
    return replace(result, made=tuple(key for key in result.made if key not in old))


def paste(job: Job, record: Paste, progress: Progress) -> Result:
    """Put copied art at the front of a layer, with ids of its own; materials it brings are listed if new."""
    elements, materials = _unpacked(record.art)
    known = {material.id for material in job.materials}
    target = replace(job, materials=(*job.materials, *(each for each in materials if each.id not in known)))
    layer = None
    if record.into is not None:
        layer = next((each for each in target.layers if record.into in (each.id, each.name)), None)
        if layer is None:
            msg = phrase("There is no layer “{into}”.", into=record.into)
            raise CannotApply(msg, hint="Choose another layer, or leave it out.")
    taken: set[str] = set()
    made: list[str] = []
    shift = Affine.moved(record.dx_mm, record.dy_mm)
    for number, element in enumerate(elements):
        moved = element if shift == Affine() else element.transformed(shift)
        new = with_fresh_ids(job, moved, taken)
        made.append(new.id)
        if layer is not None:
            layer = replace(layer, children=(*layer.children, new))
            target = target.with_layer(layer)
        else:
            target = at_front(target, new)
        progress((number + 1) / len(elements))
    return Result(target, (), tuple(made))


def copied(job: Job, on: Selection) -> str:
    """Return chosen art as text: for the clipboard, and for the step that pastes it.

    Raises
    ------
    CannotApply
        If nothing is chosen.
    """
    elements = elements_or_refuse(on, job)
    used = {leaf.material for leaf in leaves_in(elements)}
    materials = [each for each in job.materials if each.id in used]
    plain = {"elements": [to_plain(each) for each in elements], "materials": [to_plain(each) for each in materials]}
    return _HEAD + json.dumps(plain, ensure_ascii=False, separators=(",", ":"))


def holds_art(text: str) -> bool:
    """Whether a text is art copied by `copied`; looks at its head alone."""
    return text.startswith(_HEAD)


def with_fresh_ids(job: Job, element: Element, taken: set[str]) -> Element:
    """Return a copy of an element in which it and all it holds have ids of their own; `taken` grows."""
    fresh = job.fresh_id(element.id, taken=taken)
    taken.add(fresh)
    if isinstance(element, Group):
        children = tuple(with_fresh_ids(job, child, taken) for child in element.children)
        return replace(element, id=fresh, children=children)
    return replace(element, id=fresh)


def _unpacked(text: str) -> tuple[list[Element], list[Material]]:
    if holds_art(text):
        try:
            plain = json.loads(text[len(_HEAD) :])
            elements = [from_plain(each) for each in plain["elements"]]
            materials = [from_plain(each) for each in plain["materials"]]
        except (ValueError, KeyError, TypeError, RecursionError):
            elements = []
        if elements and all(isinstance(each, Element) for each in elements):
            return elements, [each for each in materials if isinstance(each, Material)]
    msg = "This is no art that was copied in Bladewise."
    raise CannotApply(msg, hint="Copy the art again.")


def _copied(job: Job, on: Selection, elements: list[Element], places: list[Affine], progress: Progress) -> Result:
    """Return the job with a copy of each element at each place, just above it."""
    total = len(elements) * (len(places) + 1)
    if total > _MOST_PIECES:
        msg = phrase("That would make {total} pieces.", total=total)
        raise CannotApply(msg, where=on.describe(job), hint="Make fewer copies.")
    taken: set[str] = set()
    made: list[str] = []
    replacements: dict[str, tuple[Element, ...]] = {}
    for number, element in enumerate(elements):
        copies = [with_fresh_ids(job, element.transformed(place), taken) for place in places]
        replacements[element.id] = (element, *copies)
        made += [element.id, *(copy.id for copy in copies)]
        progress((number + 1) / len(elements))
    return Result(job.replaced(replacements), (), tuple(made))


def _pasted(record: Paste) -> str:
    try:
        elements, _ = _unpacked(record.art)
    except CannotApply:
        return phrase("Paste")
    return phrase("Paste {counted}", counted=counted(len(elements), "shape", "shapes"))


def _ring(record: DuplicateInRing) -> str:
    size = phrase("ring of {count}", count=record.count)
    part = "" if abs(record.sweep_deg) == 360.0 else phrase(" over {sweep}°", sweep=format_number(record.sweep_deg))
    return phrase(
        "Duplicate {describe} in a {size}{part}{value}",
        describe=record.on.describe(),
        size=size,
        part=part,
        value="" if record.turned else phrase(", upright"),
    )


def _here(record: DuplicateHere) -> str:
    if record.dx_mm == record.dy_mm == 0.0:
        return phrase("Duplicate {describe} in place", describe=record.on.describe())
    return phrase(
        "Duplicate {describe}, moved by {dx}, {dy} mm",
        describe=record.on.describe(),
        dx=format_number(record.dx_mm),
        dy=format_number(record.dy_mm),
    )


OPERATIONS = (
    Operation(
        "duplicate",
        "Duplicate",
        "Copy art in rows and columns.",
        Duplicate,
        duplicate,
        lambda r: phrase(
            "Duplicate {describe}, {columns} × {rows}", describe=r.on.describe(), columns=r.columns, rows=r.rows
        ),
    ),
    Operation(
        "duplicate-in-ring",
        "Duplicate in a ring",
        "Copy art about a point, turned with the ring or upright.",
        DuplicateInRing,
        duplicate_in_ring,
        _ring,
    ),
    Operation(
        "duplicate-here",
        "Duplicate in place",
        "Copy art where it lies.",
        DuplicateHere,
        duplicate_here,
        _here,
    ),
    Operation(
        "paste",
        "Paste",
        "Put copied art into the job, with ids of its own.",
        Paste,
        paste,
        _pasted,
        least=0,
        by_hand=True,
    ),
)
