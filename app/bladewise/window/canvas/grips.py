"""Turning and leaning by hand: grips around what is selected, and the pivot they work about.

A curved arrow beside the upper right corner turns. A slanted bar above the top leans across, one beside
the right side slants down. The pivot, a ring with a cross, stands at the reference point; it can be
dragged to anywhere (at first with Ctrl, for it stands where art is taken hold of too), and a
double-click brings it back.
"""

from __future__ import annotations

import math
from enum import Enum
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QCoreApplication, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from bladewise import operations
from bladewise.geometry.affine import Affine
from bladewise.units import format_number
from bladewise.window.canvas import overlay
from bladewise.window.canvas.gestures import START_PX, decimals_of
from bladewise.window.canvas.snapping import Magnet

if TYPE_CHECKING:
    from bladewise.document import Box
    from bladewise.geometry.path import Point
    from bladewise.window.canvas.canvas import Canvas
    from bladewise.window.canvas.colours import CanvasColours
    from bladewise.window.canvas.gestures import Modifiers
    from bladewise.window.canvas.lifted import LiftedArt
    from bladewise.window.canvas.snapping import Spot
    from bladewise.window.view import View

_GRAB_PX = 10.0
_OUT_PX = 20.0
_LEAST_SIDE_PX = 72.0
"""Sides shorter than this on the screen have no room for a grip of their own."""
_TURN_STEP_DEG = 15.0
_LEAN_MOST_DEG = 80.0
_SLANT = ((-7.0, 3.0), (4.0, 3.0), (7.0, -3.0), (-4.0, -3.0))
_Shift = Qt.KeyboardModifier.ShiftModifier
_Alt = Qt.KeyboardModifier.AltModifier

translate = QCoreApplication.translate


class Grip(Enum):
    """What can be taken hold of beside the handles."""

    TURN = "turn"
    ACROSS = "across"
    DOWN = "down"
    PIVOT = "pivot"


def grip_places(view: View, box: Box, pivot: Point) -> list[tuple[Grip, QPointF]]:
    """Return the grips of a box with their middles in pixels."""
    frame = overlay.handle_frame(view, box)
    places = [
        (Grip.PIVOT, view.to_px(*pivot)),
        (Grip.TURN, QPointF(frame.right() + _OUT_PX, frame.top() - _OUT_PX)),
    ]
    if frame.width() >= _LEAST_SIDE_PX and box[3] > box[1]:
        places.append((Grip.ACROSS, QPointF(frame.left() + frame.width() * 0.25, frame.top() - 0.7 * _OUT_PX)))
    if frame.height() >= _LEAST_SIDE_PX and box[2] > box[0]:
        places.append((Grip.DOWN, QPointF(frame.right() + 0.7 * _OUT_PX, frame.top() + frame.height() * 0.75)))
    return places


def grip_at(view: View, box: Box, pivot: Point, pixel: QPointF) -> Grip | None:
    """Return the grip under a pixel; the pivot only where it is seen apart from small art."""
    frame = overlay.handle_frame(view, box)
    small = min(frame.width(), frame.height()) < _LEAST_SIDE_PX / 2.0
    for grip, place in grip_places(view, box, pivot):
        reach = _GRAB_PX if grip is not Grip.PIVOT else 7.0
        if grip is Grip.PIVOT and small and frame.contains(place):
            continue
        if math.hypot(place.x() - pixel.x(), place.y() - pixel.y()) <= reach:
            return grip
    return None


def cursor_of(grip: Grip) -> Qt.CursorShape:
    """Return the pointer's shape over a grip."""
    return {
        Grip.TURN: Qt.CursorShape.PointingHandCursor,
        Grip.ACROSS: Qt.CursorShape.SizeHorCursor,
        Grip.DOWN: Qt.CursorShape.SizeVerCursor,
        Grip.PIVOT: Qt.CursorShape.SizeAllCursor,
    }[grip]


def hint_of(grip: Grip) -> str:
    """Return what a grip does, in words."""
    return {
        Grip.TURN: translate("Canvas", "Drag to turn about the pivot; Shift turns by steps of 15°"),
        Grip.ACROSS: translate("Canvas", "Drag to lean sideways"),
        Grip.DOWN: translate("Canvas", "Drag to slant up or down"),
        Grip.PIVOT: translate("Canvas", "The pivot: Ctrl and drag put it elsewhere, a double-click brings it back"),
    }[grip]


