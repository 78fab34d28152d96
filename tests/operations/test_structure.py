"""Order and belonging."""

import pytest

from bladewise import operations
from bladewise.document import Group, Job, Layer, MaterialKind, Shape, Stroke, Style
from bladewise.errors import CannotApply
from bladewise.geometry.path import circle, joined, polygon, rectangle
from pieces import BLUE, ORANGE, job_of, ring_and_bar, shape


def done(job, do, /, **values):
    return operations.apply(job, operations.step(do, values)).job


def letters(text="abcd"):
    return job_of(*(shape(letter, rectangle(10.0 * n, 0, 5, 5)) for n, letter in enumerate(text)))


def order(job):
    return "".join(each.id for each in job.shapes())


def test_a_group_takes_the_place_of_its_topmost_member():
    job = done(letters(), "group", on=["a", "c"], name="Pair")
    assert [each.id for each in job.layers[0].children] == ["b", "group", "d"]
    assert order(job) == "bacd"
    assert done(job, "ungroup", on={"id": "group"}).layers[0].children == tuple(
        job.element(key) for key in ("b", "a", "c", "d")
    )


def test_taking_a_group_apart_hands_its_opacity_and_hiding_on():
    group = Group("g", (shape("a", circle((5, 5), 2)),), opacity=0.5, visible=False)
    job = done(Job("j", 10, 10, (Layer("l", "L", (group,)),)), "ungroup", on={"id": "g"})
    assert job.element("a").style.opacity == 0.5
    assert not job.element("a").visible


def test_nested_groups_can_come_apart_at_once():
    inner = Group("inner", (shape("a", circle((5, 5), 2)),))
    job = Job("j", 10, 10, (Layer("l", "L", (Group("outer", (inner,)),)),))
    assert [each.id for each in done(job, "ungroup", nested=True).elements()] == ["a"]


def test_pieces_come_apart_with_their_holes():
    ring = joined([circle((20, 20), 10), circle((20, 20), 5).reversed(), rectangle(50, 0, 3, 3)])
    job = done(job_of(shape("word", ring)), "separate-pieces")
    assert [(each.id, len(each.path.starts)) for each in job.shapes()] == [("word", 2), ("word-piece", 1)]


@pytest.mark.parametrize(
    ("to", "expected"), [("front", "acdb"), ("back", "bacd"), ("forward", "acbd"), ("backward", "bacd")]
)
def test_art_moves_in_the_order(to, expected):
    assert order(done(letters(), "reorder", on="b", to=to)) == expected


def test_several_move_forward_together_and_stop_at_the_front():
    assert order(done(letters(), "reorder", on=["c", "d"], to="forward")) == "abcd"
    assert order(done(letters(), "reorder", on=["a", "c"], to="forward")) == "badc"


def test_art_goes_above_below_and_into():
    assert order(done(letters(), "reorder", on="a", above="c")) == "bcad"
    assert order(done(letters(), "reorder", on="d", below="b")) == "adbc"
    moved = done(letters(), "reorder", on="a", into="Top")
    assert [layer.name for layer in moved.layers] == ["Art", "Top"]
    assert order(moved) == "bcda"


def test_a_group_cannot_go_into_itself():
    job = done(letters(), "group", on=["a", "b"])
    with pytest.raises(CannotApply, match="into itself"):
        done(job, "reorder", on={"id": "group"}, into="group")
    with pytest.raises(CannotApply, match=r"inside the art being moved|not there"):
        done(job, "reorder", on={"id": "group"}, above={"id": "a"})


def test_layers_change_places():
    job = Job("j", 10, 10, tuple(Layer(key, key, (shape(f"s{key}", circle((5, 5), 1)),)) for key in "xyz"))
    assert [layer.id for layer in done(job, "reorder", on={"id": "x"}, to="front").layers] == ["y", "z", "x"]
    assert [layer.id for layer in done(job, "reorder", on={"id": "z"}, below={"id": "y"}).layers] == ["x", "z", "y"]
    assert [layer.id for layer in done(job, "reorder", on={"id": "x"}, to="forward").layers] == ["y", "x", "z"]


def test_shapes_and_layers_can_be_deleted():
    assert order(done(letters(), "delete", on=["a", "d"])) == "bc"
    assert done(letters(), "delete", on={"id": "art"}).layers == ()
    with pytest.raises(CannotApply):
        done(letters(), "delete", on={"id": "nobody"})


def test_names_go_to_shapes_layers_and_the_job():
    assert done(letters(), "rename", on="a", name="Beak").element("a").name == "Beak"
    assert done(letters(), "rename", on={"id": "art"}, name="Bird").layers[0].name == "Bird"
    assert done(letters(), "rename", name="Awning").name == "Awning"


