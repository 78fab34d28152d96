"""Script words come out as one piece, counters kept; near misses are found and bridged; colours stay apart.

The word "bakery" in Pacifico: every pair of letters overlaps, six letters merge to one (counted on the OFL font).
"""

from __future__ import annotations

from pathlib import Path as FilePath

import pytest
import shapely

from bladewise.document import BLACK, Bending, BendKind, Colour, Group, Job, Layer, Lettering, Shape, Style, Typesetting
from bladewise.errors import CannotApply
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import area
from bladewise.geometry.overlaps import crossings
from bladewise.geometry.path import Path, circle, rectangle
from bladewise.lettering import search_also, set_outline
from bladewise.lettering.setting import word_letters
from bladewise.operations.declaration import quiet
from bladewise.operations.script import OPERATIONS

search_also(FilePath(__file__).parents[2] / "demo_art" / "fonts")
(SCRIPT,) = OPERATIONS
RED = Colour(0xCC, 0x22, 0x11)


def word(text: str, family: str = "Pacifico", **values: object) -> Lettering:
    """Return live lettering 100 mm in size."""
    return set_outline(Lettering("word", text, family, 100.0, Style(fill=BLACK), **values))  # type: ignore[arg-type]


def run(*elements: object, **values: object):
    """Return what the step makes of some art."""
    job = Job("Sign", 800.0, 400.0, (Layer("art", "Art", elements),))  # type: ignore[arg-type]
    return SCRIPT.function(job, SCRIPT.make(values), quiet)


def outer(path: Path) -> int:
    """Return of how many pieces a path is."""
    return sum(area(ring) > 0.0 for ring in path.subpaths())


def union_of(letters: list[tuple[str, Path]], tolerance_mm: float = 1e-5) -> float:
    """Return the area of letters together by shapely, on a fine flattening, as the fonts wind them."""
    shapes = []
    for _, path in letters:
        rings = [shapely.Polygon(flatten(ring, tolerance_mm).coords) for ring in path.subpaths()]
        turns = [area(ring) > 0.0 for ring in path.subpaths()]
        most = max(range(len(rings)), key=lambda k: rings[k].area)
        solid = shapely.union_all([ring for ring, turn in zip(rings, turns, strict=True) if turn == turns[most]])
        holes = [ring for ring, turn in zip(rings, turns, strict=True) if turn != turns[most]]
        shapes.append(shapely.difference(solid, shapely.union_all(holes)))
    return float(shapely.union_all(shapes).area)


@pytest.mark.parametrize("bending", [None, Bending(kind=BendKind.ARC, angle_deg=80.0)])
def test_a_script_word_becomes_one_piece_with_its_counters(bending: Bending | None) -> None:
    lettering = word("bakery", setting=Typesetting(bending=bending))
    shape = run(lettering).job.shapes()[0]
    assert outer(shape.path) == 1
    assert len(shape.path.starts) - 1 >= 3  # b, a, e
    assert not list(crossings([shape.path]))
    if bending is None:
        reference = union_of(word_letters(lettering)[0][1])
        assert area(shape.path) == pytest.approx(reference, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "family"),
    [
        ("Puddlewick", "Pacifico"),
        ("office", "Pacifico"),
        ("Wøndér", "Pacifico"),
        ("HILT", "Josefin Sans"),
        ("&8%", "Pacifico"),
    ],
)
@pytest.mark.parametrize("size", [2.0, 100.0, 3000.0])
def test_merged_words_have_the_area_of_shapelys_union_at_any_size(text: str, family: str, size: float) -> None:
    # reference: shapely's union of the same letters, flattened finely
    lettering = set_outline(Lettering("word", text, family, size, Style(fill=BLACK)))
    shape = run(lettering).job.shapes()[0]
    assert not list(crossings([shape.path]))
    assert area(shape.path) == pytest.approx(union_of(word_letters(lettering)[0][1], 1e-7 * size), rel=1e-6)


def test_each_word_is_a_shape_of_its_own_in_the_order_of_the_text() -> None:
    result = run(word("to go\nnow"))
    group = result.job.layers[0].children[0]
    assert isinstance(group, Group)
    assert [shape.name for shape in group.children] == ["to", "go", "now"]


def test_letters_that_just_miss_are_told_and_bridged_if_wanted() -> None:
    apart = word("HH", "Josefin Sans")
    gap = word_letters(apart)[0][1]
    space = gap[1][1].bounds()[0] - gap[0][1].bounds()[2]
    near = word("HH", "Josefin Sans", letter_spacing_mm=0.3 - space)
    told = run(near)
    assert told.reports == ("“H” and “H” miss each other by 0.3 mm; “bridge” would join them.",)
    assert outer(told.job.shapes()[0].path) == 2
    bridged = run(near, bridge=True)
    assert outer(bridged.job.shapes()[0].path) == 1
    assert "bridged over 0.3 mm" in bridged.reports[0]
    assert not run(near, near_mm=0.2).reports


def test_marks_of_punctuation_stand_apart_and_are_not_bridged() -> None:
    near = word("H'H", "Josefin Sans", letter_spacing_mm=-9.0)
    assert not run(near, near_mm=20.0).reports
    assert outer(run(near, near_mm=20.0, bridge=True).job.shapes()[0].path) == 3


def test_a_ligature_and_an_accented_letter_are_told_by_all_that_they_are() -> None:
    told = run(word("fie\N{COMBINING ACUTE ACCENT}", "Josefin Sans"), near_mm=30.0).reports
    assert len(told) == 1
    assert told[0].startswith("“fi” and “e\N{COMBINING ACUTE ACCENT}” miss")


def test_lettering_that_says_nothing_is_left_alone_or_told() -> None:
    blank = set_outline(Lettering("blank", " ", "Pacifico", 100.0, Style(fill=BLACK)))
    shapes = run(blank, word("bakery")).job.shapes()
    assert [shape.name for shape in shapes] == ["bakery"]
    with pytest.raises(CannotApply) as refused:
        run(blank)
    assert "says nothing" in refused.value.what


def test_the_dot_of_an_i_is_not_bridged_to_its_own_stem() -> None:
    shape = run(word("ii", "Josefin Sans"), bridge=True, near_mm=2.0).job.shapes()[0]
    assert outer(shape.path) == 4


def test_letters_of_different_colours_are_left_apart() -> None:
    letters = [
        Shape("a", circle((0.0, 0.0), 10.0), Style(fill=BLACK), "a"),
        Shape("b", circle((12.0, 0.0), 10.0), Style(fill=RED), "b"),
        Shape("c", circle((24.0, 0.0), 13.0), Style(fill=BLACK), "c"),
        Shape("d", rectangle(200.0, 0.0, 5.0, 5.0), Style(fill=RED), "d"),
    ]
    shapes = run(*letters).job.shapes()
    assert [(shape.id, shape.style.fill, outer(shape.path)) for shape in shapes] == [("c", BLACK, 2), ("d", RED, 2)]
