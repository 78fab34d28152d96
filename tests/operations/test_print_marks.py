"""Printed marks around art that is cut: where they stand, what is kept free, what is said when there is no room."""

import itertools
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise import operations
from bladewise.document import Layer, MaterialKind, Stroke
from bladewise.errors import CannotApply
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import area
from bladewise.geometry.path import circle, polygon, rectangle
from bladewise.operations.marking import MarkKind, mark_outline, marks_in
from bladewise.operations.painted import HAIRLINE_MM
from bladewise.units import format_number
from pieces import BLUE, job_of, ring_and_bar, shape


def done(job, /, **values):
    return operations.apply(job, operations.step("print-marks", values))


def badge():
    return job_of(shape("badge", rectangle(60, 70, 80, 50)))


def middles(job):
    return [((box[0] + box[2]) / 2, (box[1] + box[3]) / 2) for box in (mark.bounds for mark in marks_in(job))]


def test_four_marks_stand_off_the_art_and_one_more_shows_a_turned_sheet():
    outcome = done(badge(), size_mm=5, gap_mm=8, quiet_mm=3)
    assert middles(outcome.job)[:4] == [(49.5, 59.5), (150.5, 59.5), (150.5, 130.5), (49.5, 130.5)]
    *corners, turn = marks_in(outcome.job)
    assert {round(each.bounds[2] - each.bounds[0], 9) for each in corners} == {5.0}
    assert turn.bounds[2] - turn.bounds[0] == pytest.approx(2.5)
    assert outcome.reports == ("5 marks printed, 3 mm kept free about each.",)
    assert [each.name for each in marks_in(outcome.job)][:2] == ["Print mark 1", "Print mark 2"]
    half_turned = {(200 - x, 200 - y) for x, y in middles(outcome.job)}
    assert half_turned != set(middles(outcome.job))


def test_marks_are_of_the_prints_material_on_a_layer_of_their_own_at_the_front():
    job = done(badge()).job
    assert job.layers[-1].name == "Print marks"
    assert {job.material_of(job.placed(mark.id)).kind for mark in marks_in(job)} == {MaterialKind.PRINT}


def test_no_side_of_the_sheet_is_longer_without_a_mark_than_was_asked():
    job = done(job_of(shape("strip", rectangle(20, 20, 900, 40)), width_mm=960, height_mm=90), every_mm=300).job
    top = sorted(x for x, y in middles(job) if y < 20)
    assert len(top) == 6  # five and the one that shows a turned sheet
    assert max(b - a for a, b in itertools.pairwise(top)) <= 300


@pytest.mark.parametrize("kind", ["cross", "square", "round", "corner"])
def test_each_kind_is_one_closed_outline_of_its_size(kind):
    for right in (-1, 1):
        for down in (-1, 1):
            path = mark_outline(MarkKind(kind), (10.0, 20.0), 3.0, arm_mm=0.25, corner=(right, down))
            assert path.bounds() == pytest.approx((7.0, 17.0, 13.0, 23.0))
            assert len(path.starts) == 1
            assert path.closed.all()
            assert area(path) > 0.0  # clockwise on the screen, as every area of ours
    if kind == "corner":
        assert area(path) == pytest.approx(2 * 6 * 0.5 - 0.25)


def test_a_sheet_without_room_grows_and_says_so_and_the_art_keeps_its_place_on_it():
    art = job_of(shape("all", rectangle(0, 0, 200, 100)), height_mm=100)
    outcome = done(art, size_mm=5, gap_mm=8, quiet_mm=3)
    assert (outcome.job.width_mm, outcome.job.height_mm) == (232.0, 132.0)
    assert outcome.job.element("all").bounds == (16.0, 16.0, 216.0, 116.0)
    assert outcome.reports[-1] == "The sheet grew to 232 × 132 mm."


def test_asked_to_refuse_it_says_how_much_room_is_lacking():
    with pytest.raises(CannotApply, match="lacks 16 mm"):
        done(job_of(shape("all", rectangle(0, 0, 200, 200))), room="refuse")


def test_from_the_sheets_edges_the_art_in_the_way_is_named():
    job = job_of(shape("lower", rectangle(180, 180, 19, 19)), shape("middle", circle((100, 100), 40)))
    with pytest.raises(CannotApply, match="“Lower” lies in the quiet zone"):
        done(job, inset_mm=5, room="refuse")
    grown = done(job, inset_mm=5).job
    assert grown.width_mm > job.width_mm
    assert middles(grown)[0] == (7.5, 7.5)


def test_art_beside_what_was_chosen_is_in_the_way_and_named():
    job = job_of(shape("badge", rectangle(60, 70, 80, 50)), shape("other", rectangle(45, 55, 6, 6), BLUE))
    with pytest.raises(CannotApply, match="“Other” lies in the quiet zone"):
        done(job, on={"name": "Badge"})


