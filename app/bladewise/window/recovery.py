"""Nothing is lost if the power fails: what is not saved yet is written aside every few seconds.

Each window keeps one recovery file, a job file like any other, in the operator's data folder, with a lock beside it
that dies with the program. It is written in a worker, whole or not at all, some seconds after a change, and taken
away when the job is saved or the window is closed cleanly. A file without a living owner is work that was lost; the
next start offers it.
"""

from __future__ import annotations

import contextlib
import json
import os
import threading
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QLockFile, QObject, QStandardPaths, QTimer

from bladewise.errors import BladewiseError
from bladewise.formats import write_job_file
from bladewise.formats.atomic import make_folder, write_atomically
from bladewise.window.worker import Worker

if TYPE_CHECKING:
    from bladewise.history import History
    from bladewise.window.desk import Desk

AFTER_MS = 3_000
"""How long after a change the job is written aside."""

REST_FACTOR = 20.0
"""A job that takes long to write is written less often: at most a twentieth of the time goes into it."""


@dataclass(frozen=True, slots=True)
class Lost:
    """A job that was not saved when the program ended."""

    file: Path
    name: str
    source: Path | None
    when: float


class Recovery(QObject):
    """Writes the job on the desk aside while it is not saved."""

    def __init__(self, desk: Desk, folder: Path | None = None, after_ms: int = AFTER_MS) -> None:
        """Watch a desk; `folder` is the operator's own unless given."""
        super().__init__(desk)
        self._desk = desk
        self._folder = folder if folder is not None else default_folder()
        self._file = self._folder / f"{time.time_ns():x}-{os.getpid()}-{id(self) & 0xFFFF:x}.svg"
        self._lock: QLockFile | None = None
        self._after_ms = after_ms
        self._written: History | None = None
        self._stands_for: Path | None = None
        self._gone = threading.Event()
        self._worker = Worker(self)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self.write)
        self.failure = ""
        desk.state_changed.connect(self._look)

    @property
    def file(self) -> Path:
        """Where the job is written aside."""
        return self._file

    @property
    def is_busy(self) -> bool:
        """Whether something is being written or about to be."""
        return self._timer.isActive() or self._worker.is_busy

    def write(self) -> None:
        """Write the job aside now, in a worker."""
        session = self._desk.session
        if not session.is_modified or session.history is self._written or self._worker.is_busy:
            return
        history, job_file = session.history, session.as_job_file()
        about = {"name": session.job.name, "source": str(session.path) if session.path else "", "when": time.time()}
        file, begin = self._file, time.monotonic()
        if self._lock is None:
            with contextlib.suppress(BladewiseError):
                make_folder(self._folder)
            self._lock = _lock(file)
            if not self._lock.tryLock(0):
                self.failure = "locked"

        def work(_progress: object) -> None:
            make_folder(file.parent)
            write_atomically(_about(file), json.dumps(about).encode())
            write_job_file(job_file, file)
            if self._gone.is_set():
                _remove(file)

        def finish(_result: object) -> None:
            self.failure = ""
            self._written = history
            self._let_go()
            self._after_ms = max(self._after_ms, int((time.monotonic() - begin) * 1e3 * REST_FACTOR))
            self._look()

        def failed(error: BladewiseError) -> None:
            self.failure = str(error)  # told by nobody: saving is what the operator can do, and that will say it

        self._worker.start(work, finish, failed)

    def lost(self) -> list[Lost]:
        """Return what was lost, the latest first."""
        files = self._folder.glob("*.svg") if self._folder.is_dir() else ()
        found = [_read(file) for file in files if file != self._file and _is_ownerless(file)]
        return sorted(found, key=lambda each: -each.when)

    def drop(self, lost: Lost) -> None:
        """Take away work that nobody wants any more."""
        _remove(lost.file)

    def take_over(self, lost: Lost) -> None:
        """Keep lost work that lies on the desk again until it is written aside anew, or saved."""
        self._stands_for = lost.file
        self._look()

    def close(self) -> None:
        """Take the file away: the window was closed cleanly."""
        self._gone.set()
        self._timer.stop()
        self._worker.close()
        self._desk.state_changed.disconnect(self._look)
        self._clear()

    def _look(self) -> None:
        session = self._desk.session
        if not session.is_modified:
            self._timer.stop()
            if not self._worker.is_busy:
                self._clear()
        elif session.history is not self._written and not self.is_busy:
            self._timer.start(self._after_ms)

    def _let_go(self) -> None:
        if self._stands_for is not None:
            _remove(self._stands_for)
            self._stands_for = None

    def _clear(self) -> None:
        self._written = None
        self._let_go()
        if self._lock is not None:
            _remove(self._file)
            self._lock.unlock()
            self._lock = None


def default_folder() -> Path:
    """Return the operator's own folder for recovery files."""
    return Path(QStandardPaths.writableLocation(QStandardPaths.StandardLocation.AppLocalDataLocation)) / "recovery"


def _about(file: Path) -> Path:
    return file.with_suffix(".json")


def _lock(file: Path) -> QLockFile:
    lock = QLockFile(str(file.with_suffix(".lock")))
    lock.setStaleLockTime(0)  # only the death of its owner frees it, not its age
    return lock


def _is_ownerless(file: Path) -> bool:
    lock = _lock(file)
    free = lock.tryLock(0)
    if free:
        lock.unlock()
    return free


def _read(file: Path) -> Lost:
    """Return what is known of a recovery file; the art is in the file itself, and does not depend on it."""
    name, source, when = "", None, 0.0
    with contextlib.suppress(OSError):
        when = file.stat().st_mtime
    with contextlib.suppress(OSError, ValueError, TypeError, AttributeError):
        about = json.loads(_about(file).read_bytes())
        name = str(about.get("name", ""))
        source = Path(about["source"]) if about.get("source") else None
    return Lost(file, name or file.stem, source, when)


def _remove(file: Path) -> None:
    for each in (file, _about(file)):
        with contextlib.suppress(OSError):
            each.unlink(missing_ok=True)
