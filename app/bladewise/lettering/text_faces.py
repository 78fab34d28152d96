"""The faces that papers of our own are set in (job ticket, customer proof), and the part of them a file carries.

Noto Sans, regular and bold, with the letters of the Latin, Greek and Cyrillic alphabets (SIL Open Font Licence
1.1, beside the files in `printed/`). They are no lettering of a job's: they stand in no list of fonts, and no
job is set in them. A letter they lack is shown as a box, which is what they have for it.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, NamedTuple

from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

from bladewise.geometry.affine import Affine
from bladewise.geometry.path import Path, joined
from bladewise.lettering.fonts import Face
from bladewise.lettering.loaded import Loaded, loaded
from bladewise.lettering.shaping import shape_line

if TYPE_CHECKING:
    from collections.abc import Collection

_FOLDER = FilePath(__file__).parent / "printed"
_FAMILY = "Noto Sans"


class Glyph(NamedTuple):
    """One glyph of a line: its number, how far the next one stands from it in ems, and the text it stands for."""

    number: int
    advance: float
    text: str


@dataclass(frozen=True, slots=True)
class Measures:
    """What a file must know of a face besides its glyphs, in thousandths of the em as PDF counts."""

    name: str
    ascent: float
    descent: float
    caps: float
    box: tuple[float, float, float, float]
    stem: float


class TextFace:
    """One of the two faces."""

    def __init__(self, file: FilePath, weight: int) -> None:
        """Load it."""
        self.file = file
        self._face = Face(file, 0, _FAMILY, weight, italic=False)
        self.weight = weight

    @property
    def _font(self) -> Loaded:
        return loaded(self._face, self.weight)

    def glyphs(self, text: str) -> list[Glyph]:
        """Return a line's glyphs, kerned, in the order in which they stand; no ligatures."""
        line = shape_line(self._font, text, joined=False)
        clusters = line.clusters.tolist()
        begins = sorted(set(clusters))
        later = dict(zip(begins, [*begins[1:], len(text)], strict=True))
        seen: set[int] = set()
        found = []
        for number, cluster, advance in zip(line.glyphs.tolist(), clusters, line.advances.tolist(), strict=True):
            own = "" if cluster in seen else text[cluster : later[cluster]]
            seen.add(cluster)
            found.append(Glyph(number, advance, own))
        return found

    def width(self, text: str, size_mm: float) -> float:
        """Return how wide a line is at a size of the em, in mm."""
        return shape_line(self._font, text, joined=False).width * size_mm

    def outline(self, text: str, size_mm: float, x_mm: float, y_mm: float) -> Path:
        """Return a line's outlines, beginning at a place on its baseline; mm, y down."""
        line = shape_line(self._font, text, joined=False)
        return joined(
            self._font.outline(glyph).transformed(
                Affine(size_mm, 0.0, 0.0, size_mm, x_mm + x * size_mm, y_mm + y * size_mm)
            )
            for glyph, (x, y) in zip(line.glyphs.tolist(), line.places.tolist(), strict=True)
        )

    def subset(self, numbers: Collection[int]) -> bytes:
        """Return a TrueType file with some glyphs alone, under the numbers they had."""
        options = Options()
        options.retain_gids = True
        options.notdef_outline = True
        options.layout_features = []
        options.name_IDs = [0, 1, 2, 6, 13, 14]
        options.drop_tables += ["GDEF", "GPOS", "GSUB"]
        out = io.BytesIO()
        with TTFont(self.file, recalcTimestamp=False) as font:
            subsetter = Subsetter(options)
            subsetter.populate(gids=[0, *numbers])
            subsetter.subset(font)
            font.save(out)
        return out.getvalue()

    @property
    def measures(self) -> Measures:
        """What a file must know of the face besides its glyphs."""
        return _measures(self.file, self.weight)

    def natural(self, number: int) -> float:
        """Return how wide a glyph is by itself, in ems."""
        return float(self._font.font.get_glyph_h_advance(number)) / self._font.upem


@lru_cache(maxsize=2)
def text_face(*, bold: bool = False) -> TextFace:
    """Return the regular or the bold face."""
    return TextFace(_FOLDER / "NotoSans-Bold.ttf", 700) if bold else TextFace(_FOLDER / "NotoSans-Regular.ttf", 400)


@lru_cache(maxsize=2)
def _measures(file: FilePath, weight: int) -> Measures:
    with TTFont(file, lazy=True) as font:
        scale = 1000.0 / font["head"].unitsPerEm
        head, os2 = font["head"], font["OS/2"]
        return Measures(
            str(font["name"].getDebugName(6)),
            font["hhea"].ascent * scale,
            font["hhea"].descent * scale,
            os2.sCapHeight * scale,
            (head.xMin * scale, head.yMin * scale, head.xMax * scale, head.yMax * scale),
            10.0 + 220.0 * (weight - 50.0) ** 2 / 900.0**2,  # a guess that readers only use where the font is lacking
        )
