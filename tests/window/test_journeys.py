"""The Puddlewick jobs from the customer's art to cut files, driven through the window by mouse and keys.

With BLADEWISE_PICTURES=folder the stations are kept as pictures; those of the README come from here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from bladewise import checks
from bladewise.document import MaterialKind
from bladewise.session import Session
from window.conftest import DEMO, settle
from window.person import Ctrl, Key, Person

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def person(window, qtbot, monkeypatch) -> Person:
    settle(window, qtbot)
    return Person(window, qtbot, monkeypatch)


def assert_ready(files: list[Path]) -> None:
    """Check that each file for the cutter, read again, is ready to cut."""
    for file in files:
        job = Session.open(file).job
        assert job.shapes(), file.name
        found = checks.check(job)  # what is only wasteful (a thin spot that weeds slowly) is told, and may stay
        assert checks.is_ready(found), [file.name, *(finding.message for finding in found)]


def cut_files(files: list[Path], person: Person) -> list[Path]:
    """Return the files that go to the cutter: one a material to cut."""
    names = {
        material.name for material in person.window.desk.job.materials_in_use() if material.kind is MaterialKind.CUT
    }
    found = [file for file in files if any(_plain(name) in _plain(file.stem) for name in names)]
    assert len(found) == len(names), ([file.name for file in files], names)
    return found


def _plain(text: str) -> str:
    return "".join(letter for letter in text.lower() if letter.isalnum())


def test_the_mascot_becomes_five_vinyls_side_by_side(person, tmp_path):
    person.opens(DEMO / "mascot.svg")
    person.picture("mascot-1-as-it-came")
    assert person.window.desk.findings
    person.selects_all()
    person.takes("stroke-to-shape")
    person.enters()
    person.selects_all()
    person.takes("visible-parts")
    person.waits()
    person.selects_all()
    person.takes("merge")
    person.ticks("by_colour")
    person.waits_for_ghost()
    person.picture("mascot-2-merge")
    person.enters()
    person.presses(Key.Key_Escape)
    person.picture("mascot-3-ready")
    person.presses(Key.Key_F5)
    person.picture("mascot-4-outlines")
    assert person.window.desk.is_ready, [finding.message for finding in person.window.desk.findings]
    assert person.window.readiness.state.text().startswith("Ready to cut")
    files = cut_files(person.exports(tmp_path / "cut", marks="square"), person)
    assert len(files) == 5
    assert_ready(files)


def test_stripes_stay_inside_the_word_open(person, tmp_path):
    person.opens(DEMO / "open_striped.svg")
    person.clicks_row("word")
    assert len(person.window.desk.selected_leaves()) == 4
    person.takes("merge")
    person.enters()
    person.selects_all()
    person.takes("fit-inside")
    person.waits_for_ghost()
    person.picture("open-1-fit-inside")
    person.enters()
    person.selects_all()
    person.takes("merge")
    person.ticks("by_colour")
    person.enters()
    person.selects_all()
    person.takes("stepped-outline")
    person.fills(steps="1", distance_mm="3 mm")
    person.adds_colour("#1b2a41")
    person.waits_for_ghost()
    person.picture("open-2-stepped-outline")
    person.enters()
    person.picture("open-3-ready")
    assert person.window.desk.is_ready, [finding.message for finding in person.window.desk.findings]
    files = cut_files(person.exports(tmp_path / "cut"), person)
    assert len(files) == 3
    assert_ready(files)


def test_the_script_word_and_its_tail_become_one_piece(person, tmp_path):
    person.opens(DEMO / "script.svg")
    person.clicks_row("coffee-cart")
    person.takes("lettering-to-shapes")
    person.enters()
    person.clicks_row("word")
    person.clicks_row("tail", Ctrl)
    person.takes("merge")
    person.enters()
    person.selects_all()
    person.takes("cut-out")
    person.picks("cutters")
    person.clicks_row("coffee-cart")
    person.ticks("keep_cutter")
    person.waits_for_ghost()
    person.picture("script-1-cut-out")
    person.enters()
    person.selects_all()
    person.takes("stepped-outline")
    person.fills(distance_mm="4")
    person.adds_colour("#1b2a41")
    person.enters()
    person.picture("script-2-specks")
    person.mends("small-piece")
    person.picture("script-3-ready")
    assert person.window.desk.is_ready, [finding.message for finding in person.window.desk.findings]
    files = cut_files(person.exports(tmp_path / "cut"), person)
    assert len(files) == 2
    assert_ready(files)


def test_the_sticker_gets_its_cut_line_with_the_slot_and_a_bleed(person, tmp_path):
    person.opens(DEMO / "sticker.svg")
    person.selects_all()
    person.takes("cut-line")
    person.fills(least_hole_mm2="20")
    person.waits_for_ghost()
    person.picture("sticker-1-cut-line")
    person.enters()
    line = next(shape for shape in person.window.desk.job.shapes() if shape.material == "cut-line")
    assert len(line.path.starts) == 2, "the outer edge and the slot"
    person.selects_all()
    person.takes("bleed")
    person.fills(distance_mm="2 mm")
    person.enters()
    person.picture("sticker-2-ready")
    assert person.window.desk.is_ready, [finding.message for finding in person.window.desk.findings]
    files = cut_files(person.exports(tmp_path / "cut"), person)
    assert len(files) == 1
    assert_ready(files)


def test_the_decal_is_rid_of_what_the_customer_left_lying_about(person, tmp_path):
    person.opens(DEMO / "decal.svg")
    person.clicks_row("cup-bowl-copy")
    person.clicks_row("speck", Ctrl)
    person.presses(Key.Key_Delete)
    person.waits()
    assert person.window.desk.job.element("speck") is None
    person.clicks_row("ring-thin")
    person.takes("stroke-to-shape")
    person.enters()
    person.selects_all()
    person.takes("visible-parts")
    person.waits()
    person.selects_all()
    person.takes("merge")
    person.ticks("by_colour")
    person.enters()
    person.picture("decal-1-specks")
    person.mends("small-piece")
    person.picture("decal-2-ready")
    assert person.window.desk.is_ready, [finding.message for finding in person.window.desk.findings]
    files = cut_files(person.exports(tmp_path / "cut"), person)
    assert len(files) == 2
    assert_ready(files)
