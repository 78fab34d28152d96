"""A face made ready: HarfBuzz's font at its place on the axes, its measures, and its glyphs' outlines."""

from __future__ import annotations

import io
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import uharfbuzz

from bladewise.geometry.path import EMPTY, Path, PathBuilder

if TYPE_CHECKING:
    from bladewise.lettering.fonts import Face

Axes = tuple[tuple[str, float], ...]


class Measures(NamedTuple):
    """Heights of a face as shares of its em."""

    caps: float
    x: float
    ascent: float
    descent: float


class Loaded:
    """A face at one place on its axes."""

    def __init__(self, face: Face, axes: Axes) -> None:
        """Load it; places outside an axis are moved to its end."""
        self.face = face
        data = _face(face)
        self.font = uharfbuzz.Font(data)
        self.upem = int(data.upem)
        if axes:
            self.font.set_variations(dict(axes))
        self._paths: dict[int, Path] = {}
        self.measures = self._measured()

    def outline(self, glyph: int) -> Path:
        """Return a glyph's outline in ems, y downward."""
        if glyph not in self._paths:
            pen = _Pen()
            self.font.draw_glyph(glyph, _draw_functions(), pen)
            path = pen.builder.path()
            scale = 1.0 / self.upem
            points = path.points * np.array([scale, -scale]) + 0.0
            sound = bool(path) and bool(np.isfinite(points).all())
            self._paths[glyph] = Path(points, path.kinds, path.weights, path.starts, path.closed) if sound else EMPTY
        return self._paths[glyph]

    def has(self, letter: str) -> bool:
        """Whether the face has a glyph with an outline for a character."""
        glyph = self.font.get_nominal_glyph(ord(letter))
        return bool(glyph) and bool(self.outline(glyph))

    def _measured(self) -> Measures:
        """Return the heights the face states, or else those of its H, x, and its line."""
        line = self.font.get_font_extents("ltr")
        stated = []
        wanted = ((uharfbuzz.OTMetricsTag.CAP_HEIGHT, "H", 0.7), (uharfbuzz.OTMetricsTag.X_HEIGHT, "x", 0.5))
        for tag, letter, share in wanted:
            value = self.font.get_metric_position(tag) or 0
            if value <= 0 and (glyph := self.font.get_nominal_glyph(ord(letter))):
                extents = self.font.get_glyph_extents(glyph)
                value = extents.y_bearing if extents is not None else 0
            stated.append(value / self.upem if value > 0 else share)
        return Measures(stated[0], stated[1], line.ascender / self.upem, -line.descender / self.upem)


def loaded(face: Face, weight: int, axes: Axes = ()) -> Loaded:
    """Return a face ready to set; one with a weight axis takes the weight asked for unless `axes` says another."""
    own = {info.tag for info in _face(face).axis_infos}
    places = {"wght": float(weight), **dict(axes)}
    return _loaded(face, tuple(sorted((tag, place) for tag, place in places.items() if tag in own)))


@lru_cache(maxsize=64)
def _loaded(face: Face, axes: Axes) -> Loaded:
    return Loaded(face, axes)


@lru_cache(maxsize=64)
def _face(face: Face) -> uharfbuzz.Face:
    data = face.file.read_bytes()
    if face.file.suffix.lower() in (".woff", ".woff2"):
        data = _unpacked(data)
    return uharfbuzz.Face(data, face.index)


def _unpacked(data: bytes) -> bytes:
    from fontTools.ttLib import TTFont

    out = io.BytesIO()
    with TTFont(io.BytesIO(data)) as font:
        font.flavor = None
        font.save(out)
    return out.getvalue()


class _Pen:
    """Collects what HarfBuzz draws."""

    def __init__(self) -> None:
        self.builder = PathBuilder()


@lru_cache(maxsize=1)
def _draw_functions() -> uharfbuzz.DrawFuncs:
    functions = uharfbuzz.DrawFuncs()
    functions.set_move_to_func(lambda x, y, pen: pen.builder.move_to((x, y)))
    functions.set_line_to_func(lambda x, y, pen: pen.builder.line_to((x, y)))
    functions.set_quadratic_to_func(lambda cx, cy, x, y, pen: pen.builder.quadratic_to((cx, cy), (x, y)))
    functions.set_cubic_to_func(lambda ax, ay, bx, by, x, y, pen: pen.builder.cubic_to((ax, ay), (bx, by), (x, y)))
    functions.set_close_path_func(lambda pen: pen.builder.close())
    return functions
