"""Fields for the numbers of a step, each made from the parameter's declaration and from nothing else.

A field holds what was typed and says whether it is right; it never changes what was typed behind the operator's back.
The same fields serve the bench and the command stack.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QCoreApplication, QStringListModel, Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QCompleter,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)
from shiboken6 import isValid

from bladewise.operations import Parameter, ParameterType
from bladewise.units import MM_PER_UNIT, format_length, format_number, parse_length
from bladewise.window import icons, keys
from bladewise.window.controls import Segments, label, restyle
from bladewise.window.language import say

if TYPE_CHECKING:
    from PySide6.QtGui import QKeyEvent, QWheelEvent

    from bladewise.window.desk import Desk

MOST_SEGMENTS = 4
_SIZES = {"more": 1.0, "less": -1.0, "more-tenth": 0.1, "less-tenth": -0.1, "more-ten": 10.0, "less-ten": -10.0}
_SEGMENT_LETTERS = 34


class Field(QWidget):
    """A parameter's control with its name above it."""

    changed = Signal()

    def __init__(self, parameter: Parameter, desk: Desk) -> None:
        """Lay out name and control."""
        super().__init__()
        self.parameter = parameter
        self.desk = desk
        self.problem = ""
        named = words(parameter.title, f"{parameter.title} ({parameter.unit or next(iter(parameter.choices), '')})")
        self.title = named.replace("mm2", "(mm²)")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        self.caption = label(self.title, "muted", scale=0.9)
        column.addWidget(self.caption)
        self._column = column
        self.setToolTip(words(parameter.help))

    def hold(self, control: QWidget) -> None:
        """Put the control in place and name it for those who cannot see the caption."""
        self._column.addWidget(control)
        self.caption.setBuddy(control)
        control.setAccessibleName(self.title)
        control.setAccessibleDescription(words(self.parameter.help))
        self.setFocusProxy(control)

    def value(self) -> Any:
        """Return the value, parsed.

        Raises
        ------
        ValueError
            With a sentence for the operator.
        """
        raise NotImplementedError

    def set_value(self, value: Any) -> None:
        """Show a value."""
        raise NotImplementedError

    def read(self) -> Any:
        """Return the value, or raise with the reason in the operator's words, marking the field."""
        try:
            value = self.value()
        except ValueError as error:
            self.problem = _about(say(str(error)), self.parameter.name, self.title)
            self.mark(wrong=True)
            raise ValueError(self.problem) from error
        self.problem = ""
        self.mark(wrong=False)
        return value

    def mark(self, *, wrong: bool) -> None:
        """Show that what was typed is refused, or is right again."""


class TypedField(Field):
    """A field that is typed into: lengths with units, angles, numbers, texts."""

    def __init__(self, parameter: Parameter, desk: Desk) -> None:
        """Make the line."""
        super().__init__(parameter, desk)
        self.line = _Line(self)
        self.hold(self.line)
        wide = parameter.type in (ParameterType.TEXT, ParameterType.LENGTHS, ParameterType.PLACES)
        self.line.setFixedWidth(190 if wide else 88)
        if parameter.optional:
            self.line.setPlaceholderText(when_empty(parameter))
        self.line.textEdited.connect(lambda _text: self.changed.emit())
        if parameter.name.endswith("family"):
            self._offer_families()

    def value(self) -> Any:
        """Return what was typed, parsed and held to its range."""
        text = self.line.text().strip() if self.parameter.type is not ParameterType.TEXT else self.line.text()
        if self.parameter.type is ParameterType.LENGTH and text:
            return self.parameter.parse(parse_length(text, default_unit=self.desk.unit))
        if self.parameter.type is ParameterType.LENGTHS:
            parts = text.replace(";", " ").replace(",", " ").split()
            return self.parameter.parse([parse_length(part, default_unit=self.desk.unit) for part in parts])
        if self.parameter.type is ParameterType.TEXT:
            return self.parameter.parse(text.replace("\\n", "\n") if text or not self.parameter.optional else None)
        return self.parameter.parse(text or None)

    def set_value(self, value: Any) -> None:
        """Show a value in the operator's unit."""
        self.line.setText(self._shown(value))
        self.line.setCursorPosition(0)

    def mark(self, *, wrong: bool) -> None:
        """Mark the line, and say why where the pointer or a reader of the screen asks."""
        restyle(self.line, "wrong", "true" if wrong else "false")
        told = self.problem if wrong else words(self.parameter.help)
        self.line.setToolTip(told)
        self.line.setAccessibleDescription(told)

    def step_by(self, steps: float) -> None:
        """Add to the number, as the arrow keys and the wheel do."""
        if self.parameter.type in (ParameterType.TEXT, ParameterType.LENGTHS, ParameterType.PLACES):
            return
        try:
            number = self.value()
        except ValueError:
            return
        number = float(number) if number is not None else float(self.parameter.minimum or 0.0)
        kind = self.parameter.type
        size = MM_PER_UNIT["in"] / 16.0 if kind is ParameterType.LENGTH and self.desk.unit == "in" else 1.0
        if kind is ParameterType.ANGLE:
            size = 5.0
        elif kind is ParameterType.NUMBER and (self.parameter.maximum or 2.0) <= 1.0:
            size = 0.1
        if kind is ParameterType.INTEGER:
            steps = float(round(steps)) or (1.0 if steps > 0 else -1.0)
        number += steps * size
        if self.parameter.minimum is not None:
            number = max(number, self.parameter.minimum)
        if self.parameter.maximum is not None:
            number = min(number, self.parameter.maximum)
        self.set_value(int(number) if kind is ParameterType.INTEGER else number)
        self.changed.emit()

    def _shown(self, value: Any) -> str:
        if value is None:
            return ""
        match self.parameter.type:
            case ParameterType.LENGTH:
                return format_length(value, unit=self.desk.unit, decimals=4 if self.desk.unit == "in" else 3)
            case ParameterType.LENGTHS:
                return " ".join(format_number(each / MM_PER_UNIT[self.desk.unit]) for each in value)
            case ParameterType.ANGLE:
                return f"{format_number(value)}°"
            case ParameterType.TEXT:
                return str(value).replace("\n", "\\n")
            case ParameterType.PLACES:
                return str(value.text)
            case _:
                return format_number(value)

    def _offer_families(self) -> None:
        names = QStringListModel(self)
        self.desk.families(lambda found: names.setStringList(found) if isValid(names) else None)
        completer = QCompleter(names, self.line)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        completer.setFilterMode(Qt.MatchFlag.MatchContains)
        completer.activated.connect(lambda _text: self.changed.emit())
        self.line.setCompleter(completer)
        self.line.setPlaceholderText(self.tr("first font found"))


