"""The value everything is about: a path of line, quadratic, cubic and arc segments.

A path is a run of segments cut into subpaths. All segments stand in one array of control points,
four points a segment, so that every question (bounds, points at t, transform) is one array
expression and never a loop:

========== =========== =========== =========== ======= ===============
kind       row 0       row 1       row 2       row 3   weight
========== =========== =========== =========== ======= ===============
LINE       start       start       end         end     1
QUADRATIC  start       control     control     end     1
CUBIC      start       control 1   control 2   end     1
ARC        start       control     control     end     cos(sweep / 2)
========== =========== =========== =========== ======= ===============

An arc of a circle or an ellipse is kept as a rational quadratic (a conic section in Bézier form:
G. Farin, *Curves and Surfaces for CAGD*, the chapter on conics). Its control point is where the end
tangents meet, its weight the cosine of half the swept angle in the circle's own frame. That form is
exact, passes through any affine transform by moving its three points, and its control triangle
contains the curve. Arcs are kept to a quarter turn or less, where the form is well conditioned.

Lengths are millimetres, x to the right and y downward, as in SVG. A positive area is therefore a
subpath that runs clockwise as seen on the screen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING, Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from bladewise.geometry.affine import Affine

Floats: TypeAlias = NDArray[np.float64]
Point: TypeAlias = tuple[float, float]


class SegmentKind(IntEnum):
    """What a row of control points describes."""

    LINE = 1
    QUADRATIC = 2
    CUBIC = 3
    ARC = 4


class Sink(Protocol):
    """Anything a path can draw itself onto: a canvas, a writer, a test.

    Points are (x, y) in millimetres. An arc comes with the control point where its end tangents meet
    and its weight; its extent never exceeds a quarter turn.
    """

    def move_to(self, point: Point) -> None:
        """Begin a subpath."""

    def line_to(self, point: Point) -> None:
        """Go straight."""

    def quadratic_to(self, control: Point, point: Point) -> None:
        """Follow a quadratic Bézier curve."""

    def cubic_to(self, control1: Point, control2: Point, point: Point) -> None:
        """Follow a cubic Bézier curve."""

    def arc_to(self, control: Point, point: Point, weight: float) -> None:
        """Follow an arc of a circle or an ellipse."""

    def close(self) -> None:
        """Close the subpath; its last segment has already come back to the start."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Path:
    """Closed or open subpaths of segments; immutable.

    Parameters
    ----------
    points
        Control points, shape (n, 4, 2), as in the table at the head of this module. Each segment of
        a subpath begins exactly where the one before ended; a closed subpath ends where it began.
    kinds
        `SegmentKind` a segment, shape (n,), uint8.
    weights
        The weight of each arc, 1 for every other kind, shape (n,).
    starts
        Index of the first segment of each subpath, shape (s,), rising, the first 0.
    closed
        Whether each subpath is closed, shape (s,).
    """

    points: Floats
    kinds: NDArray[np.uint8]
    weights: Floats
    starts: NDArray[np.int64]
    closed: NDArray[np.bool_]

    def __post_init__(self) -> None:
        """Freeze the arrays, and make −0.0 into 0.0 so that equal points have equal bits."""
        object.__setattr__(self, "points", self.points + 0.0)
        for array in (self.points, self.kinds, self.weights, self.starts, self.closed):
            array.flags.writeable = False

    def __len__(self) -> int:
        """Return the number of segments."""
        return len(self.kinds)

    def __bool__(self) -> bool:
        """Whether there is any segment at all."""
        return len(self.kinds) > 0

    def __eq__(self, other: object) -> bool:
        """Whether both paths have the same segments, to the last bit."""
        if not isinstance(other, Path):
            return NotImplemented
        return (
            np.array_equal(self.kinds, other.kinds)
            and np.array_equal(self.starts, other.starts)
            and np.array_equal(self.closed, other.closed)
            and np.array_equal(self.points, other.points)
            and np.array_equal(self.weights, other.weights)
        )

    def __hash__(self) -> int:
        """Hash by the control points' bytes."""
        return hash((self.points.tobytes(), self.closed.tobytes()))

    def __repr__(self) -> str:
        """Show the counts, not the numbers."""
        return f"<Path: {len(self.starts)} subpaths, {len(self)} segments>"

    @property
    def ends(self) -> NDArray[np.int64]:
        """Index one past the last segment of each subpath, shape (s,)."""
        ends: NDArray[np.int64] = np.append(self.starts, len(self.kinds))[1:].astype(np.int64)
        return ends

    def subpaths(self) -> Iterator[Path]:
        """Yield each subpath as a path of its own."""
        for start, end, closed in zip(self.starts, self.ends, self.closed, strict=True):
            yield Path(
                self.points[start:end],
                self.kinds[start:end],
                self.weights[start:end],
                np.zeros(1, np.int64),
                np.array([closed]),
            )

    def bounds(self) -> tuple[float, float, float, float] | None:
        """Return the exact extent (x min, y min, x max, y max) in mm, or None for an empty path."""
        if not self:
            return None
        from bladewise.geometry.curves import segment_bounds

        boxes = segment_bounds(self)
        low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])

    def transformed(self, affine: Affine) -> Path:
        """Return the path under an affine transform; segments keep their kinds, arcs stay exact."""
        return Path(affine.apply(self.points), self.kinds, self.weights, self.starts, self.closed)

    def reversed(self) -> Path:
        """Return the same curves run backwards, subpaths in the same order."""
        order = np.concatenate(
            [np.arange(end - 1, start - 1, -1) for start, end in zip(self.starts, self.ends, strict=True)]
            or [np.zeros(0, np.int64)]
        )
        return Path(self.points[order][:, ::-1], self.kinds[order], self.weights[order], self.starts, self.closed)

    def draw(self, sink: Sink) -> None:
        """Draw the path onto a sink, subpath by subpath."""
        points, weights = self.points.tolist(), self.weights.tolist()
        for start, end, closed in zip(self.starts.tolist(), self.ends.tolist(), self.closed.tolist(), strict=True):
            sink.move_to(tuple(points[start][0]))
            for index in range(start, end):
                _, control1, control2, point = points[index]
                match self.kinds[index]:
                    case SegmentKind.LINE:
                        sink.line_to(tuple(point))
                    case SegmentKind.QUADRATIC:
                        sink.quadratic_to(tuple(control1), tuple(point))
                    case SegmentKind.CUBIC:
                        sink.cubic_to(tuple(control1), tuple(control2), tuple(point))
                    case _:
                        sink.arc_to(tuple(control1), tuple(point), weights[index])
            if closed:
                sink.close()


