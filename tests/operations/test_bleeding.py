"""Bleed: each ink at the art's edge runs on beyond the cut line, and nothing else changes.

Areas: a ring's by π(R² − r²); Steiner's formula A + P·d + π·d² for convex shapes (J. Steiner 1840).
"""

import io
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from PIL import Image

from bladewise import operations
from bladewise.document import (
    CutKind,
    Gradient,
    GradientKind,
    Layer,
    Material,
    MaterialKind,
    Picture,
    Shape,
    Spread,
    Stop,
    Stroke,
    Style,
    cut_line_id,
)
from bladewise.errors import CannotApply
from bladewise.geometry.affine import Affine
from bladewise.geometry.measures import area, contains
from bladewise.geometry.path import circle, joined, polygon, rectangle
from bladewise.geometry.regions import Region
from bladewise.operations.bleeding import UNDER_MM
from bladewise.operations.sketches import sketch
from pieces import BLUE, ORANGE, job_of, shape

UNDER = UNDER_MM + 0.2
"""How far bleed runs under the art: by itself, and through the margin that still counts as none."""


def done(job, do, /, **values):
    return operations.apply(job, operations.step(do, values))


def ring():
    return shape("ring", joined([circle((50, 50), 20), circle((50, 50), 8).reversed()]))


def line(path, *, key="line", kind=CutKind.KISS):
    material = cut_line_id(kind)
    return Shape(key, path, Style(stroke=Stroke(BLUE, 0.1)), name="Line", material=material)


def with_line(job, *lines):
    for each in lines:
        kind = next(kind for kind in CutKind if cut_line_id(kind) == each.material)
        job = job.with_material(Material(each.material, f"Line {kind}", BLUE, MaterialKind.CUT, cut=kind))
    return job.with_layer(Layer("lines", "Lines", tuple(lines)))


def bled(job, **values):
    outcome = done(job, "bleed", **values)
    return [outcome.job.element(key) for key in outcome.made]


def paints(shapes, x, y):
    """Return the inks over a place, the lowest first."""
    return [each.style.fill for each in shapes if contains(each.region, [(x, y)])[0]]


def test_bleed_runs_beyond_the_cut_line_at_the_back_in_the_colour_of_the_edge():
    job = job_of(shape("rim", circle((50, 50), 20)), shape("dot", circle((50, 50), 5), BLUE))
    job = done(job, "cut-line").job
    outcome = done(job, "bleed", on={"id": "cut-line"}, distance_mm=3.0)
    back = outcome.job.shapes()[0]
    assert back.id == "bleed"
    assert area(back.path) == pytest.approx(math.pi * (23**2 - (20 - UNDER) ** 2), abs=0.01)
    assert back.style.fill == ORANGE
    assert outcome.job.material("print").kind is MaterialKind.PRINT
    assert outcome.reports == ()


def test_bleed_runs_into_the_holes_too():
    job = done(job_of(ring()), "cut-line").job
    (back,) = bled(job, distance_mm=2.0)
    outer, inner = 22**2 - (20 - UNDER) ** 2, (8 + UNDER) ** 2 - 6**2
    assert area(back.path) == pytest.approx(math.pi * (outer + inner), abs=0.01)
    assert len(back.path) <= 4 * 8  # arcs stay arcs


def test_two_colours_meet_beyond_the_line_where_they_meet_at_the_edge():
    left, right = shape("left", rectangle(10, 10, 20, 30)), shape("right", rectangle(30, 10, 20, 30), BLUE)
    job = done(job_of(left, right), "cut-line").job
    shapes = bled(job, distance_mm=3.0)
    assert len(shapes) == 2
    for y in (8.0, 42.0):
        assert paints(shapes, 29.9, y)[-1] == ORANGE
        assert paints(shapes, 30.15, y)[-1] == BLUE
    assert sum(len(each.path) for each in shapes) < 40
    whole = shapely.union_all([shapely.box(*each.bounds) for each in shapes])
    assert whole.bounds == pytest.approx((7.0, 7.0, 53.0, 43.0), abs=0.01)


