"""The command line: exit codes, documented JSON, messages, no traceback ever."""

import json

import pytest
from PIL import Image

from bladewise.cli import main
from bladewise.formats import write_svg
from bladewise.geometry.path import rectangle
from pieces import job_of, shape, two_circles

BROKEN = "<svg xmlns='http://www.w3.org/2000/svg'><circle"


@pytest.fixture
def art(tmp_path):
    path = tmp_path / "circles.svg"
    write_svg(two_circles(), path)
    return path


def run(capsys, *words):
    code = main([str(word) for word in words])
    out, err = capsys.readouterr()
    return code, out, err


def test_check_tells_by_its_exit_code(capsys, art, tmp_path):
    code, out, _ = run(capsys, "check", art)
    assert code == 1
    assert "overlap by 671.01 mm²" in out
    assert "1 finding." in out
    broken = tmp_path / "broken.svg"
    broken.write_text(BROKEN)
    code, out, err = run(capsys, "check", broken)
    assert (code, out) == (2, "")
    assert err.startswith("bladewise: broken.svg: ")
    assert len(err.strip().splitlines()) == 1


def test_check_json_is_the_documented_shape(capsys, art):
    code, out, _ = run(capsys, "check", art, "--json")
    report = json.loads(out)
    assert code == 1
    assert report["ready"] is False
    documented = {"rule", "shape", "x_mm", "y_mm", "measure", "unit", "message", "remedy"}
    assert all(documented <= set(finding) for finding in report["findings"])


def test_a_recipe_carries_art_to_cut_files(capsys, art, tmp_path):
    recipe = tmp_path / "join.toml"
    recipe.write_text('name = "Joined"\n[[step]]\ndo = "merge"\n[output]\nmarks = "cross"\n')
    code, out, _ = run(capsys, "run", recipe, art, "--out", tmp_path / "out", "--json")
    summary = json.loads(out)
    assert code == 0
    assert summary["ready"] is True
    assert [step["do"] for step in summary["steps"]] == ["merge"]
    names = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert names == ["Joined.job.svg", "Test - Orange e69f00.svg", "Test.svg"]
    assert run(capsys, "check", tmp_path / "out" / "Joined.job.svg")[0] == 0


def test_a_recipe_whose_step_fails_says_which_and_exits_with_2(capsys, art, tmp_path):
    recipe = tmp_path / "r.toml"
    recipe.write_text('[[step]]\ndo = "ungroup"\n[[step]]\ndo = "merge"\n')
    code, out, _ = run(capsys, "run", recipe, art, "--out", tmp_path / "out")
    assert code == 2
    assert "not done: all: There is no group here." in out
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["r.job.svg"]


def test_cut_files_are_refused_and_can_be_had_all_the_same(capsys, art, tmp_path):
    out = tmp_path / "out"
    code, _, err = run(capsys, "export", art, "--out", out, "--per-colour")
    assert code == 1
    assert "cut twice" in err
    assert not out.exists()
    code, text, _ = run(capsys, "export", art, "--out", out, "--per-colour", "--despite-findings", "--marks", "round")
    assert code == 0
    assert len(text.splitlines()) == 2


def test_steps_lists_every_operation_and_shows_one(capsys):
    _, out, _ = run(capsys, "steps", "--json")
    entries = json.loads(out)
    assert {"merge", "cut-out", "keep-common", "split-at-overlaps", "fit-inside", "stroke-to-shape"} <= {
        entry["name"] for entry in entries
    }
    assert set(entries[0]) == {"name", "title", "help", "parameters"}
    _, out, _ = run(capsys, "steps", "stepped-outline")
    assert "distance_mm        length mm (0.01 to 500)" in out
    code, _, err = run(capsys, "steps", "steped-outline")
    assert code == 2
    assert "Did you mean “stepped-outline”" in err


@pytest.mark.parametrize(
    "words",
    [
        ("check",),
        ("render", "x.svg"),
        ("render", "x.svg", "--out", "y.png", "--width", "7"),
        ("render", "x.svg", "--out", "y.png", "--view", "wire"),
        ("run", "x.toml"),
        ("--nonsense",),
    ],
)
def test_a_wrong_command_is_one_message_and_exit_code_2(capsys, words):
    with pytest.raises(SystemExit) as caught:
        main(list(words))
    assert caught.value.code == 2
    assert capsys.readouterr().err.startswith("bladewise: ")


