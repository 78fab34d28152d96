"""A file as it will be written, drawn: the sheet, outlines in the order of the knife, marks, where it counts from."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shiboken6
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPaintEvent, QPen, QPixmap, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from bladewise.document import Colour
from bladewise.window import theme
from bladewise.window.design import FINE_TYPE, RADIUS
from bladewise.window.painting import paint_job
from bladewise.window.paints import CUT_DASHES, legible, qt_colour
from bladewise.window.view import View

if TYPE_CHECKING:
    from bladewise.geometry.path import Floats
    from bladewise.window.hand_off.looks import Look

MARGIN = 16
_PAPER_LIGHT, _PAPER_DARK = Colour(255, 255, 255), Colour(222, 220, 214)
ORIGIN = "#d55e00"
"""Where the machine counts from: vermilion of the Okabe-Ito palette, on paper light enough for it in both themes."""

_ARROW = 18.0
_FAINT = 90
_MOST_NUMBERS = 40
"""More outlines than this are not numbered: the numbers would hide them."""


class FilePicture(QWidget):
    """Draws one file; in the large view, only as far as the knife has come."""

    def __init__(self, *, is_large: bool = False) -> None:
        """Start with nothing to show."""
        super().__init__()
        self.look: Look | None = None
        self.reached: int | None = None
        self._is_large = is_large
        self._beneath: tuple[Look, QSize, str, QPixmap] | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(120, 80)

    def show_look(self, look: Look | None) -> None:
        """Show a file, or nothing."""
        self.look, self.reached, self._beneath = look, None, None
        self.update()

    def show_reached(self, count: int | None) -> None:
        """Show so many outlines as cut, the others faint; None: all."""
        self.reached = count
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the file."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.colour("window"))
        painter.drawRoundedRect(QRectF(self.rect()), RADIUS, RADIUS)
        if self.look is not None:
            view = View.fitted(self.look.box, self.width(), self.height(), MARGIN * (2 if self._is_large else 1))
            self._paint_sheet(painter, self.look, view)
            self._paint_outlines(painter, self.look, view)
            at = view.to_px(*self.look.origin)
            self.paint_origin(painter, at.x(), at.y(), up=self.look.y_up)
        painter.end()

    def _paint_sheet(self, painter: QPainter, look: Look, view: View) -> None:
        sheet = view.rect(look.sheet)
        painter.setPen(QPen(theme.colour("border"), 1))
        painter.setBrush(qt_colour(self.paper()))
        painter.drawRect(sheet)
        if look.painted is None:
            return
        key = theme.current().window
        if self._beneath is None or self._beneath[:3] != (look, self.size(), key):
            ratio = self.devicePixelRatioF()
            pixmap = QPixmap(self.size() * ratio)
            pixmap.fill(QColor(0, 0, 0, 0))
            inner = QPainter(pixmap)
            paint_job(inner, look.painted, view.times(ratio), paper=self.paper())
            inner.end()
            pixmap.setDevicePixelRatio(ratio)
            self._beneath = look, self.size(), key, pixmap
        painter.setClipRect(self.rect())
        painter.drawPixmap(0, 0, self._beneath[3])
        painter.setClipping(False)

    def _paint_outlines(self, painter: QPainter, look: Look, view: View) -> None:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        reached = len(look.outlines) if self.reached is None else self.reached
        pens: dict[tuple[int, bool], QPen] = {}
        end: QPointF | None = view.to_px(*look.origin) if self._is_large else None
        for number, outline in enumerate(look.outlines):
            is_cut = number < reached
            key = outline.row, is_cut
            if key not in pens:
                pens[key] = self._pen(look, outline.row, is_cut=is_cut)
            points = _polygon((outline.places - (view.x_mm, view.y_mm)) * view.scale)
            painter.setPen(pens[key])
            painter.drawPolyline(points)
            if end is not None and self.reached is not None and is_cut:
                painter.setPen(QPen(QColor(theme.LIGHT.may_spoil), 1, Qt.PenStyle.DotLine))
                painter.drawLine(end, points.first())
                end = points.last()
        if self._is_large:
            self._paint_numbers(painter, look, view, reached)

    def _pen(self, look: Look, row: int, *, is_cut: bool) -> QPen:
        ink = qt_colour(self.ink(look.rows[row].colour))
        if not is_cut:
            ink.setAlpha(_FAINT)
        pen = QPen(ink, 1.4 if self._is_large and is_cut else 1.0)
        dashes = CUT_DASHES.get(look.rows[row].cut)
        if dashes:
            pen.setDashPattern(dashes)
        return pen

    def _paint_numbers(self, painter: QPainter, look: Look, view: View, reached: int) -> None:
        """Number where the knife goes in, outline after outline; in colours for light ground, as the sheet is."""
        cut = [(number, each) for number, each in enumerate(look.outlines) if not look.rows[each.row].is_marks]
        font = QFont(self.font())
        font.setPointSizeF(font.pointSizeF() * FINE_TYPE)
        painter.setFont(font)
        if len(cut) > _MOST_NUMBERS:
            cut = [each for each in cut if each[0] == reached - 1]
        for number, outline in cut:
            place = view.to_px(float(outline.places[0][0]), float(outline.places[0][1]))
            painter.setPen(QPen(qt_colour(self.paper()), 1))
            painter.setBrush(QColor(theme.LIGHT.accent if number < reached else theme.LIGHT.muted))
            box = QRectF(place.x() - 9, place.y() - 8, 18, 16)
            painter.drawRoundedRect(box, 8, 8)
            painter.setPen(QColor(theme.LIGHT.on_accent))
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, str(number + 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)

    @staticmethod
    def paint_origin(painter: QPainter, x: float, y: float, *, up: bool, arrow: float = _ARROW) -> None:
        """Mark 0, 0 with an arrow for each of the machine's two directions."""
        way = -1.0 if up else 1.0
        for width, colour in ((4.0, qt_colour(FilePicture.paper())), (1.8, QColor(ORIGIN))):
            painter.setPen(QPen(colour, width, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
            for across, down in ((1.0, 0.0), (0.0, way)):
                tip = QPointF(x + across * arrow, y + down * arrow)
                painter.drawLine(QPointF(x, y), tip)
                for side in (-1.0, 1.0):
                    back = tip - QPointF(across * 5.0 - down * side * 3.0, down * 5.0 - across * side * 3.0)
                    painter.drawLine(tip, back)
        painter.setPen(QPen(qt_colour(FilePicture.paper()), 1.5))
        painter.setBrush(QColor(ORIGIN))
        painter.drawEllipse(QPointF(x, y), 3.6, 3.6)
        painter.setBrush(Qt.BrushStyle.NoBrush)

    @staticmethod
    def paper() -> Colour:
        """Return the colour of the sheet: white, or dimmed where the window is dark."""
        return _PAPER_DARK if theme.current().dark else _PAPER_LIGHT

    @staticmethod
    def ink(colour: Colour) -> Colour:
        """Return a material's colour so that it shows on the sheet."""
        return legible(colour, FilePicture.paper())


def _polygon(places: Floats) -> QPolygonF:
    """Return places as Qt's, copied in one piece."""
    polygon = QPolygonF()
    polygon.resize(len(places))
    memory = shiboken6.VoidPtr(polygon.data(), places.nbytes, True)  # type: ignore[call-arg, arg-type]  # noqa: FBT003
    np.frombuffer(memory, dtype=np.float64)[:] = np.ascontiguousarray(places).ravel()  # type: ignore[call-overload]
    return polygon
