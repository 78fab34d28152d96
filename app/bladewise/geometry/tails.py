"""Tails: a swash that leaves a letter's end stroke in its own direction and runs on under the word.

A tail is a spine and a width along it. The spine begins in the middle of the end stroke, tangent to it
and as wide as it, so that both become one piece without a kink; the drawing of the width is made
straight and then bent along the spine (`bending`), so that its edges are true curves.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.bending import AlongPath, bent
from bladewise.geometry.booleans import cut_out, pieces, resolve
from bladewise.geometry.measures import area, length, point_at_length, ring_areas
from bladewise.geometry.path import EMPTY, Path, PathBuilder
from bladewise.geometry.regions import Region

if TYPE_CHECKING:
    from collections.abc import Sequence

_SAMPLES = 1200
"""Places round a letter's outline at which its end stroke is looked for."""

_BLUNT = 0.3
"""What is wider than this share of a letter's size is no end of a stroke but the side of a bowl."""

_SIDE = 0.14
"""How wide a tail leaves such a side, as a share of the letter's size."""


class TailStyle(StrEnum):
    """How a tail runs."""

    SWEEP = "sweep"
    WAVE = "wave"
    BANNER = "banner"
    FLICK = "flick"


class EndStroke(NamedTuple):
    """Where a stroke of a letter ends: the middle of its width there, the way it goes, how wide it is (mm)."""

    place: tuple[float, float]
    way: tuple[float, float]
    width_mm: float


@dataclass(frozen=True, kw_only=True)
class TailShape:
    """The numbers of a tail.

    Parameters
    ----------
    style
        Sweep: round below and back under the word. Wave: the same, swinging up and down. Banner: the same,
        broad in the middle. Flick: straight on and up.
    length_mm
        How far it runs under the word (flick: onward).
    thickness_mm
        How thick its middle is.
    drop_mm
        How far below the word's lower edge its middle runs (flick: how far it rises).
    curl
        How far its end rolls up, 0 to 1 (one and a half turns).
    taper
        How much thinner its end is than its middle, 0 to 1 (a point).
    split
        How deep its end is split in two, 0 to 1 (two fifths of its length).
    """

    style: TailStyle = TailStyle.SWEEP
    length_mm: float
    thickness_mm: float
    drop_mm: float
    curl: float = 0.0
    taper: float = 0.8
    split: float = 0.0


