"""The rows of the command stack for Qt: row 0 is the art as it came, row n the n-th step."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

from PySide6.QtCore import QAbstractListModel, QModelIndex, QObject, QPersistentModelIndex, QSize, Qt, Signal

from bladewise import operations
from bladewise.operations import ParameterType, Selection
from bladewise.window.language import say, say_all

if TYPE_CHECKING:
    from bladewise.history import History
    from bladewise.operations import Step

ROW = int(Qt.ItemDataRole.UserRole) + 1
MOST_REPORTS = 2
_PLAIN_NUMBER = re.compile(r"[-+.\d\s]*")

Index: TypeAlias = QModelIndex | QPersistentModelIndex


@dataclass(frozen=True, slots=True)
class StackRow:
    """What a row shows. `number` is 0 for the art as it came."""

    number: int
    text: str
    enabled: bool = True
    failure: str = ""
    reports: str = ""
    is_done: bool = True
    is_here: bool = False
    names: tuple[str, ...] = ()
    """Names and texts among the words that hold digits: those are no numbers of the step."""


def _names(step: Step) -> tuple[str, ...]:
    """Return what a step calls by name, as far as it has digits in it and is more than a number."""
    found: list[str] = []
    for parameter in operations.operation(step.do).parameters:
        value = getattr(step.record, parameter.name)
        if isinstance(value, Selection):
            found += (*value.id, *value.name, *value.layer, *value.material)
        elif isinstance(value, str) and parameter.type is ParameterType.TEXT:
            found.append(value)
    return tuple(each for each in found if any(map(str.isdigit, each)) and not _PLAIN_NUMBER.fullmatch(each))


def _shortened(reports: tuple[str, ...]) -> str:
    """Return the first reports of a step; the strip below told all of them when it was done."""
    rest = len(reports) - MOST_REPORTS
    return say_all(reports[:MOST_REPORTS]) + (f" (+{rest})" if rest > 0 else "")


class StackModel(QAbstractListModel):
    """The stack as rows; only rows that differ are told to the view."""

    switch_wanted = Signal(int, bool)

    def __init__(self, parent: QObject | None = None) -> None:
        """Start empty."""
        super().__init__(parent)
        self.rows: list[StackRow] = []
        self._tall: tuple[int, int] = (-1, 0)

    def set_history(self, history: History) -> None:
        """Show a stack."""
        rows = [StackRow(0, self.tr("Art as it came"), is_here=history.position == 0)]
        rows += [
            StackRow(
                number,
                say(operations.summary(row.entry.step)),
                row.entry.enabled,
                say(row.failure),
                _shortened(row.reports),
                number <= history.position,
                number == history.position,
                _names(row.entry.step),
            )
            for number, row in enumerate(history.rows, start=1)
        ]
        old, shared = self.rows, min(len(self.rows), len(rows))
        if len(rows) < len(old):
            self.beginRemoveRows(QModelIndex(), len(rows), len(old) - 1)
            self.rows = old[: len(rows)]
            self.endRemoveRows()
        elif len(rows) > len(old):
            self.beginInsertRows(QModelIndex(), len(old), len(rows) - 1)
            self.rows = old + rows[len(old) :]
            self.endInsertRows()
        for index in range(shared):
            if old[index] != rows[index]:
                self.rows[index] = rows[index]
                place = self.index(index)
                self.dataChanged.emit(place, place)

    def set_tall(self, row: int, height: int) -> None:
        """Give a row the height its open numbers need; row -1: none is open."""
        before, self._tall = self._tall[0], (row, height)
        for each in {before, row}:
            if 0 <= each < len(self.rows):
                self.dataChanged.emit(self.index(each), self.index(each), [Qt.ItemDataRole.SizeHintRole])
        self.layoutChanged.emit()

    @property
    def open_row(self) -> int:
        """The row whose numbers are open, or -1."""
        return self._tall[0]

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Return how many rows there are."""
        return 0 if parent.isValid() else len(self.rows)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return what a row shows and says."""
        if not 0 <= index.row() < len(self.rows):
            return None
        row = self.rows[index.row()]
        if role == ROW:
            return row
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return row.text if role == Qt.ItemDataRole.DisplayRole else self._spoken(row)
        if role == Qt.ItemDataRole.CheckStateRole and row.number:
            return Qt.CheckState.Checked if row.enabled else Qt.CheckState.Unchecked
        if role == Qt.ItemDataRole.ToolTipRole:
            return "\n".join(part for part in (row.text, row.failure, row.reports) if part)
        if role == Qt.ItemDataRole.SizeHintRole and index.row() == self._tall[0]:
            return QSize(40, self._tall[1])
        return None

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Ask for a step to be switched; the stack itself is changed by the desk."""
        if role == Qt.ItemDataRole.CheckStateRole:
            self.switch_wanted.emit(index.row(), Qt.CheckState(value) is Qt.CheckState.Checked)
        return False

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Say what can be done with a row."""
        flag = Qt.ItemFlag
        result = flag.ItemIsEnabled | flag.ItemIsSelectable | flag.ItemNeverHasChildren
        return result | flag.ItemIsUserCheckable if index.row() > 0 else result

    def _spoken(self, row: StackRow) -> str:
        parts = [self.tr("Step {n}").format(n=row.number) if row.number else self.tr("Start"), row.text]
        if row.is_here:
            parts.append(self.tr("you are here"))
        if not row.enabled:
            parts.append(self.tr("switched off"))
        if not row.is_done:
            parts.append(self.tr("taken back"))
        if row.failure:
            parts.append(self.tr("could not be done: {why}").format(why=row.failure))
        elif row.reports:
            parts.append(row.reports)
        return ", ".join(parts)
