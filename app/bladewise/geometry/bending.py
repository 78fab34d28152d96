"""Curves bent as a whole: along an arc or a path, rippled, arched, climbing, swelling, or pulled by four corners.

A bend moves every point of the plane; here are the maps, each with its derivative, and `bent`, which puts
a path through one. A segment becomes the cubic that has the true places and the true derivatives at
both ends (Hermite's interpolation, whose error falls with the fourth power of the length), and is
halved where that strays. Straight lines that stay straight stay lines; two segments that met still meet.

All maps take and give millimetres, y down, with the baseline of lettering along y = 0.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from bladewise.geometry.curves import cross, homogeneous, point_at, rational_at
from bladewise.geometry.measures import curvature_at, length, point_at_length, tangent_at
from bladewise.geometry.path import EMPTY, Path, SegmentKind
from bladewise.geometry.tolerances import BENDING_MM, STRAIGHT_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats

_PROBES = np.array([0.15, 0.35, 0.5, 0.65, 0.85])
"""Where between its ends a bent segment is held against the true curve."""

_MOST_HALVINGS = 14


class Bend(Protocol):
    """A map of the plane that has a derivative."""

    def places(self, points: Floats) -> Floats:
        """Return where points come to, shape (n, 2)."""

    def derivatives(self, points: Floats) -> Floats:
        """Return the derivative of the map at points, shape (n, 2, 2): columns are what becomes of x and of y."""


@dataclass(frozen=True)
class AlongArc:
    """The baseline becomes an arc; heights are kept along its radii.

    Parameters
    ----------
    radius_mm
        Of the baseline; positive hangs its centre below (a rainbow), negative above (a bowl).
    middle_mm
        The x whose place on the baseline stays where it is.
    """

    radius_mm: float
    middle_mm: float

    def places(self, points: Floats) -> Floats:
        """Return where points come to: baseline length s goes to the angle s / r."""
        turn, reach = (points[:, 0] - self.middle_mm) / self.radius_mm, self.radius_mm - points[:, 1]
        return np.stack([self.middle_mm + reach * np.sin(turn), self.radius_mm - reach * np.cos(turn)], axis=1)

    def derivatives(self, points: Floats) -> Floats:
        """Return the derivative of the map."""
        turn, share = (points[:, 0] - self.middle_mm) / self.radius_mm, 1.0 - points[:, 1] / self.radius_mm
        sin, cos = np.sin(turn), np.cos(turn)
        return np.stack([np.stack([share * cos, -sin], axis=1), np.stack([share * sin, cos], axis=1)], axis=1)


@dataclass(frozen=True)
class AlongPath:
    """The baseline becomes a path; heights are kept along its normals.

    Parameters
    ----------
    path
        One subpath; before its start and past its end it goes on straight, a closed one goes round again.
    start_mm
        The length on the path where x = 0 comes to.
    shift_mm
        How far the baseline stands off the path, to its left as one goes along it.
    """

    path: Path
    start_mm: float = 0.0
    shift_mm: float = 0.0

    def _frames(self, along: Floats) -> tuple[Floats, Floats, Floats]:
        """Return places, unit tangents and curvatures at lengths on the path, shapes (n, 2), (n, 2), (n,)."""
        whole = length(self.path)
        if bool(self.path.closed.all()):
            inside, over = np.mod(along, whole), np.zeros_like(along)
        else:
            inside = np.clip(along, 0.0, whole)
            over = along - inside
        there = point_at_length(self.path, inside)
        tangent = tangent_at(self.path, there.segments, there.parameters)
        curvature = np.where(over == 0.0, curvature_at(self.path, there.segments, there.parameters), 0.0)
        return there.points + over[:, None] * tangent, tangent, curvature

    def places(self, points: Floats) -> Floats:
        """Return where points come to."""
        place, tangent, _ = self._frames(self.start_mm + points[:, 0])
        normal = np.stack([-tangent[:, 1], tangent[:, 0]], axis=1)
        return place + (points[:, 1:] - self.shift_mm) * normal

    def derivatives(self, points: Floats) -> Floats:
        """Return the derivative of the map."""
        _, tangent, curvature = self._frames(self.start_mm + points[:, 0])
        normal = np.stack([-tangent[:, 1], tangent[:, 0]], axis=1)
        ahead = (1.0 - curvature * (points[:, 1] - self.shift_mm))[:, None] * tangent
        return np.stack([ahead, normal], axis=2)


@dataclass(frozen=True)
class Ripple:
    """Uprights stay upright; the baseline becomes a wave, y = −height · sin(2π (x − start) / wave)."""

    height_mm: float
    wave_mm: float
    start_mm: float = 0.0

    def places(self, points: Floats) -> Floats:
        """Return where points come to."""
        turn = 2.0 * np.pi * (points[:, 0] - self.start_mm) / self.wave_mm
        return np.stack([points[:, 0], points[:, 1] - self.height_mm * np.sin(turn)], axis=1)

    def derivatives(self, points: Floats) -> Floats:
        """Return the derivative of the map."""
        pace = 2.0 * np.pi / self.wave_mm
        turn = pace * (points[:, 0] - self.start_mm)
        return _lifted(-self.height_mm * pace * np.cos(turn))


@dataclass(frozen=True)
class UprightArch:
    """Uprights stay upright; the baseline becomes an arc that rises in the middle.

    Parameters
    ----------
    rise_mm
        How far the middle stands above the ends; negative sags.
    left_mm, right_mm
        Where the arc begins and ends. `rise_mm` is at most half that.
    """

    rise_mm: float
    left_mm: float
    right_mm: float

    @property
    def radius_mm(self) -> float:
        """Radius of the arc, (w² / 4 + h²) / 2h for width w and rise h."""
        half = 0.5 * (self.right_mm - self.left_mm)
        return (half * half + self.rise_mm * self.rise_mm) / (2.0 * abs(self.rise_mm))

    def places(self, points: Floats) -> Floats:
        """Return where points come to."""
        aside = np.clip(points[:, 0] - 0.5 * (self.left_mm + self.right_mm), -self.radius_mm, self.radius_mm)
        lift = np.sqrt(self.radius_mm**2 - aside * aside) - self.radius_mm + abs(self.rise_mm)
        return np.stack([points[:, 0], points[:, 1] - np.sign(self.rise_mm) * lift], axis=1)

    def derivatives(self, points: Floats) -> Floats:
        """Return the derivative of the map."""
        aside = np.clip(points[:, 0] - 0.5 * (self.left_mm + self.right_mm), -self.radius_mm, self.radius_mm)
        root = np.sqrt(np.maximum(self.radius_mm**2 - aside * aside, 1e-18 * self.radius_mm**2))
        return _lifted(np.sign(self.rise_mm) * aside / root)


@dataclass(frozen=True)
class Climb:
    """Uprights stay upright; the baseline climbs from one end to the other, level at both where it is eased.

    Parameters
    ----------
    rise_mm
        How much higher the end stands than the start.
    left_mm, right_mm
        Where the climb begins and ends; outside it the line goes on as it is there.
    eased
        Whether it begins and ends level (as 3u² − 2u³) or is one straight slope.
    """

    rise_mm: float
    left_mm: float
    right_mm: float
    eased: bool = True

    def places(self, points: Floats) -> Floats:
        """Return where points come to."""
        u = (points[:, 0] - self.left_mm) / (self.right_mm - self.left_mm)
        if self.eased:
            u = np.clip(u, 0.0, 1.0)
            u = u * u * (3.0 - 2.0 * u)
        return np.stack([points[:, 0], points[:, 1] - self.rise_mm * u], axis=1)

    def derivatives(self, points: Floats) -> Floats:
        """Return the derivative of the map."""
        wide = self.right_mm - self.left_mm
        u = (points[:, 0] - self.left_mm) / wide
        slope = np.full(len(u), 1.0 / wide)
        if self.eased:
            u = np.clip(u, 0.0, 1.0)
            slope = 6.0 * u * (1.0 - u) / wide
        return _lifted(-self.rise_mm * slope)


@dataclass(frozen=True)
class Swell:
    """Letters grow towards the middle: heights about a level are times 1 + share · 4u (1 − u).

    Parameters
    ----------
    share
        How much taller the middle is: 0.5 is half as tall again; negative pinches (more than −1).
    left_mm, right_mm
        Where it begins and ends.
    level_mm
        The height that stays: the baseline at 0, or the middle of the letters.
    """

    share: float
    left_mm: float
    right_mm: float
    level_mm: float = 0.0

    def _factor(self, x: Floats) -> tuple[Floats, Floats]:
        wide = self.right_mm - self.left_mm
        u = np.clip((x - self.left_mm) / wide, 0.0, 1.0)
        return 1.0 + self.share * 4.0 * u * (1.0 - u), self.share * 4.0 * (1.0 - 2.0 * u) / wide

    def places(self, points: Floats) -> Floats:
        """Return where points come to."""
        factor, _ = self._factor(points[:, 0])
        return np.stack([points[:, 0], self.level_mm + (points[:, 1] - self.level_mm) * factor], axis=1)

    def derivatives(self, points: Floats) -> Floats:
        """Return the derivative of the map."""
        factor, slope = self._factor(points[:, 0])
        made = _lifted((points[:, 1] - self.level_mm) * slope)
        made[:, 1, 1] = factor
        return made


@dataclass(frozen=True)
class FourCorners:
    """A box is pulled by its corners into any four-sided frame that bulges outward; straight lines stay straight.

    The projective map of four points onto four others (Heckbert 1989, section 2.2.3; from memory).

    Parameters
    ----------
    box
        Left, top, right, bottom in mm.
    corners
        Where top left, top right, bottom right and bottom left come to.
    """

    box: tuple[float, float, float, float]
    corners: tuple[tuple[float, float], tuple[float, float], tuple[float, float], tuple[float, float]]

    def _matrix(self) -> Floats:
        left, top, right, bottom = self.box
        from_ = np.array([[left, top], [right, top], [right, bottom], [left, bottom]])
        rows, target = np.zeros((8, 8)), np.array(self.corners, dtype=np.float64)
        for corner, ((x, y), (u, v)) in enumerate(zip(from_.tolist(), target.tolist(), strict=True)):
            rows[2 * corner] = [x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y]
            rows[2 * corner + 1] = [0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y]
        return np.append(np.linalg.solve(rows, target.ravel()), 1.0).reshape(3, 3)

    @property
    def is_sound(self) -> bool:
        """Whether the frame bulges outward at every corner, the same way round as the box."""
        points = np.array(self.corners)
        sides = np.roll(points, -1, axis=0) - points
        return bool((cross(sides, np.roll(sides, -1, axis=0)) > 0.0).all())

    def places(self, points: Floats) -> Floats:
        """Return where points come to."""
        lifted = np.column_stack([points, np.ones(len(points))])
        top = (lifted[:, None, :] * self._matrix()).sum(axis=2)
        places: Floats = top[:, :2] / top[:, 2:]
        return places

    def derivatives(self, points: Floats) -> Floats:
        """Return the derivative of the map."""
        matrix = self._matrix()
        lifted = np.column_stack([points, np.ones(len(points))])
        top = (lifted[:, None, :] * matrix).sum(axis=2)
        made: Floats = (matrix[None, :2, :2] - (top[:, :2] / top[:, 2:])[:, :, None] * matrix[None, 2:, :2]) / top[
            :, 2, None, None
        ]
        return made


def _lifted(slope: Floats) -> Floats:
    """Return the derivative of a map that leaves x alone and adds a function of x, of this slope, to y."""
    made = np.zeros((len(slope), 2, 2))
    made[:, 0, 0] = made[:, 1, 1] = 1.0
    made[:, 1, 0] = slope
    return made


def bent(path: Path, bend: Bend, *, tolerance_mm: float = BENDING_MM) -> Path:
    """Return a path put through a bend.

    Parameters
    ----------
    path
        In mm.
    bend
        Where every point goes.
    tolerance_mm
        How far a segment may stray from the true bent curve.

    Returns
    -------
    bent
        Lines that stay straight as lines, everything else as cubics; the subpaths are the same.
    """
    if not path:
        return EMPTY
    rows, t0, t1 = np.arange(len(path)), np.zeros(len(path)), np.ones(len(path))
    done: list[tuple[NDArray[np.int64], Floats, Floats, NDArray[np.bool_]]] = []
    for halving in range(_MOST_HALVINGS + 1):
        cubic, straight, away = _candidates(path, bend, rows, t0, t1)
        sound = straight | (away <= tolerance_mm) | (halving == _MOST_HALVINGS)
        done.append((rows[sound], t0[sound], cubic[sound], straight[sound]))
        rows, t0, t1 = rows[~sound], t0[~sound], t1[~sound]
        if not len(rows):
            break
        middle = 0.5 * (t0 + t1)
        rows, t0, t1 = np.repeat(rows, 2), _between(t0, middle), _between(middle, t1)
    of, begin, points, line = (np.concatenate([part[column] for part in done]) for column in range(4))
    order = np.lexsort((begin, of))
    of, points, line = of[order], points[order], line[order]
    starts = np.searchsorted(of, path.starts)
    return _linked(points, line, starts, path.closed)


def _between(one: Floats, two: Floats) -> Floats:
    """Return two arrays woven together."""
    return np.stack([one, two], axis=1).ravel()


def _candidates(
    path: Path, bend: Bend, rows: NDArray[np.int64], t0: Floats, t1: Floats
) -> tuple[Floats, NDArray[np.bool_], Floats]:
    """Return the cubic for each stretch, whether a line serves, and how far the cubic strays, (n, 4, 2), (n,), (n,)."""
    points, kinds, weights = path.points[rows], path.kinds[rows], path.weights[rows]
    form = homogeneous(points, kinds, weights)
    span = (t1 - t0)[:, None] / 3.0
    cubic = np.empty((len(rows), 4, 2))
    for end, inner, t, way in ((0, 1, t0, 1.0), (3, 2, t1, -1.0)):
        place = point_at(points, kinds, weights, t)
        _, slope = rational_at(*form, t)
        cubic[:, end] = bend.places(place)
        cubic[:, inner] = cubic[:, end] + way * span * (bend.derivatives(place) * slope[:, None, :]).sum(axis=2)
    away = np.zeros(len(rows))
    aside = np.zeros(len(rows))
    ahead = np.ones(len(rows), np.bool_)
    chord = cubic[:, 3] - cubic[:, 0]
    long = np.maximum(np.hypot(chord[:, 0], chord[:, 1]), 1e-300)
    for probe in _PROBES.tolist():
        true = bend.places(point_at(points, kinds, weights, t0 + probe * (t1 - t0)))
        s = 1.0 - probe
        mine = (
            s * s * s * cubic[:, 0]
            + 3.0 * s * probe * (s * cubic[:, 1] + probe * cubic[:, 2])
            + probe * probe * probe * cubic[:, 3]
        )
        away = np.maximum(away, np.hypot(*(true - mine).T))
        aside = np.maximum(aside, np.abs(cross(chord, true - cubic[:, 0])) / long)
        ahead &= (chord * (true - cubic[:, 0])).sum(axis=1) <= long * long
    straight = (kinds == SegmentKind.LINE) & (aside <= STRAIGHT_MM) & ahead
    return cubic, straight, away


def _linked(points: Floats, line: NDArray[np.bool_], starts: NDArray[np.int64], closed: NDArray[np.bool_]) -> Path:
    """Return the path, every segment beginning bit for bit where the one before it ends."""
    points[1:, 0] = np.where(np.isin(np.arange(1, len(points)), starts)[:, None], points[1:, 0], points[:-1, 3])
    ends = np.append(starts[1:], len(points)) - 1
    points[ends[closed], 3] = points[starts[closed], 0]
    points[line, 1], points[line, 2] = points[line, 0], points[line, 3]
    kinds = np.where(line, np.uint8(SegmentKind.LINE), np.uint8(SegmentKind.CUBIC))
    return Path(points, kinds.astype(np.uint8), np.ones(len(points)), starts.astype(np.int64), closed.copy())
