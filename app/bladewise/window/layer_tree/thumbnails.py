"""What a leaf looks like, small: drawn when a row first shows, a few at a time, and kept as long as the leaf lasts.

A leaf is immutable, so its identity is its look. Drawing happens on the interface thread in slices shorter than a
frame (a painter in a thread would hold the interpreter anyway); until its turn comes a row shows how the leaf looked
before, or its material. What has been altered waits until the check has most likely spoken: its row shows something
already, and the list of findings does not.
"""

from __future__ import annotations

import time
import weakref
from collections import OrderedDict
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QRectF, QSizeF, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPixmap

from bladewise.document import Colour, Picture, outline_of
from bladewise.window import theme
from bladewise.window.drawing import Drawing
from bladewise.window.painting import paint_hairline, paint_leaf
from bladewise.window.view import View

if TYPE_CHECKING:
    from bladewise.document import Leaf

SIZE = QSizeF(24.0, 18.0)
MARGIN = 2.0
SLICE_MS = 6.0
"""How long thumbnails are drawn at a stretch; then the window gets its turn."""

ALTERED_AFTER_MS = 220
"""How long a row goes on showing how its leaf looked before it was altered."""

MOST_KEPT = 4_000
"""At three kilobytes each some twelve megabytes."""

MOST_WAITING = 80
"""More rows than show at once: what was scrolled past is not drawn."""

LEAST_CONTRAST = 1.3
"""Art less distinct from its ground than that gets the other ground."""


class Thumbnails(QObject):
    """Draws and keeps thumbnails."""

    drawn = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        """Start with none."""
        super().__init__(parent)
        self._kept: OrderedDict[tuple[int, float], tuple[weakref.ref[Leaf], QPixmap]] = OrderedDict()
        self._waiting: OrderedDict[tuple[int, float], Leaf] = OrderedDict()
        self._last: OrderedDict[tuple[str, float], QPixmap] = OrderedDict()
        self._timer = QTimer(self)
        self._timer.setInterval(0)
        self._timer.timeout.connect(self._draw_some)
        theme.keeper().changed.connect(self._forget)

    @property
    def is_busy(self) -> bool:
        """Whether some wait to be drawn."""
        return bool(self._waiting)

    def picture(self, leaf: Leaf, ratio: float) -> QPixmap | None:
        """Return a leaf's thumbnail for a screen of so many pixels a point; None while there is none.

        While it waits to be drawn it is that of the leaf as it was before.
        """
        key = (id(leaf), ratio)
        known = self._kept.get(key)
        if known is not None and known[0]() is leaf:
            self._kept.move_to_end(key)
            return known[1]
        self._waiting[key] = leaf
        self._waiting.move_to_end(key)
        while len(self._waiting) > MOST_WAITING:
            self._waiting.popitem(last=False)
        before = self._last.get((leaf.id, ratio))
        if not self._timer.isActive():
            self._timer.start(0 if before is None else ALTERED_AFTER_MS)
        elif before is None and self._timer.interval():
            self._timer.start(0)
        return before

    def _draw_some(self) -> None:
        self._timer.setInterval(0)
        begin = time.perf_counter()
        while self._waiting and (time.perf_counter() - begin) * 1e3 < SLICE_MS:
            key, leaf = self._waiting.popitem()
            picture = self._last[leaf.id, key[1]] = draw(leaf, key[1])
            self._kept[key] = weakref.ref(leaf), picture
            for kept in (self._kept, self._last):
                if len(kept) > MOST_KEPT:
                    kept.popitem(last=False)
        if not self._waiting:
            self._timer.stop()
        self.drawn.emit()

    def _forget(self) -> None:
        self._kept.clear()
        self._last.clear()
        self.drawn.emit()


def draw(leaf: Leaf, ratio: float) -> QPixmap:
    """Return a leaf as a thumbnail on a ground from which it stands out, for so many pixels a point."""
    picture = QPixmap((SIZE * ratio).toSize())
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform)
    box = QRectF(0.5, 0.5, picture.width() - 1.0, picture.height() - 1.0)
    ground = _ground(leaf)
    tile = QPainterPath()
    tile.addRoundedRect(box, 3.0 * ratio, 3.0 * ratio)
    painter.fillPath(tile, ground)
    extent = Drawing(leaf, exact_stroke=False).bounds
    if extent is not None:
        painter.setClipPath(tile)
        view = View.fitted(extent, picture.width(), picture.height(), MARGIN * ratio)
        if isinstance(leaf, Picture) or leaf.style.is_painted:
            paint_leaf(painter, Drawing(leaf, exact_stroke=False), view)
        elif outline_of(leaf):
            pen = QPen(theme.colour("muted"), 1.0)
            pen.setDashPattern([3.0, 2.0])
            paint_hairline(painter, Drawing(leaf, exact_stroke=False), view, pen)
        painter.setClipping(False)
        painter.resetTransform()
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(theme.colour("line"), 1.0))
    painter.drawPath(tile)
    painter.end()
    picture.setDevicePixelRatio(ratio)
    return picture


def _ground(leaf: Leaf) -> QColor:
    ground = theme.current().raised
    ink: Colour | None = None if isinstance(leaf, Picture) else leaf.style.colour
    if ink is not None and theme.contrast(ink.hex, ground) < LEAST_CONTRAST:
        ground = theme.current().border
    return QColor(ground)
