"""Placing: move, scale to size, rotate, mirror, align, duplicate, the sheet itself."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from bladewise.document import Box, Element, Group, Job, bounds_of
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    angle,
    choice,
    integer,
    length,
    switch,
)
from bladewise.operations.selection import Selection, nothing_matches
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Callable


class Anchor(StrEnum):
    """The point of the selection's box that stays where it is."""

    CENTRE = "centre"
    TOP_LEFT = "top-left"
    TOP = "top"
    TOP_RIGHT = "top-right"
    LEFT = "left"
    RIGHT = "right"
    BOTTOM_LEFT = "bottom-left"
    BOTTOM = "bottom"
    BOTTOM_RIGHT = "bottom-right"

    def point(self, box: Box) -> tuple[float, float]:
        """Return the point in a box."""
        x = box[0] if "left" in self else box[2] if "right" in self else (box[0] + box[2]) / 2.0
        y = box[1] if "top" in self else box[3] if "bottom" in self else (box[1] + box[3]) / 2.0
        return x, y


class Across(StrEnum):
    """Which way a mirror image is turned over."""

    LEFT_RIGHT = "left-right"
    TOP_BOTTOM = "top-bottom"


class Edge(StrEnum):
    """What is lined up."""

    LEFT = "left"
    CENTRE = "centre"
    RIGHT = "right"
    TOP = "top"
    MIDDLE = "middle"
    BOTTOM = "bottom"


class Reference(StrEnum):
    """What it is lined up with."""

    SELECTION = "selection"
    SHEET = "sheet"


@dataclass(frozen=True, kw_only=True)
class Move:
    """Move art."""

    on: Selection = acts_on()
    dx_mm: float = length(0.0, minimum=-1e6, maximum=1e6, help="To the right (minus: left)")
    dy_mm: float = length(0.0, minimum=-1e6, maximum=1e6, help="Down (minus: up)")


@dataclass(frozen=True, kw_only=True)
class Scale:
    """Bring art to a size; with one of the two lengths the proportions stay."""

    on: Selection = acts_on()
    width_mm: float | None = length(None, minimum=0.001, maximum=1e6, help="Width to reach; may be left out")
    height_mm: float | None = length(None, minimum=0.001, maximum=1e6, help="Height to reach; may be left out")
    anchor: Anchor = choice(Anchor.CENTRE, help="Which point of it stays where it is")
    scale_strokes: bool = switch(default=True, help="Strokes grow with the art; otherwise they keep their width")


@dataclass(frozen=True, kw_only=True)
class Rotate:
    """Turn art."""

    on: Selection = acts_on()
    angle_deg: float = angle(90.0, help="Clockwise (minus: counter-clockwise)")
    anchor: Anchor = choice(Anchor.CENTRE, help="About which point of it")


@dataclass(frozen=True, kw_only=True)
class Mirror:
    """Turn art over."""

    on: Selection = acts_on()
    across: Across = choice(Across.LEFT_RIGHT, help="Which way it is turned over")
    about_sheet: bool = switch(default=False, help="About the middle of the sheet instead of its own")


@dataclass(frozen=True, kw_only=True)
class Align:
    """Line art up."""

    on: Selection = acts_on()
    edge: Edge = choice(Edge.CENTRE, help="What is lined up")
    to: Reference = choice(Reference.SELECTION, help="With each other, or as one with the sheet")


@dataclass(frozen=True, kw_only=True)
class Duplicate:
    """Copy art in rows and columns."""

    on: Selection = acts_on()
    columns: int = integer(2, minimum=1, maximum=1000, help="How many side by side")
    rows: int = integer(1, minimum=1, maximum=1000, help="How many below each other")
    gap_mm: float = length(5.0, minimum=-1e5, maximum=1e5, help="Space between them")


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """Set the size of the sheet."""

    on: Selection = acts_on(help="The art to fit the sheet around, if it is to be fitted")
    width_mm: float | None = length(None, minimum=0.1, maximum=1e6, help="Width; may be left out")
    height_mm: float | None = length(None, minimum=0.1, maximum=1e6, help="Height; may be left out")
    fit: bool = switch(default=False, help="Fit the sheet around the art")
    margin_mm: float = length(10.0, minimum=0.0, maximum=1e4, help="Space about the art when fitted")


