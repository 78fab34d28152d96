"""A step's numbers as fields, made from the operation's declaration: the same in the bench and in the command stack."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from bladewise.operations import Operation, ParameterType, Step
from bladewise.window.bench.colour_fields import ColourField, ColoursField
from bladewise.window.bench.fields import ChoiceField, Field, SwitchField, TypedField
from bladewise.window.bench.fitting import is_drawn_by_hand
from bladewise.window.bench.selection_field import SelectionField
from bladewise.window.controls import FlowLayout

if TYPE_CHECKING:
    from bladewise.operations import Parameter
    from bladewise.window.desk import Desk

ACTS_ON = "on"
"""The parameter that the selection on the canvas fills; it has no field."""


class StepForm(QWidget):
    """Fields for all parameters of an operation but what it acts on."""

    changed = Signal()

    def __init__(self, operation: Operation, desk: Desk, record: Any = None) -> None:
        """Show a record's numbers, or the defaults."""
        super().__init__()
        self.operation = operation
        self.fields: dict[str, Field] = {}
        self._untyped: dict[str, Any] = {}
        self._by_hand: set[str] = set()
        self._idle: frozenset[str] = frozenset()
        flow = FlowLayout(self, gap=16, row_gap=4)
        for parameter in operation.parameters:
            if parameter.name == ACTS_ON and parameter.type is ParameterType.SELECTION:
                continue
            value = getattr(record, parameter.name) if record is not None else parameter.default
            if parameter.type is ParameterType.ART:
                self._untyped[parameter.name] = value
                continue
            field = field_for(parameter, desk)
            field.set_value(value)
            field.changed.connect(self._field_changed)
            self.fields[parameter.name] = field
            flow.addWidget(field)
            if parameter.type is ParameterType.LENGTHS and is_drawn_by_hand(operation.name):
                self._by_hand.add(parameter.name)
                field.hide()
        self._fit_fields()

    def step(self, on: Any) -> Step:
        """Return the step for what is typed, acting on `on` (in plain form).

        Raises
        ------
        ValueError
            With the first reason why not, in the operator's words; every wrong field is marked.
        """
        values: dict[str, Any] = dict(self._untyped)
        problems: list[str] = []
        for name, field in self.fields.items():
            if name in self._idle:
                continue
            try:
                value = field.read()
            except ValueError as error:
                problems.append(str(error))
                continue
            if value is not None:
                values[name] = value
        if problems:
            raise ValueError(problems[0])
        if any(parameter.name == ACTS_ON for parameter in self.operation.parameters):
            values[ACTS_ON] = on
        return Step(self.operation.name, self.operation.make(values))

    def first_field(self) -> QWidget | None:
        """Return the field to start typing in."""
        return next((field for field in self.fields.values() if not field.isHidden()), None)

    def leave(self) -> None:
        """Stop whatever a field has under way."""
        for field in self.fields.values():
            if isinstance(field, SelectionField):
                field.leave()

    def _field_changed(self) -> None:
        self._fit_fields()
        self.changed.emit()

    def _fit_fields(self) -> None:
        """Show only what means something beside the other values; what does not stays at its default in the step."""
        values = {}
        for name, field in self.fields.items():
            if field.parameter.type in (ParameterType.CHOICE, ParameterType.SWITCH):
                values[name] = field.value()
        idle = frozenset(name for name, field in self.fields.items() if not field.parameter.matters(values))
        for name, field in self.fields.items():
            if name not in self._by_hand and field.isHidden() != (name in idle):
                field.setVisible(name not in idle)
        self._idle = idle


def field_for(parameter: Parameter, desk: Desk) -> Field:
    """Return the kind of field a parameter's type calls for."""
    match parameter.type:
        case ParameterType.SWITCH:
            return SwitchField(parameter, desk)
        case ParameterType.CHOICE:
            return ChoiceField(parameter, desk)
        case ParameterType.COLOUR:
            return ColourField(parameter, desk)
        case ParameterType.COLOURS:
            return ColoursField(parameter, desk)
        case ParameterType.SELECTION:
            return SelectionField(parameter, desk)
        case ParameterType.LENGTHS if parameter.name == "bridges_mm":
            from bladewise.window.materials.bridges_field import BridgesField

            return BridgesField(parameter, desk)
        case ParameterType.TEXT if parameter.name == "vinyls":
            from bladewise.window.materials.vinyls_field import VinylsField

            return VinylsField(parameter, desk)
        case ParameterType.TEXT if parameter.name == "rows":
            from bladewise.window.lettering.roster_field import RosterField

            return RosterField(parameter, desk)
        case _:
            return TypedField(parameter, desk)
