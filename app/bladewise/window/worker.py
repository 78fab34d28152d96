"""Work that takes longer than a frame: one thread at a time a purpose, with progress and a way to stop it.

A purpose (a step, the ghost, the readiness check, a file) owns one `Worker`. Work is a function of immutable values
that takes `progress`; what it gives is handed back on the interface thread. A worker runs its jobs one after the
other; a purpose for which only the latest counts (the ghost, the check) starts with `instead=True`, which stops what
is under way.
"""

from __future__ import annotations

import logging
import threading
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from PySide6.QtCore import QObject, QRunnable, QThreadPool, QTimer, Signal, Slot

from bladewise.errors import BladewiseError, Cancelled

Progress = Callable[[float], None]
Work = Callable[[Progress], Any]

log = logging.getLogger(__name__)


@dataclass(eq=False)
class Assignment:
    """One piece of work, and who waits for it."""

    work: Work
    done: Callable[[Any], None]
    failed: Callable[[BladewiseError], None]
    title: str = ""
    stop: threading.Event = field(default_factory=threading.Event)


class _Post(QObject):
    """Carries results from the thread to the interface."""

    progressed = Signal(object, float)
    finished = Signal(object, object, object)


class _Run(QRunnable):
    def __init__(self, assignment: Assignment, post: _Post) -> None:
        super().__init__()
        self._assignment = assignment
        self._post = post
        self._told = -1.0

    def run(self) -> None:
        """Do the work; whatever comes of it is posted, nothing escapes into the pool."""
        assignment = self._assignment
        result: Any = None
        error: BladewiseError | None = None
        try:
            self._progress(0.0)
            result = assignment.work(self._progress)
        except BladewiseError as problem:
            error = problem
        except Exception:
            log.exception("A fault in the program")
            error = BladewiseError(
                "This went wrong inside the program; nothing was changed.", hint="Save your work and try another way."
            )
        try:
            self._post.finished.emit(assignment, result, error)
        except RuntimeError:
            log.debug("The window was closed before the work ended")

    def _progress(self, fraction: float) -> None:
        if self._assignment.stop.is_set():
            raise Cancelled
        if fraction - self._told >= 0.01:
            self._told = fraction
            self._post.progressed.emit(self._assignment, fraction)


class Worker(QObject):
    """Runs work for one purpose, one piece at a time."""

    progressed = Signal(float)
    started = Signal(str)
    rested = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        """Stand ready; threads come from the shared pool."""
        super().__init__(parent)
        self._post = _Post()
        self._post.progressed.connect(self._on_progress)
        self._post.finished.connect(self._on_finished)
        self._waiting: deque[Assignment] = deque()
        self._current: Assignment | None = None
        self._closed = False
        self._late = QTimer(self)
        self._late.setSingleShot(True)
        self._late.timeout.connect(self._start_next)

    @property
    def is_busy(self) -> bool:
        """Whether anything runs or waits."""
        return self._current is not None or bool(self._waiting) or self._late.isActive()

    def start(
        self,
        work: Work,
        done: Callable[[Any], None],
        failed: Callable[[BladewiseError], None] = lambda _error: None,
        *,
        title: str = "",
        instead: bool = False,
        after_ms: int = 0,
    ) -> None:
        """Queue work; `instead` drops what waits and stops what runs; `after_ms` waits for the hand to rest."""
        if self._closed:
            return
        if instead:
            self._waiting.clear()
            if self._current is not None:
                self._current.stop.set()
        self._waiting.append(Assignment(work, done, failed, title))
        if after_ms:
            self._late.start(after_ms)
        elif not self._late.isActive():
            self._start_next()

    def cancel(self) -> None:
        """Drop what waits and stop what runs, at its next report of progress."""
        self._late.stop()
        self._waiting.clear()
        if self._current is not None:
            self._current.stop.set()

    def close(self) -> None:
        """Stop for good; nothing is handed back any more."""
        self._closed = True
        self.cancel()

    def _start_next(self) -> None:
        if self._current is not None or not self._waiting or self._closed:
            return
        self._current = self._waiting.popleft()
        self.started.emit(self._current.title)
        QThreadPool.globalInstance().start(_Run(self._current, self._post))

    @Slot(object, float)
    def _on_progress(self, assignment: Assignment, fraction: float) -> None:
        if assignment is self._current and not assignment.stop.is_set():
            self.progressed.emit(fraction)

    @Slot(object, object, object)
    def _on_finished(self, assignment: Assignment, result: Any, error: BladewiseError | None) -> None:
        self._current = None
        if not self._closed:
            if error is not None:
                assignment.failed(error)
            elif assignment.stop.is_set():
                assignment.failed(Cancelled())
            else:
                assignment.done(result)
        if not self._late.isActive():
            self._start_next()
        if not self.is_busy:
            self.rested.emit()
