"""The bench: the verbs that fit what is selected; the open verb's numbers with a live ghost on the canvas."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from bladewise import operations
from bladewise.document import measure_together
from bladewise.errors import BladewiseError, Cancelled
from bladewise.operations import Outcome
from bladewise.operations.sketches import has_sketch, sketch
from bladewise.window.bench import fitting
from bladewise.window.bench.by_hand import ByHand
from bladewise.window.bench.describing import described
from bladewise.window.bench.fields import words
from bladewise.window.bench.form import ACTS_ON, StepForm
from bladewise.window.bench.message_strip import MessageStrip
from bladewise.window.bench.open_page import OpenPage
from bladewise.window.bench.place_strip import PlaceStrip
from bladewise.window.bench.verbs import Verbs
from bladewise.window.controls import ElidedLabel, KeyFrame, label, push_button
from bladewise.window.desk import Message, Tone
from bladewise.window.language import say, say_all
from bladewise.window.lettering.beginnings import beginning
from bladewise.window.materials.beginnings import usual as materials_usual

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtGui import QResizeEvent

    from bladewise.document import Job
    from bladewise.operations import Operation, Step
    from bladewise.operations.sketches import Sketch
    from bladewise.window.bench.hand_strips import HandStrip
    from bladewise.window.desk import Desk
    from bladewise.window.worker import Progress

GHOST_AFTER_MS = 40
"""How long the hand rests, if it types in haste, before it is computed what would come of the numbers …"""

HASTE_S = 0.3
"""Changes that follow each other faster than this are typed in haste."""

EXACT_AFTER_MS = 120
"""… or, where a sketch of it is shown at once, so long that a drag is followed by sketches alone."""

HEIGHT = 142


class Bench(QFrame):
    """What can be done, and the numbers of what is being done."""

    opened = Signal(str)
    left = Signal()

    def __init__(self, desk: Desk, makers: list[QAction], find: QAction) -> None:
        """`makers` are the window's ways to bring in art, offered when nothing is selected; `find` finds any action."""
        super().__init__()
        self.setObjectName("bench")
        self.setAccessibleName(self.tr("Bench"))
        self.setFixedHeight(HEIGHT)
        self._desk = desk
        self.operation: Operation | None = None
        self.form: StepForm | None = None
        self.instead: dict[str, Callable[[], object]] = {}
        """Verbs that are done in a way of their own, not by a form."""
        self._ready: tuple[Step, Job, Outcome] | None = None
        self.by_hand = ByHand(self, desk)
        self._wanted: Step | None = None
        self._changed_at = 0.0
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 6, 16, 6)
        column.setSpacing(6)
        head = QHBoxLayout()
        head.setSpacing(12)
        self.what = ElidedLabel("", "title")
        self.extent = label("", "muted")
        self.strip = MessageStrip(desk)
        head.addWidget(self.what)
        head.addWidget(self.extent)
        head.addSpacing(8)
        head.addWidget(self.strip, 1)
        self.find_button = push_button(self.tr("All actions"), find.trigger, kind="link", icon="search")
        keys = find.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
        self.find_button.setToolTip(f"{find.toolTip()} ({keys})")
        head.addWidget(self.find_button)
        column.addLayout(head)
        self.pages = QStackedWidget()
        column.addWidget(self.pages, 1)
        self._verbs = Verbs(desk, makers, lambda name: self.open(name))
        self.place = PlaceStrip(desk)
        self._resting = QWidget()
        resting = QHBoxLayout(self._resting)
        resting.setContentsMargins(0, 0, 0, 0)
        resting.setSpacing(16)
        resting.addWidget(self.place, 0, Qt.AlignmentFlag.AlignTop)
        resting.addWidget(self._verbs, 1)
        self.pages.addWidget(self._resting)
        self._open_page: KeyFrame | None = None
        self._strip: HandStrip | None = None
        desk.selection_changed.connect(lambda _ids: self._selection_changed())
        desk.job_changed.connect(lambda _changes: self._selection_changed())
        desk.preferences.unit_changed.connect(lambda _unit: self._unit_changed())
        self.refresh()

    # --- verbs ----------------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the verbs that fit."""
        self._describe()
        self._verbs.refresh(self._verbs_room())

    def verb(self, name: str) -> QPushButton | None:
        """Return a verb's button if it is on the bench."""
        return self._verbs.verb(name)

    def entry(self, name: str) -> QPushButton | QAction | None:
        """Return what does a verb from the bench: its button, or its place in a menu of folded ones; None for none."""
        return self._verbs.entry(name)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fold or unfold verbs, so that none is out of sight."""
        super().resizeEvent(event)
        if self.operation is None:
            QTimer.singleShot(0, self, self.refresh)

    def _verbs_room(self) -> int:
        """Return how wide the verbs may be."""
        left, _, right, _ = self.layout().getContentsMargins()  # type: ignore[misc,union-attr]
        place = self.place.sizeHint().width() + 16 if not self.place.isHidden() else 0
        return max(self.width() - left - right - place, 200)

    def show_strip(self, strip: HandStrip) -> None:
        """Show what the hand is about on the canvas instead of the verbs."""
        self.hide_strip()
        self._strip = strip
        self.pages.addWidget(strip)
        self.pages.setCurrentWidget(strip)

    def hide_strip(self) -> None:
        """Show the verbs again."""
        strip, self._strip = self._strip, None
        if strip is not None:
            self.pages.setCurrentWidget(self._open_page or self._resting)
            self.pages.removeWidget(strip)
            strip.deleteLater()
            self.refresh()

    def first_stop(self) -> QWidget | None:
        """Return where the focus goes when it comes to the bench."""
        if self._strip is not None:
            return self._strip.first_stop()
        if self.form is not None:
            return self.form.first_field() or self.apply_button
        return self._verbs.first_stop()

    # --- an open verb ---------------------------------------------------------------------------------------------

    def open(self, name: str, values: dict[str, Any] | None = None) -> None:
        """Open a verb's numbers; a verb without numbers is done at once."""
        operation = operations.operation(name)
        if reason := fitting.reason_not(operation, self._desk):
            self._desk.tell(Message(self.tr("{verb}: {reason}.").format(verb=words(operation.title), reason=reason)))
            return
        if self.operation is not None:
            self.leave()
        if values is None and name in self.instead:
            self.instead[name]()
            return
        if all(parameter.name == ACTS_ON for parameter in operation.parameters):
            self._desk.do(operations.step(name, {ACTS_ON: self._desk.on_selection()}))
            return
        self.operation = operation
        record = operation.make({**self._usual(operation), **(values or {})})
        self.form = StepForm(operation, self._desk, record)
        self.form.changed.connect(self._numbers_changed)
        self._show_form(operation, self.form)
        self._desk.tell(Message(""))
        self._describe()
        self._numbers_changed()
        self.opened.emit(name)

    def _usual(self, operation: Operation) -> dict[str, Any]:
        """Return what preferences and the lettering selected say in place of a declaration's own default."""
        usual = {**beginning(operation.name, self._desk), **materials_usual(operation.name, self._desk)}
        if any(parameter.name == "tolerance_mm" for parameter in operation.parameters):
            usual["tolerance_mm"] = self._desk.preferences.fit_tolerance_mm
        return usual

    def apply(self) -> None:
        """Do the open verb with the numbers in the fields."""
        step = self._step(loud=True)
        if step is None:
            return
        if self.by_hand.is_drawn:
            self.by_hand.redraw(step)
            return
        ready = self._ready[1:] if self._ready is not None and self._ready[0] == step else None
        self._desk.do(step, ready=ready, done=self.close_verb, failed=self._refused)

    def leave(self) -> None:
        """Close the open verb; nothing is changed."""
        if self.operation is not None:
            self._desk.tell(Message(""))
            self.close_verb()

    def close_verb(self) -> None:
        """Close the open verb, done or not, and show the verbs again."""
        if self.operation is None:
            return
        assert self.form is not None
        self.form.leave()
        self.operation = self.form = self._ready = None
        self.by_hand.forget()
        self._stop_ghosts()
        page, self._open_page = self._open_page, None
        self.pages.setCurrentWidget(self._resting)
        if page is not None:
            self.pages.removeWidget(page)
            page.deleteLater()
        self.refresh()
        self.left.emit()

    def _show_form(self, operation: Operation, form: StepForm) -> None:
        page = OpenPage(operation, form, self.apply, self.leave)
        self.apply_button, self.leave_button = page.apply_button, page.leave_button
        page.entered.connect(self._entered)
        page.escaped.connect(self.leave)
        self._open_page = page
        self.pages.addWidget(page)
        self.pages.setCurrentWidget(page)
        if (first := form.first_field()) is not None:
            first.setFocus(Qt.FocusReason.OtherFocusReason)
            proxy = first.focusProxy()
            if isinstance(proxy, QLineEdit):
                proxy.selectAll()

    def _entered(self) -> None:
        if isinstance(self.focusWidget(), QPushButton) and self.focusWidget() is self.leave_button:
            self.leave()
        else:
            self.apply()

    def _step(self, *, loud: bool) -> Step | None:
        if self.form is None:
            return None
        try:
            return self.form.step(self._desk.on_selection())
        except ValueError as error:
            self._ready = None
            if loud or str(error):
                self._desk.tell(Message(say(str(error)), Tone.TROUBLE))
            return None

    def _numbers_changed(self) -> None:
        step = self._step(loud=False)
        self.apply_button.setEnabled(step is not None)
        if step is None:
            self._stop_ghosts()
            return
        if self._ready is not None and self._ready[0] == step and self._ready[1] is self._desk.job:
            self._desk.sketches.cancel()
            self._desk.ghosts.cancel()
            self._desk.show_ghost(self._ready[2])
            return
        if step.do == "fill-roster" and not step.record.rows.strip():
            self._stop_ghosts()
            self._desk.tell(Message(self.tr("Open a list, or paste one.")))
            return
        if self.by_hand.waits(step):
            self._desk.tell(Message(self.tr("Draw it on the canvas.")))
            return
        if self.by_hand.is_unchanged(step):
            self._desk.ghosts.cancel()
            self._desk.show_ghost(None)
            return
        job, history = self._desk.job, self._desk.session.history
        drawn = self.by_hand.changed(step)

        def work(progress: Progress) -> Outcome:
            if drawn is not None:
                changed = history.changed(*drawn, progress).job
                return Outcome(changed, job.changes_to(changed))
            outcome = operations.apply(job, step, progress)
            shown = outcome.changes.added | outcome.changes.altered
            measure_together(placed.leaf for key in shown if (placed := outcome.job.placed(key)) is not None)
            return outcome

        def finish(outcome: Outcome) -> None:
            if self.form is None or job is not self._desk.job:
                return
            self._ready = (step, job, outcome) if drawn is None else None
            self._desk.show_ghost(outcome)
            self._desk.tell(Message(say_all(outcome.reports) or self.tr("Enter applies, Escape leaves.")))

        def failed(error: BladewiseError) -> None:
            if self.form is not None and not isinstance(error, Cancelled):
                self._ready = None
                self._desk.show_ghost(None)
                self._refused(error)

        self._wanted = step
        now = time.monotonic()
        rest_ms = GHOST_AFTER_MS if now - self._changed_at < HASTE_S else 0
        self._changed_at = now
        if has_sketch(step):
            rest_ms = EXACT_AFTER_MS
            self._desk.sketches.start(
                lambda progress: sketch(job, step, progress), lambda look: self._sketched(look, step, job), instead=True
            )
        self._desk.ghosts.start(work, finish, failed, instead=True, after_ms=rest_ms)

    def _sketched(self, look: Sketch | None, step: Step, job: Job) -> None:
        """Show about what would come of the numbers, until that has been computed."""
        is_late = self._ready is not None and self._ready[0] == step and self._ready[1] is job
        if (
            look is not None
            and self.form is not None
            and self._wanted is step
            and job is self._desk.job
            and not is_late
        ):
            self._desk.ghost_changed.emit(*look)

    def _stop_ghosts(self) -> None:
        self._wanted = None
        self._desk.sketches.cancel()
        self._desk.ghosts.cancel()
        self._desk.show_ghost(None)

    def _refused(self, error: BladewiseError) -> None:
        self._desk.tell(Message.of(error))

    def _selection_changed(self) -> None:
        if self.operation is None:
            self.refresh()
            return
        self._describe()
        if self.operation.least and len(self._desk.selected_leaves()) < self.operation.least:
            picking = any(
                getattr(field, "is_picking", False) for field in (self.form.fields.values() if self.form else ())
            )
            if not picking:
                self.leave()
            return
        self._numbers_changed()

    def _unit_changed(self) -> None:
        self._describe()
        if self.operation is not None and self.form is not None:
            try:
                record = self.form.step(self._desk.on_selection()).record
            except ValueError:
                return
            for name, field in self.form.fields.items():
                field.set_value(getattr(record, name))

    # --- the line above -------------------------------------------------------------------------------------------

    def _describe(self) -> None:
        what, extent = described(self._desk)
        self.what.setText(what)
        self.extent.setText(extent)
