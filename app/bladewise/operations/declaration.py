# ruff: noqa: A002 - a parameter's `help` is what it is called everywhere
"""How an operation is declared: a frozen record of parameters, and a pure function.

The record is the only place that knows the parameters. The bench in the window, the command line's
help, the reading of recipes, the command stack's rows and the reference page are all made from it.

    @dataclass(frozen=True, kw_only=True)
    class Bleed:
        on: Selection = acts_on()
        distance_mm: float = length(2.0, minimum=0.1, maximum=50.0, help="How far the print runs on")
"""

from __future__ import annotations

import dataclasses
import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from bladewise.document import Changes, Colour, Job
from bladewise.operations.places import Places
from bladewise.operations.selection import ALL, Selection
from bladewise.phrases import phrase
from bladewise.units import format_number, parse_length, parse_number

Progress = Callable[[float], None]


def quiet(_fraction: float) -> None:
    """Report progress to nobody."""


class ParameterType(StrEnum):
    """What kind of value a parameter takes."""

    SELECTION = "selection"
    LENGTH = "length"
    ANGLE = "angle"
    NUMBER = "number"
    INTEGER = "integer"
    SWITCH = "switch"
    CHOICE = "choice"
    COLOUR = "colour"
    TEXT = "text"
    COLOURS = "colours"
    LENGTHS = "lengths"
    PLACES = "places"
    ART = "art"


