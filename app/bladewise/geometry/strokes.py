"""Strokes turned into the shapes they paint, as SVG 2 says ("Painting: Filling, Stroking")."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bladewise.geometry.affine import Affine


class LineCap(StrEnum):
    """How an open end is finished."""

    BUTT = "butt"
    ROUND = "round"
    SQUARE = "square"


class LineJoin(StrEnum):
    """How a corner is finished."""

    MITER = "miter"
    ROUND = "round"
    BEVEL = "bevel"


@dataclass(frozen=True, slots=True)
class StrokeGeometry:
    """The geometry of a stroke.

    Width, dash and dash offset are in mm, or in the units of the space that `pen` maps to mm.
    """

    width_mm: float
    cap: LineCap = LineCap.BUTT
    join: LineJoin = LineJoin.MITER
    miter_limit: float = 4.0
    dash: tuple[float, ...] = ()
    dash_offset: float = 0.0
    pen: Affine | None = None
