"""A small pad on which the cut is moved off its place: where the knob stands is how far off it is.

The disc in the middle is how far it may be off before white shows. Beyond it the knob also changes its form: a colour
alone would not tell everybody.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPen
from PySide6.QtWidgets import QWidget

from bladewise.units import MM_PER_UNIT, format_length, format_number
from bladewise.window import theme
from bladewise.window.canvas.handiwork import ARROWS
from bladewise.window.design import FINE_TYPE, FOCUS_PX, RADIUS

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent, QMouseEvent, QPaintEvent

    from bladewise.geometry.path import Point

SIDE_PX = 216
STEPS_MM = {"mm": (0.1, 0.5), "in": (0.127, 0.508)}
"""How far an arrow key moves the knob, and how far with Shift: a tenth and half a millimetre, 5 and 20 mils."""

RINGS_MM = {"mm": (1.0, 2.0), "in": (1.27, 2.54)}
"""How far the rings are apart, and how far where those would be a blur: whole millimetres, 50 and 100 mils."""

FAR_MM = 5.0
"""A field that reaches farther than this has the wider rings."""

_KNOB_PX = 7.0
_ROOM_PX = 12.0


class ShiftPad(QWidget):
    """Takes a shift by hand or by the arrow keys."""

    shifted = Signal(float, float)

    def __init__(self, unit: str) -> None:
        """Stand in the middle."""
        super().__init__()
        self.unit = unit
        self.shift: Point = (0.0, 0.0)
        self.clear_mm: float | None = None
        self.reach_mm = 3.0
        self.setFixedSize(self.sizeHint())
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.CrossCursor)
        self.setAccessibleName(self.tr("How far the cut is off"))
        self.setToolTip(self.tr("Drag, or move by the arrow keys; Shift goes farther, Home goes back to the middle"))
        self._describe()

    def sizeHint(self) -> QSize:
        """Return its size."""
        return QSize(SIDE_PX, SIDE_PX)

    def show_clear(self, clear_mm: float | None) -> None:
        """Show how far the cut may be off; None where there is nothing to be off."""
        self.clear_mm = clear_mm
        wanted = max(3.0, 1.5 * clear_mm) if clear_mm is not None else 3.0
        self.reach_mm = float(min(math.ceil(wanted), 10))
        self.update()

    def show_shift(self, dx: float, dy: float) -> None:
        """Put the knob where the cut lies, without telling anybody."""
        self.shift = dx, dy
        self._describe()
        self.update()

    @property
    def is_clear(self) -> bool:
        """Whether no white shows so far off, whichever way that is."""
        return self.clear_mm is not None and math.hypot(*self.shift) <= self.clear_mm

    def _describe(self) -> None:
        places = 2 if self.unit == "mm" else 3
        across, down = (format_length(value, unit=self.unit, decimals=places) for value in self.shift)
        self.setAccessibleDescription(self.tr("{across} to the right, {down} down").format(across=across, down=down))

    # --- the hand -------------------------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Put the knob there."""
        self._follow(event.position())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the hand."""
        if event.buttons() & Qt.MouseButton.LeftButton:
            self._follow(event.position())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows move the knob, Home puts it back."""
        key = Qt.Key(event.key())
        if key in ARROWS:
            far = event.modifiers() & Qt.KeyboardModifier.ShiftModifier
            size = STEPS_MM[self.unit][1 if far else 0]
            self._go(self.shift[0] + size * ARROWS[key][0], self.shift[1] + size * ARROWS[key][1])
        elif key == Qt.Key.Key_Home:
            self._go(0.0, 0.0)
        else:
            super().keyPressEvent(event)
            return
        event.accept()

    def _follow(self, pixel: QPointF) -> None:
        middle, scale = self._middle(), self._scale()
        self._go((pixel.x() - middle.x()) / scale, (pixel.y() - middle.y()) / scale)

    def _go(self, dx: float, dy: float) -> None:
        dx, dy = (round(min(max(value, -self.reach_mm), self.reach_mm), 2) + 0.0 for value in (dx, dy))
        if (dx, dy) != self.shift:
            self.show_shift(dx, dy)
            self.shifted.emit(dx, dy)

    # --- the picture ----------------------------------------------------------------------------------------------

    def _middle(self) -> QPointF:
        return QPointF(self.width() / 2.0, self.height() / 2.0)

    def _scale(self) -> float:
        return (min(self.width(), self.height()) / 2.0 - _ROOM_PX) / self.reach_mm

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the field, the rings, what is clear, and the knob."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle, scale = self._middle(), self._scale()
        on = self.isEnabled()
        painter.setPen(QPen(theme.colour("border"), 1.0))
        painter.setBrush(theme.colour("raised"))
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(1.5, 1.5, -1.5, -1.5), RADIUS, RADIUS)
        if on and self.clear_mm is not None:
            painter.setPen(QPen(theme.colour("good"), 1.6))
            painter.setBrush(theme.colour("good_soft"))
            radius = min(self.clear_mm, self.reach_mm) * scale
            painter.drawEllipse(middle, radius, radius)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(theme.colour("line"), 1.0))
        for ring in self.rings_mm():
            painter.drawEllipse(middle, ring * scale, ring * scale)
        edge = self.reach_mm * scale
        painter.drawLine(middle - QPointF(edge, 0.0), middle + QPointF(edge, 0.0))
        painter.drawLine(middle - QPointF(0.0, edge), middle + QPointF(0.0, edge))
        self._paint_figures(painter, middle, scale)
        if on:
            self._paint_knob(painter, middle + QPointF(self.shift[0] * scale, self.shift[1] * scale))
        if self.hasFocus():
            painter.setPen(QPen(theme.colour("focus"), FOCUS_PX))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1.0, 1.0, -1.0, -1.0), RADIUS, RADIUS)
        painter.end()

    def rings_mm(self) -> list[float]:
        """Return how far from the middle the rings are: round figures in the unit lengths are shown in."""
        step = RINGS_MM[self.unit][1 if self.reach_mm > FAR_MM else 0]
        return [step * number for number in range(1, math.floor(self.reach_mm / step + 1e-9) + 1)]

    def ring_texts(self) -> list[str]:
        """Return what stands at the rings; the outermost says the unit."""
        rings = self.rings_mm()
        texts = [format_number(ring / MM_PER_UNIT[self.unit], 2) for ring in rings]
        return [*texts[:-1], format_length(rings[-1], unit=self.unit, decimals=2)]

    def _paint_figures(self, painter: QPainter, middle: QPointF, scale: float) -> None:
        font = painter.font()
        font.setPointSizeF(font.pointSizeF() * FINE_TYPE)
        painter.setFont(font)
        painter.setPen(theme.colour("muted"))
        for ring, text in zip(self.rings_mm(), self.ring_texts(), strict=True):
            painter.drawText(QPointF(middle.x() + 4.0, middle.y() + ring * scale - 4.0), text)

    def _paint_knob(self, painter: QPainter, at: QPointF) -> None:
        colour = theme.colour("good" if self.is_clear else "spoils")
        ground = QColor(theme.colour("raised"))
        painter.setPen(QPen(ground, 4.0))
        painter.setBrush(colour if self.is_clear else ground)
        painter.drawEllipse(at, _KNOB_PX, _KNOB_PX)
        painter.setPen(QPen(colour, 2.0))
        painter.drawEllipse(at, _KNOB_PX, _KNOB_PX)
        if not self.is_clear:
            arm = _KNOB_PX * 0.55
            painter.drawLine(at - QPointF(arm, arm), at + QPointF(arm, arm))
            painter.drawLine(at - QPointF(arm, -arm), at + QPointF(arm, -arm))
