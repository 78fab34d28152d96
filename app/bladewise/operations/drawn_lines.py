"""Lines drawn by hand: a straight line, a path by points with handles, a freehand line smoothed to few curves."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bladewise.document import Colour, Job, Shape, Stroke, Style
from bladewise.errors import CannotApply
from bladewise.geometry.fitting import fit_polyline
from bladewise.geometry.path import Path, PathBuilder, polygon
from bladewise.geometry.strokes import LineCap, LineJoin
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    colour,
    length,
    lengths,
    switch,
    wording,
)
from bladewise.operations.drawing import at_front
from bladewise.operations.painted import HAIRLINE_MM
from bladewise.phrases import phrase
from bladewise.units import counted, format_number

if TYPE_CHECKING:
    from bladewise.geometry.path import Point

_INK = Colour(0x33, 0x33, 0x33)
_WIDTH = "Width of the stroke; 0.1 mm and less is a line for the knife to follow"


@dataclass(frozen=True, kw_only=True)
class DrawLine:
    """A straight line."""

    x1_mm: float = length(10.0, help="Where it begins, from the left")
    y1_mm: float = length(10.0, help="Where it begins, from the top")
    x2_mm: float = length(60.0, help="Where it ends, from the left")
    y2_mm: float = length(10.0, help="Where it ends, from the top")
    stroke: Colour = colour(_INK, help="Colour of the stroke")
    stroke_width_mm: float = length(HAIRLINE_MM, minimum=0.001, maximum=1e4, help=_WIDTH)
    name: str = wording("Line", help="Its name")


@dataclass(frozen=True, kw_only=True)
class DrawPath:
    """Lines and curves through points with handles."""

    nodes_mm: tuple[float, ...] = lengths(
        (), help="Six numbers a node: x and y of the handle before it, of the node, of the handle after it"
    )
    closed: bool = switch(default=True, help="Closed, or an open line")
    fill: Colour | None = colour(None, help="Fill; left out: filled if closed and without a stroke")
    stroke: Colour | None = colour(None, help="Stroke; left out: a thin one if open and without a fill")
    stroke_width_mm: float = length(HAIRLINE_MM, minimum=0.001, maximum=1e4, help=_WIDTH)
    name: str = wording("Path", help="Its name")


@dataclass(frozen=True, kw_only=True)
class DrawFreehand:
    """A line drawn by hand, smoothed to few curves; corners stay corners."""

    points_mm: tuple[float, ...] = lengths((), help="x and y of each point in turn")
    tolerance_mm: float = length(0.5, minimum=0.001, maximum=100.0, help="How far the smooth line may leave the hand's")
    closed: bool = switch(default=False, help="Closed, or an open line")
    fill: Colour | None = colour(None, help="Fill; left out: filled if closed and without a stroke")
    stroke: Colour | None = colour(None, help="Stroke; left out: a thin one if open and without a fill")
    stroke_width_mm: float = length(HAIRLINE_MM, minimum=0.001, maximum=1e4, help=_WIDTH)
    name: str = wording("Freehand line", help="Its name")


def draw_line(job: Job, record: DrawLine, progress: Progress) -> Result:
    """Put a straight line at the front."""
    progress(1.0)
    start, end = (record.x1_mm, record.y1_mm), (record.x2_mm, record.y2_mm)
    if start == end:
        msg = "The line would begin where it ends."
        raise CannotApply(msg, where=record.name, hint="Give it another end.")
    style = Style(stroke=_stroke(record.stroke, record.stroke_width_mm))
    return _with_path(job, "line", polygon([start, end], closed=False), style, record.name)


def draw_path(job: Job, record: DrawPath, progress: Progress) -> Result:
    """Put lines and curves through points at the front."""
    progress(1.0)
    numbers = record.nodes_mm
    if len(numbers) < 12 or len(numbers) % 6:
        msg = "A path needs two nodes or more, six numbers each."
        raise CannotApply(msg, where=record.name, hint="Give more nodes.")
    return _with_path(job, "path", path_through(numbers, closed=record.closed), _style(record), record.name)


def draw_freehand(job: Job, record: DrawFreehand, progress: Progress) -> Result:
    """Put a freehand line at the front, with as few curves as follow it."""
    numbers = record.points_mm
    points = list(dict.fromkeys(zip(numbers[0::2], numbers[1::2], strict=False)))
    if len(numbers) % 2 or len(points) < 2:
        msg = "A line needs two points or more, x and y of each."
        raise CannotApply(msg, where=record.name, hint="Draw a longer line.")
    path = freehand_path(numbers, record.tolerance_mm, closed=record.closed)
    progress(1.0)
    result = _with_path(job, "freehand", path, _style(record), record.name)
    return replace(result, reports=(f"{counted(len(points), 'point', 'points')}, {_curves(len(path))}.",))


def path_through(numbers: tuple[float, ...], *, closed: bool) -> Path:
    """Return lines and curves through nodes with handles, six numbers each; a handle on its node is none.

    For the ghost of a path that is being drawn.
    """
    nodes = [
        ((before_x, before_y), (x, y), (after_x, after_y))
        for before_x, before_y, x, y, after_x, after_y in zip(*(numbers[place::6] for place in range(6)), strict=True)
    ]
    pen = PathBuilder()
    pen.move_to(nodes[0][1])
    around = [*nodes[1:], nodes[0]] if closed else nodes[1:]
    for (_, start, leaving), (arriving, end, _) in zip(nodes, around, strict=False):
        if leaving == start and arriving == end:
            if end != start:
                pen.line_to(end)
        else:
            pen.cubic_to(leaving, arriving, end)
    if closed:
        pen.close()
    return pen.path()


def freehand_path(numbers: tuple[float, ...], tolerance_mm: float, *, closed: bool) -> Path:
    """Return the few curves that follow a freehand line, x and y of each point; for its ghost too."""
    points: list[Point] = list(zip(numbers[0::2], numbers[1::2], strict=True))
    return fit_polyline(points, tolerance_mm, closed=closed)


def _style(record: DrawPath | DrawFreehand) -> Style:
    fill, stroke = record.fill, record.stroke
    if fill is None and stroke is None:
        fill, stroke = (_INK, None) if record.closed else (None, _INK)
    return Style(fill=fill, stroke=None if stroke is None else _stroke(stroke, record.stroke_width_mm))


def _stroke(paint: Colour, width_mm: float) -> Stroke:
    return Stroke(paint, width_mm, cap=LineCap.ROUND, join=LineJoin.ROUND)


def _with_path(job: Job, stem: str, path: Path, style: Style, name: str) -> Result:
    fresh = job.fresh_id(stem)
    return Result(at_front(job, Shape(fresh, path, style, name or stem.capitalize())), (), (fresh,))


def _curves(count: int) -> str:
    return phrase("smoothed to {counted}", counted=counted(count, "segment", "segments"))


OPERATIONS = (
    Operation(
        "draw-line",
        "Line",
        "Draw a straight line.",
        DrawLine,
        draw_line,
        lambda r: phrase("Line, {hypot} mm", hypot=format_number(math.hypot(r.x2_mm - r.x1_mm, r.y2_mm - r.y1_mm))),
        least=0,
    ),
    Operation(
        "draw-path",
        "Path by points",
        "Draw lines and curves through points.",
        DrawPath,
        draw_path,
        lambda r: phrase("Path of {counted}", counted=counted(len(r.nodes_mm) // 6, "node", "nodes")),
        least=0,
        by_hand=True,
    ),
    Operation(
        "draw-freehand",
        "Freehand line",
        "Draw a line by hand; it is smoothed to few curves, corners stay corners.",
        DrawFreehand,
        draw_freehand,
        lambda r: phrase(
            "Freehand line of {count} points, smoothed to {tolerance} mm",
            count=len(r.points_mm) // 2,
            tolerance=format_number(r.tolerance_mm),
        ),
        least=0,
        by_hand=True,
    ),
)
