"""What people type is set without loss: ligatures, accents, tabs, line ends from elsewhere, joiners nobody sees."""

from __future__ import annotations

from pathlib import Path as FilePath

import pytest
from fontTools.ttLib import TTFont
from fontTools.ttLib.tables._g_l_y_f import Glyph

from bladewise.document import BLACK, Lettering, Style
from bladewise.geometry.measures import area
from bladewise.lettering import find_face, search_also, set_outline, word_outlines
from bladewise.lettering.catalogue import lacking
from bladewise.lettering.setting import missing_letters, word_letters

search_also(FilePath(__file__).parents[2] / "demo_art" / "fonts")
ACUTE = "\N{COMBINING ACUTE ACCENT}"
JOINER = "\N{ZERO WIDTH JOINER}"


def lettering(text: str, family: str = "Josefin Sans") -> Lettering:
    """Return lettering 100 mm in size."""
    return set_outline(Lettering("t", text, family, 100.0, Style(fill=BLACK)))


@pytest.mark.parametrize("per", ["letter", "word", "line"])
@pytest.mark.parametrize("family", ["Josefin Sans", "Pacifico"])
@pytest.mark.parametrize(
    "text", ["office fjord fl", f"e{ACUTE}te{ACUTE}", "a\tb", "A\r\nB", "\n\nA\n", f"a {ACUTE}b", "x🦉y"]
)
def test_no_letter_is_lost_whatever_becomes_a_shape(text: str, family: str, per: str) -> None:
    whole = lettering(text, family)
    parts = word_outlines(whole, per=per)
    assert sum(len(path) for _, path in parts) == len(whole.outline)
    assert sum(area(path) for _, path in parts) == pytest.approx(area(whole.outline))


def test_a_ligature_and_a_letter_with_its_accent_are_one_and_named_whole() -> None:
    names = [name for name, _ in word_outlines(lettering(f"fle{ACUTE}t"), per="letter")]
    assert names == ["fl", f"e{ACUTE}", "t"]
    assert [name for name, _ in word_letters(lettering(f"fle{ACUTE}t"))[0][1]] == names


@pytest.mark.parametrize("text", ["A\tB", "A\vB", "A\N{LINE SEPARATOR}B"])
def test_a_tab_is_a_blank_and_no_box_to_be_cut(text: str) -> None:
    assert lettering(text).bounds == pytest.approx(lettering("A B").bounds)


def test_line_ends_from_elsewhere_leave_nothing_behind() -> None:
    assert lettering("A\r\nB").bounds == pytest.approx(lettering("A\nB").bounds)
    assert len(lettering("A\r\nB").outline) == len(lettering("A\nB").outline)


def test_what_nobody_sees_is_not_missing() -> None:
    for text in (f"a{JOINER}b", f"e{ACUTE}", "A\tB\r\n", "\N{LEFT-TO-RIGHT MARK}a", "a\N{SOFT HYPHEN}b"):
        assert missing_letters(lettering(text)) == ""
        assert lacking(find_face("Josefin Sans"), text) == ""
    assert missing_letters(lettering(f"🦉{JOINER}a🦉\ufe0f")) == "🦉"


def test_a_letter_that_is_a_coloured_picture_only_is_missing(tmp_path: FilePath) -> None:
    # such a face has glyphs without outlines: here its Q is emptied
    with TTFont(find_face("Josefin Sans").file) as font:
        for record in font["name"].names:
            if record.nameID in (1, 16):
                record.string = "Hollow Josefin"
        font["glyf"][font.getBestCmap()[ord("Q")]] = Glyph()
        font.save(tmp_path / "hollow.ttf")
    search_also(tmp_path)
    assert missing_letters(lettering("A Quiet Q", "Hollow Josefin")) == "Q"
    assert missing_letters(lettering("A quiet q", "Hollow Josefin")) == ""
