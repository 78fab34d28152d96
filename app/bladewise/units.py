"""Lengths and angles as people write them, and as the program keeps them: millimetres and degrees.

Units are those of CSS Values and Units 4: 1in = 2.54cm = 25.4mm = 96px = 72pt = 6pc, 1cm = 40Q.
"""

from __future__ import annotations

import ast
import math
import operator
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

MM_PER_INCH = 25.4
MM_PER_PX = MM_PER_INCH / 96.0

MM_PER_UNIT = {
    "mm": 1.0,
    "cm": 10.0,
    "in": MM_PER_INCH,
    "px": MM_PER_PX,
    "pt": MM_PER_INCH / 72.0,
    "pc": MM_PER_INCH / 6.0,
    "q": 0.25,
    "m": 1000.0,
    "inch": MM_PER_INCH,
    '"': MM_PER_INCH,
}

_UNIT = re.compile(r"(?<=[\d.)\s])\s*(mm|cm|inch|in|px|pt|pc|q|m|\")\s*$", re.IGNORECASE)
_OPERATORS: dict[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
}


def parse_length(text: str, *, default_unit: str = "mm") -> float:
    """Return a length in mm from what a person typed.

    Accepts a plain number, a decimal comma, a unit ("12.5 mm", '3/8"', "2in"), sums ("=210/3"), and
    whole-and-fraction inches ("1 3/8in").

    Raises
    ------
    ValueError
        With a sentence for the operator, if the text is no length.

    Examples
    --------
    >>> parse_length("3/8in")
    9.525
    >>> parse_length("=210/3")
    70.0
    >>> parse_length("1 1/2 in")
    38.1
    """
    body = text.strip().removeprefix("=").strip()
    unit = default_unit
    if match := _UNIT.search(body):
        unit = match.group(1).lower()
        body = body[: match.start()]
    return parse_number(body) * MM_PER_UNIT[unit]


def parse_number(text: str) -> float:
    """Return a number from digits, a fraction or a sum; a decimal comma is a point.

    Raises
    ------
    ValueError
        With a sentence for the operator.
    """
    body = text.strip().removeprefix("=").strip()
    if re.fullmatch(r"[-+]?\d+,\d+", body):
        body = body.replace(",", ".")
    if whole := re.fullmatch(r"([-+]?\d+)\s+(\d+\s*/\s*\d+)", body):
        sign = "-" if whole.group(1).startswith("-") else "+"
        body = f"{whole.group(1)} {sign} {whole.group(2)}"
    try:
        value = _value(ast.parse(body, mode="eval").body)
    except (SyntaxError, TypeError, ZeroDivisionError, RecursionError, OverflowError) as error:
        msg = f"“{text}” is not a number."
        raise ValueError(msg) from error
    if not math.isfinite(value):
        msg = f"“{text}” is too large."
        raise ValueError(msg)
    return value


def _value(node: ast.expr) -> float:
    match node:
        case ast.Constant(value=int() | float() as number) if not isinstance(number, bool):
            return float(number)
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_value(operand)
        case ast.UnaryOp(op=ast.UAdd(), operand=operand):
            return _value(operand)
        case ast.BinOp(left=left, op=op, right=right) if type(op) in _OPERATORS:
            return _OPERATORS[type(op)](_value(left), _value(right))
    raise TypeError


def format_number(value: float, decimals: int = 3) -> str:
    """Return a number without trailing zeros: 3, 0.25, 12.5."""
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def format_length(mm: float, *, unit: str = "mm", decimals: int | None = None) -> str:
    """Return a length with its unit, for reading: "12.5 mm", "0.375 in"."""
    places = decimals if decimals is not None else (3 if unit == "in" else 2)
    return f"{format_number(mm / MM_PER_UNIT[unit], places)} {unit}"


def counted(number: int, one: str, many: str) -> str:
    """Return a count with its noun: "1 hole", "3 holes"."""
    return f"{number} {one if number == 1 else many}"
