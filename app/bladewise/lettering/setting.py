"""Setting lettering: lines are shaped, sized, fitted to a width, aligned, bent; their outlines lie on the sheet.

Everything is worked out in lettering space (anchor at the origin, baseline along x, y downward, mm) and
put on the sheet at the end.
"""

from __future__ import annotations

import itertools
import math
import unicodedata
from bisect import bisect_left
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from bladewise.document import Align, BendKind, Fit, Height, Lettering, Letters
from bladewise.geometry.bending import Bend, bent
from bladewise.geometry.path import EMPTY, Floats, Path
from bladewise.lettering.bends import Room, bend_for
from bladewise.lettering.fonts import Face, find_face
from bladewise.lettering.loaded import Loaded, loaded
from bladewise.lettering.shaping import Line, shape_line, without_glyph

if TYPE_CHECKING:
    from collections.abc import Sequence

_LINE_KINDS = (BendKind.ARC, BendKind.PATH)


def set_outline(lettering: Lettering) -> Lettering:
    """Return the lettering with its outlines set anew on the sheet; with none where no font is to be had.

    Raises
    ------
    CannotApply
        If the letters do not fit the bend that is asked for.
    """
    block = set_block(lettering)
    if block is None:
        return replace(lettering, outline=EMPTY)
    path = block.path(np.ones(len(block.glyphs), np.bool_))
    return replace(lettering, outline=path.transformed(lettering.transform) if path else EMPTY)


def word_outlines(lettering: Lettering, *, per: str) -> list[tuple[str, Path]]:
    """Return the lettering's outlines on the sheet with their names, one a letter, word or line.

    Where no font is to be had, or a substitute would make other outlines than those shown, the
    outlines saved with the lettering come back as one.
    """
    face = find_face(lettering.family, lettering.weight, italic=lettering.italic)
    if face is None or (face.substitute and lettering.outline):
        return [(lettering.name or lettering.text, lettering.outline)] if lettering.outline else []
    block = _block(lettering, face)
    result: list[tuple[str, Path]] = []
    for number, text in enumerate(lettering.text.split("\n")):
        for (start, end), name in _cuts(text, per, block.clusters[block.lines == number]):
            here = (block.lines == number) & (block.clusters >= start) & (block.clusters < end)
            if path := block.path(here):
                result.append((name, path.transformed(lettering.transform)))
    return result


def word_letters(lettering: Lettering) -> list[tuple[str, list[tuple[str, Path]]]]:
    """Return each word with the outlines of its letters on the sheet, in the order of the text.

    Empty where no font is to be had, or only a substitute would be.
    """
    face = find_face(lettering.family, lettering.weight, italic=lettering.italic)
    if face is None or face.substitute:
        return []
    block = _block(lettering, face)
    words: list[tuple[str, list[tuple[str, Path]]]] = []
    for number, text in enumerate(lettering.text.split("\n")):
        mine = block.lines == number
        letters = _cuts(text, "letter", block.clusters[mine])
        begins = [first for (first, _), _ in letters]
        for (start, end), name in _cuts(text, "word"):
            shown = [
                (letter, path.transformed(lettering.transform))
                for (first, _), letter in letters[bisect_left(begins, start) : bisect_left(begins, end)]
                if (path := block.path(mine & (block.clusters == first)))
            ]
            if shown:
                words.append((name, shown))
    return words


def missing_letters(lettering: Lettering) -> str:
    """Return the characters that the lettering's font has no glyph for, each once, in the order they come."""
    face = find_face(lettering.family, lettering.weight, italic=lettering.italic)
    if face is None:
        return ""
    return without_glyph(loaded(face, lettering.weight, lettering.setting.axes), lettering.text)


