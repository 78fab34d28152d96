"""Sliding lettering along a path: a grip on the path is where it begins."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QCoreApplication, QRectF, Qt

from bladewise.document import Shape
from bladewise.geometry.measures import length, point_at_length
from bladewise.geometry.path import EMPTY, Path
from bladewise.units import format_length
from bladewise.window.canvas import picking
from bladewise.window.canvas.grip import Grip, paint_grip
from bladewise.window.canvas.handiwork import Handiwork

if TYPE_CHECKING:
    from PySide6.QtCore import QPointF
    from PySide6.QtGui import QPainter

    from bladewise.window.bench.bench import Bench
    from bladewise.window.canvas import Canvas
    from bladewise.window.canvas.handiwork import Modifiers
    from bladewise.window.desk import Desk

VERB = "bend-along-path"
_STOPS = 2000
"""Places along the path that the hand can slide to."""


class PullAlong(Handiwork):
    """The hand's part in setting something along a path."""

    name = "bend"
    aims_by_keys = False
    cursor = Qt.CursorShape.ArrowCursor

    def __init__(self, canvas: Canvas, bench: Bench, desk: Desk) -> None:
        """Put the grip on the path."""
        super().__init__(canvas)
        self._bench, self._desk = bench, desk
        self._is_pulled = False

    def line(self) -> Path:
        """Return the path it is set along, the way it is read; empty while there is none."""
        form = self._bench.form
        if form is None:
            return EMPTY
        try:
            along, turned = form.fields["along"].value(), form.fields["other_side"].value()
        except ValueError:
            return EMPTY
        if along is not None:
            lines = along.shapes(self._desk.job)
        else:
            lines = [placed.leaf for placed in self._desk.selected_leaves() if isinstance(placed.leaf, Shape)]
        first = next(iter(lines[0].path.subpaths()), EMPTY) if lines else EMPTY
        return first.reversed() if turned else first

    def grip(self) -> Grip | None:
        """Return the grip: on the path, where it begins."""
        path, start = self.line(), self._bench.by_hand.numbers().get("start_mm")
        if not path or start is None:
            return None
        at = point_at_length(path, start)
        label = format_length(start, unit=self._desk.unit, decimals=1) if self._is_pulled else ""
        (x, y), (across, down) = at.points[0].tolist(), at.tangents[0].tolist()
        return Grip(x, y, across, down, label)

    def press(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Take the grip, or select something else."""
        grip = self.grip()
        if grip is not None and grip.is_at(self.canvas.view, pixel):
            self._is_pulled = True
            return
        row = self.canvas.row_at(pixel)
        if row is not None:
            chosen = frozenset({picking.outermost(row.placed, self.canvas.entered_group)})
            adding = modifiers & Qt.KeyboardModifier.ShiftModifier
            self.canvas.set_selection(self.canvas.selection ^ chosen if adding else chosen)

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Slide to the place of the path that is nearest."""
        canvas = self.canvas
        if not self._is_pulled:
            grip = self.grip()
            over = grip is not None and grip.is_at(canvas.view, pixel)
            canvas.setCursor(grip.cursor if grip is not None and over else self.cursor)
            canvas.say(QCoreApplication.translate("PullAlong", "Slide it along the path") if over else "")
            return
        path, form = self.line(), self._bench.form
        if not path or form is None:
            return
        stops = np.linspace(0.0, length(path), _STOPS)
        away = point_at_length(path, stops).points - np.array(canvas.view.to_mm(pixel.x(), pixel.y()))
        form.fields["start_mm"].set_value(round(float(stops[int(np.hypot(*away.T).argmin())]), 1))
        form.changed.emit()
        canvas.update()

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Let go."""
        self._is_pulled = False
        self.canvas.say("")

    def escape(self) -> bool:
        """Let go first, leave the verb next."""
        was, self._is_pulled = self._is_pulled, False
        return was

    def paint(self, painter: QPainter) -> None:
        """Show the grip."""
        grip = self.grip()
        if grip is not None:
            paint_grip(painter, grip, self.canvas.view, QRectF(self.canvas.rect()), self.canvas.colours)
