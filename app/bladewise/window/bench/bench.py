"""The bench: the verbs that fit what is selected; the open verb's numbers with a live ghost on the canvas."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from bladewise import operations
from bladewise.document import bounds_of
from bladewise.errors import BladewiseError, Cancelled
from bladewise.operations import Outcome, ParameterType
from bladewise.operations.sketches import has_sketch, sketch
from bladewise.units import format_number
from bladewise.window import icons
from bladewise.window.bench import fitting
from bladewise.window.bench.fields import words
from bladewise.window.bench.form import ACTS_ON, StepForm
from bladewise.window.bench.message_strip import MessageStrip
from bladewise.window.bench.place_strip import PlaceStrip
from bladewise.window.controls import (
    ElidedLabel,
    FlowLayout,
    IconLabel,
    KeyFrame,
    label,
    push_button,
    rule,
)
from bladewise.window.desk import Message, Tone

if TYPE_CHECKING:
    from PySide6.QtGui import QAction

    from bladewise.document import Job
    from bladewise.operations import Operation, Step
    from bladewise.operations.sketches import Sketch
    from bladewise.window.bench.hand_strips import HandStrip
    from bladewise.window.desk import Desk
    from bladewise.window.worker import Progress

GHOST_AFTER_MS = 40
"""How long the hand rests before it is computed what would come of the numbers …"""

EXACT_AFTER_MS = 120
"""… or, where a sketch of it is shown at once, so long that a drag is followed by sketches alone."""

HEIGHT = 142
_SHOWN_MM = 3e-3
"""The fields round to a thousandth of a millimetre, or to a ten-thousandth of an inch."""


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
        self._makers = makers
        self.operation: Operation | None = None
        self.form: StepForm | None = None
        self._ready: tuple[Step, Job, Outcome] | None = None
        self._last_drawn: tuple[int, Step] | None = None
        self._wanted: Step | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 8, 16, 8)
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
        self._verbs = _scrolling(FlowLayout(gap=6, row_gap=6))
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
        self._shown: object = None
        self.refresh()

    # --- verbs ----------------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the verbs that fit."""
        self._describe()
        sets = fitting.verbs(self._desk)
        nothing = not self._desk.selected_leaves()
        empty = not any(True for _ in self._desk.job.walk())
        key = (empty, nothing, tuple(tuple(each.name for each in verbs) for verbs in sets))
        if key == self._shown:
            return
        self._shown = key
        page = QWidget()
        page.setObjectName("scrolled")
        flow = FlowLayout(page, gap=6, row_gap=6)
        if nothing:
            for number, action in enumerate(self._makers):
                first = empty and number == 0
                button = push_button(
                    action.text().replace("&", "").rstrip("…"), action.trigger, kind="primary" if first else "verb"
                )
                icons.put(button, action.objectName(), "on_accent" if first else "text")
                button.setToolTip(action.toolTip())
                flow.addWidget(button)
            flow.addWidget(_gap())
        for number, verbs in enumerate(sets):
            if number:
                flow.addWidget(_gap())
            for operation in verbs:
                flow.addWidget(self._verb(operation))
        self._verbs.setWidget(page)

    def verb(self, name: str) -> QPushButton | None:
        """Return a verb's button if it is on the bench."""
        return self._verbs.findChild(QPushButton, f"verb-{name}")

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
        page = self._verbs.widget()
        return page.findChild(QPushButton) if page is not None else None

    def _verb(self, operation: Operation) -> QPushButton:
        button = push_button(words(operation.title), kind="verb")
        button.setObjectName(f"verb-{operation.name}")
        icons.put(button, operation.name)
        button.setToolTip(words(operation.help))
        button.setAccessibleName(words(operation.title))
        button.setAccessibleDescription(words(operation.help))
        button.clicked.connect(lambda _checked=False: self.open(operation.name))
        return button

    # --- an open verb ---------------------------------------------------------------------------------------------

    def open(self, name: str, values: dict[str, Any] | None = None) -> None:
        """Open a verb's numbers; a verb without numbers is done at once."""
        operation = operations.operation(name)
        if reason := fitting.reason_not(operation, self._desk):
            self._desk.tell(Message(self.tr("{verb}: {reason}.").format(verb=words(operation.title), reason=reason)))
            return
        if self.operation is not None:
            self.leave()
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
        """Return what the operator's preferences say in place of a declaration's own default."""
        if any(parameter.name == "tolerance_mm" for parameter in operation.parameters):
            return {"tolerance_mm": self._desk.preferences.fit_tolerance_mm}
        return {}

    def apply(self) -> None:
        """Do the open verb with the numbers in the fields."""
        step = self._step(loud=True)
        if step is None:
            return
        if self.is_drawn():
            self._redraw(step)
            return
        ready = self._ready[1:] if self._ready is not None and self._ready[0] == step else None
        self._desk.do(step, ready=ready, done=self._close, failed=self._refused)

    def numbers(self) -> dict[str, Any]:
        """Return what stands in the fields of the open verb, in plain form; nothing while one is wrong."""
        if self.form is None or self.operation is None:
            return {}
        try:
            record = self.form.step(self._desk.on_selection()).record
        except ValueError:
            return {}
        shown = [each for each in self.operation.parameters if each.name != ACTS_ON]
        return {each.name: each.plain(getattr(record, each.name)) for each in shown}

    def show_numbers(self, values: dict[str, Any], *, tell: bool = True) -> None:
        """Put numbers that came from the hand into the fields; `tell` shows what they would make."""
        if self.form is None or self.operation is None:
            return
        known = {each.name: each for each in self.operation.parameters}
        for name, value in values.items():
            if name in self.form.fields:
                self.form.fields[name].set_value(known[name].parse(value))
        if tell:
            self.form.changed.emit()

    def draw(self, values: dict[str, Any]) -> None:
        """Do the open verb with numbers from the hand, exactly; its fields stay for what was drawn."""
        operation = self.operation
        if operation is None or self.form is None:
            return
        self._last_drawn = None
        self.show_numbers(values, tell=False)
        try:
            record = self.form.step(self._desk.on_selection()).record
            plain = {each.name: each.plain(getattr(record, each.name)) for each in operation.parameters}
            step = operations.step(operation.name, {**plain, **values})
        except ValueError as error:
            self._desk.tell(Message(str(error), Tone.TROUBLE))
            return
        self._desk.ghosts.cancel()
        self._desk.show_ghost(None)
        self._desk.do(step, done=lambda: self._drawn(step), failed=self._refused)

    def _drawn(self, step: Step) -> None:
        if self.operation is None or self.operation.least:
            self._close()
            return
        history = self._desk.session.history
        if history.position and history.rows[history.position - 1].entry.step == step:
            self._last_drawn = (history.position - 1, step)
            self._desk.ghosts.cancel()  # of a second one, asked for before this one was known
            self._desk.show_ghost(None)
            self._desk.tell(Message(self.tr("Drawn. Draw another, change its numbers here, or Escape to end.")))

    def is_drawn(self) -> bool:
        """Whether the fields are those of what was drawn last, still the last step of the stack."""
        if self._last_drawn is None:
            return False
        history, (index, step) = self._desk.session.history, self._last_drawn
        return history.position == index + 1 and history.rows[index].entry.step == step

    def _redraw(self, step: Step) -> None:
        """Change the numbers of what was drawn last."""
        assert self._last_drawn is not None
        index, drawn = self._last_drawn
        changed = _differs(step, drawn)
        self._close()
        if changed:
            self._desk.edit_stack(
                lambda history, progress: history.changed(index, step, progress),
                title=self.tr("Changing what was drawn"),
            )

    def leave(self) -> None:
        """Close the open verb; nothing is changed."""
        if self.operation is not None:
            self._desk.tell(Message(""))
            self._close()

    def _close(self) -> None:
        if self.operation is None:
            return
        assert self.form is not None
        self.form.leave()
        self.operation = self.form = self._ready = self._last_drawn = None
        self._stop_ghosts()
        page, self._open_page = self._open_page, None
        self.pages.setCurrentWidget(self._resting)
        if page is not None:
            self.pages.removeWidget(page)
            page.deleteLater()
        self._shown = None
        self.refresh()
        self.left.emit()

    def _show_form(self, operation: Operation, form: StepForm) -> None:
        page = KeyFrame()
        row = QHBoxLayout(page)
        row.setContentsMargins(0, 2, 0, 0)
        row.setSpacing(16)
        name = QVBoxLayout()
        name.setSpacing(2)
        title = QHBoxLayout()
        title.setSpacing(8)
        title.addWidget(IconLabel(operation.name if icons.exists(operation.name) else "dot", "accent", 18))
        title.addWidget(label(words(operation.title), "title", scale=1.15))
        title.addStretch(1)
        name.addLayout(title)
        help_ = label(words(operation.help), "muted", scale=0.9)
        help_.setWordWrap(True)
        help_.setFixedWidth(210)
        name.addWidget(help_)
        name.addStretch(1)
        row.addLayout(name)
        row.addWidget(rule(upright=True))
        area = _scrolling(None)
        area.setWidget(form)
        row.addWidget(area, 1)
        buttons = QVBoxLayout()
        buttons.setSpacing(6)
        self.apply_button = push_button(self.tr("Apply"), self.apply, kind="primary")
        self.apply_button.setToolTip(self.tr("Enter"))
        self.leave_button = push_button(self.tr("Leave"), self.leave)
        self.leave_button.setToolTip(self.tr("Escape"))
        buttons.addWidget(self.apply_button)
        buttons.addWidget(self.leave_button)
        buttons.addStretch(1)
        row.addLayout(buttons)
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
                self._desk.tell(Message(str(error), Tone.TROUBLE))
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
        if self._waits_for_the_hand(step):
            self._desk.tell(Message(self.tr("Draw it on the canvas.")))
            return
        job, history = self._desk.job, self._desk.session.history
        drawn = self._last_drawn if self.is_drawn() else None
        if drawn is not None and not _differs(step, drawn[1]):
            self._stop_ghosts()
            return

        def work(progress: Progress) -> Outcome:
            if drawn is not None:
                changed = history.changed(drawn[0], step, progress).job
                return Outcome(changed, job.changes_to(changed))
            return operations.apply(job, step, progress)

        def finish(outcome: Outcome) -> None:
            if self.form is None or job is not self._desk.job:
                return
            self._ready = (step, job, outcome) if drawn is None else None
            self._desk.show_ghost(outcome)
            self._desk.tell(Message(" ".join(outcome.reports) or self.tr("Enter applies, Escape leaves.")))

        def failed(error: BladewiseError) -> None:
            if self.form is not None and not isinstance(error, Cancelled):
                self._ready = None
                self._desk.show_ghost(None)
                self._refused(error)

        self._wanted = step
        rest_ms = GHOST_AFTER_MS
        if has_sketch(step):
            rest_ms = EXACT_AFTER_MS
            self._desk.sketches.start(
                lambda _progress: sketch(job, step), lambda look: self._sketched(look, step, job), instead=True
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

    def _waits_for_the_hand(self, step: Step) -> bool:
        """Whether the places that the step needs are still to be drawn."""
        assert self.form is not None
        lists = [name for name, field in self.form.fields.items() if field.parameter.type is ParameterType.LENGTHS]
        if not lists or not {"nodes_mm", "points_mm"}.intersection(lists):
            return False
        along = getattr(step.record, "along", None)
        return along is None and not any(getattr(step.record, name) for name in lists)

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
        leaves = self._desk.selected_leaves()
        if not leaves:
            empty = not any(True for _ in self._desk.job.walk())
            self.what.setText(self.tr("Nothing on the sheet yet") if empty else self.tr("Nothing selected"))
            self.extent.setText("")
            return
        only = self._named(next(iter(self._desk.selection))) if len(self._desk.selection) == 1 else None
        if only is not None:
            text = f"“{only.name or only.id}”"
            if len(leaves) > 1:
                text += self.tr(" · {count} shapes").format(count=len(leaves))
        else:
            text = self.tr("{count} shapes selected").format(count=len(leaves))
        self.what.setText(text)
        box = bounds_of([placed.leaf for placed in leaves])
        if box is not None:
            unit = self._desk.unit
            self.extent.setText(size_text(box[2] - box[0], box[3] - box[1], unit))

    def _named(self, any_id: str) -> Any:
        return self._desk.job.element(any_id) or self._desk.job.layer(any_id)


def _differs(step: Step, drawn: Step) -> bool:
    """Whether fields hold other numbers than what was drawn; they show thousandths, the hand is more exact."""

    def numbers(value: Any) -> tuple[Any, ...]:
        return value if isinstance(value, tuple) else (value,)

    for each in operations.operation(step.do).parameters:
        new, old = numbers(getattr(step.record, each.name)), numbers(getattr(drawn.record, each.name))
        if len(new) != len(old):
            return True
        for one, other in zip(new, old, strict=True):
            if isinstance(one, float) and isinstance(other, float):
                if abs(one - other) >= _SHOWN_MM:
                    return True
            elif one != other:
                return True
    return False


def size_text(width_mm: float, height_mm: float, unit: str) -> str:
    """Return a size for reading: "120 × 80 mm"."""
    from bladewise.units import MM_PER_UNIT

    scale, places = MM_PER_UNIT[unit], 3 if unit == "in" else 1
    return f"{format_number(width_mm / scale, places)} × {format_number(height_mm / scale, places)} {unit}"


def _gap() -> QWidget:
    gap = QWidget()
    gap.setFixedSize(8, 4)
    return gap


def _scrolling(layout: FlowLayout | None) -> QScrollArea:
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.viewport().setAutoFillBackground(False)
    if layout is not None:
        holder = QWidget()
        holder.setObjectName("scrolled")
        holder.setLayout(layout)
        area.setWidget(holder)
    return area
