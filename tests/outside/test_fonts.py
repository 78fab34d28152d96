"""Fonts of several makers: outlines against FreeType's, joined scripts told from others.

FreeType (freetype-py) reads the same files by code of its own. Connected scripts: Pacifico, Dancing Script and
Leckerli One are, Kaushan Script is not (their makers' descriptions; Kaushan as the control).
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import freetype
import numpy as np
import pytest
from fontTools.ttLib import TTFont

from bladewise.geometry.measures import area
from bladewise.lettering.catalogue import joins
from bladewise.lettering.fonts import Face
from bladewise.lettering.loaded import loaded

if TYPE_CHECKING:
    from pathlib import Path

FONTS = ["pacifico", "dancing-script", "lobster", "great-vibes", "leckerli-one", "kaushan-script"]
MOST = 60


def face_in(folder: Path) -> Face:
    """Return the plain latin face of a font set."""
    files = [each for each in sorted(folder.rglob("*")) if each.suffix in (".ttf", ".woff2")]
    file = next(each for each in files if each.name.endswith(("latin-400-normal.woff2", "400Regular.ttf")))
    return Face(file, 0, file.stem, 400, italic=False)


def plain(face: Face) -> io.BytesIO:
    """Return a font as FreeType reads it without help."""
    out = io.BytesIO()
    with face.file.open("rb") as stream, TTFont(stream) as font:
        font.flavor = None
        font.save(out)
    out.seek(0)
    return out


def freetype_area(outline: freetype.Outline) -> float:
    """Return the signed area of a FreeType outline in font units, by Green's theorem on its own decomposition."""
    total = 0.0
    here = first = np.zeros(2)

    def segment(points: list[np.ndarray]) -> None:
        nonlocal total
        for t, weight in zip(*np.polynomial.legendre.leggauss(4), strict=True):
            u = 0.5 * (t + 1.0)
            power = len(points) - 1
            binomial = [1, power, 1] if power == 2 else [1, 3, 3, 1] if power == 3 else [1, 1]
            place = sum(
                c * (1 - u) ** (power - k) * u**k * p for k, (c, p) in enumerate(zip(binomial, points, strict=True))
            )
            inner = [1] if power == 1 else [1, 1] if power == 2 else [1, 2, 1]
            slope = power * sum(
                c * (1 - u) ** (power - 1 - k) * u**k * (points[k + 1] - points[k]) for k, c in enumerate(inner)
            )
            total += 0.25 * weight * (place[0] * slope[1] - place[1] * slope[0])

    def move(to, _context) -> None:
        nonlocal here, first
        close()
        here = first = np.array([to.x, to.y], float)

    def close() -> None:
        nonlocal here
        if (here != first).any():
            segment([here, first])
            here = first

    def line(to, _context) -> None:
        nonlocal here
        end = np.array([to.x, to.y], float)
        segment([here, end])
        here = end

    def conic(control, to, _context) -> None:
        nonlocal here
        end = np.array([to.x, to.y], float)
        segment([here, np.array([control.x, control.y], float), end])
        here = end

    def cubic(one, two, to, _context) -> None:
        nonlocal here
        end = np.array([to.x, to.y], float)
        segment([here, np.array([one.x, one.y], float), np.array([two.x, two.y], float), end])
        here = end

    outline.decompose(None, move_to=move, line_to=line, conic_to=conic, cubic_to=cubic)
    close()
    return total


@pytest.mark.parametrize("name", FONTS)
def test_outlines_are_those_freetype_reads(outside_data, name: str) -> None:
    face = face_in(outside_data(name))
    ready, other = loaded(face, 400), freetype.Face(plain(face))
    other.set_pixel_sizes(0, ready.upem)  # 64 parts a unit: FreeType rounds implied points to whole parts
    count = min(other.num_glyphs, MOST)
    for glyph in range(count):
        other.load_glyph(glyph, freetype.FT_LOAD_NO_HINTING | freetype.FT_LOAD_NO_BITMAP)
        outline = ready.outline(glyph)
        box = other.glyph.outline.get_bbox() if other.glyph.outline.n_points else None
        if not outline:
            assert box is None or box.xMax == box.xMin or box.yMax == box.yMin
            continue
        low, high = np.array(outline.bounds()).reshape(2, 2) * ready.upem
        assert (low[0], -high[1], high[0], -low[1]) == pytest.approx(
            [side / 64.0 for side in (box.xMin, box.yMin, box.xMax, box.yMax)], abs=0.05
        )
        expected = freetype_area(other.glyph.outline) / 64.0**2
        assert area(outline) * ready.upem**2 == pytest.approx(-expected, rel=2e-5, abs=5.0)


@pytest.mark.parametrize(
    ("name", "joined"),
    [("pacifico", True), ("dancing-script", True), ("leckerli-one", True), ("kaushan-script", False)],
)
def test_a_script_that_joins_is_told_from_one_that_does_not(outside_data, name: str, joined: bool) -> None:
    assert joins(face_in(outside_data(name))) is joined
