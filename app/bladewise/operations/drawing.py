"""New art: rectangles, ellipses, polygons, stars, outlines by points, lettering; and lettering turned into shapes."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from bladewise.document import Align, Colour, Element, Group, Job, Layer, Lettering, Shape, Style
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import Path, ellipse, polygon, rectangle
from bladewise.lettering import set_outline, word_outlines
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    angle,
    choice,
    colour,
    integer,
    length,
    lengths,
    switch,
    wording,
)
from bladewise.operations.own_font import as_saved, notices, set_anew
from bladewise.operations.selection import Selection
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.geometry.path import Point

_FILL = Colour(0x33, 0x33, 0x33)


class Unit(StrEnum):
    """What becomes one shape when lettering is turned into shapes."""

    LETTER = "letter"
    WORD = "word"
    LINE = "line"


@dataclass(frozen=True, kw_only=True)
class DrawRectangle:
    """A rectangle, its corners round if wanted."""

    x_mm: float = length(10.0, help="Left edge")
    y_mm: float = length(10.0, help="Top edge")
    width_mm: float = length(50.0, minimum=0.001, maximum=1e6, help="Width")
    height_mm: float = length(30.0, minimum=0.001, maximum=1e6, help="Height")
    radius_mm: float = length(0.0, minimum=0.0, maximum=1e6, help="Corner radius")
    fill: Colour = colour(_FILL, help="Fill")
    name: str = wording("Rectangle", help="Its name")


@dataclass(frozen=True, kw_only=True)
class DrawEllipse:
    """An ellipse in a box; a circle if the box is square."""

    x_mm: float = length(10.0, help="Left edge")
    y_mm: float = length(10.0, help="Top edge")
    width_mm: float = length(40.0, minimum=0.001, maximum=1e6, help="Width")
    height_mm: float = length(40.0, minimum=0.001, maximum=1e6, help="Height")
    fill: Colour = colour(_FILL, help="Fill")
    name: str = wording("Ellipse", help="Its name")


@dataclass(frozen=True, kw_only=True)
class DrawOutline:
    """Straight lines through points."""

    points_mm: tuple[float, ...] = lengths((), help="x and y of each point in turn")
    closed: bool = switch(default=True, help="Closed, or an open line")
    fill: Colour = colour(_FILL, help="Fill")
    name: str = wording("Outline", help="Its name")


@dataclass(frozen=True, kw_only=True)
class DrawPolygon:
    """A polygon of equal sides, its first corner at the top."""

    x_mm: float = length(40.0, help="Its centre, from the left")
    y_mm: float = length(40.0, help="Its centre, from the top")
    radius_mm: float = length(20.0, minimum=0.001, maximum=1e6, help="From the centre to the corners")
    sides: int = integer(6, minimum=3, maximum=1000, help="How many sides")
    angle_deg: float = angle(0.0, help="Turned clockwise by so much")
    fill: Colour = colour(_FILL, help="Fill")
    name: str = wording("Polygon", help="Its name")


@dataclass(frozen=True, kw_only=True)
class DrawStar:
    """A star, its first tip at the top."""

    x_mm: float = length(40.0, help="Its centre, from the left")
    y_mm: float = length(40.0, help="Its centre, from the top")
    radius_mm: float = length(20.0, minimum=0.001, maximum=1e6, help="From the centre to the tips")
    inner_radius_mm: float = length(9.0, minimum=0.001, maximum=1e6, help="From the centre to the corners between them")
    tips: int = integer(5, minimum=3, maximum=1000, help="How many tips")
    angle_deg: float = angle(0.0, help="Turned clockwise by so much")
    fill: Colour = colour(_FILL, help="Fill")
    name: str = wording("Star", help="Its name")


@dataclass(frozen=True, kw_only=True)
class SetLettering:
    """Live lettering."""

    text: str = wording("Lettering", help="What it says; a new line starts a new line")
    family: str = wording("", help="Font family; left out: the first that is found")
    size_mm: float = length(20.0, minimum=0.1, maximum=1e5, help="Size of the font's em")
    x_mm: float = length(10.0, help="Where its first baseline begins")
    y_mm: float = length(40.0, help="Height of its first baseline")
    align: Align = choice(Align.START, help="On which side of that point it stands")
    letter_spacing_mm: float = length(0.0, minimum=-1e4, maximum=1e4, help="Extra space between letters")
    weight: int = integer(400, minimum=1, maximum=1000, help="Weight, 400 regular, 700 bold")
    italic: bool = switch(default=False, help="Italic")
    fill: Colour = colour(_FILL, help="Fill")


@dataclass(frozen=True, kw_only=True)
class Retype:
    """Change what live lettering says."""

    on: Selection = acts_on()
    text: str = wording("", help="What it says now")


@dataclass(frozen=True, kw_only=True)
class LetteringToShapes:
    """Live lettering becomes shapes that can be cut."""

    on: Selection = acts_on()
    per: Unit = choice(Unit.WORD, help="What becomes one shape")


def draw_rectangle(job: Job, record: DrawRectangle, progress: Progress) -> Result:
    """Put a rectangle at the front."""
    progress(1.0)
    r = record
    path = rectangle(r.x_mm, r.y_mm, r.width_mm, r.height_mm, r.radius_mm, r.radius_mm)
    return _with_shape(job, "rectangle", path, r.fill, r.name)


def draw_ellipse(job: Job, record: DrawEllipse, progress: Progress) -> Result:
    """Put an ellipse at the front."""
    progress(1.0)
    rx, ry = record.width_mm / 2.0, record.height_mm / 2.0
    return _with_shape(job, "ellipse", ellipse((record.x_mm + rx, record.y_mm + ry), rx, ry), record.fill, record.name)


def draw_polygon(job: Job, record: DrawPolygon, progress: Progress) -> Result:
    """Put a polygon of equal sides at the front."""
    progress(1.0)
    corners = polygon(_around(record.x_mm, record.y_mm, (record.radius_mm,), record.sides, record.angle_deg))
    return _with_shape(job, "polygon", corners, record.fill, record.name)


def draw_star(job: Job, record: DrawStar, progress: Progress) -> Result:
    """Put a star at the front."""
    progress(1.0)
    radii = (record.radius_mm, record.inner_radius_mm)
    corners = polygon(_around(record.x_mm, record.y_mm, radii, 2 * record.tips, record.angle_deg))
    return _with_shape(job, "star", corners, record.fill, record.name)


def draw_outline(job: Job, record: DrawOutline, progress: Progress) -> Result:
    """Put straight lines through points at the front."""
    progress(1.0)
    numbers = record.points_mm
    if len(numbers) < 4 or len(numbers) % 2:
        msg = "An outline needs two points or more, x and y of each."
        raise CannotApply(msg, where=record.name, hint="Give more points.")
    points = list(zip(numbers[0::2], numbers[1::2], strict=True))
    return _with_shape(job, "outline", polygon(points, closed=record.closed), record.fill, record.name)


def set_lettering(job: Job, record: SetLettering, progress: Progress) -> Result:
    """Put live lettering at the front."""
    progress(1.0)
    if not record.text.strip():
        msg = "The lettering says nothing."
        raise CannotApply(msg, hint="Type a word.")
    fresh = job.fresh_id("lettering")
    lettering = set_outline(
        Lettering(
            fresh,
            record.text,
            record.family,
            record.size_mm,
            Style(fill=record.fill),
            align=record.align,
            weight=record.weight,
            italic=record.italic,
            letter_spacing_mm=record.letter_spacing_mm,
            transform=Affine.moved(record.x_mm, record.y_mm),
            name=record.text.split("\n")[0][:40],
        )
    )
    return Result(at_front(job, lettering), notices(lettering), (fresh,))


def retype(job: Job, record: Retype, progress: Progress) -> Result:
    """Change the text of live lettering."""
    if not record.text.strip():
        msg = "The lettering would say nothing."
        raise CannotApply(msg, where=record.on.describe(job), hint="Type a word, or delete the lettering.")
    live = _live(job, record.on)
    progress(1.0)
    new = [set_anew(replace(each, text=record.text, name=record.text.split("\n")[0][:40])) for each in live]
    told = dict.fromkeys(notice for each in new for notice in notices(each))
    return Result(job.replaced({each.id: (each,) for each in new}), tuple(told), tuple(each.id for each in new))


def lettering_to_shapes(job: Job, record: LetteringToShapes, progress: Progress) -> Result:
    """Turn live lettering into shapes, one a letter, a word or a line; several become a group."""
    live = _live(job, record.on)
    taken: set[str] = set()
    replacements: dict[str, tuple[Element, ...]] = {}
    made = []
    told: list[str] = []
    for number_, lettering in enumerate(live):
        parts = word_outlines(lettering, per=str(record.per))
        told += as_saved(lettering)
        shapes: list[Shape] = []
        for name, path in parts:
            fresh = (
                lettering.id
                if not shapes and len(parts) == 1
                else job.fresh_id(f"{lettering.id}-{record.per}", taken=taken)
            )
            taken.add(fresh)
            shapes.append(
                Shape(fresh, path, lettering.style, name, lettering.material, lettering.visible, lettering.locked)
            )
        made.append(lettering.id)
        name = lettering.name or lettering.text
        replacements[lettering.id] = tuple(shapes) if len(shapes) < 2 else (Group(lettering.id, tuple(shapes), name),)
        progress((number_ + 1) / len(live))
    return Result(job.replaced(replacements), tuple(told), tuple(made))


def _live(job: Job, on: Selection) -> list[Lettering]:
    live = [placed.leaf for placed in on.leaves(job) if isinstance(placed.leaf, Lettering)]
    if not live:
        msg = "There is no live lettering here."
        raise CannotApply(msg, where=on.describe(job), hint="Select lettering that is still live.")
    return live


def _around(x: float, y: float, radii: tuple[float, ...], count: int, angle_deg: float) -> list[Point]:
    """Return points about a centre, clockwise from the top, the radii taken in turn."""
    points = []
    for number in range(count):
        turn = math.radians(angle_deg + 360.0 * number / count)
        radius = radii[number % len(radii)]
        points.append((x + radius * math.sin(turn), y - radius * math.cos(turn)))
    return points


def _with_shape(job: Job, stem: str, path: Path, fill: Colour, name: str) -> Result:
    fresh = job.fresh_id(stem)
    return Result(at_front(job, Shape(fresh, path, Style(fill=fill), name or stem.capitalize())), (), (fresh,))


def at_front(job: Job, element: Element) -> Job:
    """Return the job with an element at the front of the topmost layer that takes new art; a new layer if none does."""
    for layer in reversed(job.layers):
        if not layer.locked and layer.visible and layer.material is None:
            return job.with_layer(replace(layer, children=(*layer.children, element)))
    return job.with_layer(Layer(job.fresh_id("layer", taken={element.id}), "Art", (element,)))


def _size(title: str) -> Callable[[DrawRectangle | DrawEllipse], str]:
    return lambda r: phrase(
        "{title}, {width} × {height} mm",
        title=phrase(title),
        width=format_number(r.width_mm),
        height=format_number(r.height_mm),
    )


OPERATIONS = (
    Operation(
        "draw-rectangle",
        "Rectangle",
        "Draw a rectangle, its corners round if wanted.",
        DrawRectangle,
        draw_rectangle,
        _size("Rectangle"),
        least=0,
    ),
    Operation(
        "draw-ellipse",
        "Ellipse",
        "Draw an ellipse or a circle.",
        DrawEllipse,
        draw_ellipse,
        _size("Ellipse"),
        least=0,
    ),
    Operation(
        "draw-polygon",
        "Polygon",
        "Draw a polygon of equal sides.",
        DrawPolygon,
        draw_polygon,
        lambda r: phrase(
            "Polygon of {sides} sides, radius {radius} mm", sides=r.sides, radius=format_number(r.radius_mm)
        ),
        least=0,
    ),
    Operation(
        "draw-star",
        "Star",
        "Draw a star.",
        DrawStar,
        draw_star,
        lambda r: phrase("Star of {tips} tips, radius {radius} mm", tips=r.tips, radius=format_number(r.radius_mm)),
        least=0,
    ),
    Operation(
        "draw-outline",
        "Outline by points",
        "Draw straight lines through points.",
        DrawOutline,
        draw_outline,
        lambda r: phrase("Outline of {count} points", count=len(r.points_mm) // 2),
        least=0,
    ),
    Operation(
        "set-lettering",
        "Lettering",
        "Set live lettering, to be retyped at will.",
        SetLettering,
        set_lettering,
        lambda r: phrase("Lettering “{text}”, {size} mm", text=r.text, size=format_number(r.size_mm)),
        least=0,
    ),
    Operation(
        "retype",
        "Retype",
        "Change what live lettering says.",
        Retype,
        retype,
        lambda r: phrase("Retype {describe}: “{text}”", describe=r.on.describe(), text=r.text),
    ),
    Operation(
        "lettering-to-shapes",
        "Lettering to shapes",
        "Live lettering becomes shapes that can be cut: one a letter, a word or a line.",
        LetteringToShapes,
        lettering_to_shapes,
        lambda r: phrase("Lettering to shapes, one a {per}", per=r.per),
    ),
)
