"""What a finding reaches over, drawn true to size: chords with their measure, hatched areas, sharp tips, double lines.

Each family has its own way: a gauge across narrow places and gaps, hatching one way for what is covered twice, the
other way for what will be lost, level lines for what lies off the sheet; so none speaks by colour alone.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QPainter, QPainterPath, QPen, QPolygonF

from bladewise.units import format_length, format_number
from bladewise.window.canvas.marks import look_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.checks.reach import Corner, Reach, Span
    from bladewise.findings import Finding
    from bladewise.geometry.path import Floats
    from bladewise.window.canvas.colours import CanvasColours
    from bladewise.window.view import View

LEAST_SPAN_PX = 5.0
"""A chord shorter than this on the screen is left to its mark."""

LEAST_AREA_PX = 8.0
MOST_SPANS = 200
MOST_AREAS = 120
MOST_LABELS = 40
_ARROW_PX = 11.0
_SIDE_PX = 22.0

_HATCHES = {
    "small-piece": Qt.BrushStyle.FDiagPattern,
    "off-sheet": Qt.BrushStyle.HorPattern,
    "fill-rule": Qt.BrushStyle.CrossPattern,
    "hidden-art": Qt.BrushStyle.Dense6Pattern,
}


class _Area:
    """A polygon or a line of a finding; its path is made when it is first seen."""

    def __init__(self, owner: int, rings: Sequence[Floats]) -> None:
        self.owner, self._rings = owner, rings
        self._outline: QPainterPath | None = None

    @property
    def outline(self) -> QPainterPath:
        """The path in mm."""
        if self._outline is None:
            self._outline = _path(self._rings)
        return self._outline


class Drawn:
    """The reaches of some findings, ready to be drawn in any view."""

    def __init__(self, findings: Sequence[Finding] = (), reaches: Sequence[Reach] = ()) -> None:
        """Lay out what there is to draw."""
        self._findings = findings
        self._spans: list[tuple[int, Span]] = []
        self._areas: list[_Area] = []
        self._lines: list[_Area] = []
        self._corners: list[tuple[int, Corner]] = []
        boxes: list[tuple[float, float, float, float]] = []
        for owner, reach in enumerate(reaches):
            self._spans += [(owner, span) for span in reach.spans]
            self._corners += [(owner, corner) for corner in reach.corners]
            for rings in reach.areas:
                self._areas.append(_Area(owner, rings))
                boxes.append((*rings[0].min(axis=0).tolist(), *rings[0].max(axis=0).tolist()))
            self._lines += [_Area(owner, (line,)) for line in reach.lines if len(line) > 1]
        self._ends: Floats = np.array([span[:4] for _, span in self._spans]).reshape(-1, 4)
        self._boxes: Floats = np.array(boxes).reshape(-1, 4)

    def __bool__(self) -> bool:
        """Whether there is anything to draw."""
        return bool(self._spans or self._areas or self._lines or self._corners)

    def paint(
        self, painter: QPainter, view: View, window: QRectF, current: int | None, unit: str, colours: CanvasColours
    ) -> set[int]:
        """Draw what is in view; return the findings whose chords stand for their marks."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        labels = _Labels(painter, colours)
        self._paint_areas(painter, view, window, current, colours)
        self._paint_lines(painter, view, window, current, colours)
        self._paint_corners(painter, view, window, current, colours, labels)
        drawn = self._paint_spans(painter, view, window, current, unit, colours, labels)
        labels.paint()
        return drawn

    def _paint_areas(
        self, painter: QPainter, view: View, window: QRectF, current: int | None, colours: CanvasColours
    ) -> None:
        if not self._areas:
            return
        pixels = (self._boxes - (view.x_mm, view.y_mm, view.x_mm, view.y_mm)) * view.scale
        inside = (pixels[:, 2] > window.left()) & (pixels[:, 0] < window.right())
        inside &= (pixels[:, 3] > window.top()) & (pixels[:, 1] < window.bottom())
        inside &= (pixels[:, 2:] - pixels[:, :2]).max(axis=1) >= LEAST_AREA_PX
        to_pixels = view.transform
        veil = QColor(colours.halo)
        veil.setAlpha(150)  # hatching shows on art of any colour
        painter.save()
        painter.setClipRect(window)
        for number in np.flatnonzero(inside)[:MOST_AREAS].tolist():
            area = self._areas[number]
            rule = self._findings[area.owner].rule
            colour = look_of(rule).colour
            outline = to_pixels.map(area.outline)
            is_current = area.owner == current
            painter.setPen(QPen(colours.halo, 4.0) if is_current else QPen(Qt.PenStyle.NoPen))
            painter.setBrush(veil)
            painter.drawPath(outline)
            painter.setPen(QPen(colour, 2.0 if is_current else 1.0))  # wide pens are ten times slower
            painter.setBrush(QBrush(colour, _HATCHES.get(rule, Qt.BrushStyle.BDiagPattern)))
            painter.drawPath(outline)
        painter.restore()

    def _paint_lines(
        self, painter: QPainter, view: View, window: QRectF, current: int | None, colours: CanvasColours
    ) -> None:
        """Draw what would be cut twice as a line that is split in two."""
        to_pixels = view.transform
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for each in self._lines[:MOST_AREAS]:
            line = to_pixels.map(each.outline)
            if not line.boundingRect().adjusted(-1.0, -1.0, 1.0, 1.0).intersects(window):
                continue
            wide = 6.0 if each.owner == current else 4.0
            for pen in (QPen(look_of(self._findings[each.owner].rule).colour, wide), QPen(colours.halo, wide - 2.6)):
                pen.setCapStyle(Qt.PenCapStyle.FlatCap)
                painter.setPen(pen)
                painter.drawPath(line)

    def _paint_corners(
        self,
        painter: QPainter,
        view: View,
        window: QRectF,
        current: int | None,
        colours: CanvasColours,
        labels: _Labels,
    ) -> None:
        """Draw the sides of sharp tips and the angle between them, at the one the hand is at."""
        for owner, corner in self._corners:
            tip = view.to_px(corner.x, corner.y)
            if owner != current or not window.contains(tip):
                continue
            colour = look_of(self._findings[owner].rule).colour
            sides = [QPointF(tip.x() + 3.0 * _SIDE_PX * x, tip.y() + 3.0 * _SIDE_PX * y) for x, y in corner[2:]]
            for pen in (QPen(colours.halo, 4.5), QPen(colour, 2.2)):
                pen.setCapStyle(Qt.PenCapStyle.RoundCap)
                painter.setPen(pen)
                painter.drawPolyline([sides[0], tip, sides[1]])
            (ax, ay), (bx, by) = corner.one, corner.other
            angle = math.degrees(math.acos(max(-1.0, min(1.0, ax * bx + ay * by))))
            middle = QPointF((sides[0].x() + sides[1].x()) / 2.0, (sides[0].y() + sides[1].y()) / 2.0)
            labels.add(middle, ax + bx, ay + by, f"{format_number(angle, 1)}°", is_current=True)

    def _paint_spans(
        self,
        painter: QPainter,
        view: View,
        window: QRectF,
        current: int | None,
        unit: str,
        colours: CanvasColours,
        labels: _Labels,
    ) -> set[int]:
        if not self._spans:
            return set()
        pixels = (self._ends - (view.x_mm, view.y_mm, view.x_mm, view.y_mm)) * view.scale
        long = np.hypot(pixels[:, 2] - pixels[:, 0], pixels[:, 3] - pixels[:, 1])
        middle = (pixels[:, :2] + pixels[:, 2:]) / 2.0
        inside = (middle >= (window.left(), window.top())) & (middle <= (window.right(), window.bottom()))
        drawn: set[int] = set()
        for number in np.flatnonzero(inside.all(axis=1) & (long >= LEAST_SPAN_PX))[:MOST_SPANS].tolist():
            owner, span = self._spans[number]
            x0, y0, x1, y1 = pixels[number].tolist()
            one, other = QPointF(x0, y0), QPointF(x1, y1)
            along = QPointF((x1 - x0) / long[number], (y1 - y0) / long[number])
            is_current = owner == current
            colour = look_of(self._findings[owner].rule).colour
            for pen in (QPen(colours.halo, 5.0 if is_current else 4.0), QPen(colour, 2.4 if is_current else 1.8)):
                pen.setCapStyle(Qt.PenCapStyle.RoundCap)
                painter.setPen(pen)
                _gauge(painter, one, other, along, from_outside=long[number] < 4.0 * _ARROW_PX)
            drawn.add(owner)
            text = format_length(span.size_mm, unit=unit, decimals=2 if unit == "mm" else 3)
            beyond = _ARROW_PX * 2.2 if long[number] < 4.0 * _ARROW_PX else 0.0
            labels.add(other + along * beyond, along.x(), along.y(), text, is_current=is_current)
        return drawn


