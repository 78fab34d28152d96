"""`bladewise export`: one command for every kind of file and for the destinations of the shop."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from ezdxf.filemanagement import readfile
from PIL import Image

from bladewise.cli import main
from bladewise.document import Colour, CutKind, Material
from bladewise.formats import JobFile, write_job_file, write_svg
from bladewise.formats.plotter_reader import read_plotter
from bladewise.geometry.path import circle, ellipse, joined, rectangle
from pdf_reading import read_pdf
from pieces import job_of, shape, two_circles

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def art(tmp_path: Path) -> Path:
    path = tmp_path / "art.svg"
    write_svg(
        job_of(shape("left", circle((50.0, 50.0), 20.0)), shape("right", ellipse((120.0, 50.0), 20.0, 9.0))), path
    )
    return path


def run(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str, str]:
    code = main([str(word) for word in words])
    out, err = capsys.readouterr()
    return code, out, err


@pytest.mark.parametrize("kind", ["svg", "pdf", "dxf", "hpgl", "png"])
def test_each_format_is_written_by_its_name(
    capsys: pytest.CaptureFixture[str], art: Path, tmp_path: Path, kind: str
) -> None:
    code, out, _ = run(capsys, "export", art, "--format", kind, "--out", tmp_path / "out")
    assert code == 0
    assert out.strip().endswith(f".{kind}")
    assert (tmp_path / "out" / f"Test.{kind}").stat().st_size > 100


def test_a_tolerance_turns_curves_into_lines(capsys: pytest.CaptureFixture[str], art: Path, tmp_path: Path) -> None:
    kinds = []
    for more in ((), ("--tolerance", "0.05")):
        assert run(capsys, "export", art, "--as", "dxf", "--out", tmp_path, *more)[0] == 0
        kinds.append([entity.dxftype() for entity in readfile(tmp_path / "Test.dxf").modelspace()])
    assert kinds == [["LWPOLYLINE", "SPLINE"], ["LWPOLYLINE", "LWPOLYLINE"]]
    code, _, err = run(capsys, "export", art, "--as", "png", "--tolerance", "0.05", "--out", tmp_path)
    assert code == 2
    assert "says nothing to png" in err


def test_a_destination_is_followed_and_the_command_may_say_more(
    capsys: pytest.CaptureFixture[str], art: Path, tmp_path: Path
) -> None:
    profile = tmp_path / "front.toml"
    profile.write_text('name = "Front"\nformat = "hpgl"\nmirrored = true\npen = 3\n')
    code, out, _ = run(
        capsys, "export", art, "--to", profile, "--marks", "cross", "--per-colour", "--out", tmp_path / "out", "--json"
    )
    summary = json.loads(out)
    assert code == 0
    assert (summary["format"], summary["destination"], summary["mirrored"]) == ("hpgl", "Front", "yes")
    (path,) = summary["files"]
    assert path.endswith("Test - Orange e69f00.hpgl")
    drawn = read_plotter((tmp_path / "out" / "Test - Orange e69f00.hpgl").read_text()).drawn
    assert {each.pen for each in drawn} == {3}
    assert len(drawn) == 6
    assert drawn[0].path.bounds()[0] == pytest.approx(130.0), "mirrored on a sheet of 200 mm"


def test_a_bad_destination_is_one_message_with_its_line(
    capsys: pytest.CaptureFixture[str], art: Path, tmp_path: Path
) -> None:
    profile = tmp_path / "front.toml"
    profile.write_text('format = "dxf"\nunitz = "mm"\n')
    code, out, err = run(capsys, "export", art, "--to", profile, "--out", tmp_path / "out")
    assert (code, out) == (2, "")
    assert err == "bladewise: front.toml, line 2: A destination has no “unitz”. Did you mean “units”?\n"
    assert not (tmp_path / "out").exists()


def test_double_cuts_are_refused_for_every_format(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    art = tmp_path / "circles.svg"
    write_svg(two_circles(), art)
    code, _, err = run(capsys, "export", art, "--format", "dxf", "--out", tmp_path / "out")
    assert code == 1
    assert "cut twice" in err
    assert err.endswith("`--despite-findings` writes them all the same.\n")
    assert run(capsys, "export", art, "--format", "dxf", "--out", tmp_path / "out", "--despite-findings")[0] == 0
    assert run(capsys, "export", art, "--format", "png", "--out", tmp_path / "out")[0] == 0, (
        "no knife follows a picture"
    )


def test_a_format_and_a_destination_do_not_go_together(capsys: pytest.CaptureFixture[str], art: Path) -> None:
    profile = art.with_name("front.toml")
    profile.write_text('name = "Front"\nformat = "hpgl"\n')
    code, out, err = run(capsys, "export", art, "--as", "dxf", "--profile", profile, "--out", art.parent / "out")
    assert (code, out) == (2, "")
    assert "“Front” takes hpgl, not dxf" in err
    assert not (art.parent / "out").exists()
    assert run(capsys, "export", art, "--as", "hpgl", "--profile", profile, "--out", art.parent / "out")[0] == 0
    for words in (("--format", "dwx"), ("--tolerance", "wide"), ("--dpi", "0"), ("--as", "pdf", "--pdf")):
        with pytest.raises(SystemExit) as caught:
            main(["export", str(art), "--out", "x", *words])
        assert caught.value.code == 2
        assert capsys.readouterr().err.startswith("bladewise: ")


def test_a_pdf_has_the_cut_line_under_the_name_that_was_given(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    cut = Material("cut-line", "Cut line", Colour(255, 0, 255))
    line = replace(shape("line", circle((50.0, 50.0), 20.0)), material="cut-line")
    art = tmp_path / "art.svg"
    write_svg(replace(job_of(line), materials=(cut,)), art)
    code, _, _ = run(capsys, "export", art, "--pdf", "--cut-name", "Contour 1", "--cut-kind", "kiss", "--out", tmp_path)
    assert code == 0
    pdf, (found,) = read_pdf((tmp_path / "Test.pdf").read_bytes())
    assert found.look.stroke == ("Separation Contour 1", (1.0,))
    assert pdf.Root.OCProperties.OCGs[0].GTS_Metadata.GTS_ProcStepsType == "/PartialCutting"
    code, _, err = run(capsys, "export", art, "--as", "dxf", "--cut-name", "Contour 1", "--out", tmp_path)
    assert code == 2
    assert "says nothing to dxf" in err


# --- what the JSON says, kept destinations, pictures, bad places ----------------------------------------------------


def two_kinds(tmp_path: Path) -> Path:
    """A square that is kiss cut with a hole in it, about it a perforation of 2 and 1 mm."""
    kiss = Material("cut-line", "Cut line", Colour(255, 0, 255))
    tear = Material("cut-line-perforation", "Tear", Colour(0, 0, 255), cut=CutKind.PERFORATION)
    tear = replace(tear, perforation_cut_mm=2.0, perforation_gap_mm=1.0)
    inner = joined([rectangle(40.0, 40.0, 20.0, 20.0), rectangle(45.0, 45.0, 5.0, 5.0)])
    job = job_of(
        replace(shape("inner", inner), material=kiss.id),
        replace(shape("outer", rectangle(30.0, 30.0, 60.0, 45.0)), material=tear.id),
    )
    path = tmp_path / "kinds.svg"
    write_svg(replace(job, materials=(kiss, tear)), path)
    return path


@pytest.mark.parametrize(("kind", "held"), [("svg", 0.0), ("pdf", 0.001), ("dxf", 1e-9), ("hpgl", 0.02)])
def test_the_json_tells_of_each_file_what_is_in_it_and_how_true_it_is(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, kind: str, held: float
) -> None:
    art = two_kinds(tmp_path)
    code, out, _ = run(capsys, "export", art, "--as", kind, "--out", tmp_path / "out", "--json", "--despite-findings")
    assert code == 0
    (file,) = json.loads(out)["written"]
    assert (file["path"], file["format"]) == (str(tmp_path / "out" / f"Test.{kind}"), kind)
    assert (file["width_mm"], file["height_mm"]) == (200.0, 200.0)
    rows = {row["name"]: row for row in file["materials"]}
    assert (rows["Cut line"]["cut"], rows["Cut line"]["pieces"]) == ("kiss", 1)
    assert rows["Cut line"]["knife_travel_mm"] == pytest.approx(100.0)
    assert (rows["Tear"]["cut"], rows["Tear"]["perforation_mm"]) == ("perforation", [2.0, 1.0])
    assert rows["Tear"]["knife_travel_mm"] == pytest.approx(140.0), "two thirds of 210 mm"
    assert file["pieces"] == 2
    assert file["knife_travel_mm"] == pytest.approx(240.0)
    assert 0.0 <= file["tolerance_held_mm"] <= held + 1e-5


def test_a_destination_is_kept_listed_used_by_its_name_and_taken_out(
    capsys: pytest.CaptureFixture[str], art: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BLADEWISE_DESTINATIONS", str(tmp_path / "kept"))
    assert run(capsys, "destinations") == (0, "", "")
    code, _, err = run(capsys, "export", art, "--profile", "Front table", "--out", tmp_path / "out")
    assert code == 2
    assert "no destination “Front table”" in err
    profile = tmp_path / "x.toml"
    profile.write_text('name = "Front table"\nformat = "hpgl"\npen = 5\n')
    assert run(capsys, "destinations", "--keep", profile)[:2] == (0, "Front table  (hpgl)\n")
    assert run(capsys, "export", art, "--profile", "front TABLE", "--out", tmp_path / "out")[0] == 0
    assert {each.pen for each in read_plotter((tmp_path / "out" / "Test.hpgl").read_text()).drawn} == {5}
    code, _, err = run(capsys, "export", art, "--profile", "Front tabel", "--out", tmp_path / "out")
    assert code == 2
    assert "Did you mean “Front table”?" in err
    (row,) = json.loads(run(capsys, "destinations", "--json")[1])["destinations"]
    assert (row["name"], row["format"], row["pen"]) == ("Front table", "hpgl", 5)
    assert run(capsys, "destinations", "--drop", "Front table")[:2] == (0, "")
    assert run(capsys, "destinations", "--drop", "Front table")[0] == 2


@pytest.mark.parametrize(("dpi", "pixels"), [(None, 1182), (25.4, 200), (300.0, 2363)])
def test_a_picture_has_the_dots_an_inch_that_were_asked_and_says_so(
    capsys: pytest.CaptureFixture[str], art: Path, tmp_path: Path, dpi: float | None, pixels: int
) -> None:
    more = ("--dpi", dpi) if dpi else ()
    assert run(capsys, "export", art, "--as", "png", *more, "--out", tmp_path)[0] == 0
    with Image.open(tmp_path / "Test.png") as picture:
        assert picture.size == (pixels, pixels), "the sheet is 200 mm wide"
        assert picture.info["dpi"] == pytest.approx((dpi or 150.0,) * 2, abs=0.02)
        middle = round(pixels * 0.25)
        assert picture.convert("RGBA").getpixel((middle, middle)) == (0xE6, 0x9F, 0x00, 255)
        assert picture.convert("RGBA").getpixel((2, 2)) == (255, 255, 255, 255)
    assert run(capsys, "export", art, "--as", "png", *more, "--transparent", "--out", tmp_path)[0] == 0
    with Image.open(tmp_path / "Test.png") as picture:
        assert picture.convert("RGBA").getpixel((2, 2))[3] == 0


def test_a_picture_may_have_a_scale_bar_of_the_length_it_says(
    capsys: pytest.CaptureFixture[str], art: Path, tmp_path: Path
) -> None:
    words = ("--as", "png", "--dpi", "254", "--scale-bar", "--json", "--out", tmp_path)
    code, out, _ = run(capsys, "export", art, *words)
    assert code == 0
    (file,) = json.loads(out)["written"]
    assert (file["width_mm"], file["height_mm"] > 205.0) == (200.0, True)
    with Image.open(tmp_path / "Test.png") as picture:
        below = np.asarray(picture.convert("L"))[2010:]  # ten pixels a millimetre; the sheet is 200 mm high
    columns = np.flatnonzero((below < 128).sum(axis=0))
    assert (columns.max() + 1 - columns.min()) / 10.0 == pytest.approx(100.0, abs=0.2), "a round length"


def test_a_picture_too_large_to_paint_is_refused(capsys: pytest.CaptureFixture[str], art: Path, tmp_path: Path) -> None:
    code, _, err = run(capsys, "export", art, "--as", "png", "--dpi", "2400", "--out", tmp_path / "out")
    assert code == 2
    assert "pixels" in err
    assert not (tmp_path / "out").exists()


def test_a_perforation_is_its_cuts_or_a_line_as_is_asked(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    art, counts = two_kinds(tmp_path), []
    for how in ("dashes", "line"):
        words = ("--as", "hpgl", "--perforation", how, "--despite-findings", "--out", tmp_path)
        assert run(capsys, "export", art, *words)[0] == 0
        counts.append(len(read_plotter((tmp_path / "Test.hpgl").read_text()).drawn))
    assert counts == [2 + 70, 2 + 1], "20 and 15 cuts a side"


def test_a_place_that_cannot_be_written_is_one_message_and_exit_code_2(
    capsys: pytest.CaptureFixture[str], art: Path, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("old")
    code, out, err = run(capsys, "export", art, "--as", "dxf", "--out", tmp_path / "file")
    assert (code, out) == (2, "")
    assert err.startswith("bladewise: file: There is a file named “file”")
    assert (tmp_path / "file").read_text() == "old"
    (tmp_path / "out" / "Test.dxf").mkdir(parents=True)
    code, out, err = run(capsys, "export", art, "--as", "dxf", "--out", tmp_path / "out")
    assert (code, out) == (2, "")
    assert "There is a folder of that name" in err
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["Test.dxf"]


def test_cut_files_never_take_the_place_of_artwork_or_of_a_job(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    art = tmp_path / "fish.svg"
    art.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><path d="M0 0H9V9Z"/></svg>')
    before = art.read_bytes()
    code, out, err = run(capsys, "export", art, "--as", "svg", "--out", tmp_path)
    assert (code, out) == (2, "")
    assert "fish.svg: A drawing of this name stands there that is no cut file" in err
    assert art.read_bytes() == before
    for _ in range(2):
        assert run(capsys, "export", art, "--as", "svg", "--out", tmp_path / "out")[0] == 0, "own files are renewed"
    job = tmp_path / "kept" / "fish.svg"
    job.parent.mkdir()
    write_job_file(JobFile(two_circles(), two_circles()), job)
    before = job.read_bytes()
    assert run(capsys, "export", art, "--as", "svg", "--out", job.parent)[0] == 2
    assert job.read_bytes() == before
