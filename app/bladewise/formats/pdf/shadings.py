"""Gradients as shadings: axial and radial, with the stops as functions (ISO 32000-1, 8.7.4.5 and 7.10).

What SVG repeats or reflects beyond a gradient's ends, PDF does not: the gradient is made long enough to
cover what it paints, and its stops are written as often as that takes.
"""

from __future__ import annotations

import itertools
import math
from decimal import Decimal
from typing import TYPE_CHECKING

from pikepdf import Array, Dictionary, Name

from bladewise.document import Gradient, GradientKind, Spread

if TYPE_CHECKING:
    from pikepdf import Object

    from bladewise.document import Box, Stop

MOST_REPEATS = 1000
"""A gradient that repeats more often on a sheet is a tint; the rest keeps its last colour."""
_INSIDE = 0.999
"""How near to its circle's edge a focal point may be (SVG 1.1, "Radial gradients": one outside is drawn in)."""

_APART = 1e-6
"""Stops at a gradient's very ends stand this far inside them, so that the ends keep their own colours."""


def has_clear_stops(gradient: Gradient) -> bool:
    """Whether anything shows through the gradient."""
    return any(stop.opacity < 1.0 for stop in gradient.stops)


def shading(gradient: Gradient, turns: tuple[int, int], *, opacity: bool = False) -> Object:
    """Return a shading dictionary in the gradient's own space.

    Parameters
    ----------
    gradient
        The gradient.
    turns
        From which to which of its turns its stops are written (`turns`).
    opacity
        Give the opacity of the stops as grey, for a soft mask, instead of their colours.
    """
    first, last = turns
    (fx, fy), (cx, cy) = _focus(gradient), gradient.end
    if gradient.kind is GradientKind.LINEAR:
        (fx, fy) = gradient.start
        ends = [(fx + turn * (cx - fx), fy + turn * (cy - fy)) for turn in (first, last)]
        kind, coordinates = 2, [value for end in ends for value in end]
    else:
        kind = 3
        coordinates = [fx, fy, 0.0, fx + last * (cx - fx), fy + last * (cy - fy), last * gradient.radius]
    return Dictionary(
        ShadingType=kind,
        ColorSpace=Name.DeviceGray if opacity else Name.DeviceRGB,
        Coords=Array([real(value) for value in coordinates]),
        Extend=Array([True, True]),
        Function=_function(gradient, first, last, opacity=opacity),
    )


def real(value: float) -> Decimal:
    """Return a number as PDF has it."""
    return Decimal(f"{value:.12f}".rstrip("0").rstrip("."))


def _function(gradient: Gradient, first: int, last: int, *, opacity: bool) -> Object:
    """Return the colours from the first turn to the last, as one function of 0 to 1."""
    stops = [stop._replace(offset=min(1.0, max(0.0, stop.offset))) for stop in gradient.stops]
    once = [(stop.offset, _values(stop, opacity=opacity)) for stop in stops]
    if once[0][0] > 0.0:
        once.insert(0, (0.0, once[0][1]))
    if once[-1][0] < 1.0:
        once.append((1.0, once[-1][1]))
    once[1:-1] = [(min(max(at, _APART), 1.0 - _APART), values) for at, values in once[1:-1]]
    places = []
    for turn in range(first, last):
        turned = gradient.spread is Spread.REFLECT and turn % 2 != 0
        places += [(turn + (1.0 - at if turned else at), values) for at, values in (once[::-1] if turned else once)]
    spans = [
        ((start - first) / (last - first), (end - first) / (last - first), before, after)
        for (start, before), (end, after) in itertools.pairwise(places)
        if end - start > _APART / 2.0
    ]
    parts = [
        Dictionary(
            FunctionType=2,
            Domain=Array([0, 1]),
            C0=Array([real(value) for value in before]),
            C1=Array([real(value) for value in after]),
            N=1,
        )
        for _, _, before, after in spans
    ]
    if len(parts) == 1:
        return parts[0]
    return Dictionary(
        FunctionType=3,
        Domain=Array([0, 1]),
        Functions=Array(parts),
        Bounds=Array([real(end) for _, end, _, _ in spans[:-1]]),
        Encode=Array([0, 1] * len(parts)),
    )


def _values(stop: Stop, *, opacity: bool) -> tuple[float, ...]:
    return (stop.opacity,) if opacity else tuple(channel / 255.0 for channel in stop.colour)


def turns(gradient: Gradient, box: Box) -> tuple[int, int]:
    """Return from which to which turn a box (mm on the sheet) needs a gradient; 0 to 1 where it does not repeat."""
    if gradient.spread is Spread.PAD:
        return 0, 1
    inverse = gradient.transform.inverse()
    corners = [
        (inverse.a * x + inverse.c * y + inverse.e, inverse.b * x + inverse.d * y + inverse.f)
        for x in box[::2]
        for y in box[1::2]
    ]
    if gradient.kind is GradientKind.LINEAR:
        (x0, y0), (x1, y1) = gradient.start, gradient.end
        dx, dy = x1 - x0, y1 - y0
        along = [((x - x0) * dx + (y - y0) * dy) / (dx * dx + dy * dy) for x, y in corners]
        first, last = math.floor(min(along)), math.ceil(max(along))
    else:
        first, last = 0, math.ceil(max(_outward(gradient, corner) for corner in corners))
    first = max(first, -MOST_REPEATS // 2) if gradient.kind is GradientKind.LINEAR else 0
    last = max(min(last, first + MOST_REPEATS), first + 1)
    return first, last


def _outward(gradient: Gradient, point: tuple[float, float]) -> float:
    """Return on which of a radial gradient's circles a point lies: |p − f − t (c − f)| = t r."""
    fx, fy = _focus(gradient)
    (cx, cy), radius = gradient.end, gradient.radius
    px, py, dx, dy = point[0] - fx, point[1] - fy, cx - fx, cy - fy
    a = radius * radius - dx * dx - dy * dy
    half = px * dx + py * dy
    return (-half + math.sqrt(half * half + a * (px * px + py * py))) / a


def _focus(gradient: Gradient) -> tuple[float, float]:
    (fx, fy), (cx, cy) = gradient.start, gradient.end
    distance, most = math.hypot(fx - cx, fy - cy), gradient.radius * _INSIDE
    if gradient.kind is GradientKind.LINEAR or distance <= most:
        return fx, fy
    return cx + (fx - cx) * most / distance, cy + (fy - cy) * most / distance