def test_a_stripe_that_runs_out_at_a_slant_goes_on_squarely_and_nothing_inside_the_line_changes():
    body = shape("body", rectangle(10, 10, 60, 20))
    stripe = shape("stripe", polygon([(30, 10), (36, 10), (46, 30), (40, 30)]), BLUE)
    job = done(job_of(body, stripe), "cut-line").job
    shapes = bled(job, distance_mm=2.0)
    assert [paints(shapes, x, 9.0)[-1] for x in (29.8, 33.0, 36.2)] == [ORANGE, BLUE, ORANGE]
    assert [paints(shapes, x, 31.0)[-1] for x in (39.8, 43.0, 46.2)] == [ORANGE, BLUE, ORANGE]


def test_bare_film_at_the_edge_stays_bare_inside_the_line_and_beyond_it():
    left, right = shape("left", rectangle(10, 10, 10, 20)), shape("right", rectangle(26, 10, 10, 20))
    job = with_line(job_of(left, right), line(rectangle(10, 10, 26, 20)))
    outcome = done(job, "bleed", distance_mm=2.0)
    shapes = [outcome.job.element(key) for key in outcome.made]
    assert not paints(shapes, 23.0, 9.0)
    assert not paints(shapes, 20.2, 10.2)
    assert not paints(shapes, 23.0, 20.0)
    assert paints(shapes, 15.0, 9.0)
    assert paints(shapes, 35.0, 31.0)
    assert outcome.reports == ("Along 12 mm of the cut line the art ends before it; the film stays bare there.",)


def test_a_margin_stays_bare_unless_the_reach_is_as_large():
    job = with_line(job_of(shape("disc", circle((50, 50), 20))), line(circle((50, 50), 21.5)))
    with pytest.raises(CannotApply, match=r"ends more than 0[.]2 mm before the cut line") as refused:
        done(job, "bleed")
    assert "reach" in refused.value.hint
    with pytest.raises(CannotApply, match=r"ends more than 0[.]2 mm before the cut line"):
        done(with_line(job_of(shape("disc", circle((50, 50), 20))), line(circle((50, 50), 40))), "bleed")
    (back,) = bled(job, reach_mm=1.5)
    assert area(back.path) == pytest.approx(math.pi * (23.5**2 - (20 - UNDER_MM) ** 2), abs=0.02)


def test_a_margin_is_filled_all_round_also_where_an_inlet_makes_it_deeper_than_the_reach():
    upper, lower = (
        shape("upper", rectangle(10, 10, 40, 20)),
        shape("lower", polygon([(25, 32), (35, 32), (30, 45)]), BLUE),
    )
    job = done(job_of(upper, lower), "cut-line", distance_mm=2.0, inlet_radius_mm=1.0).job
    shapes = bled(job, reach_mm=2.2)
    for x, y, ink in ((9.5, 20, ORANGE), (30, 9.5, ORANGE), (50.5, 20, ORANGE), (30, 45.5, BLUE)):
        assert paints(shapes, x, y)[-1:] == [ink]


def test_what_already_runs_far_enough_beyond_the_line_is_left_alone():
    job = with_line(job_of(shape("disc", circle((50, 50), 25))), line(circle((50, 50), 20)))
    with pytest.raises(CannotApply, match="already runs 2 mm beyond"):
        done(job, "bleed")
    (back,) = bled(job, distance_mm=8.0)
    assert back.bounds == pytest.approx((22.0, 22.0, 78.0, 78.0), abs=0.01)


def test_white_places_close_to_the_line_keep_their_film():
    disc = shape("disc", joined([circle((50, 50), 20), circle((50, 30.7), 0.4).reversed()]))
    job = with_line(job_of(disc), line(circle((50, 50), 20)))
    shapes = bled(job)
    assert not paints(shapes, 50.0, 30.7)
    assert paints(shapes, 48.0, 30.5)