def move(job: Job, record: Move, progress: Progress) -> Result:
    """Move elements."""
    progress(1.0)
    return _transform(job, record.on, lambda _box: Affine.moved(record.dx_mm, record.dy_mm))


def scale(job: Job, record: Scale, progress: Progress) -> Result:
    """Scale elements to a width, a height or both."""
    if record.width_mm is None and record.height_mm is None:
        msg = "No size was given."
        raise CannotApply(msg, where=record.on.describe(job), hint="Give a width, a height, or both.")

    def affine(box: Box) -> Affine:
        width, height = box[2] - box[0], box[3] - box[1]
        sx = record.width_mm / width if record.width_mm and width else None
        sy = record.height_mm / height if record.height_mm and height else None
        if sx is None and sy is None:
            msg = "The art has no extent in that direction, so it cannot be brought to a size."
            raise CannotApply(msg, where=record.on.describe(job), hint="Give the other length.")
        across, down = sx if sx is not None else sy, sy if sy is not None else sx
        assert across is not None
        return Affine.scaled(across, down, about=record.anchor.point(box))

    progress(1.0)
    return _transform(job, record.on, affine, scale_strokes=record.scale_strokes)


def rotate(job: Job, record: Rotate, progress: Progress) -> Result:
    """Rotate elements about a point of their common box."""
    progress(1.0)
    return _transform(job, record.on, lambda box: Affine.rotated(record.angle_deg, about=record.anchor.point(box)))


def mirror(job: Job, record: Mirror, progress: Progress) -> Result:
    """Mirror elements about the middle of their common box, or of the sheet."""

    def affine(box: Box) -> Affine:
        about = (job.width_mm / 2.0, job.height_mm / 2.0) if record.about_sheet else Anchor.CENTRE.point(box)
        return Affine.scaled(*((-1.0, 1.0) if record.across is Across.LEFT_RIGHT else (1.0, -1.0)), about=about)

    progress(1.0)
    return _transform(job, record.on, affine)


def align(job: Job, record: Align, progress: Progress) -> Result:
    """Line elements up with each other, or all of them as one with the sheet."""
    elements = record.on.elements(job)
    box = bounds_of(elements)
    if box is None:
        raise nothing_matches(record.on, job)
    if record.to is Reference.SHEET:
        dx, dy = _to_edge(record.edge, box, (0.0, 0.0, job.width_mm, job.height_mm))
        return _transform(job, record.on, lambda _box: Affine.moved(dx, dy))
    replacements: dict[str, tuple[Element, ...]] = {}
    for element in elements:
        if element.bounds is not None:
            dx, dy = _to_edge(record.edge, element.bounds, box)
            if dx or dy:
                replacements[element.id] = (element.transformed(Affine.moved(dx, dy)),)
    progress(1.0)
    return Result(job.replaced(replacements), (), tuple(element.id for element in elements))


def duplicate(job: Job, record: Duplicate, progress: Progress) -> Result:
    """Copy elements in rows and columns; copies lie just above what they were made from."""
    elements = record.on.elements(job)
    box = bounds_of(elements)
    if box is None:
        raise nothing_matches(record.on, job)
    if len(elements) * record.columns * record.rows > 200_000:
        msg = f"That would make {len(elements) * record.columns * record.rows} pieces."
        raise CannotApply(msg, where=record.on.describe(job), hint="Make fewer rows or columns.")
    across, down = box[2] - box[0] + record.gap_mm, box[3] - box[1] + record.gap_mm
    taken: set[str] = set()
    made: list[str] = []
    replacements: dict[str, tuple[Element, ...]] = {}
    for number, element in enumerate(elements):
        copies = [element]
        for row in range(record.rows):
            for column in range(record.columns):
                if row or column:
                    moved = element.transformed(Affine.moved(column * across, row * down))
                    copies.append(with_fresh_ids(job, moved, taken))
        replacements[element.id] = tuple(copies)
        made.extend(copy.id for copy in copies)
        progress((number + 1) / len(elements))
    return Result(job.replaced(replacements), (), tuple(made))


