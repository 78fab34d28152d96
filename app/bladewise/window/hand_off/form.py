"""The settings of one destination as fields: only those that mean something to its format, each with its sentence.

The core says what is wrong; it is told where the sentence stands, beside the field.
"""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from bladewise.formats import Destination
from bladewise.formats.destinations import checked, choices_of, says_something
from bladewise.units import format_length, format_number, parse_length, parse_number
from bladewise.window.controls import Segments, label, restyle
from bladewise.window.design import APART, FINE_TYPE, NEAR, SMALL, TIGHT
from bladewise.window.hand_off.answers import why_not_called
from bladewise.window.hand_off.settings import Kind, Setting, format_words, pen_words, settings, spot_words
from bladewise.window.language import say

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from bladewise.document import Material

MOST_SEGMENTS = 4
NUMBER_WIDTH, NAME_WIDTH, LABELS = 110, 240, 152


class DestinationForm(QWidget):
    """Fields for a destination; tells whenever one changes."""

    changed = Signal()

    def __init__(self, destination: Destination, others: list[str], materials: Sequence[Material], unit: str) -> None:
        """Show a destination; `others` are the names that are taken, `materials` those of the job."""
        super().__init__()
        self._start, self._others, self._materials, self._unit = destination, others, materials, unit
        self.fields: dict[str, _Field] = {}
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(APART)
        head = QGridLayout()
        _shape(head)
        self.name = QLineEdit(destination.name)
        self.name.setAccessibleName(self.tr("Name of the destination"))
        self.name.setMinimumWidth(NAME_WIDTH)
        self.name_says = _sentence(self.tr("As you call the machine, or the shop the file goes to."))
        self.name.textChanged.connect(lambda _text: self._told())
        _add_row(head, self.tr("Name"), self.name, self.name_says)
        words = format_words()
        self.format = Segments(
            [(each, words[each][0]) for each in choices_of("format") if each in words],
            destination.format,
            self.tr("Format"),
        )
        self.format_says = _sentence("")
        self.format.chosen.connect(lambda _kind: self._fill())
        _add_row(head, self.tr("Format"), self.format, self.format_says)
        column.addLayout(head)
        self._below = QWidget()
        column.addWidget(self._below)
        column.addStretch(1)
        self._column = column
        self._fill(tell=False)

    @property
    def problems(self) -> dict[str, str]:
        """What is wrong, by the setting's name."""
        wrong = {key: each.problem for key, each in self.fields.items() if each.problem and each.counts}
        if why := why_not_called(self.name.text(), self._others):
            wrong = {"name": why, **wrong}
        return wrong

    def destination(self) -> Destination | None:
        """Return the destination as it is filled in; None while something is wrong."""
        if self.problems:
            return None
        kind = self.format.value()
        known = {each.name for each in fields(Destination)}
        kept = {key: getattr(self._start, key) for key in known if says_something(key, kind)}
        values = {**kept, **{key: each.value for key, each in self.fields.items() if each.counts}}
        values |= {"name": self.name.text().strip(), "format": kind}
        return Destination(**values)

    def _fill(self, *, tell: bool = True) -> None:
        """Show the settings that mean something to the format, with what they were set to."""
        now = {key: each.value for key, each in self.fields.items() if not each.problem}
        kind = self.format.value()
        self.format_says.setText(format_words()[kind][1])
        start = replace(self._start, **now)
        below = QWidget()
        grid = QGridLayout(below)
        grid.setContentsMargins(0, 0, 0, 0)
        _shape(grid)
        self.fields = {}
        for setting in settings():
            if says_something(setting.key, kind) and (setting.kind is not Kind.SPOTS or self._materials):
                field = _Field(setting, getattr(start, setting.key), self._materials, self._unit)
                field.changed.connect(self._told)
                self.fields[setting.key] = field
                _add_row(grid, setting.called, field, field.says)
        self._column.replaceWidget(self._below, below)
        below.show()
        self._below.hide()
        self._below.deleteLater()
        self._below = below
        self._enable()
        if tell:
            self._told()

    def _told(self) -> None:
        why = why_not_called(self.name.text(), self._others)
        _say_below(self.name_says, why or self.tr("As you call the machine, or the shop the file goes to."), wrong=why)
        restyle(self.name, "wrong", "true" if why else "false")
        self.name.setAccessibleDescription(why)
        self._enable()
        self.changed.emit()

    def _enable(self) -> None:
        for field in self.fields.values():
            other = self.fields.get(field.setting.only_with)
            field.counts = other is None or bool(other.value)
            field.setEnabled(field.counts)


