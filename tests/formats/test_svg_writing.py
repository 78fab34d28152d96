"""What an operator relies on when a job is saved: any reader shows it, ours gets it back, old files survive."""

from __future__ import annotations

import math
import os
import sys
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

from bladewise.document import Colour, Gradient, GradientKind, Group, Job, Layer, Lettering, Stop, Stroke, Style
from bladewise.errors import CannotWrite
from bladewise.formats import read_svg, svg_text, write, write_svg, write_text
from bladewise.formats.svg.path_data import read_path_data, write_exact_arcs, write_path_data
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import EMPTY, circle, polygon, rectangle
from outside.pictures import difference, picture
from pieces import BLUE, ORANGE, job_of, shape

SVG = "{http://www.w3.org/2000/svg}"


def test_the_file_is_real_size_and_its_unit_is_the_millimetre() -> None:
    job = job_of(shape("a", circle((10.0, 20.0), 5.0)), width_mm=210.5, height_mm=99.0)
    root = ElementTree.fromstring(svg_text(job))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("210.5mm", "99mm", "0 0 210.5 99")
    path = root.find(f"{SVG}g/{SVG}path")
    assert path is not None
    assert path.get("d", "").startswith("M15 20A")


def test_layers_groups_and_ids_are_plain_svg() -> None:
    inner = Group("pair", (shape("a", circle((1.0, 1.0), 1.0)), shape("b", circle((2.0, 2.0), 1.0))), opacity=0.5)
    job = Job("Test", 10.0, 10.0, (Layer("back", "Back", (inner,)), Layer("front", "Front", visible=False)))
    root = ElementTree.fromstring(svg_text(job))
    back, front = root.findall(f"{SVG}g")
    assert (back.get("id"), front.get("id"), front.get("display")) == ("back", "front", "none")
    assert back.find(f"{SVG}g").get("opacity") == "0.5"
    assert [one.get("id") for one in back.iter(f"{SVG}path")] == ["a", "b"]


def test_a_shape_with_a_pen_looks_as_it_should_in_another_reader() -> None:
    square = rectangle(10.0, 10.0, 30.0, 30.0)
    pen = Affine.rotated(30.0).after(Affine.scaled(4.0, 1.0))
    fill = Gradient(GradientKind.LINEAR, (10.0, 0.0), (40.0, 0.0), (Stop(0.0, ORANGE), Stop(1.0, BLUE)))
    style = Style(fill=fill, stroke=Stroke(Colour(0, 0, 0), 1.0, pen=pen))
    job = job_of(shape("a", square), width_mm=50.0, height_mm=50.0)
    job = job.replaced({"a": (replace(job.shapes()[0], style=style),)})
    (again,) = job.shapes()
    # the same by hand: the square drawn in the pen's space, the gradient undone in it
    inverse = pen.inverse()
    by_hand = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="50mm" viewBox="0 0 50 50"><defs>'
        '<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="10" x2="40" '
        f'gradientTransform="matrix({" ".join(map(str, inverse))})"><stop stop-color="{ORANGE.hex}"/>'
        f'<stop offset="1" stop-color="{BLUE.hex}"/></linearGradient></defs>'
        f'<path transform="matrix({" ".join(map(str, pen))})" d="{write_path_data(square.transformed(inverse))}" '
        'fill="url(#g)" stroke="#000"/></svg>'
    )
    assert difference(picture(svg_text(job), 200, 200), picture(by_hand, 200, 200)).off == 0.0
    assert again.style.stroke.pen == pen


def test_a_drawing_is_the_same_after_any_number_of_saves(tmp_path: Path) -> None:
    job = job_of(shape("a", circle((10.1, 20.2), 5.3).transformed(Affine.rotated(17.0))))
    for _ in range(3):
        write_svg(job, tmp_path / "a.svg")
        assert read_svg(tmp_path / "a.svg") == job
        job = read_svg(tmp_path / "a.svg")


def test_exact_arcs_are_not_believed_against_the_path_data() -> None:
    path = circle((0.0, 0.0), 10.0)
    data, arcs = write_path_data(path), write_exact_arcs(path)
    assert read_path_data(data, exact_arcs=arcs).path == path
    moved = write_path_data(circle((0.0, 0.0), 10.00001))
    assert read_path_data(moved, exact_arcs=arcs).path == read_path_data(moved).path != path
    for broken in ("", "1 2", f"{arcs} 1 2 3", "nonsense"):
        assert read_path_data(data, exact_arcs=broken).path == read_path_data(data).path


