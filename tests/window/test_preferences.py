"""What the operator chose is there tomorrow, and a damaged settings file never stands in the way."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QSettings

from bladewise.window.preferences import LENGTHS_MM, SNAP_AT_FIRST, Preferences, Snap


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
