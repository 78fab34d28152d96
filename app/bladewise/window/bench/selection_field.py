"""The field for a second selection of a step: what cuts, the frame to fit inside, what to go above."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QComboBox

from bladewise.operations import Selection
from bladewise.window.bench.fields import Field
from bladewise.window.language import say

if TYPE_CHECKING:
    from bladewise.operations import Parameter
    from bladewise.window.desk import Desk

_NONE, _BACKMOST, _PICK, _SET = "none", "backmost", "pick", "set"


class SelectionField(Field):
    """Topmost, backmost, or pick on the canvas or in the layers.

    While picking, the next thing selected anywhere becomes the value and the selection before comes back.
    """

    def __init__(self, parameter: Parameter, desk: Desk) -> None:
        """Make the list."""
        super().__init__(parameter, desk)
        self._value: Selection | None = None
        self._before: frozenset[str] | None = None
        self.combo = QComboBox()
        self.topmost = "topmost" in parameter.help
        self.combo.addItem(self._when_left_out(), _NONE)
        if self.topmost:
            self.combo.addItem(self.tr("Backmost selected"), _BACKMOST)
        self.combo.addItem(self.tr("Pick…"), _PICK)
        self.hold(self.combo)
        self.combo.activated.connect(lambda _index: self._chosen())

    def _when_left_out(self) -> str:
        """Return what is taken when nothing is chosen, as the parameter's help has it."""
        if self.topmost:
            return self.tr("Topmost selected")
        _, _, rest = self.parameter.help.partition("left out: ")
        if rest.startswith("the backmost"):
            return self.tr("The backmost, if it holds all") if " if " in rest else self.tr("Backmost selected")
        return self.tr("Backmost selected") if rest.startswith("the rearmost") else self.tr("None")

    @property
    def is_picking(self) -> bool:
        """Whether it waits for something to be selected."""
        return self._before is not None

    def value(self) -> Any:
        """Return the selection, or None."""
        if self.is_picking:
            msg = self.tr("“{title}”: select it on the canvas or in the layers.").format(title=self.title)
            raise ValueError(msg)
        if self.combo.currentData() == _BACKMOST:
            leaves = self.desk.selected_leaves()
            return Selection.of(leaves[0].leaf.id) if leaves else None
        return self._value

    def set_value(self, value: Any) -> None:
        """Show a selection."""
        self._value = value
        index = self.combo.findData(_SET)
        if index >= 0:
            self.combo.removeItem(index)
        if value is None:
            self.combo.setCurrentIndex(0)
            return
        self.combo.insertItem(self.combo.count() - 1, say(value.describe(self.desk.job)), _SET)
        self.combo.setCurrentIndex(self.combo.findData(_SET))

    def leave(self) -> None:
        """Stop picking."""
        if self._before is not None:
            self.desk.selection_changed.disconnect(self._picked)
            self._before = None

    def _chosen(self) -> None:
        what = self.combo.currentData()
        self.leave()
        if what == _PICK:
            self._before = self.desk.selection
            self.desk.selection_changed.connect(self._picked)
        elif what in (_NONE, _BACKMOST):
            self._value = None
        self.changed.emit()

    def _picked(self, ids: frozenset[str]) -> None:
        before = self._before
        new = ids - before if before and ids - before else ids
        if before is None or not new:
            return
        self.leave()
        self.set_value(Selection.of(*sorted(new)))
        self.desk.select(before)
        self.changed.emit()
