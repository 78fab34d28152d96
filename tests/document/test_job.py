"""The job as a value."""

import math
from dataclasses import FrozenInstanceError, replace

import numpy as np
import pytest

from bladewise.document import (
    PRINT,
    Colour,
    Group,
    Job,
    Layer,
    Lettering,
    Material,
    MaterialKind,
    Picture,
    Shape,
    Stroke,
    Style,
    colour_word,
    measure_together,
    outline_of,
)
from bladewise.document.style import Gradient, GradientKind, Stop
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import circle, joined, rectangle
from pieces import BLUE, ORANGE, job_of, ring_and_bar, shape, two_circles


def test_nothing_in_a_job_can_be_changed_in_place():
    job = two_circles()
    with pytest.raises(FrozenInstanceError):
        job.name = "other"
    with pytest.raises(ValueError, match="read-only"):
        job.shapes()[0].path.points[0, 0, 0] = 5.0


def test_a_changed_job_shares_what_did_not_change():
    job = ring_and_bar()
    changed = job.replaced({"bar": (replace(job.element("bar"), name="Beam"),)})
    assert changed.element("disc") is job.element("disc")
    assert job.element("bar").name == "Bar"
    assert job.changes_to(changed).altered == {"bar"}


def test_a_shape_that_goes_to_the_next_layer_is_a_change_though_the_order_of_all_stays():
    a, b, c = (shape(name, rectangle(0, 0, 1, 1)) for name in "abc")
    before = Job("j", 10, 10, (Layer("back", "Back", (a, b)), Layer("front", "Front", (c,))))
    after = Job("j", 10, 10, (Layer("back", "Back", (a,)), Layer("front", "Front", (b, c))))
    assert before.changes_to(after).structure


def test_a_group_inside_another_is_not_taken_for_one_beside_it():
    x, y, z = (shape(name, rectangle(0, 0, 1, 1)) for name in "xyz")
    beside = Layer("l", "L", (Group("a", (x, y)), Group("b", (z,))))
    inside = Layer("l", "L", (Group("a", (Group("b", (x,)), y)), z))
    assert Job("j", 10, 10, (beside,)).changes_to(Job("j", 10, 10, (inside,))).structure


def test_the_bounds_of_a_circle_are_exact():
    assert circle((50.0, 50.0), 20.0).transformed(Affine.rotated(33.0, about=(50.0, 50.0))).bounds() == pytest.approx(
        (30.0, 30.0, 70.0, 70.0), abs=1e-12
    )


def test_a_group_left_empty_disappears():
    job = Job("j", 10, 10, (Layer("l", "L", (Group("g", (shape("a", rectangle(0, 0, 1, 1)),)),)),))
    assert job.without({"a"}).layers[0].children == ()


def test_a_fresh_id_never_meets_one_in_use():
    job = job_of(shape("a", rectangle(0, 0, 1, 1)), shape("a-2", rectangle(0, 0, 1, 1)))
    assert job.fresh_id("a") == "a-3"
    assert job.fresh_id("a", taken={"a-3"}) == "a-4"
    assert job.fresh_id("art") == "art-2"  # a layer has it


def test_a_flat_colour_stands_for_a_vinyl_until_one_is_chosen():
    job = ring_and_bar()
    assert [(material.name, material.kind) for material in job.materials_in_use()] == [
        ("Orange #e69f00", MaterialKind.CUT),
        ("Blue #0072b2", MaterialKind.CUT),
    ]
    gold = Material("gold", "Gold foil", Colour(200, 160, 40))
    chosen = job.with_material(gold).replaced({"disc": (replace(job.element("disc"), material="gold"),)})
    assert gold in chosen.materials_in_use()


def test_a_layers_material_holds_for_all_on_it_but_a_shapes_own_wins():
    job = ring_and_bar().with_material(PRINT).with_material(Material("v", "Vinyl", ORANGE))
    job = job.with_layer(replace(job.layers[0], material=PRINT.id))
    job = job.replaced({"bar": (replace(job.element("bar"), material="v"),)})
    assert [job.material_of(placed).id for placed in job.walk()] == ["print", "v"]


