"""Bending by hand: grips on the bent art change the numbers of the bend that is open.

A grip stands where the bend takes a point of the straight art; pulled along its arrow it makes the number
grow by what that point moves.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from PySide6.QtCore import QCoreApplication, QPointF, QRectF, Qt
from PySide6.QtGui import QPen, QPolygonF

from bladewise.document import Bending, BendKind, Lettering, Shape, bounds_of
from bladewise.errors import CannotApply
from bladewise.geometry.affine import IDENTITY, Affine
from bladewise.geometry.path import Point
from bladewise.lettering import set_outline
from bladewise.lettering.bends import Room, bend_for
from bladewise.units import format_length, format_number
from bladewise.window.canvas import picking
from bladewise.window.canvas.grip import Grip, paint_grip
from bladewise.window.canvas.handiwork import Handiwork

if TYPE_CHECKING:
    from PySide6.QtGui import QPainter

    from bladewise.window.bench.bench import Bench
    from bladewise.window.canvas import Canvas
    from bladewise.window.canvas.handiwork import Modifiers
    from bladewise.window.desk import Desk

VERBS = frozenset({"bend-along-arc", "ripple", "upright-arch", "climb", "swell", "four-corners"})
_CORNER_PX = 7.0
_GRAB_PX = 12.0


def _tr(text: str) -> str:
    return QCoreApplication.translate("PullBend", text)


@dataclass(frozen=True)
class Frame:
    """Straight art: its room in its own space, and the way from there to the sheet."""

    room: Room
    to_sheet: Affine

    @property
    def wide(self) -> float:
        """How long it is."""
        return max(self.room.right - self.room.left, 1e-6)

    @property
    def scales(self) -> tuple[float, float]:
        """The factors on lengths along the line and across it, from there to the sheet."""
        return self.to_sheet.along_scale or 1.0, self.to_sheet.height_scale or 1.0

    @property
    def middle(self) -> float:
        """Halfway along it."""
        return 0.5 * (self.room.left + self.room.right)


@dataclass(frozen=True)
class Handle:
    """What a grip pulls: a number, the point of the straight art it stands on, its way, and the number a mm."""

    number: str
    at: Point
    way: Point
    a_mm: float


def frame_of(desk: Desk) -> Frame | None:
    """Return the straight art of what is selected: the first lettering, or all shapes together."""
    leaves = [placed.leaf for placed in desk.selected_leaves()]
    live = next((leaf for leaf in leaves if isinstance(leaf, Lettering)), None)
    if live is not None:
        setting = replace(live.setting, bending=None)
        box = set_outline(replace(live, setting=setting, transform=IDENTITY)).outline.bounds()
        if box is None:
            return None
        return Frame(Room(box[0], box[2], min(box[1], 0.0), max(box[3], 0.0), -0.25 * box[1]), live.transform)
    box = bounds_of(tuple(leaf for leaf in leaves if isinstance(leaf, Shape)))
    if box is None:
        return None
    high = box[3] - box[1]
    return Frame(Room(0.0, box[2] - box[0], -high, 0.0, 0.5 * high), Affine.moved(box[0], box[3]))


def bending_of(verb: str, values: dict[str, Any]) -> Bending | None:
    """Return the bend that the numbers of a verb ask for."""
    match verb:
        case "bend-along-arc":
            return Bending(
                kind=BendKind.ARC, radius_mm=values.get("radius_mm") or 0.0, angle_deg=values.get("angle_deg") or 0.0
            )
        case "ripple":
            return Bending(
                kind=BendKind.RIPPLE,
                rise_mm=values["rise_mm"],
                wave_mm=values["wave_mm"],
                shift_mm=values["shift_mm"],
            )
        case "upright-arch":
            return Bending(kind=BendKind.ARCH, rise_mm=values["rise_mm"])
        case "climb":
            return Bending(kind=BendKind.CLIMB, rise_mm=values["rise_mm"], eased=values["eased"])
        case "swell":
            return Bending(kind=BendKind.SWELL, share=values["percent"] / 100.0)
        case "four-corners":
            return Bending(kind=BendKind.CORNERS, corners_mm=tuple(values["corners_mm"]))
        case _:
            return None


def handles_of(verb: str, values: dict[str, Any], frame: Frame) -> list[Handle]:
    """Return the grips of a bend, in the space of the straight art."""
    room, up = frame.room, (0.0, -1.0)
    crown = (frame.middle, room.top)
    match verb:
        case "bend-along-arc":  # the ends drop by an eighth of length times angle, for small angles
            return [Handle("angle_deg", (room.right, 0.0), (0.0, 1.0), math.degrees(8.0 / frame.wide))]
        case "upright-arch":
            return [Handle("rise_mm", crown, up, 1.0)]
        case "climb":
            return [Handle("rise_mm", (room.right, 0.5 * (room.top + room.bottom)), up, 1.0)]
        case "swell":
            return [Handle("percent", crown, up, 100.0 / max(-room.top, 1e-6))]
        case "ripple":
            first = room.left + values["shift_mm"] % max(values["wave_mm"], 1e-6)
            crest, end = first + 0.25 * values["wave_mm"], first + values["wave_mm"]
            return [
                Handle("rise_mm", (crest, room.top), up, 1.0),
                Handle("wave_mm", (end, 0.5 * (room.top + room.bottom)), (1.0, 0.0), 1.0),
            ]
        case _:
            return []


class PullBend(Handiwork):
    """The hand's part in a bend."""

    name = "bend"
    aims_by_keys = False
    hides_selection = True
    cursor = Qt.CursorShape.ArrowCursor

    def __init__(self, canvas: Canvas, bench: Bench, desk: Desk) -> None:
        """Put grips on what is selected."""
        super().__init__(canvas)
        assert bench.operation is not None
        self.verb = bench.operation.name
        self._bench, self._desk = bench, desk
        self.frame = frame_of(desk)
        self._pulled: tuple[int, float, QPointF, QPointF] | None = None
        self._corner: tuple[int, QPointF, list[float]] | None = None

    # --- where the grips are --------------------------------------------------------------------------------------

    def values(self) -> dict[str, Any]:
        """Return the numbers as they are typed; empty while one is wrong."""
        return self._bench.by_hand.numbers()

    def grips(self) -> list[tuple[Handle, Grip]]:
        """Return the grips with where they stand on the sheet."""
        frame, values = self.frame, self.values()
        if frame is None or not values:
            return []
        bending = bending_of(self.verb, values)
        if bending is not None:  # numbers are those of the sheet
            bending = bending.scaled(1.0 / frame.scales[0], 1.0 / frame.scales[1])
            values = {**values, "wave_mm": bending.wave_mm, "shift_mm": bending.shift_mm}
        handles = handles_of(self.verb, values, frame)
        try:
            bend = bend_for(bending, frame.room) if bending is not None else None
        except CannotApply:
            bend = None
        found = []
        for each in handles:
            local = np.array([each.at])
            place = frame.to_sheet.apply(bend.places(local) if bend is not None else local)[0]
            ahead = frame.to_sheet.apply(np.array([each.way]))[0] - frame.to_sheet.apply(np.zeros((1, 2)))[0]
            size = float(np.hypot(*ahead)) or 1.0
            way = ahead / size
            scaled = each if each.number.endswith("_mm") else replace(each, a_mm=each.a_mm / size)
            found.append((scaled, Grip(float(place[0]), float(place[1]), float(way[0]), float(way[1]))))
        return found

    def corners(self) -> list[QPointF]:
        """Return where the four corners of the frame are, as pixels."""
        frame, pulls = self.frame, self._pulls()
        if self.verb != "four-corners" or frame is None or len(pulls) != 8:
            return []
        room = frame.room
        box = np.array(
            [
                [room.left, room.top],
                [room.right, room.top],
                [room.right, room.bottom],
                [room.left, room.bottom],
            ]
        )
        places = frame.to_sheet.apply(box + np.array(pulls).reshape(4, 2) / frame.scales)
        return [self.canvas.view.to_px(float(x), float(y)) for x, y in places.tolist()]

    def _pulls(self) -> list[float]:
        return list(self.values().get("corners_mm", ()))

    # --- the hand -------------------------------------------------------------------------------------------------

    def press(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Take a grip, or select something else."""
        view = self.canvas.view
        for index, corner in enumerate(self.corners()):
            if math.hypot(corner.x() - pixel.x(), corner.y() - pixel.y()) <= _GRAB_PX:
                self._corner = index, pixel, self._pulls()
                return
        for index, (handle, grip) in enumerate(self.grips()):
            if grip.is_at(view, pixel):
                self._pulled = index, self._number(handle), pixel, pixel
                return
        row = self.canvas.row_at(pixel)
        if row is not None:
            self.canvas.set_selection(frozenset({picking.outermost(row.placed, self.canvas.entered_group)}))

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Pull, or show that it can be pulled."""
        if self._corner is not None:
            self._pull_corner(pixel)
        elif self._pulled is not None:
            self._pull(pixel)
        else:
            over = next((grip for _, grip in self.grips() if grip.is_at(self.canvas.view, pixel)), None)
            near = any(math.hypot(each.x() - pixel.x(), each.y() - pixel.y()) <= _GRAB_PX for each in self.corners())
            shape = over.cursor if over is not None else Qt.CursorShape.SizeAllCursor if near else self.cursor
            self.canvas.setCursor(shape)
            self.canvas.say(_tr("Pull to bend") if over is not None or near else "")

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Let go."""
        self._pulled = self._corner = None
        self.canvas.say("")

    def escape(self) -> bool:
        """Let go first, leave the verb next."""
        was, self._pulled, self._corner = self._pulled or self._corner, None, None
        return was is not None

    def selection_changed(self) -> None:
        """Put the grips on what is selected now."""
        self.frame = frame_of(self._desk)

    def job_changed(self) -> None:
        """Put the grips on it as it is now."""
        self.frame = frame_of(self._desk)

    def _number(self, handle: Handle) -> float:
        values = self.values()
        if handle.number == "angle_deg" and values.get("radius_mm") and self.frame is not None:
            return math.degrees(self.frame.wide * self.frame.scales[0] / values["radius_mm"])
        return float(values[handle.number])

    def _pull(self, pixel: QPointF) -> None:
        assert self._pulled is not None
        index, before, start, _ = self._pulled
        grips = self.grips()
        if index >= len(grips):
            return
        handle, grip = grips[index]
        scale = self.canvas.view.scale
        moved = ((pixel.x() - start.x()) * grip.across + (pixel.y() - start.y()) * grip.down) / scale
        self._pulled = index, before, start, pixel
        number = round(before + moved * handle.a_mm, 1)
        operation = self._bench.operation
        assert operation is not None
        parameter = next(each for each in operation.parameters if each.name == handle.number)
        low = parameter.minimum if parameter.minimum is not None else -1e6
        high = parameter.maximum if parameter.maximum is not None else 1e6
        values: dict[str, Any] = {handle.number: min(max(number, low), high)}
        if handle.number == "angle_deg":
            values["radius_mm"] = None
        self._put(values)

    def _pull_corner(self, pixel: QPointF) -> None:
        assert self._corner is not None
        index, start, pulls = self._corner
        frame, view = self.frame, self.canvas.view
        if frame is None:
            return
        here, there = view.to_mm(pixel.x(), pixel.y()), view.to_mm(start.x(), start.y())
        back = frame.to_sheet.inverse().apply(np.array([here, there]))
        dx, dy = ((back[0] - back[1]) * frame.scales).tolist()
        moved = list(pulls)
        moved[2 * index] = round(pulls[2 * index] + dx, 2)
        moved[2 * index + 1] = round(pulls[2 * index + 1] + dy, 2)
        self._put({"corners_mm": tuple(moved)})

    def _put(self, values: dict[str, Any]) -> None:
        form = self._bench.form
        if form is None:
            return
        for name, value in values.items():
            if name in form.fields:
                form.fields[name].set_value(value)
        form.changed.emit()
        self.canvas.update()

    # --- showing --------------------------------------------------------------------------------------------------

    def paint(self, painter: QPainter) -> None:
        """Show grips and frame."""
        canvas = self.canvas
        window = QRectF(canvas.rect())
        for index, (handle, grip) in enumerate(self.grips()):
            shown = grip
            if self._pulled is not None and self._pulled[0] == index:
                shown = grip._replace(label=self._said(handle))
            paint_grip(painter, shown, canvas.view, window, canvas.colours)
        corners = self.corners()
        if corners:
            pen = QPen(canvas.colours.ghost, 1.0, Qt.PenStyle.DashLine)
            painter.setPen(pen)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawPolygon(QPolygonF(corners))
            painter.setPen(QPen(canvas.colours.halo, 2.0))
            painter.setBrush(canvas.colours.ghost)
            for each in corners:
                painter.drawEllipse(each, _CORNER_PX, _CORNER_PX)

    def _said(self, handle: Handle) -> str:
        number = self._number(handle)
        if handle.number.endswith("_mm"):
            return format_length(number, unit=self._desk.unit, decimals=2)
        return format_number(number, 1) + ("°" if handle.number.endswith("_deg") else " %")