_UNITS = {ParameterType.LENGTH: "mm", ParameterType.LENGTHS: "mm", ParameterType.ANGLE: "deg"}


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter of an operation: everything the three faces need to know about it."""

    name: str
    type: ParameterType
    help: str
    default: Any
    minimum: float | None = None
    maximum: float | None = None
    choices: tuple[str, ...] = ()
    optional: bool = False
    only_with: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """Other parameters and the values of theirs with which this one means anything; all of them must hold."""

    def matters(self, values: Mapping[str, Any]) -> bool:
        """Whether it means anything beside the values of the others; one that is not given is no hindrance."""
        return all(name not in values or str(values[name]) in allowed for name, allowed in self.only_with)

    @property
    def unit(self) -> str:
        """The unit of its number: "mm", "deg" or nothing."""
        return _UNITS.get(self.type, "")

    @property
    def title(self) -> str:
        """Its name as words for the bench: "distance", "miter limit"."""
        return self.name.removesuffix("_mm").removesuffix("_deg").replace("_", " ")

    def parse(self, raw: Any) -> Any:
        """Return the value of what a recipe, a field in the window or a script gave.

        Raises
        ------
        ValueError
            With a sentence for the operator.
        """
        if self.type is ParameterType.PLACES:
            return Places.from_plain({} if raw is None else raw)
        if raw is None or (self.optional and raw in ("", "none")):
            if self.optional:
                return None
            msg = phrase("“{name}” needs a value.", name=self.name)
            raise ValueError(msg)
        match self.type:
            case ParameterType.SELECTION:
                return Selection.from_plain(raw)
            case ParameterType.LENGTH | ParameterType.ANGLE | ParameterType.NUMBER:
                return self._number(raw)
            case ParameterType.INTEGER:
                value = self._number(raw)
                if value != int(value):
                    msg = phrase(
                        "“{name}” takes a whole number, not {value}.", name=self.name, value=format_number(value)
                    )
                    raise ValueError(msg)
                return int(value)
            case ParameterType.SWITCH:
                if isinstance(raw, bool):
                    return raw
                msg = phrase("“{name}” takes true or false.", name=self.name)
                raise ValueError(msg)
            case ParameterType.CHOICE:
                return self._choice(raw)
            case ParameterType.COLOUR:
                return _colour(raw)
            case ParameterType.COLOURS:
                return tuple(_colour(each) for each in (raw if isinstance(raw, (list, tuple)) else str(raw).split()))
            case ParameterType.LENGTHS:
                return tuple(
                    self._number(each) for each in (raw if isinstance(raw, (list, tuple)) else str(raw).split())
                )
            case _:
                if isinstance(raw, str):
                    return raw
                msg = phrase("“{name}” takes a text.", name=self.name)
                raise ValueError(msg)

    def plain(self, value: Any) -> Any:
        """Return a value in the form that recipes and job files hold."""
        if isinstance(value, (Selection, Places)):
            return value.plain()
        if isinstance(value, Colour):
            return value.hex
        if isinstance(value, StrEnum):
            return str(value)
        if isinstance(value, tuple):
            return [self.plain(each) for each in value]
        return value

    def describe(self) -> dict[str, Any]:
        """Return the parameter as the documented entry of `bladewise steps --json`."""
        entry: dict[str, Any] = {
            "name": self.name,
            "type": str(self.type),
            "unit": self.unit,
            "default": self.plain(self.default),
            "min": self.minimum,
            "max": self.maximum,
            "help": self.help,
        }
        if self.choices:
            entry["choices"] = list(self.choices)
        if self.only_with:
            entry["only_with"] = {name: list(allowed) for name, allowed in self.only_with}
        return entry

    def _number(self, raw: Any) -> float:
        if isinstance(raw, bool) or not isinstance(raw, (int, float, str)):
            msg = phrase("“{name}” takes a number.", name=self.name)
            raise ValueError(msg)  # noqa: TRY004 - every bad value is a ValueError with a sentence
        if isinstance(raw, str):
            value = parse_length(raw) if self.unit == "mm" else parse_number(raw.strip().removesuffix("°"))
        else:
            value = float(raw)
        low, high, unit = self.minimum, self.maximum, self.unit and f" {self.unit}"
        if value != value or (low is not None and value < low) or (high is not None and value > high):
            if low is not None and high is not None:
                bounds = phrase(
                    "between {low} and {high}{unit}", low=format_number(low), high=format_number(high), unit=unit
                )
            elif low is not None:
                bounds = phrase("at least {low}{unit}", low=format_number(low), unit=unit)
            else:
                bounds = phrase("at most {high}{unit}", high=format_number(high or 0.0), unit=unit)
            msg = phrase(
                "“{name}” must be {bounds}, not {value}{unit}.",
                name=self.name,
                bounds=bounds,
                value=format_number(value),
                unit=unit,
            )
            raise ValueError(msg)
        return value

    def _choice(self, raw: Any) -> str:
        if raw in self.choices:
            return str(raw)
        near = difflib.get_close_matches(str(raw), self.choices, n=1)
        hint = phrase(" Did you mean “{near}”?", near=near[0]) if near else ""
        msg = phrase(
            "“{name}” is one of {join}; “{raw}” is not.{hint}",
            name=self.name,
            join=", ".join(self.choices),
            raw=raw,
            hint=hint,
        )
        raise ValueError(msg)


def _colour(raw: object) -> Colour:
    if isinstance(raw, Colour):
        return raw
    return Colour.from_hex(str(raw))


def acts_on(default: Selection = ALL, *, help: str = "What the step acts on") -> Any:
    """Declare a selection."""
    return _declared(ParameterType.SELECTION, default, help)


def optional_selection(*, help: str) -> Any:
    """Declare a selection that may be left out."""
    return _declared(ParameterType.SELECTION, None, help, optional=True)


def length(
    default: float | None,
    *,
    help: str,
    minimum: float | None = None,
    maximum: float | None = None,
) -> Any:
    """Declare a length in mm; one whose default is None may be left out."""
    return _declared(ParameterType.LENGTH, default, help, minimum, maximum, optional=default is None)


def angle(default: float, *, help: str, minimum: float = -36000.0, maximum: float = 36000.0) -> Any:
    """Declare an angle in degrees, clockwise on the screen."""
    return _declared(ParameterType.ANGLE, default, help, minimum, maximum)


def number(default: float | None, *, help: str, minimum: float | None = None, maximum: float | None = None) -> Any:
    """Declare a bare number; one whose default is None may be left out."""
    return _declared(ParameterType.NUMBER, default, help, minimum, maximum, optional=default is None)


def integer(default: int, *, help: str, minimum: int, maximum: int) -> Any:
    """Declare a whole number."""
    return _declared(ParameterType.INTEGER, default, help, minimum, maximum)


def switch(*, default: bool, help: str) -> Any:
    """Declare a yes or no."""
    return _declared(ParameterType.SWITCH, default, help)


def choice(default: StrEnum | None, *, help: str, kind: type[StrEnum] | None = None) -> Any:
    """Declare a choice among the members of an enum; one whose default is None may be left out."""
    members: type[StrEnum] = kind if kind is not None else type(default)  # type: ignore[assignment]
    return _declared(
        ParameterType.CHOICE,
        default,
        help,
        choices=tuple(str(each) for each in members),
        optional=default is None,
        kind=members,
    )


def colour(default: Colour | None, *, help: str) -> Any:
    """Declare a colour; one whose default is None may be left out."""
    return _declared(ParameterType.COLOUR, default, help, optional=default is None)


def colours(*, help: str) -> Any:
    """Declare a list of colours, empty by default."""
    return _declared(ParameterType.COLOURS, (), help)


def lengths(
    default: tuple[float, ...], *, help: str, minimum: float | None = None, maximum: float | None = None
) -> Any:
    """Declare a list of lengths in mm."""
    return _declared(ParameterType.LENGTHS, default, help, minimum, maximum)


def places(*, help: str) -> Any:
    """Declare numbers of nodes or of segments, shape by shape; none by default."""
    return _declared(ParameterType.PLACES, Places(), help)


def art(*, help: str) -> Any:
    """Declare copied art, as text that no one types."""
    return _declared(ParameterType.ART, "", help)


def wording(default: str | None, *, help: str) -> Any:
    """Declare a text; one whose default is None may be left out."""
    return _declared(ParameterType.TEXT, default, help, optional=default is None)


def only_with(declared: Any, **others: str | tuple[str, ...]) -> Any:
    """Declare that a parameter means something only beside certain values of others; else it has no field.

    `trap_mm: float = only_with(length(0.3, help="…"), how=How.BUTTED)`
    """
    condition = tuple((name, (allowed,) if isinstance(allowed, str) else allowed) for name, allowed in others.items())
    plain = tuple((name, tuple(str(each) for each in allowed)) for name, allowed in condition)
    metadata = dict(declared.metadata)
    metadata["parameter"] = dataclasses.replace(metadata["parameter"], only_with=plain)
    return dataclasses.field(default=declared.default, metadata=metadata)


def _declared(
    type_: ParameterType,
    default: Any,
    help_: str,
    minimum: float | None = None,
    maximum: float | None = None,
    *,
    choices: tuple[str, ...] = (),
    optional: bool = False,
    kind: type[StrEnum] | None = None,
) -> Any:
    parameter = Parameter("", type_, help_, default, minimum, maximum, choices, optional)
    return dataclasses.field(default=default, metadata={"parameter": parameter, "kind": kind})


@dataclass(frozen=True, slots=True)
class Result:
    """What an operation's function gives: the new job, and what the operator should be told."""

    job: Job
    reports: tuple[str, ...] = ()
    made: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Outcome:
    """A step as it was applied: the new job, what changed, what to tell, what to select next."""

    job: Job
    changes: Changes
    reports: tuple[str, ...] = ()
    made: tuple[str, ...] = ()