@pytest.mark.parametrize("kind", [CutKind.KISS, CutKind.THROUGH, CutKind.PERFORATION])
def test_every_kind_of_line_that_takes_a_piece_out_gets_bleed(kind):
    job = with_line(job_of(shape("disc", circle((50, 50), 20))), line(circle((50, 50), 20), kind=kind))
    assert bled(job)[0].bounds == pytest.approx((28.0, 28.0, 72.0, 72.0), abs=0.01)


def test_a_crease_across_a_card_and_an_open_line_get_none():
    card = shape("card", rectangle(10, 10, 60, 40))
    fold = line(polygon([(40, 10), (40, 50)], closed=False), key="fold", kind=CutKind.CREASE)
    job = with_line(job_of(card), line(rectangle(10, 10, 60, 40), kind=CutKind.THROUGH), fold)
    (back,) = bled(job)
    assert not contains(back.region, [(40.5, 30.0)])[0]
    with pytest.raises(CannotApply, match="open"):
        done(with_line(job_of(card), replace(fold, material="cut-line")), "bleed")


def test_a_through_cut_box_around_a_kiss_cut_sticker_does_not_take_its_bleed_away():
    disc = shape("disc", circle((50, 50), 20))
    box = line(rectangle(20, 20, 60, 60), key="box", kind=CutKind.THROUGH)
    (back,) = bled(with_line(job_of(disc), line(circle((50, 50), 20)), box))
    assert area(back.path) == pytest.approx(math.pi * (22**2 - (20 - UNDER) ** 2), abs=0.01)


@pytest.mark.parametrize("margin_mm", [1.0, 3.0, 5.0])
def test_a_through_cut_near_by_does_not_shorten_the_bleed_of_the_kiss_cut_inside_it(margin_mm):
    job = done(job_of(shape("card", rectangle(30, 30, 40, 40))), "sticker-cuts", kiss_distance_mm=0.0, around="outline",
               inlet_radius_mm=0.0, margin_mm=margin_mm).job  # fmt: skip
    outcome = done(job, "bleed", distance_mm=3.0)
    bled = [outcome.job.element(key) for key in outcome.made]
    assert [each.path.bounds() for each in bled] == [pytest.approx((27.0, 27.0, 73.0, 73.0), abs=0.002)]


def test_a_hole_drawn_as_a_line_of_its_own_is_bled_into():
    slot = line(circle((50, 50), 8), key="slot")
    outcome = done(with_line(job_of(ring()), slot), "bleed", on=["slot", "ring"])
    (back,) = (outcome.job.element(key) for key in outcome.made)
    assert area(back.path) == pytest.approx(math.pi * ((8 + UNDER) ** 2 - 6**2), abs=0.01)


def test_neighbours_bleed_half_way_and_never_over_one_another():
    one, two = shape("one", rectangle(10, 10, 20, 20)), shape("two", rectangle(31, 10, 20, 20), BLUE)
    shapes = bled(done(job_of(one, two), "cut-line").job, distance_mm=3.0)
    assert paints(shapes, 30.4, 20.0)[-1] == ORANGE
    assert paints(shapes, 30.7, 20.0)[-1] == BLUE
    inside = [ink for x in (32.0, 40.0) for ink in paints(shapes, x, 20.0)]
    assert inside == []


