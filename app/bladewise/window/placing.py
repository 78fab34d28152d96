"""Drawing by hand while a verb that makes art is open: drag a box, click points.

What the hand does goes into the fields of the open verb. Enter and Escape work from the canvas too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, QPointF, Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent

if TYPE_CHECKING:
    from bladewise.window.bench.bench import Bench
    from bladewise.window.canvas import Canvas

_BOXES = frozenset({"draw-rectangle", "draw-ellipse"})
_POINTS = "draw-outline"
_BASELINE = "set-lettering"
LEAST_DRAG_PX = 3.0


class Placing(QObject):
    """Takes the pointer's presses on the canvas while something is being drawn."""

    def __init__(self, canvas: Canvas, bench: Bench, parent: QObject) -> None:
        """Watch the canvas."""
        super().__init__(parent)
        self._canvas = canvas
        self._bench = bench
        self._start: QPointF | None = None
        canvas.installEventFilter(self)
        bench.opened.connect(lambda _name: self._look())
        bench.left.connect(self._look)

    @property
    def is_on(self) -> bool:
        """Whether presses on the canvas draw."""
        operation = self._bench.operation
        return operation is not None and (operation.name in _BOXES or operation.name in (_POINTS, _BASELINE))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Draw with the left button, apply with Enter, leave with Escape; everything else is the canvas's."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            return self._key(event)
        if not isinstance(event, QMouseEvent) or not self.is_on:
            return False
        kind, pixel = event.type(), event.position()
        if kind == QEvent.Type.MouseButtonPress and event.button() is Qt.MouseButton.LeftButton:
            self._start = pixel
            assert self._bench.operation is not None
            if self._bench.operation.name == _POINTS:
                self._add_point(pixel)
            elif self._bench.operation.name == _BASELINE:
                x, y = self._mm(pixel)
                self._set(x_mm=x, y_mm=y)
            return True
        if kind == QEvent.Type.MouseMove and self._start is not None:
            self._drag(pixel, square=bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier))
            x, y = self._mm(pixel)
            self._canvas.pointer_moved.emit(x, y)
            return True
        if kind in (QEvent.Type.MouseButtonRelease, QEvent.Type.MouseButtonDblClick):
            was, self._start = self._start, None
            return was is not None or kind == QEvent.Type.MouseButtonDblClick
        return False

    def _key(self, event: QKeyEvent) -> bool:
        if self._bench.operation is None:
            return False
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._bench.apply()
            return True
        if event.key() == Qt.Key.Key_Escape:
            self._bench.leave()
            return True
        return False

    def _drag(self, pixel: QPointF, *, square: bool) -> None:
        operation = self._bench.operation
        if operation is None or operation.name not in _BOXES or self._start is None:
            return
        if (pixel - self._start).manhattanLength() < LEAST_DRAG_PX:
            return
        (x0, y0), (x1, y1) = self._mm(self._start), self._mm(pixel)
        wide, high = abs(x1 - x0), abs(y1 - y0)
        if square:
            wide = high = max(wide, high)
        left = x0 if x1 >= x0 else x0 - wide
        top = y0 if y1 >= y0 else y0 - high
        if wide >= 0.01 and high >= 0.01:
            self._set(x_mm=left, y_mm=top, width_mm=wide, height_mm=high)

    def _add_point(self, pixel: QPointF) -> None:
        form = self._bench.form
        assert form is not None
        field = form.fields["points_mm"]
        try:
            points = tuple(field.read())
        except ValueError:
            points = ()
        x, y = self._mm(pixel)
        field.set_value((*points, round(x, 3), round(y, 3)))
        field.changed.emit()

    def _set(self, **values: float) -> None:
        form = self._bench.form
        assert form is not None
        for name, value in values.items():
            form.fields[name].set_value(round(value, 3))
        next(iter(form.fields.values())).changed.emit()

    def _mm(self, pixel: QPointF) -> tuple[float, float]:
        return self._canvas.view.to_mm(pixel.x(), pixel.y())

    def _look(self) -> None:
        if self.is_on:
            self._canvas.setCursor(Qt.CursorShape.CrossCursor)
        else:
            self._canvas.unsetCursor()
        self._start = None