@dataclass(frozen=True)
class Operation:
    """A registered operation.

    Parameters
    ----------
    name
        Kebab-case; the word on the command line and in recipes.
    title
        The verb on the bench.
    help
        One line.
    record
        The frozen dataclass of its parameters.
    function
        (job, record, progress) -> Result; pure.
    summary
        record -> the step in words with its numbers, for the command stack.
    least
        How many leaves must be selected for it to make sense.
    by_hand
        Whether it is done with nodes in the hand, on the canvas: no verb for whole shapes.
    """

    name: str
    title: str
    help: str
    record: type[Any]
    function: Callable[[Job, Any, Progress], Result]
    summary: Callable[[Any], str]
    least: int = 1
    by_hand: bool = False

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """Its parameters in the order declared."""
        return tuple(
            dataclasses.replace(field.metadata["parameter"], name=field.name)
            for field in dataclasses.fields(self.record)
        )

    def make(self, values: Mapping[str, Any]) -> Any:
        """Return the record for plain values.

        Raises
        ------
        ValueError
            With a sentence for the operator, naming the nearest right word.
        """
        known = {parameter.name: parameter for parameter in self.parameters}
        kinds = {field.name: field.metadata["kind"] for field in dataclasses.fields(self.record)}
        parsed = {}
        for name, raw in values.items():
            if name not in known:
                near = difflib.get_close_matches(name, known, n=1, cutoff=0.5)
                hint = (
                    phrase("Did you mean “{near}”?", near=near[0])
                    if near
                    else phrase("It takes: {join}.", join=", ".join(known))
                )
                msg = phrase("“{name}” has no “{name2}”. {hint}", name=self.name, name2=name, hint=hint)
                raise ValueError(msg)
            value = known[name].parse(raw)
            parsed[name] = kinds[name](value) if kinds[name] is not None and value is not None else value
        return self.record(**parsed)

    def plain(self, record: Any) -> dict[str, Any]:
        """Return a record's values in plain form, those at their default left out."""
        return {
            parameter.name: parameter.plain(value)
            for parameter in self.parameters
            if (value := getattr(record, parameter.name)) != parameter.default
        }

    def describe(self) -> dict[str, Any]:
        """Return the operation as the documented entry of `bladewise steps --json`."""
        return {
            "name": self.name,
            "title": self.title,
            "help": self.help,
            "parameters": [parameter.describe() for parameter in self.parameters],
        }
