"""Copies: rows, columns and rings by closed form; art that goes from one job to another and loses nothing."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise import operations
from bladewise.document import Colour, Group, Job, Layer, Lettering, Material, Picture, Shape, Stroke, Style
from bladewise.document.plain import from_plain, to_plain
from bladewise.document.style import Gradient, GradientKind, Stop
from bladewise.document.typesetting import Bending, BendKind, Typesetting
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import EMPTY, PathBuilder, circle, joined, rectangle
from bladewise.geometry.strokes import LineJoin
from bladewise.operations import Selection
from bladewise.operations.duplicating import copied, holds_art
from bladewise.session import Session
from pieces import BLUE, ORANGE, job_of, shape


def done(job, do, /, **values):
    return operations.apply(job, operations.step(do, values)).job


def one():
    return job_of(shape("a", rectangle(10, 20, 40, 20)))


def centre(each):
    return (each.bounds[0] + each.bounds[2]) / 2, (each.bounds[1] + each.bounds[3]) / 2


# ---------------------------------------------------------------------------- rows, columns, rings


def test_rows_and_columns_keep_the_gap_and_every_copy_has_its_own_id():
    job = done(one(), "duplicate", columns=3, rows=2, gap_mm=5)
    boxes = sorted(each.bounds for each in job.shapes())
    assert len({each.id for each in job.shapes()}) == 6
    assert boxes[0] == (10, 20, 50, 40)
    assert boxes[-1] == pytest.approx((100, 45, 140, 65))
    apart = done(one(), "duplicate", columns=2, rows=2, gap_mm=5, row_gap_mm=1)
    assert apart.bounds == pytest.approx((10, 20, 95, 61))


def test_a_duplicated_group_has_fresh_ids_all_the_way_down():
    job = Job("j", 100, 100, (Layer("l", "L", (Group("g", (shape("a", circle((5, 5), 2)),)),)),))
    copies = done(job, "duplicate", on={"id": "g"})
    assert [each.id for each in copies.elements()] == ["g", "a", "g-2", "a-2"]


def test_an_absurd_number_of_copies_is_refused():
    with pytest.raises(CannotApply, match="1000000 pieces"):
        done(one(), "duplicate", columns=1000, rows=1000)


@given(st.integers(2, 24), st.floats(5.0, 300.0), st.booleans())
@settings(max_examples=40)
def test_a_ring_lies_on_its_circle_at_equal_angles(count, radius, turned):
    small = job_of(shape("a", rectangle(96, 48, 8, 4)))
    ring = done(small, "duplicate-in-ring", count=count, radius_mm=radius, turned=turned)
    assert len(ring.shapes()) == count
    for number, each in enumerate(ring.shapes()):
        turn = 2.0 * math.pi * number / count
        expected = (100 + radius * math.sin(turn), 50 + radius - radius * math.cos(turn))
        corners = each.path.points[:, 0]
        assert corners.mean(axis=0) == pytest.approx(expected, abs=1e-9)
        along = corners[1] - corners[0]
        assert math.atan2(along[1], along[0]) == pytest.approx(
            math.remainder(turn, 2.0 * math.pi) if turned else 0.0, abs=1e-9
        ) or math.cos(turn) == pytest.approx(-1.0)


def test_a_ring_about_a_point_and_part_of_one():
    small = job_of(shape("a", rectangle(96, 48, 8, 4)))
    about = done(small, "duplicate-in-ring", count=4, about_x_mm=60, about_y_mm=50, turned=False)
    centres = np.array([centre(each) for each in about.shapes()])
    assert centres == pytest.approx(np.array([(100, 50), (60, 90), (20, 50), (60, 10)]))
    assert [each.bounds[2] - each.bounds[0] for each in about.shapes()] == pytest.approx([8.0] * 4)
    half = done(small, "duplicate-in-ring", count=3, radius_mm=50, sweep_deg=180)
    centres = np.array([centre(each) for each in half.shapes()])
    assert centres == pytest.approx(np.array([(100, 50), (150, 100), (100, 150)]))
    back = done(small, "duplicate-in-ring", count=3, radius_mm=50, sweep_deg=-180)
    assert centre(back.shapes()[1]) == pytest.approx((50, 100))


def test_a_copy_in_place_is_what_is_worked_on_next():
    outcome = operations.apply(one(), operations.step("duplicate-here", {}))
    assert outcome.made == ("a-2",)
    assert outcome.job.element("a-2").path == one().element("a").path
    moved = done(one(), "duplicate-here", dx_mm=3, dy_mm=-2)
    assert moved.element("a-2").bounds == (13, 18, 53, 38)


# ---------------------------------------------------------------------------- copy and paste


def rich():
    """A job with something of everything."""
    pen = PathBuilder()
    pen.move_to((0.1, 1 / 3))
    pen.quadratic_to((5, 9), (10, 0))
    pen.cubic_to((12, 1), (14, -1e-17), (20, 1e-9))
    paint = Gradient(GradientKind.RADIAL, (0, 0), (1, 1), (Stop(0, ORANGE), Stop(1, BLUE, 0.5)), 3.0)
    stroke = Stroke(paint, 0.7, join=LineJoin.BEVEL, dash=(3.0, 1.5), pen=Affine(2, 0, 0, 1, 0, 0))
    bending = Bending(kind=BendKind.PATH, shift_mm=1 / 3, path=circle((0, 0), 9))
    bent = Typesetting(width_mm=80.0, features=("liga", "ss01"), axes=(("wght", 350.0),), bending=bending)
    art = Group(
        "g",
        (
            Shape("s", joined([pen.path(), circle((3, 3), 2)]), Style(paint, stroke=stroke), "Bird", "gold"),
            Lettering("t", "Cup\nof “tea”", "Sans", 12.0, Style(BLUE), setting=bent, outline=rectangle(0, 0, 3, 4)),
            Picture("p", bytes(range(256)), "image/png", Affine(10, 0, 0, 10, 3, 4)),
            Shape("none", EMPTY),
        ),
        "Group",
        opacity=0.5,
    )
    layer = Layer("l", "Art", (art, shape("a", rectangle(10, 20, 40, 20))))
    return Job(
        "Rich", 100, 100, (layer,), (Material("gold", "Gold foil", Colour(1, 2, 3)), Material("x", "Other", BLUE))
    )


def test_every_element_goes_to_plain_data_and_back_to_the_last_bit():
    for element in rich().layers[0].children:
        text = json.dumps(to_plain(element))
        assert from_plain(json.loads(text)) == element
    assert "opacity" not in json.dumps(to_plain(shape("a", rectangle(0, 0, 1, 1))))


@pytest.mark.parametrize(
    "plain",
    [
        None,
        7,
        {},
        {"is": "Nothing"},
        {"is": "Shape"},
        {"is": "Shape", "id": 3, "path": ""},
        {"is": "Shape", "id": "a", "path": "M 1"},
        {"is": "Shape", "id": "a", "path": "X 1 2"},
        {"is": "Shape", "id": "a", "path": "M 1 2 L x 4"},
        {"is": "Shape", "id": "a", "path": "", "visible": 1},
        {"is": "Shape", "id": "a", "path": "", "paint": 1},
        {"is": "Shape", "id": "a", "path": "", "style": {"is": "Affine"}},
        {"is": "Shape", "id": "a", "path": "", "style": {"is": "Style", "fill_rule": "odd"}},
        {"is": "Picture", "id": "a", "data": "é", "media_type": "", "transform": {"is": "Affine"}},
        {"is": "Colour", "red": 1, "green": 2},
    ],
)
def test_data_that_describes_nothing_is_refused(plain):
    with pytest.raises(ValueError, match=r"."):
        from_plain(plain)


def test_groups_nested_without_end_are_refused():
    plain = to_plain(shape("a", rectangle(0, 0, 1, 1)))
    for _ in range(150):
        plain = {"is": "Group", "id": "g", "children": [plain]}
    with pytest.raises(ValueError, match="too deeply"):
        from_plain(plain)


def test_art_pasted_into_another_job_is_the_same_art_with_ids_of_its_own():
    text = copied(rich(), Selection.of("g"))
    assert holds_art(text)
    outcome = operations.apply(job_of(shape("s", circle((5, 5), 1))), operations.step("paste", {"art": text}))
    (group,) = [each for each in outcome.job.elements() if each.id in outcome.made]
    assert [child.id for child in group.children] == ["s-2", "t", "p", "none"]
    original = rich().element("g")
    assert tuple(replace(child, id=old.id) for child, old in zip(group.children, original.children, strict=True)) == (
        original.children
    )
    assert [each.id for each in outcome.job.materials] == ["gold"]
    again = operations.apply(outcome.job, operations.step("paste", {"art": text, "dx_mm": 5}))
    assert again.job.element(again.made[0]).bounds[0] == pytest.approx(group.bounds[0] + 5)
    ids = [each.id for each in again.job.elements()]
    assert len(ids) == len(set(ids))
    assert len(again.job.materials) == 1


def test_art_is_pasted_into_a_layer_by_name():
    job = Job("j", 100, 100, (Layer("l1", "Under"), Layer("l2", "Over")))
    pasted = done(job, "paste", art=copied(one(), Selection()), into="Under")
    assert [len(layer.children) for layer in pasted.layers] == [1, 0]
    with pytest.raises(CannotApply, match="no layer “Nowhere”"):
        done(job, "paste", art=copied(one(), Selection()), into="Nowhere")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "Cup",
        "bladewise art 1\n",
        "bladewise art 1\n{}",
        'bladewise art 1\n{"elements":[],"materials":[]}',
        'bladewise art 1\n{"elements":[{"is":"Colour","red":1,"green":2,"blue":3}],"materials":[]}',
    ],
)
def test_a_text_that_is_no_art_is_refused(text):
    with pytest.raises(CannotApply, match="no art that was copied"):
        done(one(), "paste", art=text)


def test_nothing_chosen_is_not_copied():
    with pytest.raises(CannotApply, match="Nothing in the job"):
        copied(one(), Selection.of("gone"))


def test_a_paste_is_undone_redone_and_saved_like_any_step(tmp_path):
    session = Session.new("Sign", 300, 100)
    session.do("paste", art=copied(rich(), Selection()))
    pasted = session.job
    session.undo()
    assert not list(session.job.elements())
    session.redo()
    assert session.job == pasted
    session.save(tmp_path / "sign.svg")
    assert operations.summary(Session.open(tmp_path / "sign.svg").history.entries[0].step) == "Paste 2 shapes"


def test_the_steps_say_what_they_do():
    say = {
        "Duplicate all in a ring of 8": ("duplicate-in-ring", {"count": 8}),
        "Duplicate all in a ring of 6 over 90°, upright": ("duplicate-in-ring", {"sweep_deg": 90, "turned": False}),
        "Duplicate “a” in place": ("duplicate-here", {"on": "a"}),
        "Duplicate all, moved by 3, 0 mm": ("duplicate-here", {"dx_mm": 3}),
        "Paste a shape": ("paste", {"art": copied(one(), Selection())}),
        "Paste": ("paste", {}),
    }
    for words, (do, values) in say.items():
        assert operations.summary(operations.step(do, values)).replace("1 shape", "a shape") == words
