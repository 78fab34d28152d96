"""Destinations: what a machine wants, under a name of the operator's; wrong ones are told with file, line and word."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from ezdxf.filemanagement import readfile

from bladewise.document import Group, Layer, Material, Profile, Style
from bladewise.errors import CannotRead, CannotWrite
from bladewise.formats import (
    Destination,
    destination_text,
    drop_destination,
    keep_destination,
    kept_destinations,
    only_made_of,
    prepared,
    read_destination,
    read_svg,
    write_to,
)
from bladewise.formats.cut_lines import mirrored
from bladewise.formats.destinations import checked, choices_of, says_something
from bladewise.formats.dxf import read_dxf_outlines
from bladewise.formats.plotter_reader import read_plotter
from bladewise.geometry.measures import length
from bladewise.geometry.path import circle, rectangle
from pieces import BLUE, job_of, ring_and_bar, shape

if TYPE_CHECKING:
    from bladewise.document import Job

ROOT = Path(__file__).resolve().parents[2]

GOOD = """
name = "Front table"
format = "hpgl"
per_colour = true
mirrored = "heat-transfer"
marks = "round"
marks_size_mm = 8
curves = "beziers"
tolerance_mm = 0.02
origin = "centre"
rotation_deg = 90
unit_mm = 0.01
takes_negative = true
pen = 2
force = 4
speed = 20.5

