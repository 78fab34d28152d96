"""Shaping: which glyphs stand for a line of text, and where, as HarfBuzz says."""

from __future__ import annotations

import itertools
import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import uharfbuzz
from numpy.typing import NDArray

from bladewise.geometry.path import Floats
from bladewise.lettering.directions import stretches

if TYPE_CHECKING:
    from bladewise.lettering.loaded import Loaded


_FEATURE = re.compile(r"([+-]?)([A-Za-z0-9]{4})(?:\[(\d*)(:?)(\d*)\])?(?:=(\d+))?")
"""As `hb_feature_from_string` reads them: tag, range of letters, value."""


@dataclass(frozen=True)
class Line:
    """A shaped line; glyphs in the order in which they stand, lengths in ems, y downward.

    Parameters
    ----------
    glyphs
        Glyph numbers, shape (n,); 0 where the font lacks the character.
    clusters
        The first character of the line that each glyph stands for, shape (n,).
    places
        Where each glyph's origin stands, shape (n, 2).
    starts, advances
        Where each glyph's room begins, and how wide it is, shape (n,).
    """

    glyphs: NDArray[np.int64]
    clusters: NDArray[np.int64]
    places: Floats
    starts: Floats
    advances: Floats

    @property
    def width(self) -> float:
        """The sum of all advances."""
        return float(self.advances.sum())

    def spaced(self, text: str, letters: float, words: float) -> Line:
        """Return the line with extra space behind each letter but the last, and at each blank."""
        if not len(self.glyphs) or (letters == 0.0 and words == 0.0):
            return self
        last = np.append(self.clusters[1:] != self.clusters[:-1], True)
        more = np.where(last, letters, 0.0)
        blank = np.array([text[cluster].isspace() for cluster in self.clusters.tolist()])
        more += np.where(last & blank, words, 0.0)
        more[-1] -= letters
        shift = np.cumsum(more) - more
        return Line(
            self.glyphs,
            self.clusters,
            self.places + np.stack([shift, np.zeros(len(shift))], axis=1),
            self.starts + shift,
            self.advances + more,
        )


def shape_line(
    font: Loaded, text: str, features: tuple[str, ...] = (), offset: int = 0, *, joined: bool = True
) -> Line:
    """Return a line of text as glyphs.

    Parameters
    ----------
    font
        The face.
    text
        One line.
    features
        OpenType features as HarfBuzz writes them; ranges count the letters of the whole text.
    offset
        How many letters of the whole text come before this line.
    joined
        Whether letters may become ligatures; not where space is put between them (CSS Text 3, section 8.2).
    """
    wanted = _features(features)
    parts = []
    x = 0.0
    for stretch in stretches(text):
        buffer = uharfbuzz.Buffer()
        buffer.add_codepoints([_shown(letter) for letter in text[stretch.start : stretch.end]])
        buffer.direction = "rtl" if stretch.leftward else "ltr"
        buffer.script = stretch.script
        buffer.guess_segment_properties()
        begin = offset + stretch.start
        own: dict[str, list[tuple[int, int, int]]] = {}
        if not joined:
            own = {"liga": [(0, len(text), 0)], "clig": [(0, len(text), 0)]}
        for tag, value, start, end in wanted:
            if end > begin and start < begin + stretch.end - stretch.start:
                own.setdefault(tag, []).append((max(start - begin, 0), min(end - begin, len(text)), value))
        uharfbuzz.shape(font.font, buffer, own)
        infos, positions = buffer.glyph_infos or [], buffer.glyph_positions or []
        if not infos:
            continue
        scale = 1.0 / font.upem
        placed = np.array([[at.x_advance, at.x_offset, -at.y_offset] for at in positions], dtype=np.float64) * scale
        start_x = x + np.cumsum(placed[:, 0]) - placed[:, 0]
        parts.append(
            Line(
                np.array([info.codepoint for info in infos], dtype=np.int64),
                np.array([info.cluster + stretch.start for info in infos], dtype=np.int64),
                np.stack([start_x + placed[:, 1], placed[:, 2]], axis=1),
                start_x,
                placed[:, 0],
            )
        )
        x += float(placed[:, 0].sum())
    if not parts:
        none = np.zeros(0, np.int64)
        return Line(none, none, np.zeros((0, 2)), np.zeros(0), np.zeros(0))
    columns = ("glyphs", "clusters", "places", "starts", "advances")
    return Line(*(np.concatenate([getattr(part, column) for part in parts]) for column in columns))


def without_glyph(font: Loaded, text: str) -> str:
    """Return the characters of a text that the face has no outlines for, each once, in their order.

    They come out as the box for a missing glyph, or, in a face of coloured pictures, as nothing. What shaping
    shows otherwise is not missing: an accent that becomes one glyph with its letter, a letter taken apart into
    two, a joiner or a mark of direction that is not seen at all.
    """
    found: dict[str, None] = {}
    for line in text.split("\n"):
        shaped = shape_line(font, line)
        begins = np.unique(shaped.clusters).tolist()
        inked = np.array([bool(font.outline(glyph)) for glyph in shaped.glyphs.tolist()], dtype=np.bool_)
        boxed = set(shaped.clusters[shaped.glyphs == 0].tolist())
        blank = set(begins) - set(shaped.clusters[inked].tolist())
        for start, end in itertools.pairwise([*begins, len(line)]):
            if start in boxed or start in blank:
                found.update(dict.fromkeys(each for each in line[start:end] if _is_seen(each) and not font.has(each)))
    return "".join(found)


def _is_seen(letter: str) -> bool:
    """Whether a character has ink: blanks, joiners, marks of direction and variation selectors have none."""
    is_selector = "\ufe00" <= letter <= "\ufe0f" or "\U000e0100" <= letter <= "\U000e01ef"
    return not (letter.isspace() or unicodedata.category(letter) == "Cf" or is_selector)


def _shown(letter: str) -> int:
    """Return the code point that is set for a character: tabs and other blanks that fonts have no glyph for are spaces.

    The first half of a line end from elsewhere (CR LF) takes no room at all.
    """
    if letter == "\r":
        return 0x200B  # ZERO WIDTH SPACE
    if letter.isspace() and unicodedata.category(letter) in ("Cc", "Zl", "Zp"):
        return 0x20
    return ord(letter)


@lru_cache(maxsize=256)
def _features(texts: tuple[str, ...]) -> tuple[tuple[str, int, int, int], ...]:
    """Return tag, value, first letter and the one past the last of each feature; those that make no sense left out."""
    return tuple(read for text in texts if (read := _read(text)) is not None)


def _read(text: str) -> tuple[str, int, int, int] | None:
    """Return a feature written as "smcp", "-liga", "salt=2", "ss01[3]" or "salt[2:5]=3"; None for anything else."""
    match = _FEATURE.fullmatch(text.strip())
    if match is None:
        return None
    sign, tag, start, colon, end, value = match.groups()
    first = int(start) if start else 0
    if start and not colon:
        end = str(first + 1)
    last = int(end) if end else 2**31 - 1
    return tag, int(value) if value else (0 if sign == "-" else 1), first, last
