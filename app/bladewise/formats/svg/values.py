"""Numbers, lengths, angles, colours and transforms as SVG and CSS write them.

Sources: SVG 2, "Basic data types" and "Coordinate systems"; CSS Values and Units 4 (96 px an inch);
CSS Color 4; CSS Transforms 1. Lengths come out in user units (px). What is not valid gives None, and
the caller decides whether that is worth a note.
"""

from __future__ import annotations

import colorsys
import math
import re
from dataclasses import dataclass
from functools import lru_cache

from svgelements import Color as NamedColour

from bladewise.document import Colour
from bladewise.geometry.affine import IDENTITY, Affine
from bladewise.units import MM_PER_PX, MM_PER_UNIT

NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_NUMBER = re.compile(NUMBER)
_LENGTH = re.compile(rf"\s*({NUMBER})\s*(%|[a-zA-Z]*)\s*$")
_ANGLE = re.compile(rf"\s*({NUMBER})\s*(deg|grad|rad|turn)?\s*$")
_FUNCTION = re.compile(r"\s*([a-zA-Z]+)\s*\(([^()]*)\)\s*,?")

LARGEST = 1e9
"""A number beyond this is no place on a sheet: a thousand kilometres."""

_ABSOLUTE = {unit: MM_PER_UNIT[unit] / MM_PER_PX for unit in ("mm", "cm", "in", "pt", "pc", "q")} | {"px": 1.0, "": 1.0}
_TURNS = {"deg": 1.0, "grad": 0.9, "rad": 180.0 / math.pi, "turn": 360.0, None: 1.0}

X_HEIGHT = 0.5
"""An ex in em where the font is not at hand (CSS Values 4, section 6.1.1)."""


@dataclass(frozen=True, slots=True)
class Frame:
    """What relative lengths refer to: the viewport in user units, and the font size."""

    width: float
    height: float
    font_size: float = 16.0

    @property
    def diagonal(self) -> float:
        """The reference of lengths that are neither across nor down (SVG 2, section 8.9)."""
        return math.hypot(self.width, self.height) / math.sqrt(2.0)


def finite(value: float) -> bool:
    """Whether a number can be a measure on a sheet."""
    return -LARGEST <= value <= LARGEST  # false for NaN too


def number(text: str | None, default: float | None = None) -> float | None:
    """Return a plain number, or the default if the text is none."""
    if text is None:
        return default
    match = re.fullmatch(rf"\s*({NUMBER})\s*", text)
    if match is None or not finite(value := float(match.group(1))):
        return default
    return value


def numbers(text: str) -> list[float]:
    """Return every number in a list separated by blanks or commas."""
    return [float(item) for item in _NUMBER.findall(text)]


def fraction(text: str | None, default: float = 1.0) -> float:
    """Return an opacity or an offset, a number or a percentage, kept within 0 and 1."""
    if text is None or (match := _LENGTH.match(text)) is None or match.group(2) not in ("", "%"):
        return default
    value = float(match.group(1)) / (100.0 if match.group(2) else 1.0)
    return min(1.0, max(0.0, value))


def length(text: str | None, whole: float, frame: Frame) -> float | None:
    """Return a length in user units; a percentage is of `whole`; None if the text is no length."""
    if text is None or (match := _LENGTH.match(text)) is None:
        return None
    value, unit = float(match.group(1)), match.group(2).lower()
    if unit == "%":
        value *= whole / 100.0
    elif unit in _ABSOLUTE:
        value *= _ABSOLUTE[unit]
    elif unit in ("em", "rem"):
        value *= frame.font_size if unit == "em" else 16.0
    elif unit in ("ex", "ch"):
        value *= frame.font_size * X_HEIGHT
    elif unit in ("vw", "vh"):
        value *= (frame.width if unit == "vw" else frame.height) / 100.0
    else:
        return None
    return value if finite(value) else None


def length_in_mm(text: str | None, whole_mm: float | None) -> float | None:
    """Return the size of the outermost drawing in mm, straight from its unit so that "180mm" is 180 exactly."""
    if text is None or (match := _LENGTH.match(text)) is None:
        return None
    value, unit = float(match.group(1)), match.group(2).lower()
    if unit == "%":
        return None if whole_mm is None else whole_mm * value / 100.0
    if unit in ("em", "rem", "ex", "ch"):
        return value * MM_PER_PX * (16.0 if unit in ("em", "rem") else 16.0 * X_HEIGHT)
    factor = MM_PER_UNIT.get(unit or "px")
    return None if factor is None or not finite(value) else value * factor


def angle_deg(text: str) -> float | None:
    """Return an angle in degrees."""
    match = _ANGLE.match(text)
    return float(match.group(1)) * _TURNS[match.group(2)] if match else None


