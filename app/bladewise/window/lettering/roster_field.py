"""The field that holds a list of names: too long for a line, so it says how many there are and takes another one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QFileDialog

from bladewise.errors import BladewiseError, CannotRead
from bladewise.formats.list_file import read_list
from bladewise.operations.lists import read_table
from bladewise.window.bench.fields import Field
from bladewise.window.controls import push_button

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from bladewise.operations import Parameter
    from bladewise.window.desk import Desk


def _tr(text: str) -> str:
    return QCoreApplication.translate("RosterField", text)


class RosterField(Field):
    """A list of names as text."""

    def __init__(self, parameter: Parameter, desk: Desk) -> None:
        """Begin with none."""
        super().__init__(parameter, desk)
        self._text = ""
        self.button = push_button("", self.ask, kind="verb", icon="fill-roster")
        self.hold(self.button)
        self._describe()

    def value(self) -> str:
        """Return the list."""
        return self._text

    def set_value(self, value: Any) -> None:
        """Take a list."""
        self._text = str(value or "")
        self._describe()

    def ask(self) -> None:
        """Ask for a file."""
        text = ask_list(self.window(), self.desk)
        if text is not None:
            self.set_value(text)
            self.changed.emit()

    def _describe(self) -> None:
        count = 0
        if self._text.strip():
            try:
                count = len(read_table(self._text).rows)
            except CannotRead:
                count = -1
        if count < 0:
            text = _tr("A list that cannot be read")
        elif count == 0:
            text = _tr("Open a list…")
        else:
            text = _tr("1 row") if count == 1 else _tr("{n} rows").format(n=count)
        self.button.setText(text)
        self.button.setAccessibleName(f"{self.title}: {text}")


def ask_list(window: QWidget, desk: Desk) -> str | None:
    """Ask which file holds the list, and return its text; None if none was chosen or it cannot be read."""
    chosen, _ = QFileDialog.getOpenFileName(
        window, _tr("Open a list"), desk.preferences.folder, _tr("Lists (*.csv *.tsv *.txt);;All files (*)")
    )
    return list_in(Path(chosen), desk) if chosen else None


def list_in(path: Path, desk: Desk) -> str | None:
    """Return the text of a list, telling the reason where it cannot be read."""
    try:
        return read_list(path)
    except BladewiseError as error:
        desk.tell_error(error)
        return None