class SwitchField(Field):
    """Yes or no."""

    def __init__(self, parameter: Parameter, desk: Desk) -> None:
        """Make the box."""
        super().__init__(parameter, desk)
        self.box = QCheckBox(self.title)
        self.caption.hide()
        self.hold(self.box)
        self.box.toggled.connect(lambda _on: self.changed.emit())

    def value(self) -> bool:
        """Return whether it is on."""
        return self.box.isChecked()

    def set_value(self, value: Any) -> None:
        """Switch it."""
        self.box.setChecked(bool(value))


class ChoiceField(Field):
    """One of a few words: all in view if they fit, else in a list."""

    def __init__(self, parameter: Parameter, desk: Desk) -> None:
        """Make the control."""
        super().__init__(parameter, desk)
        pairs = [(each, words(each, f"{parameter.title}: {each}").replace("-", " ")) for each in parameter.choices]
        short = len(pairs) <= MOST_SEGMENTS and sum(len(word) for _, word in pairs) <= _SEGMENT_LETTERS
        self.segments: Segments | None = None
        self.combo: QComboBox | None = None
        if short and not parameter.optional:
            self.segments = Segments(pairs, pairs[0][0], self.title)
            for each in parameter.choices:
                if icons.exists(picture := f"choice-{parameter.name}-{each}"):
                    _picture_on(self.segments.button(each), picture)
            self.hold(self.segments)
            self.segments.chosen.connect(lambda _value: self.changed.emit())
            return
        self.combo = QComboBox()
        if parameter.optional:
            self.combo.addItem(when_empty(parameter), None)
        for each, word in pairs:
            self.combo.addItem(word, each)
        self.hold(self.combo)
        self.combo.currentIndexChanged.connect(lambda _index: self.changed.emit())

    def value(self) -> Any:
        """Return the choice."""
        if self.segments is not None:
            return self.parameter.parse(self.segments.value())
        assert self.combo is not None
        return self.parameter.parse(self.combo.currentData())

    def set_value(self, value: Any) -> None:
        """Choose."""
        if self.segments is not None:
            self.segments.set_value(str(value))
        elif self.combo is not None:
            wanted = None if value is None else str(value)
            self.combo.setCurrentIndex(max(0, self.combo.findData(wanted)))


def _picture_on(button: QPushButton, picture: str) -> None:
    """Give a segment its picture, in the colour of its word."""

    def dress(on: bool) -> None:  # noqa: FBT001 - Qt's signature
        icons.put(button, picture, "on_accent" if on else "text")

    dress(button.isChecked())
    button.toggled.connect(dress)


class _Line(QLineEdit):
    def __init__(self, field: TypedField) -> None:
        super().__init__()
        self._field = field

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows up and down step the number: by one, by a tenth with Shift, by ten with Page keys."""
        size = _SIZES.get(keys.meant(keys.number_keys(), event))
        if size is None:
            super().keyPressEvent(event)
            return
        self._field.step_by(size)
        event.accept()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """The wheel steps the number of the field one is in."""
        if self.hasFocus() and event.angleDelta().y():
            self._field.step_by(1.0 if event.angleDelta().y() > 0 else -1.0)
            event.accept()
        else:
            event.ignore()


def when_empty(parameter: Parameter) -> str:
    """Return in a word or two what comes of a value that is left out, as the parameter's help has it."""
    _, said, rest = parameter.help.partition("left out: ")
    if rest.startswith("each part goes on"):
        return _tr("goes on from the art")
    if rest.startswith("not said"):
        return _tr("not said")
    if said and not rest.startswith(("as it is", "as it was", "what it is")):
        return _tr("by itself")
    return _tr("as it is")


def _tr(text: str) -> str:
    return QCoreApplication.translate("Fields", text)


def words(text: str, here: str = "") -> str:
    """Return a declaration's words in the operator's language, with a capital.

    `here` is the same word with what tells its meaning in this place: another language may need two words for it.
    """
    translated = QCoreApplication.translate("operations", here) if here else here
    if translated == here:
        translated = QCoreApplication.translate("operations", text)
    return translated[:1].upper() + translated[1:]


def _about(problem: str, name: str, title: str) -> str:
    """Return a problem with the parameter called as its field is, whichever the language's quotation marks."""
    for opening, closing in ("“”", "„“"):
        problem = problem.replace(f"{opening}{name}{closing}", f"{opening}{title}{closing}")
    return problem


def row_of(*widgets: QWidget, gap: int = 6) -> QWidget:
    """Return a widget that holds others in a row."""
    holder = QWidget()
    row = QHBoxLayout(holder)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(gap)
    for widget in widgets:
        row.addWidget(widget)
    return holder
