"""Our paints as Qt's: colours, gradients, and the pen that stands for a material in outline-only view."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QBrush, QColor, QGradient, QLinearGradient, QPen, QRadialGradient, QTransform

from bladewise.document import Colour, CutKind, Gradient, GradientKind, Material, MaterialKind, Paint, Spread

if TYPE_CHECKING:
    from bladewise.geometry.affine import Affine

WHITE = Colour(255, 255, 255)

LEAST_CONTRAST = 3.0
"""Contrast (WCAG 2.2, 1.4.11) below which a hairline is drawn darker or lighter than its material, to be seen."""

_SPREADS = {
    Spread.PAD: QGradient.Spread.PadSpread,
    Spread.REFLECT: QGradient.Spread.ReflectSpread,
    Spread.REPEAT: QGradient.Spread.RepeatSpread,
}


CUT_DASHES = {
    CutKind.THROUGH: [18.0, 3.0],
    CutKind.PERFORATION: [4.0, 4.0],
    CutKind.CREASE: [9.0, 3.0, 2.0, 3.0],
}
"""Kiss cuts are unbroken; every other kind of cut has a dash of its own, in pixels."""


PRINT_DASHES = [2.0, 2.0]


@lru_cache(maxsize=1024)
def material_pen(material: Material, paper: Colour) -> QPen:
    """Return the pen for a material: one pixel wide at any zoom, unbroken only where a knife follows it."""
    pen = QPen(qt_colour(legible(material.colour, paper)), 1.0)
    pen.setCosmetic(True)
    if material.kind is MaterialKind.GUIDE:
        pen.setDashPattern([6.0, 4.0])
    elif material.kind.is_printed:
        pen.setDashPattern(PRINT_DASHES)
    elif material.cut in CUT_DASHES:
        pen.setDashPattern(CUT_DASHES[material.cut])
    return pen


def legible(colour: Colour, paper: Colour) -> Colour:
    """Return a colour, darker on light paper or lighter on dark until it can be told from it."""
    target = 0 if paper.luminance > 0.18 else 255
    mixed = colour
    for share in range(1, 21):
        high, low = sorted((mixed.luminance, paper.luminance), reverse=True)
        if (high + 0.05) / (low + 0.05) >= LEAST_CONTRAST:
            break
        mixed = Colour(*(round(channel + (target - channel) * share / 20.0) for channel in colour))
    return mixed


def qt_colour(colour: Colour, opacity: float = 1.0) -> QColor:
    """Return a colour as Qt's."""
    return QColor(colour.red, colour.green, colour.blue, round(255 * min(max(opacity, 0.0), 1.0)))


def qt_brush(paint: Paint, opacity: float = 1.0) -> QBrush:
    """Return a paint as a brush for a painter that draws in mm (SVG 2, "Paint Servers")."""
    if isinstance(paint, Colour):
        return QBrush(qt_colour(paint, opacity))
    if not paint.stops:
        return QBrush(Qt.BrushStyle.NoBrush)
    last = paint.stops[-1]
    if paint.kind is GradientKind.LINEAR:
        if paint.start == paint.end:
            return QBrush(qt_colour(last.colour, last.opacity * opacity))
        gradient: QGradient = QLinearGradient(QPointF(*paint.start), QPointF(*paint.end))
    else:
        if paint.radius <= 0.0:
            return QBrush(qt_colour(last.colour, last.opacity * opacity))
        gradient = QRadialGradient(QPointF(*paint.end), paint.radius, QPointF(*_focus(paint)))
    gradient.setSpread(_SPREADS[paint.spread])
    gradient.setInterpolationMode(QGradient.InterpolationMode.ComponentInterpolation)
    here = -1.0
    for stop in paint.stops:  # Qt keeps one stop a place: two at the same place stand a hair apart
        here = min(max(stop.offset, here + 1e-6), 1.0)
        gradient.setColorAt(here, qt_colour(stop.colour, stop.opacity * opacity))
    brush = QBrush(gradient)
    brush.setTransform(qt_transform(paint.transform))
    return brush


def _focus(paint: Gradient) -> tuple[float, float]:
    """Return the focal point, drawn into the circle if it lies outside (SVG 1.1, "Radial gradients")."""
    dx, dy = paint.start[0] - paint.end[0], paint.start[1] - paint.end[1]
    away = math.hypot(dx, dy)
    if away < 0.998 * paint.radius:
        return paint.start
    pull = 0.998 * paint.radius / away
    return paint.end[0] + dx * pull, paint.end[1] + dy * pull


def qt_transform(affine: Affine) -> QTransform:
    """Return a transform as Qt's."""
    return QTransform(affine.a, affine.b, affine.c, affine.d, affine.e, affine.f)
