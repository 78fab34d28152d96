"""What else is selected: by paint, layer, material and size, and the rest."""

from dataclasses import replace

from bladewise.document import Group, Job, Layer, Material, Picture, Shape, Stroke, Style
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import EMPTY, rectangle
from bladewise.operations import selecting
from pieces import BLUE, ORANGE, shape


def box(key, size, fill=ORANGE, stroke=None, **more):
    return replace(shape(key, rectangle(0, 0, size, size / 2), fill, stroke), **more)


def job():
    art = (
        box("a", 30),
        box("b", 3, BLUE, Stroke(ORANGE, 1.0)),
        Group("g", (box("c", 5), box("d", 8, None, Stroke(ORANGE, 2.0)))),
        box("hidden", 30, visible=False),
        box("locked", 30, locked=True),
        Picture("p", b"", "image/png", Affine(2, 0, 0, 2, 0, 0)),
    )
    over = (box("e", 40, BLUE, material="gold"), Shape("empty", EMPTY, Style()))
    return Job("j", 90, 90, (Layer("l1", "One", art), Layer("l2", "Two", over)), (Material("gold", "Gold", BLUE),))


def test_the_same_fill_stroke_layer_or_material():
    assert selecting.same_fill(job(), ["a"]) == ("a", "c")
    assert selecting.same_fill(job(), ["a", "b"]) == ("a", "b", "c", "e")
    assert selecting.same_fill(job(), ["d"]) == ("d", "empty")
    assert selecting.same_stroke(job(), ["b"]) == ("b", "d")
    assert selecting.same_stroke(job(), ["a"]) == ("a", "c", "e", "empty")
    assert selecting.same_layer(job(), ["e"]) == ("e", "empty")
    assert selecting.same_material(job(), ["b"]) == ("b",)
    assert selecting.same_material(job(), ["e"]) == ("e",)


def test_a_group_stands_for_what_it_holds_and_pictures_have_no_paint():
    assert selecting.same_fill(job(), ["g"]) == ("a", "c", "d", "empty")
    assert selecting.same_fill(job(), ["p"]) == ()
    assert selecting.same_stroke(job(), ["p"]) == ()


def test_small_art_is_found_and_a_limit_is_not_below_itself():
    assert selecting.smaller_than(job(), 5) == ("b", "p", "empty")
    assert selecting.smaller_than(job(), 8.001) == ("b", "c", "d", "p", "empty")


def test_the_rest_is_what_is_not_selected_and_can_be():
    assert selecting.inverted(job(), ["a", "g"]) == ("b", "p", "e", "empty")
    everything = selecting.inverted(job(), [])
    assert selecting.inverted(job(), everything) == ()
