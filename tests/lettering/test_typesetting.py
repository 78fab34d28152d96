"""Lettering set by its letters' height, to a width, with features, either way round, and bent while live."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path as FilePath

import numpy as np
import pytest
import uharfbuzz
from fontTools.ttLib import TTFont

from bladewise.document import BLACK, Bending, BendKind, Fit, Height, Lettering, Letters, Style, Typesetting
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.geometry.measures import area
from bladewise.geometry.path import circle, polygon
from bladewise.lettering import find_face, search_also, set_outline, word_outlines
from bladewise.lettering.setting import missing_letters, set_block

FONTS = FilePath(__file__).parents[2] / "demo_art" / "fonts"
search_also(FONTS)


def lettering(
    text: str = "Hamburg", family: str = "Josefin Sans", size_mm: float = 100.0, **setting: object
) -> Lettering:
    """Return lettering with its outlines set."""
    made = Typesetting(**setting)  # type: ignore[arg-type]
    return set_outline(Lettering("t", text, family, size_mm, Style(fill=BLACK), setting=made))


def size(text: Lettering) -> tuple[float, float]:
    """Return width and height of the ink."""
    assert text.bounds is not None
    return text.bounds[2] - text.bounds[0], text.bounds[3] - text.bounds[1]


@pytest.mark.parametrize("family", ["Josefin Sans", "Pacifico"])
def test_glyphs_stand_where_harfbuzz_puts_them(family: str) -> None:
    # reference: HarfBuzz's own shaping of the same words, its positions summed here
    face = find_face(family)
    font = uharfbuzz.Font(uharfbuzz.Face(face.file.read_bytes()))
    for text in ("Puddlewick", "AVATAR To. Wave", "office fjord", "café naïve"):
        buffer = uharfbuzz.Buffer()
        buffer.add_str(text)
        buffer.guess_segment_properties()
        uharfbuzz.shape(font, buffer)
        expected = np.cumsum([0, *(at.x_advance for at in buffer.glyph_positions)])[:-1]
        expected = expected + [at.x_offset for at in buffer.glyph_positions]
        block = set_block(lettering(text, family))
        assert block.glyphs.tolist() == [info.codepoint for info in buffer.glyph_infos]
        assert block.places[:, 0] == pytest.approx(expected * 100.0 / font.face.upem)


@pytest.mark.parametrize("family", ["Josefin Sans", "Pacifico"])
def test_letters_alone_are_as_wide_as_the_table_of_the_font_says(family: str) -> None:
    # reference: the advance widths in table hmtx, read by fontTools
    with TTFont(find_face(family).file) as font:
        widths, letters, upem = font["hmtx"], font.getBestCmap(), font["head"].unitsPerEm
        for letter in "Hamburgefonstiv&7ßé":
            wide = set_block(lettering(letter, family, features=("-calt", "-fina"))).wide
            assert wide == pytest.approx(100.0 * widths[letters[ord(letter)]][0] / upem)


@pytest.mark.parametrize("family", ["Josefin Sans", "Pacifico"])
def test_a_sign_is_ordered_by_the_height_of_its_letters(family: str) -> None:
    face = find_face(family)
    with TTFont(face.file) as font:
        caps, x, upem = font["OS/2"].sCapHeight, font["OS/2"].sxHeight, font["head"].unitsPerEm
    em = size(lettering("Hx", family))[1]
    assert size(lettering("Hx", family, 80.0, height=Height.CAPS))[1] == pytest.approx(em * 0.8 * upem / caps)
    assert size(lettering("Hx", family, 50.0, height=Height.X))[1] == pytest.approx(em * 0.5 * upem / x)
    assert size(lettering("gypsy", family, 64.0, height=Height.TOTAL))[1] == pytest.approx(64.0)
    assert size(lettering("two\nlines", family, 64.0, height=Height.TOTAL))[1] == pytest.approx(64.0)


def test_a_width_is_kept_to_by_shrinking_stretching_or_spacing() -> None:
    free = lettering("MMMM")
    block = set_block(free)
    wide = float(block.advances.sum())
    shrunk = lettering("MMMM", width_mm=wide / 2)
    assert size(shrunk) == pytest.approx((size(free)[0] / 2, size(free)[1] / 2))
    assert size(lettering("MMMM", width_mm=wide * 2)) == pytest.approx(size(free))
    stretched = lettering("MMMM", width_mm=wide * 2, fit=Fit.STRETCH)
    assert size(stretched) == pytest.approx((size(free)[0] * 2, size(free)[1]))
    spaced = lettering("MMMM", width_mm=wide + 30.0, fit=Fit.SPACE)
    assert size(spaced) == pytest.approx((size(free)[0] + 30.0, size(free)[1]))


def test_words_and_lines_take_the_space_asked_for() -> None:
    plain = lettering("to go")
    assert size(lettering("to go", word_spacing_mm=12.0))[0] == pytest.approx(size(plain)[0] + 12.0)
    one = lettering("H")
    assert size(lettering("H\nH", line_spacing=1.5))[1] == pytest.approx(size(one)[1] + 150.0)


def test_slanted_letters_keep_their_height_and_lean_by_the_angle() -> None:
    upright, leaning = lettering("H"), lettering("H", slant_deg=20.0)
    assert size(leaning)[1] == pytest.approx(size(upright)[1])
    assert size(leaning)[0] == pytest.approx(size(upright)[0] + size(upright)[1] * math.tan(math.radians(20.0)))


def test_a_feature_can_be_asked_of_one_letter_alone() -> None:
    kerned, apart = set_block(lettering("AVAV")), set_block(lettering("AVAV", features=("-kern",)))
    once = set_block(lettering("AVAV", features=("-kern[0:2]",)))
    assert kerned.advances.sum() < once.advances.sum() < apart.advances.sum()
    assert set_block(lettering("AVAV", features=("nonsense", "!!"))).advances.sum() == kerned.advances.sum()


def test_letters_the_font_lacks_are_named() -> None:
    assert missing_letters(lettering("Owl 梟 nest 梟 鳥")) == "梟鳥"
    assert missing_letters(lettering("Owl nest")) == ""


def bent_by(kind: BendKind, text: str = "Hamburg", **numbers: object) -> Lettering:
    """Return bent lettering."""
    return lettering(text, bending=Bending(kind=kind, **numbers))  # type: ignore[arg-type]


def test_letters_along_an_arc_keep_their_height() -> None:
    straight = lettering("HHHH").bounds
    block = set_block(lettering("HHHH"))
    radius = 300.0
    arched = bent_by(BendKind.ARC, "HHHH", radius_mm=radius)
    middle = 0.5 * float(block.advances.sum())
    reach = np.hypot(arched.outline.points[:, 0, 0] - middle, arched.outline.points[:, 0, 1] - radius)
    assert reach.max() == pytest.approx(radius - straight[1])
    assert reach.min() == pytest.approx(radius - straight[3])


def test_an_angle_is_filled_by_the_lettering() -> None:
    block = set_block(bent_by(BendKind.ARC, angle_deg=90.0))
    assert float(block.advances.sum()) / block.bend.radius_mm == pytest.approx(math.pi / 2.0)


def test_turned_letters_keep_their_shape() -> None:
    straight = lettering("Hamburg")
    for bending in (
        Bending(kind=BendKind.ARC, radius_mm=200.0, letters=Letters.TURNED),
        Bending(kind=BendKind.PATH, path=circle((0.0, 0.0), 150.0), letters=Letters.TURNED),
    ):
        turned = set_outline(replace(straight, setting=Typesetting(bending=bending)))
        assert len(turned.outline) == len(straight.outline)
        assert area(turned.outline) == pytest.approx(area(straight.outline))


def test_even_spaces_are_even_at_half_the_letters_height() -> None:
    # closed form: on radius r letters turned at height h stand (r + h) / r apart for each unit of the baseline
    block = set_block(bent_by(BendKind.ARC, "HHHH", radius_mm=150.0, letters=Letters.TURNED))
    middles = np.stack([block.starts + 0.5 * block.advances, np.full(4, -block.room.half_height)], axis=1)
    turns = np.diff(np.arctan2(*(block.bend.places(middles * [1.0, 0.0]) - [block.room.right / 2, 150.0]).T[::-1]))
    apart = turns * (150.0 + block.room.half_height)
    assert apart == pytest.approx(np.diff(middles[:, 0]), rel=1e-9)


def test_lettering_along_a_path_begins_where_asked_and_on_the_side_asked() -> None:
    line = polygon([(0.0, 50.0), (900.0, 50.0)], closed=False)
    straight = lettering("Hamburg").bounds
    along = bent_by(BendKind.PATH, path=line, start_mm=40.0, shift_mm=3.0).bounds
    assert along == pytest.approx((straight[0] + 40, straight[1] + 47, straight[2] + 40, straight[3] + 47), abs=0.01)
    other = bent_by(BendKind.PATH, path=line, other_side=True).bounds
    assert other == pytest.approx((900 - straight[2], 50 - straight[3], 900 - straight[0], 50 - straight[1]), abs=0.01)


@pytest.mark.parametrize(
    ("kind", "numbers"),
    [
        (BendKind.ARC, {"radius_mm": -40.0}),
        (BendKind.ARC, {"radius_mm": 20.0}),
        (BendKind.ARCH, {"rise_mm": 400.0}),
        (BendKind.RIPPLE, {"rise_mm": 5.0}),
        (BendKind.SWELL, {"share": -1.5}),
        (BendKind.PATH, {"path": circle((0.0, 0.0), 60.0)}),  # shorter round than the word
        (BendKind.PATH, {"path": circle((0.0, 0.0), 40.0), "letters": Letters.TURNED}),
        (BendKind.PATH, {"path": circle((0.0, 0.0), 70.0), "other_side": True}),  # the letters reach its centre
        (BendKind.CORNERS, {"corners_mm": (900.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)}),
    ],
)
def test_a_bend_the_letters_do_not_fit_is_refused_with_what_to_change(kind: BendKind, numbers: dict) -> None:
    with pytest.raises(CannotApply) as refused:
        bent_by(kind, **numbers)
    assert refused.value.hint


@pytest.mark.parametrize("kind", BendKind)
def test_a_bend_without_numbers_leaves_the_lettering_straight(kind: BendKind) -> None:
    numbers = {"wave_mm": 10.0} if kind is BendKind.RIPPLE else {}
    assert bent_by(kind, **numbers).bounds == pytest.approx(lettering("Hamburg").bounds, abs=1e-9)


@pytest.mark.parametrize("kind", BendKind)
@pytest.mark.parametrize("text", ["\N{COMBINING ACUTE ACCENT}", "\N{ZERO WIDTH JOINER}", " ", "\n"])
def test_what_has_no_width_is_not_bent(kind: BendKind, text: str) -> None:
    numbers = {"rise_mm": 9.0, "wave_mm": 10.0, "share": 0.5, "angle_deg": 60.0, "corners_mm": (5.0,) * 8}
    line = polygon([(0.0, 50.0), (900.0, 50.0)], closed=False)
    assert np.isfinite(bent_by(kind, text, path=line, **numbers).outline.points).all()


def test_lettering_on_each_line_is_bent_with_the_lines_above_and_below() -> None:
    both = bent_by(BendKind.ARCH, "Ham\n\nburg\n", rise_mm=40.0)
    parts = word_outlines(both, per="line")
    assert [name for name, _ in parts] == ["Ham", "burg"]
    straight = word_outlines(lettering("Ham\n\nburg\n"), per="line")
    for (_, bent), (_, flat) in zip(parts, straight, strict=True):
        lifted = flat.bounds()[1] - bent.bounds()[1]
        assert 0.0 < lifted <= 40.0


def test_bent_lettering_can_be_retyped_and_moved() -> None:
    word = bent_by(BendKind.ARCH, rise_mm=40.0)
    moved = word.transformed(Affine.moved(10.0, 20.0))
    again = set_outline(replace(moved, text="Hamburg"))
    assert again.bounds == pytest.approx(moved.bounds)
    assert size(set_outline(replace(moved, text="Ham")))[0] < size(moved)[0]
