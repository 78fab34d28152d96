"""The hand's part in a stencil: bridges are dragged round their islands, added, and taken away.

The islands and the bridges that come by themselves are worked out in a worker. What the hand changes goes into the
field of the bridges put by hand, and the ghost shows what comes of it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QCoreApplication, QPointF, Qt
from PySide6.QtGui import QPen, QPolygonF

from bladewise.errors import Cancelled
from bladewise.operations.stencils import StencilStep, stencil_bars, stencil_ground
from bladewise.window.canvas.handiwork import Handiwork, Modifiers
from bladewise.window.worker import Worker

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent, QPainter

    from bladewise.errors import BladewiseError
    from bladewise.geometry.bridges import Bar, Ground
    from bladewise.geometry.path import Point
    from bladewise.window.bench.bench import Bench
    from bladewise.window.canvas import Canvas
    from bladewise.window.desk import Desk
    from bladewise.window.worker import Progress

BRIDGED = "stencil"
_GRAB_PX = 13.0
_GRIP_PX = 6.0
_TURN_DEG = 5.0
_DIRECTIONS = 24
_REMOVES = (Qt.Key.Key_Delete, Qt.Key.Key_Backspace)


class Found(NamedTuple):
    """Islands and bridges for a step."""

    ground: Ground
    bars: list[Bar]


class PullBridges(Handiwork):
    """Bridges in the hand while a stencil is open."""

    name = "bridges"
    aims_by_keys = False
    hides_selection = True
    cursor = Qt.CursorShape.ArrowCursor

    def __init__(self, canvas: Canvas, bench: Bench, desk: Desk) -> None:
        """Find the islands of what is selected."""
        super().__init__(canvas)
        self._bench, self._desk = bench, desk
        self._worker = Worker(self)
        self._asked: tuple[object, StencilStep] | None = None
        self._kept: tuple[object, object, Ground] | None = None
        self.ground: Ground | None = None
        self.bars: list[Bar] = []
        self.chosen = -1
        self._dragged: tuple[int, int, list[Bar]] | None = None
        assert bench.form is not None
        bench.form.changed.connect(self._look)
        self._look()

    # --- what there is --------------------------------------------------------------------------------------------

    def record(self) -> StencilStep | None:
        """Return the numbers as they are typed; None while one is wrong."""
        form = self._bench.form
        if form is None or form.operation.name != BRIDGED:
            return None
        try:
            record = form.step(self._desk.on_selection()).record
        except ValueError:
            return None
        return record if isinstance(record, StencilStep) else None

    def _look(self) -> None:
        """Work out islands and bridges for the numbers as they are now."""
        record, job = self.record(), self._desk.job
        if record is None or self._dragged is not None or self._asked == (job, record):
            return
        self._asked = job, record
        kept = self._kept
        same = kept is not None and kept[0] is job and kept[1] == (record.on, record.panel, record.margin_mm)
        known = kept[2] if kept is not None and same else None

        def work(_progress: Progress) -> Found:
            ground = known or stencil_ground(job, record)
            return Found(ground, stencil_bars(job, record, ground))

        def finish(found: Found) -> None:
            if self.canvas.work is not self or self._desk.job is not job:
                return
            self._kept = job, (record.on, record.panel, record.margin_mm), found.ground
            self.ground, self.bars = found
            self.chosen = min(self.chosen, len(self.bars) - 1)
            self.canvas.update()

        def failed(error: BladewiseError) -> None:
            if isinstance(error, Cancelled):
                return
            self.ground, self.bars, self.chosen = None, [], -1  # the bench says why
            self.canvas.update()

        self._worker.start(work, finish, failed, instead=True)

    def selection_changed(self) -> None:
        """Look at what is selected now."""
        self._look()

    def job_changed(self) -> None:
        """Look at it as it is now."""
        self._look()

    def leave(self) -> None:
        """Stop looking."""
        self._worker.close()

    # --- the hand -------------------------------------------------------------------------------------------------

    def press(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Take a bridge."""
        row = self._bar_under(pixel)
        self.choose(row)
        island = self._island(row)
        if island is not None:
            self._dragged = row, island, list(self.bars)

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Drag it round its island, or show that it can be."""
        if self._dragged is not None:
            row, island, before = self._dragged
            moved = self._bar(island, self.canvas.view.to_mm(pixel.x(), pixel.y()))
            if moved is not None:
                self._put([moved if number == row else bar for number, bar in enumerate(before)])
                self.canvas.say(self._said())
            return
        over = self._bar_under(pixel)
        self.canvas.setCursor(Qt.CursorShape.SizeAllCursor if over >= 0 else self.cursor)
        if over >= 0:
            self.canvas.say(_tr("Drag the bridge round its island; Del takes it away"))
        else:
            self.canvas.say(_tr("Double-click beside an island adds a bridge") if self.ground else "")

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Let go."""
        if self._dragged is not None:
            self._dragged = None
            self._look()

    def double_click(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Add a bridge to the nearest island, there."""
        if self.ground is None or not len(self.ground) or self._bar_under(pixel) >= 0:
            return
        place = self.canvas.view.to_mm(pixel.x(), pixel.y())
        bar = self._bar(self.ground.nearest(place), place)
        if bar is not None:
            self._put([*self.bars, bar])
            self.choose(len(self.bars) - 1)
        else:
            self.canvas.say(_tr("No straight bridge runs there."))

    def wants(self, key: int, modifiers: Modifiers) -> bool:
        """Take Delete from the window while a bridge is chosen."""
        return key in _REMOVES and self.chosen >= 0

    def key(self, event: QKeyEvent) -> bool:
        """Tab chooses a bridge, arrows turn it round its island, Insert adds one, Delete takes it away."""
        key, back = event.key(), event.key() == Qt.Key.Key_Backtab
        if key in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab) and self.bars:
            row = self.chosen + (-1 if back else 1)
            if self.chosen < 0 and back:
                row = len(self.bars) - 1
            self.choose(row)
            return self.chosen >= 0  # past the last one the focus goes on
        if key in (Qt.Key.Key_Left, Qt.Key.Key_Right) and self.chosen >= 0:
            fine = 0.2 if event.modifiers() & Modifiers.ShiftModifier else 1.0
            self.turn(_TURN_DEG * fine * (1.0 if key == Qt.Key.Key_Right else -1.0))
            return True
        if key in _REMOVES and self.chosen >= 0:
            self.remove()
            return True
        if key == Qt.Key.Key_Insert:
            self.add()
            return True
        return False

    def escape(self) -> bool:
        """Let go of a bridge first, leave the verb next."""
        if self._dragged is not None:
            _, _, before = self._dragged
            self._dragged = None
            self._put(before)
            return True
        was = self.chosen
        self.choose(-1)
        return was >= 0

    # --- bridges --------------------------------------------------------------------------------------------------

    def choose(self, row: int) -> None:
        """Choose a bridge, or none; it is said aloud."""
        self.chosen = row if 0 <= row < len(self.bars) else -1
        if self.chosen >= 0:
            self._say()
        self.canvas.update()

    def turn(self, angle_deg: float) -> None:
        """Turn the chosen bridge round its island."""
        island = self._island(self.chosen)
        if island is None or self.ground is None:
            return
        middle, here = self.ground.middle(island), _middle(self.bars[self.chosen])
        turn = math.atan2(here[1] - middle[1], here[0] - middle[0]) + math.radians(angle_deg)
        reach = math.dist(middle, here)
        place = middle[0] + reach * math.cos(turn), middle[1] + reach * math.sin(turn)
        record = self.record()
        bar = None if record is None else self.ground.bar_at(island, place, record.bridge_mm, None)
        if bar is not None:
            self._put([bar if number == self.chosen else each for number, each in enumerate(self.bars)])
            self._say()

    def remove(self) -> None:
        """Take the chosen bridge away, unless it is the last that holds its island."""
        if self.chosen < 0 or self.ground is None:
            return
        left = [bar for number, bar in enumerate(self.bars) if number != self.chosen]
        held = {island for bar in left for island in self.ground.held_by(bar)}
        if any(island not in held for island in self.ground.held_by(self.bars[self.chosen])):
            self._tell(_tr("This is the last bridge of its island: without it the island falls out."))
            return
        self._put(left)
        self.choose(-1)

    def add(self) -> None:
        """Add a bridge where the island of the chosen one (or else the first) has most room."""
        record = self.record()
        if self.ground is None or not len(self.ground) or record is None:
            return
        island = self._island(self.chosen) or 0
        middle = self.ground.middle(island)
        others = [_middle(bar) for bar in self.bars if island in self.ground.held_by(bar)]
        bearings = [math.atan2(y - middle[1], x - middle[0]) for x, y in others]
        best: tuple[float, Bar] | None = None
        for number in range(_DIRECTIONS):
            turn = number * math.tau / _DIRECTIONS
            place = middle[0] + math.cos(turn), middle[1] + math.sin(turn)
            bar = self.ground.bar_at(island, place, record.bridge_mm, None)
            if bar is None:
                continue
            x, y = _middle(bar)
            bearing = math.atan2(y - middle[1], x - middle[0])
            room = min((abs(math.remainder(bearing - each, math.tau)) for each in bearings), default=math.pi)
            if best is None or room > best[0] + 1e-6:
                best = room, bar
        if best is None:
            self._tell(_tr("No straight bridge runs there."))
            return
        self._put([*self.bars, best[1]])
        self.choose(len(self.bars) - 1)

    def _bar(self, island: int, place: Point) -> Bar | None:
        record = self.record()
        if record is None or self.ground is None:
            return None
        angle = record.angle_deg if record.way == "angle" else None
        return self.ground.bar_at(island, place, record.bridge_mm, angle)

    def _island(self, row: int) -> int | None:
        if self.ground is None or not 0 <= row < len(self.bars):
            return None
        held = self.ground.held_by(self.bars[row])
        if not held:
            return None
        middle = _middle(self.bars[row])
        return min(held, key=lambda island: math.dist(self.ground.middle(island), middle))  # type: ignore[union-attr]

    def _put(self, bars: list[Bar]) -> None:
        self.bars = bars
        form = self._bench.form
        if form is not None:
            numbers = [round(each, 4) for bar in bars for each in (*bar.start, *bar.end)]
            form.fields["bridges_mm"].set_value(numbers)
            form.changed.emit()
        self.canvas.update()

    def _said(self) -> str:
        bar = self.bars[self.chosen]
        (x1, y1), (x2, y2) = bar.start, bar.end
        angle = math.degrees(math.atan2(y2 - y1, x2 - x1)) % 180.0
        return _tr("Bridge {number} of {count}: {length:.1f} mm long, at {angle:.0f}°").format(
            number=self.chosen + 1, count=len(self.bars), length=bar.length_mm, angle=angle
        )

    def _say(self) -> None:
        self._tell(self._said())

    def _tell(self, text: str) -> None:
        self.canvas.say(text)
        self.canvas.announce(text)

    def _bar_under(self, pixel: QPointF) -> int:
        """Return the bridge under a pixel, or -1."""
        view = self.canvas.view
        best, found = _GRAB_PX, -1
        for number, bar in enumerate(self.bars):
            one, other = view.to_px(*bar.start), view.to_px(*bar.end)
            reach = max(bar.width_mm / 2.0 * view.scale, 0.0)
            off = max(_off(pixel, one, other) - reach, 0.0)
            if off < best:
                best, found = off, number
        return found

    # --- showing --------------------------------------------------------------------------------------------------

    def paint(self, painter: QPainter) -> None:
        """Show each bridge with a grip in its middle."""
        view, colours = self.canvas.view, self.canvas.colours
        for number, bar in enumerate(self.bars):
            chosen = number == self.chosen
            outline = QPolygonF([view.to_px(x, y) for x, y in bar.path.points[:, 0].tolist()])
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(colours.halo, 3.0))
            painter.drawPolygon(outline)
            painter.setPen(QPen(colours.selection if chosen else colours.ghost, 2.0 if chosen else 1.2))
            painter.drawPolygon(outline)
            place = view.to_px(*_middle(bar))
            painter.setPen(QPen(colours.halo, 2.0))
            painter.setBrush(colours.selection if chosen else colours.ghost)
            if chosen:
                size = _GRIP_PX + 2.0
                painter.drawPolygon(
                    QPolygonF([place + QPointF(dx * size, dy * size) for dx, dy in ((0, -1), (1, 0), (0, 1), (-1, 0))])
                )
            else:
                painter.drawEllipse(place, _GRIP_PX, _GRIP_PX)


def _middle(bar: Bar) -> Point:
    return (bar.start[0] + bar.end[0]) / 2.0, (bar.start[1] + bar.end[1]) / 2.0


def _off(pixel: QPointF, one: QPointF, other: QPointF) -> float:
    """Return how far a pixel is from the line between two others."""
    dx, dy = other.x() - one.x(), other.y() - one.y()
    size = dx * dx + dy * dy
    share = 0.0 if size == 0.0 else ((pixel.x() - one.x()) * dx + (pixel.y() - one.y()) * dy) / size
    share = min(max(share, 0.0), 1.0)
    return math.hypot(pixel.x() - one.x() - share * dx, pixel.y() - one.y() - share * dy)


def _tr(text: str) -> str:
    return QCoreApplication.translate("Bridges", text)
