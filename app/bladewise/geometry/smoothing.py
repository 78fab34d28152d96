"""Stutter taken out of jagged outlines: traced bitmaps with their stairs, shaky freehand lines.

Between its corners an outline becomes the calmest curve that stays within a set distance of it:
points at even steps that balance nearness against the change of direction from step to step
(E. T. Whittaker 1923, with second differences), near only where the curve would otherwise leave its
tube. What the balance takes off bends is put back by smoothing the rest once more (J. W. Tukey's
twicing), and a slight shift gives back the rest of the area. The calm points then become few true curves (`fitting`).

Lengths are mm, y down.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.curves import cross
from bladewise.geometry.fitting import fit_polyline
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import tangent_at
from bladewise.geometry.offset_curves import dot, lengths_of
from bladewise.geometry.overlaps import crossings
from bladewise.geometry.path import Path, joined
from bladewise.geometry.tolerances import KEPT_CORNER_DEG, SMOOTH_JOINT_DEG

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats

_TUBE, _SHIFT, _FIT, _FLAT = 0.55, 0.2, 0.2, 0.05
"""Shares of the amount that the smoothing, the shift that gives the area back, the fit of curves and the flattening
may use; together all of it."""
_STEP = 0.5
"""Points stand this share of the amount apart."""
_MOST_POINTS = 20_000
"""A longer outline gets longer steps."""
_LOOK = 8
"""Points to either side over which a direction is taken in search of corners: four amounts."""
_LEAST_SIZE = 6.0
"""An outline smaller than this many amounts would lose its form: it stays."""
_CALM = 1e-7
"""Weight of nearness at first: bends shorter than some 60 points (its inverse's fourth root) are calmed."""
_NEARER = 10.0
"""A weight grows by no more than this in one round."""
_SPREAD = 2
"""Points to either side of one outside the tube that are drawn nearer, too."""
_ROUNDS = 16
"""Rounds of drawing nearer where the curve leaves its tube."""
_MARGIN = 200
"""A ring without corners is smoothed together with so many of its points again at either end."""
_BLOCK = 48
"""Unknowns eliminated in one go."""
_RETRIES = 4
"""Times the amount is halved where a smoothed outline would cross itself or another."""


def smooth(path: Path, amount_mm: float, *, sharper_than_deg: float = KEPT_CORNER_DEG) -> Path:
    """Return the path without its stutter.

    Parameters
    ----------
    path
        Any path.
    amount_mm
        How far the outline may move: the size of the steps to be taken out, a traced pixel or so.
    sharper_than_deg
        Corners whose sides, looked at over four times the amount, enclose less than this angle are kept.

    Returns
    -------
    Path
        As many subpaths in the same order, of lines, arcs and cubics. A subpath that is smooth as it is,
        smaller than six times the amount, or that could not be smoothed without crossing itself or
        another one, keeps its bits.

    Raises
    ------
    ValueError
        If the amount is not above 0.
    """
    if not amount_mm > 0.0:
        message = f"the amount must be above 0 mm, not {amount_mm}"
        raise ValueError(message)
    before = list(path.subpaths())
    after = [_smoothed(subpath, amount_mm, sharper_than_deg) for subpath in before]
    known = {(each.first, each.second) for each in crossings(before)} if before else set()
    for attempt in range(1, _RETRIES + 1):
        crossed = {
            row
            for each in crossings(after)
            if (each.first, each.second) not in known
            for row in (each.first, each.second)
        }
        if not crossed:
            break
        for row in crossed:
            less = amount_mm / 2.0**attempt
            after[row] = before[row] if attempt == _RETRIES else _smoothed(before[row], less, sharper_than_deg)
    return joined(after)


def _smoothed(subpath: Path, amount_mm: float, sharper_than_deg: float) -> Path:
    closed = bool(subpath.closed[0])
    line = flatten(subpath, _FLAT * amount_mm).coords
    along = np.append(0.0, np.cumsum(lengths_of(np.diff(line, axis=0))))
    if np.ptp(line, axis=0).max() < _LEAST_SIZE * amount_mm:
        return subpath
    corners = _corners(line, along, amount_mm, sharper_than_deg, closed=closed)
    if _is_smooth(subpath, len(corners)):
        return subpath
    step = max(_STEP * amount_mm, along[-1] / _MOST_POINTS)
    if closed and not len(corners):
        count = max(int(along[-1] / step), 8)
        points = _calmed(_at(line, along, np.linspace(0.0, along[-1], count, endpoint=False)), amount_mm, ring=True)
        new = fit_polyline(points, _FIT * amount_mm, closed=True, corners=np.zeros(len(points), np.bool_))
    else:
        stops = np.append(corners, corners[0] + along[-1]) if closed else np.concatenate([[0.0], corners, along[-1:]])
        runs = []
        for start, end in itertools.pairwise(stops.tolist()):
            count = max(round((end - start) / step), 2)
            places = _at(
                line,
                along,
                np.linspace(start, end, count + 1) % along[-1] if closed else np.linspace(start, end, count + 1),
            )
            runs.append(_calmed(places, amount_mm, ring=False)[:-1])
        if not closed:
            runs.append(line[-1:])
        points = np.concatenate(runs)
        is_corner = np.zeros(len(points), np.bool_)
        is_corner[np.cumsum([0] + [len(run) for run in runs[:-1]])] = True
        new = fit_polyline(points, _FIT * amount_mm, closed=closed, corners=is_corner)
    return new if len(new) < len(subpath) or not _is_smooth(subpath, len(corners)) else subpath


def _is_smooth(subpath: Path, corners: int) -> bool:
    """Whether a subpath has no more turns at its nodes than it has corners."""
    index = np.arange(len(subpath))
    after = np.roll(index, -1)
    arriving = tangent_at(subpath, index, np.ones(len(index)))
    leaving = tangent_at(subpath, after, np.zeros(len(index)))
    turn = np.abs(np.arctan2(cross(arriving, leaving), dot(arriving, leaving)))
    if not subpath.closed[0]:
        turn = turn[:-1]
    return int((turn > math.radians(SMOOTH_JOINT_DEG)).sum()) <= corners


def _at(line: Floats, along: Floats, places: Floats) -> Floats:
    """Return points at lengths along a polyline."""
    return np.stack([np.interp(places, along, line[:, axis]) for axis in range(2)], axis=1)


def _corners(line: Floats, along: Floats, amount_mm: float, sharper_than_deg: float, *, closed: bool) -> Floats:
    """Return where along a polyline, in mm, its corners are: at the vertices that stand out there."""
    whole = along[-1]
    step = max(_STEP * amount_mm, whole / _MOST_POINTS)
    count = max(int(whole / step), 2)
    step = whole / count
    here = np.arange(count if closed else count + 1) * step
    offsets = np.arange(-_LOOK, _LOOK + 1) * step
    places = here[:, None] + offsets
    places = places % whole if closed else np.clip(places, 0.0, whole)
    window = _at(line, along, places.ravel()).reshape(*places.shape, 2)
    lever = np.arange(_LOOK + 1) - _LOOK / 2.0  # the slope of the least-squares line through even steps
    back = np.einsum("nkd,k->nd", window[:, : _LOOK + 1], lever)
    ahead = np.einsum("nkd,k->nd", window[:, _LOOK:], lever)
    turn = np.abs(np.arctan2(cross(back, ahead), dot(back, ahead)))
    if not closed:
        turn[: _LOOK // 2] = turn[-_LOOK // 2 :] = 0.0
    around = np.stack([np.roll(turn, shift) for shift in range(-_LOOK, _LOOK + 1)])
    peak = (turn > math.radians(180.0 - sharper_than_deg)) & (turn >= around.max(axis=0))
    found = []
    for place in here[peak]:
        near = np.abs(along - place)
        if closed:
            near = np.minimum(near, whole - near)
        candidates = np.flatnonzero(near <= 1.5 * amount_mm)
        if not closed:
            candidates = candidates[(candidates > 0) & (candidates < len(along) - 1)]
        if not len(candidates):
            continue
        reach = _LOOK * step
        sides = [place - reach, place + reach]
        start, end = _at(line, along, np.array(sides) % whole if closed else np.clip(sides, 0.0, whole))
        out = np.abs(cross(end - start, line[candidates] - start))
        found.append(along[candidates[out.argmax()]] % whole if closed else along[candidates[out.argmax()]])
    corners = np.unique(np.array(found, dtype=np.float64))
    apart = np.diff(corners, prepend=-math.inf) > 2.0 * amount_mm
    if closed and len(corners) > 1 and corners[0] + whole - corners[-1] <= 2.0 * amount_mm:
        apart[-1] = False
    return corners[apart]


def _calmed(points: Floats, amount_mm: float, *, ring: bool) -> Floats:
    """Return evenly spaced points calmed within their tube; the ends of an open run stay."""
    count = len(points)
    if count < 4:
        return points
    margin = min(_MARGIN, count) if ring else 0
    order = np.arange(-margin, count + margin) % count
    weight = np.full(count, _CALM)
    calm = points
    for _ in range(_ROUNDS):
        if not ring:
            weight[[0, -1]] = 1e6
        given = points[order]
        factor = _Balance(weight[order])
        once = factor.solve(given)
        calm = (once + factor.solve(given - once))[margin : margin + count]
        away = lengths_of(calm - points) / (_TUBE * amount_mm)
        outside = away > 1.0
        if not outside.any():
            break
        growth = np.where(outside, np.clip(away**2, 2.0, _NEARER), 1.0)
        shifts = [np.roll(growth, shift) for shift in range(-_SPREAD, _SPREAD + 1)]
        weight = np.minimum(weight * np.max(shifts, axis=0), 1e4)
    if not ring:
        calm[[0, -1]] = points[[0, -1]]
    return _with_its_area(calm, points, amount_mm, ring=ring)


def _with_its_area(calm: Floats, points: Floats, amount_mm: float, *, ring: bool) -> Floats:
    """Return calm points shifted sideways, all of a ring alike and most in the middle of a run, to keep the area."""
    count = len(points)
    after = np.roll(np.arange(count), -1)
    lost = 0.5 * float((cross(points, points[after]) - cross(calm, calm[after])).sum())
    before = np.roll(np.arange(count), 1)
    along = calm[after] - calm[before]
    profile = np.ones(count)
    if not ring:
        profile = np.sin(np.linspace(0.0, math.pi, count))
        along[0] = along[-1] = 0.0
    step = lengths_of(along)
    shift = lost / max(float((profile * step).sum()) / 2.0, 1e-300)
    limit = _SHIFT * amount_mm
    outward = np.stack([along[:, 1], -along[:, 0]], axis=1) / np.maximum(step, 1e-300)[:, None]
    moved: Floats = calm + (min(max(shift, -limit), limit) * profile)[:, None] * outward
    return moved


class _Balance:
    """The system (W + D'D) x = W p, D the second differences: five diagonals, eliminated block by block."""

    def __init__(self, weight: NDArray[np.float64]) -> None:
        count = len(weight)
        self.weight = weight
        size = min(_BLOCK, count)
        self.padded = -(-count // size) * size
        main, one, two = np.ones(self.padded), np.zeros(self.padded), np.zeros(self.padded)
        main[:count] = weight
        for offset, value in ((0, 1.0), (1, 4.0), (2, 1.0)):
            main[offset : count - 2 + offset] += value
        one[: count - 2] -= 2.0
        one[1 : count - 1] -= 2.0
        two[: count - 2] += 1.0
        self.size, blocks = size, self.padded // size
        inner = np.arange(size)
        self.diagonal = np.zeros((blocks, size, size))
        self.upper = np.zeros((blocks, size, size))
        for values, offset in ((main, 0), (one, 1), (two, 2)):
            rows = values.reshape(blocks, size)
            inside = inner[: size - offset]
            self.diagonal[:, inside, inside + offset] = rows[:, : size - offset]
            self.diagonal[:, inside + offset, inside] = rows[:, : size - offset]
            across = inner[size - offset :]
            self.upper[:, across, across + offset - size] = rows[:, size - offset :]
        self.gain = np.zeros_like(self.upper)
        self.inverse = np.zeros_like(self.diagonal)
        for block in range(blocks):
            core = self.diagonal[block]
            if block:
                core = core - self.upper[block - 1].T @ self.gain[block - 1]
            self.inverse[block] = np.linalg.inv(core)
            self.gain[block] = self.inverse[block] @ self.upper[block]

    def solve(self, given: Floats) -> Floats:
        """Return the calm points for given ones, shape (n, 2)."""
        padded = np.zeros((self.padded, 2))
        padded[: len(given)] = self.weight[:, None] * given
        right = padded.reshape(-1, self.size, 2)
        half = np.empty_like(right)
        for block in range(len(right)):
            rest = right[block] - (self.upper[block - 1].T @ half[block - 1] if block else 0.0)
            half[block] = self.inverse[block] @ rest
        for block in range(len(right) - 2, -1, -1):
            half[block] -= self.gain[block] @ half[block + 1]
        solved: Floats = half.reshape(-1, 2)[: len(given)]
        return solved