[pens]
"Gold leaf" = 3
"""


def read(tmp_path: Path, text: str) -> Destination:
    path = tmp_path / "front.toml"
    path.write_text(text, encoding="utf-8")
    return read_destination(path)


def two_materials() -> Job:
    """A shirt film, pressed on from the back, and a vinyl: off the middle, so that left and right differ."""
    film = Material("film", "Shirt film", BLUE, profile=Profile(heat_transfer=True))
    vinyl = Material("vinyl", "Gold leaf", BLUE)
    children = (
        replace(shape("a", rectangle(10.0, 14.0, 20.0, 5.0)), material="film"),
        Group("g", (replace(shape("b", circle((30.0, 60.0), 10.0)), material="vinyl"),)),
    )
    return replace(job_of(*children), materials=(film, vinyl))  # type: ignore[arg-type]


def test_a_destination_reads_into_settings_and_comes_back_the_same(tmp_path: Path) -> None:
    found = read(tmp_path, GOOD)
    assert found == Destination(
        "hpgl", "Front table", per_colour=True, mirrored="heat-transfer", marks="round", marks_size_mm=8,
        curves="beziers", tolerance_mm=0.02, origin="centre", rotation_deg=90, unit_mm=0.01, takes_negative=True,
        pen=2, force=4, speed=20.5, pens=(("Gold leaf", 3),),
    )  # fmt: skip
    assert read(tmp_path, destination_text(found)) == found


def test_only_the_format_must_be_said_and_the_file_gives_the_name(tmp_path: Path) -> None:
    assert read(tmp_path, 'format = "dxf"\n') == Destination("dxf", "front")
    assert read(tmp_path, 'format = "svg"\nmirrored = true\n').mirrored == "yes"


@pytest.mark.parametrize(
    ("text", "where", "what"),
    [
        ('format = "dxf"\n\nunit = "mm"\n', "line 3", "Did you mean “units”?"),
        ('format = "dfx"\n', "line 1", "Did you mean “dxf”?"),
        ('format = "hpgl"\norigin = "center"\n', "line 2", "Did you mean “centre”?"),
        ('format = "hpgl"\nrotation_deg = 45\n', "line 2", "is one of 0, 90, 180, 270"),
        ('format = "hpgl"\nunit_mm = 0.03\n', "line 2", "is one of 0.025, 0.01, 0.005"),
        ('format = "hpgl"\ncurves = "bezier"\n', "line 2", "Did you mean “beziers”?"),
        ('format = "svg"\nmarks = "crosses"\n', "line 2", "Did you mean “cross”?"),
        ('format = "svg"\nper_colour = "yes"\n', "line 2", "takes true or false"),
        ('format = "dxf"\ntolerance_mm = -1\n', "line 2", "a number from 0.001 to 1"),
        ('format = "dxf"\ntolerance_mm = nan\n', "line 2", "a number from 0.001 to 1"),
        ('format = "dxf"\ntolerance_mm = true\n', "line 2", "a number from 0.001 to 1"),
        ('format = "hpgl"\nforce = 1.5\n', "line 2", "a whole number from 1 to 1000"),
        ('format = "hpgl"\n[pens]\nGold = 0\n', "line 3", "pen of “Gold” is a number from 1 to 255"),
        ('format = "hpgl"\npens = 4\n', "line 2", "“pens” is a table"),
        ('format = "svg"\nname = 7\n', "line 2", "takes a text"),
        ('format = "dxf"\nforce = 4\n', "line 2", "says nothing to dxf; it belongs to hpgl"),
        ('format = "svg"\ntolerance_mm = 0.1\n', "line 2", "it belongs to dxf, hpgl"),
        ('name = "x"\n', "front.toml", "names no format"),
        ('format = "dxf"\nname = "x\n', "line 2", "not TOML"),
        ('format = ["dxf"]\n', "line 1", "is one of svg, dxf, hpgl, pdf"),
    ],
)
def test_a_wrong_word_is_told_with_its_line_and_the_nearest_right_one(
    tmp_path: Path, text: str, where: str, what: str
) -> None:
    with pytest.raises(CannotRead) as caught:
        read(tmp_path, text)
    assert where in caught.value.where
    assert what in str(caught.value)


def test_files_that_are_none_are_told(tmp_path: Path) -> None:
    with pytest.raises(CannotRead, match="no such file"):
        read_destination(tmp_path / "none.toml")
    (tmp_path / "picture.toml").write_bytes(b"\xff\xd8\x00")
    with pytest.raises(CannotRead, match="no text file"):
        read_destination(tmp_path / "picture.toml")


def test_destinations_are_kept_under_the_operators_names(tmp_path: Path) -> None:
    folder = tmp_path / "kept"
    table, press = Destination("dxf", "Table: left"), Destination("hpgl", "press", pens=(('A "b" \\ c', 2),))
    paths = [keep_destination(each, folder) for each in (table, press)]
    assert [path.name for path in paths] == ["Table left.toml", "press.toml"]
    (folder / "bad.toml").write_text('format = "dwx"\n')
    found, troubles = kept_destinations(folder)
    assert found == [press, table]
    assert [trouble.where for trouble in troubles] == ["bad.toml, line 1"]
    keep_destination(replace(table, units="in"), folder)
    assert kept_destinations(folder)[0][1].units == "in"
    assert kept_destinations(tmp_path / "nothing") == ([], [])


def test_one_file_holds_all_materials_or_each_gets_its_own(tmp_path: Path) -> None:
    job = two_materials()
    (whole,) = write_to(job, tmp_path, Destination("dxf"))
    assert whole.name == "Test.dxf"
    assert list(read_dxf_outlines(readfile(whole))) == ["Shirt film", "Gold leaf"]
    paths = write_to(job, tmp_path, Destination("dxf", per_colour=True, marks="cross"))
    assert [path.name for path in paths] == ["Test - Shirt film.dxf", "Test - Gold leaf.dxf"]
    assert list(read_dxf_outlines(readfile(paths[1]))) == ["Gold leaf", "Registration marks"]


@pytest.mark.parametrize("kind", ["svg", "dxf", "hpgl"])
def test_only_what_is_pressed_on_from_the_back_is_mirrored(tmp_path: Path, kind: str) -> None:
    destination = Destination(kind, per_colour=True, mirrored="heat-transfer")
    film, vinyl = write_to(two_materials(), tmp_path, destination)
    boxes = []
    for path in (film, vinyl):
        if kind == "svg":
            boxes.append(read_svg(path).shapes()[0].bounds)
        elif kind == "dxf":
            (outline,) = read_dxf_outlines(readfile(path)).values()
            boxes.append(outline.bounds())
        else:
            boxes.append(read_plotter(path.read_text()).drawn[0].path.bounds())
    assert (boxes[0][0], boxes[0][2]) == pytest.approx((170.0, 190.0))  # the sheet is 200 mm wide
    assert (boxes[1][0], boxes[1][2]) == pytest.approx((20.0, 40.0))


def test_materials_that_differ_in_side_do_not_go_into_one_file(tmp_path: Path) -> None:
    with pytest.raises(CannotWrite, match="one file cannot hold both") as caught:
        write_to(two_materials(), tmp_path / "out", Destination("hpgl", mirrored="heat-transfer"))
    assert "per colour" in caught.value.hint
    assert not (tmp_path / "out").exists()
    (whole,) = write_to(two_materials(), tmp_path, Destination("dxf", mirrored="yes"))
    assert read_dxf_outlines(readfile(whole))["Shirt film"].bounds()[0] == pytest.approx(170.0)


def test_a_mirrored_job_mirrored_again_is_the_job() -> None:
    job = two_materials()
    twice = mirrored(mirrored(job))
    for one, other in zip(job.shapes(), twice.shapes(), strict=True):
        assert np.allclose(one.path.points, other.path.points, atol=1e-12)
        assert length(mirrored(job).shapes()[0].path) == pytest.approx(50.0)


def test_pens_unit_and_turn_reach_the_plotter_file(tmp_path: Path) -> None:
    destination = Destination("hpgl", unit_mm=0.01, rotation_deg=90, pen=2, force=5, pens=(("Gold leaf", 7),))
    (path,) = write_to(two_materials(), tmp_path, destination)
    text = path.read_text()
    assert "SP2;FS5;" in text
    assert "SP7;FS5;" in text
    plot = read_plotter(text)
    assert [drawn.pen for drawn in plot.drawn] == [2, 7]
    assert plot.drawn[0].path.bounds() == pytest.approx((5.0 + 9.0, 10.0, 19.0, 30.0))


def test_the_layered_drawing_and_the_pdf_hold_the_whole_job(tmp_path: Path) -> None:
    (drawing,) = write_to(ring_and_bar(), tmp_path, Destination("svg", marks="cross"))
    assert [layer.name for layer in read_svg(drawing).layers] == ["Art", "Registration marks"]
    (page,) = write_to(ring_and_bar(), tmp_path, Destination("pdf"))
    assert page.read_bytes().startswith(b"%PDF-")


def test_a_job_that_is_not_ready_leaves_nothing_behind(tmp_path: Path) -> None:
    bare = replace(
        ring_and_bar(), layers=(Layer("art", "Art", (replace(shape("a", circle((9, 9), 3)), style=Style()),)),)
    )
    for destination in (Destination("dxf"), Destination("svg", per_colour=True)):
        with pytest.raises(CannotWrite, match="Nothing in the job is to be cut"):
            write_to(bare, tmp_path / "out", destination)
    assert not (tmp_path / "out").exists()


def test_the_destination_the_readme_shows_is_a_right_one(tmp_path: Path) -> None:
    page = (ROOT / "README.md").read_text(encoding="utf-8")
    (shown,) = (block for block in re.findall(r"```toml\n(.*?)```", page, flags=re.DOTALL) if "rotation_deg" in block)
    found = read(tmp_path, shown)
    assert (found.name, found.format, found.pens) == ("Front table", "hpgl", (("Gold leaf", 2),))


def test_files_are_made_before_they_are_written_and_what_is_shown_is_what_is_written(tmp_path: Path) -> None:
    destination = Destination("hpgl", "Front table", per_colour=True, marks="cross")
    files = prepared(two_materials(), destination)
    assert not list(tmp_path.iterdir())
    assert [file.name for file in files] == [path.name for path in write_to(two_materials(), tmp_path, destination)]
    for file in files:
        assert (tmp_path / file.name).read_bytes() == file.data
        assert [line.name for line in file.lines][1:] == ["Registration marks"]


def test_a_material_left_out_gets_into_no_file() -> None:
    job = only_made_of(two_materials(), {"vinyl"})
    assert [shape.id for shape in job.shapes()] == ["b"]
    (file,) = prepared(job, Destination("svg", per_colour=True))
    assert "Gold leaf" in file.name
    assert only_made_of(job, {"vinyl", "film"}) is job


def test_a_destination_taken_out_is_gone_whatever_its_file_is_called(tmp_path: Path) -> None:
    keep_destination(Destination("dxf", "Saw"), tmp_path)
    keep_destination(Destination("hpgl", "Front table"), tmp_path).rename(tmp_path / "other.toml")
    (tmp_path / "broken.toml").write_text("format = ")
    drop_destination("Front table", tmp_path)
    drop_destination("Nobody", tmp_path)
    assert [each.name for each in kept_destinations(tmp_path)[0]] == ["Saw"]
    assert (tmp_path / "broken.toml").exists()


def test_a_setting_is_refused_by_the_name_the_operator_sees() -> None:
    assert checked("pen", 3) == 3
    with pytest.raises(ValueError, match=r"“Size of the marks” takes a number from 0\.5 to 200"):
        checked("marks_size_mm", 0.1, called="Size of the marks")
    with pytest.raises(ValueError, match="The pen of “Gold”"):
        checked("pens", {"Gold": 900})
    assert choices_of("origin")[0] == "lower-left"
    assert choices_of("pen") == ()
    assert says_something("pen", "hpgl")
    assert not says_something("pen", "pdf")
    assert says_something("marks", "pdf")
