"""Rulers in mm or inch along the top and the left, readable at every zoom, with a mark at the pointer.

Steps of a millimetre ruler are 1, 2 or 5 times a power of ten; those of an inch ruler halve below an
inch, as on the ruler at the bench.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QPainter, QPolygonF

from bladewise.units import MM_PER_UNIT, format_number

if TYPE_CHECKING:
    from PySide6.QtCore import QPoint, QSize

    from bladewise.window.canvas.colours import CanvasColours
    from bladewise.window.view import View

THICKNESS_PX = 22

_LEAST_LABEL_PX = 64.0
_LEAST_TICK_PX = 6.0


def steps(scale: float, unit: str) -> tuple[float, int]:
    """Return the distance between labelled ticks in units, and into how many parts it is divided.

    Parameters
    ----------
    scale
        Pixels a millimetre.
    unit
        "mm" or "in".
    """
    pixels = scale * MM_PER_UNIT[unit]
    least = _LEAST_LABEL_PX / pixels
    if unit == "in" and least < 1.0 and least > 1.0 / 64.0:
        step = 2.0 ** math.ceil(math.log2(least) - 1e-9)
        parts = 16
        while parts > 1 and step * pixels / parts < _LEAST_TICK_PX:
            parts //= 2
        return step, parts
    power = 10.0 ** math.floor(math.log10(least))
    lead = next(each for each in (1.0, 2.0, 5.0, 10.0) if each * power >= least * (1.0 - 1e-9))
    step = lead * power
    for parts in (20, 10, 5, 4, 2, 1) if lead == 2.0 else (10, 5, 2, 1):
        if step * pixels / parts >= _LEAST_TICK_PX and (lead != 5.0 or parts in (10, 5, 1)):
            return step, parts
    return step, 1


def ruler_at(pixel: QPointF) -> str | None:
    """Return the ruler under a pixel of the canvas, "top" or "left"; the corner where they meet belongs to none."""
    if pixel.x() < THICKNESS_PX and pixel.y() < THICKNESS_PX:
        return None
    return "left" if pixel.x() < THICKNESS_PX else "top" if pixel.y() < THICKNESS_PX else None


def paint_rulers(
    painter: QPainter, view: View, size: QSize, unit: str, pointer: QPoint | None, colours: CanvasColours, font: QFont
) -> None:
    """Paint both rulers over the edges of the canvas."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    small = QFont(font)
    small.setPixelSize(10)
    painter.setFont(small)
    painter.fillRect(0, 0, size.width(), THICKNESS_PX, colours.ruler)
    painter.fillRect(0, 0, THICKNESS_PX, size.height(), colours.ruler)
    step, parts = steps(view.scale, unit)
    mm = MM_PER_UNIT[unit]
    decimals = max(0, 1 - math.floor(math.log10(step))) if step < 1.0 else 0
    lines: list[QLineF] = []
    for horizontal in (True, False):
        origin = view.x_mm if horizontal else view.y_mm
        extent = size.width() if horizontal else size.height()
        first = math.floor((origin + THICKNESS_PX / view.scale) / mm / step)
        last = math.ceil((origin + extent / view.scale) / mm / step)
        painter.setPen(colours.ruler_text)
        painter.save()
        if horizontal:
            painter.setClipRect(THICKNESS_PX, 0, size.width(), THICKNESS_PX)
        else:
            painter.setClipRect(0, THICKNESS_PX, THICKNESS_PX, size.height())
            painter.rotate(-90.0)
        for number in range(first, last + 1):
            value = number * step
            at = (value * mm - origin) * view.scale
            text = _label(value, decimals, unit, step)
            painter.drawText(QPointF(round(at) + 3.0, 10.0) if horizontal else QPointF(3.0 - round(at), 10.0), text)
            for part in range(parts):
                place = round(at + part * step * mm * view.scale / parts) + 0.5
                if place < THICKNESS_PX:
                    continue
                length = 20 if part == 0 else 8 if parts % 2 == 0 and part == parts // 2 else 5
                if horizontal:
                    lines.append(QLineF(place, THICKNESS_PX - length, place, THICKNESS_PX - 1))
                else:
                    lines.append(QLineF(THICKNESS_PX - length, place, THICKNESS_PX - 1, place))
        painter.restore()
    painter.setPen(colours.ruler_tick)
    painter.drawLines(lines)
    painter.drawLine(THICKNESS_PX, THICKNESS_PX - 1, size.width(), THICKNESS_PX - 1)
    painter.drawLine(THICKNESS_PX - 1, THICKNESS_PX, THICKNESS_PX - 1, size.height())
    painter.fillRect(0, 0, THICKNESS_PX, THICKNESS_PX, colours.ruler)
    painter.setPen(colours.ruler_text)
    painter.drawText(QRectF(0, 0, THICKNESS_PX, THICKNESS_PX), Qt.AlignmentFlag.AlignCenter, unit)
    if pointer is not None:
        _paint_pointer(painter, pointer, colours)


def _paint_pointer(painter: QPainter, pointer: QPoint, colours: CanvasColours) -> None:
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colours.selection)
    x, y, base = float(pointer.x()) + 0.5, float(pointer.y()) + 0.5, float(THICKNESS_PX)
    if x > base:
        painter.drawPolygon(QPolygonF([QPointF(x, base), QPointF(x - 4, base - 7), QPointF(x + 4, base - 7)]))
    if y > base:
        painter.drawPolygon(QPolygonF([QPointF(base, y), QPointF(base - 7, y - 4), QPointF(base - 7, y + 4)]))


def _label(value: float, decimals: int, unit: str, step: float) -> str:
    if unit != "in" or step >= 1.0 or step < 1.0 / 64.0 or value == round(value):
        return format_number(value, decimals)
    whole, sixty_fourths = divmod(round(abs(value) * 64.0), 64)
    divisor = math.gcd(sixty_fourths, 64)
    fraction = f"{sixty_fourths // divisor}/{64 // divisor}"
    sign = "-" if value < 0.0 else ""
    return f"{sign}{whole} {fraction}" if whole else f"{sign}{fraction}"
