"""Trouble marked where it is: one shape of mark a family of rules, the current one emphasised.

Marks that would lie on one another on the screen are drawn as one with their count. What a finding reaches over, true
to size, is drawn by `reaches`.
"""

from __future__ import annotations

import math
from enum import StrEnum
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPen, QPixmap

from bladewise.window.canvas.colours import BLUE, GREEN, ORANGE, PURPLE, VERMILION

if TYPE_CHECKING:
    from collections.abc import Container, Sequence

    from numpy.typing import NDArray

    from bladewise.findings import Finding
    from bladewise.geometry.path import Floats
    from bladewise.window.canvas.colours import CanvasColours
    from bladewise.window.view import View

RADIUS_PX = 7.0
REACH_PX = 11.0
"""So near to its middle a mark is pointed at."""
_CELL_PX = 14.0
_STAMP_PX = RADIUS_PX + 4.0

_COARSEST = 5

MOST_MARKS = 300
"""Where there would be more in view, marks stand for more and more places each: nobody could tell them apart."""

_CUT_TWICE = frozenset({"duplicate", "shared-edge"})
_TWICE = "2×"


class MarkShape(StrEnum):
    """What a mark looks like, colour aside."""

    DIAMOND = "diamond"
    TWIN = "twin"
    CROSS = "cross"
    GAP = "gap"
    SQUARE = "square"
    TRIANGLE = "triangle"
    NECK = "neck"
    SLOT = "slot"
    TIP = "tip"
    DOT = "dot"
    CORNERS = "corners"
    BEADS = "beads"
    NESTED = "nested"
    BROKEN = "broken"
    HALF = "half"
    PAIR = "pair"
    FACING = "facing"
    ROUND = "round"


class MarkLook(NamedTuple):
    """Shape and colour of a family of rules."""

    shape: MarkShape
    colour: QColor


_LOOKS = {
    "overlap": MarkLook(MarkShape.DIAMOND, VERMILION),
    "duplicate": MarkLook(MarkShape.TWIN, VERMILION),
    "shared-edge": MarkLook(MarkShape.TWIN, ORANGE),
    "butted-edge": MarkLook(MarkShape.TWIN, GREEN),
    "crossing": MarkLook(MarkShape.CROSS, VERMILION),
    "open-path": MarkLook(MarkShape.GAP, BLUE),
    "live-lettering": MarkLook(MarkShape.SQUARE, PURPLE),
    "stroke": MarkLook(MarkShape.SQUARE, GREEN),
    "thin-stroke": MarkLook(MarkShape.SQUARE, ORANGE),
    "small-piece": MarkLook(MarkShape.TRIANGLE, ORANGE),
    "narrow-bridge": MarkLook(MarkShape.NECK, ORANGE),
    "narrow-gap": MarkLook(MarkShape.SLOT, BLUE),
    "sharp-corner": MarkLook(MarkShape.TIP, PURPLE),
    "stray-point": MarkLook(MarkShape.DOT, VERMILION),
    "many-nodes": MarkLook(MarkShape.BEADS, GREEN),
    "fill-rule": MarkLook(MarkShape.NESTED, PURPLE),
    "hidden-art": MarkLook(MarkShape.BROKEN, GREEN),
    "off-sheet": MarkLook(MarkShape.CORNERS, VERMILION),
    "over-roll": MarkLook(MarkShape.CORNERS, ORANGE),
    "ordered-size": MarkLook(MarkShape.CORNERS, BLUE),
    "short-bleed": MarkLook(MarkShape.NESTED, ORANGE),
    "gradient": MarkLook(MarkShape.HALF, PURPLE),
    "see-through": MarkLook(MarkShape.HALF, BLUE),
    "bitmap": MarkLook(MarkShape.HALF, ORANGE),
    "near-colours": MarkLook(MarkShape.PAIR, BLUE),
    "mirrored-words": MarkLook(MarkShape.FACING, PURPLE),
}


def look_of(rule: str) -> MarkLook:
    """Return how a rule's findings are marked; a panel that lists them can show the same mark."""
    return _LOOKS.get(rule, MarkLook(MarkShape.ROUND, BLUE))


