"""Drawing by hand: what the hand does becomes the numbers of the verb that is open on the bench.

Every shape can be dragged, or given by two clicks, or by keys alone. What is shown meanwhile is what the
step itself would make, not something like it.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QCoreApplication, QPointF, Qt, Signal
from PySide6.QtGui import QPen

from bladewise import operations
from bladewise.document import Job, Picture
from bladewise.errors import BladewiseError
from bladewise.units import format_length, format_number
from bladewise.window.canvas.gestures import START_PX, decimals_of
from bladewise.window.canvas.handiwork import Handiwork
from bladewise.window.drawing import Drawing
from bladewise.window.measuring import angle_deg
from bladewise.window.painting import ViewMode, paint_hairline, paint_leaf

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtGui import QKeyEvent, QPainter

    from bladewise.geometry.path import Point
    from bladewise.window.canvas.canvas import Canvas
    from bladewise.window.canvas.handiwork import Modifiers

_Shift = Qt.KeyboardModifier.ShiftModifier
_Ctrl = Qt.KeyboardModifier.ControlModifier
LEAST_MM = 0.01
"""Nothing smaller than a hundredth of a millimetre is drawn by hand."""

translate = QCoreApplication.translate


class Draw(Handiwork):
    """A verb that makes art, done by hand."""

    name = "draw"
    hides_selection = True
    tells = False
    """Whether the bench shows its ghost of the numbers while the hand gives them."""
    shaping = Signal(dict)
    """The numbers as the hand has them now."""
    drawn = Signal(dict)
    """The shape is done."""

    def __init__(self, canvas: Canvas, verb: str, numbers: Callable[[], dict[str, Any]]) -> None:
        """`numbers` gives the plain values that stand in the fields of the verb."""
        super().__init__(canvas)
        self.verb = verb
        self._numbers = numbers

    def values(self) -> dict[str, Any] | None:
        """Return the numbers as the hand has them now; None while there is no shape yet."""
        return None

    def lines(self) -> list[str]:
        """Return what to say beside the pointer."""
        return []

    def paint(self, painter: QPainter) -> None:
        """Show what would come of it."""
        values = self.values()
        if values is not None:
            self._paint_shape(painter, {**self._numbers(), **values})
        self.paint_aim(painter, self.lines())

    def _paint_shape(self, painter: QPainter, values: dict[str, Any]) -> None:
        canvas = self.canvas
        job = canvas.job
        if job is None:
            return
        try:
            made = operations.apply(Job("", job.width_mm, job.height_mm), operations.step(self.verb, values)).job
        except (BladewiseError, ValueError):
            return
        pen = QPen(canvas.colours.ghost, 1.0)
        pen.setCosmetic(True)
        for placed in made.walk():
            leaf = placed.leaf
            if isinstance(leaf, Picture):
                continue
            if canvas.shown_mode is ViewMode.FILL:
                sheer = replace(leaf, style=replace(leaf.style, opacity=0.5))
                paint_leaf(painter, Drawing(sheer, exact_stroke=False), canvas.view)
            painter.setRenderHint(painter.RenderHint.Antialiasing)
            paint_hairline(painter, Drawing(leaf, exact_stroke=False), canvas.view, pen)

    def _length(self, mm: float) -> str:
        decimals = max(decimals_of(self.canvas.view.scale), 2)
        return format_length(mm, unit=self.canvas.unit, decimals=decimals)

    def _say(self, otherwise: str) -> None:
        self.say_spot(otherwise)


class TwoPlaces(Draw):
    """Drawn from one place to another: dragged, or clicked twice."""

    def __init__(self, canvas: Canvas, verb: str, numbers: Callable[[], dict[str, Any]]) -> None:
        """Begin with no place."""
        super().__init__(canvas, verb, numbers)
        self.start: Point | None = None
        self.end: Point | None = None
        self.held = Qt.KeyboardModifier.NoModifier
        self._pressed = QPointF()

    def press(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Take the first place, or the second."""
        self._pressed = pixel
        if self.start is None:
            self.start, self.end = self.aim(pixel, modifiers), None
        else:
            self._follow(pixel, modifiers)
            self._finish()

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Follow the hand."""
        if self.start is None:
            self.aim(pixel, modifiers)
            self._say(self.hint())
        else:
            self._follow(pixel, modifiers)
            self._say(self.hint())
        self.canvas.update()

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """End a drag."""
        far = math.hypot(pixel.x() - self._pressed.x(), pixel.y() - self._pressed.y()) >= START_PX
        if self.start is not None and far:
            self._follow(pixel, modifiers)
            self._finish()

    def escape(self) -> bool:
        """Let go of the first place."""
        if self.start is None:
            return False
        self.start = self.end = None
        self.canvas.update()
        return True

    def hint(self) -> str:
        """Return what to say while nothing is snapped to."""
        return translate("Canvas", "Drag, or click two places; Alt leaves snapping out")

    def _aim_second(self, pixel: QPointF, modifiers: Modifiers) -> Point:
        return self.aim(pixel, modifiers & ~_Shift, origin=self.start)

    def _follow(self, pixel: QPointF, modifiers: Modifiers) -> None:
        self.end, self.held = self._aim_second(pixel, modifiers), modifiers
        if (values := self.values()) is not None:
            self.shaping.emit(values)

    def _finish(self) -> None:
        values = self.values()
        self.start = self.end = self.spot = None
        self.canvas.say("")
        if values is not None:
            self.drawn.emit(values)
        self.canvas.update()


class DrawBox(TwoPlaces):
    """A rectangle or an ellipse: Shift makes it square or round, Ctrl draws from the middle."""

    def hint(self) -> str:
        """Return what the keys do."""
        return translate("Canvas", "Shift keeps width and height alike, Ctrl draws from the middle")

    def _aim_second(self, pixel: QPointF, modifiers: Modifiers) -> Point:
        return self.aim(pixel, modifiers & ~_Shift)

    def values(self) -> dict[str, Any] | None:
        """Return the box."""
        if self.start is None or self.end is None:
            return None
        dx, dy = self.end[0] - self.start[0], self.end[1] - self.start[1]
        wide, high = abs(dx), abs(dy)
        if self.held & _Shift:
            wide = high = max(wide, high)
        if wide < LEAST_MM or high < LEAST_MM:
            return None
        if self.held & _Ctrl:
            left, top, wide, high = self.start[0] - wide, self.start[1] - high, 2.0 * wide, 2.0 * high
        else:
            left = self.start[0] if dx >= 0.0 else self.start[0] - wide
            top = self.start[1] if dy >= 0.0 else self.start[1] - high
        return {name: _tidy(value) for name, value in zip(_BOX, (left, top, wide, high), strict=True)}

    def lines(self) -> list[str]:
        """Return the size."""
        found = self.values()
        return [f"{self._length(found['width_mm'])} × {self._length(found['height_mm'])}"] if found else []


_BOX = ("x_mm", "y_mm", "width_mm", "height_mm")


class DrawAbout(TwoPlaces):
    """A polygon or a star about its centre: a tip goes where the hand is, Shift keeps it upright or at 15°."""

    def hint(self) -> str:
        """Return what the keys do."""
        return translate("Canvas", "Drag from the centre outward; Shift turns by steps of 15°")

    def values(self) -> dict[str, Any] | None:
        """Return centre, radius and angle."""
        if self.start is None or self.end is None:
            return None
        dx, dy = self.end[0] - self.start[0], self.end[1] - self.start[1]
        radius = math.hypot(dx, dy)
        if radius < LEAST_MM:
            return None
        turn = math.degrees(math.atan2(dx, -dy))
        turn = round(turn / 15.0) * 15.0 if self.held & _Shift else round(turn, 2)
        found = {
            "x_mm": _tidy(self.start[0]),
            "y_mm": _tidy(self.start[1]),
            "radius_mm": _tidy(radius),
            "angle_deg": turn + 0.0,
        }
        before = self._numbers()
        if "inner_radius_mm" in before and before.get("radius_mm"):
            found["inner_radius_mm"] = max(_tidy(radius * before["inner_radius_mm"] / before["radius_mm"]), 0.001)
        return found

    def lines(self) -> list[str]:
        """Return radius and angle."""
        found = self.values()
        if found is None:
            return []
        radius = translate("Canvas", "Radius {length}").format(length=self._length(found["radius_mm"]))
        return [radius, f"{format_number(found['angle_deg'], 1)}°"]


class DrawLine(TwoPlaces):
    """A straight line; Shift keeps it to multiples of 45°."""

    def hint(self) -> str:
        """Return what the keys do."""
        return translate("Canvas", "Shift keeps to level, plumb and 45°, Alt leaves snapping out")

    def _aim_second(self, pixel: QPointF, modifiers: Modifiers) -> Point:
        return self.aim(pixel, modifiers, origin=self.start)

    def values(self) -> dict[str, Any] | None:
        """Return both ends."""
        if self.start is None or self.end is None or math.dist(self.start, self.end) < LEAST_MM:
            return None
        names = ("x1_mm", "y1_mm", "x2_mm", "y2_mm")
        return dict(zip(names, (*self.start, *self.end), strict=True))

    def lines(self) -> list[str]:
        """Return length and direction."""
        if self.start is None or self.end is None:
            return []
        return [
            f"{self._length(math.dist(self.start, self.end))}, {format_number(angle_deg(self.start, self.end), 1)}°"
        ]


class PartByLine(DrawLine):
    """A line across shapes, along which they come apart."""

    hides_selection = False

    def values(self) -> dict[str, Any] | None:
        """Return the line."""
        if self.start is None or self.end is None or math.dist(self.start, self.end) < LEAST_MM:
            return None
        return {"points_mm": [*self.start, *self.end]}

    def _paint_shape(self, painter: QPainter, values: dict[str, Any]) -> None:
        assert self.start is not None
        assert self.end is not None
        view, colours = self.canvas.view, self.canvas.colours
        for pen in (QPen(colours.halo, 3.5), QPen(colours.ghost, 1.6, Qt.PenStyle.DashLine)):
            painter.setPen(pen)
            painter.drawLine(view.to_px(*self.start), view.to_px(*self.end))


class PlaceBaseline(Draw):
    """Where lettering begins: a click says it."""

    tells = True

    def press(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Put it here; the verb stays open for the words."""
        x, y = self.aim(pixel, modifiers)
        self.shaping.emit({"x_mm": x, "y_mm": y})

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Aim."""
        self.aim(pixel, modifiers)
        self._say(translate("Canvas", "Click where the lettering begins"))
        self.canvas.update()


class DrawFreehand(Draw):
    """A line as the hand goes; the step makes few curves of it."""

    aims_by_keys = False

    def __init__(self, canvas: Canvas, verb: str, numbers: Callable[[], dict[str, Any]]) -> None:
        """Begin with nothing."""
        super().__init__(canvas, verb, numbers)
        self._points: list[Point] = []

    def press(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Put the pencil down."""
        self._points = [self.aim(pixel, modifiers)]

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Draw on."""
        view = self.canvas.view
        if not self._points:
            self.aim(pixel, modifiers)
            self._say(translate("Canvas", "Draw with the button held down; back at the start, the line closes"))
        else:
            place = view.to_mm(pixel.x(), pixel.y())
            if math.dist(place, self._points[-1]) * view.scale >= 1.0:
                self._points.append((_tidy(place[0]), _tidy(place[1])))
            self.spot = None
        self.canvas.update()

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Lift the pencil."""
        points, self._points = self._points, []
        if len(points) >= 3:
            view = self.canvas.view
            reach = max(math.dist(each, points[0]) for each in points) * view.scale
            closed = math.dist(points[0], points[-1]) * view.scale <= 10.0 < reach
            numbers = [number for point in points for number in point]
            self.drawn.emit({"points_mm": numbers, "closed": closed})
        self.canvas.update()

    def escape(self) -> bool:
        """Give up the line."""
        had, self._points = bool(self._points), []
        self.canvas.update()
        return had

    def key(self, event: QKeyEvent) -> bool:
        """Keys have no part in it; an outline by points can be drawn by keys."""
        return False

    def paint(self, painter: QPainter) -> None:
        """Show the line as it was drawn."""
        painter.setRenderHint(painter.RenderHint.Antialiasing)
        view = self.canvas.view
        places = [view.to_px(*point) for point in self._points]
        for pen in (QPen(self.canvas.colours.halo, 4.0), QPen(self.canvas.colours.ghost, 1.8)):
            painter.setPen(pen)
            if len(places) > 1:
                painter.drawPolyline(places)
        self.paint_aim(painter)


def _tidy(mm: float) -> float:
    """Return a length without the noise of reckoning."""
    return round(mm, 6) + 0.0