def test_hidden_and_locked_art_is_passed_over_by_rules_but_not_by_name():
    job = done(done(letters(), "show", on="a", visible=False), "lock", on="b")
    assert order(done(job, "delete")) == "ab"
    assert order(done(job, "delete", on=["a"])) == "bcd"
    assert order(done(done(job, "show", on=["a"], visible=True), "delete", on={"fill": "#e69f00"})) == "b"


def test_a_new_material_takes_the_first_shapes_colour_and_a_known_one_is_found_by_name():
    job = done(ring_and_bar(), "set-material", on="disc", material="Gold foil")
    gold = job.material("gold-foil")
    assert (gold.colour, gold.kind) == (ORANGE, MaterialKind.CUT)
    job = done(job, "set-material", on="bar", material="Gold foil", kind="print", display="#c8a028")
    assert [material.kind for material in job.materials_in_use()] == [MaterialKind.PRINT]


def test_the_material_of_a_colour_can_be_changed_for_all_of_it():
    job = done(ring_and_bar(), "set-material", on={"fill": "#0072b2"}, material="Blue #0072b2", kind="guide")
    assert {material.name: material.kind for material in job.materials_in_use()} == {
        "Orange #e69f00": MaterialKind.CUT,
        "Blue #0072b2": MaterialKind.GUIDE,
    }


def test_a_layer_can_be_made_of_one_material():
    job = done(ring_and_bar(), "set-material", on={"id": "art"}, material="Print", kind="print")
    assert job.layers[0].material == "print"
    assert [material.name for material in job.materials_in_use()] == ["Print"]


def test_fill_and_stroke_change_apart():
    job = done(ring_and_bar(), "restyle", on="disc", fill="#fff", stroke="#000", stroke_width_mm=0.5, join="round")
    style = job.element("disc").style
    assert (style.fill.hex, style.stroke.paint.hex, style.stroke.width_mm, str(style.stroke.join)) == (
        "#ffffff",
        "#000000",
        0.5,
        "round",
    )
    bare = done(job, "restyle", on="disc", no_fill=True, no_stroke=True).element("disc").style
    assert (bare.fill, bare.stroke) == (None, None)


def test_open_outlines_close_and_a_wide_gap_can_be_left():
    angle = polygon([(0, 0), (10, 0), (10, 10)], closed=False)
    near = polygon([(0, 0), (10, 0), (10, 10), (0, 0.5)], closed=False)
    job = job_of(Shape("angle", angle, Style(ORANGE)), Shape("near", near, Style(ORANGE)))
    outcome = operations.apply(job, operations.step("close-outlines", {"gap_mm": 1.0}))
    assert [bool(each.path.closed[0]) for each in outcome.job.shapes()] == [False, True]
    assert "1 gap is wider than 1 mm" in outcome.reports[0]
    assert all(each.path.closed.all() for each in done(job, "close-outlines").shapes())


def test_untangling_leaves_what_was_painted():
    bow = polygon([(0, 0), (10, 10), (10, 0), (0, 10)])
    job = done(job_of(shape("bow", bow)), "untangle")
    assert len(job.element("bow").path.starts) == 2


def test_specks_go_and_the_piece_stays():
    path = joined([rectangle(0, 0, 10, 10), rectangle(20, 0, 0.3, 0.3)])
    job = done(job_of(shape("a", path), shape("dust", rectangle(50, 0, 0.1, 0.1), BLUE)), "drop-specks")
    assert [(each.id, len(each.path.starts)) for each in job.shapes()] == [("a", 1)]


def test_drawn_shapes_come_to_the_front():
    job = done(ring_and_bar(), "draw-rectangle", width_mm=20, height_mm=10, radius_mm=2)
    job = done(job, "draw-ellipse", x_mm=0, y_mm=0, width_mm=10, height_mm=10)
    job = done(job, "draw-outline", points_mm=[0, 0, 10, 0, 10, 10])
    assert order(job) == "discbarrectangleellipseoutline"
    assert len(job.element("rectangle").path) == 8
    with pytest.raises(CannotApply, match="two points"):
        done(job, "draw-outline", points_mm=[0, 0, 1])


def test_a_stroke_wider_than_zero_is_kept_and_zero_takes_it_away():
    job = job_of(Shape("a", rectangle(0, 0, 5, 5), Style(stroke=Stroke(BLUE, 1.0))))
    assert done(job, "restyle", stroke_width_mm=2).element("a").style.stroke.width_mm == 2.0
    assert done(job, "restyle", stroke_width_mm=0).element("a").style.stroke is None