class Mark(NamedTuple):
    """A mark on the screen: where, what, the findings it stands for, and what is written beside it."""

    place: QPointF
    look: MarkLook
    findings: tuple[int, ...]
    is_current: bool
    label: str = ""


_MARKED_ONCE = frozenset({"butted-edge"})
"""Rules of which one mark is enough: art of several vinyls meets in many places, and the remedy is one for all."""


def _marked(finding: Finding) -> tuple[tuple[float, float], ...]:
    return ((finding.x_mm, finding.y_mm),) if finding.rule in _MARKED_ONCE else finding.all_places


class Trouble:
    """All places of all findings, laid out once for a scale and moved with the sheet from then on.

    Places that would lie on one another on the screen make one mark with their count. The cells in which
    they meet lie on the sheet, so that marks do not regroup while it is panned.
    """

    def __init__(self, findings: Sequence[Finding] = ()) -> None:
        """Gather the places."""
        self._findings = findings
        places = [_marked(finding) for finding in findings]
        self._first = np.cumsum([0, *(len(each) for each in places)])
        self._owner = np.repeat(np.arange(len(findings)), np.diff(self._first))
        self._at: Floats = np.array([place for each in places for place in each]).reshape(-1, 2)
        shapes = {shape: number for number, shape in enumerate(MarkShape)}
        self._family = np.array([shapes[look_of(finding.rule).shape] for finding in findings], np.int64)[self._owner]
        self._scale = 0.0
        self._coarseness = 0
        self._laid: dict[tuple[int, int], tuple[NDArray[np.int64], NDArray[np.int64]]] = {}

    def marks(self, view: View, window: QRectF, current: int | None = None, spot: int = 0) -> list[Mark]:
        """Return the marks to be seen in a window; `current` and `spot` are those of the finding and its place.

        The current one is not grouped with others, and comes last.
        """
        if not len(self._at):
            return []
        own = -1 if current is None else int(self._first[current]) + min(spot, self._count(current) - 1)
        for coarseness in range(max(self._coarseness - 1, 0), _COARSEST + 1):
            self._coarseness = coarseness
            places, edges = self._lay_out(view.scale, own, coarseness)
            heads = places[edges[:-1]]
            pixels = (self._at[heads] - (view.x_mm, view.y_mm)) * view.scale
            inside = (pixels >= (window.left(), window.top())) & (pixels <= (window.right(), window.bottom()))
            seen = np.flatnonzero(inside.all(axis=1))
            if len(seen) <= MOST_MARKS:
                break
        found = []
        for number in seen.tolist():
            together = places[edges[number] : edges[number + 1]]
            owners = dict.fromkeys(self._owner[together].tolist())
            finding = self._findings[next(iter(owners))]
            label = str(len(together)) if len(together) > 1 else _TWICE if finding.rule in _CUT_TWICE else ""
            is_current = int(heads[number]) == own
            found.append(
                Mark(QPointF(*pixels[number].tolist()), look_of(finding.rule), tuple(owners), is_current, label)
            )
        return found

    def _count(self, finding: int) -> int:
        return int(self._first[finding + 1] - self._first[finding])

    def _lay_out(self, scale: float, own: int, coarseness: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return the places mark by mark, and where each mark's begin, with the end of the last.

        Laid out anew only every half octave of zooming.
        """
        step = 2.0 ** (math.floor(2.0 * math.log2(scale)) / 2.0)
        if self._scale != step:
            self._scale, self._laid = step, {}
        if (own, coarseness) not in self._laid:
            rest = np.arange(len(self._at))
            rest = np.delete(rest, own) if own >= 0 else rest
            across, down = np.floor(self._at[rest] * (step / (_CELL_PX * 2**coarseness))).astype(np.int64).T
            keys = ((down << 32) + across) * len(MarkShape) + self._family[rest]
            order = np.argsort(keys, kind="stable")
            fresh = np.flatnonzero(np.diff(keys[order], prepend=keys[order[:1]] - 1))
            members = rest[order]
            if own >= 0:
                fresh, members = np.append(fresh, len(members)), np.append(members, own)
            self._laid[own, coarseness] = members, np.append(fresh, len(members))
        return self._laid[own, coarseness]


def marks_in(findings: Sequence[Finding], current: int | None, view: View, window: QRectF) -> list[Mark]:
    """Return the marks to be seen in a window, those of one family and place together, the current one last."""
    return Trouble(findings).marks(view, window, current)


def mark_at(marks: Sequence[Mark], pixel: QPointF) -> Mark | None:
    """Return the topmost mark under a pixel."""
    x, y = pixel.x() - REACH_PX, pixel.y() - REACH_PX
    near = QRectF(x, y, 2.0 * REACH_PX, 2.0 * REACH_PX)
    return next((mark for mark in reversed(marks) if near.contains(mark.place)), None)


def paint_marks(
    painter: QPainter, marks: Sequence[Mark], colours: CanvasColours, *, without: Container[int] = ()
) -> None:
    """Paint marks with their counts; `without` names findings that need none, for they are drawn themselves."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    ratio = painter.device().devicePixelRatioF()
    for mark in marks:
        is_drawn = not mark.label and mark.findings[0] in without
        if mark.is_current:
            _paint_halo(painter, mark)
        if is_drawn:
            continue
        if mark.is_current:
            paint_mark_shape(painter, mark.place, mark.look, colours.halo, RADIUS_PX * 1.45)
        else:
            stamp = _stamp(mark.look.shape, mark.look.colour.rgba(), colours.halo.rgba(), ratio)
            painter.drawPixmap(mark.place - QPointF(_STAMP_PX, _STAMP_PX), stamp)
    for mark in marks:
        if mark.label:
            _paint_label(painter, mark, colours)


@lru_cache(maxsize=64)
def _stamp(shape: MarkShape, colour: int, halo: int, ratio: float) -> QPixmap:
    """Return a mark as a picture: laying hundreds of them down costs next to nothing."""
    side = round(2.0 * _STAMP_PX * ratio)
    stamp = QPixmap(side, side)
    stamp.setDevicePixelRatio(ratio)
    stamp.fill(Qt.GlobalColor.transparent)
    painter = QPainter(stamp)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    look = MarkLook(shape, QColor.fromRgba(colour))
    paint_mark_shape(painter, QPointF(_STAMP_PX, _STAMP_PX), look, QColor.fromRgba(halo), RADIUS_PX)
    painter.end()
    return stamp


def paint_mark_shape(painter: QPainter, place: QPointF, look: MarkLook, halo: QColor, radius: float) -> None:
    """Paint the bare shape of a mark, with a halo so that it shows on any art."""
    for pen in (QPen(halo, 4.5), QPen(look.colour, 2.2)):
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        _shape(painter, place, look.shape, radius)


def _paint_halo(painter: QPainter, mark: Mark) -> None:
    veil = mark.look.colour.toRgb()
    veil.setAlpha(60)
    painter.setPen(QPen(mark.look.colour, 1.0))
    painter.setBrush(veil)
    reach = RADIUS_PX * 1.45 * 2.2
    painter.drawEllipse(mark.place, reach, reach)


def _paint_label(painter: QPainter, mark: Mark, colours: CanvasColours) -> None:
    font = QFont(painter.font())
    font.setPixelSize(10)
    font.setBold(True)
    painter.setFont(font)
    radius = RADIUS_PX * (1.45 if mark.is_current else 1.0)
    wide = painter.fontMetrics().horizontalAdvance(mark.label) + 8.0
    chip = QRectF(mark.place.x() + radius * 0.7, mark.place.y() - radius * 1.7, wide, 14.0)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colours.label)
    painter.drawRoundedRect(chip, 7.0, 7.0)
    painter.setPen(colours.label_text)
    painter.drawText(chip, Qt.AlignmentFlag.AlignCenter, mark.label)


