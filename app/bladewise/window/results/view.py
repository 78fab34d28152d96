"""A picture of a result: pulled about and zoomed like the canvas, and nothing in it can be changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QPainter, QPen

from bladewise.window import theme
from bladewise.window.canvas.canvas import WHEEL_FACTOR
from bladewise.window.canvas.handiwork import ARROWS
from bladewise.window.canvas.surface import Surface

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent, QMouseEvent, QPaintEvent, QWheelEvent

    from bladewise.document import Job
    from bladewise.geometry.path import Point

PAN_PX = 48
_MARK_PX = 13.0


class ResultView(Surface):
    """The picture of a result, with a ring around the place where most white shows."""

    invites = False

    def __init__(self) -> None:
        """Show nothing yet."""
        super().__init__()
        self.place: Point | None = None
        self._pulled: QPointF | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.OpenHandCursor)
        self.setMinimumSize(320, 240)

    def sizeHint(self) -> QSize:
        """Return a size in which a sticker can be looked at."""
        return QSize(640, 520)

    def show_result(self, job: Job, place: Point | None) -> None:
        """Show a job, and where most white is; the view stays where it was."""
        self.place = place
        old = self.job
        self.set_job(job, old.changes_to(job) if old is not None else None)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the result, then the ring."""
        super().paintEvent(event)
        if self.place is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setClipRect(self.window_box())
        at = self.view.to_px(*self.place)
        for pen in (QPen(self.colours.halo, 5.0), QPen(theme.colour("spoils"), 2.2)):
            painter.setPen(pen)
            painter.drawEllipse(at, _MARK_PX, _MARK_PX)
        painter.end()

    # --- the hand ------------------------------------------------------------------------------------------------

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom at the pointer."""
        notches = event.angleDelta().y() / 120.0 or event.angleDelta().x() / 120.0
        if notches:
            at = event.position()
            self.set_view(self.view.zoomed(WHEEL_FACTOR**notches, at.x(), at.y()))
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of the sheet."""
        self._pulled = event.position()
        self.setCursor(Qt.CursorShape.ClosedHandCursor)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Pull the sheet."""
        if self._pulled is not None:
            way = event.position() - self._pulled
            self._pulled = event.position()
            self.set_view(self.view.panned(round(way.x()), round(way.y())))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        self._pulled = None
        self.setCursor(Qt.CursorShape.OpenHandCursor)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows pull the sheet, plus and minus zoom, 0 shows all; the rest is the page's."""
        key = Qt.Key(event.key())
        if key in ARROWS:
            across, down = ARROWS[key]
            self.set_view(self.view.panned(-PAN_PX * across, -PAN_PX * down))
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom_by(WHEEL_FACTOR)
        elif key in (Qt.Key.Key_Minus, Qt.Key.Key_Underscore):
            self.zoom_by(1.0 / WHEEL_FACTOR)
        elif key == Qt.Key.Key_0:
            self.zoom_to_fit()
        else:
            super().keyPressEvent(event)
