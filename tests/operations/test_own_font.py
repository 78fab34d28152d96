"""What is told of fonts: one that stands in, letters it lacks, no small capitals; nothing reflows by itself."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path as FilePath
from typing import TYPE_CHECKING

import pytest
from fontTools.feaLib.builder import addOpenTypeFeaturesFromString
from fontTools.ttLib import TTFont

from bladewise import operations
from bladewise.document import BLACK, Bending, BendKind, Group, Job, Layer, Lettering, Style, Typesetting
from bladewise.errors import CannotApply
from bladewise.lettering import search_also, set_outline

if TYPE_CHECKING:
    from bladewise.operations import Outcome

FONTS = FilePath(__file__).parents[2] / "demo_art" / "fonts"
search_also(FONTS)


def word(text: str = "Puddlewick", family: str = "Pacifico", **values: object) -> Lettering:
    """Return live lettering."""
    return set_outline(Lettering("word", text, family, 30.0, Style(fill=BLACK), **values))  # type: ignore[arg-type]


def lost(text: str = "Puddlewick") -> Lettering:
    """Return lettering with its outlines, whose font is on another computer."""
    return replace(word(text), family="Nowhere Script")


def done(start: Lettering | None, do: str, **values: object) -> Outcome:
    """Return what a step makes of a job that holds one lettering, or none."""
    job = Job("Sign", 400.0, 200.0, (Layer("art", "Art", (start,) if start is not None else ()),))
    return operations.apply(job, operations.step(do, values))


def live(outcome: Outcome) -> Lettering:
    """Return the lettering of a job."""
    return next(placed.leaf for placed in outcome.job.walk() if isinstance(placed.leaf, Lettering))


def test_a_font_that_stands_in_is_told_when_lettering_is_set() -> None:
    told = done(None, "set-lettering", text="Tee 梟", family="Nowhere Script").reports
    assert told == (
        "The font “Nowhere Script” is not on this computer; “Josefin Sans” stands in.",
        "The font has no “梟”.",
    )
    assert not done(None, "set-lettering", text="Tee", family="Pacifico").reports
    assert not done(None, "set-lettering", text="Tee").reports


def test_letters_the_font_lacks_are_told_when_a_word_is_retyped() -> None:
    assert done(word(), "retype", text="Tee 梟").reports == ("The font has no “梟”.",)


@pytest.mark.parametrize(
    ("do", "values"),
    [
        ("retype", {"text": "Other"}),
        ("slant", {}),
        ("bend-along-arc", {}),
        ("merge-script", {}),
        ("add-tail", {}),
    ],
)
def test_no_step_sets_lettering_anew_in_another_font(do: str, values: dict[str, object]) -> None:
    with pytest.raises(CannotApply) as refused:
        done(lost(), do, **values)
    assert refused.value.where == values.get("text", "Puddlewick")
    assert refused.value.hint


def test_lettering_without_its_font_becomes_one_shape_as_it_was_saved_and_that_is_told() -> None:
    start = lost("to go")
    outcome = done(start, "lettering-to-shapes", per="letter")
    assert [shape.path for shape in outcome.job.shapes()] == [start.outline]
    assert outcome.reports == (
        "The font “Nowhere Script” is not on this computer: “to go” became one shape, as it was saved.",
    )


def test_a_word_retyped_too_long_for_its_arc_is_named_with_what_to_change() -> None:
    arched = word("Ham", setting=Typesetting(bending=Bending(kind=BendKind.ARC, radius_mm=40.0)), name="Title")
    with pytest.raises(CannotApply) as refused:
        done(arched, "retype", text="Puddlewick Coffee Cart of Puddlewick")
    assert refused.value.where == "Puddlewick Coffee Cart of Puddlewick"
    assert "radius" in refused.value.hint


def test_small_words_in_a_tail_say_when_another_font_stands_in() -> None:
    values = {"style": "banner", "thickness_mm": 16, "words": "cart 梟", "words_family": "Nowhere Script"}
    told = done(word(), "add-tail", **values).reports
    assert told[0].startswith("The font “Nowhere Script” is not on this computer;")
    assert told[1] == "The font has no “梟”."


def test_small_capitals_are_set_where_the_font_has_them_and_told_where_not(tmp_path: FilePath) -> None:
    with TTFont(FONTS / "JosefinSans-Bold.ttf") as font:
        for record in font["name"].names:
            if record.nameID in (1, 16):
                record.string = "Small Josefin"
        rules = " ".join(f"sub {letter} by {letter.upper()};" for letter in "abcdefghijklmnopqrstuvwxyz")
        addOpenTypeFeaturesFromString(font, f"feature smcp {{ {rules} }} smcp;")
        font.save(tmp_path / "small.ttf")
    search_also(tmp_path)
    small = done(word("Tee", "Small Josefin"), "alternates", small_caps=True)
    assert live(small).outline == word("TEE", "Small Josefin").outline
    assert not small.reports
    assert live(done(live(small), "alternates")).outline == word("Tee", "Small Josefin").outline
    plain = done(word("Tee"), "alternates", small_caps=True)
    assert plain.reports == ("The font “Pacifico” has no small capitals.",)
    assert not isinstance(plain.job.layers[0].children[0], Group)
