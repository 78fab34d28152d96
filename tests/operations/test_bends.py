"""Bends and typesetting as steps: live lettering stays live, shapes are bent together, what is left out stays."""

from __future__ import annotations

from pathlib import Path as FilePath

import numpy as np
import pytest

from bladewise.document import BLACK, Fit, Group, Height, Job, Layer, Lettering, Shape, Stroke, Style
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import polygon, rectangle
from bladewise.lettering import search_also, set_outline
from bladewise.lettering.setting import set_block
from bladewise.operations import bends, typesetting
from bladewise.operations.declaration import quiet

search_also(FilePath(__file__).parents[2] / "demo_art" / "fonts")
STEPS = {each.name: each for each in (*bends.OPERATIONS, *typesetting.OPERATIONS)}


def word(text: str = "Puddlewick", **values: object) -> Lettering:
    """Return live lettering on a sheet."""
    return set_outline(Lettering("word", text, "Pacifico", 30.0, Style(fill=BLACK), **values))  # type: ignore[arg-type]


def job(*elements: Lettering | Shape | Group) -> Job:
    """Return a job of one layer."""
    return Job("Sign", 400.0, 200.0, (Layer("art", "Art", elements),))


def done(start: Job, name: str, **values: object) -> Job:
    """Return the job after a step."""
    step = STEPS[name]
    return step.function(start, step.make(values), quiet).job


def only(result: Job) -> Lettering:
    """Return the lettering of a job."""
    return next(placed.leaf for placed in result.walk() if isinstance(placed.leaf, Lettering))


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("bend-along-arc", {"angle_deg": 90}),
        ("bend-along-arc", {"radius_mm": "-300mm"}),
        ("ripple", {"rise_mm": 4, "wave_mm": 50}),
        ("upright-arch", {"rise_mm": 12}),
        ("climb", {"rise_mm": -12}),
        ("swell", {"percent": 60}),
        ("four-corners", {"corners_mm": [5, -5, 0, 0, 0, 0, -5, 5]}),
    ],
)
def test_bent_lettering_is_still_live_and_can_be_straightened_again(name: str, values: dict) -> None:
    start = job(word())
    after = done(start, name, **values)
    assert only(after).text == "Puddlewick"
    assert only(after).bounds != pytest.approx(only(start).bounds)
    assert only(done(after, "take-bend-off")).bounds == pytest.approx(only(start).bounds)
    assert STEPS[name].summary(STEPS[name].make(values))


def test_shapes_are_bent_together_as_they_stand() -> None:
    tiles = [Shape(f"t{k}", rectangle(20.0 * k, 50.0, 18.0, 10.0), Style(fill=BLACK)) for k in range(5)]
    after = done(job(*tiles), "upright-arch", rise_mm=10)
    tops = [shape.bounds[1] for shape in after.shapes()]
    assert tops[2] == pytest.approx(40.0, abs=0.01)
    assert tops[0] == pytest.approx(tops[4])
    assert tops[0] > tops[1] > tops[2]


def test_lettering_is_set_along_a_line_that_was_drawn_wherever_the_lettering_stood() -> None:
    line = Shape("line", polygon([(50.0, 150.0), (350.0, 150.0)], closed=False), Style(stroke=Stroke(BLACK, 0.1)))
    moved = word(transform=Affine.moved(20.0, 30.0).after(Affine.scaled(2.0)))
    after = done(job(line, moved), "bend-along-path", start_mm=5)
    straight = set_outline(Lettering("w", "Puddlewick", "Pacifico", 60.0, Style(fill=BLACK))).bounds
    box = only(after).bounds
    assert box[3] == pytest.approx(150.0 + straight[3], abs=0.05)
    assert box[2] - box[0] == pytest.approx(straight[2] - straight[0], rel=0.01)


def test_lettering_longer_than_its_line_is_told_by_how_much() -> None:
    step = STEPS["bend-along-path"]
    wide = set_block(word("Puddlewick")).wide
    for long, told in (
        (wide - 7.0, ("“word” is longer than the line by 7 mm and goes on straight beyond it.",)),
        (wide, ()),
    ):
        line = Shape(
            "line", polygon([(50.0, 50.0), (50.0 + long, 50.0)], closed=False), Style(stroke=Stroke(BLACK, 0.1))
        )
        assert step.function(job(line, word()), step.make({}), quiet).reports == told


def test_lettering_flattened_to_nothing_and_art_without_width_are_no_trouble() -> None:
    line = Shape("line", polygon([(50.0, 50.0), (90.0, 50.0)], closed=False), Style(stroke=Stroke(BLACK, 0.1)))
    with pytest.raises(CannotApply) as refused:
        done(job(line, word(transform=Affine.scaled(1.0, 0.0))), "bend-along-path")
    assert refused.value.hint
    upright = Shape("upright", polygon([(0.0, 0.0), (0.0, 20.0)], closed=False), Style(stroke=Stroke(BLACK, 1.0)))
    for name in ("climb", "swell", "upright-arch", "bend-along-arc", "four-corners"):
        assert done(job(upright), name).shapes()[0].bounds == upright.bounds


