"""From the sheet to the page: millimetres, y down, become points, y up, once and nowhere else.

A point is 1/72 inch (ISO 32000-1, 8.3.2.3 "User space"). Every coordinate is written as it lies on the
page, so that no transform stands between the file and the sheet; only strokes with a pen of their own,
pictures, and art that lies there many times (`copies`) come with a matrix.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.affine import Affine
from bladewise.geometry.path import SegmentKind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats, Path, Point

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
_PLACE = f"%.{DECIMALS}f %.{DECIMALS}f "
_MOVE, _LINE, _CUBIC, _CLOSE = f"{_PLACE}m\n", f"{_PLACE}l\n", f"{_PLACE * 3}c\n", "h\n"
_NEEDLESS = re.compile(r"\.?0+(?= )")
"""Zeros at the end of a number that has a point, as all here have."""


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


def path_operators(path: Path, place: Affine) -> list[str]:
    """Return the lines that build a path (ISO 32000-1, 8.5.2); `place` maps its millimetres to what is written.

    Cubics stay as they are, quadratics are raised exactly, arcs become as few cubics as `ARC_MM` allows.
    """
    if not path:
        return []
    curved = path.kinds != SegmentKind.LINE
    points = path.points
    shares = np.where(path.kinds == SegmentKind.QUADRATIC, 2.0 / 3.0, 0.0)
    rows = np.arange(len(path))
    arcs = path.kinds == SegmentKind.ARC
    if arcs.any():
        points, shares, rows = _arcs_parted(path, arcs, shares)
        curved = curved[rows]
    raised = shares > 0.0
    if raised.any():  # the cubic whose handles reach a share of the way to one control point
        points = points.copy()
        control, share = points[raised, 1], shares[raised, None]
        points[raised, 1] = points[raised, 0] + share * (control - points[raised, 0])
        points[raised, 2] = points[raised, 3] + share * (control - points[raised, 3])
    starts = np.searchsorted(rows, path.starts)
    return _told(np.round(place.apply(points), DECIMALS) + 0.0, curved, starts, path.closed)


def _told(points: Floats, curved: NDArray[np.bool_], starts: NDArray[np.int64], closed: NDArray[np.bool_]) -> list[str]:
    """Return lines and cubics as operators; `+ 0.0` has made -0 into 0."""
    templates = [_CUBIC if bent else _LINE for bent in curved.tolist()]
    used = np.zeros((len(points), 8), bool)
    used[:, 6:] = True
    used[curved, 2:6] = True
    for start, end, shut in zip(starts.tolist(), [*starts[1:].tolist(), len(points)], closed.tolist(), strict=True):
        used[start, :2] = True
        templates[start] = _MOVE + templates[start]
        if shut:
            templates[end - 1] += _CLOSE
    text = "".join(templates) % tuple(points.reshape(-1, 8)[used].tolist())
    return _NEEDLESS.sub("", text).split("\n")[:-1]


def _arcs_parted(path: Path, arcs: NDArray[np.bool_], shares: Floats) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Return control points with arcs halved until a cubic is near enough to each part, and the row each is of.

    The shares, how far a cubic's handles reach towards the control point of its arc, come along.
    """
    points, weights = path.points.tolist(), path.weights.tolist()
    out: list[list[Point]] = []
    reach: list[float] = []
    rows: list[int] = []
    for row, (four, weight, share, is_arc) in enumerate(
        zip(points, weights, shares.tolist(), arcs.tolist(), strict=True)
    ):
        if not is_arc:
            parts = [four]
        else:
            halves, weight = _near_enough(four[0], four[1], four[3], weight)
            parts = [[start, control, control, end] for start, control, end in halves]
            share = 4.0 * weight / (3.0 * (1.0 + weight))
        out += parts
        reach += [share] * len(parts)
        rows += [row] * len(parts)
    return np.array(out, dtype=float), np.array(reach), np.array(rows, dtype=np.int64)


def _near_enough(
    start: Point, control: Point, end: Point, weight: float
) -> tuple[list[tuple[Point, Point, Point]], float]:
    """Return the parts of an arc of which one cubic each stays within `ARC_MM`, and their weight."""
    arcs = [(start, control, end)]
    error = _largest_radius(start, control, end, weight) * _QUARTER_ERROR
    error *= (math.acos(min(1.0, weight)) / math.acos(_FULLEST_WEIGHT)) ** 6
    while error > ARC_MM and weight < 1.0:
        arcs = [half for arc in arcs for half in _halves(*arc, weight)]
        weight = math.sqrt((1.0 + weight) / 2.0)
        error /= 64.0
    return arcs, weight


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
