"""A leaf with the Qt paths it is drawn by: made when first needed, kept as long as the leaf is the same value."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from bladewise.document import Box, Leaf, Picture, Stroke, outline_of
from bladewise.errors import CannotApply
from bladewise.geometry.regions import FillRule
from bladewise.geometry.strokes import LineJoin, stroke_outline
from bladewise.operations.painted import stroke_geometry
from bladewise.window.paths import chords, curves, pieces

if TYPE_CHECKING:
    from PySide6.QtGui import QPainterPath

    from bladewise.geometry.path import Path

CHORD_PX = 0.08
"""How far the chords of a filled area may be from its curves: under a twelfth of a pixel does not show."""

PIECE = 500
"""Longer outlines are painted in pieces of so many segments: a single call cannot be interrupted."""

LONGEST_EXACT = 2_000
"""A stroke along more segments is left to QPainter: finding its area takes a third of a millisecond a segment."""


class Drawing:
    """A leaf with the Qt paths it is drawn by, made when first needed and kept while the leaf lasts."""

    __slots__ = (
        "_chords",
        "_curves",
        "_pieces",
        "_stroke",
        "_stroke_chords",
        "exact_stroke",
        "leaf",
        "path",
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
        self.path = outline_of(leaf)
        self.reach_mm = 0.0 if isinstance(leaf, Picture) else _reach(leaf.style.stroke)
        self._curves: QPainterPath | None = None
        self._chords: tuple[int, QPainterPath] | None = None
        self._stroke: Path | None = None
        self._stroke_chords: tuple[int, QPainterPath] | None = None
        self._pieces: list[tuple[Path, Box, QPainterPath]] | None = None

    @property
    def bounds(self) -> Box | None:
        """What it can paint on at most, in mm."""
        box, reach = self.leaf.bounds, self.reach_mm
        return box and (box[0] - reach, box[1] - reach, box[2] + reach, box[3] + reach)

    @property
    def curves(self) -> QPainterPath:
        """Its outline as curves, in mm."""
        if self._curves is None:
            self._curves = curves(self.path)
        return self._curves

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

    def chords(self, scale: float) -> QPainterPath:
        """Return its outline as chords fine enough for a scale in pixels a millimetre, in mm."""
        octave = math.ceil(math.log2(scale))
        if self._chords is None or self._chords[0] != octave:
            rule = FillRule.NONZERO if isinstance(self.leaf, Picture) else self.leaf.style.fill_rule
            self._chords = octave, chords(self.path, CHORD_PX / 2.0**octave, rule)
        return self._chords[1]

    def stroke_chords(self, scale: float) -> QPainterPath:
        """Return what its stroke covers as chords fine enough for a scale, in mm."""
        octave = math.ceil(math.log2(scale))
        if self._stroke_chords is None or self._stroke_chords[0] != octave:
            self._stroke_chords = octave, chords(self.stroke_area, CHORD_PX / 2.0**octave)
        return self._stroke_chords[1]

    @property
    def stroke_area(self) -> Path:
        """What its stroke covers, to be filled nonzero; dashes too dense to be told apart cover all of it."""
        if self._stroke is None:
            assert not isinstance(self.leaf, Picture)
            assert self.leaf.style.stroke is not None
            geometry = stroke_geometry(self.leaf.style.stroke)
            try:
                self._stroke = stroke_outline(self.path, geometry)
            except CannotApply:
                self._stroke = stroke_outline(self.path, replace(geometry, dash=()))
        return self._stroke


def _reach(stroke: Stroke | None) -> float:
    """Return how far a stroke can reach beyond its path, in mm."""
    if stroke is None:
        return 0.0
    half = 0.5 * stroke.width_mm
    factor = max(math.sqrt(2.0), stroke.miter_limit if stroke.join is LineJoin.MITER else 1.0)
    pen = stroke.pen
    stretch = 1.0 if pen is None else max(math.hypot(pen.a, pen.b), math.hypot(pen.c, pen.d)) * math.sqrt(2.0)
    return half * factor * stretch