def end_stroke(
    letter: Path, *, leftward: bool = False, low_mm: float = -math.inf, high_mm: float = math.inf
) -> EndStroke:
    """Return the stroke of a letter that ends farthest to the right, or to the left.

    From the tip both edges of the stroke are followed back until they run side by side: there the
    stroke has its width.

    Parameters
    ----------
    letter
        Its outlines; only the largest counts.
    leftward
        Look for the end at the left.
    low_mm, high_mm
        Only ends between these heights (y down) count, if there are any.
    """
    rings = list(letter.subpaths())
    ring = rings[int(np.argmax(np.abs(ring_areas(letter))))]
    whole = length(ring)
    places = point_at_length(ring, np.arange(_SAMPLES) * (whole / _SAMPLES)).points
    reach = -places[:, 0] if leftward else places[:, 0]
    band = (places[:, 1] >= low_mm) & (places[:, 1] <= high_mm)
    tip = int(np.argmax(np.where(band, reach, -np.inf) if band.any() else reach))
    most = _SAMPLES // 6
    back = np.arange(1, most)
    one, two = places[(tip - back) % _SAMPLES], places[(tip + back) % _SAMPLES]
    width = np.hypot(*(one - two).T)
    growth = np.gradient(width) / (whole / _SAMPLES)  # 2 at a blunt end, 0 where the edges run side by side
    settled = np.flatnonzero((growth < 0.5) & (width > 1e-9))
    at = int(settled[0]) if len(settled) else int(np.argmax(width))
    middle = 0.5 * (one[at] + two[at])
    high = float(np.ptp(places, axis=0).max())
    if width[at] > _BLUNT * high:  # no stroke ends there: leave the side of the bowl, downward along it
        inward = (1.0 if leftward else -1.0) * 0.5 * _SIDE * high
        return EndStroke((float(places[tip, 0]) + inward, float(places[tip, 1])), (0.0, 1.0), _SIDE * high)
    # the middles of pairs farther in lie on the stroke's axis, however the tip leans
    near, far = (min(at + step * max(at // 3, 2), len(width) - 1) for step in (1, 2))
    axis = 0.5 * (one[near] + two[near])
    way = axis - 0.5 * (one[far] + two[far])
    if np.hypot(*way) < 1e-9:
        way = places[tip] - middle
    way = way / (float(np.hypot(*way)) or 1.0)
    across = one[at] - two[at]
    middle = axis + way * float((middle - axis) @ way)
    return EndStroke(
        (float(middle[0]), float(middle[1])),
        (float(way[0]), float(way[1])),
        abs(float(across[0] * way[1] - across[1] * way[0])),
    )


def spine_of(end: EndStroke, word: Sequence[float], shape: TailShape, *, leftward: bool = False) -> Path:
    """Return the line a tail runs along, from the end stroke to its tip.

    Parameters
    ----------
    end
        Where it begins.
    word
        The word it runs under: left, top, right, bottom.
    shape
        Its numbers.
    leftward
        It leaves the first letter, at the left, and runs back to the right.
    """
    back = 1.0 if leftward else -1.0  # the way it runs under the word
    x, y = end.place
    places: list[tuple[float, float]] = [(x, y)]
    ways: list[tuple[float, float]] = [end.way]
    edge = word[0] if leftward else word[2]
    under = word[3] + shape.drop_mm
    if shape.style is TailStyle.FLICK:
        places.append((x - back * shape.length_mm, y - shape.drop_mm))
        ways.append(_unit(-back, -0.9))
    else:
        turn = max(0.5 * (under - y), shape.thickness_mm)
        places.append((edge - back * 0.55 * turn, 0.5 * (y + under)))
        ways.append((0.0, 1.0))
        swings = (0.5,) if shape.style is not TailStyle.WAVE else (0.25, 0.5, 0.75)
        lift = 0.0 if shape.style is not TailStyle.WAVE else 0.35 * shape.drop_mm
        for number, share in enumerate(swings):
            up = lift * (1.0 if number % 2 == 0 else -1.0)
            places.append((edge + back * share * shape.length_mm, under - up))
            ways.append((back, 0.0))
        places.append((edge + back * shape.length_mm, under - 0.3 * shape.drop_mm))
        ways.append(_unit(back, -0.35))
    builder = PathBuilder()
    builder.move_to(places[0])
    for (p0, w0), (p1, w1) in itertools.pairwise(zip(places, ways, strict=True)):
        handle = 0.4 * math.dist(p0, p1)
        one = (p0[0] + handle * w0[0], p0[1] + handle * w0[1])
        two = (p1[0] - handle * w1[0], p1[1] - handle * w1[1])
        builder.cubic_to(one, two, p1)
    _roll(builder, places[-1], ways[-1], shape, back)
    return builder.path()


def tail(end: EndStroke, spine: Path, shape: TailShape) -> Path:
    """Return the outline of a tail along its spine, resolved where a tight curl overlaps itself."""
    whole = length(spine)
    if whole <= 0.0:
        return EMPTY
    body = _body(end, whole, shape)
    if shape.split > 0.0:  # parted while straight: where a thick curl lies over itself the slit parts no other turn
        body = cut_out(Region(body), [Region(_slit(whole, shape))])
    made = resolve(Region(bent(body, AlongPath(spine))))
    # where a tail is thicker than its spine is long, crumbs lie beside it
    return max(pieces(made), key=lambda part: abs(area(part)), default=EMPTY)


def _body(end: EndStroke, whole: float, shape: TailShape) -> Path:
    """Return the tail drawn straight along x: as wide as the stroke, then as thick as asked, then tapering."""
    middle = 0.5 * shape.thickness_mm
    start = min(0.5 * end.width_mm, 1.5 * middle)
    tip = middle * (1.0 - shape.taper)
    if shape.style is TailStyle.BANNER:
        rise, fall = 0.3 * whole, 0.8 * whole
    else:
        rise, fall = 0.35 * whole, 0.5 * whole
    builder = PathBuilder()
    builder.move_to((0.0, -start))
    third = rise / 3.0
    builder.cubic_to((third, -start), (rise - third, -middle), (rise, -middle))
    builder.line_to((fall, -middle))
    ease = (whole - fall) / 3.0
    builder.cubic_to((fall + ease, -middle), (whole - ease, -tip - 0.4 * (middle - tip)), (whole, -tip))
    if tip > 1e-6:
        builder.cubic_to((whole + 1.3333 * tip, -tip), (whole + 1.3333 * tip, tip), (whole, tip))
    builder.cubic_to((whole - ease, tip + 0.4 * (middle - tip)), (fall + ease, middle), (fall, middle))
    builder.line_to((rise, middle))
    builder.cubic_to((rise - third, middle), (third, start), (0.0, start))
    builder.close()
    return builder.path()


def _slit(whole: float, shape: TailShape) -> Path:
    """Return the wedge that parts the end of a straight tail in two."""
    begin = whole * (1.0 - 0.4 * shape.split)
    middle = 0.5 * shape.thickness_mm
    wide = max(0.45 * middle * (1.0 - shape.taper), 0.12 * middle)
    beyond = whole + 3.0 * middle
    builder = PathBuilder()
    builder.move_to((begin, 0.0))
    builder.cubic_to((begin + 0.5 * (whole - begin), -0.2 * wide), (whole, -wide), (beyond, -1.5 * wide))
    builder.line_to((beyond, 1.5 * wide))
    builder.cubic_to((whole, wide), (begin + 0.5 * (whole - begin), 0.2 * wide), (begin, 0.0))
    builder.close()
    return builder.path()


def _roll(
    builder: PathBuilder, place: tuple[float, float], way: tuple[float, float], shape: TailShape, back: float
) -> None:
    """Let the end roll up: quarter turns, each three quarters of the one before, away from the word."""
    left = 1.5 * 4.0 * min(max(shape.curl, 0.0), 1.0)
    radius = max(0.9 * shape.drop_mm, 1.2 * shape.thickness_mm)
    heading = math.atan2(way[1], way[0])
    side = back  # rolls down and away from the word
    x, y = place
    while left > 1e-9:
        turn = min(left, 1.0) * 0.5 * math.pi
        handle = 4.0 / 3.0 * math.tan(turn / 4.0) * radius
        after = heading + side * turn
        cx, cy = x - side * radius * math.sin(heading), y + side * radius * math.cos(heading)
        end = (cx + side * radius * math.sin(after), cy - side * radius * math.cos(after))
        one = (x + handle * math.cos(heading), y + handle * math.sin(heading))
        two = (end[0] - handle * math.cos(after), end[1] - handle * math.sin(after))
        builder.cubic_to(one, two, end)
        (x, y), heading = end, after
        radius *= 0.72
        left -= 1.0


def middle_of(spine: Path, share: float = 0.5) -> tuple[float, float]:
    """Return the lengths along a spine between which its middle part lies, in mm."""
    whole = length(spine)
    return whole * 0.5 * (1.0 - share), whole * 0.5 * (1.0 + share)


def _unit(x: float, y: float) -> tuple[float, float]:
    size = math.hypot(x, y)
    return x / size, y / size


def blended(end: EndStroke, other: EndStroke) -> Path:
    """Return the strip that joins two strokes: tangent to both, as wide as each at its end."""
    (x0, y0), (x1, y1) = end.place, other.place
    handle = 0.4 * math.hypot(x1 - x0, y1 - y0)
    if handle <= 1e-9:
        return EMPTY
    builder = PathBuilder()
    builder.move_to((x0, y0))
    builder.cubic_to(
        (x0 + handle * end.way[0], y0 + handle * end.way[1]),
        (x1 + handle * other.way[0], y1 + handle * other.way[1]),
        (x1, y1),
    )
    spine = builder.path()
    whole = length(spine)
    start, stop = 0.5 * end.width_mm, 0.5 * other.width_mm
    third = whole / 3.0
    edge = PathBuilder()
    edge.move_to((0.0, -start))
    edge.cubic_to((third, -start), (whole - third, -stop), (whole, -stop))
    edge.line_to((whole, stop))
    edge.cubic_to((whole - third, stop), (third, start), (0.0, start))
    edge.close()
    return resolve(Region(bent(edge.path(), AlongPath(spine))))
