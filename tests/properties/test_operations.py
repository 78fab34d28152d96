"""What must hold whatever the art: merging in any order, partition by cut-out and keep-common, undo after do."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bladewise import operations
from bladewise.document import Job
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.geometry.measures import area
from bladewise.geometry.path import Path, circle, ellipse, polygon, rectangle
from bladewise.history import History
from pieces import BLUE, ORANGE, job_of, shape

places = st.floats(20.0, 180.0).map(lambda value: round(value, 3))
sizes = st.floats(2.0, 40.0).map(lambda value: round(value, 3))
angles = st.floats(0.0, 360.0).map(lambda value: round(value, 2))


@st.composite
def outlines(draw: st.DrawFn) -> Path:
    x, y, size, other = draw(places), draw(places), draw(sizes), draw(sizes)
    kind = draw(st.sampled_from(["circle", "ellipse", "box", "star"]))
    if kind == "circle":
        path = circle((x, y), size)
    elif kind == "ellipse":
        path = ellipse((x, y), size, other)
    elif kind == "box":
        path = rectangle(x, y, size, other, min(size, other) / 3.0)
    else:
        path = polygon([(x, y), (x + size, y + other), (x - size, y + other / 3), (x + size, y + other / 4)])
    return path.transformed(Affine.rotated(draw(angles), about=(x, y)))


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    paths = draw(st.lists(outlines(), min_size=2, max_size=5))
    colours = draw(st.lists(st.sampled_from([ORANGE, BLUE]), min_size=len(paths), max_size=len(paths)))
    return job_of(*(shape(f"s{n}", path, fill) for n, (path, fill) in enumerate(zip(paths, colours, strict=True))))


def done(job: Job, do: str, **values: object) -> Job:
    return operations.apply(job, operations.step(do, values)).job


def total(job: Job) -> float:
    return sum(area(each.path) for each in job.shapes())


@given(jobs(), st.randoms(use_true_random=False))
def test_merging_gives_the_same_area_in_any_order(job: Job, chance: random.Random) -> None:
    children = list(job.layers[0].children)
    chance.shuffle(children)
    assert total(done(job_of(*children), "merge")) == pytest.approx(total(done(job, "merge")), abs=1e-4)


@given(jobs())
def test_cut_out_and_keep_common_part_the_area(job: Job) -> None:
    pair = job_of(*job.shapes()[:2])
    whole = total(done(job_of(pair.shapes()[0]), "untangle"))
    rest = total(done(pair, "cut-out", keep_cutter=False))
    try:
        common = total(done(pair, "keep-common"))
    except CannotApply:
        common = 0.0
    assert rest + common == pytest.approx(whole, abs=1e-4)


@given(jobs())
def test_what_shows_and_the_split_regions_cover_what_was_painted_once(job: Job) -> None:
    merged = total(done(job, "merge"))
    assert total(done(job, "visible-parts")) == pytest.approx(merged, abs=1e-4)
    assert total(done(job, "split-at-overlaps")) == pytest.approx(merged, abs=1e-4)


STEPS = st.sampled_from(
    [
        ("merge", {}),
        ("merge", {"by_colour": True}),
        ("cut-out", {}),
        ("visible-parts", {}),
        ("move", {"dx_mm": 3.5}),
        ("rotate", {"angle_deg": 17.0}),
        ("scale", {"width_mm": 120.0}),
        ("mirror", {}),
        ("duplicate", {"columns": 2}),
        ("group", {}),
        ("stepped-outline", {"distance_mm": 2.0}),
        ("separate-pieces", {}),
        ("reorder", {"on": "s0", "to": "front"}),
        ("delete", {"on": "s1"}),
        ("restyle", {"stroke": "#000000"}),
        ("set-material", {"material": "Gold foil"}),
        ("skew", {"across_deg": 12.0}),
        ("distribute", {"by": "left"}),
        ("equal-gaps", {"gap_mm": 2.0}),
        ("duplicate-in-ring", {"count": 3, "radius_mm": 60.0}),
        ("duplicate-here", {"on": "s0"}),
        ("draw-star", {}),
        ("part-along-line", {"points_mm": [0.0, 90.0, 200.0, 110.0]}),
        ("move-nodes", {"nodes": {"s0": [0, 2], "s1": [1]}, "dx_mm": 3.5, "dy_mm": -2.0}),
        ("move-handle", {"nodes": {"s0": [1]}, "x_mm": 90.0, "y_mm": 70.0, "keep": "smooth"}),
        ("node-kind", {"nodes": {"s0": [0, 1, 2, 3]}, "kind": "balanced"}),
        ("add-node", {"segments": {"s0": [0, 2]}, "at": 0.3}),
        ("delete-nodes", {"nodes": {"s1": [0, 2]}}),
        ("straighten", {"segments": {"s0": [1]}}),
        ("break-path", {"nodes": {"s0": [1]}}),
        ("join-ends", {"nodes": {"s0": [0, 4]}, "joint": "curve"}),
        ("reverse-path", {}),
    ]
)


@given(jobs(), st.lists(STEPS, max_size=5))
def test_undoing_every_step_gives_the_job_back_and_redoing_gives_it_again(job: Job, steps: list) -> None:
    history = History(job)
    for do, values in steps:
        try:
            history, _ = history.applied(operations.step(do, values))
        except CannotApply:
            continue
    last = history.job
    back = history.at(0)
    assert back.job is job
    assert back.at(history.position).job is last
    fresh = History.restored(job, history.entries, 0, job)
    assert fresh.at(len(history.rows)).job == last


@given(jobs(), st.lists(STEPS, min_size=1, max_size=4))
def test_ids_stay_unique_whatever_is_done(job: Job, steps: list) -> None:
    for do, values in steps:
        try:
            job = done(job, do, **values)
        except CannotApply:
            continue
        ids = [each.id for each in job.elements()] + [layer.id for layer in job.layers]
        assert len(ids) == len(set(ids))
