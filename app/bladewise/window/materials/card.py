"""All that is said of one material, as rows: what it is, its roll, what it asks of the art.

A limit that is left out is common practice for the kind it is like, and says so; one that was changed is marked, with
the usual value beside it. A row is taken over when it is left or Enter is pressed; what is wrong stays, with why.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QCoreApplication, Qt, Signal
from PySide6.QtWidgets import QCheckBox, QComboBox, QGridLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from bladewise.document import Colour, CutKind, MaterialKind
from bladewise.document.profiles import VALUES
from bladewise.operations import ParameterType, operation
from bladewise.window.bench.fields import TypedField
from bladewise.window.controls import label, restyle
from bladewise.window.dialogs.questions import ask_colour
from bladewise.window.language import say
from bladewise.window.materials import said

if TYPE_CHECKING:
    from bladewise.document import Material
    from bladewise.operations import Parameter
    from bladewise.window.desk import Desk

ROLL = ("roll_width_mm", "price_a_m2")
LIMITS = tuple(name for name in VALUES if name not in ROLL)
_BREAKS = ("perforation_cut_mm", "perforation_gap_mm")


class Card(QWidget):
    """One material, to be changed in place."""

    changed = Signal(object, object)
    """The material as it was and as it is wanted."""

    def __init__(self, desk: Desk) -> None:
        """Lay out the rows."""
        super().__init__()
        self._desk = desk
        self.material: Material | None = None
        self._filling = False
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 8, 8)
        column.setSpacing(12)
        self.grid = _grid()
        column.addLayout(self.grid)
        self.heading = label(_tr("What it asks of the art"), "title")
        column.addWidget(self.heading)
        self.told = label("", "muted", scale=0.9)
        self.told.setWordWrap(True)
        column.addWidget(self.told)
        self.limits = _grid()
        column.addLayout(self.limits)
        column.addStretch(1)
        self.notes: dict[str, QLabel] = {}
        self.refusals: dict[str, QLabel] = {}
        self.captions: dict[str, QLabel] = {}
        self.rows: dict[str, TypedField] = {}
        self._make_looks()
        for name in ROLL:
            self._make_number(self.grid, name)
        self.like = self._choice(self.grid, "like", _tr("Like"), {"": _tr("no kind chosen"), **said.likes()})
        self.pressed = QCheckBox(_tr("Pressed on from the back, so cut mirrored"))
        self.pressed.clicked.connect(lambda on: self._profile(heat_transfer=on))
        self.limits.addWidget(self.pressed, self.limits.rowCount(), 0, 1, 3)
        for name in LIMITS:
            self._make_number(self.limits, name)

    def _make_looks(self) -> None:
        self.name = QLineEdit()
        self.name.editingFinished.connect(self._named)
        self._row(self.grid, "name", _tr("Name"), self.name, wide=True)
        self.colour = QPushButton()
        self.colour.setProperty("kind", "verb")
        self.colour.clicked.connect(lambda _on=False: self._recolour())
        self._row(self.grid, "colour", _tr("Colour"), self.colour)
        self.kind = self._choice(self.grid, "kind", _tr("What happens to it"), said.kinds())
        self.cut = self._choice(self.grid, "cut", _tr("How it is cut"), said.cuts())
        for name in _BREAKS:
            self._make_number(self.grid, name)

    # --- showing --------------------------------------------------------------------------------------------------

    def show_material(self, material: Material | None) -> None:
        """Show a material; what is being typed in a row that did not change is left alone."""
        before, self.material = self.material, material
        self.setEnabled(material is not None)
        if material is None:
            return
        self._filling = True
        other = before is None or before.id != material.id
        if other or before is None or before.name != material.name:
            self.name.setText(material.name)
            self._say("name", "")
        self._show_colour(material)
        for box, value in (
            (self.kind, str(material.kind)),
            (self.cut, str(material.cut)),
            (self.like, material.profile.like or ""),
        ):
            box.setCurrentIndex(max(box.findData(value), 0))
        is_cut = material.kind is MaterialKind.CUT
        self._show_row("cut", shown=is_cut)
        for name in _BREAKS:
            self._show_row(name, shown=is_cut and material.cut is CutKind.PERFORATION)
        self.pressed.setChecked(material.profile.heat_transfer)
        for name, field in self.rows.items():
            if other or before is None or self._value(before, name) != self._value(material, name):
                field.set_value(self._value(material, name))
                field.problem = ""
                field.mark(wrong=False)
            if not field.problem:  # what is wrong stays, with why
                self._note(name, material)
        count = said.changed_count(material.profile)
        self.told.setText(
            _tr("All of it is common practice; type over what is otherwise with you.")
            if not count
            else _tr("1 value is your own, marked ●. An empty row goes back to common practice.")
            if count == 1
            else _tr("{count} values are your own, marked ●. An empty row goes back to common practice.").format(
                count=count
            )
        )
        self._filling = False

    def show_unit(self) -> None:
        """Show lengths in the operator's unit."""
        material, self.material = self.material, None
        self.show_material(material)

    def _show_colour(self, material: Material) -> None:
        from bladewise.window.materials.rows import swatch

        self.colour.setIcon(swatch(material, 16))
        self.colour.setText(material.colour.hex)
        self.colour.setAccessibleName(_tr("Colour: {hex}").format(hex=material.colour.hex))

    def _note(self, name: str, material: Material) -> None:
        """Say whether a value is common practice or the operator's own."""
        field, note = self.rows[name], self.notes[name]
        if name in ROLL:
            field.line.setPlaceholderText(_tr("not known"))
            self._say(name, "")
            return
        if name in _BREAKS:
            self._say(name, "")
            return
        usual = getattr(material.profile.common, name)
        text = said.value_text(name, usual, self._desk.unit)
        own = getattr(material.profile, name)
        field.line.setPlaceholderText(text)
        if own is None or own == usual:
            self._say(name, _tr("common practice"))
        else:
            self._say(name, _tr("● yours; usual {value}").format(value=text))
        font = note.font()
        font.setBold(own is not None and own != usual)
        note.setFont(font)

    def _say(self, name: str, text: str) -> None:
        """Say something beside a row; a refusal below it is over."""
        self.notes[name].setText(text)
        self.refusals[name].hide()

    # --- rows -----------------------------------------------------------------------------------------------------

    def _row(self, grid: QGridLayout, name: str, title: str, control: QWidget, *, wide: bool = False) -> None:
        row = grid.rowCount()
        caption = label(title, "muted", scale=0.9)
        caption.setBuddy(control)
        control.setAccessibleName(title)
        note = label("", "muted", scale=0.9)
        note.setWordWrap(True)
        refusal = label("", "trouble", scale=0.9)  # a sentence: it has the row below, as wide as both columns
        refusal.setWordWrap(True)
        refusal.hide()
        grid.addWidget(caption, row, 0)
        grid.addWidget(control, row, 1, 1, 2 if wide else 1)
        if not wide:
            grid.addWidget(note, row, 2)
        grid.addWidget(refusal, row + 1, 1, 1, 2)
        self.captions[name], self.notes[name], self.refusals[name] = caption, note, refusal

    def _choice(self, grid: QGridLayout, name: str, title: str, choices: dict[str, str]) -> QComboBox:
        box = QComboBox()
        for value, word in choices.items():
            box.addItem(word, value)
        box.activated.connect(lambda _index: self._chosen(name, str(box.currentData())))
        self._row(grid, name, title, box)
        return box

    def _make_number(self, grid: QGridLayout, name: str) -> None:
        field = TypedField(_parameter(name), self._desk)
        field.caption.hide()
        field.line.setFixedWidth(96)
        field.line.editingFinished.connect(lambda: self._typed(name))
        self.rows[name] = field
        title = said.titles()[name]
        self._row(grid, name, title, field)
        field.line.setAccessibleName(title)

    def _show_row(self, name: str, *, shown: bool) -> None:
        control: QWidget = self.rows[name] if name in self.rows else {"cut": self.cut}[name]
        for each in (control, self.captions[name], self.notes[name]):
            each.setVisible(shown)
        if not shown:
            self.refusals[name].hide()

    # --- changing -------------------------------------------------------------------------------------------------

    def _named(self) -> None:
        if self.material is None or self._filling:
            return
        name = " ".join(self.name.text().split())
        if not name:
            self.name.setText(self.material.name)
        elif name != self.material.name:
            self._want(replace(self.material, name=name))

    def refuse(self, name: str, why: str) -> None:
        """Say in place why something cannot be."""
        self.refusals[name].setText(why)
        self.refusals[name].show()
        if name == "name":
            restyle(self.name, "wrong", "true")

    def _recolour(self) -> None:
        if self.material is None:
            return
        chosen = ask_colour(self.material.colour, self, _tr("Colour of {name}").format(name=self.material.name))
        if chosen is not None:
            self.recolour(chosen)

    def recolour(self, colour: Colour) -> None:
        """Give it another colour."""
        if self.material is not None and colour != self.material.colour:
            self._want(replace(self.material, colour=colour))

    def _chosen(self, name: str, value: str) -> None:
        if self.material is None or self._filling:
            return
        if name == "kind":
            self._want(replace(self.material, kind=MaterialKind(value)))
        elif name == "cut":
            self._want(replace(self.material, cut=CutKind(value)))
        else:
            profile = replace(self.material.profile, like=value or None)
            self._want(replace(self.material, profile=replace(profile, heat_transfer=profile.common.heat_transfer)))

    def _typed(self, name: str) -> None:
        if self.material is None or self._filling:
            return
        field = self.rows[name]
        try:
            value = field.read()
        except ValueError as error:
            self.refuse(name, say(str(error)))
            return
        if value == self._value(self.material, name):
            self._note(name, self.material)
        elif name in _BREAKS:
            self._want(replace(self.material, **{name: value}))
        else:
            self._profile(**{name: value})

    def _profile(self, **values: Any) -> None:
        if self.material is not None and not self._filling:
            self._want(replace(self.material, profile=replace(self.material.profile, **values)))

    def _want(self, wanted: Material) -> None:
        restyle(self.name, "wrong", "false")
        if self.material is not None and wanted != self.material:
            self.changed.emit(self.material, wanted)

    @staticmethod
    def _value(material: Material, name: str) -> float | None:
        found: float | None = getattr(material if name in _BREAKS else material.profile, name)
        return found


def _parameter(name: str) -> Parameter:
    """Return the declaration of a value, as the steps have it."""
    of = "set-material" if name in _BREAKS else "material-profile"
    found = next(each for each in operation(of).parameters if each.name == name)
    if found.type is ParameterType.ANGLE:  # in the step a number stands for "left out"; here it is left empty
        return replace(found, optional=True, default=None, minimum=0.0)
    return replace(found, optional=name not in _BREAKS)


def _grid() -> QGridLayout:
    grid = QGridLayout()
    grid.setHorizontalSpacing(8)
    grid.setVerticalSpacing(6)
    grid.setColumnMinimumWidth(0, 124)
    grid.setColumnStretch(2, 1)
    grid.setAlignment(Qt.AlignmentFlag.AlignTop)
    return grid


def _tr(text: str) -> str:
    return QCoreApplication.translate("Materials", text)
