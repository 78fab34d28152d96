"""The strip on top: what job this is, how large, and what to load. It answers "what do I load, and how much"."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QInputDialog,
    QLineEdit,
    QMenu,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from bladewise.document import Colour, Material, MaterialKind
from bladewise.operations.ordering import against_order, is_as_ordered
from bladewise.units import format_length
from bladewise.window import icons
from bladewise.window.bench.describing import size_text
from bladewise.window.controls import label, push_button, rule
from bladewise.window.design import HEAD_TYPE
from bladewise.window.dialogs.questions import ask_colour
from bladewise.window.job_strip.chip import MaterialChip
from bladewise.window.language import say
from bladewise.window.materials.editing import steps_for

if TYPE_CHECKING:
    from PySide6.QtGui import QFocusEvent, QKeyEvent, QWheelEvent

    from bladewise.findings import Severity
    from bladewise.window.desk import Desk

HEIGHT = 66
MOST_CHIPS = 60


class JobStrip(QFrame):
    """Job name, sheet size, and the material chips."""

    profile_wanted = Signal(object)
    """All that is said of a material is to be shown."""

    def __init__(self, desk: Desk) -> None:
        """Listen to the desk."""
        super().__init__()
        self.setObjectName("jobStrip")
        self.setAccessibleName(self.tr("Job strip"))
        self.setFixedHeight(HEIGHT)
        self._desk = desk
        self.chips: dict[str, MaterialChip] = {}
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 0, 12, 0)
        row.setSpacing(12)
        row.addLayout(self._make_title())
        row.addWidget(rule(upright=True))
        self._holder = QWidget()
        self._holder.setObjectName("scrolled")
        self._row = QHBoxLayout(self._holder)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(8)
        self._row.addStretch(1)
        self._area = _Sideways(self._holder)
        row.addWidget(self._area, 1)
        self.nothing = label(self.tr("The materials of the job stand here: what to load, and how much."), "muted")
        row.addWidget(self.nothing, 1)
        desk.opened.connect(lambda: self.name.setModified(False))
        desk.job_changed.connect(lambda _changes: self.refresh())
        desk.checked.connect(self.refresh)
        desk.preferences.unit_changed.connect(lambda _unit: self.refresh())
        desk.material_filter_changed.connect(lambda _id: self._show_filter())
        self.refresh()

    def refresh(self) -> None:
        """Show the job as it is."""
        job = self._desk.job
        if not self.name.isModified():
            self.name.show_name(job.name)
            self.name.setToolTip(self.tr("{name}: type to rename the job").format(name=job.name))
        self.sheet.setText(size_text(job.width_mm, job.height_mm, self._desk.unit))
        self._show_order()
        uses = list(job.materials_in_use())[:MOST_CHIPS]
        found = self._findings()
        titles = short_names(uses)
        for gone in self.chips.keys() - {material.id for material in uses}:
            chip = self.chips.pop(gone)
            self._row.removeWidget(chip)
            chip.hide()
            chip.deleteLater()
        for place, material in enumerate(uses):
            chip = self.chips.get(material.id) or self._make_chip(material)
            if self._row.indexOf(chip) != place:
                self._row.insertWidget(place, chip)
            figures = self._desk.figures.by_material.get(material.id)
            chip.show_material(
                material,
                figures,
                found.get(material.id, {}),
                unit=self._desk.unit,
                title=titles[material.id],
            )
        self.nothing.setVisible(not self.chips)
        self._area.setVisible(bool(self.chips))
        if self._desk.material_filter is not None and self._desk.material_filter not in self.chips:
            self._desk.filter_material(None)
        self._show_filter()

    def _show_order(self) -> None:
        """Show what was ordered, and whether the art is as large."""
        job, unit = self._desk.job, self._desk.unit
        sides = (job.ordered_width_mm, job.ordered_height_mm)
        against = against_order(job)
        told = [say(each) for each in against]
        off = [each for each in against if not is_as_ordered(each)]
        self.ordered.setVisible(any(True for _ in job.walk()))
        if sides == (None, None):
            self.ordered.setText(self.tr("ordered size…"))
        elif None in sides:
            side = next(each for each in sides if each is not None)
            self.ordered.setText(self.tr("ordered {size}").format(size=format_length(side, unit=unit, decimals=1)))
        else:
            size = size_text(sides[0] or 0.0, sides[1] or 0.0, unit)
            self.ordered.setText(self.tr("ordered {size}").format(size=size))
        icons.put(self.ordered, "mark-may-spoil" if off else "mark-good", "may_spoil" if off else "good")
        if not told:
            self.ordered.setIcon(QIcon())
        self.ordered.setToolTip("\n".join(told) or self.tr("Say how large the finished art was ordered"))
        self.ordered.setAccessibleDescription(" ".join(told))

    # --- the job itself -------------------------------------------------------------------------------------------

    def _make_title(self) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setSpacing(0)
        column.setContentsMargins(0, 0, 0, 0)
        self.name = _NameLine(self._desk)
        self.sheet = push_button("", kind="link")
        self.sheet.setAccessibleName(self.tr("Sheet size"))
        self.sheet.setToolTip(self.tr("Set the size of the sheet"))
        self.ordered = push_button("", kind="link")
        self.ordered.setAccessibleName(self.tr("Ordered size"))
        sizes = QHBoxLayout()
        sizes.setSpacing(4)
        sizes.addWidget(self.sheet)
        sizes.addWidget(self.ordered)
        sizes.addStretch(1)
        column.addStretch(1)
        column.addWidget(self.name)
        column.addLayout(sizes)
        column.addStretch(1)
        return column

    # --- chips ----------------------------------------------------------------------------------------------------

    def _make_chip(self, material: Material) -> MaterialChip:
        chip = MaterialChip(material)
        self.chips[material.id] = chip
        chip.clicked.connect(lambda on, chip=chip: self._desk.filter_material(chip.material.id if on else None))
        chip.menu_wanted.connect(lambda place, chip=chip: self.menu(chip.material).exec(place))
        chip.rename_wanted.connect(self._rename)
        return chip

    def menu(self, material: Material) -> QMenu:
        """Return what can be done with a material."""
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.addAction(self.tr("Select all of it"), lambda: self._select(material))
        menu.addSeparator()
        menu.addAction(self.tr("On the page of materials"), lambda: self.profile_wanted.emit(material))
        menu.addSeparator()
        menu.addAction(self.tr("Rename…"), lambda: self._rename(material))
        menu.addAction(self.tr("Colour…"), lambda: self._recolour(material))
        menu.addSeparator()
        for kind, text in (
            (MaterialKind.CUT, self.tr("To cut")),
            (MaterialKind.PRINT, self.tr("Print")),
            (MaterialKind.WHITE, self.tr("White ink")),
            (MaterialKind.VARNISH, self.tr("Varnish")),
            (MaterialKind.GUIDE, self.tr("Guide")),
        ):
            action = menu.addAction(text, partial(self.set_kind, material, kind))
            action.setCheckable(True)
            action.setChecked(material.kind is kind)
        return menu

    def set_kind(self, material: Material, kind: MaterialKind) -> None:
        """Say what happens to a material."""
        if kind is not material.kind:
            self._step(material, material=material.name, kind=str(kind))

    def rename(self, material: Material, name: str) -> None:
        """Give a material another name."""
        name = name.strip()
        if name and name != material.name:
            for step in steps_for(material, replace(material, name=name)):
                self._desk.do(step)

    def recolour(self, material: Material, colour: Colour) -> None:
        """Give a material another display colour."""
        if colour != material.colour:
            self._step(material, material=material.name, display=colour.hex)

    def _step(self, of: Material, /, **values: object) -> None:
        self._desk.do_plain("set-material", on={"material": of.id}, **values)

    def _rename(self, material: Material) -> None:
        name, well = QInputDialog.getText(
            self, self.tr("Rename material"), self.tr("Name of the material:"), text=material.name
        )
        if well:
            self.rename(material, name)

    def _recolour(self, material: Material) -> None:
        chosen = ask_colour(material.colour, self, self.tr("Colour of {name}").format(name=material.name))
        if chosen is not None:
            self.recolour(material, chosen)

    def _select(self, material: Material) -> None:
        job = self._desk.job
        self._desk.select(
            [
                placed.leaf.id
                for placed in job.walk()
                if placed.visible and not placed.locked and job.material_of(placed).id == material.id
            ]
        )

    def _findings(self) -> dict[str, dict[Severity, int]]:
        """Return how many findings of each severity there are about each material; one about two counts for both."""
        found: dict[str, dict[Severity, int]] = {}
        for finding in self._desk.findings:
            for material in self._desk.materials_of(finding):
                harms = found.setdefault(material, {})
                harms[finding.severity] = harms.get(finding.severity, 0) + 1
        return found

    def _show_filter(self) -> None:
        for each, chip in self.chips.items():
            chip.setChecked(each == self._desk.material_filter)


def short_names(materials: list[Material]) -> dict[str, str]:
    """Return names for chips: a vinyl that only its colour names goes without the number where its word is enough."""
    words = Counter(_word(material) for material in materials)
    return {material.id: _word(material) if words[_word(material)] == 1 else material.name for material in materials}


def _word(material: Material) -> str:
    return material.name.removesuffix(f" {material.colour.hex}") if material.id.startswith("colour-") else material.name


class _NameLine(QLineEdit):
    """The job's name, typed over in place."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self.setObjectName("jobName")
        self.setAccessibleName(self.tr("Job name"))
        self.setToolTip(self.tr("Type to rename the job"))
        font = self.font()
        font.setPointSizeF(font.pointSizeF() * HEAD_TYPE)
        self.setFont(font)
        self.setFixedWidth(232)
        self._name = ""
        self.returnPressed.connect(self._rename)
        self.editingFinished.connect(self._rename)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape brings back the name as it was."""
        if event.key() == Qt.Key.Key_Escape:
            self.setText(self._desk.job.name)
            self.setModified(False)
            self.clearFocus()
            event.accept()
        else:
            super().keyPressEvent(event)

    def show_name(self, name: str) -> None:
        """Show a name, shortened to the room there is unless somebody is typing."""
        self._name = name
        self._fit()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the whole name, to be typed over."""
        super().focusInEvent(event)
        if not self.isModified():
            self.setText(self._name)
            self.selectAll()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Shorten a long name again."""
        super().focusOutEvent(event)
        self._fit()

    def _fit(self) -> None:
        shown = self._name
        if not self.hasFocus():
            shown = self.fontMetrics().elidedText(shown, Qt.TextElideMode.ElideRight, self.width() - 16)
        self.setText(shown)
        self.setCursorPosition(0)

    def _rename(self) -> None:
        if not self.isModified():
            return
        self.setModified(False)
        name = self.text().strip()
        if not name:
            self.setText(self._desk.job.name)
        elif name != self._desk.job.name:
            self._desk.do_plain("rename", on="all", name=name)


class _Sideways(QScrollArea):
    """Chips that do not fit scroll sideways, with the wheel too; one that gets the focus comes into view."""

    def __init__(self, holder: QWidget) -> None:
        super().__init__()
        self.setWidget(holder)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.viewport().setAutoFillBackground(False)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Scroll sideways whatever way the wheel turns."""
        delta: QPoint = event.angleDelta()
        bar = self.horizontalScrollBar()
        bar.setValue(bar.value() - (delta.y() or delta.x()))
        event.accept()
