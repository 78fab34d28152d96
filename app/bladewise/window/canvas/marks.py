"""Trouble marked where it is: one shape of mark a family of rules, the current one emphasised.

Marks that would lie on one another on the screen are drawn as one with their count.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QPainter, QPen, QPolygonF

from bladewise.window.canvas.colours import BLUE, GREEN, ORANGE, PURPLE, VERMILION

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtGui import QColor

    from bladewise.findings import Finding
    from bladewise.window.canvas.colours import CanvasColours
    from bladewise.window.view import View

RADIUS_PX = 7.0
_CELL_PX = 12.0


class MarkShape(StrEnum):
    """What a mark looks like, colour aside."""

    DIAMOND = "diamond"
    CROSS = "cross"
    GAP = "gap"
    SQUARE = "square"
    TRIANGLE = "triangle"
    ROUND = "round"


class MarkLook(NamedTuple):
    """Shape and colour of a family of rules."""

    shape: MarkShape
    colour: QColor


_LOOKS = {
    "overlap": MarkLook(MarkShape.DIAMOND, VERMILION),
    "duplicate": MarkLook(MarkShape.DIAMOND, VERMILION),
    "crossing": MarkLook(MarkShape.CROSS, VERMILION),
    "open-path": MarkLook(MarkShape.GAP, BLUE),
    "live-lettering": MarkLook(MarkShape.SQUARE, PURPLE),
    "stroke": MarkLook(MarkShape.SQUARE, GREEN),
    "small-piece": MarkLook(MarkShape.TRIANGLE, ORANGE),
}


def look_of(rule: str) -> MarkLook:
    """Return how a rule's findings are marked; a panel that lists them can show the same mark."""
    return _LOOKS.get(rule, MarkLook(MarkShape.ROUND, BLUE))


class Mark(NamedTuple):
    """A mark on the screen: where, what, and the findings it stands for."""

    place: QPointF
    look: MarkLook
    findings: tuple[int, ...]
    is_current: bool


def marks_in(findings: Sequence[Finding], current: int | None, view: View, window: QRectF) -> list[Mark]:
    """Return the marks to be seen in a window, those of one family and place together, the current one last."""
    cells: dict[tuple[object, ...], list[int]] = {}
    for index, finding in enumerate(findings):
        place = view.to_px(finding.x_mm, finding.y_mm)
        if not window.contains(place):
            continue
        key: tuple[object, ...] = (int(place.x() // _CELL_PX), int(place.y() // _CELL_PX), look_of(finding.rule).shape)
        cells.setdefault((index,) if index == current else key, []).append(index)
    marks = []
    for members in cells.values():
        first = findings[members[0]]
        place = view.to_px(first.x_mm, first.y_mm)
        marks.append(Mark(place, look_of(first.rule), tuple(members), members[0] == current))
    return sorted(marks, key=lambda mark: mark.is_current)


def paint_marks(painter: QPainter, marks: Sequence[Mark], colours: CanvasColours) -> None:
    """Paint marks; plain dots where there are too many to be told apart."""
    if len(marks) > 600:
        for colour in {mark.look.colour.name(): mark.look.colour for mark in marks}.values():
            painter.setPen(QPen(colour, 5.0, Qt.PenStyle.SolidLine, Qt.PenCapStyle.SquareCap))
            painter.drawPoints(QPolygonF([mark.place for mark in marks if mark.look.colour == colour]))
        marks = [mark for mark in marks if mark.is_current]
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for mark in marks:
        _paint_mark(painter, mark, colours)


def paint_mark_shape(painter: QPainter, place: QPointF, look: MarkLook, halo: QColor, radius: float) -> None:
    """Paint the bare shape of a mark, with a halo so that it shows on any art."""
    for pen in (QPen(halo, 4.5), QPen(look.colour, 2.2)):
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        _shape(painter, place, look.shape, radius)


def _paint_mark(painter: QPainter, mark: Mark, colours: CanvasColours) -> None:
    radius = RADIUS_PX
    if mark.is_current:
        radius = RADIUS_PX * 1.45
        veil = mark.look.colour.toRgb()
        veil.setAlpha(60)
        painter.setPen(QPen(mark.look.colour, 1.0))
        painter.setBrush(veil)
        painter.drawEllipse(mark.place, radius * 2.2, radius * 2.2)
    paint_mark_shape(painter, mark.place, mark.look, colours.halo, radius)
    if len(mark.findings) > 1:
        font = QFont(painter.font())
        font.setPixelSize(10)
        font.setBold(True)
        painter.setFont(font)
        text = str(len(mark.findings))
        wide = painter.fontMetrics().horizontalAdvance(text) + 8.0
        chip = QRectF(mark.place.x() + radius * 0.7, mark.place.y() - radius * 1.7, wide, 14.0)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colours.label)
        painter.drawRoundedRect(chip, 7.0, 7.0)
        painter.setPen(colours.label_text)
        painter.drawText(chip, Qt.AlignmentFlag.AlignCenter, text)


def _shape(painter: QPainter, place: QPointF, shape: MarkShape, r: float) -> None:
    x, y = place.x(), place.y()
    match shape:
        case MarkShape.DIAMOND:
            painter.drawPolygon([QPointF(x, y - r), QPointF(x + r, y), QPointF(x, y + r), QPointF(x - r, y)])
        case MarkShape.CROSS:
            d = 0.75 * r
            painter.drawLine(QPointF(x - d, y - d), QPointF(x + d, y + d))
            painter.drawLine(QPointF(x - d, y + d), QPointF(x + d, y - d))
        case MarkShape.GAP:
            painter.drawArc(QRectF(x - 0.85 * r, y - 0.85 * r, 1.7 * r, 1.7 * r), 40 * 16, 280 * 16)
        case MarkShape.SQUARE:
            painter.drawRect(QRectF(x - 0.75 * r, y - 0.75 * r, 1.5 * r, 1.5 * r))
        case MarkShape.TRIANGLE:
            base = y + 0.7 * r
            painter.drawPolygon([QPointF(x, y - r), QPointF(x + 0.9 * r, base), QPointF(x - 0.9 * r, base)])
        case _:
            painter.drawEllipse(place, 0.85 * r, 0.85 * r)
