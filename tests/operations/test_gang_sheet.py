"""Many stickers on one sheet: so many of each, apart by the gutter, inside the margins, cut lines with them."""

import itertools
from collections import Counter

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise import operations
from bladewise.document import CUT_LINE, Group, Job, Layer, Material, Shape, Stroke, Style, leaves_in
from bladewise.errors import CannotApply
from bladewise.geometry.path import circle, rectangle
from bladewise.operations.rows import Size, laid_out, most_on_a_sheet
from pieces import BLUE, ORANGE, job_of, shape


def done(job, /, **values):
    return operations.apply(job, operations.step("gang-sheet", values))


def sticker():
    """A badge 40 × 20 mm on two layers: art with bleed, and the cut line."""
    art = Layer(
        "art", "Art", (shape("bleed", rectangle(10, 10, 44, 24)), shape("badge", rectangle(12, 12, 40, 20), BLUE))
    )
    line = Shape("line", rectangle(12, 12, 40, 20), Style(stroke=Stroke(ORANGE, 0.05)), "Line")
    cut = Layer("cut", "Cut", (line,), CUT_LINE)
    return Job("Badge", 200.0, 150.0, (art, cut), (Material(CUT_LINE, "Cut line", ORANGE),))


def boxes(job, key):
    return [leaf.bounds for leaf in job.shapes() if leaf.id == key or leaf.id.startswith(f"{key}-")]


def test_a_sheet_is_filled_with_as_many_as_it_holds_with_bleed_and_cut_line():
    outcome = done(sticker(), margin_mm=5, gutter_mm=2, turn=False)
    assert len(boxes(outcome.job, "badge")) == len(boxes(outcome.job, "line")) == 4 * 5
    assert outcome.job.bounds == pytest.approx((5, 5, 5 + 4 * 46 - 2, 5 + 5 * 26 - 2))
    assert outcome.reports[0] == "20 in 5 rows; 70 % of the sheet is art."


def test_every_cut_line_lies_about_its_badge_and_on_its_own_layer():
    job = done(sticker(), counts="7").job
    assert sorted(boxes(job, "line")) == sorted(boxes(job, "badge"))
    assert all(isinstance(each, Group) and len(each.children) == 2 for each in job.layer("art").children)
    assert len(job.layer("cut").children) == 7
    assert {job.material_of(job.placed(each.id)).id for each in job.layer("cut").children} == {CUT_LINE}


def test_the_first_copy_keeps_its_names_so_that_later_steps_find_it():
    outcome = done(sticker(), counts="3")
    assert {"bleed", "badge", "line"} <= {each.id for each in outcome.job.shapes()}
    ids = [each.id for each in outcome.job.elements()]
    assert len(ids) == len(set(ids))
    assert all(outcome.job.element(each) is not None for each in outcome.made)
    moved = operations.apply(outcome.job, operations.step("move", {"on": list(outcome.made), "dx_mm": 1.0})).job
    assert moved.bounds[0] == outcome.job.bounds[0] + 1.0


def test_a_design_is_turned_where_more_of_it_fits():
    job = job_of(shape("tall", rectangle(0, 0, 30, 90)), width_mm=100, height_mm=70)
    outcome = done(job, margin_mm=5, gutter_mm=0)
    assert boxes(outcome.job, "tall") == [pytest.approx((5, 5, 95, 35)), pytest.approx((5, 35, 95, 65))]
    assert "Turned by a quarter: “Tall”." in outcome.reports
    with pytest.raises(CannotApply, match="“Tall” is 30 × 90 mm; within its margins the sheet is 90 × 60 mm"):
        done(job, margin_mm=5, turn=False)


def test_more_than_a_sheet_holds_goes_on_further_sheets_and_it_is_said_what_is_where():
    job = job_of(shape("dot", circle((10, 10), 10)), width_mm=100, height_mm=100)
    first = done(job, counts="40", margin_mm=0, gutter_mm=0)
    assert len(first.job.shapes()) == 25
    assert first.reports[-1] == "This is sheet 1 of 2; they hold 25, 15. 15 of 40 are not on this one."
    assert len(done(job, counts="40", margin_mm=0, gutter_mm=0, sheet=2).job.shapes()) == 15
    with pytest.raises(CannotApply, match="only 2 sheets"):
        done(job, counts="40", margin_mm=0, gutter_mm=0, sheet=3)
    three = done(job, counts="75", margin_mm=0, gutter_mm=0, sheet=3).reports[-1]
    assert "they hold 3 × 25." in three


def two_designs():
    return job_of(
        shape("star", rectangle(0, 0, 30, 30)),
        shape("eye", circle((15, 15), 5), BLUE),
        shape("bar", rectangle(100, 0, 60, 20)),
    )


def test_what_lies_apart_is_a_design_each_and_what_overlaps_stays_together():
    job = done(two_designs(), designs="apart", counts="Star 5; Bar 3").job
    assert Counter(leaf.id.split("-")[0] for leaf in job.shapes()) == {"star": 5, "eye": 5, "bar": 3}
    for star, eye in zip(sorted(boxes(job, "star")), sorted(boxes(job, "eye")), strict=True):
        assert shapely.box(*star).contains(shapely.box(*eye))