def paint_grips(painter: QPainter, view: View, box: Box, pivot: Point, colours: CanvasColours) -> None:
    """Paint the grips of a box and the pivot."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for grip, place in grip_places(view, box, pivot):
        for pen in (QPen(colours.handle, 4.2), QPen(colours.selection, 1.6)):
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            painter.setPen(pen)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            _paint_grip(painter, grip, place)


def _paint_grip(painter: QPainter, grip: Grip, place: QPointF) -> None:
    x, y = place.x(), place.y()
    match grip:
        case Grip.PIVOT:
            painter.drawEllipse(place, 4.5, 4.5)
            for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
                painter.drawLine(QPointF(x + 3.0 * dx, y + 3.0 * dy), QPointF(x + 8.0 * dx, y + 8.0 * dy))
        case Grip.TURN:
            painter.drawArc(QRectF(x - 15.0, y - 3.0, 18.0, 18.0), 0, 90 * 16)
            right, top = QPointF(x + 3.0, y + 6.0), QPointF(x - 6.0, y - 3.0)
            painter.drawPolyline([right + QPointF(-3.5, -3.5), right, right + QPointF(3.5, -3.5)])
            painter.drawPolyline([top + QPointF(3.5, -3.5), top, top + QPointF(3.5, 3.5)])
        case Grip.ACROSS:
            painter.drawPolygon(QPolygonF([place + QPointF(*each) for each in _SLANT]))
        case Grip.DOWN:
            painter.drawPolygon(QPolygonF([place + QPointF(-down, across) for across, down in _SLANT]))


def about(canvas: Canvas) -> dict[str, Any]:
    """Return the pivot as a step names it: a place if it was set by hand, else the reference point."""
    if canvas.pivot is not None:
        return {"about_x_mm": canvas.pivot[0], "about_y_mm": canvas.pivot[1]}
    return {"anchor": canvas.reference.value}


class _Transform:
    """Art under a transform that follows the hand."""

    def __init__(self, canvas: Canvas, box: Box, pixel: QPointF) -> None:
        self._canvas, self._box = canvas, box
        self._from = self._at = pixel
        self._pivot = canvas.pivot_mm()
        self._lifted: LiftedArt | None = None
        self.is_dragging = False

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Follow the pointer."""
        self._at = pixel
        if not self.is_dragging:
            if math.hypot(pixel.x() - self._from.x(), pixel.y() - self._from.y()) < START_PX:
                return
            self.is_dragging = True
            self._lifted = self._canvas.lift(self._canvas.scene.leaf_ids(self._canvas.selection))
        self.follow(pixel, modifiers)
        self._canvas.update()

    def follow(self, pixel: QPointF, modifiers: Modifiers) -> None:
        raise NotImplementedError

    def affine(self) -> Affine:
        raise NotImplementedError

    def lines(self) -> list[str]:
        raise NotImplementedError

    def values(self) -> tuple[str, dict[str, Any]] | None:
        raise NotImplementedError

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Ask for one step."""
        canvas = self._canvas
        canvas.say("")
        found = self.values() if self.is_dragging else None
        if found is None:
            self.cancel()
            return
        do, values = found
        canvas.ask(operations.step(do, {"on": canvas.selection_plain(), **values, **about(canvas)}), self)

    def cancel(self) -> None:
        """Leave it as it was."""
        self._canvas.say("")
        self._canvas.lay_down()

    def paint(self, painter: QPainter) -> None:
        """Show the art as it would be, the frame turned with it, and the numbers."""
        if self._lifted is None:
            return
        canvas, view, affine = self._canvas, self._canvas.view, self.affine()
        self._lifted.draw_turned(painter, view, canvas.size(), affine)
        x0, y0, x1, y1 = self._box
        corners = [
            view.to_px(affine.a * x + affine.c * y + affine.e, affine.b * x + affine.d * y + affine.f)
            for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
        ]
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(canvas.colours.selection, 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPolygon(QPolygonF(corners))
        pivot = view.to_px(*self._pivot)
        painter.setPen(QPen(canvas.colours.ghost, 1.0, Qt.PenStyle.DashLine))
        painter.drawLine(pivot, self._at)
        for pen in (QPen(canvas.colours.handle, 4.2), QPen(canvas.colours.selection, 1.6)):
            painter.setPen(pen)
            _paint_grip(painter, Grip.PIVOT, pivot)
        if self.is_dragging:
            overlay.paint_label(painter, self._at, self.lines(), QRectF(canvas.rect()), canvas.colours)


class Turn(_Transform):
    """Art turns about the pivot; Shift turns by steps of 15°."""

    _angle = 0.0

    def follow(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Turn with the hand."""
        pivot = self._canvas.view.to_px(*self._pivot)
        first, last = self._from - pivot, pixel - pivot
        turn = math.degrees(math.atan2(last.y(), last.x()) - math.atan2(first.y(), first.x()))
        turn = (turn + 180.0) % 360.0 - 180.0
        reach = max(math.hypot(last.x(), last.y()), 1.0)
        fine = 1 if reach < 600.0 else 2
        if modifiers & _Shift:
            turn = round(turn / _TURN_STEP_DEG) * _TURN_STEP_DEG
        self._angle = round(turn, fine) + 0.0
        self._canvas.say(translate("Canvas", "Shift turns by steps of 15°"))

    def affine(self) -> Affine:
        """Return the turn."""
        return Affine.rotated(self._angle, about=self._pivot)

    def lines(self) -> list[str]:
        """Return the angle."""
        return [f"{format_number(self._angle, 2)}°"]

    def values(self) -> tuple[str, dict[str, Any]] | None:
        """Return the step."""
        return ("rotate", {"angle_deg": self._angle}) if self._angle else None


