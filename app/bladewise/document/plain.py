"""Parts of a job as plain data (tables, lists, texts, numbers) and back, to the last bit.

For art that travels as text: the clipboard, and the step that pastes it. A record becomes a table that
names its kind under "is" and leaves out what is at its default; which kinds there are follows from the
types of the elements themselves, so a new field or a new paint needs no word here.

A path is written as a row of letters and numbers: M x y begins a subpath, L, Q, C go on as in SVG's
path data, K x y x y w is an arc (control point, end, weight), Z closes.
"""

from __future__ import annotations

import base64
import dataclasses
import types
import typing
from enum import StrEnum
from functools import cache
from typing import Any

from bladewise.document.elements import Element
from bladewise.document.materials import Material
from bladewise.geometry.path import Path, PathBuilder, Point

_DEEPEST = 100
"""Groups within groups beyond this are no job."""


def to_plain(value: Any) -> Any:
    """Return an element, a material or any part of one as plain data."""
    kind: Any = type(value)
    if isinstance(value, StrEnum):
        return str(value)
    if value is None or isinstance(value, (bool, int, float, str)):
        return value
    if isinstance(value, bytes):
        return base64.b64encode(value).decode("ascii")
    if isinstance(value, Path):
        return _path_text(value)
    if kind.__name__ in _kinds():
        defaults = _defaults(kind)
        names = _hints(kind)
        fields = {name: getattr(value, name) for name in names}
        kept = {name: to_plain(each) for name, each in fields.items() if name not in defaults or each != defaults[name]}
        return {"is": kind.__name__, **kept}
    if isinstance(value, tuple):
        return [to_plain(each) for each in value]
    msg = f"{kind.__name__} is no part of a job"
    raise TypeError(msg)


def from_plain(plain: Any) -> Any:
    """Return the element, the material or the part that plain data stands for.

    Raises
    ------
    ValueError
        If it stands for none.
    """
    try:
        return _record(plain, 0)
    except (KeyError, TypeError, AttributeError, IndexError) as error:
        msg = "the data does not describe a part of a job"
        raise ValueError(msg) from error


def _record(plain: dict[str, Any], depth: int) -> Any:
    if depth > _DEEPEST:
        msg = "groups are nested too deeply"
        raise ValueError(msg)
    kind = _kinds()[plain["is"]]
    hints = _hints(kind)
    values = {name: _value(each, hints[name], depth) for name, each in plain.items() if name != "is"}
    return kind(**values)


def _value(plain: Any, hint: Any, depth: int) -> Any:
    """Return what plain data stands for where a value of that type is due."""
    options = _options(hint)
    if plain is None:
        if type(None) in options:
            return None
    elif isinstance(plain, dict):
        found = _record(plain, depth + 1)
        if type(found) in options:
            return found
    else:
        for option in options:
            if (found := _simple(plain, option, depth)) is not _NO:
                return found
    msg = f"{str(plain)[:40]} is not of the kind {hint}"
    raise ValueError(msg)


_NO = object()


def _simple(plain: Any, option: Any, depth: int) -> Any:
    """Return plain data as one type, or `_NO` if it is none of it."""
    if typing.get_origin(option) is tuple and isinstance(plain, list):
        inner = typing.get_args(option)
        if len(inner) == 2 and inner[1] is Ellipsis:
            inner = (inner[0],) * len(plain)
        return tuple(_value(each, of, depth) for each, of in zip(plain, inner, strict=True))
    if option is bool or isinstance(plain, bool):
        return plain if option is bool and isinstance(plain, bool) else _NO
    if option is float and isinstance(plain, (int, float)):
        return float(plain)
    if option is int and isinstance(plain, int):
        return plain
    if isinstance(plain, str) and isinstance(option, type):
        if option is str:
            return plain
        if option is bytes:
            return base64.b64decode(plain, validate=True)
        if option is Path:
            return _path(plain)
        if issubclass(option, StrEnum):
            return option(plain)
    return _NO


@cache
def _kinds() -> dict[str, Any]:
    """Return every record that an element or a material can hold, by name."""
    found: dict[str, Any] = {}
    waiting: list[Any] = [*typing.get_args(Element), Material]
    while waiting:
        hint = waiting.pop()
        inner = [each for each in typing.get_args(hint) if each is not Ellipsis]
        if inner:
            waiting += inner
        elif isinstance(hint, type) and hint is not Path and hint.__name__ not in found and _is_record(hint):
            found[hint.__name__] = hint
            waiting += _hints(hint).values()
    return found


def _is_record(kind: type) -> bool:
    return dataclasses.is_dataclass(kind) or (issubclass(kind, tuple) and hasattr(kind, "_fields"))


@cache
def _hints(kind: Any) -> dict[str, Any]:
    names = kind._fields if hasattr(kind, "_fields") else [field.name for field in dataclasses.fields(kind)]
    hints = typing.get_type_hints(kind)
    return {name: hints[name] for name in names}


@cache
def _defaults(kind: Any) -> dict[str, Any]:
    if hasattr(kind, "_field_defaults"):
        return dict(kind._field_defaults)
    return {field.name: field.default for field in dataclasses.fields(kind) if field.default is not dataclasses.MISSING}


def _options(hint: Any) -> tuple[Any, ...]:
    if typing.get_origin(hint) in (typing.Union, types.UnionType):
        return tuple(option for each in typing.get_args(hint) for option in _options(each))
    return (hint,)


class _Writer:
    """Writes a path as text; a `Sink`."""

    def __init__(self) -> None:
        self.words: list[str] = []

    def _put(self, letter: str, *points: Point) -> None:
        self.words.append(letter)
        self.words += [repr(number) for point in points for number in point]

    def move_to(self, point: Point) -> None:
        self._put("M", point)

    def line_to(self, point: Point) -> None:
        self._put("L", point)

    def quadratic_to(self, control: Point, point: Point) -> None:
        self._put("Q", control, point)

    def cubic_to(self, control1: Point, control2: Point, point: Point) -> None:
        self._put("C", control1, control2, point)

    def arc_to(self, control: Point, point: Point, weight: float) -> None:
        self._put("K", control, point)
        self.words.append(repr(weight))

    def close(self) -> None:
        self._put("Z")


def _path_text(path: Path) -> str:
    writer = _Writer()
    path.draw(writer)
    return " ".join(writer.words)


_NUMBERS = {"M": 2, "L": 2, "Q": 4, "C": 6, "K": 5, "Z": 0}


def _path(text: str) -> Path:
    pen = PathBuilder()
    words = text.split()
    place = 0
    while place < len(words):
        letter = words[place]
        count = _NUMBERS[letter]
        n = [float(word) for word in words[place + 1 : place + 1 + count]]
        place += 1 + count
        match letter:
            case "M":
                pen.move_to((n[0], n[1]))
            case "L":
                pen.line_to((n[0], n[1]))
            case "Q":
                pen.quadratic_to((n[0], n[1]), (n[2], n[3]))
            case "C":
                pen.cubic_to((n[0], n[1]), (n[2], n[3]), (n[4], n[5]))
            case "K":
                pen.arc_to((n[0], n[1]), (n[2], n[3]), n[4])
            case _:
                pen.close()
    return pen.path()
