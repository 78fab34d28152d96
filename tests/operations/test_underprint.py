"""White ink under a print, varnish over it.

Areas: Steiner's formula for convex shapes (J. Steiner 1840): a rectangle choked by d is (w − 2d)(h − 2d), spread by d
it is A + P·d + π·d².
"""

import math
from dataclasses import replace

import pytest

from bladewise import operations
from bladewise.document import Group, Layer, Material, MaterialKind
from bladewise.errors import CannotApply
from bladewise.geometry.measures import area, contains
from bladewise.geometry.path import circle, polygon, rectangle
from pieces import BLUE, ORANGE, job_of, print_of, shape


def done(job, do="white-underprint", /, **values):
    return operations.apply(job, operations.step(do, values))


def white(job, **values):
    outcome = done(job, **values)
    return outcome.job.element(outcome.made[0])


def card():
    return job_of(shape("card", rectangle(10, 10, 60, 40)))


@pytest.mark.parametrize("choke", [0.2, 1.0, 5.0])
def test_white_stays_inside_the_prints_edge_by_the_choke(choke):
    assert area(white(card(), choke_mm=choke).path) == pytest.approx((60 - 2 * choke) * (40 - 2 * choke), abs=0.01)
    disc = job_of(shape("disc", circle((50, 50), 20)))
    assert area(white(disc, choke_mm=choke).path) == pytest.approx(math.pi * (20 - choke) ** 2, abs=0.02)


def test_white_can_run_on_beyond_the_print():
    assert area(white(card(), choke_mm=-1.5).path) == pytest.approx(2400 + 200 * 1.5 + math.pi * 1.5**2, abs=0.01)


def test_white_lies_below_the_print_and_varnish_above_each_with_a_name_of_its_own():
    job = card().with_layer(Layer("notes", "Notes", ()), index=0)
    job = done(job, name="White ink").job
    job = done(job, "varnish", on={"id": "card"}).job
    assert [layer.name for layer in job.layers] == ["Notes", "White ink", "Art", "Varnish"]
    kinds = {material.name: material.kind for material in job.materials}
    assert kinds == {"White ink": MaterialKind.WHITE, "Varnish": MaterialKind.VARNISH}
    placed = {each.layer.name: job.material_of(each).kind for each in job.walk()}
    assert placed["White ink"] is MaterialKind.WHITE
    assert placed["Varnish"] is MaterialKind.VARNISH


def test_what_is_under_the_print_twice_gets_white_once_and_abutting_colours_have_none_between():
    job = job_of(shape("left", rectangle(10, 10, 30, 40)), shape("right", rectangle(40, 10, 30, 40), BLUE))
    path = white(job, choke_mm=1.0).path
    assert area(path) == pytest.approx(58 * 38, abs=0.01)
    assert len(path) == 4


def test_the_film_shows_through_chosen_art_where_that_is_seen():
    window = shape("window", rectangle(20, 20, 20, 20), BLUE)
    bar = shape("bar", rectangle(35, 15, 10, 30))
    job = job_of(shape("card", rectangle(10, 10, 60, 40)), window, bar)
    region = white(job, choke_mm=0.5, show_film={"fill": BLUE.hex}).region
    inside = dict(zip("wbce", contains(region, [(25, 30), (38, 30), (15, 30), (19.8, 30)]).tolist(), strict=True))
    assert inside == {"w": False, "b": True, "c": True, "e": False}
    assert area(region.path) == pytest.approx(59 * 39 - 16 * 21 + (4 - math.pi) * 0.5**2, abs=0.01)


def test_faint_ink_gets_none_and_the_opacity_of_its_group_counts():
    faint = shape("faint", rectangle(80, 10, 20, 20))
    veiled = Group("veil", (replace(faint, id="in-group"),), opacity=0.03)
    job = job_of(
        shape("card", rectangle(10, 10, 60, 40)), replace(faint, style=replace(faint.style, fill_opacity=0.04)), veiled
    )
    assert white(job).bounds[2] == pytest.approx(69.8)
    assert white(job, least_opacity=1.0).bounds[2] == pytest.approx(99.8)


def test_all_inside_the_cut_line():
    job = print_of(rectangle(5, 5, 80, 60), shape("card", rectangle(10, 10, 60, 40)))
    assert area(white(job, extent="inside-cut-line", choke_mm=1.0).path) == pytest.approx(78 * 58, abs=0.01)
    over = done(job, "varnish", extent="inside-cut-line", inset_mm=-2.0)
    made = over.job.element(over.made[0])
    assert area(made.path) == pytest.approx(4800 + 280 * 2 + math.pi * 4, abs=0.01)
    with pytest.raises(CannotApply, match="no closed cut line"):
        done(card(), extent="inside-cut-line")


def test_cut_lines_and_guides_are_no_print():
    job = print_of(rectangle(5, 5, 80, 60), shape("card", rectangle(10, 10, 60, 40)))
    assert white(job).bounds == pytest.approx((10.2, 10.2, 69.8, 49.8))


def test_pieces_too_narrow_for_white_are_counted():
    thin = shape("thin", polygon([(10, 60), (70, 60), (70, 60.3), (10, 60.3)]))
    outcome = done(job_of(shape("card", rectangle(10, 10, 60, 40)), thin))
    assert outcome.reports == ("1 piece is narrower than twice the choke and got no white.",)
    with pytest.raises(CannotApply, match="narrower than twice the choke"):
        done(job_of(thin))


def test_spot_varnish_covers_chosen_art_alone_and_goes_over_all_print():
    job = job_of(shape("card", rectangle(10, 10, 60, 40)), shape("logo", circle((40, 30), 10), BLUE))
    job = job.with_layer(Layer("top", "Top", (shape("note", rectangle(12, 12, 5, 5), BLUE),)))
    outcome = done(job, "varnish", on={"id": "logo"}, inset_mm=0.3)
    assert area(outcome.job.element(outcome.made[0]).path) == pytest.approx(math.pi * 9.7**2, abs=0.01)
    assert [layer.name for layer in outcome.job.layers] == ["Art", "Top", "Varnish"]


def test_an_ink_is_not_named_like_something_else():
    job = card().with_material(Material("gold", "Gold", ORANGE))
    with pytest.raises(CannotApply, match="name of another material"):
        done(job, name="Gold")
    with pytest.raises(CannotApply, match="needs a name"):
        done(job, name=" ")
    twice = done(done(job).job, on={"id": "card"})
    assert [material.kind for material in twice.job.materials].count(MaterialKind.WHITE) == 1
    other = done(done(job).job, name="Second white", on={"id": "card"})
    assert [material.kind for material in other.job.materials].count(MaterialKind.WHITE) == 2


def test_nothing_printed_is_refused():
    job = job_of(replace(shape("vinyl", rectangle(10, 10, 60, 40)), material="gold"))
    job = job.with_material(Material("gold", "Gold", ORANGE))
    for verb in ("white-underprint", "varnish"):
        with pytest.raises(CannotApply, match="Nothing here is printed"):
            done(job, verb)
