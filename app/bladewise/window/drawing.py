"""A leaf with the Qt paths it is drawn by: made when first needed, kept as long as the leaf is the same value."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from bladewise.document import Box, Colour, Leaf, Picture, Shape, Stroke, Style, outline_of
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.geometry.regions import FillRule
from bladewise.geometry.strokes import LineJoin, stroke_outline
from bladewise.operations.painted import stroke_geometry
from bladewise.operations.repair import CLOSED_MM
from bladewise.window.chords import chords_of
from bladewise.window.paths import curves, curves_of, pieces

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtGui import QPainterPath

    from bladewise.geometry.path import Floats, Path

CHORD_PX = 0.1
"""How far the chords of a filled area may be from its curves: a tenth of a pixel does not show."""

SMALL_PX = 70.0
"""Curves no wider on the screen are filled as they are: making chords of them pays only when they are filled often."""

SAME_MM = 1e-9
"""Points no farther than this from where a move takes them have been moved and nothing else."""

PIECE = 500
"""Longer outlines are painted in pieces of so many segments: a single call cannot be interrupted."""

LONGEST_EXACT = 2_000
"""A stroke along more segments is left to QPainter: finding its area takes a third of a millisecond a segment."""


class Drawing:
    """A leaf with the Qt paths it is drawn by, made when first needed and kept while the leaf lasts."""

    __slots__ = (
        "_before",
        "_chords",
        "_curves",
        "_open_ends",
        "_pieces",
        "_stroke",
        "_stroke_chords",
        "exact_stroke",
        "leaf",
        "path",
        "plain_colour",
        "reach_mm",
    )

    def __init__(self, leaf: Leaf, *, exact_stroke: bool = True) -> None:
        """Take a leaf; nothing is computed yet.

        An exact stroke is filled as the area it covers, which takes some milliseconds to find once; the
        other is left to QPainter, which draws its sides up to a quarter of a pixel off and now and then
        leaves a gap on the inside of a tight corner.
        """
        self.leaf = leaf
        self.exact_stroke = exact_stroke
        self.path = leaf.path if isinstance(leaf, Shape) else outline_of(leaf)
        self.reach_mm = 0.0 if isinstance(leaf, Picture) else _reach(leaf.style.stroke)
        self.plain_colour = None if isinstance(leaf, Picture) or not self.path else _plain_colour(leaf.style)
        """Its colour if it is one flat opaque area and nothing else."""
        self._curves: QPainterPath | None = None
        self._chords: tuple[int, QPainterPath] | None = None
        self._stroke: Path | None = None
        self._stroke_chords: tuple[int, QPainterPath] | None = None
        self._pieces: list[tuple[Path, Box, QPainterPath]] | None = None
        self._before: Drawing | None = None
        self._open_ends: Floats | None = None

    def after(self, before: Drawing) -> Drawing:
        """Take over what has been made for the same leaf before, if it has only been moved since; return this one."""
        self.exact_stroke = before.exact_stroke
        self._before = before._before or before
        return self

    @property
    def bounds(self) -> Box | None:
        """What it can paint on at most, in mm."""
        box, reach = self.leaf.bounds, self.reach_mm
        return box and (box[0] - reach, box[1] - reach, box[2] + reach, box[3] + reach)

    @property
    def is_filled(self) -> bool:
        """Whether it has an area that is painted."""
        return not isinstance(self.leaf, Picture) and self.leaf.style.fill is not None and bool(self.path)

    @property
    def rule(self) -> FillRule:
        """Which places of its path are inside."""
        return FillRule.NONZERO if isinstance(self.leaf, Picture) else self.leaf.style.fill_rule

    @property
    def curves(self) -> QPainterPath:
        """Its outline as curves, in mm."""
        self._inherit()
        if self._curves is None:
            self._curves = curves(self.path, self.rule)
        return self._curves

    @property
    def open_ends(self) -> Floats:
        """Both ends of each subpath that does not come back to its start, shape (n, 2), in mm."""
        if self._open_ends is None:
            path = self.path
            loose = ~path.closed
            first, last = path.points[path.starts[loose], 0], path.points[path.ends[loose] - 1, 3]
            apart = np.hypot(*(last - first).T) > CLOSED_MM  # nearer ends are closed for the knife
            self._open_ends = np.concatenate([first[apart], last[apart]])
        return self._open_ends

    @property
    def pieces(self) -> list[tuple[Path, Box, QPainterPath]]:
        """Its outline in pieces that are each painted in a fraction of a frame, with their extents in mm."""
        if self._pieces is None:
            found = []
            for piece in pieces(self.path, PIECE):
                box = piece.bounds()
                assert box is not None
                found.append((piece, box, curves(piece)))
            self._pieces = found
        return self._pieces

    def area(self, scale: float) -> QPainterPath:
        """Return its outline in mm as it is best filled at a scale in pixels a millimetre: as curves if it is small."""
        if self.is_small(scale):
            return self.curves
        self._inherit()
        if not _serves(self._chords, scale):
            prepare([self], scale, filled=True)
        assert self._chords is not None
        return self._chords[1]

    def is_small(self, scale: float) -> bool:
        """Whether it is so small on the screen that filling curves is as quick as making chords and filling those."""
        box = self.leaf.bounds
        return box is not None and max(box[2] - box[0], box[3] - box[1]) * scale < SMALL_PX

    def stroke_chords(self, scale: float) -> QPainterPath:
        """Return what its stroke covers as chords fine enough for a scale, in mm."""
        self._inherit()
        if not _serves(self._stroke_chords, scale):
            step = _step_of(scale)
            self._stroke_chords = step, chords_of([self.stroke_area], CHORD_PX / _scale_of(step), [FillRule.NONZERO])[0]
        assert self._stroke_chords is not None
        return self._stroke_chords[1]

    @property
    def stroke_area(self) -> Path:
        """What its stroke covers, to be filled nonzero; dashes too dense to be told apart cover all of it."""
        self._inherit()
        if self._stroke is None:
            assert not isinstance(self.leaf, Picture)
            assert self.leaf.style.stroke is not None
            geometry = stroke_geometry(self.leaf.style.stroke)
            try:
                self._stroke = stroke_outline(self.path, geometry)
            except CannotApply:
                self._stroke = stroke_outline(self.path, replace(geometry, dash=()))
        return self._stroke

    def _inherit(self) -> None:
        before, self._before = self._before, None
        if before is None or self._curves is not None or self._chords is not None:
            return
        old, new = before.path, self.path
        if not old or len(old) != len(new) or not np.array_equal(old.kinds, new.kinds):
            return
        dx, dy = (new.points[0, 0] - old.points[0, 0]).tolist()
        if np.abs(new.points - old.points - (dx, dy)).max() > SAME_MM or not np.array_equal(old.starts, new.starts):
            return
        if before.rule is self.rule:
            self._curves = before._curves and before._curves.translated(dx, dy)  # noqa: SLF001 - our own
            self._chords = _moved(before._chords, dx, dy)  # noqa: SLF001
        if before._stroke is not None and _stroke_of(before.leaf) == _stroke_of(self.leaf):  # noqa: SLF001
            self._stroke = before._stroke.transformed(Affine.moved(dx, dy))  # noqa: SLF001
            self._stroke_chords = _moved(before._stroke_chords, dx, dy)  # noqa: SLF001


def prepare(drawings: Sequence[Drawing], scale: float, *, filled: bool) -> None:
    """Make the paths that leaves lack to be filled at a scale, or else to be drawn as hairlines, all in one go."""
    for drawing in drawings:
        drawing._inherit()  # noqa: SLF001 - our own
    chorded = [each for each in drawings if filled and not each.is_small(scale) and not _serves(each._chords, scale)]  # noqa: SLF001 - our own
    curved = [each for each in drawings if each._curves is None and (not filled or each.is_small(scale))]  # noqa: SLF001
    if chorded:
        step = _step_of(scale)
        made = chords_of([each.path for each in chorded], CHORD_PX / _scale_of(step), [each.rule for each in chorded])
        for drawing, shape in zip(chorded, made, strict=True):
            drawing._chords = step, shape  # noqa: SLF001 - our own
    if curved:
        for drawing, shape in zip(
            curved, curves_of([each.path for each in curved], [each.rule for each in curved]), strict=True
        ):
            drawing._curves = shape  # noqa: SLF001 - our own


def _moved(made: tuple[int, QPainterPath] | None, dx: float, dy: float) -> tuple[int, QPainterPath] | None:
    return made and (made[0], made[1].translated(dx, dy))


def _stroke_of(leaf: Leaf) -> Stroke | None:
    return None if isinstance(leaf, Picture) else leaf.style.stroke


def _step_of(scale: float) -> int:
    """Return the half octave whose chords are fine enough for a scale."""
    return math.ceil(2.0 * math.log2(scale))


def _scale_of(step: int) -> float:
    return 2.0 ** (step / 2.0)


def _serves(made: tuple[int, QPainterPath] | None, scale: float) -> bool:
    """Whether chords are fine enough for a scale, and not so fine that they waste time: an octave finer will do."""
    return made is not None and 0 <= made[0] - _step_of(scale) <= 2


def _plain_colour(style: Style) -> Colour | None:
    flat = isinstance(style.fill, Colour) and style.stroke is None and style.opacity >= 1.0 <= style.fill_opacity
    return style.fill if flat and isinstance(style.fill, Colour) else None


def _reach(stroke: Stroke | None) -> float:
    """Return how far a stroke can reach beyond its path, in mm."""
    if stroke is None:
        return 0.0
    half = 0.5 * stroke.width_mm
    factor = max(math.sqrt(2.0), stroke.miter_limit if stroke.join is LineJoin.MITER else 1.0)
    pen = stroke.pen
    stretch = 1.0 if pen is None else max(math.hypot(pen.a, pen.b), math.hypot(pen.c, pen.d)) * math.sqrt(2.0)
    return half * factor * stretch
