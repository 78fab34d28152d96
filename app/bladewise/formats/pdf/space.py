"""From the sheet to the page: millimetres, y down, become points, y up, once and nowhere else.

A point is 1/72 inch (ISO 32000-1, 8.3.2.3 "User space"). Every coordinate is written as it lies on the
page, so that no transform stands between the file and the sheet; only strokes with a pen of their own
and pictures come with a matrix.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from bladewise.geometry.affine import Affine

if TYPE_CHECKING:
    from bladewise.geometry.path import Path, Point

POINTS_PER_MM = 72.0 / 25.4
LONGEST_SIDE_PT = 14400.0
"""Longer pages need a larger unit (ISO 32000-1, 7.7.3.3 "UserUnit", and annex C)."""
DECIMALS = 6
"""Decimals of a coordinate: half a unit of the last place is 0.2 nanometres."""
ARC_MM = 0.0009
"""Largest distance between an arc and the cubics that stand for it; 0.001 mm is promised, rounding included."""
_QUARTER_ERROR = 2.725e-4
"""Radial error of one cubic for a quarter of the unit circle; it falls with the sixth power of the angle."""
_FULLEST_WEIGHT = math.sqrt(0.5)


class Page(NamedTuple):
    """A page: the trimmed sheet with bleed around it, all in millimetres, and the size of its unit.

    `unit` is how many points one unit of the file measures: 1, but for sheets beyond five metres.
    """

    width_mm: float
    height_mm: float
    bleed_mm: float
    unit: int

    @classmethod
    def of(cls, width_mm: float, height_mm: float, bleed_mm: float = 0.0) -> Page:
        """Return the page for a sheet."""
        longest = (max(width_mm, height_mm) + 2.0 * bleed_mm) * POINTS_PER_MM
        return cls(width_mm, height_mm, bleed_mm, max(1, math.ceil(longest / LONGEST_SIDE_PT)))

    @property
    def scale(self) -> float:
        """Units of the file a millimetre."""
        return POINTS_PER_MM / self.unit

    @property
    def from_sheet(self) -> Affine:
        """The map from the sheet to the page."""
        scale = self.scale
        return Affine(scale, 0.0, 0.0, -scale, self.bleed_mm * scale, (self.bleed_mm + self.height_mm) * scale)

    @property
    def media_box(self) -> tuple[float, float, float, float]:
        """The page with its bleed, in units of the file."""
        wide, high = self.width_mm + 2.0 * self.bleed_mm, self.height_mm + 2.0 * self.bleed_mm
        return 0.0, 0.0, wide * self.scale, high * self.scale

    def box(self, x0: float, y0: float, x1: float, y1: float) -> tuple[float, float, float, float]:
        """Return a box of the sheet (left, top, right, bottom in mm) as the page has it."""
        place = self.from_sheet
        return place.a * x0 + place.e, place.d * y1 + place.f, place.a * x1 + place.e, place.d * y0 + place.f


def number(value: float) -> str:
    """Return a number as a content stream has it: no exponent, no needless zeros."""
    text = f"{value:.{DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def numbers(values: tuple[float, ...] | Affine) -> str:
    """Return numbers in a row."""
    return " ".join(map(number, values))


def matrix(affine: Affine) -> str:
    """Return a transform; its linear part keeps nine digits, as it may multiply metres."""
    linear = " ".join(f"{value:.9f}".rstrip("0").rstrip(".") for value in affine[:4])
    return f"{linear} {number(affine.e)} {number(affine.f)}".replace("-0 ", "0 ")


class Operators:
    """A pen that writes the operators of a path (ISO 32000-1, 8.5.2); it is a `Sink`.

    Cubics stay as they are, quadratics are raised exactly, arcs become as few cubics as `ARC_MM` allows.
    """

    def __init__(self, place: Affine) -> None:
        """Begin; `place` maps the path's millimetres to what is written."""
        self._place = place
        self._here: Point = (0.0, 0.0)
        self.lines: list[str] = []

    def move_to(self, point: Point) -> None:
        """Begin a subpath."""
        self._write("m", point)

    def line_to(self, point: Point) -> None:
        """Go straight."""
        self._write("l", point)

    def quadratic_to(self, control: Point, point: Point) -> None:
        """Follow a quadratic, raised to a cubic: the same curve."""
        self._leaning(control, point, 2.0 / 3.0)

    def cubic_to(self, control1: Point, control2: Point, point: Point) -> None:
        """Follow a cubic."""
        self._write("c", control1, control2, point)

    def arc_to(self, control: Point, point: Point, weight: float) -> None:
        """Follow an arc of a quarter turn or less by cubics near enough."""
        arcs = [(self._here, control, point)]
        error = _largest_radius(self._here, control, point, weight) * _QUARTER_ERROR
        error *= (math.acos(min(1.0, weight)) / math.acos(_FULLEST_WEIGHT)) ** 6
        while error > ARC_MM and weight < 1.0:
            arcs = [half for arc in arcs for half in _halves(*arc, weight)]
            weight = math.sqrt((1.0 + weight) / 2.0)
            error /= 64.0
        for _, middle, end in arcs:
            self._leaning(middle, end, 4.0 * weight / (3.0 * (1.0 + weight)))

    def close(self) -> None:
        """Close the subpath."""
        self.lines.append("h")

    def _leaning(self, control: Point, point: Point, share: float) -> None:
        """Write the cubic whose handles reach a share of the way to one control point."""
        first, last = _between(self._here, control, share), _between(point, control, share)
        self._write("c", first, last, point)

    def _write(self, operator: str, *points: Point) -> None:
        a, b, c, d, e, f = self._place
        told = [number(value) for x, y in points for value in (a * x + c * y + e, b * x + d * y + f)]
        self.lines.append(f"{' '.join(told)} {operator}")
        self._here = points[-1]


def path_operators(path: Path, place: Affine) -> list[str]:
    """Return the lines that build a path; `place` maps its millimetres to what is written."""
    pen = Operators(place)
    path.draw(pen)
    return pen.lines


def _between(start: Point, end: Point, share: float) -> Point:
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])


def _halves(start: Point, control: Point, end: Point, weight: float) -> tuple[tuple[Point, Point, Point], ...]:
    """Return both halves of an arc, cut at its middle (Farin, the chapter on conics)."""
    total = 1.0 + weight
    first = _between(start, control, weight / total)
    last = _between(end, control, weight / total)
    middle = _between(first, last, 0.5)
    return (start, first, middle), (middle, last, end)


def _largest_radius(start: Point, control: Point, end: Point, weight: float) -> float:
    """Return the greater half-axis of the ellipse an arc lies on: the stretch of the unit circle onto it."""
    sine = math.sqrt(max(0.0, 1.0 - weight * weight))
    if sine < 1e-9:
        return 0.0
    middle = _between(start, end, 0.5)
    factor = weight / (sine * sine)
    ax, ay = (control[0] - middle[0]) * factor, (control[1] - middle[1]) * factor
    bx, by = (end[0] - start[0]) / (2.0 * sine), (end[1] - start[1]) / (2.0 * sine)
    squares = ax * ax + ay * ay + bx * bx + by * by
    area = ax * by - ay * bx
    return math.sqrt((squares + math.sqrt(max(0.0, squares * squares - 4.0 * area * area))) / 2.0)
