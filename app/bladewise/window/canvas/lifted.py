"""Art taken out of the picture while it is dragged: painted once onto glass, moved by blitting.

While it is scaled, a little art is painted exactly in every frame, strokes and all; much art is shown
as its stretched glass until the drag ends.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QImage, QPainter

from bladewise.window.canvas.scene import boxes_of
from bladewise.window.drawing import Drawing
from bladewise.window.painting import ViewMode, paint_hairline, paint_leaf
from bladewise.window.paints import material_pen, qt_transform

if TYPE_CHECKING:
    from collections.abc import Iterator

    from PySide6.QtCore import QSize

    from bladewise.document import Box, Colour
    from bladewise.geometry.affine import Affine
    from bladewise.window.canvas.scene import Scene
    from bladewise.window.view import View

LIFT_S = 0.0045
"""How long a frame goes on with the glass: the frame that lifts the art has other things to do as well."""

EXACT_COST = 4_000
"""So many segments, areas counted threefold, are painted in a frame without its being felt."""


class LiftedArt:
    """Some leaves of a scene, on their way."""

    def __init__(self, scene: Scene, ids: frozenset[str], mode: ViewMode, paper: Colour) -> None:
        """Take leaves by id."""
        self.ids = ids
        self._rows = [row for row in scene.rows if row.placed.leaf.id in ids]
        indices = [index for index, row in enumerate(scene.rows) if row.placed.leaf.id in ids]
        self._bounds = scene.bounds[indices]
        self._cost = scene.cost(np.array(indices, np.int64), mode)
        self._mode = mode
        self._paper = paper
        self._image = QImage()
        self._image_at = QPointF()
        self._seen: View | None = None
        self._part = QRectF()
        self._laid = QRectF()
        self._scene = scene
        self._work: Iterator[None] | None = None
        self._painter: QPainter | None = None

    @property
    def is_complete(self) -> bool:
        """Whether its glass shows all of it; if not, the next drawing adds to it."""
        return self._work is None

    def __del__(self) -> None:
        """End the painter before the glass goes."""
        self.end()

    def end(self) -> None:
        """Let go of the glass."""
        self._work = None
        if self._painter is not None and self._painter.isActive():
            self._painter.end()
        self._painter = None

    @property
    def boxes(self) -> list[Box]:
        """Where its leaves lie in mm, before they are moved."""
        return boxes_of(self._bounds)

    @property
    def is_exact(self) -> bool:
        """Whether scaling shows it painted anew in each frame."""
        return self._cost <= EXACT_COST

    def draw_moved(self, painter: QPainter, view: View, size: QSize, dx_px: float, dy_px: float) -> None:
        """Draw it moved by so many pixels."""
        window = QRectF(0.0, 0.0, size.width(), size.height())
        ratio = painter.device().devicePixelRatioF()
        self._prepare(view, window, window.translated(-dx_px, -dy_px), ratio)
        if not self._image.isNull():
            whole = QPointF(round(dx_px * ratio) / ratio, round(dy_px * ratio) / ratio)
            painter.drawImage(self._image_at + whole, self._image)
            self._laid = QRectF(self._image_at + whole, self._image.deviceIndependentSize())

    def draw_scaled(self, painter: QPainter, view: View, size: QSize, affine: Affine, *, strokes: bool = True) -> None:
        """Draw it under a transform that only scales and moves."""
        painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform)
        if self.is_exact:
            self._draw_exact(painter, view, affine, strokes=strokes)
            return
        window = QRectF(0.0, 0.0, size.width(), size.height())
        self._prepare(view, window, window, painter.device().devicePixelRatioF())
        if self._image.isNull():
            return
        lain = view.box(self._part)
        low, high = lain[:2], lain[2:]
        corners = affine.apply(np.array([low, high]))
        target = view.rect((*corners[0].tolist(), *corners[1].tolist()))
        painter.drawImage(target, self._image, QRectF(self._image.rect()))
        self._laid = target

    def draw_turned(self, painter: QPainter, view: View, size: QSize, affine: Affine) -> None:
        """Draw it under any transform."""
        painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform)
        if self.is_exact:
            self._draw_exact(painter, view, affine, strokes=True)
            return
        window = QRectF(0.0, 0.0, size.width(), size.height())
        self._prepare(view, window, window, painter.device().devicePixelRatioF())
        if self._image.isNull():
            return
        back, _ = view.transform.inverted()
        painter.save()
        painter.setTransform(back * qt_transform(affine) * view.transform, combine=True)
        painter.drawImage(self._part, self._image, QRectF(self._image.rect()))
        painter.restore()
        self._laid = QRectF()

    def _draw_exact(self, painter: QPainter, view: View, affine: Affine, *, strokes: bool) -> None:
        for row in self._rows:
            leaf = row.drawing.leaf.transformed(affine, scale_strokes=strokes)
            drawing = Drawing(leaf, exact_stroke=False)
            if self._mode is ViewMode.FILL:
                paint_leaf(painter, drawing, view)
            else:
                paint_hairline(painter, drawing, view, material_pen(row.material, self._paper))

    def lay_on(self, picture: QPainter, ratio: float) -> None:
        """Draw the glass where it was last shown, onto a picture that counts device pixels."""
        if self._laid.isEmpty() or self._image.isNull():
            return
        target = QRectF(self._laid.topLeft() * ratio, self._laid.size() * ratio)
        picture.drawImage(target, self._image, QRectF(self._image.rect()))

    def _prepare(self, view: View, window: QRectF, part: QRectF, ratio: float) -> None:
        """Have the glass ready that holds at least what a part of the pixels shows."""
        if not len(self._bounds):
            return
        low, high = self._bounds[:, :2].min(axis=0), self._bounds[:, 2:].max(axis=0)
        whole = view.rect((*low.tolist(), *high.tolist())).adjusted(-2.0, -2.0, 2.0, 2.0)
        needed = whole.intersected(part)
        if needed.isEmpty():
            self._image = QImage() if self._seen != view else self._image
            return
        if self._seen == view and self._part.contains(needed):
            self._go_on()
            return
        self.end()
        spare_x, spare_y = window.width() / 2.0, window.height() / 2.0
        kept = whole.intersected(part.adjusted(-spare_x, -spare_y, spare_x, spare_y))
        rect = kept.toAlignedRect()
        self._image = QImage(rect.size() * ratio, QImage.Format.Format_ARGB32_Premultiplied)
        self._image.setDevicePixelRatio(ratio)
        self._image.fill(Qt.GlobalColor.transparent)
        self._image_at, self._seen, self._part = QPointF(rect.topLeft()), view, QRectF(rect)
        self._painter = QPainter(self._image)
        self._painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform)
        self._work = self._painting(self._painter, view.panned(-rect.x(), -rect.y()), view.box(QRectF(rect)))
        self._go_on()

    def _painting(self, painter: QPainter, view: View, around: Box) -> Iterator[None]:
        for row, box in zip(self._rows, self._bounds.tolist(), strict=True):
            if box[0] <= around[2] and box[2] >= around[0] and box[1] <= around[3] and box[3] >= around[1]:
                yield from self._scene.row_in_pieces(painter, row, view, self._mode, self._paper)

    def _go_on(self) -> None:
        """Paint for one slice."""
        if self._work is None:
            return
        limit = time.perf_counter() + LIFT_S
        for _ in self._work:
            if time.perf_counter() > limit:
                return
        self.end()
