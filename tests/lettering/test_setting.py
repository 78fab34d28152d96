"""Lettering: fonts found, glyphs placed, outlines on the sheet.

Widths: the advance widths in the font's own hmtx table, read by fontTools. The word "bakery" in Pacifico:
every pair of letters overlaps, six pieces merge to one (published in no book; counted on the OFL font).
"""

from dataclasses import replace
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from bladewise.document import BLACK, Align, Lettering, Style
from bladewise.geometry import booleans
from bladewise.geometry.affine import Affine
from bladewise.geometry.regions import Region
from bladewise.lettering import families, find_face, search_also, set_outline, word_outlines

FONTS = Path(__file__).parents[2] / "demo_art" / "fonts"
search_also(FONTS)


def lettering(text="Hamburg", family="Josefin Sans", **values):
    return set_outline(Lettering("t", text, family, 100.0, Style(fill=BLACK), **values))


def test_the_shipped_sans_and_a_jobs_own_fonts_are_found():
    assert {"Josefin Sans", "Pacifico"} <= set(families())
    assert find_face("pacifico").family == "Pacifico"
    assert not find_face("Pacifico").substitute
    assert find_face("Nowhere Sans, Pacifico, cursive").family == "Pacifico"


def test_a_family_that_is_not_to_be_had_is_stood_in_for_and_says_so():
    face = find_face("Nowhere Sans")
    assert face.substitute
    assert lettering(family="Nowhere Sans").outline


def test_one_letter_is_as_wide_as_the_font_says():
    with TTFont(FONTS / "JosefinSans-Bold.ttf") as font:
        glyph = font["glyf"][font.getBestCmap()[ord("H")]]
        scale = 100.0 / font["head"].unitsPerEm
        expected = (glyph.xMin * scale, -glyph.yMax * scale, glyph.xMax * scale, -glyph.yMin * scale)
    assert lettering("H").bounds == pytest.approx(expected, abs=1e-6)


def test_kerning_brings_letters_together():
    apart = lettering("A").bounds[2] + lettering("V").bounds[2]
    assert lettering("AV").bounds[2] < apart


@pytest.mark.parametrize(("align", "share"), [(Align.START, 0.0), (Align.MIDDLE, 0.5), (Align.END, 1.0)])
def test_lettering_stands_on_the_side_asked_for(align, share):
    start, aligned = lettering().bounds, lettering(align=align).bounds
    with TTFont(FONTS / "JosefinSans-Bold.ttf") as font:
        del font  # the advance is that of the shaped line, not of the ink: only the shift is checked
    assert aligned[2] - aligned[0] == pytest.approx(start[2] - start[0])
    assert (aligned[0] < start[0]) == (share > 0)


def test_letter_spacing_is_added_between_letters_only():
    assert lettering("HH", letter_spacing_mm=7.0).bounds[2] == pytest.approx(lettering("HH").bounds[2] + 7.0)


def test_lines_stand_below_each_other():
    one, two = lettering("H"), lettering("H\nH")
    assert two.bounds[3] - two.bounds[1] == pytest.approx(one.bounds[3] - one.bounds[1] + 120.0)


def test_outlines_lie_on_the_sheet_where_the_transform_puts_them():
    turned = lettering("H", transform=Affine.rotated(90.0).after(Affine.scaled(2.0)))
    flat = lettering("H").bounds
    assert turned.bounds == pytest.approx((-2 * flat[3], 2 * flat[0], -2 * flat[1], 2 * flat[2]))


def test_words_lines_and_letters_come_apart_by_name():
    text = lettering("to go\nnow")
    assert [name for name, _ in word_outlines(text, per="word")] == ["to", "go", "now"]
    assert [name for name, _ in word_outlines(text, per="line")] == ["to go", "now"]
    assert [name for name, _ in word_outlines(text, per="letter")] == list("togonow")
    assert sum(len(path) for _, path in word_outlines(text, per="letter")) == len(text.outline)


def test_a_missing_font_gives_the_outlines_as_saved():
    saved = lettering("Hi")
    lost = replace(saved, family="Nowhere Sans")
    assert word_outlines(lost, per="letter") == [("Hi", saved.outline)]


def test_script_letters_overlap_and_merge_to_one_piece():
    letters = word_outlines(lettering("bakery", family="Pacifico"), per="letter")
    merged = booleans.merge([Region(path) for _, path in letters])
    assert len(letters) == 6
    assert len(booleans.pieces(merged)) == 1
