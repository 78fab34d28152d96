"""What the hand does on the canvas, from press to release: pull the sheet, a rubber band, move, nudge.

A gesture shows itself while it lasts and ends as one step or, with Escape, as none.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import QCoreApplication, QLineF, QPointF, QRectF, Qt

from bladewise import operations
from bladewise.units import format_length
from bladewise.window.canvas import overlay, picking
from bladewise.window.canvas.lining_up import LiningUp

if TYPE_CHECKING:
    from PySide6.QtGui import QPainter

    from bladewise.window.canvas.canvas import Canvas
    from bladewise.window.canvas.lifted import LiftedArt
    from bladewise.window.canvas.snapping import Spot

Modifiers = Qt.KeyboardModifier

START_PX = 4.0
"""How far the pointer must go before a press is a drag."""

LEAST_MM = 0.01
"""Nothing is scaled smaller than a hundredth of a millimetre by hand."""


def decimals_of(scale: float) -> int:
    """Return to how many decimals of a millimetre the hand is exact at a scale in pixels a millimetre."""
    return min(max(math.ceil(math.log10(scale * 2.0)), 1), 6)


class Gesture(Protocol):
    """From press to release."""

    is_dragging: bool

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Follow the pointer."""

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Do it."""

    def cancel(self) -> None:
        """Leave everything as it was."""

    def paint(self, painter: QPainter) -> None:
        """Show what would come of it, above the picture."""


class Pull:
    """The sheet follows the hand."""

    def __init__(self, canvas: Canvas, pixel: QPointF) -> None:
        """Take hold of the sheet."""
        self._canvas = canvas
        self._last = pixel
        self._rest = QPointF()
        self.is_dragging = True

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Follow in whole pixels of the screen, so that the picture can be moved by blitting."""
        ratio = self._canvas.devicePixelRatioF()
        wanted = pixel - self._last + self._rest
        done = QPointF(round(wanted.x() * ratio) / ratio, round(wanted.y() * ratio) / ratio)
        self._rest, self._last = wanted - done, pixel
        self._canvas.set_view(self._canvas.view.panned(done.x(), done.y()))

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Let go."""

    def cancel(self) -> None:
        """Let go."""

    def paint(self, painter: QPainter) -> None:
        """Nothing is to be shown but the sheet itself."""


class Band:
    """A rubber band: what lies wholly in it is selected; with Alt also what it touches."""

    def __init__(self, canvas: Canvas, pixel: QPointF, modifiers: Modifiers) -> None:
        """Begin at a pixel."""
        self._canvas = canvas
        self._from = self._to = pixel
        self._touching = bool(modifiers & Modifiers.AltModifier)
        self.is_dragging = False

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Stretch the band."""
        self._to = pixel
        self._touching = bool(modifiers & Modifiers.AltModifier)
        if not self.is_dragging and is_far(self._from, pixel):
            self.is_dragging = True
        if self.is_dragging:
            self._canvas.say(
                QCoreApplication.translate(
                    "Canvas", "Selects what lies wholly inside; with Alt also what the band touches"
                )
            )
            self._canvas.update()

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Select."""
        canvas = self._canvas
        adding = bool(modifiers & Modifiers.ShiftModifier)
        canvas.say("")
        if not self.is_dragging:
            if not adding:
                canvas.leave_group()
                canvas.set_selection(frozenset())
            return
        rect = self._rect()
        band = (rect.left(), rect.top(), rect.right(), rect.bottom())
        rows = picking.inside(canvas.scene, canvas.view, band, canvas.shown_mode, touched=self._touching)
        if self._touching:
            found = frozenset(picking.outermost(row.placed, canvas.entered_group) for row in rows)
        else:
            found = picking.whole_groups(canvas.scene, rows, canvas.entered_group)
        canvas.set_selection(canvas.selection | found if adding else found)

    def cancel(self) -> None:
        """Select nothing new."""
        self._canvas.say("")

    def paint(self, painter: QPainter) -> None:
        """Show the band."""
        if self.is_dragging:
            overlay.paint_band(painter, self._rect(), self._canvas.colours, touching=self._touching)

    def _rect(self) -> QRectF:
        return QRectF(self._from, self._to).normalized()


class Move:
    """Art follows the hand: Shift keeps it level or plumb, Alt leaves snapping out."""

    def __init__(self, canvas: Canvas, pixel: QPointF, *, clicked: str | None = None) -> None:
        """Take hold of what is selected; `clicked` becomes the selection if the press stays a click."""
        self._canvas = canvas
        self._from = pixel
        self._at = pixel
        self._clicked = clicked
        self._box = canvas.selection_box()
        self._lifted: LiftedArt | None = None
        self._lining: LiningUp | None = None
        self._lines: list[QLineF] = []
        self._spot: Spot | None = None
        self._hint = ""
        self._offset = (0.0, 0.0)
        self.is_dragging = False

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Follow the pointer."""
        canvas, view = self._canvas, self._canvas.view
        self._at = pixel
        if not self.is_dragging:
            if self._box is None or not is_far(self._from, pixel):
                return
            self.is_dragging = True
            self._lifted = canvas.lift(canvas.scene.leaf_ids(canvas.selection))
        elif self._lining is None and self._lifted is not None and self._box is not None:
            # not in the frame that lifts the art: in a huge job each takes the better part of one
            window = view.box(QRectF(canvas.rect()))
            held_at = view.to_mm(self._from.x(), self._from.y())
            rules, store = canvas.snap_rules, canvas.landmarks
            self._lining = LiningUp(canvas.scene, view, window, self._lifted.ids, rules, store, self._box, held_at)
        assert self._box is not None
        decimals = decimals_of(view.scale)
        dx = round((pixel.x() - self._from.x()) / view.scale, decimals)
        dy = round((pixel.y() - self._from.y()) / view.scale, decimals)
        if modifiers & Modifiers.ShiftModifier:
            dx, dy = (dx, 0.0) if abs(dx) >= abs(dy) else (0.0, dy)
        self._lines, self._spot, self._hint = [], None, ""
        hint = QCoreApplication.translate("Canvas", "Shift keeps it level or plumb, Alt leaves snapping out")
        if self._lining is not None and not modifiers & (Modifiers.AltModifier | Modifiers.ShiftModifier):
            snapped = self._lining.snap(dx, dy)
            dx, dy, self._lines = snapped.dx_mm, snapped.dy_mm, snapped.lines
            self._spot, self._hint = snapped.spot, snapped.hint
            hint = QCoreApplication.translate("Canvas", "Snapped: ") + snapped.hint if snapped.hint else hint
        canvas.say(hint)
        self._offset = dx, dy
        canvas.update()

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Ask for one step."""
        canvas = self._canvas
        canvas.say("")
        if not self.is_dragging:
            if self._clicked is not None:
                canvas.set_selection(frozenset({self._clicked}))
            return
        dx, dy = self._offset
        if not dx and not dy:
            self.cancel()
            return
        canvas.ask(operations.step("move", {"on": canvas.selection_plain(), "dx_mm": dx, "dy_mm": dy}), self)

    def cancel(self) -> None:
        """Lay it back."""
        self._canvas.say("")
        self._canvas.lay_down()

    def paint(self, painter: QPainter) -> None:
        """Show the art where it would lie, and by how much."""
        if self._lifted is None or self._box is None:
            return
        canvas, view, (dx, dy) = self._canvas, self._canvas.view, self._offset
        self._lifted.draw_moved(painter, view, canvas.size(), dx * view.scale, dy * view.scale)
        box = self._box[0] + dx, self._box[1] + dy, self._box[2] + dx, self._box[3] + dy
        overlay.paint_frames(painter, view, [box], canvas.colours)
        overlay.paint_snap_lines(painter, self._lines, canvas.colours)
        if self._spot is not None:
            overlay.paint_snap_spot(painter, view, self._spot, canvas.colours)
        if self.is_dragging:
            places = decimals_of(view.scale)
            lines = [
                f"{sign} {format_length(abs(value), unit=canvas.unit, decimals=max(places, 2))}"
                for sign, value in (("→" if dx >= 0.0 else "←", dx), ("↓" if dy >= 0.0 else "↑", dy))
            ]
            lines += [self._hint] if self._hint else []
            overlay.paint_label(painter, self._at, lines, QRectF(canvas.rect()), canvas.colours)


class Nudge:
    """Arrow keys: art goes by small amounts; holding a key is one step."""

    def __init__(self, canvas: Canvas) -> None:
        """Take hold of what is selected."""
        self._canvas = canvas
        self._box = canvas.selection_box()
        self._lifted = canvas.lift(canvas.scene.leaf_ids(canvas.selection))
        self._offset = (0.0, 0.0)
        self.is_dragging = True

    def by(self, dx_mm: float, dy_mm: float) -> None:
        """Go on by so much."""
        self._offset = round(self._offset[0] + dx_mm, 6), round(self._offset[1] + dy_mm, 6)
        self._canvas.update()

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """The pointer has no part in it."""

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Ask for one step."""
        dx, dy = self._offset
        if not dx and not dy:
            self.cancel()
            return
        canvas = self._canvas
        canvas.ask(operations.step("move", {"on": canvas.selection_plain(), "dx_mm": dx, "dy_mm": dy}), self)

    def cancel(self) -> None:
        """Lay it back."""
        self._canvas.lay_down()

    def paint(self, painter: QPainter) -> None:
        """Show the art where it would lie."""
        canvas, view, (dx, dy) = self._canvas, self._canvas.view, self._offset
        self._lifted.draw_moved(painter, view, canvas.size(), dx * view.scale, dy * view.scale)
        if self._box is not None:
            box = self._box[0] + dx, self._box[1] + dy, self._box[2] + dx, self._box[3] + dy
            overlay.paint_frames(painter, view, [box], canvas.colours)


def is_far(start: QPointF, pixel: QPointF) -> bool:
    """Whether the pointer has gone far enough from a press for it to be a drag."""
    return math.hypot(pixel.x() - start.x(), pixel.y() - start.y()) >= START_PX
