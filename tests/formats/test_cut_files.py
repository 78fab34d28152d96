"""What reaches the cutter: outlines of what is to be cut, real size, one origin, nothing else."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from bladewise.document import (
    PRINT,
    Colour,
    Gradient,
    GradientKind,
    Job,
    Layer,
    Lettering,
    Material,
    MaterialKind,
    Picture,
    Stop,
    Stroke,
    Style,
)
from bladewise.errors import CannotWrite
from bladewise.formats import MARK_KINDS, RegistrationMarks, file_name, read_svg, write_cut_files
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import circle, polygon, rectangle
from pieces import BLUE, ORANGE, ring_and_bar, shape

if TYPE_CHECKING:
    from pathlib import Path


def names(paths: list[Path]) -> list[str]:
    return [path.name for path in paths]


def test_there_is_one_file_a_vinyl_beside_the_layered_one(tmp_path: Path) -> None:
    job = ring_and_bar()
    paths = write_cut_files(job, tmp_path / "out")
    assert names(paths) == ["Test.svg", "Test - Orange e69f00.svg", "Test - Blue 0072b2.svg"]
    whole, *cuts = [read_svg(path) for path in paths]
    assert whole.shapes() == job.shapes()
    for cut, original in zip(cuts, job.shapes(), strict=True):
        (found,) = cut.shapes()
        assert found.path == original.path, "the same place to the last bit: the colours line up"
        assert found.style.fill is None
        assert found.style.stroke == Stroke(original.style.fill, 0.1)
        assert (cut.width_mm, cut.height_mm) == (job.width_mm, job.height_mm)


def test_what_is_hidden_guide_or_print_does_not_get_into_a_cut_file(tmp_path: Path) -> None:
    guide = Material("guide", "Fold", BLUE, MaterialKind.GUIDE)
    disc = circle((50.0, 50.0), 10.0)
    layer = Layer(
        "art", "Art",
        (
            shape("kept", disc), replace(shape("hidden", disc), visible=False),
            replace(shape("printed", disc), material=PRINT.id), replace(shape("folded", disc), material="guide"),
            Picture("photo", b"\x89PNG\r\n\x1a\n", "image/png", Affine.scaled(5.0)),
        ),
    )  # fmt: skip
    hidden = Layer("off", "Off", (shape("on-hidden-layer", disc),), visible=False)
    job = Job("Test", 100.0, 100.0, (layer, hidden), (guide, PRINT))
    paths = write_cut_files(job, tmp_path)
    assert len(paths) == 2
    assert [one.id for one in read_svg(paths[1]).shapes()] == ["kept"]


def test_a_print_with_a_gradient_is_not_cut(tmp_path: Path) -> None:
    job = ring_and_bar()
    fade = Gradient(GradientKind.LINEAR, (0.0, 0.0), (9.0, 0.0), (Stop(0.0, ORANGE), Stop(1.0, BLUE)))
    printed = job.replaced({"bar": (replace(job.shapes()[1], style=Style(fill=fade)),)})
    assert names(write_cut_files(printed, tmp_path)) == ["Test.svg", "Test - Orange e69f00.svg"]


def test_live_lettering_is_refused_by_name_and_nothing_is_written(tmp_path: Path) -> None:
    text = Lettering("word", "Fresh", "Pacifico", 10.0, Style(fill=ORANGE), name="Slogan", outline=circle((9, 9), 3.0))
    job = Job("Test", 100.0, 100.0, (Layer("art", "Art", (text,)),))
    with pytest.raises(CannotWrite, match="Fresh") as caught:
        write_cut_files(job, tmp_path / "out")
    assert caught.value.where == "Slogan"
    assert "shapes" in caught.value.hint
    assert not (tmp_path / "out").exists()


def test_a_shape_that_is_only_a_stroke_is_refused_and_a_hairline_is_not(tmp_path: Path) -> None:
    line = polygon([(1.0, 1.0), (50.0, 1.0)], closed=False)
    wide = replace(shape("line", line), style=Style(stroke=Stroke(BLUE, 2.0)))
    with pytest.raises(CannotWrite, match="only a stroke") as caught:
        write_cut_files(Job("Test", 100.0, 100.0, (Layer("art", "Art", (wide,)),)), tmp_path)
    assert "stroke to shape" in caught.value.hint.lower()
    thin = replace(wide, style=Style(stroke=Stroke(BLUE, 0.1)))
    paths = write_cut_files(Job("Test", 100.0, 100.0, (Layer("art", "Art", (thin,)),)), tmp_path)
    assert read_svg(paths[1]).shapes()[0].path == line


def test_a_job_with_nothing_to_cut_is_refused(tmp_path: Path) -> None:
    with pytest.raises(CannotWrite, match="Nothing in the job is to be cut"):
        write_cut_files(Job("Test", 100.0, 100.0), tmp_path)
    assert names(write_cut_files(Job("Test", 100.0, 100.0), tmp_path, per_colour=False)) == ["Test.svg"]


@pytest.mark.parametrize("kind", MARK_KINDS)
def test_registration_marks_are_the_same_in_every_file(tmp_path: Path, kind: str) -> None:
    marks = RegistrationMarks(kind, size_mm=8.0, inset_mm=4.0)
    paths = write_cut_files(ring_and_bar(), tmp_path, marks=marks)
    found = []
    for path in paths:
        layer = read_svg(path).layers[-1]
        assert layer.name == "Registration marks"
        found.append([one.path for one in layer.children])
    assert found[0] == found[1] == found[2]
    assert len(found[0]) == 4
    assert found[0][0].bounds() == pytest.approx((4.0, 4.0, 12.0, 12.0))
    assert found[0][2].bounds() == pytest.approx((188.0, 188.0, 196.0, 196.0))


def test_marks_stand_where_the_operator_sets_them_or_are_refused(tmp_path: Path) -> None:
    marks = RegistrationMarks("round", size_mm=6.0, places=((20.0, 30.0),))
    path = write_cut_files(ring_and_bar(), tmp_path, marks=marks)[1]
    (mark,) = read_svg(path).layers[-1].children
    assert mark.bounds == pytest.approx((17.0, 27.0, 23.0, 33.0))
    outside = RegistrationMarks("round", places=((1.0, 1.0),))
    for bad in (outside, RegistrationMarks("star"), RegistrationMarks(size_mm=0.0)):
        with pytest.raises(CannotWrite):
            write_cut_files(ring_and_bar(), tmp_path, marks=bad)


def test_materials_whose_names_make_the_same_file_name_get_files_of_their_own(tmp_path: Path) -> None:
    first, second = (Material(key, name, ORANGE) for key, name in (("a", "Red/gloss"), ("b", "red:GLOSS")))
    disc = rectangle(1.0, 1.0, 5.0, 5.0)
    children = (replace(shape("x", disc), material="a"), replace(shape("y", disc), material="b"))
    job = Job("Cart: left?", 100.0, 100.0, (Layer("art", "Art", children),), (first, second))
    found = names(write_cut_files(job, tmp_path))
    assert found == ["Cart left.svg", "Cart left - Red gloss.svg", "Cart left - red GLOSS 2.svg"]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Puddlewick cart", "Puddlewick cart"),
        ("../../etc/passwd", "etc passwd"),
        ('a\\b:c*d?e"f<g>h|i', "a b c d e f g h i"),
        ("CON", "CON_"),
        ("lpt1.svg", "lpt1.svg_"),
        ("  .hidden. ", "hidden"),
        ("Größe 12 µm", "Größe 12 µm"),
        ("", "job"),
        ("///", "job"),
        ("x" * 300, "x" * 80),
        ("tab\tand\nline", "tab and line"),
    ],
)
def test_file_names_are_safe_on_every_system(name: str, expected: str) -> None:
    assert file_name(name) == expected


def test_a_colour_of_its_own_is_cut_in_its_own_file(tmp_path: Path) -> None:
    green = replace(shape("c", circle((20.0, 20.0), 5.0)), style=Style(fill=Colour(0, 128, 0)))
    job = Job("Test", 100.0, 100.0, (Layer("art", "Art", (green, shape("d", circle((60.0, 60.0), 5.0)))),))
    first, second = (read_svg(path).shapes() for path in write_cut_files(job, tmp_path)[1:])
    assert ([one.id for one in first], [one.id for one in second]) == (["c"], ["d"])


def test_art_where_a_registration_mark_would_stand_is_refused_by_name(tmp_path):
    job = Job("J", 100.0, 100.0, (Layer("l", "L", (shape("corner", rectangle(8, 8, 30, 30)),)),))
    with pytest.raises(CannotWrite, match="“Corner” lies where a registration mark would stand"):
        write_cut_files(job, tmp_path, marks=RegistrationMarks())
    assert not list(tmp_path.iterdir())
    assert write_cut_files(job, tmp_path, marks=RegistrationMarks(size_mm=2, inset_mm=5))