@dataclass(frozen=True)
class Block:
    """Lettering as it is set: every glyph with its place, and the bend that all of it goes through.

    Parameters
    ----------
    font
        The face.
    glyphs, clusters, lines
        Glyph number, first letter of its line that it stands for, and that line, shape (n,).
    places
        Where its origin stands, in mm, shape (n, 2).
    starts, advances
        Where its room on the line begins and how wide it is, in mm, shape (n,).
    em_mm
        The size of the em across and down, and how far an em leans to the right.
    room
        How far all of it reaches when straight.
    bend, is_turned
        The bend, and whether letters are only turned by it.
    """

    font: Loaded
    glyphs: NDArray[np.int64]
    clusters: NDArray[np.int64]
    lines: NDArray[np.int64]
    places: Floats
    starts: Floats
    advances: Floats
    em_mm: tuple[float, float, float]
    room: Room
    bend: Bend | None = None
    is_turned: bool = False

    @property
    def wide(self) -> float:
        """The width of its widest line, in mm."""
        return max(np.bincount(self.lines, weights=self.advances).tolist(), default=0.0)

    def path(self, chosen: NDArray[np.bool_]) -> Path:
        """Return the outlines of some glyphs in lettering space, y downward, mm."""
        rows = np.flatnonzero(chosen)
        straight, glyph = self._straight(rows)
        if self.bend is None or not straight:
            return straight
        if not self.is_turned:
            return bent(straight, self.bend)
        return self._turned(straight, glyph)

    def _straight(self, rows: NDArray[np.int64]) -> tuple[Path, NDArray[np.int64]]:
        """Return the outlines as set straight, and the row of each segment's glyph."""
        outlines = [self.font.outline(glyph) for glyph in self.glyphs[rows].tolist()]
        sizes = np.array([len(path) for path in outlines], dtype=np.int64)
        if not sizes.sum():
            return EMPTY, np.zeros(0, np.int64)
        glyph = np.repeat(rows, sizes)
        points = np.concatenate([path.points for path in outlines])
        across, down, lean = self.em_mm
        x, y = points[..., 0] * across - points[..., 1] * lean, points[..., 1] * down
        points = np.stack([x, y], axis=-1) + self.places[glyph][:, None]
        first = np.cumsum(sizes) - sizes
        return (
            Path(
                points,
                np.concatenate([path.kinds for path in outlines]),
                np.concatenate([path.weights for path in outlines]),
                np.concatenate([path.starts + at for path, at in zip(outlines, first.tolist(), strict=True)]),
                np.concatenate([path.closed for path in outlines]),
            ),
            glyph,
        )

    def _turned(self, straight: Path, glyph: NDArray[np.int64]) -> Path:
        """Return letters each turned and moved to its place on the line; marks go with their letter."""
        assert self.bend is not None
        whole = self.lines * (int(self.clusters.max(initial=0)) + 1) + self.clusters
        _, letter = np.unique(whole, return_inverse=True)
        left = np.full(letter.max(initial=0) + 1, np.inf)
        right = np.full(len(left), -np.inf)
        np.minimum.at(left, letter, self.starts)
        np.maximum.at(right, letter, self.starts + self.advances)
        middles = np.stack([0.5 * (left + right), np.zeros(len(left))], axis=1)
        places = self.bend.places(middles)
        ahead = self.bend.derivatives(middles)[:, :, 0]
        ahead /= np.maximum(np.hypot(ahead[:, 0], ahead[:, 1]), 1e-300)[:, None]
        at = letter[glyph]
        away = straight.points - middles[at][:, None]
        cos, sin = ahead[at, 0][:, None], ahead[at, 1][:, None]
        x = away[..., 0] * cos - away[..., 1] * sin
        y = away[..., 0] * sin + away[..., 1] * cos
        points = np.stack([x, y], axis=-1) + places[at][:, None]
        return Path(points, straight.kinds, straight.weights, straight.starts, straight.closed)


def set_block(lettering: Lettering) -> Block | None:
    """Return the lettering as it is set; None where no font is to be had.

    Raises
    ------
    CannotApply
        If the letters do not fit the bend that is asked for.
    """
    face = find_face(lettering.family, lettering.weight, italic=lettering.italic)
    return None if face is None else _block(lettering, face)


class _Sizes(NamedTuple):
    """Across and down of the em in mm, and the lines as shaped with their spaces in ems."""

    across: float
    down: float
    lines: list[Line]


