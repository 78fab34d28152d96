"""Bends of live lettering: from the numbers an operator gives to a map of the plane.

Lengths along the line are those of the lettering as it is set straight; `Room` tells how far that reaches.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from bladewise.document import Bending, BendKind
from bladewise.errors import CannotApply
from bladewise.geometry import bending as maps
from bladewise.geometry.measures import curvature_at, length, point_at_length
from bladewise.geometry.path import EMPTY, Floats, Path
from bladewise.phrases import phrase

_SAMPLES = 2000
"""Places along a path at which its curvature is looked up for even spaces."""


class Room(NamedTuple):
    """How far lettering reaches when set straight, in mm: advances left and right, ink above and below the baseline."""

    left: float
    right: float
    top: float
    bottom: float
    half_height: float
    """Half the height of its small letters."""

    @property
    def wide(self) -> float:
        """Its width."""
        return self.right - self.left


@dataclass(frozen=True)
class Evened:
    """A bend along a line, spaces made even at some height above it.

    Letters outside a curve spread and inside crowd; where each stands on the line is chosen so that the
    spaces at that height are as they were set: ds = dx / (1 + κ·height) with κ the line's curvature.
    """

    bend: maps.Bend
    x: Floats
    along: Floats

    def places(self, points: Floats) -> Floats:
        """Return where points come to."""
        return self.bend.places(np.stack([np.interp(points[:, 0], self.x, self.along), points[:, 1]], axis=1))

    def derivatives(self, points: Floats) -> Floats:
        """Return the derivative of the bend there; letters are only turned by it."""
        return self.bend.derivatives(np.stack([np.interp(points[:, 0], self.x, self.along), points[:, 1]], axis=1))


def bend_for(bending: Bending, room: Room) -> maps.Bend | None:
    """Return the map of a bend for lettering that takes up some room; None where its numbers ask for nothing.

    Raises
    ------
    CannotApply
        If the letters do not fit the bend: the sentence says what to change.
    """
    if room.wide <= 0.0 and bending.kind not in (BendKind.PATH, BendKind.RIPPLE):
        return None  # a mark without width: there is nothing to bend it over
    match bending.kind:
        case BendKind.ARC:
            return _along_arc(bending, room)
        case BendKind.PATH:
            return _along_path(bending, room)
        case BendKind.RIPPLE:
            if bending.wave_mm <= 0.0:
                raise CannotApply("A ripple needs a length from crest to crest.", hint="Give a wave longer than 0 mm.")
            return maps.Ripple(bending.rise_mm, bending.wave_mm, room.left + bending.shift_mm)
        case BendKind.ARCH:
            return _arch(bending, room)
        case BendKind.CLIMB:
            return maps.Climb(bending.rise_mm, room.left, room.right, eased=bending.eased)
        case BendKind.SWELL:
            if bending.share <= -1.0:
                raise CannotApply("The middle would shrink to nothing.", hint="Pinch by less than 100 %.")
            return maps.Swell(bending.share, room.left, room.right) if bending.share else None
        case BendKind.CORNERS:
            return _corners(bending, room)


def _along_arc(bending: Bending, room: Room) -> maps.Bend | None:
    radius = bending.radius_mm
    if radius == 0.0 and bending.angle_deg == 0.0:
        return None
    if radius == 0.0:
        radius = room.wide / math.radians(bending.angle_deg)
    inward = room.bottom if radius > 0.0 else -room.top
    if abs(radius) <= inward:
        raise CannotApply(
            "The arc is too tight: the letters would run into its centre.",
            hint=phrase("Take a radius of more than {inward:.1f} mm, or smaller letters.", inward=inward),
        )
    if room.wide > 2.0 * math.pi * abs(radius):
        raise CannotApply(
            "The lettering is longer than the whole circle.",
            hint=phrase(
                "Take a radius of more than {wide:.1f} mm, or smaller letters.", wide=room.wide / (2.0 * math.pi)
            ),
        )
    middle = 0.5 * (room.left + room.right)
    bend = maps.AlongArc(radius, middle)
    if bending.letters == "turned" and bending.even_spaces:
        x = np.array([room.left, room.right])
        return Evened(bend, x, middle + (x - middle) / (1.0 + room.half_height / radius))
    return bend


def _along_path(bending: Bending, room: Room) -> maps.Bend | None:
    path = next((ring for ring in bending.path.subpaths()), EMPTY)
    if not path or length(path) <= 0.0:
        return None
    if bending.other_side:
        path = path.reversed()
    bend = maps.AlongPath(path, bending.start_mm - room.left, bending.shift_mm)
    if bending.letters != "turned":
        _refuse_folds(bend, room)
    made = bend if bending.letters != "turned" or not bending.even_spaces else Evened(bend, *_even(path, bending, room))
    if bool(path.closed.all()) and _end_mm(made, room) - bending.start_mm > length(path) * (1.0 + 1e-9):
        raise CannotApply(
            "The lettering is longer than the path is round.",
            hint=phrase("Take smaller letters, or a path longer than {wide:.1f} mm.", wide=room.wide),
        )
    return made


def overrun_mm(bend: maps.Bend | None, room: Room) -> float:
    """Return how far bent lettering goes on straight beyond the end of an open path, in mm; 0 for other bends."""
    line = bend.bend if isinstance(bend, Evened) else bend
    if bend is None or not isinstance(line, maps.AlongPath) or bool(line.path.closed.all()):
        return 0.0
    return max(_end_mm(bend, room) - length(line.path), 0.0)


def _end_mm(bend: maps.Bend, room: Room) -> float:
    """Return the length on its path at which bent lettering ends."""
    if isinstance(bend, Evened):
        return _end_mm(bend.bend, Room(0.0, float(np.interp(room.right, bend.x, bend.along)), 0.0, 0.0, 0.0))
    return bend.start_mm + room.right if isinstance(bend, maps.AlongPath) else 0.0


def _refuse_folds(bend: maps.AlongPath, room: Room) -> None:
    """Refuse letters that reach beyond the centre the path turns about: they would come out inside out."""
    x = np.linspace(room.left, room.right, _SAMPLES)
    for y in (room.top, room.bottom):
        made = bend.derivatives(np.stack([x, np.full(len(x), y)], axis=1))
        turned = made[:, 0, 0] * made[:, 1, 1] - made[:, 0, 1] * made[:, 1, 0]
        if bool((turned[np.isfinite(turned)] <= 0.0).any()):
            raise CannotApply(
                "The path turns too tightly: the letters would fold over.",
                hint="Let the letters be turned only, take smaller ones, or smooth the path.",
            )


def _even(path: Path, bending: Bending, room: Room) -> tuple[Floats, Floats]:
    """Return pairs of a length as set and the length along the path where it comes to, from the room's left."""
    whole = length(path)
    reach = max(room.wide * 2.0, 1e-9)
    along = np.linspace(0.0, reach, _SAMPLES)
    at = bending.start_mm + along
    closed = bool(path.closed.all())
    inside = np.mod(at, whole) if closed else np.clip(at, 0.0, whole)
    there = point_at_length(path, inside)
    curvature = np.nan_to_num(curvature_at(path, there.segments, there.parameters), posinf=0.0, neginf=0.0)
    if not closed:
        curvature[(at < 0.0) | (at > whole)] = 0.0
    height = room.half_height + bending.shift_mm
    pace = np.clip(1.0 + curvature * height, 0.2, 5.0)
    x = np.concatenate([[0.0], np.cumsum(0.5 * (pace[1:] + pace[:-1]) * np.diff(along))])
    return x + room.left, along + room.left


def _arch(bending: Bending, room: Room) -> maps.Bend | None:
    if bending.rise_mm == 0.0 or room.wide <= 0.0:
        return None
    if abs(bending.rise_mm) > 0.5 * room.wide:
        raise CannotApply(
            "The arch would be higher than half its width.",
            hint=phrase("Let it rise by {wide:.1f} mm at most.", wide=0.5 * room.wide),
        )
    return maps.UprightArch(bending.rise_mm, room.left, room.right)


def _corners(bending: Bending, room: Room) -> maps.Bend | None:
    pulls = np.array(bending.corners_mm, dtype=np.float64).reshape(4, 2)
    if not pulls.any() or room.wide <= 0.0 or room.bottom <= room.top:
        return None
    box = (room.left, room.top, room.right, room.bottom)
    corners = np.array([[box[0], box[1]], [box[2], box[1]], [box[2], box[3]], [box[0], box[3]]]) + pulls
    bend = maps.FourCorners(box, tuple((float(x), float(y)) for x, y in corners))  # type: ignore[arg-type]
    if not bend.is_sound:
        raise CannotApply("The frame folds over at a corner.", hint="Pull that corner back outward.")
    return bend