def test_without_a_line_or_with_nothing_else_there_is_nothing_to_set() -> None:
    line = Shape("line", polygon([(50.0, 150.0), (350.0, 150.0)], closed=False), Style(stroke=Stroke(BLACK, 0.1)))
    for start in (job(word()), job(line), job()):
        with pytest.raises(CannotApply):
            done(start, "bend-along-path")


def test_letters_are_as_tall_as_ordered_whatever_scale_the_lettering_has() -> None:
    start = job(word("HHH", transform=Affine.scaled(3.0)))
    box = only(done(start, "letter-height", size_mm=40, of="caps")).bounds
    assert box[3] - box[1] == pytest.approx(40.0, rel=0.06)  # round letters and brush ends overshoot the capital line
    box = only(done(start, "letter-height", size_mm=40, of="total")).bounds
    assert box[3] - box[1] == pytest.approx(40.0)


@pytest.mark.parametrize(
    "transform",
    [Affine.scaled(2.0, 0.5), Affine.scaled(-3.0, 1.0), Affine(1.0, 0.0, 0.7, 2.0, 5.0, 5.0), Affine.scaled(0.5, -2.0)],
)
def test_lettering_pulled_out_of_shape_is_as_tall_and_as_wide_as_ordered(transform: Affine) -> None:
    start = job(word("HHH", transform=transform))
    box = only(done(start, "letter-height", size_mm=40, of="total")).bounds
    assert box[3] - box[1] == pytest.approx(40.0)
    fitted = only(done(start, "fit-width", width_mm=60, by="stretch"))
    assert set_block(fitted).advances.sum() * np.hypot(transform.a, transform.b) == pytest.approx(60.0)


def test_a_turned_and_pulled_word_is_measured_along_its_own_line() -> None:
    pulled = Affine.rotated(30.0).after(Affine.scaled(2.0, 0.5))
    assert (pulled.along_scale, pulled.height_scale) == pytest.approx((2.0, 0.5))
    assert Affine.scaled(0.0, 1.0).height_scale == 0.0


def test_a_width_is_kept_to_when_the_word_grows() -> None:
    narrow = done(job(word("Pud")), "fit-width", width_mm=60)
    assert only(narrow).setting.fit is Fit.SHRINK
    longer = set_outline(Lettering(**{**vars_of(only(narrow)), "text": "Puddlewick"}))
    assert longer.bounds[2] - longer.bounds[0] <= 61.0


def vars_of(lettering: Lettering) -> dict:
    """Return the fields of lettering."""
    return {name: getattr(lettering, name) for name in Lettering.__dataclass_fields__}


def test_what_a_step_does_not_name_stays_as_it_was() -> None:
    start = done(job(word()), "letter-height", size_mm=20, of="x")
    after = done(done(start, "letter-spacing", letters_mm=1.5), "slant", angle_deg=10)
    setting = only(after).setting
    assert (setting.height, setting.slant_deg, only(after).letter_spacing_mm) == (Height.X, 10.0, 1.5)
    assert only(done(after, "letter-spacing", lines=1.4)).letter_spacing_mm == 1.5


def test_another_font_says_which_letters_it_lacks() -> None:
    step = STEPS["set-font"]
    result = step.function(job(word("Tee 梟")), step.make({"family": "Josefin Sans", "weight": 700}), quiet)
    assert result.reports == ("The font has no “梟”.",)


@pytest.mark.parametrize("axes", ["wght", "wght=bold", "weight=400"])
def test_a_place_on_an_axis_that_makes_no_sense_is_refused(axes: str) -> None:
    with pytest.raises(CannotApply):
        done(job(word()), "set-font", axes=axes)


def test_shapes_have_nothing_to_set() -> None:
    with pytest.raises(CannotApply):
        done(job(Shape("s", rectangle(0, 0, 1, 1), Style(fill=BLACK))), "slant")


def test_lettering_whose_font_is_missing_is_not_set_anew_in_another() -> None:
    lost = Lettering(**{**vars_of(word()), "family": "Nowhere Script"})
    with pytest.raises(CannotApply) as refused:
        done(job(lost), "slant")
    assert "Nowhere Script" in refused.value.what
    assert only(done(job(lost), "set-font", family="Pacifico")).family == "Pacifico"


def test_lengths_of_a_bend_are_those_of_the_sheet_whatever_scale_the_lettering_has() -> None:
    large = word(transform=Affine.moved(30.0, 60.0).after(Affine.scaled(2.0)))
    same = set_outline(Lettering(**{**vars_of(large), "size_mm": 60.0, "transform": Affine.moved(30.0, 60.0)}))
    for name, values in (
        ("bend-along-arc", {"radius_mm": 300}),
        ("ripple", {"rise_mm": 4, "wave_mm": 50, "shift_mm": 7}),
        ("upright-arch", {"rise_mm": 12}),
        ("climb", {"rise_mm": -12}),
        ("four-corners", {"corners_mm": [5, -5, 0, 0, 0, 0, -5, 5]}),
    ):
        one, two = (only(done(job(each), name, **values)).bounds for each in (large, same))
        assert one == pytest.approx(two, abs=0.02), name
