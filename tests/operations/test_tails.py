"""A word and its tail come out as one piece that leaves the letter in the letter's own direction."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path as FilePath

import numpy as np
import pytest

from bladewise import operations
from bladewise.document import BLACK, Job, Layer, Lettering, Shape, Stroke, Style
from bladewise.errors import CannotApply
from bladewise.geometry.booleans import pieces
from bladewise.geometry.measures import area
from bladewise.geometry.overlaps import crossings
from bladewise.geometry.path import Path, PathBuilder, polygon, rectangle
from bladewise.geometry.tails import EndStroke, TailShape, TailStyle, end_stroke, spine_of, tail
from bladewise.lettering import search_also, set_outline

search_also(FilePath(__file__).parents[2] / "demo_art" / "fonts")


def job(*elements: object) -> Job:
    """Return a job of one layer."""
    return Job("Sign", 800.0, 400.0, (Layer("art", "Art", elements),))  # type: ignore[arg-type]


def word(text: str = "Puddlewick", family: str = "Pacifico") -> Lettering:
    """Return live lettering."""
    return set_outline(Lettering("word", text, family, 40.0, Style(fill=BLACK)))


def done(start: Job, do: str, **values: object) -> Job:
    """Return the job after a step."""
    return operations.apply(start, operations.step(do, values)).job


def outer(path: Path) -> int:
    """Return of how many pieces a path is."""
    return sum(area(ring) > 0.0 for ring in path.subpaths())


PIECES = outer(done(job(word()), "merge-script").shapes()[0].path)


def arm(length: float, width: float, angle: float) -> Path:
    """Return a straight arm with a round end, leaving the origin at an angle (degrees, y down)."""
    half = width / 2.0
    builder = PathBuilder()
    builder.move_to((0.0, -half))
    builder.line_to((length, -half))
    builder.cubic_to((length + 0.6667 * width, -half), (length + 0.6667 * width, half), (length, half))
    builder.line_to((0.0, half))
    builder.close()
    from bladewise.geometry.affine import Affine

    return builder.path().transformed(Affine.rotated(angle))


@pytest.mark.parametrize("angle", [-50.0, -20.0, 0.0, 15.0, 40.0])
def test_the_end_of_a_stroke_is_found_with_its_width_and_its_way(angle: float) -> None:
    # closed form: a straight arm of width w at an angle ends with that width, going that way
    end = end_stroke(arm(40.0, 5.0, angle))
    way = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    assert np.array(end.way) == pytest.approx(way, abs=0.05)
    assert end.width_mm == pytest.approx(5.0, rel=0.08)
    assert abs(way[0] * end.place[1] - way[1] * end.place[0]) < 0.3


@pytest.mark.parametrize("style", TailStyle)
@pytest.mark.parametrize("numbers", [{}, {"curl": 1.0}, {"split": 1.0, "taper": 0.2}, {"taper": 1.0}])
def test_a_tail_is_one_sound_outline_that_begins_in_the_stroke(style: TailStyle, numbers: dict) -> None:
    end = EndStroke((100.0, 0.0), (0.98, 0.2), 4.0)
    shape = TailShape(style=style, length_mm=90.0, thickness_mm=6.0, drop_mm=10.0, **numbers)
    spine = spine_of(end, (0.0, -30.0, 102.0, 5.0), shape)
    made = tail(end, spine, shape)
    assert spine.points[0, 0] == pytest.approx(end.place)
    leaving = spine.points[0, 1] - spine.points[0, 0]
    assert leaving / np.hypot(*leaving) == pytest.approx(np.array(end.way) / np.hypot(*end.way))
    assert outer(made) >= 1
    assert not list(crossings([made]))


@pytest.mark.parametrize("style", [str(style) for style in TailStyle])
@pytest.mark.parametrize("leaving", ["last", "first"])
def test_word_and_tail_are_one_piece(style: str, leaving: str) -> None:
    shape = done(job(word()), "add-tail", style=style, leaving=leaving).shapes()[0]
    assert outer(shape.path) == PIECES  # no more than the word has by itself
    assert shape.name == "Puddlewick"


@pytest.mark.parametrize(
    ("text", "family", "numbers"),
    [
        ("g", "Pacifico", {"curl_percent": 100, "split_percent": 100, "thickness_mm": 12}),
        ("I", "Josefin Sans", {"style": "wave", "thickness_mm": 25}),
        ("Q", "Pacifico", {"length_mm": 0.5}),
        ("2024", "Josefin Sans", {"length_mm": 900, "drop_mm": 0}),
    ],
)
def test_thick_curled_split_short_and_long_tails_leave_no_crumbs(text: str, family: str, numbers: dict) -> None:
    start = job(word(text, family))
    alone = done(start, "merge-script").shapes()[0]
    tailed = done(start, "add-tail", **numbers).shapes()[0]
    assert outer(tailed.path) <= outer(alone.path)
    assert not list(crossings([tailed.path]))
    assert area(tailed.path) > area(alone.path)


def test_a_word_that_is_shapes_already_gets_a_tail_too() -> None:
    merged = done(job(word("bakery")), "merge-script")
    assert outer(done(merged, "add-tail").shapes()[0].path) == 1


@pytest.mark.parametrize("mark", [".", "!"])
def test_a_tail_is_one_piece_with_the_last_letter_whatever_mark_follows_it(mark: str) -> None:
    plain, marked = (done(job(word(text)), "add-tail").shapes()[0] for text in ("tea", f"tea{mark}"))
    whole, more = (max(pieces(shape.path), key=area) for shape in (plain, marked))
    assert area(more) > 0.95 * area(whole)


@pytest.mark.parametrize(("leaving", "with_tail"), [("last", "y"), ("first", "t")])
def test_of_letters_that_are_shapes_in_a_group_only_the_one_at_that_end_gets_the_tail(
    leaving: str, with_tail: str
) -> None:
    letters = done(job(word("thy.")), "lettering-to-shapes", per="letter")
    line = Shape("line", polygon([(300.0, 60.0), (400.0, 70.0)], closed=False), Style(stroke=Stroke(BLACK, 3.0)))
    drawn = replace(letters, layers=(replace(letters.layers[0], children=(*letters.layers[0].children, line)),))
    before = {shape.name: shape.path for shape in letters.shapes()}
    for after in (done(letters, "add-tail", leaving=leaving), done(drawn, "attach-tail", leaving=leaving)):
        changed = {shape.name for shape in after.shapes() if shape.path != before[shape.name]}
        assert changed == {with_tail}


def test_only_the_word_with_that_letter_gets_the_tail() -> None:
    result = done(job(word("to go")), "add-tail")
    to, go = result.layers[0].children[0].children[::-1]
    plain = done(job(word("to go")), "merge-script").layers[0].children[0].children
    assert {to.name, go.name} == {"to", "go"}
    first = next(each for each in (to, go) if each.name == "to")
    assert area(first.path) == pytest.approx(area(plain[0].path))


def test_small_words_are_cut_out_of_the_tail_within_it() -> None:
    bare = done(job(word()), "add-tail", style="banner", thickness_mm=16, taper_percent=40).shapes()[0]
    cut = done(
        job(word()), "add-tail", style="banner", thickness_mm=16, taper_percent=40, words="coffee cart"
    ).shapes()[0]
    assert len(cut.path.starts) >= len(bare.path.starts) + len("coffeecart")
    assert area(cut.path) < area(bare.path)
    assert cut.bounds == pytest.approx(bare.bounds)


def test_a_drawn_line_becomes_the_tail() -> None:
    builder = PathBuilder()
    builder.move_to((30.0, 60.0))
    builder.cubic_to((90.0, 80.0), (150.0, 40.0), (230.0, 50.0))
    line = Shape("line", builder.path(), Style(stroke=Stroke(BLACK, 3.0)))
    result = done(job(word(), line), "attach-tail")
    assert [shape.id for shape in result.shapes()] == ["word"]
    assert outer(result.shapes()[0].path) == PIECES


def test_a_drawn_shape_is_moved_to_the_letter_and_becomes_one_with_it() -> None:
    blob = Shape("blob", rectangle(300.0, 100.0, 60.0, 5.0, 2.0, 2.0), Style(fill=BLACK))
    result = done(job(word(), blob), "attach-tail")
    assert [shape.id for shape in result.shapes()] == ["word"]
    assert outer(result.shapes()[0].path) == PIECES


def test_without_a_tail_or_a_word_there_is_nothing_to_attach() -> None:
    for start in (job(word()), job()):
        with pytest.raises(CannotApply):
            done(start, "attach-tail")
