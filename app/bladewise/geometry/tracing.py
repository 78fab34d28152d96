"""The outline of a mask of pixels: where its values pass a level, found below the pixel, as few true curves.

Marching squares (W. E. Lorensen and H. E. Cline's marching cubes, 1987, in the plane): every square of four
pixel middles is crossed by the outline in one of sixteen ways, and along a square's side the crossing lies
where the values, taken to run evenly from one pixel's middle to the next, reach the level. A saddle is told
by the mean of its four values. A pixel's value is how much of it is covered, so the outline of smooth edges
comes out well below a pixel. The rings of chords are then fitted (`fitting`).

Lengths are pixels, y down, the mask's top left corner the origin; x runs along the second axis of the array.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.affine import Affine
from bladewise.geometry.booleans import keep_common, resolve
from bladewise.geometry.fitting import fit_polylines
from bladewise.geometry.path import EMPTY, joined, rectangle
from bladewise.geometry.regions import FillRule, Region
from bladewise.geometry.tolerances import HARD_TRACING_PX, LEAST_SPECK_PX2, MOST_TRACED_POINTS, TRACING_PX

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from bladewise.geometry.path import Floats, Path

_TOP, _RIGHT, _BOTTOM, _LEFT = range(4)
_WAYS: dict[int, tuple[tuple[int, int], ...]] = {
    1: ((_TOP, _LEFT),),
    2: ((_RIGHT, _TOP),),
    3: ((_RIGHT, _LEFT),),
    4: ((_BOTTOM, _RIGHT),),
    6: ((_BOTTOM, _TOP),),
    7: ((_BOTTOM, _LEFT),),
    8: ((_LEFT, _BOTTOM),),
    9: ((_TOP, _BOTTOM),),
    11: ((_RIGHT, _BOTTOM),),
    12: ((_LEFT, _RIGHT),),
    13: ((_TOP, _RIGHT),),
    14: ((_LEFT, _TOP),),
}
"""From which side of a square to which the outline runs, with what is inside on its right as seen on the screen; by
the corners inside: top left 1, top right 2, bottom right 4, bottom left 8."""
_SADDLES: dict[int, tuple[tuple[tuple[int, int], ...], tuple[tuple[int, int], ...]]] = {
    5: (((_TOP, _LEFT), (_BOTTOM, _RIGHT)), ((_TOP, _RIGHT), (_BOTTOM, _LEFT))),
    10: (((_RIGHT, _TOP), (_LEFT, _BOTTOM)), ((_LEFT, _TOP), (_RIGHT, _BOTTOM))),
}
"""The same for two corners across from each other: with the middle outside, and with it inside."""
_SHEER = 0.98
"""Neighbouring pixels whose values differ by more than this have no soft edge between them."""
_MOSTLY = 0.7
"""A mask is hard where more than this share of its edge is: straight upright edges of soft masks are sheer, too."""


def level_rings(mask: ArrayLike, level: float) -> list[Floats]:
    """Return the closed lines along which a mask's values pass a level.

    Parameters
    ----------
    mask
        Values of 0 and more, shape (rows, columns); all around it they are taken to be 0.
    level
        What is at least this is inside; above 0.

    Returns
    -------
    rings
        Each of shape (n, 2) in pixels, the first point not repeated; clockwise on the screen around what is
        inside, the other way around holes. Where the mask is cut off inside, the line runs half a pixel or less
        outside the outermost middles.
    """
    inner = np.asarray(mask, dtype=np.float32)
    if inner.ndim != 2 or not inner.size:
        return []
    values = np.pad(inner, 1)
    high, wide = values.shape
    inside = values >= level
    code = (
        inside[:-1, :-1] + np.uint8(2) * inside[:-1, 1:] + np.uint8(4) * inside[1:, 1:] + np.uint8(8) * inside[1:, :-1]
    )
    rows, columns = np.nonzero((code > 0) & (code < 15))
    code = code[rows, columns]
    corners = values[rows, columns], values[rows, columns + 1], values[rows + 1, columns + 1], values[rows + 1, columns]
    over = sum(corners) >= 4.0 * level
    starts: list[NDArray[np.int64]] = []
    ends: list[NDArray[np.int64]] = []

    def side(chosen: NDArray[np.int64], which: int) -> NDArray[np.int64]:
        """Return the numbers of one side of some squares: first all that lie along x, then all along y."""
        down, across = int(which == _BOTTOM), int(which == _RIGHT)
        upright = high * wide if which in (_LEFT, _RIGHT) else 0
        numbers: NDArray[np.int64] = upright + (rows[chosen] + down) * wide + columns[chosen] + across
        return numbers

    def run(squares: NDArray[np.bool_], ways: tuple[tuple[int, int], ...]) -> None:
        chosen = np.flatnonzero(squares)
        for start, end in ways:
            starts.append(side(chosen, start))
            ends.append(side(chosen, end))

    for which, ways in _WAYS.items():
        run(code == which, ways)
    for which, (apart, together) in _SADDLES.items():
        run((code == which) & ~over, apart)
        run((code == which) & over, together)

    used, following = np.concatenate(starts), np.concatenate(ends)
    order = np.argsort(used)
    used, following = used[order], following[order]
    places = _crossings(values, used, level)
    return [places[ring] for ring in _loops(np.searchsorted(used, following).tolist())]


def _crossings(values: NDArray[np.float32], sides: NDArray[np.int64], level: float) -> Floats:
    """Return where the values pass the level on some sides of squares, in pixels of the mask within its border."""
    high, wide = values.shape
    along_y, place = np.divmod(sides, high * wide)
    row, column = np.divmod(place, wide)
    first = values[row, column].astype(np.float64)
    second = values[row + along_y, column + (1 - along_y)].astype(np.float64)
    share = (level - first) / (second - first)
    x, y = column + share * (1 - along_y), row + share * along_y
    return np.stack([x, y], axis=1) - 0.5  # a border of one pixel, and pixels have their middles at halves


def _loops(follower: list[int]) -> list[list[int]]:
    """Return the loops of a permutation."""
    seen = bytearray(len(follower))
    loops = []
    for start in range(len(follower)):
        if seen[start]:
            continue
        loop, here = [], start
        while not seen[here]:
            seen[here] = 1
            loop.append(here)
            here = follower[here]
        loops.append(loop)
    return loops


def traced(
    mask: ArrayLike, level: float = 0.5, *, tolerance_px: float = TRACING_PX, least_px2: float = LEAST_SPECK_PX2
) -> Path:
    """Return the outline of what is at least a level in a mask, as few lines, arcs and cubics.

    Parameters
    ----------
    mask
        Values from 0 to 1, shape (rows, columns): how much of each pixel is covered.
    level
        What is at least this counts as painted; above 0.
    tolerance_px
        How far, in pixels, the curves may be from the chords of the marching squares.
    least_px2
        Specks and pinholes of less than this area, in pixels, are dropped.

    Returns
    -------
    Path
        In pixels; outer outlines clockwise on the screen, holes the other way. Where what is painted reaches the
        mask's border it ends there, with square corners. Empty where nothing is. Of a mask whose outline is
        very long (`MOST_TRACED_POINTS`) pixels are joined by four first.

    Examples
    --------
    >>> traced(np.ones((3, 5))).bounds()
    (0.0, 0.0, 5.0, 3.0)
    """
    values = np.asarray(mask, dtype=np.float32)
    if values.ndim != 2 or not values.size:
        return EMPTY
    high, wide = values.shape
    if values.min() >= level:
        return rectangle(0.0, 0.0, float(wide), float(high))
    hard = _is_hard(values, level)
    border = np.concatenate([values[0], values[-1], values[:, 0], values[:, -1]])
    cut_off = bool((border >= level).any())
    # where the mask cuts art off, the art is taken to go on beyond and is then cut off by its box, sharply
    beyond = 4 if cut_off else 0
    field = np.pad(values, beyond, mode="edge")
    if hard:
        beyond += 2
        field = _softened(np.pad(field, 2), level)
    rings = [ring - beyond for ring in level_rings(field, 0.5 if hard else level)]
    rings = [ring for ring in rings if abs(_area(ring)) >= least_px2]
    if sum(len(ring) for ring in rings) > MOST_TRACED_POINTS and min(high, wide) > 1:
        half = traced(_joined_by_four(values), level, tolerance_px=tolerance_px, least_px2=least_px2)
        coarse = half.transformed(Affine(2.0, 0.0, 0.0, 2.0))
        odd = bool(high % 2 or wide % 2)
        return keep_common([Region(coarse), Region(rectangle(0.0, 0.0, wide, high))]) if odd and coarse else coarse
    if not rings:
        return EMPTY
    near = max(tolerance_px, HARD_TRACING_PX) if hard else tolerance_px
    outlines = Region(joined(fit_polylines(rings, near, closed=True)), FillRule.EVEN_ODD)
    return keep_common([outlines, Region(rectangle(0.0, 0.0, wide, high))]) if cut_off else resolve(outlines)


def _joined_by_four(values: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return a mask of half the size, each pixel the mean of four."""
    even = np.pad(values, [(0, values.shape[0] % 2), (0, values.shape[1] % 2)], mode="edge")
    mean: NDArray[np.float32] = (even[::2, ::2] + even[1::2, ::2] + even[::2, 1::2] + even[1::2, 1::2]) / np.float32(
        4.0
    )
    return mean


