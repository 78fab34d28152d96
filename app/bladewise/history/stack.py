"""The command stack as a value: a base job, the steps done to it, and where we stand among them.

Each row remembers the job after its step, so undo is a look at the row before. A row whose job is not
known (the stack was read from a file, or an earlier step changed) is computed when it is needed.
A step that cannot be applied says why and passes the job on unchanged, so that the rest still stands.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bladewise import operations
from bladewise.document import Job
from bladewise.errors import CannotApply
from bladewise.operations import Outcome, Progress, Step, quiet

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable


@dataclass(frozen=True, slots=True)
class Entry:
    """A step in the stack; one that is switched off passes the job on unchanged."""

    step: Step
    enabled: bool = True


@dataclass(frozen=True, slots=True)
class Row:
    """An entry with what came of it; `job` is None while it has not been computed."""

    entry: Entry
    job: Job | None = None
    reports: tuple[str, ...] = ()
    failure: str = ""

    @property
    def is_known(self) -> bool:
        """Whether what comes of it has been computed."""
        return self.job is not None


@dataclass(frozen=True)
class History:
    """A base job and the rows done to it; those up to `position` count, the others can be redone."""

    base: Job
    rows: tuple[Row, ...] = ()
    position: int = 0

    @classmethod
    def restored(cls, base: Job, entries: Iterable[Entry], position: int, current: Job) -> History:
        """Return the stack as it was saved: only the current job is known, the rest is computed on demand."""
        rows = [Row(entry) for entry in entries]
        position = max(0, min(position, len(rows)))
        if position:
            rows[position - 1] = replace(rows[position - 1], job=current)
            return cls(base, tuple(rows), position)
        return cls(current, tuple(rows), 0)

    @property
    def job(self) -> Job:
        """The job where we stand."""
        job = self.base if self.position == 0 else self.rows[self.position - 1].job
        assert job is not None
        return job

    @property
    def entries(self) -> tuple[Entry, ...]:
        """The steps, those that can be redone included."""
        return tuple(row.entry for row in self.rows)

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to take back."""
        return self.position > 0

    @property
    def can_redo(self) -> bool:
        """Whether there is a step to do again."""
        return self.position < len(self.rows)

    def applied(self, step: Step, progress: Progress = quiet) -> tuple[History, Outcome]:
        """Return the stack with a step done, and its outcome; a step that changes nothing leaves no row.

        Raises
        ------
        CannotApply, Cancelled
            As `operations.apply` does.
        """
        outcome = operations.apply(self.job, step, progress)
        return self.adopted(step, outcome), outcome

    def adopted(self, step: Step, outcome: Outcome) -> History:
        """Return the stack with a step whose outcome was computed elsewhere, from this stack's job."""
        if not outcome.changes:
            return self
        row = Row(Entry(step), outcome.job, outcome.reports)
        return History(self.base, (*self.rows[: self.position], row), self.position + 1)

    def at(self, position: int, progress: Progress = quiet) -> History:
        """Return the stack standing after so many steps."""
        position = max(0, min(position, len(self.rows)))
        return replace(self, rows=self._computed(position, progress), position=position)

    def switched(self, index: int, *, enabled: bool, progress: Progress = quiet) -> History:
        """Return the stack with a step switched on or off and all after it recomputed."""
        return self._edited(index, lambda entry: replace(entry, enabled=enabled), progress)

    def changed(self, index: int, step: Step, progress: Progress = quiet) -> History:
        """Return the stack with a step's numbers changed and all after it recomputed."""
        return self._edited(index, lambda entry: replace(entry, step=step), progress)

    def removed(self, index: int, progress: Progress = quiet) -> History:
        """Return the stack without a step and all after it recomputed."""
        rows = (*self.rows[:index], *(Row(row.entry) for row in self.rows[index + 1 :]))
        position = self.position - 1 if index < self.position else self.position
        return History(self.base, rows, position).at(position, progress)

    def rebased(self, base: Job, progress: Progress = quiet) -> History:
        """Return the stack redone on another base, as when more art is brought in."""
        return History(base, tuple(Row(row.entry) for row in self.rows), self.position).at(self.position, progress)

    def _edited(self, index: int, change: Callable[[Entry], Entry], progress: Progress) -> History:
        row = Row(change(self.rows[index].entry))
        if row.entry == self.rows[index].entry:
            return self
        later = tuple(Row(each.entry) for each in self.rows[index + 1 :])
        return replace(self, rows=(*self.rows[:index], row, *later)).at(self.position, progress)

    def _computed(self, position: int, progress: Progress) -> tuple[Row, ...]:
        """Return the rows with the one before `position` known, and all it needs."""
        first = position
        while first > 0 and not self.rows[first - 1].is_known:
            first -= 1
        rows = list(self.rows)
        job = self.base if first == 0 else rows[first - 1].job
        assert job is not None
        for index in range(first, position):

            def part(fraction: float, done: int = index - first) -> None:
                progress((done + fraction) / (position - first))

            rows[index] = row = _computed_row(rows[index].entry, job, part)
            job = row.job or job
        return tuple(rows)


def _computed_row(entry: Entry, job: Job, progress: Progress) -> Row:
    if not entry.enabled:
        return Row(entry, job)
    try:
        outcome = operations.apply(job, entry.step, progress)
    except CannotApply as error:
        return Row(entry, job, failure=str(error))
    return Row(entry, outcome.job, outcome.reports)