def test_pictures_of_both_views_are_made(capsys, art, tmp_path):
    for view in ("fill", "outline"):
        picture = tmp_path / f"{view}.png"
        assert run(capsys, "render", art, "--view", view, "--out", picture, "--width", 200)[0] == 0
        assert picture.read_bytes().startswith(b"\x89PNG")
    assert (tmp_path / "fill.png").read_bytes() != (tmp_path / "outline.png").read_bytes()


def test_files_that_are_not_there_are_said_in_one_line(capsys, tmp_path):
    for words in (
        ("check", tmp_path / "no.svg"),
        ("run", tmp_path / "no.toml", "--out", tmp_path),
        ("render", tmp_path / "no.svg", "--out", tmp_path / "x.png"),
    ):
        code, _, err = run(capsys, *words)
        assert code == 2
        assert len(err.strip().splitlines()) == 1


def test_without_a_display_the_window_is_refused_in_words(capsys, monkeypatch):
    monkeypatch.setattr("sys.platform", "linux")
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    code, _, err = run(capsys, "some.svg")
    assert code == 2
    assert "no display" in err


def test_a_mistyped_command_is_answered_with_the_nearest(capsys, art):
    code, out, err = run(capsys, "checkk", art)
    assert (code, out) == (2, "")
    assert "Did you mean “check”?" in err


def test_a_picture_that_would_not_be_what_its_name_says_is_refused(capsys, art, tmp_path):
    code, _, err = run(capsys, "render", art, "--out", tmp_path / "cup.jpg")
    assert code == 2
    assert "PNG" in err
    assert not (tmp_path / "cup.jpg").exists()


def test_check_holds_all_of_it_to_a_material_or_a_kind_of_one(capsys, tmp_path):
    bar = tmp_path / "bar.svg"
    write_svg(job_of(shape("bar", rectangle(10, 10, 100, 1.0))), bar)
    assert run(capsys, "check", bar)[:2] == (0, "Ready to cut.\n")
    code, out, _ = run(capsys, "check", bar, "--material", "reflective")
    assert code == 0
    assert "wasteful: “Bar” is only 1 mm wide" in out
    assert out.endswith("Ready to cut; 1 finding.\n")
    assert run(capsys, "check", bar, "--material", "Orange #e69f00")[:2] == (0, "Ready to cut.\n")
    code, out, err = run(capsys, "check", bar, "--material", "gold")
    assert (code, out) == (2, "")
    assert "There is no material “gold”." in err
    assert "Orange #e69f00" in err
    assert "heat-transfer" in err


def test_what_is_only_wasteful_is_told_and_the_job_is_ready(capsys, tmp_path):
    bar = tmp_path / "bar.svg"
    write_svg(job_of(shape("bar", rectangle(10, 10, 100, 0.3))), bar)
    code, out, _ = run(capsys, "check", bar, "--json")
    told = json.loads(out)
    assert (code, told["ready"]) == (0, True)
    assert [(one["rule"], one["severity"], one["step"], one["safe"]) for one in told["findings"]] == [
        ("narrow-bridge", "wasteful", None, False)
    ]


def test_a_picture_shows_the_sheet_on_the_film_it_is_printed_on(tmp_path, capsys):
    art = tmp_path / "disc.svg"
    art.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">'
        '<circle cx="20" cy="20" r="10" fill="#e69f00"/></svg>'
    )
    corners = []
    for film in ("white", "dark"):
        out = tmp_path / f"{film}.png"
        assert run(capsys, "render", art, "--view", "printed", "--film", film, "--out", out, "--width", 80)[0] == 0
        with Image.open(out) as image:
            corners.append(image.convert("RGB").getpixel((2, 2)))
    assert corners == [(255, 255, 255), (0x26, 0x28, 0x2B)]
    code, _, err = run(capsys, "render", art, "--film", "dark", "--out", tmp_path / "x.png")
    assert code == 2
    assert "--view printed" in err