def _is_hard(values: NDArray[np.float32], level: float) -> bool:
    """Whether a mask's edge is all or nothing, pixel by pixel: then its steps are no shape."""
    inside = values >= level
    steps = [(values[1:], values[:-1], inside[1:] != inside[:-1])]
    steps.append((values[:, 1:], values[:, :-1], inside[:, 1:] != inside[:, :-1]))
    whole = sum(int(edge.sum()) for _, _, edge in steps)
    sheer = sum(int((np.abs(one - two)[edge] > _SHEER).sum()) for one, two, edge in steps)
    return sheer > _MOSTLY * whole


def _softened(values: NDArray[np.float32], level: float) -> NDArray[np.float32]:
    """Return how much of a mask is inside around each pixel, by binomial weights over five by five."""
    field = (values >= level).astype(np.float32)
    weights = np.array([1.0, 4.0, 6.0, 4.0, 1.0], dtype=np.float32) / 16.0
    for axis in (0, 1):
        padded = np.pad(field, [(2, 2) if each == axis else (0, 0) for each in (0, 1)], mode="edge")
        size = field.shape[axis]
        field = sum(weight * padded.take(range(at, at + size), axis=axis) for at, weight in enumerate(weights))
    return field


def _area(ring: Floats) -> float:
    x, y = (ring - ring[0]).T
    return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
