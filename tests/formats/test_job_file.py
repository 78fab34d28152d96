"""What an operator relies on when a job is saved to be gone on with."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING
from xml.etree import ElementTree

import pytest

from bladewise.document import Material, MaterialKind
from bladewise.errors import CannotRead
from bladewise.formats import JobFile, job_file_text, read, write_job_file
from bladewise.geometry.path import circle
from pieces import BLUE, job_of, ring_and_bar, shape, two_circles

if TYPE_CHECKING:
    from pathlib import Path

STEPS = (
    {"do": "merge", "off": False, "values": {"on": "all", "distance_mm": 1.5}},
    {"do": "move", "off": True, "values": {}},
)


@pytest.fixture
def saved(tmp_path: Path) -> tuple[Path, JobFile]:
    """A job file with a base, two steps, and a material of its own."""
    vinyl = Material("gloss-red", "Gloss red ’21", BLUE, MaterialKind.CUT)
    current = ring_and_bar().with_material(vinyl)
    current = replace(current, notes=("1 script was left out; nothing in it is run.",))
    job_file = JobFile(two_circles(), current, STEPS, 1)
    path = tmp_path / "cart.svg"
    write_job_file(job_file, path)
    return path, job_file


def test_a_job_file_opens_as_it_was_saved(saved: tuple[Path, JobFile]) -> None:
    path, job_file = saved
    found = read(path)
    assert found == job_file
    before = path.read_bytes()
    write_job_file(found, path)
    assert path.read_bytes() == before


def test_another_reader_sees_the_current_job_alone(saved: tuple[Path, JobFile]) -> None:
    path, job_file = saved
    root = ElementTree.fromstring(path.read_text(encoding="utf-8"))
    drawn = [one.get("id") for one in root.iter("{http://www.w3.org/2000/svg}path")]
    assert drawn == [one.id for one in job_file.current.shapes()]


def test_plain_artwork_opens_as_a_job_without_steps(tmp_path: Path) -> None:
    path = tmp_path / "art.svg"
    path.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><circle r="3"/></svg>')
    found = read(path)
    assert found.base is found.current
    assert (found.steps, found.position) == ((), 0)


def test_art_changed_elsewhere_is_kept_and_the_old_steps_go(saved: tuple[Path, JobFile]) -> None:
    path, _ = saved
    path.write_text(path.read_text(encoding="utf-8").replace("#e69f00", "#123456"), encoding="utf-8")
    found = read(path)
    assert found.steps == ()
    assert found.base is found.current
    assert found.current.shapes()[0].style.fill.hex == "#123456"
    assert any("changed in another program" in note for note in found.current.notes)


def test_a_file_laid_out_anew_by_another_program_keeps_its_steps(saved: tuple[Path, JobFile]) -> None:
    path, job_file = saved
    root = ElementTree.fromstring(path.read_text(encoding="utf-8"))
    path.write_bytes(ElementTree.tostring(root))  # other prefixes, other order, no line ends
    assert read(path) == job_file


def test_steps_that_cannot_be_read_do_not_cost_the_art(saved: tuple[Path, JobFile]) -> None:
    path, job_file = saved
    path.write_text(path.read_text(encoding="utf-8").replace("{&quot;do&quot;", "{&quot;do", 1), encoding="utf-8")
    found = read(path)
    assert found.current.shapes() == job_file.current.shapes()
    assert found.steps == ()
    assert any("steps in the file could not be read" in note for note in found.current.notes)


def test_a_file_of_a_later_version_is_refused(saved: tuple[Path, JobFile]) -> None:
    path, _ = saved
    path.write_text(path.read_text(encoding="utf-8").replace('bw:version="1"', 'bw:version="7"'), encoding="utf-8")
    with pytest.raises(CannotRead, match="later version") as caught:
        read(path)
    assert "that version" in caught.value.hint


def test_a_job_without_steps_is_kept_once() -> None:
    job = job_of(shape("a", circle((1.0, 1.0), 1.0)))
    assert job_file_text(JobFile(job, job)).count("<path") == 1
    assert "bw:base" not in job_file_text(JobFile(job, job))


def test_art_another_program_adds_beside_the_layers_is_kept(saved: tuple[Path, JobFile]) -> None:
    path, _ = saved
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("  <metadata>", '  <circle id="new" r="4"/>\n  <metadata>', 1), encoding="utf-8")
    found = read(path).current
    assert found.layers[-1].children[-1].id == "new"
    assert len(found.shapes()) == 3