class Lean(_Transform):
    """Art leans across, or slants down; Shift by steps of 5°."""

    def __init__(self, canvas: Canvas, box: Box, pixel: QPointF, *, across: bool) -> None:
        """Take hold of a slanted bar."""
        super().__init__(canvas, box, pixel)
        self._is_across = across
        self._angle = 0.0
        x0, y0, x1, y1 = box
        arm = self._pivot[1] - y0 if across else x1 - self._pivot[0]
        size = y1 - y0 if across else x1 - x0
        self._arm = arm if abs(arm) > 0.05 * size else size

    def follow(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Lean with the hand."""
        moved = pixel - self._from
        gone = (moved.x() if self._is_across else moved.y()) / self._canvas.view.scale
        angle = math.degrees(math.atan(gone / self._arm)) if self._arm else 0.0
        angle = round(angle / 5.0) * 5.0 if modifiers & _Shift else round(angle, 1)
        self._angle = min(max(angle, -_LEAN_MOST_DEG), _LEAN_MOST_DEG) + 0.0
        self._canvas.say(translate("Canvas", "Shift leans by steps of 5°"))

    def affine(self) -> Affine:
        """Return the lean."""
        slope = math.tan(math.radians(self._angle))
        x, y = self._pivot
        if self._is_across:
            return Affine(1.0, 0.0, -slope, 1.0, slope * y, 0.0)
        return Affine(1.0, slope, 0.0, 1.0, 0.0, -slope * x)

    def lines(self) -> list[str]:
        """Return the angle."""
        return [f"{format_number(self._angle, 2)}°"]

    def values(self) -> tuple[str, dict[str, Any]] | None:
        """Return the step."""
        if not self._angle:
            return None
        return "skew", {"across_deg" if self._is_across else "down_deg": self._angle}


class MovePivot:
    """The pivot follows the hand and snaps; Alt leaves snapping out."""

    is_dragging = False

    def __init__(self, canvas: Canvas, pixel: QPointF) -> None:
        """Take hold of the pivot."""
        self._canvas, self._from, self._at = canvas, pixel, pixel
        self._before = canvas.pivot
        self._spot: Spot | None = None
        self._magnet = Magnet(canvas.scene, canvas.view, canvas.snap_rules, canvas.landmarks)

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Follow the pointer."""
        canvas, view = self._canvas, self._canvas.view
        self._at = pixel
        x, y = view.to_mm(pixel.x(), pixel.y())
        self._spot = None if modifiers & _Alt else self._magnet.point(x, y)
        decimals = decimals_of(view.scale)
        if self._spot is not None:
            canvas.set_pivot((self._spot.x_mm, self._spot.y_mm))
            canvas.say(translate("Canvas", "Snapped: {what}").format(what=self._spot.text))
        else:
            canvas.set_pivot((round(x, decimals), round(y, decimals)))
            canvas.say(hint_of(Grip.PIVOT))

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Leave it here."""
        self._canvas.say("")

    def cancel(self) -> None:
        """Bring it back to where it was."""
        self._canvas.say("")
        self._canvas.set_pivot(self._before)

    def paint(self, painter: QPainter) -> None:
        """Show what it has snapped to."""
        if self._spot is not None:
            canvas = self._canvas
            overlay.paint_snap_spot(painter, canvas.view, self._spot, canvas.colours)
            overlay.paint_label(painter, self._at, [self._spot.text], QRectF(canvas.rect()), canvas.colours)
