"""Scaling by the handles of the frame: about the opposite side or corner, or about the pivot, snapped or not."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QCoreApplication, QRectF, Qt

from bladewise import operations
from bladewise.geometry.affine import Affine
from bladewise.units import format_length, format_number
from bladewise.window.canvas import overlay
from bladewise.window.canvas.gestures import LEAST_MM, decimals_of, is_far
from bladewise.window.canvas.snapping import Magnet

if TYPE_CHECKING:
    from PySide6.QtCore import QPointF
    from PySide6.QtGui import QPainter

    from bladewise.document import Box
    from bladewise.window.canvas.canvas import Canvas
    from bladewise.window.canvas.lifted import LiftedArt
    from bladewise.window.canvas.overlay import Handle
    from bladewise.window.canvas.snapping import Spot

Modifiers = Qt.KeyboardModifier
translate = QCoreApplication.translate


@dataclass(frozen=True)
class _Size:
    width_mm: float
    height_mm: float


class Resize:
    """Art is scaled by a handle: Shift keeps its proportions, Ctrl keeps the pivot where it is; Alt does not snap."""

    def __init__(self, canvas: Canvas, handle: Handle, box: Box, pixel: QPointF) -> None:
        """Take hold of a handle."""
        self._canvas = canvas
        self._handle = handle
        self._box = box
        self._from = self._at = pixel
        self._lifted: LiftedArt | None = None
        self._size = _Size(box[2] - box[0], box[3] - box[1])
        self._central = False
        self._even = False
        self._pivot = canvas.pivot_mm()
        self._magnet: Magnet | None = None
        self._spot: Spot | None = None
        self.is_dragging = False

    def move(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Follow the pointer."""
        canvas, box, handle = self._canvas, self._box, self._handle
        self._at = pixel
        if not self.is_dragging:
            if not is_far(self._from, pixel):
                return
            self.is_dragging = True
            self._lifted = canvas.lift(canvas.scene.leaf_ids(canvas.selection))
            self._magnet = Magnet(canvas.scene, canvas.view, canvas.snap_rules, canvas.landmarks, self._lifted.ids)
        self._central = bool(modifiers & Modifiers.ControlModifier)
        self._even = bool(modifiers & Modifiers.ShiftModifier)
        decimals = decimals_of(canvas.view.scale)
        was = _Size(box[2] - box[0], box[3] - box[1])
        start = handle.pulls.point(box)
        moved = (pixel - self._from) / canvas.view.scale
        to = start[0] + moved.x(), start[1] + moved.y()
        exact = self._snapped(to, modifiers)
        still = self._still()
        sizes: list[float | None] = []
        for axis, pulls, size in ((0, handle.across, was.width_mm), (1, handle.down, was.height_mm)):
            arm = start[axis] - still[axis]
            if not pulls or not size:
                sizes.append(None)
                continue
            snapped = exact[axis]
            place = to[axis] if snapped is None else snapped
            wanted = size * (place - still[axis]) / arm if abs(arm) > 1e-3 * size else size
            sizes.append(max(round(wanted, decimals) if snapped is None else wanted, LEAST_MM))
        width, height = sizes
        if self._even:
            factors = [
                new / old for new, old in ((width, was.width_mm), (height, was.height_mm)) if new is not None and old
            ]
            factor = max(factors, key=lambda each: abs(math.log(each)))
            width, height = was.width_mm * factor, was.height_mm * factor
            if handle.across and was.width_mm:
                width = max(round(width, decimals), LEAST_MM)
                height = was.height_mm * width / was.width_mm
            else:
                height = max(round(height, decimals), LEAST_MM)
                width = was.width_mm * height / was.height_mm
        self._size = _Size(was.width_mm if width is None else width, was.height_mm if height is None else height)
        if self._spot is not None:
            canvas.say(translate("Canvas", "Snapped: ") + self._spot.text)
        else:
            canvas.say(
                translate(
                    "Canvas", "Shift keeps the proportions, Ctrl keeps the pivot where it is, Alt leaves snapping out"
                )
            )
        canvas.update()

    def _still(self) -> tuple[float, float]:
        """Return the point that stays where it is."""
        return self._pivot if self._central else self._handle.anchor.point(self._box)

    def _snapped(self, to: tuple[float, float], modifiers: Modifiers) -> tuple[float | None, float | None]:
        """Return where the handle snaps to across and down, None where it does not."""
        self._spot = None
        if self._magnet is None or self._even or modifiers & Modifiers.AltModifier:
            return None, None
        self._spot = self._magnet.point(*to)
        if self._spot is None:
            return None, None
        return self._spot.x_mm, self._spot.y_mm

    def release(self, pixel: QPointF, modifiers: Modifiers) -> None:
        """Ask for one step."""
        canvas, was = self._canvas, _Size(self._box[2] - self._box[0], self._box[3] - self._box[1])
        canvas.say("")
        if not self.is_dragging or self._size == was:
            self.cancel()
            return
        values: dict[str, Any] = {"on": canvas.selection_plain()}
        if was.width_mm > 0.0 and not (self._even and not self._handle.across):
            values["width_mm"] = self._size.width_mm
        if was.height_mm > 0.0 and not (self._even and "width_mm" in values):
            values["height_mm"] = self._size.height_mm
        if self._central:
            values |= {"about_x_mm": canvas.pivot[0], "about_y_mm": canvas.pivot[1]} if canvas.pivot is not None else {}
            values |= {"anchor": canvas.reference.value} if canvas.pivot is None else {}
        else:
            values["anchor"] = self._handle.anchor.value
        if not self._canvas.scale_strokes:
            values["scale_strokes"] = False
        canvas.ask(operations.step("scale", values), self)

    def cancel(self) -> None:
        """Leave it at its size."""
        self._canvas.say("")
        self._canvas.lay_down()

    def paint(self, painter: QPainter) -> None:
        """Show the art at its new size, and the size."""
        if self._lifted is None:
            return
        canvas, box = self._canvas, self._box
        affine = self._affine()
        self._lifted.draw_scaled(painter, canvas.view, canvas.size(), affine, strokes=canvas.scale_strokes)
        new = (
            box[0] * affine.a + affine.e,
            box[1] * affine.d + affine.f,
            box[2] * affine.a + affine.e,
            box[3] * affine.d + affine.f,
        )
        overlay.paint_handles(painter, canvas.view, new, canvas.colours)
        if self.is_dragging:
            places = max(decimals_of(canvas.view.scale), 2)
            sizes = [
                format_length(each, unit=canvas.unit, decimals=places)
                for each in (self._size.width_mm, self._size.height_mm)
            ]
            lines = [f"{sizes[0]} × {sizes[1]}", f"{_percent(affine.a)} × {_percent(affine.d)}"]
            if self._spot is not None:
                overlay.paint_snap_spot(painter, canvas.view, self._spot, canvas.colours)
                lines.append(self._spot.text)
            overlay.paint_label(painter, self._at, lines, QRectF(canvas.rect()), canvas.colours)

    def _affine(self) -> Affine:
        wide, high = self._box[2] - self._box[0], self._box[3] - self._box[1]
        sx = self._size.width_mm / wide if wide > 0.0 else None
        sy = self._size.height_mm / high if high > 0.0 else None
        across, down = sx if sx is not None else sy or 1.0, sy if sy is not None else sx or 1.0
        return Affine.scaled(across, down, about=self._still())


def _percent(factor: float) -> str:
    return f"{format_number(factor * 100.0, 1)} %"
