"""Which vinyls are on hand for a step: those the job lists, or some of the stock; the step holds what was ticked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QCheckBox, QMenu, QWidgetAction

from bladewise.document import MaterialKind
from bladewise.document.stock import material_line, materials_in
from bladewise.window.bench.fields import Field
from bladewise.window.controls import push_button
from bladewise.window.materials.rows import swatch

if TYPE_CHECKING:
    from bladewise.document import Material
    from bladewise.operations import Parameter
    from bladewise.window.desk import Desk


class VinylsField(Field):
    """A button that says how many vinyls count, and a menu to tick them in."""

    def __init__(self, parameter: Parameter, desk: Desk) -> None:
        """Begin with the job's own list."""
        super().__init__(parameter, desk)
        self.caption.setText(_tr("Vinyls on hand"))
        self._chosen: dict[str, Material] = {}
        self.button = push_button("")
        self.hold(self.button)
        self.menu = QMenu(self.button)
        self.menu.setAccessibleName(_tr("Vinyls on hand"))
        self.menu.aboutToShow.connect(self._fill)
        self.button.setMenu(self.menu)
        self._show()

    def value(self) -> str:
        """Return the vinyls as words, one a line; empty for the job's list."""
        return "\n".join(material_line(each) for each in self._chosen.values())

    def set_value(self, value: Any) -> None:
        """Show vinyls that a step holds."""
        try:
            found = materials_in(str(value or ""))
        except ValueError:
            found = ()
        self._chosen = {each.name: each for each in found}
        self._show()

    def offered(self) -> list[Material]:
        """Return what can be ticked: the vinyls in stock, and those the step holds already."""
        stock = self.desk.stock
        on_hand = {each.name: each for each in (stock.materials if stock is not None else ())}
        return [
            each
            for each in {
                **on_hand,
                **{name: each for name, each in self._chosen.items() if name not in on_hand},
            }.values()
            if each.kind is MaterialKind.CUT
        ]

    def tick(self, material: Material, *, on: bool) -> None:
        """Count a vinyl in, or out."""
        if on:
            self._chosen[material.name] = material
        else:
            self._chosen.pop(material.name, None)
        self._show()
        self.changed.emit()

    def _all(self, *, on: bool) -> None:
        self._chosen = {each.name: each for each in self.offered()} if on else {}
        self._show()
        self.changed.emit()

    def _fill(self) -> None:
        self.menu.clear()
        offered = self.offered()
        listed = self.menu.addAction(_tr("Those the job lists"), lambda: self._all(on=False))
        listed.setCheckable(True)
        listed.setChecked(not self._chosen)
        whole = self.menu.addAction(_tr("All in stock"), lambda: self._all(on=True))
        whole.setEnabled(bool(offered))
        self.menu.addSeparator()
        for material in offered:
            box = QCheckBox(material.name)
            box.setIcon(swatch(material, 16))
            box.setChecked(material.name in self._chosen)
            box.toggled.connect(lambda on, material=material: self.tick(material, on=on))
            entry = QWidgetAction(self.menu)
            entry.setText(material.name)
            entry.setDefaultWidget(box)  # the menu stays open while several are ticked
            self.menu.addAction(entry)
        if not offered:
            self.menu.addAction(_tr("Nothing in stock yet: see Materials")).setEnabled(False)

    def _show(self) -> None:
        count = len(self._chosen)
        if not count:
            text = _tr("Those the job lists")
        else:
            text = _tr("1 vinyl in stock") if count == 1 else _tr("{count} vinyls in stock").format(count=count)
        self.button.setText(text)
        self.button.setAccessibleName(f"{_tr('Vinyls on hand')}: {text}")


def _tr(text: str) -> str:
    return QCoreApplication.translate("Materials", text)
