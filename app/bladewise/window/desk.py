"""What all parts of the window share: the session, what is selected, what the check found, and the work under way.

The parts never talk to each other. They ask the desk for a step; the desk does it (at once if it is mere arithmetic,
else in a worker), hands the outcome to the session, and tells everybody what changed.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal

from bladewise import checks, operations
from bladewise.checks.reach import NOTHING
from bladewise.document import Changes, Group, Job, measure_together
from bladewise.errors import BladewiseError
from bladewise.lettering import families
from bladewise.session import Session
from bladewise.window.at_once import is_done_at_once
from bladewise.window.checking import LiveCheck
from bladewise.window.language import say, say_all
from bladewise.window.messages import Message, Tone
from bladewise.window.worker import Progress, Worker

if TYPE_CHECKING:
    from collections.abc import Callable, Collection
    from pathlib import Path

    from bladewise.checks.reach import Reach
    from bladewise.findings import Finding
    from bladewise.history import History
    from bladewise.operations import Outcome, Step
    from bladewise.window.job_strip.figures import Figurer
    from bladewise.window.materials.stock import Stock
    from bladewise.window.preferences import Preferences

__all__ = ["Desk", "Message", "Tone"]

MOST_ASKED = 20
"""A finding about more shapes than this is told by the materials of so many of them."""


class Desk(QObject):
    """The shared state of one window."""

    opened = Signal()
    job_changed = Signal(object)
    stack_changed = Signal()
    state_changed = Signal()
    selection_changed = Signal(object)
    checking = Signal()
    checked = Signal()
    reached = Signal()
    material_filter_changed = Signal(object)
    place_wanted = Signal(object, float, float)
    pointed_at = Signal(object, int)
    ghost_changed = Signal(object, object)
    apart_wanted = Signal()
    said = Signal(object)
    work_started = Signal(str)
    work_progressed = Signal(float)
    work_ended = Signal()

    def __init__(self, preferences: Preferences, session: Session | None = None, parent: QObject | None = None) -> None:
        """Start with an empty job, or with the one given."""
        super().__init__(parent)
        self.preferences = preferences
        self.session = session or Session.new()
        self.selection: frozenset[str] = frozenset()
        self.material_filter: str | None = None
        self.check = LiveCheck(self)
        self.check.checking.connect(self.checking)
        self.check.checked.connect(self.checked)
        self.check.reached.connect(self.reached)
        self.steps = Worker(self)
        self.ghosts = Worker(self)
        self.sketches = Worker(self)
        self.steps.started.connect(self.work_started)
        self.steps.progressed.connect(self.work_progressed)
        self.steps.rested.connect(self.work_ended)
        self.errands = Worker(self)
        self.writer = Worker(self)
        self.writer.started.connect(self.work_started)
        self.writer.rested.connect(self.work_ended)
        self.leaf_count = 0
        self.ghost_job: Job | None = None
        """What the open verb would make of the job, as it is shown."""
        self.stock: Stock | None = None
        """The vinyls on hand, once the window has found them."""
        self._selected: tuple[Job | None, frozenset[str], list[Any]] = (None, self.selection, [])
        self._families: list[str] | None = None
        self._leave: Callable[[], None] = lambda: None
        self.take(self.session)

    @property
    def job(self) -> Job:
        """The job as it stands."""
        return self.session.job

    @property
    def unit(self) -> str:
        """The unit lengths are shown in."""
        return self.preferences.unit

    # --- what the check found -------------------------------------------------------------------------------------

    @property
    def findings(self) -> list[Finding]:
        """What is known to stand between the job and a clean cut; while it is checked, what still holds of that."""
        return self.check.findings

    @property
    def is_checked(self) -> bool:
        """Whether the findings are those of this very job."""
        return self.check.is_current

    @property
    def check_failure(self) -> str:
        """Why the check could not be run; empty if it could."""
        return self.check.failure

    @property
    def figures(self) -> Figurer:
        """What each material takes."""
        return self.check.figures

    def findings_shown(self) -> list[tuple[Finding, Reach]]:
        """Return the findings with what there is to draw of them: all, or those of the material that is chosen."""
        found = list(zip(self.findings, itertools.chain(self.check.reaches, itertools.repeat(NOTHING)), strict=False))
        if self.material_filter is None:
            return found
        return [each for each in found if self.material_filter in self.materials_of(each[0])]

    def materials_of(self, finding: Finding) -> set[str]:
        """Return the ids of the materials a finding is about; none where it is about the job as a whole."""
        job = self.job
        placed = [job.placed(each) for each in finding.shapes[:MOST_ASKED]]
        return {job.material_of(each).id for each in placed if each is not None}

    # --- sessions -------------------------------------------------------------------------------------------------

    def take(self, session: Session) -> None:
        """Put another job on the desk."""
        self._leave()
        self.session = session
        self._leave = session.listen(self._session_changed)
        self.selection = frozenset()
        self.material_filter = None
        self.leaf_count = sum(1 for _ in session.job.walk())
        self.check.take(session.job, None)
        self.opened.emit()
        self.job_changed.emit(None)
        self.stack_changed.emit()
        self.selection_changed.emit(self.selection)
        self.state_changed.emit()

    def close(self) -> None:
        """Stop all work; called when the window goes."""
        self._leave()
        self._leave = lambda: None
        self.check.close()
        for worker in (self.steps, self.ghosts, self.sketches, self.errands, self.writer):
            worker.close()

    # --- steps ----------------------------------------------------------------------------------------------------

    def do(
        self,
        step: Step,
        *,
        ready: tuple[Job, Outcome] | None = None,
        done: Callable[[], None] = lambda: None,
        failed: Callable[[BladewiseError], None] | None = None,
    ) -> None:
        """Do a step. `ready` is an outcome computed before (the ghost's) and the job it was computed from."""
        told = failed or self.tell_error
        if ready is not None and ready[0] is self.job and not self.steps.is_busy:
            self._adopt(step, ready[1])
            done()
            return
        if not self.steps.is_busy and is_done_at_once(step, self.job, self.leaf_count):
            try:
                outcome = operations.apply(self.job, step)
            except BladewiseError as error:
                told(error)
                return
            self._adopt(step, outcome)
            done()
            return

        def work(progress: Progress) -> tuple[Job, Outcome]:
            job = self.session.job
            outcome = operations.apply(job, step, progress)
            changed = outcome.changes.added | outcome.changes.altered
            measure_together(placed.leaf for key in changed if (placed := outcome.job.placed(key)) is not None)
            return job, outcome

        def finish(result: tuple[Job, Outcome]) -> None:
            job, outcome = result
            if job is not self.job:
                self.do(step, done=done, failed=failed)
                return
            self._adopt(step, outcome)
            done()

        self.steps.start(work, finish, told, title=say(operations.operation(step.do).title))

    def do_plain(self, do: str, /, **values: Any) -> None:
        """Do a step given by name and plain values; a wrong value is told, not raised."""
        try:
            step = operations.step(do, values)
        except ValueError as error:
            self.tell(Message(say(str(error)), Tone.TROUBLE))
            return
        self.do(step)

    def on_selection(self) -> Any:
        """Return what is selected in the form steps hold: "all" when that is everything that can be selected.

        A step that acted on everything acts on everything again when an earlier number changes or the stack is used as
        a recipe for other art.
        """
        if not self.selection:
            return "all"
        free = {placed.leaf.id for placed in self.job.walk() if placed.visible and not placed.locked}
        meant = {placed.leaf.id for placed in self.job.walk() if self._is_selected(placed)}
        if len(free) > 1 and meant == free:
            return "all"
        order = {element.id: index for index, element in enumerate(self.job.elements())}
        return sorted(self.selection, key=lambda each: order.get(each, -1))

    def selected_leaves(self) -> list[Any]:
        """Return the leaves that are selected, back to front, as placed in the job."""
        if not self.selection:
            return []
        job, ids, leaves = self._selected
        if job is not self.job or ids is not self.selection:
            leaves = [placed for placed in self.job.walk() if self._is_selected(placed)]
            self._selected = self.job, self.selection, leaves
        return list(leaves)

    def edit_stack(self, edit: Callable[[History, Progress], History], *, title: str) -> None:
        """Change the command stack and recompute what follows, in a worker."""

        def work(progress: Progress) -> tuple[History, History]:
            history = self.session.history
            return history, edit(history, progress)

        def finish(result: tuple[History, History]) -> None:
            before, after = result
            if before is not self.session.history:
                self.edit_stack(edit, title=title)
                return
            self.session.adopt(after)
            failed = [row for row in after.rows[: after.position] if row.failure]
            if failed:
                self.tell(Message(say(failed[0].failure), Tone.TROUBLE, self.tr("The steps after it still stand.")))
            else:
                self.tell(Message(""))

        self.steps.start(work, finish, self.tell_error, title=title)

    def undo(self) -> None:
        """Take back the last step; while one is being worked on, stop that instead."""
        if self.steps.is_busy:
            self.steps.cancel()
        elif self.session.can_undo:
            self._moved_in_stack(self.session.history.position - 1, self.session.undo)

    def redo(self) -> None:
        """Do again what was taken back."""
        if not self.steps.is_busy and self.session.can_redo:
            self._moved_in_stack(self.session.history.position + 1, self.session.redo)

    def jump(self, position: int) -> None:
        """Go to any point of the stack."""
        if not self.steps.is_busy and position != self.session.history.position:
            self._moved_in_stack(position, lambda: self.session.jump(position))

    # --- selection and places -------------------------------------------------------------------------------------

    def select(self, ids: Collection[str]) -> None:
        """Select elements; those that are not there are passed over."""
        chosen = frozenset(each for each in ids if self.job.has_id(each))
        if chosen != self.selection:
            self.selection = chosen
            self.selection_changed.emit(chosen)

    def select_all(self) -> None:
        """Select all art that shows and is free."""
        ids = {placed.leaf.id for placed in self.job.walk() if placed.visible and not placed.locked}
        chosen: set[str] = set()

        def descend(children: tuple[Any, ...]) -> None:
            for child in children:
                if isinstance(child, Group) and not _all_in(child, ids):
                    descend(child.children)
                elif isinstance(child, Group) or child.id in ids:
                    chosen.add(child.id)

        for layer in self.job.layers:
            descend(layer.children)
        self.select(chosen)

    def filter_material(self, material_id: str | None) -> None:
        """Show only one material strongly, or all again."""
        if material_id != self.material_filter:
            self.material_filter = material_id
            self.material_filter_changed.emit(material_id)

    def go_to(self, finding: Finding, spot: int = 0) -> None:
        """Bring one of a finding's places into view and select what it is about."""
        self.select(finding.shapes)
        self.place_wanted.emit(finding, *finding.all_places[spot])

    def show_ghost(self, outcome: Outcome | None) -> None:
        """Show what a step would do, drawn over the art; None takes it away."""
        self.ghost_job = None if outcome is None else outcome.job
        if outcome is None:
            self.ghost_changed.emit(None, None)
        else:
            self.ghost_changed.emit(outcome.job, outcome.changes.added | outcome.changes.altered)

    def families(self, done: Callable[[list[str]], None]) -> None:
        """Hand over the font families there are; looked up once, in a worker, for there may be hundreds of files."""
        if self._families is not None:
            done(self._families)
            return

        def finish(found: list[str]) -> None:
            self._families = found
            done(found)

        self.errands.start(lambda _progress: families(), finish)

    # --- what is said ---------------------------------------------------------------------------------------------

    def tell(self, message: Message) -> None:
        """Show a message in the strip."""
        self.said.emit(message)

    def tell_error(self, error: BladewiseError) -> None:
        """Show an error in the strip."""
        self.tell(Message.of(error))

    # --- within ---------------------------------------------------------------------------------------------------

    def _is_selected(self, placed: Any) -> bool:
        chosen = self.selection
        return placed.leaf.id in chosen or placed.layer.id in chosen or any(each.id in chosen for each in placed.groups)

    def _adopt(self, step: Step, outcome: Outcome) -> None:
        if not outcome.changes:
            text = say_all(outcome.reports) or self.tr("That changes nothing, so no step was added.")
            self.tell(Message(text))
            return
        self.session.adopt_step(step, outcome)
        self.tell(Message(say_all(outcome.reports)))
        if outcome.made:
            self.select(outcome.made)

    def _moved_in_stack(self, position: int, move: Callable[[], None]) -> None:
        history = self.session.history
        position = max(0, min(position, len(history.rows)))
        if position == 0 or history.rows[position - 1].is_known:
            move()
            return

        def finish(warm: History) -> None:
            if self.session.history is history:
                self.session.fill_in(warm)
                move()

        self.steps.start(
            lambda progress: history.at(position, progress), finish, self.tell_error, title=self.tr("Going back")
        )

    def _session_changed(self, _session: Session, changes: Changes) -> None:
        if changes:
            self.leaf_count = sum(1 for _ in self.job.walk())
            self.job_changed.emit(changes)
            self.select(self.selection)
            self.check.take(self.job, changes)
        self.stack_changed.emit()
        self.state_changed.emit()

    @property
    def is_ready(self) -> bool:
        """Whether the check has been run on this very job and found nothing that may spoil the cut."""
        return self.is_checked and checks.is_ready(self.findings) and bool(self.job.layers)

    @property
    def file_name(self) -> str:
        """Where the job is kept, for the title."""
        path: Path | None = self.session.path
        return path.name if path is not None else self.job.name


def _all_in(group: Group, ids: set[str]) -> bool:
    return all(_all_in(child, ids) if isinstance(child, Group) else child.id in ids for child in group.children)
