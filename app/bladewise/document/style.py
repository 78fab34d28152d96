"""How a shape is painted: flat colours, gradients, strokes. Terms and defaults are those of SVG 2."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple, TypeAlias

from bladewise.geometry.affine import IDENTITY, Affine
from bladewise.geometry.path import Point
from bladewise.geometry.regions import FillRule
from bladewise.geometry.strokes import LineCap, LineJoin
from bladewise.phrases import phrase


class Colour(NamedTuple):
    """An sRGB colour, 0 to 255 a channel."""

    red: int
    green: int
    blue: int

    @classmethod
    def from_hex(cls, text: str) -> Colour:
        """Return the colour of "#rgb" or "#rrggbb".

        Raises
        ------
        ValueError
            If the text is neither.
        """
        if match := re.fullmatch(r"#?([0-9a-fA-F]{3}|[0-9a-fA-F]{6})", text.strip()):
            digits = match.group(1)
            if len(digits) == 3:
                digits = "".join(digit * 2 for digit in digits)
            return cls(int(digits[:2], 16), int(digits[2:4], 16), int(digits[4:], 16))
        msg = phrase("“{text}” is not a colour; write it as #rrggbb.", text=text)
        raise ValueError(msg)

    @property
    def hex(self) -> str:
        """The colour as "#rrggbb"."""
        return f"#{self.red:02x}{self.green:02x}{self.blue:02x}"

    @property
    def luminance(self) -> float:
        """Relative luminance, 0 black to 1 white (WCAG 2.2, "relative luminance")."""

        def linear(channel: int) -> float:
            value = channel / 255.0
            return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)

        return 0.2126 * linear(self.red) + 0.7152 * linear(self.green) + 0.0722 * linear(self.blue)


BLACK = Colour(0, 0, 0)


class GradientKind(StrEnum):
    """Along a line, or outward from a point."""

    LINEAR = "linear"
    RADIAL = "radial"


class Spread(StrEnum):
    """What a gradient does beyond its ends."""

    PAD = "pad"
    REFLECT = "reflect"
    REPEAT = "repeat"


class Stop(NamedTuple):
    """A colour at a place along a gradient, 0 to 1."""

    offset: float
    colour: Colour
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Gradient:
    """A gradient paint.

    Linear: from `start` to `end`. Radial: from the focal point `start` outward to the circle about
    `end` of `radius`. All in the gradient's own space, which `transform` maps to mm.
    """

    kind: GradientKind
    start: Point
    end: Point
    stops: tuple[Stop, ...]
    radius: float = 0.0
    spread: Spread = Spread.PAD
    transform: Affine = IDENTITY

    def transformed(self, affine: Affine) -> Gradient:
        """Return the gradient as it lies after the art it paints was transformed."""
        return Gradient(
            self.kind, self.start, self.end, self.stops, self.radius, self.spread, affine.after(self.transform)
        )


Paint: TypeAlias = Colour | Gradient


@dataclass(frozen=True, slots=True)
class Stroke:
    """A stroke: paint along a path.

    Width, dash and offset are in mm, unless `pen` maps the space in which they are meant to mm: that
    is how a stroke looks under an uneven scale.
    """

    paint: Paint
    width_mm: float = 1.0
    cap: LineCap = LineCap.BUTT
    join: LineJoin = LineJoin.MITER
    miter_limit: float = 4.0
    dash: tuple[float, ...] = ()
    dash_offset: float = 0.0
    opacity: float = 1.0
    pen: Affine | None = None


@dataclass(frozen=True, slots=True)
class Style:
    """Fill, fill rule, stroke and opacity of a shape; `stroke_first` paints the stroke under the fill."""

    fill: Paint | None = None
    fill_rule: FillRule = FillRule.NONZERO
    fill_opacity: float = 1.0
    stroke: Stroke | None = None
    opacity: float = 1.0
    stroke_first: bool = False

    @property
    def colour(self) -> Colour | None:
        """The one flat colour that stands for the shape: of its fill, else of its stroke; None for gradients."""
        paint = self.fill if self.fill is not None else (self.stroke.paint if self.stroke else None)
        return paint if isinstance(paint, Colour) else None

    @property
    def is_painted(self) -> bool:
        """Whether anything shows at all."""
        return self.fill is not None or self.stroke is not None
