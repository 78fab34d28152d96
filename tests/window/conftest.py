"""A window to drive as a person would: own settings, no questions on leaving, all work ended."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QSettings, QThreadPool
from PySide6.QtWidgets import QApplication, QWidget

from bladewise import operations
from bladewise.session import Session
from bladewise.window.canvas import Canvas
from window.canvas_hand import BLOB, RING, SQUARE, Hand, sheet

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from pytestqt.qtbot import QtBot

    from bladewise.window.main_window import MainWindow

DEMO = Path(__file__).parents[2] / "demo_art"


@pytest.fixture
def make_window(qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., MainWindow]]:
    """Return what opens a window on a session; its settings and destinations are its own."""
    from bladewise.formats.kept import FOLDER_VARIABLE
    from bladewise.window.app import start_application
    from bladewise.window.main_window import MainWindow

    start_application("en")
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "destinations"))
    made: list[MainWindow] = []

    def make(session: Session | None = None) -> MainWindow:
        settings = QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)
        settings.setValue("tour-seen", "true")
        window = MainWindow(session, settings, tmp_path / "recovery")
        window.resize(1440, 900)
        window.show()
        qtbot.waitExposed(window)
        made.append(window)
        return window

    yield make
    for window in made:
        window.desk.session._saved = window.desk.session.history
        window.close()
        take_away(window)
    assert QThreadPool.globalInstance().waitForDone(20_000), "work was left behind"
    QApplication.processEvents()


@pytest.fixture
def window(make_window: Callable[..., MainWindow]) -> MainWindow:
    """Return a window on an empty sheet."""
    return make_window()


@pytest.fixture
def two_squares() -> Session:
    """Return a job of two squares of one colour that overlap, the left one behind."""
    session = Session.new("Squares", 200, 100)
    session.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=60, height_mm=60, fill="#cc3311", name="Left")
    session.do("draw-rectangle", x_mm=50, y_mm=30, width_mm=60, height_mm=60, fill="#cc3311", name="Right")
    session._saved = session.history
    return session


@pytest.fixture
def squares(make_window: Callable[..., MainWindow], two_squares: Session, qtbot: QtBot) -> MainWindow:
    """Return a window on two overlapping squares, checked."""
    window = make_window(two_squares)
    settle(window, qtbot)
    return window


def take_away(widget: QWidget) -> None:
    """Let Qt delete a widget now; the garbage collector would do it in any order, and at any time."""
    widget.deleteLater()
    QCoreApplication.sendPostedEvents(widget, QEvent.Type.DeferredDelete)


def settle(window: MainWindow, qtbot: QtBot, timeout: int = 60_000) -> None:
    """Wait until no step is under way and the check has spoken about the job as it is."""

    def at_rest() -> bool:
        desk = window.desk
        return not desk.steps.is_busy and (desk.is_checked or bool(desk.check_failure))

    qtbot.waitUntil(at_rest, timeout=timeout)


@pytest.fixture
def canvas(qtbot):
    canvas = Canvas()
    qtbot.addWidget(canvas)
    canvas.resize(900, 500)
    canvas.show()
    canvas.set_job(sheet(SQUARE, BLOB, RING))
    canvas.finish_painting()
    yield canvas
    canvas.stop()


@pytest.fixture
def hand(qtbot, canvas):
    return Hand(qtbot, canvas)


@pytest.fixture
def wanted(canvas):
    """Return the steps that the canvas asks for, each done at once as the window does."""
    asked = []

    def do(step):
        asked.append(step)
        outcome = operations.apply(canvas.job, step)
        canvas.set_job(outcome.job, outcome.changes)

    canvas.step_wanted.connect(do)
    return asked