EMPTY = Path(
    np.zeros((0, 4, 2)),
    np.zeros(0, np.uint8),
    np.zeros(0),
    np.zeros(0, np.int64),
    np.zeros(0, np.bool_),
)


def joined(paths: Iterable[Path]) -> Path:
    """Return one path with the subpaths of all the given ones, in order."""
    paths = [path for path in paths if path]
    if not paths:
        return EMPTY
    if len(paths) == 1:
        return paths[0]
    offsets = np.cumsum([0] + [len(path) for path in paths[:-1]])
    return Path(
        np.concatenate([path.points for path in paths]),
        np.concatenate([path.kinds for path in paths]),
        np.concatenate([path.weights for path in paths]),
        np.concatenate([path.starts + offset for path, offset in zip(paths, offsets, strict=True)]),
        np.concatenate([path.closed for path in paths]),
    )


class PathBuilder:
    """A pen that collects segments into a `Path`; it is itself a `Sink`.

    A subpath that is closed away from its start gets the closing line. A lone move paints nothing
    and leaves nothing.
    """

    def __init__(self) -> None:
        """Begin with nothing drawn, the pen at the origin."""
        self._points: list[tuple[Point, Point, Point, Point]] = []
        self._kinds: list[int] = []
        self._weights: list[float] = []
        self._starts: list[int] = []
        self._closed: list[bool] = []
        self._here: Point = (0.0, 0.0)
        self._start: Point = (0.0, 0.0)
        self._open = False

    @property
    def here(self) -> Point:
        """Where the pen is."""
        return self._here

    def move_to(self, point: Point) -> None:
        """Lift the pen and begin a new subpath here."""
        self._here = self._start = (float(point[0]), float(point[1]))
        self._open = False

    def line_to(self, point: Point) -> None:
        """Go straight."""
        self._add(SegmentKind.LINE, self._here, point, point)

    def quadratic_to(self, control: Point, point: Point) -> None:
        """Follow a quadratic Bézier curve."""
        self._add(SegmentKind.QUADRATIC, control, control, point)

    def cubic_to(self, control1: Point, control2: Point, point: Point) -> None:
        """Follow a cubic Bézier curve."""
        self._add(SegmentKind.CUBIC, control1, control2, point)

    def arc_to(self, control: Point, point: Point, weight: float) -> None:
        """Follow an arc of a quarter turn or less, given where its end tangents meet."""
        self._add(SegmentKind.ARC, control, control, point, weight)

    def svg_arc_to(
        self,
        rx: float,
        ry: float,
        rotation_deg: float,
        *,
        large: bool,
        sweep: bool,
        point: Point,
    ) -> None:
        """Follow an elliptical arc as SVG's path command A describes it (SVG 2, section 9.5.1).

        Radii too small for the distance grow until they fit; a zero radius makes a line; an arc to
        the point where the pen is draws nothing.
        """
        (x1, y1), (x2, y2) = self._here, point
        rx, ry = abs(rx), abs(ry)
        if (x1, y1) == (x2, y2):
            return
        if rx == 0.0 or ry == 0.0:
            self.line_to(point)
            return
        cos, sin = math.cos(math.radians(rotation_deg)), math.sin(math.radians(rotation_deg))
        half_x, half_y = (x1 - x2) / 2.0, (y1 - y2) / 2.0
        ux, uy = (cos * half_x + sin * half_y) / rx, (-sin * half_x + cos * half_y) / ry
        reach = math.hypot(ux, uy)
        if reach > 1.0:
            rx, ry, ux, uy, reach = rx * reach, ry * reach, ux / reach, uy / reach, 1.0
        lift = math.sqrt(max(0.0, 1.0 - reach * reach)) / reach
        if large == sweep:
            lift = -lift
        cx, cy = lift * uy, -lift * ux  # centre from the chord's middle, on the unit circle
        start = math.atan2(uy - cy, ux - cx)
        extent = math.atan2(-uy - cy, -ux - cx) - start
        if sweep and extent < 0.0:
            extent += 2.0 * math.pi
        elif not sweep and extent > 0.0:
            extent -= 2.0 * math.pi
        mid_x, mid_y = (x1 + x2) / 2.0, (y1 + y2) / 2.0

        def place(px: float, py: float) -> Point:
            px, py = rx * (px + cx), ry * (py + cy)
            return mid_x + cos * px - sin * py, mid_y + sin * px + cos * py

        count = max(1, math.ceil(abs(extent) / (math.pi / 2.0) - 1e-9))
        step = extent / count
        weight = math.cos(step / 2.0)
        for index in range(count):
            middle = start + (index + 0.5) * step
            end = start + (index + 1) * step
            control = place(math.cos(middle) / weight, math.sin(middle) / weight)
            last = index == count - 1
            self.arc_to(control, point if last else place(math.cos(end), math.sin(end)), weight)

    def close(self) -> None:
        """Close the subpath, with a line if the pen is not at its start."""
        if not self._open:
            if self._starts and self._here == self._start:
                return
            self.line_to(self._start)  # "M x y Z": a dot, which round caps paint
        elif self._here != self._start:
            self.line_to(self._start)
        self._closed[-1] = True
        self._open = False
        self._here = self._start

    def path(self) -> Path:
        """Return what has been drawn."""
        if not self._kinds:
            return EMPTY
        return Path(
            np.array(self._points, dtype=np.float64),
            np.array(self._kinds, dtype=np.uint8),
            np.array(self._weights, dtype=np.float64),
            np.array(self._starts, dtype=np.int64),
            np.array(self._closed, dtype=np.bool_),
        )

    def _add(self, kind: SegmentKind, control1: Point, control2: Point, point: Point, weight: float = 1.0) -> None:
        if not self._open:
            self._starts.append(len(self._kinds))
            self._closed.append(False)
            self._open = True
        end = (float(point[0]), float(point[1]))
        self._points.append((self._here, control1, control2, end))
        self._kinds.append(int(kind))
        self._weights.append(weight)
        self._here = end


