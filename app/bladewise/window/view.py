"""From the sheet to the screen and back: one scale, one corner. A value; moving about makes a new one.

The sheet is in millimetres, the screen in pixels, y down in both, so a view is never turned and never
mirrored. The corner is kept in millimetres: a pixel's place is computed relative to it, which keeps
its precision when a hundredth of a millimetre fills the window at the far end of a long banner.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QTransform

if TYPE_CHECKING:
    from bladewise.document import Box

LEAST_SCALE = 1e-3
"""Pixels a millimetre at the far end of zooming out: a kilometre fits into a thousand pixels."""

MOST_SCALE = 1e5
"""Pixels a millimetre at the near end: a hundredth of a millimetre fills a window."""


class View(NamedTuple):
    """Which part of the sheet is seen, and how large.

    Parameters
    ----------
    scale
        Pixels a millimetre.
    x_mm, y_mm
        The place on the sheet that lies at pixel (0, 0).
    """

    scale: float = 1.0
    x_mm: float = 0.0
    y_mm: float = 0.0

    @classmethod
    def fitted(cls, box: Box, width_px: float, height_px: float, margin_px: float = 0.0) -> View:
        """Return the view that shows a box in the middle of a window, as large as it fits within a margin."""
        room = max(width_px - 2.0 * margin_px, 8.0), max(height_px - 2.0 * margin_px, 8.0)
        wide, high = max(box[2] - box[0], 1e-9), max(box[3] - box[1], 1e-9)
        scale = within_limits(min(room[0] / wide, room[1] / high))
        middle = (box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0
        return cls(scale, middle[0] - 0.5 * width_px / scale, middle[1] - 0.5 * height_px / scale)

    def to_px(self, x_mm: float, y_mm: float) -> QPointF:
        """Return the pixel of a place on the sheet."""
        return QPointF((x_mm - self.x_mm) * self.scale, (y_mm - self.y_mm) * self.scale)

    def to_mm(self, x_px: float, y_px: float) -> tuple[float, float]:
        """Return the place on the sheet under a pixel."""
        return self.x_mm + x_px / self.scale, self.y_mm + y_px / self.scale

    def rect(self, box: Box) -> QRectF:
        """Return a box of the sheet in pixels."""
        return QRectF(self.to_px(box[0], box[1]), self.to_px(box[2], box[3]))

    def box(self, rect: QRectF) -> Box:
        """Return a rectangle of pixels as a box of the sheet in mm."""
        return *self.to_mm(rect.left(), rect.top()), *self.to_mm(rect.right(), rect.bottom())

    @property
    def transform(self) -> QTransform:
        """The view as a transform for a painter that draws in mm."""
        return QTransform(self.scale, 0.0, 0.0, self.scale, -self.x_mm * self.scale, -self.y_mm * self.scale)

    def panned(self, dx_px: float, dy_px: float) -> View:
        """Return the view after the sheet was pulled by so many pixels."""
        return self._replace(x_mm=self.x_mm - dx_px / self.scale, y_mm=self.y_mm - dy_px / self.scale)

    def zoomed(self, factor: float, x_px: float, y_px: float) -> View:
        """Return the view enlarged about a pixel, which keeps its place on the sheet."""
        x_mm, y_mm = self.to_mm(x_px, y_px)
        scale = within_limits(self.scale * factor)
        return View(scale, x_mm - x_px / scale, y_mm - y_px / scale)

    def times(self, ratio: float) -> View:
        """Return the same view counted in finer pixels, `ratio` to one (a screen's device pixels)."""
        return self._replace(scale=self.scale * ratio)


def within_limits(scale: float) -> float:
    """Return a scale kept between the near and the far end of zooming."""
    if not math.isfinite(scale):
        return 1.0
    return min(max(scale, LEAST_SCALE), MOST_SCALE)
