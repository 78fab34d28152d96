"""The field of the bridges put by hand: how many there are, and a way back to those that come by themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QCoreApplication

from bladewise.window.bench.fields import Field, row_of
from bladewise.window.controls import label, push_button

if TYPE_CHECKING:
    from bladewise.operations import Parameter
    from bladewise.window.desk import Desk


class BridgesField(Field):
    """Bridges are drawn on the canvas; the field counts them."""

    def __init__(self, parameter: Parameter, desk: Desk) -> None:
        """Begin with none by hand."""
        super().__init__(parameter, desk)
        self.caption.setText(_tr("Where bridges are"))
        self._numbers: tuple[float, ...] = ()
        self.told = label("")
        self.back = push_button(_tr("All by themselves"), self._reset, kind="link")
        self.back.setAccessibleDescription(_tr("Forget where bridges were put by hand"))
        self._column.addWidget(row_of(self.told, self.back, gap=8))
        self.setFocusProxy(self.back)
        self.setToolTip(_tr("Drag a bridge round its island on the canvas; double-click beside an island adds one."))
        self._show()

    def value(self) -> tuple[float, ...]:
        """Return both ends of each bridge, in turn."""
        return self._numbers

    def set_value(self, value: Any) -> None:
        """Show bridges."""
        self._numbers = tuple(float(each) for each in value or ())
        self._show()

    def _show(self) -> None:
        count = len(self._numbers) // 4
        if not count:
            text = _tr("by themselves: drag one on the canvas")
        else:
            text = _tr("1 by hand") if count == 1 else _tr("{count} by hand").format(count=count)
        self.told.setText(text)
        self.back.setVisible(bool(count))

    def _reset(self) -> None:
        self.set_value(())
        self.changed.emit()


def _tr(text: str) -> str:
    return QCoreApplication.translate("Bridges", text)
