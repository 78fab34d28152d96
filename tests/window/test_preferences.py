"""What the operator chose is there tomorrow, and a damaged settings file never stands in the way."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QSettings, Qt

from bladewise.window import theme
from bladewise.window.dialogs.preferences import PreferencesDialog
from bladewise.window.preferences import LENGTHS_MM, SNAP_AT_FIRST, Preferences, Snap
from bladewise.window.theme import DARK, Scheme


@pytest.fixture
def file(tmp_path):
    return tmp_path / "settings.ini"


def kept_in(file):
    return Preferences(QSettings(str(file), QSettings.Format.IniFormat))


def test_choices_are_there_tomorrow(file):
    today = kept_in(file)
    today.set_length_mm("nudge", 0.25)
    today.set_snap_to({Snap.NODES, Snap.GRID})
    today.set_snapping(on=False)
    today.set_language("de")
    today.set_unit("in")
    today.set_tour_seen()
    today._settings.sync()
    tomorrow = kept_in(file)
    assert tomorrow.nudge_mm == 0.25
    assert tomorrow.snap_to == {Snap.NODES, Snap.GRID}
    assert not tomorrow.snapping
    assert tomorrow.language == "de"
    assert tomorrow.unit == "in"
    assert tomorrow.tour_seen


def test_snapping_to_nothing_is_not_the_same_as_never_having_chosen(file):
    first = kept_in(file)
    assert first.snap_to == SNAP_AT_FIRST
    first.set_snap_to(())
    assert first.snap_to == frozenset()


@pytest.mark.parametrize(("name", "value"), [("nudge", 0.0), ("nudge", -1.0), ("grid", 1e9), ("nudge", float("nan"))])
def test_a_length_out_of_range_is_refused_with_the_range(file, name, value):
    preferences = kept_in(file)
    with pytest.raises(ValueError, match="between"):
        preferences.set_length_mm(name, value)
    assert preferences.length_mm(name) == LENGTHS_MM[name][0]


BROKEN = (
    b"\x00\xff\xfe garbage \x80\x81",
    b"[lengths]\nnudge=soon\ngrid=inf\nsheet-width=-4\n[snap]\nto=@Variant(\\0\\0\\0\\x7f)\non=perhaps\n"
    b"[layout]\nwindow=@ByteArray(rubbish)\nmiddle=7\nright=@Invalid()\n",
    b"[General]\nscheme=mauve\nunit=ells\nlanguage=@Invalid()\nrecent=@Variant(\\0\\0\\0\\t\\0\\0)\n"
    b"[snap]\nto=sharks, nodes\n",
)


@pytest.mark.qt_log_ignore("QVariant::load")
@pytest.mark.parametrize("content", BROKEN)
def test_a_damaged_settings_file_counts_as_no_answer(file, content):
    file.write_bytes(content)
    preferences = kept_in(file)
    assert preferences.nudge_mm == 0.1
    assert preferences.grid_mm == 10.0
    assert preferences.sheet_mm == (600.0, 400.0)
    assert preferences.snapping
    assert preferences.snap_to in (SNAP_AT_FIRST, {Snap.NODES}, frozenset())
    assert preferences.unit == "mm"
    assert preferences.language == ""
    assert str(preferences.scheme) == "system"
    assert preferences.recent == []


@pytest.mark.qt_log_ignore("QVariant::load")
@pytest.mark.parametrize("content", BROKEN)
def test_the_window_opens_on_a_damaged_settings_file(tmp_path, make_window, content):
    (tmp_path / "settings.ini").write_bytes(content)
    assert make_window().isVisible()


@pytest.fixture
def page(window):
    window.actions_["preferences"].trigger()
    (dialog,) = window.findChildren(PreferencesDialog)
    yield dialog
    dialog.close()
    window.choose_theme(Scheme.SYSTEM)


def typed(qtbot, line, text):
    line.setFocus()
    line.selectAll()
    qtbot.keyClicks(line, text)
    qtbot.keyClick(line, Qt.Key.Key_Tab)


@pytest.mark.parametrize(("text", "mm"), [("3/8in", 9.525), ("12.5", 12.5), ("=210/3", 70.0), ("0,25", 0.25)])
def test_lengths_are_taken_as_people_write_them(window, page, qtbot, text, mm):
    typed(qtbot, page.lines["big-nudge"], text)
    assert window.preferences.big_nudge_mm == pytest.approx(mm)
    assert page.problem.isHidden()


@pytest.mark.parametrize("text", ["far", "=1/0", "-2", "0", "9e9", ""])
def test_a_bad_number_is_refused_where_it_stands_and_nothing_is_changed(window, page, qtbot, text):
    before = window.preferences.nudge_mm
    typed(qtbot, page.lines["nudge"], text or " ")
    assert page.lines["nudge"].property("wrong") == "true"
    assert page.problem.text().startswith("Nudge: ")
    assert page.lines["nudge"].accessibleDescription()
    assert window.preferences.nudge_mm == before
    typed(qtbot, page.lines["nudge"], "0.2")
    assert page.problem.isHidden()
    assert window.preferences.nudge_mm == 0.2


def test_arrow_keys_step_a_length(window, page, qtbot):
    line = page.lines["grid"]
    line.setFocus()
    qtbot.keyClick(line, Qt.Key.Key_Up)
    qtbot.keyClick(line, Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    assert window.preferences.grid_mm == pytest.approx(11.1)


def test_kinds_of_snapping_are_chosen_one_by_one_and_kept_while_it_is_off(window, page):
    page.kinds[Snap.GRID].click()
    page.kinds[Snap.EDGES].click()
    assert window.preferences.snap_to == (SNAP_AT_FIRST | {Snap.GRID}) - {Snap.EDGES}
    page.snapping.click()
    assert not window.preferences.snapping
    assert not page.kinds[Snap.NODES].isEnabled()
    assert Snap.GRID in window.preferences.snap_to


def test_unit_theme_and_language_are_chosen_there(window, page):
    page.units.button("in").click()
    assert window.desk.unit == "in"
    page.lines["nudge"].setFocus()
    page.lines["grid"].setFocus()
    assert window.preferences.nudge_mm == 0.1, "seen in inches, not rounded"
    assert page.lines["sheet-width"].text().endswith(" in")
    assert window.preferences.sheet_mm == (600.0, 400.0)
    page.themes.button("dark").click()
    assert theme.current() is DARK
    assert window.actions_["theme-dark"].isChecked()
    page.language.setCurrentIndex(page.language.findData("de"))
    assert window.preferences.language == "de"


def test_a_new_job_gets_the_sheet_of_the_preferences(window):
    window.preferences.set_length_mm("sheet-width", 1220.0)
    window.actions_["new"].trigger()
    assert window.desk.job.width_mm == 1220.0


def test_the_tolerance_of_the_preferences_stands_in_the_bench_where_a_step_asks_for_one(squares):
    squares.preferences.set_length_mm("fit-tolerance", 0.07)
    squares.desk.select_all()
    squares.open_verb("fewer-nodes")
    assert squares.bench.form.fields["tolerance_mm"].read() == pytest.approx(0.07)