def test_an_outline_that_passes_through_a_zone_is_in_the_way_and_one_around_the_sheet_is_not():
    frame = shape("frame", rectangle(1, 1, 198, 198), fill=None, stroke=Stroke(BLUE, 0.05))
    job = job_of(shape("badge", rectangle(60, 70, 80, 50)), frame)
    assert len(marks_in(done(job, on={"name": "Badge"}).job)) == 5
    line = shape("line", polygon([(0, 59.5), (200, 59.5)], closed=False), fill=None, stroke=Stroke(BLUE, 0.05))
    with pytest.raises(CannotApply, match="“Line”"):
        done(job_of(shape("badge", rectangle(60, 70, 80, 50)), line), on={"name": "Badge"})


def test_a_full_sheet_behind_everything_is_in_the_way_of_marks():
    job = job_of(shape("ground", rectangle(0, 0, 200, 200), BLUE), shape("badge", rectangle(60, 70, 80, 50)))
    with pytest.raises(CannotApply, match="“Ground”"):
        done(job, on={"name": "Badge"})


def test_marks_done_again_are_exchanged_and_none_takes_them_away():
    once = done(ring_and_bar()).job
    again = done(once, kind="round", orientation=False).job
    assert len(marks_in(again)) == 4
    bare = done(again, kind="none").job
    assert marks_in(bare) == []
    assert [layer.name for layer in bare.layers] == ["Art"]


def test_marks_in_vinyl_and_printed_ones_do_not_take_each_others_place():
    both = done(operations.apply(ring_and_bar(), operations.step("registration-marks")).job).job
    assert len(marks_in(both)) == 3 * 2 + 5
    none = operations.apply(both, operations.step("registration-marks", {"kind": "none"})).job
    assert len(marks_in(none)) == 5


def test_marks_too_near_to_each_other_are_refused():
    with pytest.raises(CannotApply, match="quiet zone of another"):
        done(badge(), every_mm=12, quiet_mm=8)


def test_hidden_art_and_guides_need_no_room():
    job = badge()
    hidden = replace(shape("ghost", rectangle(45, 55, 6, 6), BLUE), visible=False)
    job = job.with_layer(Layer("more", "More", (hidden,)))
    assert len(marks_in(done(job).job)) == 5


@st.composite
def scattered(draw):
    """Return art strewn over a sheet, some of it only lines, some with broad strokes."""
    found = []
    for number in range(draw(st.integers(1, 6))):
        x, y = draw(st.floats(10, 250)), draw(st.floats(10, 150))
        size = draw(st.floats(2, 60))
        path = circle((x, y), size / 2) if draw(st.booleans()) else rectangle(x, y, size, draw(st.floats(2, 60)))
        stroke = draw(st.sampled_from([None, Stroke(BLUE, 0.05), Stroke(BLUE, 4.0)]))
        fill = BLUE if stroke is None or draw(st.booleans()) else None
        found.append(shape(f"s{number}", path, fill, stroke))
    return job_of(*found, width_mm=300, height_mm=200)


@given(
    job=scattered(),
    size=st.floats(1, 15),
    gap=st.floats(0, 15),
    quiet=st.floats(0, 10),
    inset=st.none() | st.floats(0, 20),
    every=st.none() | st.floats(60, 200),
)
@settings(max_examples=60, deadline=None)
def test_nothing_is_ever_painted_in_a_quiet_zone(job, size, gap, quiet, inset, every):
    """Held against shapely: art as polygons, grown by half its stroke, and the zones as boxes."""
    values = {"size_mm": size, "gap_mm": gap, "quiet_mm": quiet, "inset_mm": inset, "every_mm": every}
    try:
        outcome = done(job, **{name: value for name, value in values.items() if value is not None})
    except CannotApply:
        return
    marks = marks_in(outcome.job)
    zones = [shapely.box(*mark.bounds).buffer(quiet - 1e-6, join_style="mitre") for mark in marks]
    for piece in outcome.job.shapes():
        if piece in marks:
            continue
        area_ = shapely.Polygon(flatten(piece.path).coords)
        stroke = piece.style.stroke
        painted = area_ if piece.style.fill else area_.boundary
        if stroke is not None and stroke.width_mm > HAIRLINE_MM:  # thinner ones only show where a knife goes
            painted = painted.buffer(stroke.width_mm / 2 - 0.01, quad_segs=32)
        assert not any(painted.intersects(zone) for zone in zones), format_number(quiet)
    bare = [shapely.box(*mark.bounds).buffer(quiet / 2 - 1e-6) for mark in marks]
    assert shapely.union_all(bare).area == pytest.approx(sum(zone.area for zone in bare))
