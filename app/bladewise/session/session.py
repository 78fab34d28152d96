"""A job on the bench: its command stack, its file, and whoever listens.

The session is the only thing that changes; all it holds are values. Long work is done elsewhere on
those values (`operations.apply`, `History.changed`, `checks.check` are pure) and handed in with
`adopt`; the session then tells its listeners what changed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any, TypeAlias

from bladewise import checks, formats, operations
from bladewise.document import Changes, Job, Layer, Profile
from bladewise.errors import CannotWrite
from bladewise.formats.job_file import JobFile
from bladewise.history import Entry, History
from bladewise.lettering import search_also
from bladewise.operations import Outcome, Progress, Step, quiet
from bladewise.operations.duplicating import with_fresh_ids
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from bladewise.findings import Finding

Listener: TypeAlias = Callable[["Session", Changes], None]


class Session:
    """One open job.

    Examples
    --------
    >>> job = Session.new("Sign", 300, 100)
    >>> outcome = job.do("draw-rectangle", x_mm=10, y_mm=10, width_mm=50, height_mm=30)
    >>> [finding.rule for finding in job.check()]
    []
    """

    def __init__(self, history: History, path: FilePath | None = None) -> None:
        """Put a command stack on the bench; `path` is the job file it came from, if any."""
        self.history = history
        self.path = path
        self._saved: History | None = history
        self._past: list[History | None] = []  # None: a step was done; else what the stack was before an edit
        self._future: list[History | None] = []
        self._listeners: list[Listener] = []

    @classmethod
    def new(cls, name: str = "New job", width_mm: float = 600.0, height_mm: float = 400.0) -> Session:
        """Return an empty job."""
        return cls(History(Job(name, width_mm, height_mm)))

    @classmethod
    def open(cls, path: FilePath | str, progress: Progress = quiet) -> Session:
        """Open artwork or a job file; artwork becomes a new job and is itself never written to.

        Raises
        ------
        CannotRead
            If the file cannot be read; nothing is touched.
        """
        path = FilePath(path)
        search_also(path.parent / "fonts")
        read = formats.read(path, progress)
        try:
            entries = [
                Entry(operations.step(each["do"], each["values"]), enabled=not each.get("off", False))
                for each in read.steps
            ]
        except (KeyError, TypeError, ValueError) as error:
            note = phrase(
                "The steps in the file could not be read ({error}); the art is complete, and the stack begins anew.",
                error=error,
            )
            shown = replace(read.current, notes=(*read.current.notes, note))
            return cls(History(shown), path if read.is_job_file else None)
        history = History.restored(read.base, entries, read.position, read.current)
        return cls(history, path if read.is_job_file else None)

    @property
    def job(self) -> Job:
        """The job as it stands."""
        return self.history.job

    @property
    def is_modified(self) -> bool:
        """Whether there is something to save."""
        return self.history is not self._saved

    @property
    def can_undo(self) -> bool:
        """Whether there is something to take back."""
        return bool(self._past) or self.history.can_undo

    @property
    def can_redo(self) -> bool:
        """Whether there is something to do again."""
        return bool(self._future) or self.history.can_redo

    def listen(self, listener: Listener) -> Callable[[], None]:
        """Call `listener(session, changes)` after every change; returns what ends it."""
        self._listeners.append(listener)
        return lambda: self._listeners.remove(listener)

    def do(self, name: str, /, **values: Any) -> Outcome:
        """Do a step given by name and plain values, as in a recipe.

        Raises
        ------
        ValueError
            If the name or a value is wrong.
        CannotApply
            If the step does not apply.
        """
        return self.apply(operations.step(name, values))

    def apply(self, step: Step, progress: Progress = quiet) -> Outcome:
        """Do a step and tell the listeners."""
        outcome = operations.apply(self.job, step, progress)
        self.adopt_step(step, outcome)
        return outcome

    def adopt_step(self, step: Step, outcome: Outcome) -> None:
        """Take in a step whose outcome was computed elsewhere from this very job."""
        history = self.history.adopted(step, outcome)
        if history is not self.history:
            self._past.append(None)
            self._future.clear()
            self._set(history)

    def adopt(self, history: History) -> None:
        """Take in an edited stack (a number changed, a step switched off); undo brings back the old one."""
        if history is not self.history:
            self._past.append(self.history)
            self._future.clear()
            self._set(history)

    def fill_in(self, history: History) -> None:
        """Take in this very stack with more of its rows computed elsewhere; nothing that shows changes."""
        filled = replace(history, position=self.history.position)
        if filled.entries == self.history.entries and filled.job is self.job:
            if self._saved is self.history:
                self._saved = filled
            self.history = filled

    def undo(self, progress: Progress = quiet) -> None:
        """Take back the last step, or the last edit of the stack."""
        last = self._past.pop() if self._past else None
        if last is not None:
            self._future.append(self.history)
            self._set(last)
        elif self.history.can_undo:
            self._future.append(None)
            self._set(self.history.at(self.history.position - 1, progress))

    def redo(self, progress: Progress = quiet) -> None:
        """Do again what was taken back."""
        next_ = self._future.pop() if self._future else None
        if next_ is not None:
            self._past.append(self.history)
            self._set(next_)
        elif self.history.can_redo:
            self._past.append(None)
            self._set(self.history.at(self.history.position + 1, progress))

    def jump(self, position: int, progress: Progress = quiet) -> None:
        """Go to any point of the stack."""
        position = max(0, min(position, len(self.history.rows)))
        steps = position - self.history.position
        source, target = (self._future, self._past) if steps > 0 else (self._past, self._future)
        for _ in range(abs(steps)):
            if source and source[-1] is None:
                source.pop()
            target.append(None)
        if steps:
            self._set(self.history.at(position, progress))

    def change_step(self, index: int, /, **values: Any) -> None:
        """Change a step's numbers (plain values) and recompute what follows."""
        step = self.history.rows[index].entry.step
        doing = operations.operation(step.do)
        self.adopt(self.history.changed(index, Step(step.do, doing.make(doing.plain(step.record) | values))))

    def switch_step(self, index: int, *, enabled: bool) -> None:
        """Switch a step on or off and recompute what follows."""
        self.adopt(self.history.switched(index, enabled=enabled))

    def remove_step(self, index: int) -> None:
        """Take a step out and recompute what follows."""
        self.adopt(self.history.removed(index))

    def bring_in(self, path: FilePath | str, progress: Progress = quiet) -> None:
        """Add the layers of another file at the front; the steps are redone on the larger job.

        Raises
        ------
        CannotRead
            If the file cannot be read; the job stays as it is.
        """
        path = FilePath(path)
        search_also(path.parent / "fonts")
        art = formats.read(path, progress).current
        base = self.history.base
        taken: set[str] = {element.id for element in self.job.elements()} | {layer.id for layer in self.job.layers}
        layers = list(base.layers)
        for layer in art.layers:
            fresh = base.fresh_id(layer.id, taken=taken)
            taken.add(fresh)
            children = tuple(with_fresh_ids(base, child, taken) for child in layer.children)
            layers.append(Layer(fresh, layer.name, children, layer.material, layer.visible, layer.locked))
        known = {material.id for material in base.materials}
        materials = base.materials + tuple(each for each in art.materials if each.id not in known)
        notes = base.notes + art.notes
        self.adopt(
            self.history.rebased(replace(base, layers=tuple(layers), materials=materials, notes=notes), progress)
        )

    def check(self, progress: Progress = quiet, *, profile: Profile | None = None) -> list[Finding]:
        """Return what stands between the job and a clean cut, worst first.

        `profile` is what everything is held to, in place of the profiles of the materials.
        """
        return checks.check(self.job, progress=progress, profile=profile)

    def save(self, path: FilePath | str | None = None) -> FilePath:
        """Write the job file: where it came from, or to a new place.

        Raises
        ------
        CannotWrite
            If it could not be written; what stood there before still stands.
        """
        target = FilePath(path) if path is not None else self.path
        if target is None:
            msg = "This job has no file yet."
            raise CannotWrite(msg, where=self.job.name, hint="Say where to save it.")
        formats.write_job_file(self.as_job_file(), target)
        self.was_saved(target, self.history)
        return target

    def was_saved(self, path: FilePath, history: History) -> None:
        """Take note that a stack was written to a file; what was done since then is still to be saved."""
        self.path = path
        self._saved = history
        self._tell(self.job.changes_to(self.job))

    def was_recovered(self, path: FilePath | None) -> None:
        """Take note that what is on the bench is newer than its file, or has none."""
        self.path = path
        self._saved = None
        self._tell(self.job.changes_to(self.job))

    def as_job_file(self) -> JobFile:
        """Return what a job file holds."""
        steps: list[Mapping[str, Any]] = []
        for entry in self.history.entries:
            values = operations.plain(entry.step)
            del values["do"]
            steps.append({"do": entry.step.do, "off": not entry.enabled, "values": values})
        return JobFile(self.history.base, self.job, tuple(steps), self.history.position)

    def export(
        self,
        folder: FilePath | str,
        *,
        per_colour: bool = True,
        marks: formats.RegistrationMarks | None = None,
        destination: formats.Destination | None = None,
        painter: formats.PicturePainter | None = None,
        despite_findings: bool = False,
    ) -> list[FilePath]:
        """Write the files for cutting and printing; returns their paths.

        The parameters are those of `prepared`.

        Raises
        ------
        CannotWrite
            As `prepared` does, or if a file cannot be written.
        """
        files = self.prepared(
            per_colour=per_colour,
            marks=marks,
            destination=destination,
            painter=painter,
            despite_findings=despite_findings,
        )
        return formats.write_files(files, FilePath(folder))

    def prepared(
        self,
        *,
        per_colour: bool = True,
        marks: formats.RegistrationMarks | None = None,
        destination: formats.Destination | None = None,
        painter: formats.PicturePainter | None = None,
        despite_findings: bool = False,
    ) -> list[formats.Prepared]:
        """Return the files for cutting and printing, made and read back; nothing is written.

        Parameters
        ----------
        per_colour, marks
            Of the layered drawing and its cut files, where no destination says itself which marks there are, and
            whether each colour gets its own file.
        destination
            What the machine wants.
        painter
            Who makes pictures, for a destination that wants some.
        despite_findings
            Make them even where the knife would cut twice.

        Raises
        ------
        CannotWrite
            If the check finds double cuts, or a file does not read back as meant.
        """
        if not despite_findings and not (destination is not None and destination.format == "png"):
            self.refuse_double_cuts()
        if destination is not None:
            return formats.prepared(self.job, destination, painter)
        return formats.cut_files(self.job, marks=marks, per_colour=per_colour)

    def refuse_double_cuts(self) -> None:
        """Refuse what would make the knife cut twice.

        Raises
        ------
        CannotWrite
            If the check finds such.
        """
        double = [finding for finding in self.check() if finding.rule in checks.DOUBLE_CUTS]
        if double:
            more = phrase(" And {count} more.", count=len(double) - 1) if len(double) > 1 else ""
            raise CannotWrite(
                phrase(
                    "The knife would cut twice or through good vinyl: {message}{more}",
                    message=double[0].message,
                    more=more,
                ),
                where=self.job.name,
                hint=phrase("{text}, or write the files despite the findings.", text=double[0].remedy.text),
            )

    def _set(self, history: History) -> None:
        before = self.job
        self.history = history
        self._tell(before.changes_to(history.job))

    def _tell(self, changes: Changes) -> None:
        for listener in tuple(self._listeners):
            listener(self, changes)
