"""What lies above the art: frames and handles of the selection, labels, and what an empty canvas says."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QCoreApplication, QLineF, QPointF, QRectF, QSizeF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPen

from bladewise.operations.arrange import Anchor
from bladewise.window.preferences import Snap

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.document import Box
    from bladewise.window.canvas.colours import CanvasColours
    from bladewise.window.canvas.snapping import Spot
    from bladewise.window.view import View

HANDLE_PX = 9.0
_GRAB_PX = 8.0
_LEAST_BOX_PX = 26.0
"""A box smaller than this on the screen gets its handles outside it, so that the art can still be taken hold of."""


class Handle(NamedTuple):
    """One of the eight handles: which part of the box it pulls, and what stays where it is."""

    pulls: Anchor
    across: int
    down: int

    @property
    def anchor(self) -> Anchor:
        """The point opposite, which stays."""
        return _OPPOSITE[self.pulls]

    @property
    def is_corner(self) -> bool:
        """Whether it pulls both ways."""
        return bool(self.across and self.down)

    @property
    def cursor(self) -> Qt.CursorShape:
        """The pointer's shape over it."""
        if not self.is_corner:
            return Qt.CursorShape.SizeHorCursor if self.across else Qt.CursorShape.SizeVerCursor
        return Qt.CursorShape.SizeFDiagCursor if self.across == self.down else Qt.CursorShape.SizeBDiagCursor


HANDLES = (
    Handle(Anchor.TOP_LEFT, -1, -1),
    Handle(Anchor.TOP, 0, -1),
    Handle(Anchor.TOP_RIGHT, 1, -1),
    Handle(Anchor.RIGHT, 1, 0),
    Handle(Anchor.BOTTOM_RIGHT, 1, 1),
    Handle(Anchor.BOTTOM, 0, 1),
    Handle(Anchor.BOTTOM_LEFT, -1, 1),
    Handle(Anchor.LEFT, -1, 0),
)

_OPPOSITE = {
    Anchor.TOP_LEFT: Anchor.BOTTOM_RIGHT,
    Anchor.TOP: Anchor.BOTTOM,
    Anchor.TOP_RIGHT: Anchor.BOTTOM_LEFT,
    Anchor.RIGHT: Anchor.LEFT,
    Anchor.BOTTOM_RIGHT: Anchor.TOP_LEFT,
    Anchor.BOTTOM: Anchor.TOP,
    Anchor.BOTTOM_LEFT: Anchor.TOP_RIGHT,
    Anchor.LEFT: Anchor.RIGHT,
}


def handle_frame(view: View, box: Box) -> QRectF:
    """Return the rectangle in pixels on which a box's handles sit."""
    rect = view.rect(box)
    wide, high = max(0.0, _LEAST_BOX_PX - rect.width()) / 2.0, max(0.0, _LEAST_BOX_PX - rect.height()) / 2.0
    return rect.adjusted(-wide, -high, wide, high)


def handle_places(view: View, box: Box) -> list[tuple[Handle, QPointF]]:
    """Return the handles of a box with their middles in pixels; a line gets only those that can do something."""
    frame = handle_frame(view, box)
    middle, half = frame.center(), QSizeF(frame.width() / 2.0, frame.height() / 2.0)
    flat_x, flat_y = box[2] <= box[0], box[3] <= box[1]
    return [
        (handle, QPointF(middle.x() + handle.across * half.width(), middle.y() + handle.down * half.height()))
        for handle in HANDLES
        if not (handle.across and flat_x) and not (handle.down and flat_y)
    ]


def handle_at(view: View, box: Box, pixel: QPointF) -> Handle | None:
    """Return the handle under a pixel; corners win over sides."""
    found = [
        handle
        for handle, place in handle_places(view, box)
        if max(abs(place.x() - pixel.x()), abs(place.y() - pixel.y())) <= _GRAB_PX
    ]
    return max(found, key=lambda handle: handle.is_corner, default=None)


def paint_frames(painter: QPainter, view: View, boxes: Sequence[Box], colours: CanvasColours) -> None:
    """Paint a frame around each of several selected elements."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    painter.setPen(QPen(colours.selection, 1.0, Qt.PenStyle.DotLine))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRects([view.rect(box).toRect() for box in boxes])


def paint_entered(painter: QPainter, view: View, box: Box, colours: CanvasColours) -> None:
    """Paint the frame of the group in which clicks select, so that it is seen that one is inside."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    pen = QPen(colours.ghost, 1.0)
    pen.setDashPattern([8.0, 5.0])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(view.rect(box).toRect().adjusted(-6, -6, 6, 6))