def _block(lettering: Lettering, face: Face) -> Block:
    font = loaded(face, lettering.weight, lettering.setting.axes)
    texts = lettering.text.split("\n")
    spaced = lettering.letter_spacing_mm != 0.0 or lettering.setting.fit is Fit.SPACE
    offsets = np.cumsum([0, *(len(text) + 1 for text in texts)]).tolist()
    shaped = [
        shape_line(font, text, lettering.setting.features, offset, joined=not spaced)
        for text, offset in zip(texts, offsets, strict=False)
    ]
    sizes = _sized(lettering, font, texts, shaped)
    across, down = sizes.across, sizes.down
    widths = [line.width * across for line in sizes.lines]
    shift = {Align.START: 0.0, Align.MIDDLE: -0.5, Align.END: -1.0}[lettering.align]
    count = [len(line.glyphs) for line in sizes.lines]
    number = np.repeat(np.arange(len(texts)), count)
    left = np.array([shift * width for width in widths])
    step = lettering.setting.line_spacing * down
    places = np.concatenate([line.places for line in sizes.lines]) * [across, down]
    places += np.stack([left[number], number * step], axis=1)
    starts = np.concatenate([line.starts for line in sizes.lines]) * across + left[number]
    advances = np.concatenate([line.advances for line in sizes.lines]) * across
    block = Block(
        font,
        np.concatenate([line.glyphs for line in sizes.lines]),
        np.concatenate([line.clusters for line in sizes.lines]),
        number,
        places,
        starts,
        advances,
        (across, down, down * math.tan(math.radians(lettering.setting.slant_deg))),
        Room(0.0, 0.0, 0.0, 0.0, 0.0),
    )
    bending = lettering.setting.bending
    if bending is None or not len(block.glyphs):
        return block
    box = block.path(np.ones(len(block.glyphs), np.bool_)).bounds() or (0.0, 0.0, 0.0, 0.0)
    room = Room(
        min(left.tolist()),
        max((left + widths).tolist()),
        min(box[1], 0.0),
        max(box[3], 0.0),
        0.5 * font.measures.x * down,
    )
    if bending.kind is BendKind.CORNERS:
        room = Room(box[0], box[2], box[1], box[3], room.half_height)
    turned = bending.letters is Letters.TURNED and bending.kind in _LINE_KINDS
    return replace(block, room=room, bend=bend_for(bending, room), is_turned=turned)


def _sized(lettering: Lettering, font: Loaded, texts: list[str], shaped: list[Line]) -> _Sizes:
    """Return the size of the em that the height and the width asked for come to, and the lines with their spaces."""
    em = lettering.size_mm / _height(lettering, font, shaped)
    letters, words = lettering.letter_spacing_mm, lettering.setting.word_spacing_mm

    def spread(size: float, more: list[float]) -> list[Line]:
        if size <= 0.0:  # a drawing may ask for letters of no size
            return shaped
        return [
            line.spaced(text, (letters + extra) / size, words / size)
            for line, text, extra in zip(shaped, texts, more, strict=True)
        ]

    none = [0.0] * len(texts)
    lines = spread(em, none)
    wanted = lettering.setting.width_mm
    wide = max((line.width for line in lines), default=0.0) * em
    if wanted is None or wide <= 0.0:
        return _Sizes(em, em, lines)
    if lettering.setting.fit is Fit.STRETCH:
        share = wanted / wide
        return _Sizes(em * share, em, lines)
    if lettering.setting.fit is Fit.SPACE:
        gaps = [len(set(line.clusters.tolist())) - 1 for line in lines]
        more = [(wanted - line.width * em) / gap if gap > 0 else 0.0 for line, gap in zip(lines, gaps, strict=True)]
        return _Sizes(em, em, spread(em, more))
    share = min(1.0, wanted / wide)  # spaces shrink with the letters
    return _Sizes(em * share, em * share, lines)


def _height(lettering: Lettering, font: Loaded, shaped: list[Line]) -> float:
    """Return how many ems high that is which the lettering's size is the height of."""
    match lettering.setting.height:
        case Height.CAPS:
            return font.measures.caps
        case Height.X:
            return font.measures.x
        case Height.TOTAL:
            tops, bottoms = [], []
            for number, line in enumerate(shaped):
                for glyph, (_, y) in zip(line.glyphs.tolist(), line.places.tolist(), strict=True):
                    box = font.outline(glyph).bounds()
                    if box is not None:
                        down = y + number * lettering.setting.line_spacing
                        tops.append(box[1] + down)
                        bottoms.append(box[3] + down)
            return max(bottoms) - min(tops) if tops and max(bottoms) > min(tops) else 1.0
        case _:
            return 1.0


def _cuts(text: str, per: str, clusters: Sequence[int] | NDArray[np.int64] = ()) -> list[tuple[tuple[int, int], str]]:
    """Return where each letter, word or line of a line begins and ends, and what it says.

    `clusters` are where its letters begin: a ligature, or a letter with its accents, is cut as one.
    """
    if per == "letter":
        begins = np.unique(np.asarray(clusters, dtype=np.int64)).tolist()
        return [((start, end), text[start:end].strip()) for start, end in itertools.pairwise([*begins, len(text)])]
    if per == "line":
        return [((0, len(text) + 1), text.strip())] if text.strip() else []
    cuts = []
    start: int | None = None
    for index, letter in enumerate(f"{text} "):
        if letter.isspace() and not unicodedata.combining(text[index + 1 : index + 2] or " "):
            if start is not None:
                cuts.append(((start, index), text[start:index]))
            start = None
        elif start is None:
            start = index
    return cuts
