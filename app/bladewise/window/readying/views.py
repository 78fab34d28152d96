"""Before and after as outlines only: two pictures of one place, side by side or one wiped over the other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFont, QPainter, QPen
from PySide6.QtWidgets import QAbstractSlider, QWidget

from bladewise.window import theme
from bladewise.window.canvas.canvas import WHEEL_FACTOR
from bladewise.window.canvas.colours import BLUE, ORANGE, SKY_BLUE, VERMILION
from bladewise.window.canvas.handiwork import ARROWS
from bladewise.window.canvas.surface import Surface
from bladewise.window.painting import paint_hairline

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent, QMouseEvent, QPaintEvent, QResizeEvent, QWheelEvent

    from bladewise.document import Box, Job
    from bladewise.findings import Finding
    from bladewise.window.view import View

GAP_PX = 8
PAN_PX = 48
LEAST_BOX_PX = 14.0
MOST_SHOWN = 1_500
"""So many changed shapes are drawn over the rest; with more of them the picture itself is the difference."""


class OutlineView(Surface):
    """One of the two pictures. The pair decides which part of the sheet both show."""

    moved = Signal(object)

    def __init__(self, title: str, *, is_after: bool) -> None:
        """Show nothing yet."""
        super().__init__()
        self.title = title
        self._is_after = is_after
        self._changed: frozenset[str] = frozenset()
        self._places: list[Box] = []
        self._pulled: QPointF | None = None
        self.set_view_mode("outline")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.OpenHandCursor)

    def show_job(self, job: Job, changed: frozenset[str], places: list[Box]) -> None:
        """Show a job, and stress what of it changes and where."""
        old = self.job
        self.set_job(job, old.changes_to(job) if old is not None else None)
        self._changed, self._places = changed, places
        self.update()

    def zoom_to_fit(self) -> None:
        """Leave that to the pair."""

    def show_view(self, view: View) -> None:
        """Show a part of the sheet without telling anybody."""
        self._view = view
        self._is_fitted = False
        self._refresh()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show more or less of the same place."""
        QWidget.resizeEvent(self, event)
        self._refresh()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the outlines, then what changes, then what this picture is."""
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setClipRect(self.window_box())
        self._paint_changes(painter)
        self._paint_places(painter)
        self._paint_title(painter)
        painter.end()

    def _colour(self) -> QColor:
        dark = theme.current().dark
        return (SKY_BLUE if dark else BLUE) if self._is_after else (ORANGE if dark else VERMILION)

    def _paint_changes(self, painter: QPainter) -> None:
        """Draw what goes as dashes, what comes as a firm line: not by colour alone."""
        pen = QPen(self._colour(), 2.0)
        pen.setCosmetic(True)
        if not self._is_after:
            pen.setDashPattern([4.0, 3.0])
        window = self.window_box()
        for each in sorted(self._changed)[:MOST_SHOWN]:
            row = self.scene.row(each)
            if row is None or row.drawing.bounds is None:
                continue
            if self._view.rect(row.drawing.bounds).adjusted(-2.0, -2.0, 2.0, 2.0).intersects(window):
                paint_hairline(painter, row.drawing, self._view, pen)

    def _paint_places(self, painter: QPainter) -> None:
        """Frame what is too small to be seen as changed."""
        colour = self._colour()
        painter.setPen(QPen(colour, 1.2))
        wash = QColor(colour)
        wash.setAlpha(34)
        painter.setBrush(wash)
        window = self.window_box()
        for box in self._places[:MOST_SHOWN]:
            rect = self._view.rect(box).normalized()
            if max(rect.width(), rect.height()) < LEAST_BOX_PX:
                middle = rect.center()
                rect = QRectF(middle.x() - LEAST_BOX_PX / 2.0, middle.y() - LEAST_BOX_PX / 2.0, *(2 * [LEAST_BOX_PX]))
                if rect.intersects(window):
                    painter.drawRoundedRect(rect, 4.0, 4.0)

    def _paint_title(self, painter: QPainter) -> None:
        font = QFont(self.font())
        font.setWeight(QFont.Weight.DemiBold)
        painter.setFont(font)
        window = self.window_box()
        wide = painter.fontMetrics().horizontalAdvance(self.title) + 34.0
        left = window.right() - wide - 8.0 if self._is_after else window.left() + 8.0
        chip = QRectF(left, window.top() + 8.0, wide, painter.fontMetrics().height() + 8.0)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self.colours.label)
        painter.drawRoundedRect(chip, 5.0, 5.0)
        sample = QPen(self._colour(), 2.4)
        if not self._is_after:
            sample.setDashPattern([2.0, 1.6])
        painter.setPen(sample)
        y = chip.center().y()
        painter.drawLine(QPointF(chip.left() + 8.0, y), QPointF(chip.left() + 22.0, y))
        painter.setPen(self.colours.label_text)
        painter.drawText(chip.adjusted(28.0, 0.0, 0.0, 0.0), Qt.AlignmentFlag.AlignVCenter, self.title)

    # --- the hand ------------------------------------------------------------------------------------------------

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom at the pointer."""
        notches = event.angleDelta().y() / 120.0 or event.angleDelta().x() / 120.0
        if notches:
            at = event.position()
            self.moved.emit(self._view.zoomed(WHEEL_FACTOR**notches, at.x(), at.y()))
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
            self.moved.emit(self._view.panned(round(way.x()), round(way.y())))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        self._pulled = None
        self.setCursor(Qt.CursorShape.OpenHandCursor)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows pull the sheet, plus and minus zoom; the rest is the page's."""
        key = Qt.Key(event.key())
        middle = self.window_box().center()
        if key in ARROWS:
            across, down = ARROWS[key]
            self.moved.emit(self._view.panned(-PAN_PX * across, -PAN_PX * down))
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.moved.emit(self._view.zoomed(WHEEL_FACTOR, middle.x(), middle.y()))
        elif key in (Qt.Key.Key_Minus, Qt.Key.Key_Underscore):
            self.moved.emit(self._view.zoomed(1.0 / WHEEL_FACTOR, middle.x(), middle.y()))
        else:
            super().keyPressEvent(event)