def sheet(job: Job, record: Sheet, progress: Progress) -> Result:
    """Set the sheet's size, or fit it around the art with a margin."""
    progress(1.0)
    if not record.fit:
        return Result(
            replace(job, width_mm=record.width_mm or job.width_mm, height_mm=record.height_mm or job.height_mm)
        )
    box = job.bounds if record.on.is_all else bounds_of(record.on.elements(job))
    if box is None:
        raise nothing_matches(record.on, job)
    shift = Affine.moved(record.margin_mm - box[0], record.margin_mm - box[1])
    layers = tuple(
        replace(layer, children=tuple(child.transformed(shift) for child in layer.children)) for layer in job.layers
    )
    width, height = (box[2] - box[0] + 2.0 * record.margin_mm, box[3] - box[1] + 2.0 * record.margin_mm)
    return Result(replace(job, layers=layers, width_mm=width, height_mm=height))


def with_fresh_ids(job: Job, element: Element, taken: set[str]) -> Element:
    """Return a copy of an element in which it and all it holds have ids of their own; `taken` grows."""
    fresh = job.fresh_id(element.id, taken=taken)
    taken.add(fresh)
    if isinstance(element, Group):
        children = tuple(with_fresh_ids(job, child, taken) for child in element.children)
        return replace(element, id=fresh, children=children)
    return replace(element, id=fresh)


def _transform(job: Job, on: Selection, affine: Callable[[Box], Affine], *, scale_strokes: bool = True) -> Result:
    elements = on.elements(job)
    box = bounds_of(elements)
    if box is None:
        raise nothing_matches(on, job)
    found = affine(box)
    if found == Affine():
        return Result(job, (), tuple(element.id for element in elements))
    moved = {element.id: (element.transformed(found, scale_strokes=scale_strokes),) for element in elements}
    return Result(job.replaced(moved), (), tuple(moved))


def _to_edge(edge: Edge, box: Box, target: Box) -> tuple[float, float]:
    match edge:
        case Edge.LEFT:
            return target[0] - box[0], 0.0
        case Edge.RIGHT:
            return target[2] - box[2], 0.0
        case Edge.CENTRE:
            return (target[0] + target[2] - box[0] - box[2]) / 2.0, 0.0
        case Edge.TOP:
            return 0.0, target[1] - box[1]
        case Edge.BOTTOM:
            return 0.0, target[3] - box[3]
        case _:
            return 0.0, (target[1] + target[3] - box[1] - box[3]) / 2.0


def _size_text(record: Scale) -> str:
    parts = [
        f"{format_number(value)} mm {word}"
        for value, word in ((record.width_mm, "wide"), (record.height_mm, "high"))
        if value is not None
    ]
    return ", ".join(parts) or "no size"


OPERATIONS = (
    Operation(
        "move",
        "Move",
        "Move art by so much to the right and down.",
        Move,
        move,
        lambda r: f"Move {r.on.describe()} by {format_number(r.dx_mm)}, {format_number(r.dy_mm)} mm",
    ),
    Operation(
        "scale",
        "Scale to size",
        "Bring art to an exact width, height or both.",
        Scale,
        scale,
        lambda r: f"Scale {r.on.describe()} to {_size_text(r)}",
    ),
    Operation(
        "rotate",
        "Rotate",
        "Turn art about its centre or a corner.",
        Rotate,
        rotate,
        lambda r: f"Rotate {r.on.describe()} by {format_number(r.angle_deg)}°",
    ),
    Operation(
        "mirror",
        "Mirror",
        "Turn art over, as for heat-transfer film.",
        Mirror,
        mirror,
        lambda r: f"Mirror {r.on.describe()} {r.across}",
    ),
    Operation(
        "align",
        "Line up",
        "Line art up with each other or with the sheet.",
        Align,
        align,
        lambda r: f"Line up {r.on.describe()}, {r.edge} with the {r.to}",
    ),
    Operation(
        "duplicate",
        "Duplicate",
        "Copy art in rows and columns.",
        Duplicate,
        duplicate,
        lambda r: f"Duplicate {r.on.describe()}, {r.columns} × {r.rows}",
    ),
    Operation(
        "sheet",
        "Sheet size",
        "Set the sheet's size, or fit it around the art.",
        Sheet,
        sheet,
        lambda r: (
            "Fit the sheet around the art"
            if r.fit
            else f"Sheet {format_number(r.width_mm or 0.0)} × {format_number(r.height_mm or 0.0)} mm"
        ),
        least=0,
    ),
)
