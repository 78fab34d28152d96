"""The picture behind the canvas: painted once, moved by blitting, stretched while zooming, mended where art changed.

What does not fit into one frame is painted in slices onto a patch beside it, which takes its place when
it is done; meanwhile the old picture stays, stretched if the scale has changed. Nothing is painted in
a thread: QPainter holds the interpreter while it works.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QPoint, QRect, QRectF, QSize, QTimer, Signal
from PySide6.QtGui import QImage, QPainter

from bladewise.window.canvas import signs
from bladewise.window.painting import ViewMode
from bladewise.window.paints import qt_colour

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from bladewise.document import Box
    from bladewise.window.canvas.colours import CanvasColours
    from bladewise.window.canvas.scene import Scene
    from bladewise.window.view import View

SLICE_S = 0.006
"""How long one slice of painting may take: half a frame at 80 Hz."""

AT_ONCE = 12_000
"""What is about so many hairline segments or fewer is painted within the frame (some 4 ms)."""

GIANT = 20_000
"""An area of more segments takes longer than a frame to fill, in one call that cannot be interrupted …"""

REST_MS = 120
"""… so after zooming it is filled only when the wheel has rested for so long."""

_EDGE_PX = 2.0
_SIGNED_COST = 4
"""So many times as much work is an outline with its directions."""
_MOST_RECTS = 8


class _Patch:
    """A part of the picture in the making."""

    def __init__(self, view: View, rect: QRect, spare: QImage) -> None:
        self.view = view
        self.rect = rect
        self.image = spare if spare.size() == rect.size() else QImage(rect.size(), QImage.Format.Format_RGB32)
        self.painter = QPainter(self.image)
        self.painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform)
        self.work: Iterator[None] | None = None

    def __del__(self) -> None:
        """End the painter whatever happens: Qt ends the program where an image goes before its painter."""
        self.end()

    def end(self) -> None:
        """Let go of the image; the painter must end before it."""
        self.work = None
        if self.painter.isActive():
            self.painter.end()


class BackBuffer(QObject):
    """One view mode's picture of a scene, in device pixels."""

    changed = Signal()

    def __init__(self, scene: Scene, mode: ViewMode, colours: CanvasColours, parent: QObject | None = None) -> None:
        """Begin with nothing painted."""
        super().__init__(parent)
        self._scene = scene
        self._mode = mode
        self._colours = colours
        self._image = QImage()
        self._spare = QImage()
        self._scrap = QImage()
        """Memory for the next picture: what is there already costs no page faults."""
        self._image_view: View | None = None
        self._is_stale = False
        self._view: View | None = None
        self._size = QSize()
        self._patch: _Patch | None = None
        self._without: frozenset[str] = frozenset()
        self._signs = signs.Signs()
        self._timer = QTimer(self)
        self._timer.setInterval(0)
        self._timer.timeout.connect(self._slice)

    @property
    def is_sharp(self) -> bool:
        """Whether the picture is complete and for the view asked for."""
        return self._patch is None and not self._is_stale and self._view is not None and self._image_view == self._view

    def set_colours(self, colours: CanvasColours) -> None:
        """Take other colours; everything is painted anew."""
        self._colours = colours
        self.forget()

    def set_signs(self, shown: signs.Signs) -> None:
        """Show other signs on the outlines; the picture stays until it has been painted anew."""
        if shown != self._signs:
            self._signs = shown
            self.expire()

    def forget(self) -> None:
        """Drop the picture; the next `show` paints it anew."""
        self._stop()
        self._image_view = None

    def expire(self) -> None:
        """Keep the picture only until the next `show` has painted another: the art has changed unseen."""
        self._stop()
        self._is_stale = True

    def leave_out(self, ids: frozenset[str]) -> None:
        """Leave some leaves out of the picture, until told otherwise; the caller mends what that changes."""
        self._without = ids

    def show(self, view: View, size: QSize) -> None:
        """Make the picture fit a view of so many device pixels: at once where that is cheap, else in slices."""
        if size.isEmpty():
            return
        same = view == self._view and size == self._size
        self._view, self._size = view, size
        if self._image_view is None:
            self._start(QRect(QPoint(0, 0), size), first=True)
            return
        if same and not self._is_stale:
            return
        if not self._is_stale and self._image_view.scale == view.scale and self._image.size() == size:
            dx = (self._image_view.x_mm - view.x_mm) * view.scale
            dy = (self._image_view.y_mm - view.y_mm) * view.scale
            if abs(dx - round(dx)) < 1e-3 and abs(dy - round(dy)) < 1e-3:
                self._scroll(round(dx), round(dy))
                return
        self._start(QRect(QPoint(0, 0), size))

    def mend(self, boxes: list[Box] | None) -> None:
        """Paint again what lies in some boxes in mm, or everything."""
        view = self._view
        if view is None or self._image_view is None:
            self.forget()
            return
        whole = QRect(QPoint(0, 0), self._size)
        if boxes is None or not self.is_sharp:
            self._start(whole)
            return
        region: list[QRect] = []
        united = QRect()
        edge = self._edge
        for box in boxes:
            near = view.rect(box).adjusted(-edge, -edge, edge, edge).intersected(QRectF(whole))
            if not near.isEmpty():
                rect = near.toAlignedRect().intersected(whole)
                united = united.united(rect)
                for other in [each for each in region if each.intersects(rect)]:
                    region.remove(other)
                    rect = rect.united(other)
                region.append(rect)
        if len(region) > _MOST_RECTS:
            region = [united]
        if self._cost(region) <= AT_ONCE:
            for rect in region:
                self._paint_now(rect)
            self.changed.emit()
        else:
            self._start(united)

    def overlay(self, paint: Callable[[QPainter], None]) -> None:
        """Add something to the picture as it stands; for what stays seen until the art itself has been painted."""
        if not self._image.isNull() and self._image_view == self._view:
            painter = QPainter(self._image)
            paint(painter)
            painter.end()

    def draw(self, painter: QPainter, view: View) -> None:
        """Draw the picture as it would look in a view; a painter that counts device pixels."""
        size = self._size
        seen = self._image_view
        if seen == view and self._image.size() == size:
            painter.drawImage(0, 0, self._image)
            return
        painter.fillRect(QRect(QPoint(0, 0), size), self._colours.pasteboard)
        if seen is None:
            self._paper(painter, view)
            return
        self._paper(painter, view)
        factor = view.scale / seen.scale
        at = view.to_px(seen.x_mm, seen.y_mm)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, on=factor < 1.0)
        target = QRectF(at.x(), at.y(), self._image.width() * factor, self._image.height() * factor)
        shown = target.intersected(QRectF(QPoint(0, 0), size))
        if not shown.isEmpty():  # only the part that is seen: Qt stretches outside the window too
            source = QRectF(
                (shown.x() - at.x()) / factor,
                (shown.y() - at.y()) / factor,
                shown.width() / factor,
                shown.height() / factor,
            )
            painter.drawImage(shown, self._image, source)

    def finish(self) -> None:
        """Complete the picture now, however long it takes."""
        while self._patch is not None:
            self._slice()

    def stop(self) -> None:
        """Stop working; for when the canvas goes away."""
        self._stop()

    def _scroll(self, dx: int, dy: int) -> None:
        assert self._view is not None
        width, height = self._size.width(), self._size.height()
        patch = self._patch
        if abs(dx) >= width or abs(dy) >= height:
            self._start(QRect(QPoint(0, 0), self._size))
            return
        moved = self._spare if self._spare.size() == self._size else QImage(self._size, QImage.Format.Format_RGB32)
        painter = QPainter(moved)
        painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Source)
        painter.drawImage(dx, dy, self._image)
        painter.end()
        self._spare = self._image
        self._image, self._image_view = moved, self._view
        strips = []
        if dx:
            strips.append(QRect(0 if dx > 0 else width + dx, 0, abs(dx), height))
        if dy:
            left, right = (dx, width) if dx > 0 else (0, width + dx)
            strips.append(QRect(left, 0 if dy > 0 else height + dy, right - left, abs(dy)))
        if patch is None and self._cost(strips) <= AT_ONCE:
            for strip in strips:
                self._paint_now(strip)
            return
        for strip in strips:
            self._blank(strip)
        self._start(QRect(QPoint(0, 0), self._size))

    def _cost(self, rects: list[QRect]) -> int:
        assert self._view is not None
        total = 0
        for rect in rects:
            total += self._scene.cost(self._scene.within(self._view.box(QRectF(rect))), self._mode)
        return total * _SIGNED_COST if self._has_directions else total

    @property
    def _has_directions(self) -> bool:
        return self._mode is ViewMode.OUTLINE and self._signs.direction

    @property
    def _edge(self) -> float:
        """How far from the art, in pixels, its picture can reach."""
        return _EDGE_PX if self._mode is ViewMode.FILL else signs.REACH_PX * self._signs.ratio

    def _paint_now(self, rect: QRect) -> None:
        assert self._view is not None
        painter = QPainter(self._image)
        painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform)
        painter.setClipRect(rect)
        for _ in self._work(painter, self._view, rect):
            pass
        painter.end()

    def _blank(self, rect: QRect) -> None:
        assert self._view is not None
        painter = QPainter(self._image)
        painter.setClipRect(rect)
        painter.fillRect(rect, self._colours.pasteboard)
        self._paper(painter, self._view)
        painter.end()

    def _work(self, painter: QPainter, view: View, rect: QRect) -> Iterator[None]:
        painter.fillRect(rect, self._colours.pasteboard)
        self._paper(painter, view)
        scene, edge, paper = self._scene, self._edge, self._colours.paper(self._mode)
        around = view.box(QRectF(rect).adjusted(-edge, -edge, edge, edge))
        indices = scene.within(around)
        outlined = self._mode is ViewMode.OUTLINE
        if outlined and self._signs.hidden:
            yield from signs.paint_hidden(painter, scene, around, view, self._colours.quiet_text)
        yield from scene.painting(painter, indices, view, self._mode, paper, self._without)
        if outlined:
            colours = self._colours.open_end, self._colours.direction
            yield from signs.paint_signs(painter, scene, indices, view, self._signs, colours, self._without)

    def _paper(self, painter: QPainter, view: View) -> None:
        job = self._scene.job
        if job is None:
            return
        size = self._size
        sheet = view.rect((0.0, 0.0, job.width_mm, job.height_mm))
        seen = sheet.intersected(QRectF(-8.0, -8.0, size.width() + 16.0, size.height() + 16.0))
        if seen.isEmpty():
            return
        smooth = painter.testRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        painter.setPen(self._colours.sheet_edge)
        painter.setBrush(qt_colour(self._colours.paper(self._mode)))
        painter.drawRect(seen.toRect().adjusted(-1, -1, 0, 0))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=smooth)

    def _start(self, rect: QRect, *, first: bool = False) -> None:
        """Begin to paint a part in slices; what is cheap is done before the next frame."""
        self._stop()
        view = self._view
        if view is None or rect.isEmpty():
            return
        if not first and (self._image_view != view or self._is_stale):
            rect = QRect(QPoint(0, 0), self._size)
        spare, self._scrap = self._scrap, QImage()
        patch = _Patch(view, rect, spare)
        patch.painter.translate(0, 0)
        local = view.panned(-rect.x(), -rect.y())
        patch.work = self._work(patch.painter, local, QRect(QPoint(0, 0), rect.size()))
        self._patch = patch
        part = self._scene.within(view.box(QRectF(rect)))
        zoomed = self._image_view is not None and self._image_view.scale != view.scale
        giant = self._mode is ViewMode.FILL and zoomed and int(self._scene.costs[part].max(initial=0)) > GIANT
        self._timer.start(REST_MS if giant else 0)
        if self._scene.cost(part, self._mode) * (_SIGNED_COST if self._has_directions else 1) <= AT_ONCE:
            self._slice()  # most often all of it: strokes whose area is yet to be found may take longer

    def _slice(self) -> None:
        patch = self._patch
        self._timer.setInterval(0)
        if patch is None or patch.work is None:
            self._timer.stop()
            return
        limit = time.perf_counter() + SLICE_S
        for _ in patch.work:
            if time.perf_counter() > limit:
                return
        image = patch.image
        self._stop()
        if patch.rect.size() == self._size:
            self._image, self._scrap = image, self._image
            self._image_view, self._is_stale = patch.view, False
        else:
            painter = QPainter(self._image)
            painter.drawImage(patch.rect.topLeft(), image)
            painter.end()
        self.changed.emit()

    def _stop(self) -> None:
        self._timer.stop()
        if self._patch is not None:
            self._patch.end()
            self._scrap, self._patch = self._patch.image, None


__all__ = ["BackBuffer"]
