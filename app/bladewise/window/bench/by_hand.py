"""What the hand draws on the canvas, and the numbers of the open verb: each puts itself into the other.

The shape is done when the hand is; the fields then stand for what was drawn last. Changing them changes
that step, for as long as it is the last of the stack.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject

from bladewise import operations
from bladewise.operations import ParameterType
from bladewise.window.bench.form import ACTS_ON
from bladewise.window.desk import Message, Tone
from bladewise.window.language import say

if TYPE_CHECKING:
    from bladewise.history import History
    from bladewise.operations import Step
    from bladewise.window.bench.bench import Bench
    from bladewise.window.desk import Desk

_SHOWN_MM = 3e-3
"""The fields round to a thousandth of a millimetre, or to a ten-thousandth of an inch."""


class ByHand(QObject):
    """Keeps the fields of the open verb and the hand in step."""

    def __init__(self, bench: Bench, desk: Desk) -> None:
        """Serve a bench."""
        super().__init__(bench)
        self._bench, self._desk = bench, desk
        self._last: tuple[int, Step] | None = None

    def numbers(self) -> dict[str, Any]:
        """Return what stands in the fields of the open verb, in plain form; nothing while one is wrong."""
        form, operation = self._bench.form, self._bench.operation
        if form is None or operation is None:
            return {}
        try:
            record = form.step(self._desk.on_selection()).record
        except ValueError:
            return {}
        shown = [each for each in operation.parameters if each.name != ACTS_ON]
        return {each.name: each.plain(getattr(record, each.name)) for each in shown}

    def show_numbers(self, values: dict[str, Any], *, tell: bool = True) -> None:
        """Put numbers that came from the hand into the fields; `tell` shows what they would make."""
        form, operation = self._bench.form, self._bench.operation
        if form is None or operation is None:
            return
        known = {each.name: each for each in operation.parameters}
        for name, value in values.items():
            if name in form.fields:
                form.fields[name].set_value(known[name].parse(value))
        if tell:
            form.changed.emit()
        else:
            self._hide_ghost()

    def draw(self, values: dict[str, Any]) -> None:
        """Do the open verb with numbers from the hand, exactly; its fields stay for what was drawn."""
        form, operation = self._bench.form, self._bench.operation
        if operation is None or form is None:
            return
        self._last = None
        self.show_numbers(values, tell=False)
        try:
            record = form.step(self._desk.on_selection()).record
            plain = {each.name: each.plain(getattr(record, each.name)) for each in operation.parameters}
            step = operations.step(operation.name, {**plain, **values})
        except ValueError as error:
            self._desk.tell(Message(say(str(error)), Tone.TROUBLE))
            return
        self._hide_ghost()
        self._desk.do(step, done=lambda: self._drawn(step), failed=self._desk.tell_error)

    def _drawn(self, step: Step) -> None:
        operation = self._bench.operation
        if operation is None or operation.least:
            self._bench.close_verb()
            return
        history = self._desk.session.history
        if history.position and history.rows[history.position - 1].entry.step == step:
            self._last = (history.position - 1, step)
            self._hide_ghost()  # of a second one, asked for before this one was known
            self._desk.tell(Message(self.tr("Drawn. Draw another, change its numbers here, or Escape to end.")))

    @property
    def is_drawn(self) -> bool:
        """Whether the fields are those of what was drawn last, still the last step of the stack."""
        if self._last is None:
            return False
        history, (index, step) = self._desk.session.history, self._last
        return history.position == index + 1 and history.rows[index].entry.step == step

    def is_unchanged(self, step: Step) -> bool:
        """Whether the fields hold just what was drawn."""
        return self.is_drawn and self._last is not None and not _differs(step, self._last[1])

    def changed(self, step: Step) -> tuple[int, Step] | None:
        """Return which row of the stack the fields would change, and to what; None if they stand for a new step."""
        return (self._last[0], step) if self.is_drawn and self._last is not None else None

    def redraw(self, step: Step) -> None:
        """Change the numbers of what was drawn last, and close the verb."""
        changed, same = self.changed(step), self.is_unchanged(step)
        self._bench.close_verb()
        if changed is None or same:
            return
        index, new = changed

        def edit(history: History, progress: Any) -> History:
            return history.changed(index, new, progress)

        self._desk.edit_stack(edit, title=self.tr("Changing what was drawn"))

    def forget(self) -> None:
        """The verb was closed."""
        self._last = None

    def waits(self, step: Step) -> bool:
        """Whether the places that the step needs are still to be drawn."""
        form = self._bench.form
        assert form is not None
        lists = [name for name, field in form.fields.items() if field.parameter.type is ParameterType.LENGTHS]
        if not {"nodes_mm", "points_mm"}.intersection(lists):
            return False
        along = getattr(step.record, "along", None)
        return along is None and not any(getattr(step.record, name) for name in lists)

    def _hide_ghost(self) -> None:
        self._desk.ghosts.cancel()
        self._desk.show_ghost(None)


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
