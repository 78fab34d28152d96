"""Make cut-ready, separate colours and check against a material, as a recipe or a word on the command line."""

import json
from pathlib import Path

import pytest

from bladewise.cli import main
from bladewise.formats import read_svg, write_svg
from bladewise.geometry.measures import area
from bladewise.geometry.path import circle, polygon, rectangle
from pieces import BLUE, job_of, ring_and_bar, shape, two_circles

DEMO_ART = Path(__file__).parents[2] / "demo_art"
READY = '[[step]]\ndo = "make-cut-ready"\n'
SEPARATED = '[[step]]\ndo = "separate-colours"\nhow = "butted"\ntrap_mm = 0.5\n'


def run(capsys, *words):
    code = main([str(word) for word in words])
    out, err = capsys.readouterr()
    return code, out, err


@pytest.fixture
def recipe(tmp_path):
    def write(text):
        path = tmp_path / "steps.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_make_cut_ready_in_a_recipe_tells_each_step_with_its_reason_and_writes_art_that_is_ready(
    capsys, tmp_path, recipe
):
    art = tmp_path / "art.svg"
    write_svg(two_circles(), art)
    assert run(capsys, "check", art)[0] == 1
    code, out, _ = run(capsys, "run", recipe(READY), art, "--out", tmp_path / "out")
    assert code == 0
    assert "Merge 2 shapes" in out or "“Right” and “Left” overlap" in out
    assert run(capsys, "check", tmp_path / "out" / "steps.job.svg")[:2] == (0, "Ready to cut.\n")


def test_what_a_person_must_decide_is_told_and_the_run_does_not_call_itself_ready(capsys, tmp_path, recipe):
    art = tmp_path / "art.svg"
    write_svg(job_of(shape("thin", rectangle(20, 50, 100, 0.05)), shape("a", circle((50, 120), 20))), art)
    code, out, _ = run(capsys, "run", recipe(READY), art, "--out", tmp_path / "out", "--json")
    summary = json.loads(out)
    assert (code, summary["ready"]) == (1, False)
    assert [finding["rule"] for finding in summary["findings"]] == ["narrow-bridge"]


def test_separated_colours_are_a_file_each_with_the_trap_that_was_asked_for(capsys, tmp_path, recipe):
    art = tmp_path / "art.svg"
    write_svg(ring_and_bar(), art)
    code, out, _ = run(capsys, "run", recipe(SEPARATED), art, "--out", tmp_path / "out")
    assert code == 0
    assert "2 layers in 2 goes" in out
    bare = recipe(SEPARATED.replace("0.5", "0"))
    run(capsys, "run", bare, art, "--out", tmp_path / "bare")
    job, butted = (read_svg(tmp_path / name / "steps.job.svg") for name in ("out", "bare"))
    sizes = [sum(area(each.path) for each in layer.children) for layer in job.layers]
    without = [sum(area(each.path) for each in layer.children) for layer in butted.layers]
    # the disc is cut by the bar along two chords of 2·√(20² − 5²) mm; the lighter runs on under
    # them by 0.5 mm, square at their ends
    assert sizes[1] == pytest.approx(without[1], abs=1e-3)
    assert sizes[0] - without[0] == pytest.approx(2 * 0.5 * 2 * (400 - 25) ** 0.5, abs=0.001)
    assert len([path for path in (tmp_path / "out").iterdir() if " - " in path.name]) == 2


def test_ready_then_separated_holds_for_demo_art(capsys, tmp_path, recipe):
    code, out, _ = run(capsys, "run", recipe(READY + SEPARATED), DEMO_ART / "aprons.svg", "--out", tmp_path / "out")
    assert code == 0, out
    assert "the lowest first" in out


def test_check_holds_all_of_a_job_to_the_material_that_is_named(capsys, tmp_path):
    art = tmp_path / "art.svg"
    neck = [(10, 10), (30, 10), (30, 19.4), (60, 19.4), (60, 10), (80, 10), (80, 30), (60, 30), (60, 20.6), (30, 20.6),
            (30, 30), (10, 30)]  # fmt: skip
    write_svg(job_of(shape("neck", polygon(neck), BLUE)), art)
    assert run(capsys, "check", art)[1] == "Ready to cut.\n"
    code, out, _ = run(capsys, "check", art, "--material", "reflective", "--json")
    assert [finding["rule"] for finding in json.loads(out)["findings"]] == ["narrow-bridge"]
    assert code == 0  # only wasteful
    assert run(capsys, "check", art, "--material", "no such film")[0] == 2
