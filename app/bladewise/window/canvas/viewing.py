"""Which part of the job is seen, how large, and in which view mode."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, QRectF, Signal
from PySide6.QtWidgets import QWidget

from bladewise.window.canvas import rulers
from bladewise.window.canvas.scene import Scene
from bladewise.window.painting import ViewMode
from bladewise.window.view import View

if TYPE_CHECKING:
    from bladewise.document import Box, Job

FIT_MARGIN_PX = 28.0
WAS_SEEN, IS_LOST = 0.95, 0.6
"""What was seen to this much of its extent, and after an edit is seen less than that much, has left the view."""


class Viewing(QWidget):
    """A widget that shows a part of a scene."""

    view_mode_changed = Signal(str)
    view_changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        """Begin with no job, fitted as soon as there is one."""
        super().__init__(parent)
        self.scene = Scene()
        self.unit = "mm"
        self._view = View()
        self._is_fitted = True
        self._mode = ViewMode.FILL
        self._peeking = False

    @property
    def job(self) -> Job | None:
        """The job that is shown."""
        return self.scene.job

    def _refresh(self) -> None:
        """Show what is to be seen now; for those who paint."""
        self.update()

    @property
    def view(self) -> View:
        """Which part of the sheet is seen, and how large; pixels are those of the widget."""
        return self._view

    def set_view(self, view: View) -> None:
        """Show another part of the sheet."""
        if view == self._view:
            return
        self._view = view
        self._is_fitted = False
        self._refresh()

    @property
    def view_mode(self) -> ViewMode:
        """The view that was chosen, peeking aside."""
        return self._mode

    @property
    def shown_mode(self) -> ViewMode:
        """The view that is shown right now."""
        return ViewMode.OUTLINE if self._peeking else self._mode

    def set_view_mode(self, mode: str) -> None:
        """Choose "fill" or "outline"."""
        chosen = ViewMode(mode)
        if chosen is self._mode:
            return
        self._mode = chosen
        self._refresh()
        self.view_mode_changed.emit(chosen.value)

    def peek(self, on: bool) -> None:  # noqa: FBT001 - connected to signals
        """Show outlines only for as long as it is on."""
        if on != self._peeking:
            self._peeking = on
            self._refresh()

    def set_unit(self, unit: str) -> None:
        """Let rulers and readouts count in "mm" or "in"."""
        self.unit = unit
        self.update()

    def window_box(self) -> QRectF:
        """Return the pixels that are not under the rulers."""
        edge = float(rulers.THICKNESS_PX)
        return QRectF(edge, edge, max(self.width() - edge, 1.0), max(self.height() - edge, 1.0))

    def zoom_to_fit(self) -> None:
        """Show the sheet and all the art."""
        job = self.job
        if job is None:
            return
        box = (0.0, 0.0, job.width_mm, job.height_mm)
        art = job.bounds
        if art is not None:
            box = min(box[0], art[0]), min(box[1], art[1]), max(box[2], art[2]), max(box[3], art[3])
        self.zoom_to_box(box, FIT_MARGIN_PX)
        self._is_fitted = True

    def seen(self, box: Box) -> float:
        """Return how much of the extent of a box, in mm, lies in view: 0 to 1."""
        rect = self._view.rect(box).adjusted(-0.5, -0.5, 0.5, 0.5)  # a line has an area, too
        shown = rect.intersected(self.window_box())
        return (shown.width() * shown.height()) / (rect.width() * rect.height())

    def zoom_to_box(self, box: Box, margin_px: float = 60.0) -> None:
        """Show a box of the sheet, in mm, as large as it fits within a margin."""
        window = self.window_box()
        fitted = View.fitted(box, window.width(), window.height(), margin_px)
        self.set_view(fitted.panned(window.left(), window.top()))

    def zoom_by(self, factor: float, at: QPoint | None = None) -> None:
        """Enlarge about a pixel of the widget, or about the middle."""
        pixel = at if at is not None else self.window_box().center().toPoint()
        self.set_view(self._view.zoomed(factor, pixel.x(), pixel.y()))

    def center_on(self, x_mm: float, y_mm: float) -> None:
        """Bring a place of the sheet into the middle."""
        middle = self.window_box().center()
        here = self._view.to_px(x_mm, y_mm)
        self.set_view(self._view.panned(round(middle.x() - here.x()), round(middle.y() - here.y())))

    def view_state(self) -> dict[str, float | str]:
        """Return what `restore_view_state` needs to show the same place again."""
        middle = self.window_box().center()
        x, y = self._view.to_mm(middle.x(), middle.y())
        return {"scale": self._view.scale, "x_mm": x, "y_mm": y, "mode": self._mode.value}

    def restore_view_state(self, state: dict[str, float | str]) -> None:
        """Show the place that `view_state` told of; what is missing or wrong in it is passed over."""
        try:
            scale, x, y = (float(state[key]) for key in ("scale", "x_mm", "y_mm"))
            mode = ViewMode(str(state.get("mode", self._mode.value)))
        except (KeyError, TypeError, ValueError):
            return
        if not (math.isfinite(x) and math.isfinite(y) and scale > 0.0):
            return
        self.set_view_mode(mode)
        self.set_view(View(1.0, 0.0, 0.0).zoomed(scale, 0.0, 0.0))
        self.center_on(x, y)