def test_art_moved_by_another_program_is_where_that_program_put_it(tmp_path: Path) -> None:
    pen = Affine.scaled(3.0, 1.0)
    style = Style(fill=ORANGE, stroke=Stroke(BLUE, 1.0, pen=pen))
    job = job_of(replace(shape("a", circle((10.0, 20.0), 5.0)), style=style))
    text = svg_text(job)
    path = tmp_path / "moved.svg"
    path.write_text(text.replace('<g id="art"', '<g id="art" transform="translate(100 0)"'))
    (moved,) = read_svg(path).shapes()
    assert moved.bounds == pytest.approx((105.0, 15.0, 115.0, 25.0), abs=1e-9)
    assert moved.style.stroke.pen[:4] == pytest.approx(pen[:4])
    path.write_text(text.replace('d="M', 'd="M0 0L1 1M', 1))
    (changed,) = read_svg(path).shapes()
    assert len(changed.path.starts) == 2, "what is shown counts, not what was kept beside it"


def test_live_lettering_shows_its_outlines_and_stays_live(tmp_path: Path) -> None:
    text = Lettering(
        "word", "Fresh & hot\n“now”", "Pacifico", 12.5, Style(fill=ORANGE), outline=polygon([(0, 0), (9, 0), (9, 9)]),
        transform=Affine.rotated(10.0), letter_spacing_mm=0.25, weight=700, italic=True,
    )  # fmt: skip
    job = job_of(text)
    root = ElementTree.fromstring(svg_text(job))
    group = root.find(f"{SVG}g/{SVG}g")
    assert group.find(f"{SVG}path").get("d") == "M0 0L9 0L9 9Z"
    assert group.find(f"{SVG}text") is None
    write_svg(job, tmp_path / "a.svg")
    assert read_svg(tmp_path / "a.svg") == job


def test_lettering_without_outlines_is_shown_as_text(tmp_path: Path) -> None:
    job = job_of(Lettering("word", "Hello", "Pacifico", 12.5, Style(fill=ORANGE), outline=EMPTY))
    root = ElementTree.fromstring(svg_text(job))
    assert root.find(f"{SVG}g/{SVG}g/{SVG}text").text == "Hello"
    write_svg(job, tmp_path / "a.svg")
    assert read_svg(tmp_path / "a.svg") == job


def test_numbers_are_the_shortest_that_read_back() -> None:
    data = write_path_data(polygon([(0.1, 1.0), (1.0 / 3.0, -0.0), (1e-7, 1e6)]))
    assert data == f"M0.1 1L{1 / 3!r} 0L1e-07 1000000Z"
    assert read_path_data(data).path.points[0, 3, 0] == 1.0 / 3.0


def test_letters_xml_cannot_hold_do_not_break_the_file(tmp_path: Path) -> None:
    job = job_of(replace(shape("a", circle((1.0, 1.0), 1.0)), name='bell \x07 & <tag> "quoted" \ud800'))
    write_svg(job, tmp_path / "a.svg")
    assert read_svg(tmp_path / "a.svg").shapes()[0].name == 'bell \ufffd & <tag> "quoted" \ufffd'


def test_a_name_that_ends_with_an_unknown_kind_is_refused(tmp_path: Path) -> None:
    with pytest.raises(CannotWrite, match=r"\.xyz"):
        write(job_of(), tmp_path / "a.xyz")
    write(job_of(), tmp_path / "a.SVG")
    assert (tmp_path / "a.SVG").exists()


# --- whole or not at all ------------------------------------------------------------------------------------------


def test_a_file_is_replaced_whole_and_nothing_is_left_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "recipe.toml"
    write_text("old", path)
    write_text("new", path)
    assert path.read_text() == "new"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("where", ["write", "fsync", "replace"])
def test_the_old_file_stays_when_anything_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, where: str) -> None:
    path = tmp_path / "job.svg"
    path.write_text("old")

    def fail(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    if where == "write":
        monkeypatch.setattr(os, "fdopen", fail)
    elif where == "fsync":
        monkeypatch.setattr(os, "fsync", fail)
    else:
        monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(CannotWrite, match="No space left") as caught:
        write_text("new", path)
    assert caught.value.where == "job.svg"
    assert caught.value.hint
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_missing_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(CannotWrite) as caught:
        write_text("x", tmp_path / "gone" / "a.txt")
    assert "folder is not there" in caught.value.hint


@pytest.mark.skipif(sys.platform == "win32", reason="rights and links of POSIX systems")
def test_rights_and_links_are_kept(tmp_path: Path) -> None:
    path, link = tmp_path / "job.svg", tmp_path / "link.svg"
    write_text("old", path)
    path.chmod(0o640)
    link.symlink_to(path)
    write_text("new", link)
    assert link.is_symlink()
    assert path.read_text() == "new"
    assert path.stat().st_mode & 0o777 == 0o640


def test_an_ellipse_under_any_transform_is_written_as_arcs() -> None:
    path = circle((3.0, 4.0), 5.0).transformed(Affine(2.0, 0.3, -0.7, 1.1, 9.0, -2.0))
    found = read_path_data(write_path_data(path)).path
    assert len(found) == 4
    assert abs(found.points - path.points).max() < 1e-12 * 100
    assert math.isclose(float(found.weights[0]), math.sqrt(0.5), rel_tol=1e-12)
