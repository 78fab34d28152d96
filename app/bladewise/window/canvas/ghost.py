"""The live ghost: what a step would make, above the art, in a colour of its own.

Kept as a transparent picture, so that a frame costs one blit; stretched while the view changes, painted
anew when it rests or at once where that is cheap, in slices of less than a frame.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QImage, QPainter, QPen

from bladewise.document import Lettering, Picture, bounds_of, measure_together
from bladewise.window.canvas.back_buffer import SLICE_S
from bladewise.window.drawing import PIECE, Drawing, prepare
from bladewise.window.painting import hairline_in_pieces
from bladewise.window.paths import REACH_PX, near_path

if TYPE_CHECKING:
    from collections.abc import Iterator

    from PySide6.QtCore import QSize

    from bladewise.document import Box, Job
    from bladewise.window.view import View

_FADE = QColor(255, 255, 255, 190)
"""Over lettering that is set anew: sheets are light in either theme."""

_BATCH = 40
"""So many leaves' paths are made in one go."""

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
        measure_together(drawing.leaf for drawing in (*self._made, *self._gone))
        self.cost = sum(len(drawing.path) + 4 for drawing in (*self._made, *self._gone))
        self._image = QImage()
        self._seen: View | None = None
        self._work: Iterator[None] | None = None
        self._painter: QPainter | None = None

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
        """Begin its picture for a view of so many pixels; what fits into a slice is there at once."""
        self.end()
        self._image = QImage(size, QImage.Format.Format_ARGB32_Premultiplied)
        self._image.fill(Qt.GlobalColor.transparent)
        self._seen = view
        self._painter = QPainter(self._image)
        self._painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._work = self._painting(self._painter, view, (0.0, 0.0, float(size.width()), float(size.height())), colour)
        self.go_on()

    @property
    def is_complete(self) -> bool:
        """Whether its picture shows all of it; if not, `go_on` adds to it."""
        return self._work is None

    def go_on(self) -> None:
        """Paint for one slice."""
        if self._work is None:
            return
        limit = time.perf_counter() + SLICE_S
        for _ in self._work:
            if time.perf_counter() > limit:
                return
        self.end()

    def finish(self) -> None:
        """Complete its picture now, however long it takes."""
        while self._work is not None:
            self.go_on()

    def end(self) -> None:
        """Let go of the picture."""
        self._work = None
        if self._painter is not None and self._painter.isActive():
            self._painter.end()
        self._painter = None

    def __del__(self) -> None:
        """End the painter before the picture goes."""
        self.end()

    def _painting(self, painter: QPainter, view: View, window: Box, colour: QColor) -> Iterator[None]:
        around = view.box(QRectF(*window))
        pen = QPen(colour, 1.0)
        pen.setCosmetic(True)
        fine = QPen(pen)
        fine.setStyle(Qt.PenStyle.DotLine)
        hatch = QColor(colour)
        hatch.setAlpha(110)
        veil = QColor(colour)
        veil.setAlpha(46)
        for drawings, brush, line in (
            (self._was, QBrush(_FADE), QPen(Qt.PenStyle.NoPen)),  # lettering lies on its old self, which would hide it
            (self._gone, QBrush(hatch, Qt.BrushStyle.BDiagPattern), fine),
            (self._made, QBrush(veil), pen),
        ):
            near = [drawing for drawing in drawings if _meets(drawing.bounds, around)]
            for begin in range(0, len(near), _BATCH):
                some = near[begin : begin + _BATCH]
                small = [drawing for drawing in some if len(drawing.path) <= PIECE and not _is_far(drawing, view)]
                prepare([drawing for drawing in small if drawing.is_filled], view.scale, filled=True)
                prepare(small, view.scale, filled=False)
                yield
                for drawing in some:
                    _fill(painter, drawing, view, window, brush)
                    yield
                    yield from hairline_in_pieces(painter, drawing, view, line)

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


def _meets(box: Box | None, other: Box) -> bool:
    return box is not None and box[0] <= other[2] and box[2] >= other[0] and box[1] <= other[3] and box[3] >= other[1]


def _is_far(drawing: Drawing, view: View) -> bool:
    """Whether it is too large on the screen for the rasteriser to be given all of it."""
    box = drawing.bounds
    return box is not None and max(box[2] - box[0], box[3] - box[1]) * view.scale > REACH_PX / 2.0


def _fill(painter: QPainter, drawing: Drawing, view: View, window: Box, brush: QBrush) -> None:
    leaf = drawing.leaf
    painter.resetTransform()
    if isinstance(leaf, Picture):
        return
    if leaf.style.fill is not None and drawing.path:
        if _is_far(drawing, view):
            painter.fillPath(near_path(drawing.path, view, window, leaf.style.fill_rule), brush)
        else:  # mapped first, for a hatch would be stretched with the sheet
            painter.fillPath(view.transform.map(drawing.area(view.scale)), brush)
    elif leaf.style.stroke is not None and drawing.stroke_area:
        painter.fillPath(near_path(drawing.stroke_area, view, window), brush)
