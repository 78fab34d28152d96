"""The job strip answers "what do I load, and how much"."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from bladewise.document import Colour, MaterialKind
from bladewise.window.job_strip.figures import Figurer, area_text, travel_text
from window.person import Key, Person

RED = "colour-cc3311"


@pytest.fixture
def person(squares, qtbot, monkeypatch) -> Person:
    return Person(squares, qtbot, monkeypatch)


def test_a_chip_tells_pieces_travel_area_and_findings(squares):
    (chip,) = squares.strip.chips.values()
    assert chip.title == "Red"
    assert chip.figures_text() == "2 pieces · 0.48 m · 72 cm²"  # two squares of 60 mm: 2 × 240 mm, 2 × 36 cm²
    assert chip.accessibleName().endswith(", 1 × will spoil the cut")


def test_figures_are_told_in_inches_and_feet(person):
    person.clicks(person.window.pane.units.button("in"))
    (chip,) = person.window.strip.chips.values()
    assert chip.figures_text() == "2 pieces · 1.6 ft · 11.2 in²"


def test_a_click_shows_only_that_material_and_another_click_all(person):
    (chip,) = person.window.strip.chips.values()
    person.clicks(chip)
    assert person.window.desk.material_filter == RED
    person.clicks(chip)
    assert person.window.desk.material_filter is None


def test_the_filter_goes_with_the_last_piece_of_the_material(person):
    (chip,) = person.window.strip.chips.values()
    person.clicks(chip)
    person.window.desk.do_plain("restyle", on="all", fill="#00ff00")
    assert person.window.desk.material_filter is None


def test_a_material_is_renamed_and_made_print_by_steps(person):
    window = person.window
    (chip,) = window.strip.chips.values()
    window.strip.rename(chip.material, "Red vinyl")
    (chip,) = window.strip.chips.values()
    assert (chip.material.name, chip.material.colour) == ("Red vinyl", Colour(0xCC, 0x33, 0x11))
    kinds = {action.text(): action for action in window.strip.menu(chip.material).actions() if action.isCheckable()}
    assert kinds["To cut"].isChecked()
    kinds["Print"].trigger()
    (chip,) = window.strip.chips.values()
    assert chip.material.kind is MaterialKind.PRINT
    person.waits()
    assert chip.figures_text() == "print · 72 cm²"
    window.strip.recolour(chip.material, Colour(1, 2, 3))
    assert next(iter(window.strip.chips.values())).material.colour == Colour(1, 2, 3)
    done = [row.entry.step.do for row in window.desk.session.history.rows[-3:]]
    assert done == ["material-profile", "set-material", "set-material"]


def test_the_job_is_renamed_in_place_as_a_step(person, qtbot):
    name = person.window.strip.name
    person.types(name, "Van door")
    qtbot.keyClick(name, Key.Key_Return)
    assert person.window.desk.job.name == "Van door"
    assert person.window.desk.session.history.rows[-1].entry.step.do == "rename"
    person.types(name, "Nonsense")
    qtbot.keyClick(name, Key.Key_Escape)
    assert (name.text(), person.window.desk.job.name) == ("Van door", "Van door")


def test_the_sheet_is_resized_from_the_strip(person):
    person.clicks(person.window.strip.sheet)
    assert person.window.bench.operation.name == "sheet"
    person.fills(width_mm="300")
    person.enters()
    assert person.window.strip.sheet.text() == "300 × 100 mm"


def test_chips_are_reached_and_pressed_by_keys(person, qtbot):
    (chip,) = person.window.strip.chips.values()
    chip.setFocus()
    qtbot.keyClick(chip, Qt.Key.Key_Space)
    assert person.window.desk.material_filter == RED
    qtbot.keyClick(chip, Qt.Key.Key_Return)
    assert person.window.desk.material_filter is None


def test_what_did_not_change_is_not_measured_again(two_squares, monkeypatch):
    figurer = Figurer()
    figurer.measure(two_squares.job, lambda _fraction: None)
    before = figurer.by_material
    from bladewise.layout import figures

    monkeypatch.setattr(figures, "measured", lambda *_args: pytest.fail("measured again"))
    figurer.measure(two_squares.job, lambda _fraction: None)
    assert figurer.by_material == before


@pytest.mark.parametrize(
    ("mm2", "unit", "text"), [(1234.0, "mm", "12.3 cm²"), (2_500_000.0, "mm", "25000 cm²"), (645.16, "in", "1 in²")]
)
def test_areas_read_well(mm2, unit, text):
    assert area_text(mm2, unit) == text


@pytest.mark.parametrize(("mm", "unit", "text"), [(1234.0, "mm", "1.23 m"), (304.8, "in", "1 ft")])
def test_travel_reads_well(mm, unit, text):
    assert travel_text(mm, unit) == text


def test_the_ordered_size_stands_beside_the_sheet_and_tells_whether_the_art_is_as_large(person):
    window = person.window
    assert window.strip.ordered.text() == "ordered size…"
    person.clicks(window.strip.ordered)
    assert window.bench.operation.name == "ordered-size"
    assert window.bench.by_hand.numbers()["width_mm"] == 100.0  # the size of the art is what is likely ordered
    person.fills(width_mm="120")
    person.enters()
    person.waits()
    assert window.desk.job.ordered_width_mm == 120.0
    assert window.strip.ordered.text() == "ordered 120 × 80 mm"
    assert "16.7 % less than the 120 mm ordered" in window.strip.ordered.toolTip()
    window.desk.do_plain("ordered-size", width_mm=100)
    person.waits()
    assert window.strip.ordered.text() == "ordered 100 mm"
    assert "as ordered" in window.strip.ordered.accessibleDescription()