def test_copies_of_one_sticker_get_the_same_bleed_each_at_its_place():
    job, lines = job_of(), []
    for number in range(3):
        centre = 30.0 + 0.1 + 50.3 * number, 40.0 + 0.7 * number
        art = shape(f"disc-{number}", circle(centre, 20), BLUE if number == 1 else ORANGE)
        deep = shape(f"deep-{number}", circle(centre, 3), BLUE)
        job = replace(job, layers=(replace(job.layers[0], children=(*job.layers[0].children, art, deep)),))
        lines.append(line(circle(centre, 20), key=f"line-{number}"))
    shapes = bled(with_line(job, *lines))
    assert [each.style.fill for each in shapes] == [ORANGE, BLUE, ORANGE]
    for number, each in enumerate(shapes):
        x, y = 30.1 + 50.3 * number, 40.0 + 0.7 * number
        assert each.bounds == pytest.approx((x - 22, y - 22, x + 22, y + 22), abs=0.005)
        assert area(each.path) == pytest.approx(math.pi * (22**2 - (20 - UNDER) ** 2), abs=0.01)


def test_one_flat_colour_on_request_and_without_a_cut_line_it_says_so():
    outcome = done(job_of(ring(), shape("dot", circle((66, 50), 4), BLUE)), "bleed", fill="#123456")
    assert "no cut line yet" in outcome.reports[0]
    assert [outcome.job.element(key).style.fill.hex for key in outcome.made] == ["#123456"]


def gradient(spread=Spread.PAD, opacity=1.0):
    stops = (Stop(0.0, ORANGE), Stop(1.0, BLUE, opacity))
    return Gradient(GradientKind.LINEAR, (30.0, 0.0), (70.0, 0.0), stops, spread=spread)


@pytest.mark.parametrize("spread", [Spread.PAD, Spread.REPEAT])
def test_a_gradient_goes_on_as_the_same_gradient_and_does_not_begin_anew(spread):
    job = done(job_of(shape("disc", circle((50, 50), 20), gradient(spread))), "cut-line").job
    (back,) = bled(job)
    assert back.style.fill == gradient(Spread.PAD)


def test_a_gradient_that_turns_many_times_goes_on_turning():
    many = replace(gradient(Spread.REFLECT), end=(34.0, 0.0))
    (back,) = bled(done(job_of(shape("disc", circle((50, 50), 20), many)), "cut-line").job)
    assert back.style.fill == many


def test_ink_that_shows_through_goes_on_thin_and_lies_under_no_art():
    disc = shape("disc", circle((50, 50), 20))
    disc = replace(disc, style=replace(disc.style, fill_opacity=0.5))
    (back,) = bled(done(job_of(disc), "cut-line").job)
    assert back.style.fill_opacity == 0.5
    assert area(back.path) == pytest.approx(math.pi * (22**2 - 20**2), abs=0.05)


def test_thin_ink_over_solid_ink_is_one_flat_colour():
    over = shape("over", circle((50, 50), 20), BLUE)
    over = replace(over, style=replace(over.style, opacity=0.5))
    (back,) = bled(done(job_of(shape("under", circle((50, 50), 20)), over), "cut-line").job)
    assert tuple(back.style.fill) == pytest.approx([(a + b) / 2 for a, b in zip(ORANGE, BLUE, strict=True)], abs=1)


def photo(pixels, x=20.0, y=20.0, wide=40.0, high=20.0):
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, "PNG")
    return Picture("photo", stream.getvalue(), "image/png", Affine(wide, 0.0, 0.0, high, x, y))


def seen(picture, x, y):
    """Return the pixel of a picture at a place on the sheet."""
    with Image.open(io.BytesIO(picture.data)) as image:
        pixels = np.asarray(image.convert("RGBA"))
    across, down = picture.transform.inverse().apply(np.array([x, y]))
    return tuple(pixels[int(down * pixels.shape[0]), int(across * pixels.shape[1])].tolist())


