"""If the power fails, what was done since the last save is offered at the next start."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from bladewise.session import Session
from bladewise.window import recovery as recovery_
from bladewise.window.dialogs.lost_work import LostWorkDialog
from window.conftest import settle

APP = Path(recovery_.__file__).parents[2]

DYING = """
import sys
from pathlib import Path
from PySide6.QtCore import QSettings
from bladewise.session import Session
from bladewise.window.app import start_application
from bladewise.window.main_window import MainWindow

application = start_application("en")
folder = Path(sys.argv[1])
session = Session.new("Awning", 300, 100)
window = MainWindow(session, QSettings(str(folder / "s.ini"), QSettings.Format.IniFormat), folder / "recovery")
window.desk.do_plain("draw-rectangle", x_mm=10, y_mm=10, width_mm=50, height_mm=30)
window.recovery.write()
while window.recovery.is_busy:
    application.processEvents()
print("written", flush=True)
import time
time.sleep(60)
"""


def _wait(window, qtbot):
    qtbot.waitUntil(lambda: not window.recovery._worker.is_busy)


def test_a_change_is_written_aside_after_some_seconds_and_taken_away_when_saved(squares, qtbot, tmp_path):
    recovery = squares.recovery
    recovery._after_ms = 10
    assert not recovery.file.exists()
    squares.desk.do_plain("move", on="all", dx_mm=5)
    qtbot.waitUntil(recovery.file.exists)
    _wait(squares, qtbot)
    assert [row.entry.step.do for row in Session.open(recovery.file).history.rows][-1] == "move"
    squares.files.save_to(tmp_path / "squares.svg")
    assert squares.files.finish_writing()
    qtbot.waitUntil(lambda: not recovery.file.exists())
    assert list(recovery.file.parent.iterdir()) == []


def test_a_clean_close_leaves_nothing_behind(squares, qtbot):
    squares.desk.do_plain("move", on="all", dx_mm=5)
    squares.recovery.write()
    _wait(squares, qtbot)
    assert squares.recovery.file.exists()
    squares.desk.session._saved = squares.desk.session.history
    squares.close()
    assert list(squares.recovery.file.parent.iterdir()) == []


def test_work_of_a_window_that_lives_is_not_offered(make_window, two_squares, qtbot):
    one = make_window(two_squares)
    one.desk.do_plain("move", on="all", dx_mm=5)
    one.recovery.write()
    _wait(one, qtbot)
    other = make_window()
    assert other.recovery.lost() == []


@pytest.mark.skipif(os.name != "posix", reason="kills a process")
def test_work_of_a_program_that_was_killed_comes_back(make_window, qtbot, tmp_path):
    environment = {**os.environ, "PYTHONPATH": str(APP)}
    dying = subprocess.Popen(
        [sys.executable, "-c", DYING, str(tmp_path)], env=environment, stdout=subprocess.PIPE, text=True
    )
    assert dying.stdout is not None
    assert dying.stdout.readline().strip() == "written"
    dying.send_signal(signal.SIGKILL)
    dying.wait()
    dying.stdout.close()
    window = make_window()
    window.offer_lost_work()
    (dialog,) = window.findChildren(LostWorkDialog)
    assert dialog.list.item(0).text().startswith("Awning (never saved)")
    dialog.back_button.click()
    settle(window, qtbot)
    assert window.desk.job.name == "Awning"
    assert len(window.desk.job.shapes()) == 1
    assert window.isWindowModified()
    assert len(window.recovery.lost()) == 1, "kept until it is written aside anew"
    window.recovery.write()
    _wait(window, qtbot)
    assert window.recovery.lost() == []
    assert window.recovery.file.exists()


def _orphan(folder: Path, name: str) -> Path:
    session = Session.new(name, 100, 100)
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=50, height_mm=30)
    folder.mkdir(exist_ok=True)
    return session.save(folder / f"{name}.svg")


def test_lost_work_can_be_thrown_away_or_left_for_later(make_window, tmp_path):
    _orphan(tmp_path / "recovery", "one")
    _orphan(tmp_path / "recovery", "two")
    window = make_window()
    window.offer_lost_work()
    (dialog,) = window.findChildren(LostWorkDialog)
    dialog.throw_button.click()
    assert dialog.isVisible()
    dialog.later_button.click()
    assert len(window.recovery.lost()) == 1


def test_a_recovery_file_that_cannot_be_read_is_said_and_kept(make_window, tmp_path, qtbot):
    broken = _orphan(tmp_path / "recovery", "one")
    broken.write_bytes(b"<svg")
    window = make_window()
    window.offer_lost_work()
    (dialog,) = window.findChildren(LostWorkDialog)
    dialog.back_button.click()
    settle(window, qtbot)
    assert window.bench.strip.text.property("role") == "trouble"
    assert broken.exists()


def test_a_folder_that_cannot_be_written_stops_nothing(make_window, two_squares, tmp_path, qtbot):
    (tmp_path / "recovery").write_text("in the way")
    window = make_window(two_squares)
    window.desk.do_plain("move", on="all", dx_mm=5)
    window.recovery.write()
    _wait(window, qtbot)
    assert window.recovery.failure
    assert window.recovery.lost() == []
