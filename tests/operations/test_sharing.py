"""Edges that pieces of one vinyl share are cut once."""

from dataclasses import replace

import pytest

from bladewise import checks, operations
from bladewise.document import Material, Stroke
from bladewise.errors import CannotApply
from bladewise.formats import write_cut_files
from bladewise.geometry.measures import length
from bladewise.geometry.path import circle, rectangle
from pieces import BLUE, ORANGE, job_of, shape


def done(job, /, **values):
    return operations.apply(job, operations.step("cut-edges-once", values))


def of_one_vinyl(*shapes):
    job = job_of(*shapes)
    return replace(job, materials=(Material("sun", "Sun", ORANGE),), layers=(replace(job.layers[0], material="sun"),))


def row():
    return of_one_vinyl(*(shape(f"s{n}", rectangle(10.0 * n, 0, 10, 10), (ORANGE, BLUE)[n % 2]) for n in range(3)))


def test_in_a_row_each_shared_edge_is_cut_once_and_the_top_piece_is_whole():
    outcome = done(row())
    lengths = {each.id: length(each.path) for each in outcome.job.shapes()}
    assert lengths == pytest.approx({"s0": 30.0, "s1": 30.0, "s2": 40.0})
    assert outcome.job.element("s0").style.fill is None
    assert outcome.reports == ("20 mm of edge is cut once instead of twice; 2 pieces are lines now.",)
    assert outcome.made == ("s1", "s0")


def test_the_cut_file_is_made_of_it_and_the_check_finds_no_double_cut(tmp_path):
    job = done(row()).job
    assert not [found for found in checks.check(job) if found.rule in ("duplicate", "shared-edge", "overlap")]
    assert len(write_cut_files(job, tmp_path)) == 2


def test_pieces_of_two_vinyls_share_nothing():
    job = job_of(shape("a", rectangle(0, 0, 10, 10)), shape("b", rectangle(10, 0, 10, 10), BLUE))
    outcome = done(job)
    assert not outcome.changes
    assert outcome.reports == ("No two of these share an edge in one vinyl.",)


def test_a_piece_wholly_on_another_is_gone_and_told():
    outcome = done(of_one_vinyl(shape("low", circle((5, 5), 4)), shape("high", circle((5, 5), 4), BLUE)))
    assert [each.id for each in outcome.job.shapes()] == ["high"]
    assert "“Low” lies wholly on edges that are cut already; it is gone." in outcome.reports


def test_one_piece_alone_is_refused():
    with pytest.raises(CannotApply, match="at least 2"):
        done(job_of(shape("a", circle((5, 5), 4))))


def test_a_piece_with_a_stroke_that_shows_keeps_it_and_is_told():
    bordered = shape("b", rectangle(10, 0, 10, 10), ORANGE, Stroke(BLUE, 2.0))
    job = of_one_vinyl(shape("a", rectangle(0, 0, 10, 10), ORANGE), bordered)
    outcome = done(job)
    assert outcome.job == job
    assert outcome.reports[-1] == "1 shape has a stroke that shows and is left as before: use stroke to shape first."