def paint_handles(painter: QPainter, view: View, box: Box, colours: CanvasColours) -> None:
    """Paint the frame of the whole selection with its handles: round at the corners, bars at the sides."""
    frame = handle_frame(view, box)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(colours.selection, 1.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(frame)
    painter.setBrush(colours.handle)
    painter.setPen(QPen(colours.selection, 1.6))
    for handle, place in handle_places(view, box):
        if handle.is_corner:
            painter.drawEllipse(place, HANDLE_PX / 2.0, HANDLE_PX / 2.0)
            continue
        wide, high = (HANDLE_PX * 1.5, HANDLE_PX * 0.6) if handle.down else (HANDLE_PX * 0.6, HANDLE_PX * 1.5)
        painter.drawRoundedRect(QRectF(place.x() - wide / 2.0, place.y() - high / 2.0, wide, high), 2.5, 2.5)


def paint_band(painter: QPainter, rect: QRectF, colours: CanvasColours, *, touching: bool) -> None:
    """Paint a rubber band; dashed where it also takes what it only touches."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    veil = colours.selection.toRgb()
    veil.setAlpha(28)
    painter.setPen(QPen(colours.selection, 1.0, Qt.PenStyle.DashLine if touching else Qt.PenStyle.SolidLine))
    painter.setBrush(veil)
    painter.drawRect(rect.toRect())


def paint_snap_lines(painter: QPainter, lines: Sequence[QLineF], colours: CanvasColours) -> None:
    """Paint the lines that art has snapped to."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    painter.setPen(QPen(colours.ghost, 1.0, Qt.PenStyle.DashLine))
    painter.drawLines(list(lines))


def paint_snap_spot(painter: QPainter, view: View, spot: Spot, colours: CanvasColours) -> None:
    """Paint the place that something has snapped to; every kind has a shape of its own."""
    place = view.to_px(spot.x_mm, spot.y_mm)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for pen in (QPen(colours.handle, 4.0), QPen(colours.ghost, 1.8)):
        painter.setPen(pen)
        x, y, r = place.x(), place.y(), 6.0
        match spot.kind:
            case Snap.NODES:
                painter.drawRect(QRectF(x - r, y - r, 2.0 * r, 2.0 * r))
            case Snap.CENTRES:
                painter.drawEllipse(place, r, r)
                painter.drawLine(QLineF(x - r - 4.0, y, x + r + 4.0, y))
                painter.drawLine(QLineF(x, y - r - 4.0, x, y + r + 4.0))
            case Snap.MIDPOINTS:
                painter.drawPolygon([QPointF(x - r, y + r), QPointF(x + r, y + r), QPointF(x, y - r)])
            case Snap.INTERSECTIONS:
                painter.drawLine(QLineF(x - r, y - r, x + r, y + r))
                painter.drawLine(QLineF(x - r, y + r, x + r, y - r))
            case Snap.TANGENTS:
                painter.drawEllipse(place, r, r)
                painter.drawLine(QLineF(x - r - 4.0, y - r, x + r + 4.0, y - r))
            case Snap.GRID:
                painter.drawLine(QLineF(x - r, y, x + r, y))
                painter.drawLine(QLineF(x, y - r, x, y + r))
            case _:
                diamond = [QPointF(x, y - r), QPointF(x + r, y), QPointF(x, y + r), QPointF(x - r, y)]
                painter.drawPolygon(diamond)


def paint_label(painter: QPainter, at: QPointF, lines: Sequence[str], window: QRectF, colours: CanvasColours) -> None:
    """Paint a small readout beside the pointer, kept within the window."""
    metrics = QFontMetricsF(painter.font())
    wide = max(metrics.horizontalAdvance(line) for line in lines) + 14.0
    high = metrics.height() * len(lines) + 8.0
    x = at.x() + 16.0 if at.x() + 16.0 + wide <= window.right() else at.x() - 12.0 - wide
    y = at.y() + 18.0 if at.y() + 18.0 + high <= window.bottom() else at.y() - 12.0 - high
    rect = QRectF(max(x, window.left()), max(y, window.top()), wide, high)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colours.label)
    painter.drawRoundedRect(rect, 4.0, 4.0)
    painter.setPen(colours.label_text)
    for number, line in enumerate(lines):
        baseline = rect.top() + 4.0 + metrics.ascent() + number * metrics.height()
        painter.drawText(QPointF(rect.left() + 7.0, baseline), line)


def paint_empty(painter: QPainter, window: QRectF, ground: QRectF, colours: CanvasColours, font: QFont) -> None:
    """Say what to do on an empty canvas; `ground` is the sheet, if it is large enough to be written on."""
    lines = (
        QCoreApplication.translate("Canvas", "Drop artwork here"),
        QCoreApplication.translate("Canvas", "or open a file"),
        QCoreApplication.translate("Canvas", "or begin at the bench: set lettering, draw a rectangle or an ellipse"),
    )
    large = QFont(font)
    large.setPointSizeF(font.pointSizeF() * 1.7 if font.pointSizeF() > 0.0 else 17.0)
    large.setBold(True)
    metrics, large_metrics = QFontMetricsF(font), QFontMetricsF(large)
    wide = max(large_metrics.horizontalAdvance(lines[0]), *(metrics.horizontalAdvance(line) for line in lines[1:]))
    card = QRectF(0.0, 0.0, min(wide + 64.0, window.width()), large_metrics.height() + 2.0 * metrics.height() + 60.0)
    middle = ground.intersected(window).center() if ground.intersects(window) else window.center()
    card.moveCenter(middle)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    edge = QPen(colours.selection, 1.5)
    edge.setDashPattern([5.0, 4.0])
    painter.setPen(edge)
    painter.setBrush(colours.ruler)
    painter.drawRoundedRect(card, 10.0, 10.0)
    y = card.top() + 22.0
    for number, line in enumerate(lines):
        used = large if number == 0 else font
        high = (large_metrics if number == 0 else metrics).height()
        painter.setFont(used)
        painter.setPen(colours.text if number == 0 else colours.quiet_text)
        painter.drawText(QRectF(card.left(), y, card.width(), high), Qt.AlignmentFlag.AlignCenter, line)
        y += high + 8.0
    painter.setFont(font)
