"""Setting a line: HarfBuzz places the glyphs, their outlines become one path on the sheet."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import uharfbuzz

from bladewise.document import Align, Lettering
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import EMPTY, Path, PathBuilder, joined
from bladewise.lettering.fonts import Face, find_face

_LINE_SPACING = 1.2
"""From baseline to baseline, in ems, where the text has several lines (CSS 2.2, "normal" line height: 1.0 to 1.2)."""


@dataclass(frozen=True, slots=True)
class _Glyph:
    """A placed glyph: its outline in lettering space (mm, y down) and the character it begins at."""

    path: Path
    cluster: int


def set_outline(lettering: Lettering) -> Lettering:
    """Return the lettering with its outlines set anew on the sheet; with none where no font is to be had."""
    lines = _lines(lettering)
    path = joined(glyph.path for line in lines for glyph in line)
    return replace(lettering, outline=path.transformed(lettering.transform) if path else EMPTY)


def word_outlines(lettering: Lettering, *, per: str) -> list[tuple[str, Path]]:
    """Return the lettering's outlines on the sheet with their names, one a letter, word or line.

    Where no font is to be had, or a substitute would make other outlines than those shown, the
    outlines saved with the lettering come back as one.
    """
    face = find_face(lettering.family, lettering.weight, italic=lettering.italic)
    if face is None or (face.substitute and lettering.outline):
        return [(lettering.name or lettering.text, lettering.outline)] if lettering.outline else []
    result: list[tuple[str, Path]] = []
    for text, line in zip(lettering.text.split("\n"), _lines(lettering), strict=True):
        cuts = _cuts(text, per)
        for (start, end), name in cuts:
            path = joined(glyph.path for glyph in line if start <= glyph.cluster < end)
            if path:
                result.append((name, path.transformed(lettering.transform)))
    return result


def _cuts(text: str, per: str) -> list[tuple[tuple[int, int], str]]:
    if per == "letter":
        return [((index, index + 1), letter) for index, letter in enumerate(text) if not letter.isspace()]
    if per == "line":
        return [((0, len(text) + 1), text)] if text.strip() else []
    cuts = []
    start: int | None = None
    for index, letter in enumerate(f"{text} "):
        if letter.isspace():
            if start is not None:
                cuts.append(((start, index), text[start:index]))
            start = None
        elif start is None:
            start = index
    return cuts


def _lines(lettering: Lettering) -> list[list[_Glyph]]:
    texts = lettering.text.split("\n")
    face = find_face(lettering.family, lettering.weight, italic=lettering.italic)
    if face is None:
        return [[] for _ in texts]
    return [
        _shaped(face, text, lettering, index * _LINE_SPACING * lettering.size_mm) for index, text in enumerate(texts)
    ]


def _shaped(face: Face, text: str, lettering: Lettering, down_mm: float) -> list[_Glyph]:
    font, units_per_em = _font(face)
    buffer = uharfbuzz.Buffer()
    buffer.add_codepoints([ord(letter) for letter in text])
    buffer.guess_segment_properties()
    uharfbuzz.shape(font, buffer)
    scale = lettering.size_mm / units_per_em
    infos, positions = buffer.glyph_infos or [], buffer.glyph_positions or []
    placed = []
    x = 0.0
    for info, position in zip(infos, positions, strict=True):
        place = Affine(scale, 0.0, 0.0, -scale, x + position.x_offset * scale, down_mm - position.y_offset * scale)
        placed.append(_Glyph(_outline(face, info.codepoint).transformed(place), info.cluster))
        x += position.x_advance * scale + lettering.letter_spacing_mm
    width = x - (lettering.letter_spacing_mm if placed else 0.0)
    shift = {Align.START: 0.0, Align.MIDDLE: -width / 2.0, Align.END: -width}[lettering.align]
    return [_Glyph(glyph.path.transformed(Affine.moved(shift, 0.0)), glyph.cluster) for glyph in placed if glyph.path]


@lru_cache(maxsize=32)
def _font(face: Face) -> tuple[uharfbuzz.Font, int]:
    data = face.file.read_bytes()
    if face.file.suffix.lower() in (".woff", ".woff2"):
        data = _unpacked(data)
    loaded = uharfbuzz.Face(data, face.index)
    return uharfbuzz.Font(loaded), int(loaded.upem)


def _unpacked(data: bytes) -> bytes:
    import io

    from fontTools.ttLib import TTFont

    out = io.BytesIO()
    with TTFont(io.BytesIO(data)) as font:
        font.flavor = None
        font.save(out)
    return out.getvalue()


@lru_cache(maxsize=4096)
def _outline(face: Face, glyph: int) -> Path:
    """Return a glyph's outline in font units, y upward."""
    font, _ = _font(face)
    pen = _Pen()
    functions = _draw_functions()
    font.draw_glyph(glyph, functions, pen)
    path = pen.builder.path()
    return path if not path or np.isfinite(path.points).all() else EMPTY


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
