"""What the canvas shows: the picture of the job, and above it selection, ghost, marks, rulers, readouts.

The picture comes from a back buffer for each view mode. Everything above it is painted anew in every
frame and never makes the art be painted again.
"""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QEvent, Qt, QTimer
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QResizeEvent, QShowEvent

from bladewise.window.canvas import aids, grips, marks, overlay, rulers
from bladewise.window.canvas.colours import CanvasColours
from bladewise.window.canvas.ghost import CHEAP
from bladewise.window.canvas.grip import paint_grip
from bladewise.window.canvas.showing import Showing
from bladewise.window.painting import paint_hairline

_HIGHLIGHT = 3_000
"""So many segments of what is selected are shown as outlines; beyond that the frames must do."""

_MOST_FRAMES = 400


class Surface(Showing):
    """The picture and what lies above it."""

    # --- painting ------------------------------------------------------------------------------------------------

    def _refresh(self) -> None:
        self.colours = CanvasColours.of(self.palette(), self.shown_mode.value)
        ratio = self.devicePixelRatioF()
        self._buffers[self.shown_mode].set_signs(replace(self.signs, ratio=ratio))
        self._buffers[self.shown_mode].show(self._view.times(ratio), self.size() * ratio)
        if self._ghost is not None and not self._ghost.is_sharp(self._view.times(ratio), self.size() * ratio):
            self._rest.start()
        self.view_changed.emit()
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Show the picture, then what lies above it."""
        painter = QPainter(self)
        ratio = self.devicePixelRatioF()
        painter.save()
        painter.scale(1.0 / ratio, 1.0 / ratio)
        self._buffers[self.shown_mode].draw(painter, self._view.times(ratio))
        self._draw_ghost(painter, ratio)
        painter.restore()
        if self.job is not None:
            self._draw_aids(painter)
            if self._gesture is not None and self._gesture.is_dragging and self._lifted is not None:
                self._gesture.paint(painter)
                if not self._lifted.is_complete:
                    QTimer.singleShot(0, self, self.update)
            else:
                self._draw_entered(painter)
                if self.work is None or not self.work.hides_selection:
                    self._draw_selection(painter)
                if self._gesture is not None:
                    self._gesture.paint(painter)
            drawn: set[int] = set()
            if self._drawn:
                drawn = self._drawn.paint(
                    painter, self._view, self.window_box(), self._current, self.unit, self.colours
                )
            marks.paint_marks(painter, self.marks(), self.colours, without=drawn)
            if self.work is not None:
                self.work.paint(painter)
            if self.grip is not None:
                paint_grip(painter, self.grip, self._view, self.window_box(), self.colours)
        is_empty = self.job is None or (not self.scene.rows and self.work is None and self._ghost is None)
        if is_empty and self.invites:
            sheet = self.job and self._view.rect((0.0, 0.0, self.job.width_mm, self.job.height_mm))
            overlay.paint_empty(painter, self.window_box(), sheet or self.window_box(), self.colours, self.font())
        rulers.paint_rulers(painter, self._view, self.size(), self.unit, self._pointer, self.colours, self.font())
        if self._dropping:
            overlay.paint_band(painter, self.window_box().adjusted(4.0, 4.0, -5.0, -5.0), self.colours, touching=True)
        if self.hasFocus():
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
            painter.setPen(QPen(self.colours.selection, 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
        painter.end()

    def _draw_aids(self, painter: QPainter) -> None:
        """Show guides and the grid where the art's picture does not."""
        aids.paint_aids(painter, self)

    def _draw_entered(self, painter: QPainter) -> None:
        entered = self.elements().get(self.entered_group or "")
        if entered is not None and entered.bounds is not None:
            overlay.paint_entered(painter, self._view, entered.bounds, self.colours)

    def _draw_ghost(self, painter: QPainter, ratio: float) -> None:
        ghost = self._ghost
        if ghost is None:
            return
        if not ghost.is_sharp(self._view.times(ratio), self.size() * ratio) and (
            ghost.cost <= CHEAP or not self._rest.isActive()
        ):
            self._sharpen_ghost()
        else:
            ghost.go_on()
        ghost.draw(painter, self._view.times(ratio))
        if not ghost.is_complete:
            QTimer.singleShot(0, self, self.update)

    def _draw_selection(self, painter: QPainter) -> None:
        if not self._selection:
            return
        held = self.held()
        if held.box is None:
            return
        if sum(len(row.drawing.path) for row in held.rows[:_HIGHLIGHT]) <= _HIGHLIGHT:
            pen = QPen(self.colours.selection, 1.0)
            pen.setCosmetic(True)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            for row in held.rows:
                if row.drawing.path:
                    paint_hairline(painter, row.drawing, self._view, pen)
        if 1 < len(held.boxes) <= _MOST_FRAMES:
            overlay.paint_frames(painter, self._view, held.boxes, self.colours)
        if held.is_movable and self.work is None:
            overlay.paint_handles(painter, self._view, held.box, self.colours)
            grips.paint_grips(painter, self._view, held.box, self.pivot_mm(), self.colours)
        else:
            overlay.paint_frames(painter, self._view, [held.box], self.colours)

    # --- what Qt tells -------------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the middle in the middle, or the job fitted if nobody has chosen otherwise."""
        super().resizeEvent(event)
        if self._is_fitted:
            self.zoom_to_fit()
        else:
            grown = event.size() - event.oldSize()
            if event.oldSize().isValid():
                self._view = self._view.panned(grown.width() // 2, grown.height() // 2)
        self._refresh()

    def showEvent(self, event: QShowEvent) -> None:
        """Fit the job now that the size is known."""
        super().showEvent(event)
        if self._is_fitted:
            self.zoom_to_fit()
        self._refresh()

    def changeEvent(self, event: QEvent) -> None:
        """Follow the window's palette."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.StyleChange) and hasattr(self, "_buffers"):
            self.colours = CanvasColours.of(self.palette())
            for buffer in self._buffers.values():
                buffer.set_colours(self.colours)
            if self._ghost is not None:
                self._sharpen_ghost()
            self._refresh()

    def finish_painting(self) -> None:
        """Complete the picture now: for pictures of the window, and for tests."""
        self._refresh()
        self._buffers[self.shown_mode].finish()
        if self._ghost is not None:
            self._sharpen_ghost()
            self._ghost.finish()
        self.update()

    @property
    def is_sharp(self) -> bool:
        """Whether the picture is complete for the view that is shown."""
        return self._buffers[self.shown_mode].is_sharp

    def stop(self) -> None:
        """Stop all work; for when the window closes."""
        self._rest.stop()
        if self._lifted is not None:
            self._lifted.end()
        for buffer in self._buffers.values():
            buffer.stop()
