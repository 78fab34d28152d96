"""Measuring on the canvas: distance and angle between two places, and what is selected.

Places snap as everywhere, so that a measure is exact where it should be. What was measured stands on
the canvas and can be copied as text.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen

from bladewise.units import MM_PER_UNIT, format_length, format_number
from bladewise.window.canvas import overlay
from bladewise.window.canvas.gestures import START_PX
from bladewise.window.canvas.handiwork import Handiwork
from bladewise.window.measuring import angle_deg

if TYPE_CHECKING:
    from bladewise.geometry.path import Point
    from bladewise.window.canvas.canvas import Canvas
    from bladewise.window.canvas.handiwork import Modifiers
    from bladewise.window.measuring import Measured, Span

translate = QCoreApplication.translate


class Measuring(Handiwork):
    """Measures between two places; shows what was measured of the selection."""

    name = "measure"

    def __init__(self, canvas: Canvas) -> None:
        """Begin with nothing picked."""
        super().__init__(canvas)
        self.start: Point | None = None
        self.end: Point | None = None
        self._is_set = False
        self._pressed = QPointF()
        self.measured: Measured | None = None
        self.is_busy = False
        """Whether what is selected is being measured."""

    # --- two places -----------------------------------------------------------------------------------------------

    def press(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Pick the first place, or the second."""
        self._pressed = pixel
        if self.start is None or self._is_set:
            self.start, self.end, self._is_set = self.aim(pixel, modifiers), None, False
        else:
            self._to(pixel, modifiers)
            self._is_set = True
        self.changed.emit()

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Show how far it is to here."""
        if self.start is None or self._is_set:
            self.aim(pixel, modifiers)
            self.say_spot(translate("Canvas", "Pick two places to measure between; Alt leaves snapping out"))
        else:
            self._to(pixel, modifiers)
            self.say_spot(translate("Canvas", "Shift keeps to level, plumb and 45°, Ctrl+C copies what was measured"))
            self.changed.emit()
        self.canvas.update()

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """End a drag from one place to the other."""
        far = math.hypot(pixel.x() - self._pressed.x(), pixel.y() - self._pressed.y()) >= START_PX
        if self.start is not None and not self._is_set and far:
            self._to(pixel, modifiers)
            self._is_set = True
            self.changed.emit()

    def escape(self) -> bool:
        """Let go of the places picked."""
        if self.start is None:
            return False
        self.start = self.end = None
        self._is_set = False
        self.changed.emit()
        self.canvas.update()
        return True

    def set_measured(self, measured: Measured | None) -> None:
        """Show what was measured of the selection."""
        self.measured, self.is_busy = measured, False
        self.changed.emit()
        self.canvas.update()

    def wait(self) -> None:
        """Something else is being measured."""
        self.measured, self.is_busy = None, True
        self.changed.emit()
        self.canvas.update()

    def _to(self, pixel: QPointF, modifiers: Modifiers) -> None:
        self.end = self.aim(pixel, modifiers, origin=self.start)

    # --- in words -------------------------------------------------------------------------------------------------

    def lines(self) -> list[str]:
        """Return what was measured, a line each."""
        return [*self.distance_lines(), *self.selection_lines()]

    def text(self) -> str:
        """Return what was measured as text to be copied."""
        return "\n".join(self.lines())

    def distance_lines(self) -> list[str]:
        """Return distance, angle, and how far across and down."""
        if self.start is None or self.end is None:
            return []
        dx, dy = self.end[0] - self.start[0], self.end[1] - self.start[1]
        across = translate("Canvas", "across {dx}, down {dy}").format(dx=self._length(dx), dy=self._length(dy))
        return [
            translate("Canvas", "Distance {length}").format(length=self._length(math.hypot(dx, dy))),
            translate("Canvas", "Angle {angle}°").format(angle=format_number(angle_deg(self.start, self.end), 2)),
            across,
        ]

    def selection_lines(self) -> list[str]:
        """Return length, area, narrowest place and least gap of what is selected."""
        found = self.measured
        if found is None or not found.count:
            return []
        lines = [translate("Canvas", "Length of outlines {length}").format(length=self._length(found.length_mm))]
        if found.area_mm2 is not None:
            lines.append(translate("Canvas", "Area {area}").format(area=self._area(found.area_mm2)))
        if found.narrowest is not None:
            width = self._length(found.narrowest.distance_mm)
            lines.append(translate("Canvas", "Narrowest place {width}").format(width=width))
        if found.gap is not None:
            lines.append(translate("Canvas", "Least gap {gap}").format(gap=self._length(found.gap.distance_mm)))
        return lines

    def _length(self, mm: float) -> str:
        return format_length(mm, unit=self.canvas.unit, decimals=4 if self.canvas.unit == "in" else 3)

    def _area(self, mm2: float) -> str:
        if self.canvas.unit == "in":
            return f"{format_number(mm2 / MM_PER_UNIT['in'] ** 2, 3)} in²"
        return f"{format_number(mm2 / 100.0, 3)} cm²" if mm2 >= 100.0 else f"{format_number(mm2, 3)} mm²"

    # --- on the canvas --------------------------------------------------------------------------------------------

    def paint(self, painter: QPainter) -> None:
        """Show the line between the places, and the spans of the selection."""
        canvas = self.canvas
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self.measured is not None:
            if self.measured.narrowest is not None:
                self._paint_span(painter, self.measured.narrowest, translate("Canvas", "narrowest {length}"))
            if self.measured.gap is not None:
                self._paint_span(painter, self.measured.gap, translate("Canvas", "gap {length}"))
        if self.start is not None and self.end is not None:
            first, last = canvas.view.to_px(*self.start), canvas.view.to_px(*self.end)
            self._paint_rule(painter, QLineF(first, last))
            corner = QPointF(last.x(), first.y())
            painter.setPen(QPen(canvas.colours.selection, 1.0, Qt.PenStyle.DotLine))
            painter.drawPolyline([first, corner, last])
            if self._is_set:
                overlay.paint_label(painter, last, self.distance_lines(), QRectF(canvas.rect()), canvas.colours)
                if self.aim_mm != self.end:
                    self.paint_aim(painter)
                return
        elif self.start is not None:
            place = canvas.view.to_px(*self.start)
            painter.setPen(QPen(canvas.colours.selection, 1.6))
            painter.setBrush(canvas.colours.handle)
            painter.drawEllipse(place, 4.0, 4.0)
        self.paint_aim(painter, self.distance_lines())

    def _paint_span(self, painter: QPainter, span: Span, words: str) -> None:
        canvas = self.canvas
        first, last = canvas.view.to_px(*span.start), canvas.view.to_px(*span.end)
        self._paint_rule(painter, QLineF(first, last))
        label = words.format(length=self._length(span.distance_mm))
        overlay.paint_label(painter, (first + last) / 2.0, [label], QRectF(canvas.rect()), canvas.colours)

    def _paint_rule(self, painter: QPainter, line: QLineF) -> None:
        """Paint a line with a stroke across at both ends, on a halo that keeps it apart from the art."""
        colours = self.canvas.colours
        normal = line.normalVector()
        reach = 6.0 / max(normal.length(), 1e-6)
        across = QPointF(normal.dx() * reach, normal.dy() * reach)
        marks = [QLineF(end - across, end + across) for end in (line.p1(), line.p2())]
        for pen in (QPen(colours.halo, 3.5), QPen(colours.ghost, 1.6)):
            painter.setPen(pen)
            painter.drawLine(line)
            painter.drawLines(marks)