class _Labels:
    """Measures beside what they measure; those that would lie on others are left out."""

    def __init__(self, painter: QPainter, colours: CanvasColours) -> None:
        self._painter, self._colours = painter, colours
        self._font = QFont(painter.font())
        self._font.setPixelSize(11)
        self._font.setBold(True)
        self._wanted: list[tuple[bool, QPointF, float, float, str]] = []

    def add(self, at: QPointF, x: float, y: float, text: str, *, is_current: bool) -> None:
        """Ask for a label beyond a point in a direction."""
        self._wanted.append((is_current, at, x, y, text))

    def paint(self) -> None:
        """Paint as many as have room, the current one's first."""
        painter = self._painter
        painter.setFont(self._font)
        taken: list[QRectF] = []
        self._wanted.sort(key=lambda each: not each[0])
        for _, at, x, y, text in self._wanted[: 4 * MOST_LABELS]:
            wide = painter.fontMetrics().horizontalAdvance(text) + 10.0
            length = math.hypot(x, y) or 1.0
            middle = QPointF(at.x() + x / length * (wide / 2.0 + 3.0), at.y() + y / length * 11.0)
            chip = QRectF(middle.x() - wide / 2.0, middle.y() - 8.0, wide, 16.0)
            if len(taken) >= MOST_LABELS or any(chip.intersects(other) for other in taken):
                continue
            taken.append(chip)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(self._colours.label)
            painter.drawRoundedRect(chip, 4.0, 4.0)
            painter.setPen(self._colours.label_text)
            painter.drawText(chip, Qt.AlignmentFlag.AlignCenter, text)


def _gauge(painter: QPainter, one: QPointF, other: QPointF, along: QPointF, *, from_outside: bool) -> None:
    """Draw a chord with a bar at each end; arrows point at the bars from outside where there is no room within."""
    across = QPointF(-along.y(), along.x())
    painter.drawLine(one, other)
    for end, out in ((one, -along), (other, along)):
        painter.drawLine(end + across * 6.0, end - across * 6.0)
        inward = out if from_outside else -out
        tail = end + inward * _ARROW_PX
        if from_outside:
            painter.drawLine(end, tail + inward * _ARROW_PX)
        painter.drawPolyline([tail + across * 3.0, end, tail - across * 3.0])


def _path(rings: Sequence[Floats]) -> QPainterPath:
    path = QPainterPath()
    for ring in rings:
        path.addPolygon(QPolygonF([QPointF(x, y) for x, y in ring.tolist()]))
    return path