def test_layers_are_designs_under_their_names():
    job = two_designs().with_layer(Layer("second", "Second", (shape("ring", circle((50, 50), 8)),)))
    outcome = done(job, designs="layers", counts="Art 2\nSecond 4")
    assert "“Art”: 2, “Second”: 4" in outcome.reports
    assert len(outcome.job.layer("second").children) == 4


@pytest.mark.parametrize(
    ("counts", "told"),
    [
        ("many", "“many” does not say how many"),
        ("Moon 3", "No design is called “Moon”"),
        ("Star 5", "It is not said how many of “Bar”"),
        ("0", "“0” does not say how many"),
        ("30000", "60000 copies"),
    ],
)
def test_a_count_that_is_none_is_refused_with_the_reason(counts, told):
    with pytest.raises(CannotApply, match=told):
        done(two_designs(), designs="apart", counts=counts)


def test_broad_strokes_keep_their_distance_too():
    job = job_of(shape("disc", circle((50, 50), 10), stroke=Stroke(BLUE, 6.0)), width_mm=100, height_mm=60)
    found = done(job, margin_mm=4, gutter_mm=3, counts="2").job
    left, right = sorted(boxes(found, "disc"))
    assert left[0] == pytest.approx(4 + 3, abs=5e-3)
    assert right[0] - left[2] == pytest.approx(3 + 6, abs=1e-2)


def test_the_sheet_takes_the_size_asked_for():
    job = done(sticker(), width_mm=320, height_mm=450, counts="2").job
    assert (job.width_mm, job.height_mm) == (320, 450)


def test_five_hundred_stickers_are_all_there_and_none_touches_another():
    job = done(sticker(), counts="500", width_mm=1300, height_mm=1000).job
    laid = shapely.box(*zip(*boxes(job, "bleed"), strict=True))
    assert len(laid) == 500
    assert shapely.union_all(laid).area == pytest.approx(500 * 44 * 24)
    tree = shapely.STRtree(laid)
    assert len(tree.query(laid, predicate="dwithin", distance=2.99)[0]) == 500  # each only itself


@given(
    sizes=st.lists(st.builds(Size, st.floats(1, 60), st.floats(1, 60)), min_size=1, max_size=4),
    room=st.builds(Size, st.floats(60, 300), st.floats(60, 300)),
    gutter=st.floats(0, 10),
    may_turn=st.booleans(),
    counts=st.lists(st.integers(1, 20), min_size=4, max_size=4),
)
@settings(max_examples=60, deadline=None)
def test_copies_stay_on_their_sheet_and_a_gutter_apart_and_none_is_lost(sizes, room, gutter, may_turn, counts):
    counts = counts[: len(sizes)]
    laid = laid_out(sizes, counts, room, gutter, may_turn=may_turn)
    total = Counter()
    for sheet in laid.sheets:
        placed = []
        for cell in sheet:
            size = sizes[cell.design].turned if cell.is_turned else sizes[cell.design]
            assert cell.x_mm >= 0.0
            assert cell.x_mm + size.width_mm <= room.width_mm + 1e-5
            assert cell.y_mm + size.height_mm <= room.height_mm + 1e-5
            placed.append((cell.x_mm, cell.y_mm, cell.x_mm + size.width_mm, cell.y_mm + size.height_mm))
            total[cell.design] += 1
        for one, other in itertools.combinations(placed, 2):
            across = max(one[0], other[0]) - min(one[2], other[2])
            down = max(one[1], other[1]) - min(one[3], other[3])
            assert max(across, down) >= gutter - 1e-5
    assert [total[place] for place in range(len(sizes))] == counts


@given(
    size=st.builds(Size, st.floats(5, 60), st.floats(5, 60)),
    room=st.builds(Size, st.floats(60, 300), st.floats(60, 300)),
    gutter=st.floats(0.01, 10),
)
@settings(max_examples=50, deadline=None)
def test_one_design_fills_a_sheet_as_the_counting_of_rows_says(size, room, gutter):
    """Rows times columns by whole-number division, the better of both ways round."""

    def grid(wide, high):
        return int((room.width_mm + gutter) / (wide + gutter)) * int((room.height_mm + gutter) / (high + gutter))

    found = most_on_a_sheet([size], room, gutter, may_turn=True)
    assert found == [max(grid(size.width_mm, size.height_mm), grid(size.height_mm, size.width_mm))]


def test_groups_are_copied_whole():
    group = Group("pair", (shape("a", rectangle(0, 0, 10, 10)), shape("b", rectangle(12, 0, 10, 10))), name="Pair")
    job = Job("Pairs", 100.0, 100.0, (Layer("art", "Art", (group,)),))
    found = done(job, counts="4").job
    assert [each.name for each in found.layer("art").children] == ["Pair"] * 4
    assert len({leaf.id for leaf in leaves_in(found.layer("art").children)}) == 8
