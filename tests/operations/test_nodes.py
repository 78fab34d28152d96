"""Node work as steps: what the operator names is done, is said in words, and what is not there is refused."""

import json

import pytest

from bladewise import operations
from bladewise.document import Job, Lettering, Shape, Stroke, Style
from bladewise.errors import CannotApply
from bladewise.geometry.path import circle, joined, polygon, rectangle
from bladewise.operations import Places
from pieces import BLUE, job_of, shape


def done(job, do, /, **values):
    return operations.apply(job, operations.step(do, values))


def path(outcome, key="a"):
    return outcome.job.element(key).path


def two() -> Job:
    line = Shape("b", polygon([(0, 50), (30, 50), (30, 70)], closed=False), Style(stroke=Stroke(BLUE, 0.1)), "Line")
    return job_of(shape("a", rectangle(10, 20, 40, 20)), line)


def test_places_go_to_plain_form_and_back():
    for plain in ({}, {"a": [3]}, {"bird": [3, 4], "cup": [0]}):
        places = Places.from_plain(plain)
        assert places.plain() == plain
        assert Places.from_plain(json.loads(json.dumps(places.plain()))) == places
        assert Places.from_plain(places.text) == places
    assert Places.from_plain("the bird 1 2; cup 0").plain() == {"the bird": [1, 2], "cup": [0]}
    assert Places.from_plain({"a": 4}).plain() == {"a": [4]}
    assert Places.from_plain({"a": [4, 4]}).count == 1


@pytest.mark.parametrize("plain", [7, {"a": []}, {"a": [-1]}, {"a": [0.5]}, {"a": [True]}, {"a": "x"}, "bird", [1, 2]])
def test_what_names_no_node_is_refused_in_words(plain):
    with pytest.raises(ValueError, match=r"given as a table|takes numbers from 0"):
        operations.step("move-nodes", {"nodes": plain})


def test_nodes_of_several_shapes_move_in_one_step():
    outcome = done(two(), "move-nodes", nodes={"a": [1, 2], "b": [0]}, dx_mm=5, dy_mm="1in")
    assert path(outcome) == polygon([(10, 20), (55, 45.4), (55, 65.4), (10, 40)])
    assert path(outcome, "b").points[0, 0].tolist() == [5, 75.4]
    assert outcome.changes.altered == {"a", "b"}
    assert outcome.made == ("a", "b")


def test_nodes_are_lined_up_by_number():
    outcome = done(two(), "place-nodes", nodes={"a": [0, 1]}, y_mm=10)
    assert path(outcome) == polygon([(10, 10), (50, 10), (50, 40), (10, 40)])


def test_a_node_added_and_deleted_leaves_the_shape_as_it_was():
    added = done(two(), "add-node", segments={"a": [0, 2]}, at=0.25)
    assert len(path(added)) == 6
    assert path(added).points[1, 0].tolist() == [20, 20]
    assert path(added).points[4, 0].tolist() == [40, 40]
    assert path(done(added.job, "delete-nodes", nodes={"a": [1, 4]})) == path(done(two(), "move-nodes", nodes={"a": 0}))


def test_a_shape_without_nodes_left_is_gone_and_that_is_said():
    outcome = done(two(), "delete-nodes", nodes={"b": [0, 1, 2]})
    assert outcome.job.element("b") is None
    assert outcome.reports == ("Nothing was left of “Line”; it is gone.",)
    assert not done(two(), "remove-segments", segments={"b": [0, 1]}).job.element("b")


def test_handles_kinds_and_segments():
    smooth = done(two(), "node-kind", nodes={"a": [0]}, kind="balanced").job
    moved = done(smooth, "move-handle", nodes={"a": [0]}, side="after", x_mm=20, y_mm=20)
    assert path(moved).points[0, 1].tolist() == [20, 20]
    assert path(moved).points[3, 2] == pytest.approx([0, 20])
    free = done(smooth, "move-handle", nodes={"a": [0]}, side="before", x_mm=1, y_mm=2, keep="corner")
    assert (path(free).points[0] == smooth.element("a").path.points[0]).all()
    straight = done(moved.job, "straighten", segments={"a": [0, 3]})
    assert path(straight) == rectangle(10, 20, 40, 20)
    assert path(done(two(), "line-to-curve", segments={"a": [0]})).kinds.tolist() == [3, 1, 1, 1]
    pulled = done(two(), "pull-segment", segments={"a": [0]}, at=0.5, dy_mm=-6)
    assert pulled.job.element("a").bounds[1] == pytest.approx(14)


def test_outlines_break_and_close():
    broken = done(two(), "break-path", nodes={"a": [2]})
    assert path(broken).closed.tolist() == [False]
    closed = done(broken.job, "close-path", nodes={"a": [0], "b": [1]})
    assert path(closed).closed.all()
    assert path(closed, "b").closed.all()
    again = done(closed.job, "close-path", nodes={"a": [0]})
    assert not again.changes
    assert again.reports == ("These outlines are closed already.",)