class WipeHandle(QAbstractSlider):
    """The line between before and after; it is dragged, or moved by the arrow keys."""

    WIDTH = 21

    def __init__(self, parent: QWidget) -> None:
        """Stand in the middle."""
        super().__init__(parent)
        self.setRange(0, 1000)
        self.setSingleStep(25)
        self.setPageStep(200)
        self.setValue(500)
        self.setOrientation(Qt.Orientation.Horizontal)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.SplitHCursor)
        self.setAccessibleName(self.tr("Where before ends and after begins"))

    def sizeHint(self) -> QSize:
        """Return its width."""
        return QSize(self.WIDTH, 100)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the hand."""
        parent = self.parentWidget()
        if parent is not None and event.buttons() & Qt.MouseButton.LeftButton:
            x = self.mapToParent(event.position().toPoint()).x()
            self.setValue(round(1000.0 * x / max(parent.width(), 1)))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the line and what to take hold of."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        x, y = self.width() / 2.0, self.height() / 2.0
        line = theme.colour("focus" if self.hasFocus() else "accent")
        painter.setPen(QPen(line, 2.0))
        painter.drawLine(QPointF(x, 0.0), QPointF(x, self.height()))
        painter.setBrush(theme.colour("raised"))
        painter.drawRoundedRect(QRectF(x - 9.0, y - 16.0, 18.0, 32.0), 9.0, 9.0)
        for side in (-1.0, 1.0):
            painter.drawPolyline(
                [QPointF(x + side * 2.5, y - 3.5), QPointF(x + side * 5.5, y), QPointF(x + side * 2.5, y + 3.5)]
            )
        painter.end()


class Pair(QWidget):
    """Both pictures, always of the same place at the same size."""

    view_changed = Signal()

    def __init__(self) -> None:
        """Stand side by side."""
        super().__init__()
        self.before = OutlineView(self.tr("Before"), is_after=False)
        self.after = OutlineView(self.tr("After"), is_after=True)
        self.after.setParent(self)
        self.before.setParent(self)
        self.handle = WipeHandle(self)
        self.handle.valueChanged.connect(lambda _value: self._lay_out())
        self.before.setAccessibleName(self.tr("Before, as outlines only"))
        self.after.setAccessibleName(self.tr("After, as outlines only"))
        for each in (self.before, self.after):
            each.moved.connect(self.show_view)
        self.is_wiped = False
        self._box: Box | None = None
        self.setMinimumSize(320, 200)

    def set_wiped(self, *, on: bool) -> None:
        """Show one over the other, or side by side."""
        if on != self.is_wiped:
            middle = self._middle()
            self.is_wiped = on
            self._lay_out()
            if self._box is not None:
                self.zoom_to(self._box)
            elif middle is not None:
                self.after.center_on(*middle)
                self.show_view(self.after.view)

    def show_jobs(
        self, before: Job, after: Job, title: str, changed: tuple[frozenset[str], frozenset[str]], places: list[Box]
    ) -> None:
        """Show two states of a job; `changed` names what goes of the first and what comes in the second."""
        is_first = self.before.job is None
        self.before.show_job(before, changed[0], places)
        self.after.title = title
        self.after.show_job(after, changed[1], places)
        if is_first:
            self.zoom_to_job()

    def mark(self, finding: Finding | None) -> None:
        """Mark where a finding is, after all steps; None takes the mark away."""
        self.after.set_findings([finding] if finding is not None else [], None if finding is None else 0)

    def zoom_to_job(self) -> None:
        """Show all of it."""
        job = self.after.job
        if job is None:
            return
        box = (0.0, 0.0, job.width_mm, job.height_mm)
        for art in (job.bounds, self.before.job.bounds if self.before.job is not None else None):
            if art is not None:
                box = min(box[0], art[0]), min(box[1], art[1]), max(box[2], art[2]), max(box[3], art[3])
        self.zoom_to(box)

    def zoom_to(self, box: Box) -> None:
        """Show a box of the sheet as large as it fits."""
        self.after.zoom_to_box(box, 48.0)
        self._box = box
        self._share(self.after.view)

    def zoom_by(self, factor: float) -> None:
        """Show both larger or smaller."""
        middle = self.after.window_box().center()
        self.show_view(self.after.view.zoomed(factor, middle.x(), middle.y()))

    def show_view(self, view: View) -> None:
        """Show a part of the sheet in both."""
        self._box = None
        self._share(view)

    def _share(self, view: View) -> None:
        self.before.show_view(view)
        self.after.show_view(view)
        self.view_changed.emit()

    def _middle(self) -> tuple[float, float] | None:
        if self.after.job is None:
            return None
        middle = self.after.window_box().center()
        return self.after.view.to_mm(middle.x(), middle.y())

    def _lay_out(self) -> None:
        wide, high = self.width(), self.height()
        self.handle.setVisible(self.is_wiped)
        if self.is_wiped:
            x = round(wide * self.handle.value() / 1000.0)
            self.after.setGeometry(0, 0, wide, high)
            self.before.setGeometry(0, 0, max(x, 1), high)
            self.before.raise_()
            self.handle.setGeometry(x - WipeHandle.WIDTH // 2, 0, WipeHandle.WIDTH, high)
            self.handle.raise_()
        else:
            half = (wide - GAP_PX) // 2
            self.before.setGeometry(0, 0, half, high)
            self.after.setGeometry(wide - half, 0, half, high)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay out both anew, and go on showing what was fitted."""
        super().resizeEvent(event)
        self._lay_out()
        if self._box is not None:
            self.zoom_to(self._box)

    def stop(self) -> None:
        """Stop painting; for when the page goes."""
        self.before.stop()
        self.after.stop()
