"""Lining up, distributing, equal gaps: places by closed form."""

import pytest

from bladewise import operations
from bladewise.document import Group, Job, Layer
from bladewise.errors import CannotApply
from bladewise.geometry.path import rectangle
from pieces import job_of, ring_and_bar, shape


def done(job, do, /, **values):
    return operations.apply(job, operations.step(do, values)).job


def lefts(job, axis=0):
    return {each.id: each.bounds[axis] for each in job.shapes()}


def row():
    """Widths 10, 20, 30, 10 at 0, 15, 70, 120, in no order of theirs in the layer."""
    boxes = {"c": (70, 30), "a": (0, 10), "d": (120, 10), "b": (15, 20)}
    return job_of(*(shape(key, rectangle(x, 0, width, 10)) for key, (x, width) in boxes.items()))


def column():
    return job_of(*(shape(key, rectangle(0, y, 10, 10)) for key, y in (("a", 0), ("b", 12), ("c", 60))))


def test_lining_up_with_each_other_and_with_the_sheet():
    job = ring_and_bar()
    assert done(job, "align", edge="left").element("bar").bounds[0] == pytest.approx(30.0)
    assert done(job, "align", edge="bottom").element("disc").bounds[3] == pytest.approx(80.0)
    for edge, axis, side in (("middle", 1, None), ("right", 0, 2), ("top", 1, 1)):
        moved = done(job, "align", edge=edge, to="sheet").bounds
        if side is None:
            assert moved[axis] + moved[axis + 2] == pytest.approx(200.0)
        else:
            assert moved[side] == pytest.approx(0.0 if side < 2 else 200.0)
        assert moved[2] - moved[0] == pytest.approx(40.0)  # as one: they keep their places to each other


def test_a_group_is_lined_up_as_one():
    group = Group("g", (shape("a", rectangle(0, 0, 5, 5)), shape("b", rectangle(20, 0, 5, 5))))
    job = Job("j", 100, 100, (Layer("l", "L", (group, shape("c", rectangle(50, 50, 5, 5)))),))
    lined = done(job, "align", edge="right")
    assert lefts(lined) == {"a": 30, "b": 50, "c": 50}


@pytest.mark.parametrize(
    ("which", "expected"),
    [("both", (80, 60, 120, 140)), ("across", (80, 20, 120, 100)), ("down", (30, 60, 70, 140))],
)
def test_art_comes_to_the_middle_of_the_sheet(which, expected):
    job = job_of(*ring_and_bar().shapes(), width_mm=200, height_mm=200)
    moved = done(job, "centre-on-sheet", which=which)
    assert moved.bounds[0:2] == pytest.approx((expected[0], moved.bounds[1]))
    assert moved.bounds == pytest.approx(
        {"both": (80, 70, 120, 130), "across": (80, 20, 120, 80), "down": (30, 70, 70, 130)}[which]
    )


def test_distributing_leaves_the_outermost_and_spaces_the_rest():
    assert lefts(done(row(), "distribute", by="left")) == pytest.approx({"a": 0, "b": 40, "c": 80, "d": 120})
    centres = {each.id: sum(each.bounds[0:3:2]) / 2 for each in done(row(), "distribute").shapes()}
    assert centres == pytest.approx({"a": 5, "b": 45, "c": 85, "d": 125})
    assert lefts(done(column(), "distribute", by="middle"), 1) == pytest.approx({"a": 0, "b": 30, "c": 60})


def test_equal_gaps_leave_the_outermost_or_take_the_gap_given():
    even = lefts(done(row(), "equal-gaps"))
    assert even == pytest.approx({"a": 0, "b": 30, "c": 70, "d": 120})  # 130 − 70 of art over three gaps: 20
    given = lefts(done(row(), "equal-gaps", gap_mm=5))
    assert given == pytest.approx({"a": 0, "b": 15, "c": 40, "d": 75})
    down = lefts(done(column(), "equal-gaps", way="down", gap_mm="1/4in"), 1)
    assert down == pytest.approx({"a": 0, "b": 16.35, "c": 32.7})


def test_equal_gaps_of_art_that_overlaps_share_the_overlap():
    job = job_of(
        shape("wide", rectangle(0, 0, 50, 5)),
        shape("one", rectangle(5, 0, 10, 5)),
        shape("two", rectangle(20, 0, 20, 5)),
    )
    moved = done(job, "equal-gaps")
    boxes = sorted((each.bounds for each in moved.shapes()), key=lambda box: box[0] + box[2])
    assert (boxes[0][0], boxes[2][2]) == (5, 40)
    assert boxes[1][0] - boxes[0][2] == pytest.approx(boxes[2][0] - boxes[1][2])


def test_too_few_are_refused_and_what_is_in_place_stays():
    two = job_of(*row().shapes()[:2])
    with pytest.raises(CannotApply, match="nothing to distribute between two"):
        done(two, "distribute")
    with pytest.raises(CannotApply, match="One alone has no gap"):
        done(job_of(row().shapes()[0]), "equal-gaps")
    with pytest.raises(CannotApply, match="Nothing in the job"):
        done(two, "centre-on-sheet", on="gone")
    even = done(row(), "equal-gaps")
    again = operations.apply(even, operations.step("equal-gaps"))
    assert not again.changes


def test_the_steps_say_what_they_do():
    say = {
        "Distribute all by centre": ("distribute", {}),
        "Equal gaps down, all, 6.35 mm": ("equal-gaps", {"way": "down", "gap_mm": "1/4in"}),
        "Centre all on the sheet": ("centre-on-sheet", {}),
        "Centre “a” on the sheet, across": ("centre-on-sheet", {"on": "a", "which": "across"}),
    }
    for words, (do, values) in say.items():
        assert operations.summary(operations.step(do, values)) == words
