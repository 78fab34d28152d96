"""`bladewise export`: one command for every kind of file and for the destinations of the shop."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from ezdxf.filemanagement import readfile

from bladewise.cli import main
from bladewise.document import Colour, Material
from bladewise.formats import write_svg
from bladewise.formats.plotter_reader import read_plotter
from bladewise.geometry.path import circle, ellipse
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


@pytest.mark.parametrize("kind", ["dxf", "hpgl", "pdf"])
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
    code, _, err = run(capsys, "export", art, "--tolerance", "0.05", "--out", tmp_path)
    assert code == 2
    assert "says nothing to svg" in err


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
    assert run(capsys, "export", art, "--format", "dxf", "--out", tmp_path / "out", "--despite-findings")[0] == 0


def test_a_format_and_a_destination_do_not_go_together(capsys: pytest.CaptureFixture[str], art: Path) -> None:
    for words in (("--format", "dxf", "--to", "x.toml"), ("--format", "dwx"), ("--tolerance", "wide")):
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