def circle(centre: Point, radius_mm: float) -> Path:
    """Return a circle of four arcs, clockwise on the screen from its rightmost point."""
    return ellipse(centre, radius_mm, radius_mm)


def ellipse(centre: Point, rx_mm: float, ry_mm: float) -> Path:
    """Return an ellipse of four arcs with axes along x and y, clockwise from its rightmost point."""
    x, y = centre
    right, bottom, left, top = (x + rx_mm, y), (x, y + ry_mm), (x - rx_mm, y), (x, y - ry_mm)
    pen = PathBuilder()
    pen.move_to(right)
    for corner, point in (
        ((x + rx_mm, y + ry_mm), bottom),
        ((x - rx_mm, y + ry_mm), left),
        ((x - rx_mm, y - ry_mm), top),
        ((x + rx_mm, y - ry_mm), right),
    ):
        pen.arc_to(corner, point, math.sqrt(0.5))
    pen.close()
    return pen.path()


def rectangle(x: float, y: float, width_mm: float, height_mm: float, rx_mm: float = 0.0, ry_mm: float = 0.0) -> Path:
    """Return a rectangle, clockwise from its top left; corner radii are cut to half a side, as in SVG."""
    rx, ry = min(rx_mm, width_mm / 2.0), min(ry_mm, height_mm / 2.0)
    right, bottom = x + width_mm, y + height_mm
    pen = PathBuilder()
    if rx <= 0.0 or ry <= 0.0:
        pen.move_to((x, y))
        for point in ((right, y), (right, bottom), (x, bottom)):
            pen.line_to(point)
        pen.close()
        return pen.path()
    weight = math.sqrt(0.5)
    pen.move_to((x + rx, y))
    for line_end, corner, arc_end in (
        ((right - rx, y), (right, y), (right, y + ry)),
        ((right, bottom - ry), (right, bottom), (right - rx, bottom)),
        ((x + rx, bottom), (x, bottom), (x, bottom - ry)),
        ((x, y + ry), (x, y), (x + rx, y)),
    ):
        if pen.here != line_end:
            pen.line_to(line_end)
        pen.arc_to(corner, arc_end, weight)
    pen.close()
    return pen.path()


def polygon(points: Iterable[Point], *, closed: bool = True) -> Path:
    """Return straight lines through the points, closed unless told otherwise."""
    pen = PathBuilder()
    for index, point in enumerate(points):
        if index == 0:
            pen.move_to(point)
        else:
            pen.line_to(point)
    if closed:
        pen.close()
    return pen.path()
