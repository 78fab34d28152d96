"""The live ghost: what a step would make, above the art, in a colour of its own.

Kept as a transparent picture, so that a frame costs one blit; stretched while the view changes, painted
anew when it rests or at once where that is cheap.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QImage, QPainter, QPen

from bladewise.document import Lettering, Picture, bounds_of
from bladewise.window.drawing import Drawing
from bladewise.window.painting import paint_hairline
from bladewise.window.paths import near_path

if TYPE_CHECKING:
    from PySide6.QtCore import QSize

    from bladewise.document import Box, Job
    from bladewise.window.view import View

_FADE = QColor(255, 255, 255, 190)
"""Over lettering that is set anew: sheets are light in either theme."""

CHEAP = 6_000
"""Segments that can be painted anew in each frame."""


class Ghost:
    """The new and changed leaves of a result, and those that it takes away."""

    def __init__(self, job: Job, result: Job, changed: frozenset[str] | None) -> None:
        """Compare a result with the job; `changed` are the ids of its leaves to show, if known."""
        changes = job.changes_to(result)
        shown = changed if changed is not None else changes.added | changes.altered
        self._made = [Drawing(placed.leaf) for placed in result.walk() if placed.visible and placed.leaf.id in shown]
        self._gone = [
            Drawing(placed.leaf) for placed in job.walk() if placed.visible and placed.leaf.id in changes.removed
        ]
        was = (job.placed(each) for each in shown & changes.altered)
        self._was = [Drawing(placed.leaf) for placed in was if placed and isinstance(placed.leaf, Lettering)]
        self.cost = sum(len(drawing.path) + 4 for drawing in (*self._made, *self._gone))
        self._image = QImage()
        self._seen: View | None = None

    @property
    def made(self) -> int:
        """How many leaves it shows."""
        return len(self._made)

    def made_box(self) -> Box | None:
        """Return the extent of what it shows as new, in mm."""
        return bounds_of([drawing.leaf for drawing in self._made])

    def is_sharp(self, view: View, size: QSize) -> bool:
        """Whether its picture is the one for a view."""
        return self._seen == view and self._image.size() == size

    def render(self, view: View, size: QSize, colour: QColor) -> None:
        """Paint its picture for a view of so many pixels."""
        self._image = QImage(size, QImage.Format.Format_ARGB32_Premultiplied)
        self._image.fill(Qt.GlobalColor.transparent)
        self._seen = view
        painter = QPainter(self._image)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        window = (0.0, 0.0, float(size.width()), float(size.height()))
        around = view.box(QRectF(*window))
        pen = QPen(colour, 1.0)
        pen.setCosmetic(True)
        fine = QPen(pen)
        fine.setStyle(Qt.PenStyle.DotLine)
        hatch = QColor(colour)
        hatch.setAlpha(110)
        veil = QColor(colour)
        veil.setAlpha(46)
        for drawing in self._was:  # lettering lies on its old self, which would hide it
            _paint(painter, drawing, view, window, around, QBrush(_FADE), QPen(Qt.PenStyle.NoPen))
        for drawing in self._gone:
            _paint(painter, drawing, view, window, around, QBrush(hatch, Qt.BrushStyle.BDiagPattern), fine)
        for drawing in self._made:
            _paint(painter, drawing, view, window, around, QBrush(veil), pen)
        painter.end()

    def draw(self, painter: QPainter, view: View) -> None:
        """Draw its picture as it would look in a view; a painter that counts its pixels."""
        if self._seen is None:
            return
        if self._seen == view:
            painter.drawImage(0, 0, self._image)
            return
        factor = view.scale / self._seen.scale
        at = view.to_px(self._seen.x_mm, self._seen.y_mm)
        target = QRectF(at.x(), at.y(), self._image.width() * factor, self._image.height() * factor)
        shown = target.intersected(QRectF(0.0, 0.0, self._image.width(), self._image.height()))
        if not shown.isEmpty():
            left, top = (shown.x() - at.x()) / factor, (shown.y() - at.y()) / factor
            painter.drawImage(shown, self._image, QRectF(left, top, shown.width() / factor, shown.height() / factor))


def _paint(painter: QPainter, drawing: Drawing, view: View, window: Box, around: Box, brush: QBrush, pen: QPen) -> None:
    box = drawing.bounds
    if box is None or box[0] > around[2] or box[2] < around[0] or box[1] > around[3] or box[3] < around[1]:
        return
    leaf = drawing.leaf
    if not isinstance(leaf, Picture) and leaf.style.fill is not None:
        painter.resetTransform()
        painter.fillPath(near_path(drawing.path, view, window, leaf.style.fill_rule), brush)
    elif not isinstance(leaf, Picture) and leaf.style.stroke is not None and drawing.stroke_area:
        painter.fillPath(near_path(drawing.stroke_area, view, window), brush)
    paint_hairline(painter, drawing, view, pen)
