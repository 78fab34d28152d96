"""A line for one length outside the bench: takes what `units.parse_length` takes, else refuses with the reason."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit

from bladewise.units import MM_PER_INCH, format_length, parse_length
from bladewise.window import keys
from bladewise.window.controls import restyle
from bladewise.window.language import say

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent

WIDTH = 96
_STEPS = {"more": 1.0, "less": -1.0, "more-tenth": 0.1, "less-tenth": -0.1, "more-ten": 10.0, "less-ten": -10.0}


class LengthLine(QLineEdit):
    """Holds what was typed; says why if that is no length or out of range."""

    refused = Signal(str)
    """Why what is typed is no good; empty when it is good again."""

    settled = Signal(float)
    """A good length, in mm, once it is typed to the end: Enter, Tab, or a step with the arrow keys."""

    def __init__(
        self, value_mm: float, name: str, *, unit: str = "mm", least_mm: float = 0.0, most_mm: float = 1e6
    ) -> None:
        """Show a length; `name` is what it is called for those who cannot see what stands beside it."""
        super().__init__()
        self.unit = unit
        self.least_mm = least_mm
        self.most_mm = most_mm
        self.problem = ""
        self.setAccessibleName(name)
        self.setFixedWidth(WIDTH)
        self.set_mm(value_mm)
        self.textChanged.connect(lambda _text: self._look())
        self.editingFinished.connect(self._settle)

    def mm(self) -> float:
        """Return the length in mm.

        Raises
        ------
        ValueError
            With a sentence for the operator.
        """
        value = parse_length(self.text(), default_unit=self.unit)
        if not self.least_mm <= value <= self.most_mm:
            least, most = (self._shown(each) for each in (self.least_mm, self.most_mm))
            if value < self.least_mm == 0.0:
                raise ValueError(self.tr("This must not be less than nothing."))
            raise ValueError(self.tr("This must lie between {least} and {most}.").format(least=least, most=most))
        return value

    def set_mm(self, value_mm: float) -> None:
        """Show a length."""
        self.setText(self._shown(value_mm))
        self.setCursorPosition(0)

    def set_unit(self, unit: str) -> None:
        """Show the length in another unit; what is no length stays as it was typed."""
        try:
            value = self.mm()
        except ValueError:
            self.unit = unit
            return
        self.unit = unit
        self.set_mm(value)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Up and down step the number."""
        steps = _STEPS.get(keys.meant(keys.number_keys(), event))
        if steps is None or self.problem:
            super().keyPressEvent(event)
            return
        size = MM_PER_INCH / 16.0 if self.unit == "in" else 1.0
        self.set_mm(min(max(self.mm() + steps * size, self.least_mm), self.most_mm))
        self._settle()
        event.accept()

    def _shown(self, value_mm: float) -> str:
        return format_length(value_mm, unit=self.unit, decimals=4 if self.unit == "in" else 3)

    def _settle(self) -> None:
        if not self.problem:
            self.settled.emit(self.mm())

    def _look(self) -> None:
        try:
            self.mm()
        except ValueError as error:
            problem = say(str(error))
        else:
            problem = ""
        restyle(self, "wrong", "true" if problem else "false")
        self.setToolTip(problem)
        self.setAccessibleDescription(problem)
        if problem != self.problem:
            self.problem = problem
            self.refused.emit(problem)
