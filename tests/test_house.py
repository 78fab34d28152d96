"""The house keeps its own rules: what stands where, one source for each fact, nothing of the desk it was written on."""

import ast
import importlib
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import bladewise

ROOT = Path(__file__).resolve().parent.parent
APP = ROOT / "app" / "bladewise"
PACKAGING = ROOT / "packaging"
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))

# Made by the commands, named in .gitignore, no part of the project.
MADE = {"out", "build", "dist"}
TEXT = {".py", ".md", ".toml", ".txt", ".svg", ".xml", ".desktop", ".json", ".css", ""}


def own_files() -> list[Path]:
    """Every file of the project that a person wrote or placed, without what the commands make."""
    made = {"__pycache__", ".git", ".venv", ".hypothesis", *MADE}
    found = []
    for folder, folders, names in os.walk(ROOT):
        folders[:] = [name for name in folders if name not in made and not name.endswith((".egg-info", "_cache"))]
        found += [Path(folder, name) for name in names]
    return sorted(found)


def own_text() -> list[Path]:
    return [path for path in own_files() if path.suffix in TEXT]


def pinned(purpose: str) -> dict[str, list[str]]:
    """The packages of a lock with the hashes of each."""
    packages: dict[str, list[str]] = {}
    for line in (PACKAGING / f"lock-{purpose}.txt").read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            continue
        if not line.startswith(" "):
            name = line.split(" ")[0]
            packages[name] = []
        else:
            packages[name] += re.findall(r"sha256:([0-9a-f]{64})", line)
    return packages


def plain_name(requirement: str) -> str:
    return re.split(r"[<>=!~;\[ ]", requirement)[0].lower().replace("_", "-")


def test_the_top_level_holds_what_the_plan_says_and_nothing_else():
    names = {path.name for path in ROOT.iterdir() if not path.name.startswith(".") and path.name not in MADE}
    assert names == {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "app",
        "demo_art",
        "handbook",
        "packaging",
        "pyproject.toml",
        "tests",
    }


def test_every_folder_of_the_package_is_on_the_developers_map():
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    folders = {path.parent.relative_to(APP).as_posix() for path in APP.rglob("*.py")} - {"."}
    missing = sorted(folder for folder in folders if f"`{folder}/`" not in page)
    assert not missing, f"DEVELOPERS.md does not say what these are: {missing}"


def test_the_developers_map_names_no_room_that_is_gone():
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rooms = re.findall(r"^\| `([a-z_/]+)/` \|", page, flags=re.MULTILINE)
    assert len(rooms) > 10
    gone = [room for room in rooms if not (APP / room).is_dir() and not (ROOT / room).is_dir()]
    assert not gone


def test_readme_opens_with_the_job_and_has_the_two_commands():
    page = (ROOT / "README.md").read_text(encoding="utf-8")
    assert "python3 packaging/fresh.py run" in page
    assert "python3 packaging/fresh.py test" in page


def test_the_version_has_one_source_and_is_told_the_same_everywhere():
    assert PROJECT["project"]["dynamic"] == ["version"]
    assert PROJECT["tool"]["setuptools"]["dynamic"]["version"] == {"attr": "bladewise.__version__"}
    metainfo = (PACKAGING / "bladewise.metainfo.xml").read_text(encoding="utf-8")
    assert f'<release version="{bladewise.__version__}"' in metainfo
    assert f"## {bladewise.__version__}" in (PACKAGING / "CHANGELOG.md").read_text(encoding="utf-8")


def test_the_command_line_is_where_the_project_file_says():
    module, _, name = PROJECT["project"]["scripts"]["bladewise"].partition(":")
    assert callable(getattr(importlib.import_module(module), name))


def test_no_file_knows_the_desk_it_was_written_on():
    # Spelled so that this file does not find itself.
    desk = re.compile(r"/(work|root)/|/(home|tmp)/\w|[A-Z]:\\Users")
    found = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in own_text()
        for number, line in enumerate(path.read_text(encoding="utf-8", errors="replace").splitlines(), start=1)
        if desk.search(line)
    ]
    assert not found


def test_no_file_names_the_host_of_a_registry():
    host = re.compile(r"pypi\.org|python[h]osted|npmjs\.|deb\.debian")
    found = [
        path.relative_to(ROOT).as_posix()
        for path in own_text()
        if host.search(path.read_text(encoding="utf-8", errors="replace"))
    ]
    assert not found


@pytest.mark.parametrize("purpose", ["run", "test"])
def test_every_locked_package_is_pinned_to_one_version_by_hashes(purpose):
    packages = pinned(purpose)
    assert len(packages) > 5
    for name, hashes in packages.items():
        assert "==" in name
        assert hashes, f"{name} has no hash"


def test_the_locks_hold_every_dependency_in_the_same_version():
    run, test = pinned("run"), pinned("test")
    assert run.keys() <= test.keys()
    named = {name.partition("==")[0] for name in test}
    extras = PROJECT["project"]["optional-dependencies"]
    wanted = {plain_name(one) for one in [*PROJECT["project"]["dependencies"], *extras["test"]]}
    assert wanted <= named
    assert "setuptools" in {name.partition("==")[0] for name in run}, "the project is put into .venv without an index"


@pytest.mark.parametrize("name", ["fresh.py", "outside_data.py"])
def test_first_start_needs_nothing_but_python(name):
    tree = ast.parse((PACKAGING / name).read_text(encoding="utf-8"))
    modules = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    modules |= {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert modules
    assert {module.partition(".")[0] for module in modules} <= set(sys.stdlib_module_names)


def test_an_old_python_can_read_the_script_far_enough_to_be_told_it_is_too_old():
    source = (PACKAGING / "fresh.py").read_text(encoding="utf-8")
    ast.parse(source, feature_version=(3, 7))
    lowest = tuple(int(part) for part in PROJECT["project"]["requires-python"].removeprefix(">=").split("."))
    assert f"OLDEST = {lowest}" in source


def test_continuous_checks_are_the_two_commands():
    lines = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert lines[-2:] == ["python3 packaging/fresh.py test", "python3 packaging/fresh.py run --no-window"]


def test_every_font_has_its_licence_beside_it():
    fonts = [path for path in own_files() if path.suffix in {".ttf", ".otf", ".woff", ".woff2"}]
    for font in fonts:
        family = font.stem.partition("-")[0]
        licences = [
            path for path in font.parent.glob(f"{family}-*.txt") if "Open Font License" in path.read_text("utf-8")
        ]
        assert licences, f"{font.relative_to(ROOT)} has no licence file beside it"


def test_modules_stay_short_enough_to_read():
    # The habit is about 400; this is where a reviewer would insist.
    long = {path.name: n for path in APP.rglob("*.py") if (n := len(path.read_text("utf-8").splitlines())) > 600}
    assert not long


def test_the_core_works_without_qt():
    rooms = sorted(path.name for path in APP.iterdir() if (path / "__init__.py").exists() and path.name != "window")
    assert "geometry" in rooms
    imports = "; ".join(f"import bladewise.{room}" for room in rooms)
    code = f"import sys; {imports}; sys.exit('PySide6' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], cwd=APP.parent, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
