"""`bladewise roster`: a design, a list, files; what was left out is in the exit code, the JSON and a file."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bladewise.cli import main
from bladewise.document import BLACK, Job, Layer, Lettering, Style
from bladewise.formats import read_svg, write_svg
from bladewise.lettering import search_also, set_outline

search_also(Path(__file__).parents[2] / "demo_art" / "fonts")


@pytest.fixture
def design(tmp_path: Path) -> Path:
    """Write a name tag."""
    words = set_outline(Lettering("w", "{name}", "Josefin Sans", 12.0, Style(fill=BLACK)))
    path = tmp_path / "tag.svg"
    write_svg(Job("Tag", 100.0, 50.0, (Layer("art", "Art", (words,)),)), path)
    return path


def test_a_list_is_filled_in_and_the_rows_left_out_are_told(design: Path, tmp_path: Path, capsys) -> None:
    rows = tmp_path / "crew.csv"
    rows.write_bytes("name;number\nJosé;1\n;2\nBodo;3\n".encode("cp1252"))
    out = tmp_path / "out"
    code = main(["roster", str(design), str(rows), "--out", str(out), "--each", "--json", "--width", "1in"])
    told = json.loads(capsys.readouterr().out)
    assert code == 1
    assert (told["made"], told["names"]) == (2, ["José", "Bodo"])
    assert [(each["line"], each["reason"]) for each in told["left_out"]] == [(3, "“name” is empty.")]
    assert {path.name for path in out.iterdir()} == {"1 José.svg", "2 Bodo.svg", "left out.csv", "Tag roster.svg"}
    piece = read_svg(out / "2 Bodo.svg")
    assert len(piece.shapes()) == 1
    assert piece.width_mm < 60.0


def test_a_list_without_faults_ends_with_nothing_left_out(design: Path, tmp_path: Path, capsys) -> None:
    rows = tmp_path / "crew.csv"
    rows.write_text("name\nAnna\n")
    assert main(["roster", str(design), str(rows), "--out", str(tmp_path / "out"), "--live"]) == 0
    assert "1 piece was made." in capsys.readouterr().out


@pytest.mark.parametrize("words", [["--gap", "wide"], ["--across", "0"]])
def test_wrong_numbers_are_told_in_one_line(design: Path, tmp_path: Path, capsys, words: list[str]) -> None:
    rows = tmp_path / "crew.csv"
    rows.write_text("name\nAnna\n")
    assert main(["roster", str(design), str(rows), "--out", str(tmp_path / "out"), *words]) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1
