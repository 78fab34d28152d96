"""What there is to know of a font is read from it, and what it is like is measured.

The embedding permission: OpenType specification 1.9, table OS/2, fsType. Variable fonts: fontTools.instancer.
"""

from __future__ import annotations

from pathlib import Path as FilePath

import numpy as np
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.recordingPen import RecordingPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTCollection, TTFont
from fontTools.ttLib.tables.DefaultTable import DefaultTable
from fontTools.varLib import instancer

from bladewise.document import BLACK, Lettering, Style, Typesetting
from bladewise.lettering import find_face, search_also, set_outline
from bladewise.lettering.catalogue import Embedding, Facts, facts, joins, lacking, substitutions
from bladewise.lettering.fonts import Face
from bladewise.lettering.loaded import loaded

FONTS = FilePath(__file__).parents[2] / "demo_art" / "fonts"
search_also(FONTS)


def test_a_script_that_joins_is_told_from_one_that_does_not() -> None:
    assert joins(find_face("Pacifico"))
    assert not joins(find_face("Josefin Sans"))


def test_what_the_fonts_maker_permits_is_shown() -> None:
    assert facts(find_face("Pacifico")).embedding is Embedding.INSTALLABLE


@pytest.mark.parametrize(
    ("bits", "meaning"),
    [
        (0, Embedding.INSTALLABLE),
        (2, Embedding.RESTRICTED),
        (4, Embedding.PREVIEW),
        (8, Embedding.EDITABLE),
        (0x104, Embedding.PREVIEW),
    ],
)
def test_the_permission_bits_mean_what_the_specification_says(
    tmp_path: FilePath, bits: int, meaning: Embedding
) -> None:
    with TTFont(find_face("Josefin Sans").file) as font:
        font["OS/2"].fsType = bits
        font.save(tmp_path / "font.ttf")
    assert facts(Face(tmp_path / "font.ttf", 0, "x", 700, italic=False)).embedding is meaning


def test_letters_a_font_lacks_are_listed() -> None:
    assert lacking(find_face("Pacifico"), "Owl 梟 – 梟鳥") == "梟鳥"


def test_a_broken_font_is_no_fault_of_the_operator(tmp_path: FilePath) -> None:
    (tmp_path / "broken.ttf").write_bytes(b"no font")
    assert facts(Face(tmp_path / "broken.ttf", 0, "x", 400, italic=False)).axes == ()


def test_a_font_damaged_within_a_table_is_no_fault_of_the_operator(tmp_path: FilePath) -> None:
    with TTFont(FONTS / "JosefinSans-Bold.ttf") as font:
        damaged = DefaultTable("GSUB")
        damaged.data = b"\0\1\0\0\0"
        font["GSUB"] = damaged
        font.save(tmp_path / "damaged.ttf")
    face = Face(tmp_path / "damaged.ttf", 0, "x", 700, italic=False)
    assert facts(face) == Facts()
    assert substitutions(face) == ()


@pytest.mark.parametrize("kind", ["ttc", "woff", "woff2"])
def test_collections_and_packed_fonts_set_the_same_outlines(tmp_path: FilePath, kind: str) -> None:
    names = ("JosefinSans-Bold.ttf", "Pacifico-Regular.ttf")
    fonts = [TTFont(FONTS / name) for name in names]
    for number, font in enumerate(fonts):
        for record in font["name"].names:
            if record.nameID in (1, 16):
                record.string = f"Boxed {kind} {number}"
    if kind == "ttc":
        collection = TTCollection()
        collection.fonts = fonts
        collection.save(tmp_path / "both.ttc")
    else:
        for number, font in enumerate(fonts):
            font.flavor = kind
            font.save(tmp_path / f"{number}.{kind}")
    search_also(tmp_path)
    for number, family in enumerate(("Josefin Sans", "Pacifico")):
        boxed, plain = (
            set_outline(Lettering("t", "Puddlewick", name, 100.0, Style(fill=BLACK)))
            for name in (f"Boxed {kind} {number}", family)
        )
        assert boxed.outline == plain.outline


