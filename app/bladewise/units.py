"""Lengths and angles as people write them, and as the program keeps them: millimetres and degrees.

Units are those of CSS Values and Units 4: 1in = 2.54cm = 25.4mm = 96px = 72pt = 6pc, 1cm = 40Q.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import NamedTuple

from bladewise.phrases import phrase

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

_INCH = Fraction(254, 10)
_EXACT = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": _INCH,
    "px": _INCH / 96,
    "pt": _INCH / 72,
    "pc": _INCH / 6,
    "q": Fraction(1, 4),
} | dict.fromkeys(("inch", "inches", '"', "″", "”"), _INCH)
"""Every way to write a unit, in mm, exactly: what was typed is rounded once, when all is added up."""

_TOKEN = re.compile(
    r"\s*(?:(?P<number>(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?)|(?P<unit>[^\W\d_]+|[\"″”])|(?P<sign>[-+*/()]))"
)
_SIGNS = str.maketrans({"−": "-", "×": "*", "÷": "/", "·": "*"})
_FRACTIONS = str.maketrans(
    {
        "½": " 1/2",
        "¼": " 1/4",
        "¾": " 3/4",
        "⅛": " 1/8",
        "⅜": " 3/8",
        "⅝": " 5/8",
        "⅞": " 7/8",
        "⅓": " 1/3",
        "⅔": " 2/3",
    }
)
_MIXED = re.compile(r"(?<![\d.,/)])(\d+)\s+(\d+)\s*/\s*(\d+)(?![\d.,])")
_DEEPEST = 50
_LONGEST = 200
_MOST_DIGITS = 400
"""Powers of ten beyond this are no length and no number that a double holds."""


def parse_length(text: str, *, default_unit: str = "mm") -> float:
    """Return a length in mm from what a person typed.

    Accepts a plain number, a decimal comma, a unit ("12.5 mm", '3/8"', "2in"), whole-and-fraction inches
    ("1 3/8in", "1⅜in"), and sums in which each number may have a unit of its own ("=210/3",
    "=2*3mm+1/4in"). A fraction takes the unit behind it whole: 3/8in is three eighths of an inch.

    Parameters
    ----------
    text
        What was typed; an equals sign in front changes nothing.
    default_unit
        What a number without a unit is in.

    Raises
    ------
    ValueError
        With a sentence for the operator that says why, if the text is no length.

    Examples
    --------
    >>> parse_length("3/8in")
    9.525
    >>> parse_length("=210/3")
    70.0
    >>> parse_length("1 1/2 in")
    38.1
    >>> parse_length("=2*3mm+1/4in")
    12.35
    """
    unit = _EXACT[default_unit]
    value = _Sum(text, unit).value()
    return _rounded(text, value.number * (value.unit if value.unit is not None else unit))


def parse_number(text: str) -> float:
    """Return a number from digits, a fraction or a sum; a decimal comma is a point.

    Raises
    ------
    ValueError
        With a sentence for the operator that says why.
    """
    return _rounded(text, _Sum(text, None).value().number)


class _Value(NamedTuple):
    """A number, and the unit it is in, in mm; None for a bare number."""

    number: Fraction
    unit: Fraction | None = None
    is_literal: bool = False
    """Whether it was written as one number with one unit, so that a fraction may end in it."""


class _Sum:
    """A sum as it is read from left to right; nothing of it is ever run as a program."""

    def __init__(self, text: str, default_mm: Fraction | None) -> None:
        self.text = text
        self.default_mm = default_mm
        self.tokens: list[tuple[str, str]] = []
        self.place = 0
        self.depth = 0
        if len(text) > _LONGEST:
            raise self._refusal("it is too long")
        body = text.translate(_SIGNS).translate(_FRACTIONS).strip().removeprefix("=")
        self._split(_MIXED.sub(r"(\1+\2/\3)", body))

    def value(self) -> _Value:
        """Return what the whole comes to."""
        try:
            result = self._added()
        except ZeroDivisionError:
            raise self._refusal(phrase("it divides by 0")) from None
        if self.place < len(self.tokens):
            raise self._refusal(
                phrase("“{token}” does not go on from what stands before it", token=self.tokens[self.place][1])
            )
        return result

    def _split(self, body: str) -> None:
        place = 0
        while place < len(body) and body[place:].strip():
            found = _TOKEN.match(body, place)
            if found is None:
                raise self._refusal(phrase("“{sign}” has no place in it", sign=body[place:].strip()[0]))
            self.tokens.append((str(found.lastgroup), found.group().strip()))
            place = found.end()
        if not any(kind == "number" for kind, _ in self.tokens):
            raise self._refusal("")

    def _next(self) -> str:
        return self.tokens[self.place][1] if self.place < len(self.tokens) else ""

    def _take(self) -> tuple[str, str]:
        if self.place >= len(self.tokens):
            raise self._refusal(phrase("it breaks off"))
        self.place += 1
        return self.tokens[self.place - 1]

    def _added(self) -> _Value:
        total = self._multiplied()
        while self._next() in ("+", "-"):
            sign = 1 if self._take()[1] == "+" else -1
            more = self._multiplied()
            if total.unit is None and more.unit is None:
                total = _Value(total.number + sign * more.number)
            else:
                total = _Value(self._mm(total) + sign * self._mm(more), Fraction(1))
        return total

    def _multiplied(self) -> _Value:
        product = self._signed()
        while self._next() in ("*", "/"):
            times = self._take()[1] == "*"
            by = self._signed()
            if times:
                if product.unit is not None and by.unit is not None:
                    raise self._refusal(phrase("a length times a length is an area"))
                unit = product.unit if product.unit is not None else by.unit
                product = _Value(product.number * by.number, unit)
            elif by.unit is None:
                product = _Value(product.number / by.number, product.unit)
            elif product.unit is not None:
                product = _Value(self._mm(product) / self._mm(by))
            elif by.is_literal:
                product = _Value(product.number / by.number, by.unit)
            else:
                raise self._refusal(phrase("a number cannot be divided by a length"))
        return product

    def _signed(self) -> _Value:
        kind, token = self._take()
        if token in ("+", "-"):
            self._deeper()
            inner = self._signed()
            self.depth -= 1
            return inner if token == "+" else inner._replace(number=-inner.number)
        if token == "(":
            self._deeper()
            inner = self._added()
            self.depth -= 1
            if self._take()[1] != ")":
                raise self._refusal(phrase("a bracket is not closed"))
            return self._with_unit(inner._replace(is_literal=False), is_literal=False)
        if kind != "number":
            raise self._refusal(phrase("a number is missing before “{token}”", token=token))
        power = re.search(r"[eE]([+-]?\d+)", token)
        if power is not None and abs(int(power.group(1)[:6])) > _MOST_DIGITS:
            raise _too_large(self.text)
        return self._with_unit(_Value(Fraction(token.replace(",", "."))), is_literal=True)

    def _with_unit(self, value: _Value, *, is_literal: bool) -> _Value:
        if self.place >= len(self.tokens) or self.tokens[self.place][0] != "unit":
            return value
        word = self._take()[1]
        if self.default_mm is None:
            raise self._refusal(phrase("“{word}” does not go with it: this takes no unit", word=word))
        unit = _EXACT.get(word.lower())
        if unit is None:
            raise self._refusal(phrase("“{word}” is no unit; use mm, cm, m, in, pt, pc or px", word=word))
        if value.unit is not None:
            raise self._refusal(phrase("“{word}” is one unit too many", word=word))
        return _Value(value.number, unit, is_literal)

    def _mm(self, value: _Value) -> Fraction:
        unit = value.unit if value.unit is not None else self.default_mm
        return value.number * (unit if unit is not None else 1)

    def _deeper(self) -> None:
        self.depth += 1
        if self.depth > _DEEPEST:
            raise self._refusal(phrase("too many brackets"))

    def _refusal(self, why: str) -> ValueError:
        shown = self.text if len(self.text) <= 60 else f"{self.text[:59]}…"
        if not why:
            return ValueError(phrase("“{text}” is not a number.", text=shown))
        return ValueError(phrase("“{text}” is not a number: {why}.", text=shown, why=why))


def _rounded(text: str, value: Fraction) -> float:
    try:
        return float(value)
    except OverflowError:
        raise _too_large(text) from None


def _too_large(text: str) -> ValueError:
    return ValueError(phrase("“{text}” is too large.", text=text))


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
    return phrase(f"{{count}} {one if number == 1 else many}", count=number)
