"""Placing: move, scale to size, rotate, skew, mirror, and the sheet itself."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from bladewise.document import Box, Job, bounds_of
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    angle,
    choice,
    length,
    switch,
)
from bladewise.operations.selection import Selection, measured_or_refuse, nothing_matches
from bladewise.phrases import listing, phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Callable


_ABOUT_X = "Instead: this place stays, from the left of the sheet"
_ABOUT_Y = "Instead: this place stays, from the top of the sheet"


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
    keep_ratio: bool = switch(default=True, help="A length left out follows in proportion; otherwise it stays")
    anchor: Anchor = choice(Anchor.CENTRE, help="Which point of it stays where it is")
    about_x_mm: float | None = length(None, help=_ABOUT_X)
    about_y_mm: float | None = length(None, help=_ABOUT_Y)
    scale_strokes: bool = switch(default=True, help="Strokes grow with the art; otherwise they keep their width")


@dataclass(frozen=True, kw_only=True)
class Rotate:
    """Turn art."""

    on: Selection = acts_on()
    angle_deg: float = angle(90.0, help="Clockwise (minus: counter-clockwise)")
    anchor: Anchor = choice(Anchor.CENTRE, help="About which point of it")
    about_x_mm: float | None = length(None, help=_ABOUT_X)
    about_y_mm: float | None = length(None, help=_ABOUT_Y)


@dataclass(frozen=True, kw_only=True)
class Skew:
    """Lean art; upright lines lean sideways, level ones slant."""

    on: Selection = acts_on()
    across_deg: float = angle(0.0, minimum=-85.0, maximum=85.0, help="Its top leans to the right (minus: left)")
    down_deg: float = angle(0.0, minimum=-85.0, maximum=85.0, help="Its right side slants down (minus: up)")
    anchor: Anchor = choice(Anchor.CENTRE, help="Which point of it stays where it is")
    about_x_mm: float | None = length(None, help=_ABOUT_X)
    about_y_mm: float | None = length(None, help=_ABOUT_Y)


@dataclass(frozen=True, kw_only=True)
class Mirror:
    """Turn art over."""

    on: Selection = acts_on()
    across: Across = choice(Across.LEFT_RIGHT, help="Which way it is turned over")
    about_sheet: bool = switch(default=False, help="About the middle of the sheet instead of its own")
    anchor: Anchor = choice(Anchor.CENTRE, help="About which point of it")
    about_x_mm: float | None = length(None, help=_ABOUT_X)
    about_y_mm: float | None = length(None, help=_ABOUT_Y)


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
        if not record.keep_ratio:
            sx, sy = sx if sx is not None else 1.0, sy if sy is not None else 1.0
        across, down = sx if sx is not None else sy, sy if sy is not None else sx
        assert across is not None
        return Affine.scaled(across, down, about=_still(record, box))

    progress(1.0)
    return _transform(job, record.on, affine, scale_strokes=record.scale_strokes)


def rotate(job: Job, record: Rotate, progress: Progress) -> Result:
    """Rotate elements about a point of their common box."""
    progress(1.0)
    return _transform(job, record.on, lambda box: Affine.rotated(record.angle_deg, about=_still(record, box)))


def skew(job: Job, record: Skew, progress: Progress) -> Result:
    """Lean elements; a point of their common box stays."""
    lean, slant = math.tan(math.radians(record.across_deg)), math.tan(math.radians(record.down_deg))

    def affine(box: Box) -> Affine:
        x, y = _still(record, box)
        return Affine(1.0, slant, -lean, 1.0, lean * y, -slant * x)

    if 1.0 + lean * slant < 1e-3:
        msg = "Leaning and slanting by so much at once would leave the art flat or turned over."
        raise CannotApply(msg, where=record.on.describe(job), hint="Take smaller angles.")
    progress(1.0)
    return _transform(job, record.on, affine)


def mirror(job: Job, record: Mirror, progress: Progress) -> Result:
    """Mirror elements about the middle of their common box, or of the sheet."""

    def affine(box: Box) -> Affine:
        about = (job.width_mm / 2.0, job.height_mm / 2.0) if record.about_sheet else _still(record, box)
        return Affine.scaled(*((-1.0, 1.0) if record.across is Across.LEFT_RIGHT else (1.0, -1.0)), about=about)

    progress(1.0)
    return _transform(job, record.on, affine)


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


def _transform(job: Job, on: Selection, affine: Callable[[Box], Affine], *, scale_strokes: bool = True) -> Result:
    elements, box = measured_or_refuse(on, job)
    found = affine(box)
    if found == Affine():
        return Result(job, (), tuple(element.id for element in elements))
    moved = {element.id: (element.transformed(found, scale_strokes=scale_strokes),) for element in elements}
    return Result(job.replaced(moved), (), tuple(moved))


def _still(record: Scale | Rotate | Skew | Mirror, box: Box) -> tuple[float, float]:
    """Return the place that stays where it is: a point of the box, or in either direction the one given."""
    x, y = record.anchor.point(box)
    return x if record.about_x_mm is None else record.about_x_mm, y if record.about_y_mm is None else record.about_y_mm


_WIDE = "{size} mm wide"
_HIGH = "{size} mm high"


def _size_text(record: Scale) -> str:
    parts = [
        phrase(text, size=format_number(value))
        for value, text in ((record.width_mm, _WIDE), (record.height_mm, _HIGH))
        if value is not None
    ]
    if not parts:
        parts.append(phrase("no size"))
    return listing(parts if record.scale_strokes else (*parts, phrase("strokes keep their width")))


OPERATIONS = (
    Operation(
        "move",
        "Move",
        "Move art by so much to the right and down.",
        Move,
        move,
        lambda r: phrase(
            "Move {describe} by {dx}, {dy} mm",
            describe=r.on.describe(),
            dx=format_number(r.dx_mm),
            dy=format_number(r.dy_mm),
        ),
    ),
    Operation(
        "scale",
        "Scale to size",
        "Bring art to an exact width, height or both.",
        Scale,
        scale,
        lambda r: phrase("Scale {describe} to {size_text}", describe=r.on.describe(), size_text=_size_text(r)),
    ),
    Operation(
        "rotate",
        "Rotate",
        "Turn art about its centre or a corner.",
        Rotate,
        rotate,
        lambda r: phrase("Rotate {describe} by {angle}°", describe=r.on.describe(), angle=format_number(r.angle_deg)),
    ),
    Operation(
        "mirror",
        "Mirror",
        "Turn art over, as for heat-transfer film.",
        Mirror,
        mirror,
        lambda r: phrase("Mirror {describe} {across}", describe=r.on.describe(), across=r.across),
    ),
    Operation(
        "skew",
        "Skew",
        "Lean art sideways, or slant it downwards.",
        Skew,
        skew,
        lambda r: phrase(
            "Skew {describe} by {across}°, {down}°",
            describe=r.on.describe(),
            across=format_number(r.across_deg),
            down=format_number(r.down_deg),
        ),
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
            else phrase(
                "Sheet {width} × {height} mm",
                width=format_number(r.width_mm or 0.0),
                height=format_number(r.height_mm or 0.0),
            )
        ),
        least=0,
    ),
)