class _Field(QWidget):
    """One setting: the control, and what is wrong with what it holds."""

    changed = Signal()

    def __init__(self, setting: Setting, value: Any, materials: Sequence[Material], unit: str) -> None:
        super().__init__()
        self.setting, self.value, self.problem = setting, value, ""
        self.counts = True
        self.says = _sentence(setting.says)
        self._unit = unit
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(NEAR)
        self.lines: dict[str, QLineEdit] = {}
        self.combos: dict[str, QComboBox] = {}
        self.segments: Segments | None = None
        self.box: QCheckBox | None = None
        match setting.kind:
            case Kind.SWITCH:
                self._make_switch()
            case Kind.CHOICE:
                self._make_choice()
            case Kind.PENS:
                self._make_table([*_by_name(materials), *pen_words().items()], self._pen_line)
            case Kind.SPOTS:
                self._make_table(_by_name(materials), self._spot_combo)
            case _:
                self._make_line()
        self._row.addStretch(1)

    # --- controls -------------------------------------------------------------------------------------------------

    def _make_switch(self) -> None:
        self.box = QCheckBox(self.setting.says)
        self.box.setAccessibleName(f"{self.setting.called}: {self.setting.says}")
        self.box.setChecked(bool(self.value))
        self.box.toggled.connect(self._take)
        self.says.hide()
        self._add(self.box)

    def _make_choice(self) -> None:
        choices = choices_of(self.setting.key)
        words = [(str(index), self.setting.words.get(each, str(each))) for index, each in enumerate(choices)]
        if len(choices) <= MOST_SEGMENTS:
            self.segments = Segments(words, str(choices.index(self.value)), self.setting.called)
            self.segments.chosen.connect(lambda index: self._take(choices[int(index)]))
            self._add(self.segments)
            return
        combo = QComboBox()
        combo.setAccessibleName(self.setting.called)
        for index, word in words:
            combo.addItem(word, int(index))
        combo.setCurrentIndex(choices.index(self.value))
        combo.currentIndexChanged.connect(lambda index: self._take(choices[index]))
        self.combos[self.setting.key] = combo
        self._add(combo)

    def _make_line(self) -> None:
        line = QLineEdit(self._shown(self.value))
        line.setAccessibleName(self.setting.called)
        if self.setting.kind is Kind.TEXT:
            line.setMinimumWidth(NAME_WIDTH)
        else:
            line.setFixedWidth(NUMBER_WIDTH if not self.setting.is_optional else NUMBER_WIDTH * 2)
        line.setPlaceholderText(self.setting.left_out)
        line.textChanged.connect(self._take_text)
        self.lines[self.setting.key] = line
        self._add(line)

    def _make_table(self, rows: Sequence[tuple[str, str]], make: Callable[[str], QWidget]) -> None:
        grid = QGridLayout()
        grid.setHorizontalSpacing(NEAR)
        grid.setVerticalSpacing(SMALL)
        for row, (key, word) in enumerate(rows):
            name = label(word)
            control = make(key)
            control.setAccessibleName(f"{self.setting.called}: {word}")
            name.setBuddy(control)
            grid.addWidget(name, row, 0)
            grid.addWidget(control, row, 1, Qt.AlignmentFlag.AlignLeft)
        self._row.addLayout(grid)
        self.setFocusProxy(next(iter([*self.lines.values(), *self.combos.values()]), None))  # type: ignore[arg-type]

    def _pen_line(self, name: str) -> QWidget:
        line = QLineEdit(str(dict(self.value).get(name, "")))
        line.setFixedWidth(NUMBER_WIDTH // 2)
        line.textChanged.connect(lambda _text: self._take_pens())
        self.lines[name] = line
        return line

    def _spot_combo(self, name: str) -> QWidget:
        combo = QComboBox()
        combo.addItem(self.tr("with the print"), "")
        for kind, word in spot_words().items():
            combo.addItem(word, kind)
        combo.setCurrentIndex(max(0, combo.findData(dict(self.value).get(name, ""))))
        combo.currentIndexChanged.connect(lambda _index: self._take_spots())
        self.combos[name] = combo
        return combo

    def _add(self, control: QWidget) -> None:
        self._row.addWidget(control)
        self.setFocusProxy(control)

    # --- values ---------------------------------------------------------------------------------------------------

    def _shown(self, value: Any) -> str:
        if value is None:
            return ""
        if self.setting.kind is Kind.LENGTH:
            return format_length(value, unit=self._unit, decimals=4)
        return format_number(value, 4) if isinstance(value, (int, float)) else str(value)

    def _take(self, value: Any) -> None:
        self._settle(lambda: value)

    def _take_text(self, text: str) -> None:
        if self.setting.is_optional and not text.strip():
            self.value = None
            self._tell("")
            return

        def read() -> Any:
            if self.setting.kind is Kind.LENGTH:
                return parse_length(text, default_unit=self._unit)
            if self.setting.kind is Kind.NUMBER:
                number = parse_number(text)
                return int(number) if number == int(number) else number
            return text

        self._settle(read)

    def _take_pens(self) -> None:
        def read() -> dict[str, Any]:
            pens = {name: pen for name, pen in dict(self.value).items() if name not in self.lines}
            for name, line in self.lines.items():
                if line.text().strip():
                    number = parse_number(line.text())
                    pens[name] = int(number) if number == int(number) else number
            return pens

        self._settle(read)

    def _take_spots(self) -> None:
        spots = {name: kind for name, kind in dict(self.value).items() if name not in self.combos}
        spots |= {name: combo.currentData() for name, combo in self.combos.items() if combo.currentData()}
        self._settle(lambda: spots)

    def _settle(self, read: Callable[[], Any]) -> None:
        try:
            self.value = checked(self.setting.key, read(), called=self.setting.called)
        except ValueError as error:
            self._tell(say(str(error)))
        else:
            self._tell("")

    def _tell(self, problem: str) -> None:
        self.problem = problem
        for line in self.lines.values():
            restyle(line, "wrong", "true" if problem else "false")
            line.setAccessibleDescription(problem)
        _say_below(self.says, problem or self.setting.says, wrong=problem)
        self.changed.emit()


def _by_name(materials: Sequence[Material]) -> list[tuple[str, str]]:
    return [(material.name, material.name) for material in materials]


def _shape(grid: QGridLayout) -> None:
    grid.setHorizontalSpacing(APART)
    grid.setVerticalSpacing(TIGHT)
    grid.setColumnMinimumWidth(0, LABELS)
    grid.setColumnStretch(1, 1)


def _add_row(grid: QGridLayout, called: str, control: QWidget, says: QLabel) -> None:
    row = grid.rowCount()
    words = label(called)
    words.setBuddy(control)
    words.setContentsMargins(0, SMALL, 0, 0)
    grid.addWidget(words, row, 0, Qt.AlignmentFlag.AlignTop)
    grid.addWidget(control, row, 1)
    grid.addWidget(says, row + 1, 1)
    grid.setRowMinimumHeight(row + 2, SMALL)


def _sentence(text: str) -> QLabel:
    result = label(text, "muted", scale=FINE_TYPE)
    result.setWordWrap(True)
    return result


def _say_below(says: QLabel, text: str, *, wrong: str) -> None:
    says.setText(text)
    restyle(says, "role", "trouble" if wrong else "muted")
