"""What the hand is about until it is done or left: measuring, drawing, editing nodes.

While one is taken up it gets the pointer and the keys before the canvas does. Every one of them can be
done by keys alone: arrows move an aim about the sheet, Enter presses there, Escape leaves.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QLineF, QObject, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QPen

from bladewise.window.canvas import overlay
from bladewise.window.canvas.gestures import decimals_of
from bladewise.window.canvas.snapping import Magnet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtGui import QKeyEvent, QPainter

    from bladewise.geometry.path import Floats, Point
    from bladewise.window.canvas.canvas import Canvas
    from bladewise.window.canvas.snapping import Spot

Modifiers = Qt.KeyboardModifier
translate = QCoreApplication.translate

ARROWS = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, -1.0),
    Qt.Key.Key_Down: (0.0, 1.0),
}
ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)
FAR_STEPS = 10.0
"""With Shift the arrows take the aim so many times as far."""


class Handiwork(QObject):
    """Something the hand is about."""

    changed = Signal()
    """What a strip of the bench shows of it may be different now."""

    name = ""
    hides_selection = False
    cursor = Qt.CursorShape.CrossCursor
    aims_by_keys = True

    def __init__(self, canvas: Canvas) -> None:
        """Prepare; `Canvas.take_up` begins it."""
        super().__init__(canvas)
        self.canvas = canvas
        self.spot: Spot | None = None
        self.aim_mm: Point | None = None
        """Where the hand aims, snapped; None until it has come to the canvas."""
        self._raw: Point | None = None
        self._by_keys = False
        self._at = QPointF()

    # --- what a work does -----------------------------------------------------------------------------------------

    def press(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """The left button went down."""

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """The pointer moved, with the button down or not."""

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """The left button went up."""

    def double_click(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """The left button was pressed twice."""

    def context(self, pixel: QPointF) -> None:
        """A menu is wanted here: pick what it is to be about."""

    def key(self, event: QKeyEvent) -> bool:
        """Take a key; False if it means nothing here."""
        return self._aim_key(event)

    def key_released(self, event: QKeyEvent) -> bool:
        """Take the end of a key."""
        return False

    def wants(self, key: int, modifiers: Modifiers) -> bool:
        """Whether a key that is also an action of the window is meant for the hand."""
        return False

    def escape(self) -> bool:
        """Give up what is under way; False if there was nothing, and the work is to be left."""
        return False

    def paint(self, painter: QPainter) -> None:
        """Show it above the art."""

    def selection_changed(self) -> None:
        """Another selection."""

    def job_changed(self) -> None:
        """The job is another one now."""

    def settle(self) -> None:
        """A step that was asked for did not apply."""

    def leave(self) -> None:
        """End."""

    # --- aiming ---------------------------------------------------------------------------------------------------

    def aim(
        self,
        pixel: QPointF,
        modifiers: Modifiers,
        *,
        origin: Point | None = None,
        extra: Floats | None = None,
        without: frozenset[str] = frozenset(),
    ) -> Point:
        """Return the place meant by a pixel: snapped, or with Shift at a multiple of 45° from an origin."""
        view = self.canvas.view
        self._at = pixel
        self._by_keys = False
        self._raw = view.to_mm(pixel.x(), pixel.y())
        return self._aim(self._raw, modifiers, origin=origin, extra=extra, without=without)

    def _aim(
        self,
        raw: Point,
        modifiers: Modifiers,
        *,
        origin: Point | None = None,
        extra: Floats | None = None,
        without: frozenset[str] = frozenset(),
    ) -> Point:
        canvas, view = self.canvas, self.canvas.view
        decimals = decimals_of(view.scale)
        self.spot = None
        if origin is not None and modifiers & Modifiers.ShiftModifier:
            place = at_45(origin, raw)
            place = round(place[0], 6), round(place[1], 6)
        elif modifiers & Modifiers.AltModifier or canvas.job is None:
            place = round(raw[0], decimals), round(raw[1], decimals)
        else:
            magnet = Magnet(canvas.scene, view, canvas.snap_rules, canvas.landmarks, without)
            text = translate("Snapping", "a node of this path")
            self.spot = magnet.point(raw[0], raw[1], origin=origin, extra=extra, extra_text=text)
            if self.spot is not None:
                place = self.spot.x_mm, self.spot.y_mm
            else:
                place = round(raw[0], decimals), round(raw[1], decimals)
        self.aim_mm = place
        return place

    def _aim_key(self, event: QKeyEvent) -> bool:
        """Arrows move the aim, Enter presses the button there."""
        key = Qt.Key(event.key())
        if not self.aims_by_keys:
            return False
        if key in ARROWS:
            canvas = self.canvas
            if self._raw is None or not self._by_keys:
                middle = canvas.window_box().center()
                start = self.aim_mm if self.aim_mm is not None else canvas.view.to_mm(middle.x(), middle.y())
                self._raw = start if self._by_keys or self._raw is not None else (round(start[0]), round(start[1]))
            step = canvas.nudge_far_mm * (FAR_STEPS if event.modifiers() & Modifiers.ShiftModifier else 1.0)
            across, down = ARROWS[key]
            self._raw = round(self._raw[0] + across * step, 6), round(self._raw[1] + down * step, 6)
            self._by_keys = True
            raw, at = self._raw, canvas.view.to_px(*self._raw)
            self.move(at, Modifiers.NoModifier)
            self._raw, self._by_keys, self._at = raw, True, at
            canvas.say_place(*(self.aim_mm or raw), what=self.spot.text if self.spot is not None else "")
            canvas.update()
            return True
        if key in ENTER and self._by_keys and self._raw is not None:
            raw, at = self._raw, self.canvas.view.to_px(*self._raw)
            self.press(at, Modifiers.NoModifier)
            self.release(at, Modifiers.NoModifier)
            self._raw, self._by_keys = raw, True
            self.canvas.update()
            return True
        return False

    # --- showing --------------------------------------------------------------------------------------------------

    def say_spot(self, otherwise: str) -> None:
        """Say what was snapped to, or something else."""
        if self.spot is not None:
            self.canvas.say(translate("Canvas", "Snapped: {what}").format(what=self.spot.text))
        else:
            self.canvas.say(otherwise)

    def paint_aim(self, painter: QPainter, lines: Sequence[str] = ()) -> None:
        """Show what was snapped to, the aim of the keys, and a readout beside the pointer."""
        canvas = self.canvas
        if self._by_keys and self.aim_mm is not None:
            place = canvas.view.to_px(*self.aim_mm)
            painter.setPen(QPen(canvas.colours.selection, 1.0))
            painter.drawLine(QLineF(place.x() - 14.0, place.y(), place.x() + 14.0, place.y()))
            painter.drawLine(QLineF(place.x(), place.y() - 14.0, place.x(), place.y() + 14.0))
        said = list(lines)
        if self.spot is not None:
            overlay.paint_snap_spot(painter, canvas.view, self.spot, canvas.colours)
            said.append(self.spot.text)
        if said and self.aim_mm is not None:
            overlay.paint_label(painter, self._at, said, QRectF(canvas.rect()), canvas.colours)


class PickingSmall(Handiwork):
    """Small art is being picked by a size that is typed on the bench; the hand has no part in it."""

    name = "smaller"
    aims_by_keys = False
    cursor = Qt.CursorShape.ArrowCursor


def at_45(origin: Point, place: Point) -> Point:
    """Return the place on the nearest of the eight directions from an origin that is nearest to a place."""
    dx, dy = place[0] - origin[0], place[1] - origin[1]
    turn = round(math.atan2(dy, dx) / (math.pi / 4.0)) * (math.pi / 4.0)
    along = dx * math.cos(turn) + dy * math.sin(turn)
    return origin[0] + along * math.cos(turn), origin[1] + along * math.sin(turn)