def _shape(painter: QPainter, place: QPointF, shape: MarkShape, r: float) -> None:
    x, y = place.x(), place.y()
    match shape:
        case MarkShape.DIAMOND:
            painter.drawPolygon([QPointF(x, y - r), QPointF(x + r, y), QPointF(x, y + r), QPointF(x - r, y)])
        case MarkShape.CROSS:
            d = 0.75 * r
            painter.drawLine(QPointF(x - d, y - d), QPointF(x + d, y + d))
            painter.drawLine(QPointF(x - d, y + d), QPointF(x + d, y - d))
        case MarkShape.GAP:
            painter.drawArc(QRectF(x - 0.85 * r, y - 0.85 * r, 1.7 * r, 1.7 * r), 40 * 16, 280 * 16)
        case MarkShape.SQUARE:
            painter.drawRect(QRectF(x - 0.75 * r, y - 0.75 * r, 1.5 * r, 1.5 * r))
        case MarkShape.TRIANGLE:
            base = y + 0.7 * r
            painter.drawPolygon([QPointF(x, y - r), QPointF(x + 0.9 * r, base), QPointF(x - 0.9 * r, base)])
        case MarkShape.NECK:  # two bows that nearly meet
            painter.drawArc(QRectF(x - 1.9 * r, y - 0.9 * r, 1.7 * r, 1.8 * r), -65 * 16, 130 * 16)
            painter.drawArc(QRectF(x + 0.2 * r, y - 0.9 * r, 1.7 * r, 1.8 * r), 115 * 16, 130 * 16)
        case MarkShape.SLOT:
            for side in (-0.35, 0.35):
                painter.drawLine(QPointF(x + side * r, y - 0.85 * r), QPointF(x + side * r, y + 0.85 * r))
        case MarkShape.TWIN:
            for side in (-0.35, 0.35):
                painter.drawLine(QPointF(x - 0.85 * r, y + side * r), QPointF(x + 0.85 * r, y + side * r))
        case MarkShape.TIP:
            painter.drawPolyline(
                [QPointF(x - 0.5 * r, y + 0.8 * r), QPointF(x, y - r), QPointF(x + 0.5 * r, y + 0.8 * r)]
            )
        case MarkShape.DOT:
            painter.drawEllipse(place, 0.85 * r, 0.85 * r)
            painter.drawEllipse(place, 0.12 * r, 0.12 * r)
        case MarkShape.CORNERS:
            d, e = 0.8 * r, 0.35 * r
            for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1)):
                painter.drawPolyline(
                    [QPointF(x + sx * e, y + sy * d), QPointF(x + sx * d, y + sy * d), QPointF(x + sx * d, y + sy * e)]
                )
        case MarkShape.BEADS:
            for step in (-0.8, 0.0, 0.8):
                painter.drawEllipse(QPointF(x + step * r, y), 0.22 * r, 0.22 * r)
        case MarkShape.NESTED:
            painter.drawEllipse(place, 0.85 * r, 0.85 * r)
            painter.drawEllipse(place, 0.38 * r, 0.38 * r)
        case MarkShape.BROKEN:
            ring = QRectF(x - 0.85 * r, y - 0.85 * r, 1.7 * r, 1.7 * r)
            for start in (20, 110, 200, 290):
                painter.drawArc(ring, start * 16, 50 * 16)
        case MarkShape.HALF:
            ring = QRectF(x - 0.85 * r, y - 0.85 * r, 1.7 * r, 1.7 * r)
            painter.drawEllipse(ring)
            painter.drawChord(ring, 45 * 16, 180 * 16)
        case MarkShape.PAIR:
            for side in (-0.4, 0.4):
                painter.drawEllipse(QPointF(x + side * r, y), 0.6 * r, 0.6 * r)
        case MarkShape.FACING:
            for side in (-1.0, 1.0):
                far, near = x + side * 0.95 * r, x + side * 0.2 * r
                painter.drawPolygon([QPointF(far, y - 0.7 * r), QPointF(near, y), QPointF(far, y + 0.7 * r)])
        case _:
            painter.drawEllipse(place, 0.85 * r, 0.85 * r)