def test_ends_of_two_shapes_join_into_the_first():
    other = Shape("c", polygon([(60, 70), (60, 90)], closed=False), Style(stroke=Stroke(BLUE, 0.1)))
    job = job_of(*two().shapes(), other)
    outcome = done(job, "join-ends", nodes={"b": [2], "c": [0]})
    assert outcome.job.element("c") is None
    assert path(outcome, "b") == polygon([(0, 50), (30, 50), (30, 70), (60, 70), (60, 90)], closed=False)
    assert outcome.made == ("b",)
    meet = done(job, "join-ends", nodes={"c": [0], "b": [2]}, joint="meet")
    assert path(meet, "c") == polygon([(0, 50), (30, 50), (45, 70), (60, 90)], closed=False)
    loop = done(job, "join-ends", nodes={"b": [0, 2]}, joint="line")
    assert path(loop, "b") == polygon([(0, 50), (30, 50), (30, 70)])


def test_outlines_turn_about_and_begin_elsewhere():
    both = job_of(shape("a", joined([rectangle(0, 0, 9, 9), circle((50, 50), 5)])))
    turned = done(both, "reverse-path")
    assert path(done(turned.job, "reverse-path")) == both.element("a").path
    one = path(done(both, "reverse-path", nodes={"a": [5]}))
    assert (one.points[:4] == both.element("a").path.points[:4]).all()
    assert one != both.element("a").path
    started = path(done(both, "start-node", nodes={"a": [2, 4]}))
    assert started.points[0, 0].tolist() == [9, 9]
    assert (started.points[4:] == both.element("a").path.points[4:]).all()


@pytest.mark.parametrize(
    ("do", "values", "message"),
    [
        ("move-nodes", {}, "No node was named"),
        ("move-nodes", {"nodes": {"a": [4]}}, "no node 4 here: the numbers run from 0 to 3"),
        ("move-nodes", {"nodes": {"gone": [0]}}, "not there"),
        ("move-nodes", {"nodes": {"text": [0]}}, "Live lettering has no nodes"),
        ("straighten", {"segments": {"b": [2]}}, "no segment 2 here"),
        ("add-node", {}, "No segment was named"),
        ("move-handle", {"nodes": {"a": [0, 1]}}, "takes one node, not 2"),
        ("move-handle", {"nodes": {"b": [0]}, "side": "before"}, "nothing before this node"),
        ("pull-segment", {"segments": {"a": [0, 1]}}, "takes one segment, not 2"),
        ("join-ends", {"nodes": {"b": [0]}}, "takes two ends, not 1"),
        ("join-ends", {"nodes": {"b": [0, 1]}}, "no end of an open line"),
        ("join-ends", {"nodes": {"b": [0], "a": [1]}}, "no end of an open line"),
        ("start-node", {"nodes": {"b": [1]}}, "begins at one of its ends"),
        ("start-node", {"nodes": {"a": [1, 2]}}, "begins at one node"),
    ],
)
def test_what_cannot_be_done_is_refused_and_the_job_stays(do, values, message):
    job = job_of(*two().shapes(), Lettering("text", "Cup", "", 10))
    with pytest.raises(CannotApply, match=message):
        done(job, do, **values)


@pytest.mark.parametrize(
    ("do", "values", "words"),
    [
        ("move-nodes", {"nodes": {"a": [1]}, "dx_mm": 3}, "Move a node by 3, 0 mm"),
        ("move-nodes", {"nodes": {"a": [1], "b": [0]}, "dy_mm": -1}, "Move 2 nodes by 0, -1 mm"),
        ("place-nodes", {"nodes": {"a": [1]}, "x_mm": 10, "y_mm": 20}, "Place a node at x 10, y 20 mm"),
        ("move-handle", {"nodes": {"a": [1]}, "x_mm": 1}, "Move a handle to 1, 0 mm"),
        ("node-kind", {"nodes": {"a": [1, 2]}}, "Make 2 nodes smooth"),
        ("node-kind", {"nodes": {"a": [1]}, "kind": "corner"}, "Make a node a corner"),
        ("add-node", {"segments": {"a": [1]}}, "Add a node"),
        ("delete-nodes", {"nodes": {"a": [1, 2, 3]}}, "Delete 3 nodes"),
        ("straighten", {"segments": {"a": [1]}}, "Straighten a segment"),
        ("line-to-curve", {"segments": {"a": [1, 2]}}, "Make 2 segments curves"),
        ("pull-segment", {"segments": {"a": [1]}, "dx_mm": 2}, "Pull a segment by 2, 0 mm"),
        ("break-path", {"nodes": {"a": [1]}}, "Break at a node"),
        ("join-ends", {"nodes": {"a": [1, 2]}, "joint": "curve"}, "Join two ends with a smooth curve"),
        ("close-path", {"nodes": {"a": [1]}}, "Close an outline"),
        ("reverse-path", {"on": "a"}, "Reverse “a”"),
        ("start-node", {"nodes": {"a": [1]}}, "Start at another node"),
    ],
)
def test_every_step_says_what_it_does(do, values, words):
    assert operations.summary(operations.step(do, values)) == words
