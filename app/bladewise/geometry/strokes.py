"""Strokes turned into the shapes they paint, as SVG 2 says ("Painting: Filling, Stroking").

The outline is drawn around the path first (`outlines`: strips beside each segment, wedges at the
corners, caps at the open ends, all counting forwards), then its crossings are resolved by the
curve-true kernel. Lines give lines, arcs of circles give arcs, every other curve the fewest cubics
within the fitting tolerance of its exact parallel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.geometry.booleans import merge, resolve
from bladewise.geometry.dashes import dashed
from bladewise.geometry.outlines import dots, outlines
from bladewise.geometry.path import EMPTY, Path, joined
from bladewise.geometry.regions import Region
from bladewise.geometry.tips import sharpened
from bladewise.geometry.tolerances import FITTING_MM

MOST_OVERLAPS = 100_000
"""Dashes that cover one another more often than this, counted in pairs, take minutes and paint a solid line."""


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


def stroke_to_shape(path: Path, stroke: StrokeGeometry, *, tolerance_mm: float = FITTING_MM) -> Path:
    """Return the area a stroke paints.

    Parameters
    ----------
    path
        Open or closed subpaths in mm. Subpaths and dashes of no length are painted by round and
        square caps alone, as SVG 2 says.
    stroke
        Width, caps, joins, dashes, and the space they are meant in.
    tolerance_mm
        Largest distance between the outline returned and the exact one.

    Returns
    -------
    Path
        Outer outlines clockwise on the screen, holes the other way. Empty if nothing is painted: a
        width of nothing, or a pen flattened to a line.

    Raises
    ------
    CannotApply
        If the dashes are too short for the path or the width (`dashes.MOST_DASHES`, `MOST_OVERLAPS`).

    Examples
    --------
    >>> from bladewise.geometry.path import polygon
    >>> stroke_to_shape(polygon([(0, 0), (10, 0)], closed=False), StrokeGeometry(2.0)).bounds()
    (0.0, -1.0, 10.0, 1.0)
    """
    parts = _drawn(path, stroke, tolerance_mm)
    shape = resolve(Region(parts[0])) if len(parts) == 1 else merge([Region(part) for part in parts])
    if not shape:
        return shape
    space, half = _pen_space(stroke)
    if space.is_similarity:
        return sharpened(shape, path, half, tolerance_mm)
    flipped = space.determinant < 0.0
    inner, back = space.inverse(), -half if flipped else half
    return sharpened(shape.transformed(inner), path.transformed(inner), back, tolerance_mm).transformed(space)


def stroke_outline(path: Path, stroke: StrokeGeometry, *, tolerance_mm: float = FITTING_MM) -> Path:
    """Return the outline of a stroke before its crossings are resolved: to be painted nonzero.

    Parameters and errors are those of `stroke_to_shape`.
    """
    return joined(_drawn(path, stroke, tolerance_mm))


def _pen_space(stroke: StrokeGeometry) -> tuple[Affine, float]:
    """Return the pen, brought to the size of a millimetre so that tolerances mean what they say, and half the width."""
    pen = stroke.pen or Affine()
    scale = pen.mean_scale
    return pen.after(Affine.scaled(1.0 / scale)), 0.5 * stroke.width_mm * scale


def _drawn(path: Path, stroke: StrokeGeometry, tolerance_mm: float) -> list[Path]:
    """Return unresolved outlines; each dash apart, since many small shapes merge faster than one resolves."""
    scale = (stroke.pen or Affine()).mean_scale
    half = 0.5 * stroke.width_mm * scale
    if not path or not math.isfinite(half) or half <= 0.0:
        return [EMPTY]
    space, half = _pen_space(stroke)
    turned = space.is_similarity
    inner = path if turned else path.transformed(space.inverse())
    stretch = 1.0 if turned else float(np.linalg.norm([[space.a, space.c], [space.b, space.d]], 2))
    pattern = [length * scale for length in stroke.dash]
    dashes = dashed(inner, pattern, stroke.dash_offset * scale)
    count = len(dashes.path.starts) + len(dashes.places)
    if dashes.path is not inner and count * (2.0 * half * len(pattern) / max(sum(pattern), 1e-300)) > MOST_OVERLAPS:
        message = "the dashes are far shorter than the stroke is wide and would cover one another"
        raise CannotApply(message, hint="Give longer dashes and gaps, or none.")

    def outlined(part: Path) -> Path:
        return outlines(
            part,
            half,
            join=stroke.join.value,
            miter_limit=stroke.miter_limit,
            tolerance_mm=tolerance_mm / stretch,
            cap=stroke.cap.value,
            dot_direction=(space.a, space.b) if turned else (1.0, 0.0),
        )

    whole = dashes.path.closed
    if dashes.path is inner:
        parts = [outlined(inner)]
    else:
        rings = joined([subpath for subpath, closed in zip(dashes.path.subpaths(), whole, strict=True) if closed])
        lines = joined([subpath for subpath, closed in zip(dashes.path.subpaths(), whole, strict=True) if not closed])
        spots = dots(dashes.places, dashes.directions, half, stroke.cap.value)
        parts = [outlined(rings), *outlined(lines).subpaths(), *spots.subpaths()]
        parts = [part for part in parts if part] or [EMPTY]
    if turned:
        return parts
    parts = [part.transformed(space) for part in parts]
    return [part.reversed() for part in parts] if space.determinant < 0.0 else parts
