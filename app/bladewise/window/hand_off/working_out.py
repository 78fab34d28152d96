"""Makes the files of destinations in a worker, and keeps them for as long as the job and its materials stay."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from bladewise import formats
from bladewise.errors import BladewiseError, Cancelled
from bladewise.formats import only_made_of
from bladewise.window.hand_off.looks import look_of
from bladewise.window.picture import paint_picture
from bladewise.window.worker import Progress, Worker

if TYPE_CHECKING:
    from bladewise.document import Job
    from bladewise.formats import Destination
    from bladewise.window.desk import Desk
    from bladewise.window.hand_off.looks import Look

AFTER_TYPING_MS = 250


class WorkingOut(QObject):
    """What every destination would get."""

    found = Signal(object)
    """The files of a destination are there, or it is known why there are none."""

    progressed = Signal(str, float)
    """How far the files of the destination of a name are."""

    def __init__(self, desk: Desk, parent: QObject) -> None:
        """Know nothing yet."""
        super().__init__(parent)
        self._desk = desk
        self._left_out: frozenset[str] = frozenset()
        self._known: dict[Destination, list[Look] | BladewiseError] = {}
        self._going: set[Destination] = set()
        self._tried: Destination | None = None
        self._worker, self._trial = Worker(self), Worker(self)
        self._at = {self._worker: "", self._trial: ""}
        for worker in self._at:
            worker.started.connect(partial(self._begun, worker))
            worker.progressed.connect(partial(self._further, worker))

    @property
    def is_busy(self) -> bool:
        """Whether anything is being worked out."""
        return self._worker.is_busy or self._trial.is_busy

    def of(self, destination: Destination) -> list[Look] | BladewiseError | None:
        """Return the files of a destination, why there are none, or None while that is not known."""
        return self._known.get(destination)

    def looks(self, destination: Destination) -> list[Look]:
        """Return the files of a destination as far as there are any."""
        found = self._known.get(destination)
        return found if isinstance(found, list) else []

    def begin_anew(self, left_out: frozenset[str]) -> None:
        """Forget everything: the job is another one, or other materials are left out."""
        self._worker.cancel()
        self._trial.cancel()
        self._known.clear()
        self._going.clear()
        self._left_out = left_out

    def ask(self, destination: Destination) -> None:
        """Begin on the files of a destination, unless they are known or under way."""
        if destination not in self._going and destination not in self._known:
            self._going.add(destination)
            self._worker.start(self._work(destination), *self._ends(destination), title=destination.name)

    def leave(self, destination: Destination) -> None:
        """Break off the files of a destination that is to get none; others that wait are to be asked for again."""
        if destination in self._going:
            self._worker.cancel()
            self._going.clear()

    def try_out(self, destination: Destination) -> None:
        """Begin on the files of a destination as it is being filled in, instead of the one before."""
        if destination in self._known:
            self.found.emit(destination)
            return
        self._forget_tried()
        self._tried = destination
        self._trial.start(
            self._work(destination),
            *self._ends(destination),
            title=destination.name,
            instead=True,
            after_ms=AFTER_TYPING_MS,
        )

    def stop_trying(self) -> None:
        """Leave the one that was being filled in."""
        self._trial.cancel()
        self._forget_tried()

    def close(self) -> None:
        """Stop for good."""
        self._worker.close()
        self._trial.close()

    def _begun(self, worker: Worker, name: str) -> None:
        self._at[worker] = name

    def _further(self, worker: Worker, fraction: float) -> None:
        self.progressed.emit(self._at[worker], fraction)

    def _forget_tried(self) -> None:
        """Let go of files that nobody asks for any more: every letter typed makes others."""
        if self._tried is not None:
            self._known.pop(self._tried, None)
            self._tried = None

    def _work(self, destination: Destination) -> partial[list[Look]]:
        return partial(_looks, self._desk.job, self._left_out, destination)

    def _ends(self, destination: Destination) -> tuple[partial[None], partial[None]]:
        end = partial(self._end, destination)
        return end, end

    def _end(self, destination: Destination, found: list[Look] | BladewiseError) -> None:
        if not isinstance(found, Cancelled):
            self._going.discard(destination)
            self._known[destination] = found
            self.found.emit(destination)


def _looks(job: Job, left_out: frozenset[str], destination: Destination, progress: Progress) -> list[Look]:
    if left_out:
        job = only_made_of(job, {each.id for each in job.materials_in_use()} - left_out)
    progress(0.05)
    files = formats.prepared(job, destination, paint_picture, lambda part: progress(0.05 + 0.7 * part))
    looks = []
    for number, file in enumerate(files):
        progress(0.75 + 0.25 * number / len(files))
        looks.append(look_of(file, destination))
    return looks