def variable_font(path: FilePath) -> None:
    """Write a font of one letter with a weight and a width axis, its box growing with both."""

    def box(width: int, height: int):
        pen = TTGlyphPen(None)
        pen.moveTo((50, 0))
        pen.lineTo((50, height))
        pen.qCurveTo((50 + width // 2, height + 80), (50 + width, height))
        pen.lineTo((50 + width, 0))
        pen.closePath()
        return pen.glyph()

    from fontTools.designspaceLib import AxisDescriptor, DesignSpaceDocument, InstanceDescriptor, SourceDescriptor
    from fontTools.varLib import build

    space = DesignSpaceDocument()
    for tag, name, least, default, most in (("wght", "Weight", 100, 400, 900), ("wdth", "Width", 75, 100, 125)):
        axis = AxisDescriptor()
        axis.tag, axis.name, axis.minimum, axis.default, axis.maximum = tag, name, least, default, most
        space.addAxis(axis)
    masters = {
        (400, 100): (400, 700),
        (900, 100): (600, 700),
        (100, 100): (300, 700),
        (400, 75): (300, 700),
        (400, 125): (520, 700),
    }
    for (weight, width), (wide, high) in masters.items():
        builder = FontBuilder(1000, isTTF=True)
        builder.setupGlyphOrder([".notdef", "H"])
        builder.setupCharacterMap({ord("H"): "H"})
        builder.setupGlyf({".notdef": box(100, 100), "H": box(wide, high)})
        builder.setupHorizontalMetrics({".notdef": (300, 50), "H": (wide + 100, 50)})
        builder.setupHorizontalHeader(ascent=800, descent=-200)
        builder.setupNameTable({"familyName": "Sway", "styleName": "Regular"})
        builder.setupOS2(sCapHeight=700, sxHeight=500)
        builder.setupPost()
        source = SourceDescriptor()
        source.font, source.location = builder.font, {"Weight": weight, "Width": width}
        space.addSource(source)
    named = InstanceDescriptor()
    named.styleName, named.familyName, named.location = "Black Narrow", "Sway", {"Weight": 900, "Width": 75}
    space.addInstance(named)
    font, _, _ = build(space)
    font.save(path)


@pytest.mark.parametrize(
    "places", [{"wght": 400.0, "wdth": 100.0}, {"wght": 650.0, "wdth": 90.0}, {"wght": 900.0, "wdth": 125.0}]
)
def test_a_place_on_the_axes_gives_the_outlines_of_that_instance(tmp_path: FilePath, places: dict[str, float]) -> None:
    file = tmp_path / "sway.ttf"
    variable_font(file)
    face = Face(file, 0, "Sway", 400, italic=False)
    found = facts(face)
    assert [(axis.tag, axis.least, axis.default, axis.most) for axis in found.axes] == [
        ("wght", 100.0, 400.0, 900.0),
        ("wdth", 75.0, 100.0, 125.0),
    ]
    assert [(each.name, dict(each.axes)) for each in found.instances] == [
        ("Black Narrow", {"wght": 900.0, "wdth": 75.0})
    ]
    with TTFont(file) as font:
        fixed = instancer.instantiateVariableFont(font, places)
        pen = RecordingPen()
        glyphs = fixed.getGlyphSet()
        glyphs["H"].draw(pen)
        advance = glyphs["H"].width
        points = np.array([point for _, part in pen.value for point in part], dtype=float)
    ready = loaded(face, 400, tuple(places.items()))
    outline = ready.outline(ready.font.get_nominal_glyph(ord("H")))
    expected = (points[:, 0].min() / 1000, points[:, 0].max() / 1000)
    assert (outline.points[:, [0, 3], 0].min(), outline.points[:, [0, 3], 0].max()) == pytest.approx(
        expected, abs=0.0011
    )
    assert ready.font.get_glyph_h_advance(ready.font.get_nominal_glyph(ord("H"))) == pytest.approx(advance, abs=1)


def test_the_weight_asked_for_moves_a_weight_axis(tmp_path: FilePath) -> None:
    variable_font(tmp_path / "sway.ttf")
    search_also(tmp_path)
    light, black = (
        set_outline(Lettering("t", "H", "Sway", 100.0, Style(fill=BLACK), weight=weight)).bounds
        for weight in (100, 900)
    )
    assert black[2] - black[0] == pytest.approx(60.0)
    assert light[2] - light[0] == pytest.approx(30.0)
    narrow = Typesetting(axes=(("wdth", 75.0),))
    box = set_outline(Lettering("t", "H", "Sway", 100.0, Style(fill=BLACK), setting=narrow)).bounds
    assert box[2] - box[0] == pytest.approx(30.0)