@lru_cache(maxsize=4096)
def colour(text: str) -> tuple[Colour, float] | None:
    """Return a colour and its opacity, or None if the text is no colour.

    Hex with 3, 4, 6 or 8 digits, the names of CSS Color 4, rgb(), rgba(), hsl() and hsla() in the
    form with commas and the one with blanks.
    """
    text = text.strip().lower()
    if match := re.fullmatch(r"#([0-9a-f]{3,4}|[0-9a-f]{6}|[0-9a-f]{8})", text):
        digits = match.group(1)
        if len(digits) < 6:
            digits = "".join(digit * 2 for digit in digits)
        channels = [int(digits[place : place + 2], 16) for place in range(0, len(digits), 2)]
        return Colour(*channels[:3]), channels[3] / 255.0 if len(channels) == 4 else 1.0
    if match := re.fullmatch(r"(rgb|hsl)a?\(([^()]*)\)", text):
        return _functional(match.group(1), match.group(2))
    if text == "transparent":
        return Colour(0, 0, 0), 0.0
    if not text.isalpha():
        return None
    value = NamedColour.parse_color_lookup(text)
    if value is None or (value == 0xFF and text != "black"):
        return None
    return Colour(value >> 24 & 255, value >> 16 & 255, value >> 8 & 255), 1.0


def _functional(kind: str, body: str) -> tuple[Colour, float] | None:
    parts = [part for part in re.split(r"[\s,/]+", body.strip()) if part]
    if len(parts) not in (3, 4):
        return None
    alpha = fraction(parts[3], -1.0) if len(parts) == 4 else 1.0
    if alpha < 0.0:
        return None
    if kind == "rgb":
        values = []
        for part in parts[:3]:
            match = _LENGTH.match(part)
            if match is None or match.group(2) not in ("", "%"):
                return None
            values.append(float(match.group(1)) * (2.55 if match.group(2) else 1.0))
    else:
        hue = angle_deg(parts[0])
        if hue is None or not all(re.fullmatch(rf"{NUMBER}%", part) for part in parts[1:3]):
            return None
        saturation, lightness = (min(1.0, max(0.0, float(part[:-1]) / 100.0)) for part in parts[1:3])
        values = [255.0 * channel for channel in colorsys.hls_to_rgb(hue / 360.0 % 1.0, lightness, saturation)]
    red, green, blue = (min(255, max(0, math.floor(value + 0.5))) for value in values)
    return Colour(red, green, blue), alpha


def transform(text: str | None) -> Affine | None:
    """Return the transform a list of transform functions says, or None if the list is not valid."""
    if text is None or not text.strip() or text.strip() == "none":
        return IDENTITY
    result, place = IDENTITY, 0
    while place < len(text):
        match = _FUNCTION.match(text, place)
        if match is None:
            return result if not text[place:].strip(" \t\r\n,") else None
        step = _transform_function(match.group(1), match.group(2))
        if step is None:
            return None
        result = result.after(step)
        place = match.end()
    return result


def _transform_function(name: str, body: str) -> Affine | None:
    if re.search(r"[a-zA-Z%]", re.sub(NUMBER, "", body)):
        return _css_transform_function(name, body)
    values = numbers(body)
    if not all(map(finite, values)):
        return None
    match name, values:
        case "matrix", [a, b, c, d, e, f]:
            return Affine(a, b, c, d, e, f)
        case (("translate" | "translateX"), [dx]):
            return Affine.moved(dx, 0.0)
        case "translateY", [dy]:
            return Affine.moved(0.0, dy)
        case "translate", [dx, dy]:
            return Affine.moved(dx, dy)
        case "scale", [factor]:
            return Affine.scaled(factor)
        case "scale", [across, down]:
            return Affine.scaled(across, down)
        case "scaleX", [across]:
            return Affine.scaled(across, 1.0)
        case "scaleY", [down]:
            return Affine.scaled(1.0, down)
        case "rotate", [angle]:
            return Affine.rotated(angle)
        case "rotate", [angle, x, y]:
            return Affine.rotated(angle, about=(x, y))
        case (("skewX" | "skew"), [angle]):
            return Affine(c=math.tan(math.radians(angle)))
        case "skewY", [angle]:
            return Affine(b=math.tan(math.radians(angle)))
        case "skew", [across, down]:
            return Affine(b=math.tan(math.radians(down)), c=math.tan(math.radians(across)))
    return None


def _css_transform_function(name: str, body: str) -> Affine | None:
    """Return a transform function whose arguments carry units."""
    frame = Frame(0.0, 0.0)
    parts = [part for part in re.split(r"[\s,]+", body.strip()) if part]
    plain: list[float] = []
    for place, part in enumerate(parts):
        is_angle = (name.startswith(("rotate", "skew")) and place == 0) or name == "skew"
        value = angle_deg(part) if is_angle else length(part, 0.0, frame)
        if value is None or part.endswith("%"):
            return None
        plain.append(value)
    return _transform_function(name, " ".join(map(repr, plain)))
