"""Files in and out of the window: open, bring in, save, export; nothing is lost without being asked."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QEventLoop, QObject, Signal
from PySide6.QtWidgets import QFileDialog, QWidget

from bladewise.errors import BladewiseError, CannotWrite
from bladewise.formats import write_job_file
from bladewise.session import Session
from bladewise.window.desk import Message, Tone
from bladewise.window.dialogs.questions import Answer, ask_unsaved

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.history import History
    from bladewise.window.desk import Desk
    from bladewise.window.recovery import Lost


class Files(QObject):
    """Does what the File menu says."""

    notes_arrived = Signal()
    leaving = Signal()
    """Another job is about to take the place of the one on the desk."""

    arrived = Signal()
    """Another job lies on the desk."""

    def __init__(self, desk: Desk, window: QWidget) -> None:
        """Work for a window."""
        super().__init__(window)
        self._desk = desk
        self._window = window
        self._is_leaving = False
        self.source: Path | None = desk.session.path
        """The file that what is on the desk was opened from or saved to, artwork or job."""

    # --- in -------------------------------------------------------------------------------------------------------

    def new(self) -> None:
        """Start with an empty sheet."""
        if self.may_leave():
            width, height = self._desk.preferences.sheet_mm
            self.take(Session.new(width_mm=width, height_mm=height), None)

    def take(self, session: Session, source: Path | None) -> None:
        """Put a session on the desk that came from a file, or from none."""
        self.leaving.emit()
        self.source = source
        self._desk.take(session)
        self.arrived.emit()

    def ask_open(self) -> None:
        """Ask which file, and open it."""
        path = self._ask_art(self.tr("Open"))
        if path is not None:
            self.open(path)

    def open(self, path: Path, done: Callable[[], None] = lambda: None) -> None:
        """Open artwork or a job file, in a worker."""
        if not self.may_leave():
            return
        path = path.absolute()  # what is shown of it later says where it lies

        def finish(session: Session) -> None:
            self.take(session, path)
            self._desk.preferences.remember(path)
            self._desk.tell(Message(self.tr("“{name}” is open.").format(name=path.name)))
            if session.job.notes and not session.history.entries:  # a job with steps has shown them when it began
                self.notes_arrived.emit()
            done()

        def failed(error: BladewiseError) -> None:
            if not path.exists():
                self._desk.preferences.forget(path.absolute())
            self._desk.tell_error(error)

        self._desk.steps.start(
            lambda progress: Session.open(path, progress),
            finish,
            failed,
            title=self.tr("Opening {name}").format(name=path.name),
        )

    def bring_back(self, lost: Lost, done: Callable[[], None] = lambda: None) -> None:
        """Put work that was lost on the desk again, still to be saved to where it came from."""
        if not self.may_leave():
            return

        def finish(session: Session) -> None:
            session.was_recovered(lost.source)
            self.take(session, lost.source)
            self._desk.tell(Message(self.tr("“{name}” is back; save it to keep it.").format(name=lost.name), Tone.GOOD))
            done()

        self._desk.steps.start(
            lambda progress: Session.open(lost.file, progress),
            finish,
            self._desk.tell_error,
            title=self.tr("Bringing back {name}").format(name=lost.name),
        )

    def ask_bring_in(self) -> None:
        """Ask which file, and add its art to the job."""
        path = self._ask_art(self.tr("Bring in art"))
        if path is not None:
            self.bring_in(path)

    def bring_in(self, path: Path) -> None:
        """Add the art of a file to the job, in a worker."""
        desk = self._desk
        before = {element.id for element in desk.job.elements()}

        def work(progress: Callable[[float], None]) -> tuple[History, History]:
            history = desk.session.history
            aside = Session(history)
            aside.bring_in(path, progress)
            return history, aside.history

        def finish(result: tuple[History, History]) -> None:
            was, becomes = result
            if was is not desk.session.history:
                self.bring_in(path)
                return
            desk.session.adopt(becomes)
            desk.preferences.remember(path)
            new = [child.id for layer in desk.job.layers for child in layer.children if child.id not in before]
            desk.select(new)
            desk.tell(Message(self.tr("“{name}” was brought in.").format(name=path.name)))
            if len(becomes.base.notes) > len(was.base.notes):
                self.notes_arrived.emit()

        desk.steps.start(work, finish, desk.tell_error, title=self.tr("Bringing in {name}").format(name=path.name))

    def dropped(self, paths: list[str]) -> None:
        """Take files dropped on the window: opened on an empty sheet, else brought in."""
        for number, text in enumerate(paths):
            path = Path(text)
            empty = not any(True for _ in self._desk.job.walk())
            if number == 0 and empty and not self._desk.session.is_modified:
                rest = paths[1:]
                self.open(path, partial(self._bring_in_all, rest))
                return
            self.bring_in(path)

    def _bring_in_all(self, paths: list[str]) -> None:
        for each in paths:
            self.bring_in(Path(each))

    # --- out ------------------------------------------------------------------------------------------------------

    def save(self, done: Callable[[], None] = lambda: None) -> bool:
        """Save where the job came from, or ask; return whether it was begun."""
        if self._desk.session.path is None:
            return self.ask_save_as(done)
        self.save_to(self._desk.session.path, done)
        return True

    def ask_save_as(self, done: Callable[[], None] = lambda: None) -> bool:
        """Ask where to save; return whether it was begun."""
        from bladewise.formats import file_name

        name = f"{file_name(self._desk.job.name)}.job.svg"  # never the artwork's own
        start = self._desk.session.path or Path(self._desk.preferences.folder) / name
        chosen, _ = QFileDialog.getSaveFileName(
            self._window, self.tr("Save as"), str(start), self.tr("Bladewise job (*.svg)")
        )
        if not chosen:
            return False
        path = Path(chosen)
        self.save_to(path if path.suffix else path.with_suffix(".svg"), done)
        return True

    def save_to(self, path: Path, done: Callable[[], None] = lambda: None) -> None:
        """Save the job file, in a worker; what stood there before stays if anything fails."""
        desk = self._desk
        session, history = desk.session, desk.session.history
        if session.path is None and self.source is not None and path.absolute() == self.source.absolute():
            what = "This is the artwork itself; it is never written to."
            desk.tell_error(CannotWrite(what, where=path.name, hint="Save the job under another name."))
            return

        def finish(_result: object) -> None:
            session.was_saved(path, history)
            desk.preferences.remember(path)
            if session is desk.session:
                self.source = path
            desk.state_changed.emit()
            desk.tell(Message(self.tr("Saved as “{name}”.").format(name=path.name), Tone.GOOD))
            done()

        job_file = session.as_job_file()
        desk.writer.start(
            lambda _progress: write_job_file(job_file, path),
            finish,
            desk.tell_error,
            title=self.tr("Saving {name}").format(name=path.name),
        )

    def ask_save_recipe(self) -> None:
        """Ask where to save the steps for other art."""
        from bladewise.formats import file_name

        start = Path(self._desk.preferences.folder) / f"{file_name(self._desk.job.name)}.toml"
        chosen, _ = QFileDialog.getSaveFileName(
            self._window, self.tr("Save as recipe"), str(start), self.tr("Recipe (*.toml)")
        )
        if chosen:
            path = Path(chosen)
            self.save_recipe(path if path.suffix else path.with_suffix(".toml"))

    def save_recipe(self, path: Path) -> bool:
        """Save the steps that count, those switched off left out."""
        from bladewise.recipe import Recipe, write_recipe

        history = self._desk.session.history
        steps = tuple(row.entry.step for row in history.rows[: history.position] if row.entry.enabled)
        try:
            write_recipe(Recipe(self._desk.job.name, steps), path)
        except CannotWrite as error:
            self._desk.tell_error(error)
            return False
        self._desk.tell(Message(self.tr("Recipe saved as “{name}”.").format(name=path.name), Tone.GOOD))
        return True

    def ask_save_picture(self, view: str) -> None:
        """Ask where to save what the job looks like."""
        from bladewise.formats import file_name

        start = Path(self._desk.preferences.folder) / f"{file_name(self._desk.job.name)}.png"
        chosen, _ = QFileDialog.getSaveFileName(
            self._window, self.tr("Save picture"), str(start), self.tr("Picture (*.png)")
        )
        if chosen:
            path = Path(chosen)
            self.save_picture(path if path.suffix else path.with_suffix(".png"), view)

    def save_picture(self, path: Path, view: str) -> None:
        """Save what the job looks like, in a worker."""
        from bladewise.window.picture import write_png

        desk, job = self._desk, self._desk.job
        desk.writer.start(
            lambda _progress: write_png(job, path, view=view),
            lambda _result: desk.tell(Message(self.tr("Picture saved as “{name}”.").format(name=path.name), Tone.GOOD)),
            desk.tell_error,
            title=self.tr("Saving {name}").format(name=path.name),
        )

    def may_leave(self) -> bool:
        """Whether the job on the desk may go: nothing to lose, or the operator has said so."""
        if self._is_leaving:
            return False
        self._is_leaving = True
        try:
            self.finish_writing()
            if not self._desk.session.is_modified:
                return True
            answer = ask_unsaved(self._window, self._desk.file_name)
            if answer is not Answer.SAVE:
                return answer is Answer.DISCARD
            return self.save() and self.finish_writing() and not self._desk.session.is_modified
        finally:
            self._is_leaving = False

    def finish_writing(self) -> bool:
        """Wait until every file is written, the window painting on meanwhile; return True."""
        writer = self._desk.writer
        if writer.is_busy:
            waiting = QEventLoop(self)
            writer.rested.connect(waiting.quit)
            waiting.exec(QEventLoop.ProcessEventsFlag.ExcludeUserInputEvents)
            writer.rested.disconnect(waiting.quit)
        return True

    def _ask_art(self, title: str) -> Path | None:
        chosen, _ = QFileDialog.getOpenFileName(
            self._window,
            title,
            self._desk.preferences.folder,
            self.tr("Artwork and jobs (*.svg *.svgz);;All files (*)"),
        )
        return Path(chosen) if chosen else None