def test_gradients_and_pictures_are_print_and_what_has_no_paint_is_a_guide():
    fade = Gradient(GradientKind.LINEAR, (0, 0), (1, 0), (Stop(0, ORANGE), Stop(1, BLUE)))
    job = job_of(
        Shape("fade", rectangle(0, 0, 5, 5), Style(fill=fade)),
        Shape("bare", rectangle(0, 0, 5, 5)),
        Picture("p", b"", "image/png", Affine.scaled(5.0)),
    )
    assert [job.material_of(placed).kind for placed in job.walk()] == [
        MaterialKind.PRINT,
        MaterialKind.GUIDE,
        MaterialKind.PRINT,
    ]


def test_hidden_art_is_in_no_material():
    job = ring_and_bar()
    job = job.replaced({"bar": (replace(job.element("bar"), visible=False),)})
    assert [material.name for material in job.materials_in_use()] == ["Orange #e69f00"]


def test_an_even_scale_scales_a_stroke_and_an_uneven_one_gives_it_a_pen():
    line = Shape("s", rectangle(0, 0, 10, 10), Style(stroke=Stroke(ORANGE, 2.0, dash=(3.0, 1.0))))
    even = line.transformed(Affine.scaled(3.0).after(Affine.rotated(20.0)))
    assert even.style.stroke.width_mm == pytest.approx(6.0)
    assert even.style.stroke.dash == pytest.approx((9.0, 3.0))
    assert even.style.stroke.pen is None
    uneven = line.transformed(Affine.scaled(3.0, 1.0))
    assert uneven.style.stroke.width_mm == 2.0
    assert uneven.style.stroke.pen == Affine(3.0, 0.0, 0.0, 1.0)
    kept = line.transformed(Affine.scaled(3.0, 1.0), scale_strokes=False)
    assert kept.style.stroke == line.style.stroke


def test_a_picture_turned_by_45_degrees_takes_its_diagonal():
    picture = Picture("p", b"", "image/png", Affine.scaled(10.0)).transformed(Affine.rotated(45.0, about=(5.0, 5.0)))
    half = 5.0 * math.sqrt(2.0)
    assert picture.bounds == pytest.approx((5 - half, 5 - half, 5 + half, 5 + half))


def test_the_outline_of_a_group_is_all_its_outlines():
    letters = Lettering("t", "a", "x", 10.0, outline=rectangle(0, 0, 1, 1))
    group = Group("g", (shape("a", rectangle(0, 0, 1, 1)), letters, Picture("p", b"", "image/png", Affine())))
    assert len(outline_of(group).starts) == 2


def test_affine_turns_undo_themselves():
    turn = Affine.rotated(37.0, about=(3.0, 4.0)).after(Affine.scaled(2.0, -0.5))
    points = np.array([[1.0, 2.0], [-3.0, 5.0]])
    assert turn.inverse().apply(turn.apply(points)) == pytest.approx(points)


@pytest.mark.parametrize(
    ("colour", "word"),
    [
        ("#000000", "Black"),
        ("#fff", "White"),
        ("#808080", "Grey"),
        ("#e69f00", "Orange"),
        ("#0072b2", "Blue"),
        ("#8b4513", "Brown"),
    ],
)
def test_colours_have_plain_words(colour, word):
    assert colour_word(Colour.from_hex(colour)) == word


def test_luminance_is_that_of_wcag():
    # WCAG 2.2, "relative luminance": white 1, black 0; sRGB red 0.2126
    assert Colour(255, 255, 255).luminance == pytest.approx(1.0)
    assert Colour(255, 0, 0).luminance == pytest.approx(0.2126)


def test_leaves_measured_together_are_measured_to_the_bit_as_each_alone():
    paths = [circle((index * 3.1, 7.7), 1.0 + index / 3.0) for index in range(12)]
    shapes = [shape(f"s{index}", path) for index, path in enumerate(paths)]
    measure_together([Group("g", tuple(shapes[:5])), *shapes[5:], shape("none", joined([]))])
    for each in shapes:
        assert vars(each)["bounds"] == each.path.bounds()
