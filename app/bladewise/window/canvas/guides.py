"""Guides are pulled out of the rulers, or set by keys: lines to snap to that no machine ever sees.

A guide is a line without paint, as long as the sheet. Moving, locking and deleting it are what they are
for any shape; let go over a ruler, a new one is none.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QLineF, QPointF, Qt

from bladewise import operations
from bladewise.units import format_length
from bladewise.window.canvas import aids, rulers
from bladewise.window.canvas.gestures import decimals_of
from bladewise.window.canvas.handiwork import Handiwork

if TYPE_CHECKING:
    from PySide6.QtGui import QPainter

    from bladewise.operations import Step
    from bladewise.window.canvas.canvas import Canvas
    from bladewise.window.canvas.handiwork import Modifiers

translate = QCoreApplication.translate


class SettingGuide(Handiwork):
    """A guide on its way to its place."""

    name = "guide"

    def __init__(self, canvas: Canvas, *, upright: bool, is_verb: bool = False) -> None:
        """Begin; `is_verb` while the bench shows the numbers of the verb that sets guides."""
        super().__init__(canvas)
        self.upright = upright
        self.is_verb = is_verb
        self.cursor = Qt.CursorShape.SplitHCursor if upright else Qt.CursorShape.SplitVCursor

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Follow the hand."""
        self.aim(pixel, modifiers)
        self.say_spot(translate("Canvas", "Let go to leave the guide here; over a ruler there will be none"))
        self.canvas.update()

    def press(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Aim."""
        self.move(pixel, modifiers)

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Leave it here."""
        canvas = self.canvas
        place = self.aim_mm
        by_keys = self._by_keys
        canvas.put_down()
        if place is None or (rulers.ruler_at(pixel) is not None and not by_keys):
            return
        canvas.step_wanted.emit(self.step(place[0] if self.upright else place[1]))

    def step(self, at_mm: float) -> Step:
        """Return the step that makes the guide."""
        return operations.step("draw-guide", {"way": "upright" if self.upright else "level", "at_mm": at_mm})

    def paint(self, painter: QPainter) -> None:
        """Show it across the whole window."""
        if self.aim_mm is None:
            return
        canvas = self.canvas
        place = canvas.view.to_px(*self.aim_mm)
        if self.upright:
            line = QLineF(place.x(), 0.0, place.x(), canvas.height())
        else:
            line = QLineF(0.0, place.y(), canvas.width(), place.y())
        aids.paint_guide_lines(painter, [line], canvas.colours.ghost)
        decimals = max(decimals_of(canvas.view.scale), 2)
        value = self.aim_mm[0] if self.upright else self.aim_mm[1]
        self.paint_aim(painter, [format_length(value, unit=canvas.unit, decimals=decimals)])