def test_a_picture_goes_on_with_the_pixels_of_its_edge():
    pixels = np.random.default_rng(5).integers(0, 256, (100, 200, 3), np.uint8)
    picture = photo(pixels)
    job = with_line(job_of(picture), line(rectangle(20, 20, 40, 20)))
    (back,) = bled(job, distance_mm=3.0)
    assert isinstance(back, Picture)
    assert back.material == "print"
    for row in (10, 50, 99):
        y = 20 + (row + 0.5) * 0.2
        assert seen(back, 17.5, y) == (*pixels[row, 0], 255)
        assert seen(back, 62.5, y) == (*pixels[row, 199], 255)
    assert seen(back, 18.7, 18.7) == (*pixels[0, 0], 255)  # beyond a corner the corner's pixel goes on
    assert seen(back, 40.0, 30.0)[3] == 0  # nothing under the middle
    box = back.bounds
    assert (box[0], box[3]) == pytest.approx((17.0, 43.0), abs=0.41)


def test_a_pictures_soft_rim_is_not_repeated_but_the_colour_behind_it():
    y, x = np.mgrid[0:200, 0:200]
    far = np.hypot(x - 99.5, y - 99.5)
    pixels = np.zeros((200, 200, 4), np.uint8)
    pixels[..., 0] = np.where(far < 80.0, 200, 90)  # the rim's own colour is a darker mixture
    pixels[..., 3] = np.clip((81.5 - far) / 3.0, 0.0, 1.0) * 255
    picture = photo(pixels, 0.0, 0.0, 100.0, 100.0)
    job = with_line(job_of(picture), line(circle((50, 50), 40)))
    (back,) = bled(job)
    for angle in np.linspace(0.0, 6.2, 24):
        at = 50.0 + 41.3 * math.cos(angle), 50.0 + 41.3 * math.sin(angle)
        assert seen(back, *at) == (200, 0, 0, 255)


def test_the_sketch_covers_what_the_step_makes():
    job = done(job_of(ring(), shape("bar", rectangle(60, 45, 30, 10), BLUE)), "cut-line").job
    step = operations.step("bleed", {"distance_mm": 3.0})
    look = sketch(job, step)
    rough = [each for each in look.job.shapes() if each.id in look.ids]
    exact = bled(job, distance_mm=3.0)
    for low, high in ((0, 2), (1, 3)):
        assert min(each.bounds[low] for each in exact) == pytest.approx(
            min(each.bounds[low] for each in rough), abs=0.05
        )
        assert max(each.bounds[high] for each in exact) == pytest.approx(
            max(each.bounds[high] for each in rough), abs=0.05
        )


def test_the_sketch_goes_by_the_cut_line_wherever_the_art_ends():
    job = with_line(job_of(shape("disc", circle((50, 50), 20))), line(circle((50, 50), 25)))
    look = sketch(job, operations.step("bleed", {"on": "all", "distance_mm": 3.0}))
    (rough,) = [each for each in look.job.shapes() if each.id in look.ids]
    assert rough.bounds == pytest.approx((22.0, 22.0, 78.0, 78.0), abs=0.05)


def test_nothing_printed_is_told_apart_from_nothing_to_do():
    with pytest.raises(CannotApply, match="no art inside the cut line"):
        done(with_line(job_of(), line(circle((50, 50), 20))), "bleed")


def test_every_place_beyond_the_line_is_painted_once_its_ink_is_known():
    outer = circle((50, 50), 20)
    wedges = []
    for number in range(6):
        rim = [(50 + 20 * math.cos(a), 50 + 20 * math.sin(a)) for a in np.linspace(number, number + 1.05, 400)]
        wedges.append(shape(f"wedge-{number}", polygon([(50, 50), *rim]), BLUE if number % 2 else ORANGE))
    shapes = bled(with_line(job_of(shape("disc", outer), *wedges), line(outer)), distance_mm=2.0)
    angle = np.linspace(0.0, 2.0 * np.pi, 720, endpoint=False)
    for radius in (20.05, 21.0, 21.95):
        points = np.stack([50 + radius * np.cos(angle), 50 + radius * np.sin(angle)], axis=1)
        covered = np.zeros(len(points), bool)
        for each in shapes:
            covered |= contains(Region(each.path), points)
        assert covered.all()
