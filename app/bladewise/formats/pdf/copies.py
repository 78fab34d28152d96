"""Art that lies on a sheet many times: found once, so that a file says it once and names its places.

Copies are elements, or rows of elements beside one another, that differ by a move alone and look the same. How a
repetition is found: every element gets a number, the same for those alike; a row that is followed by itself, each
time moved as a whole, is a run of copies.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.document import Gradient, Group, Picture, leaves_in, outline_of
from bladewise.formats.pdf.shadings import has_clear_stops
from bladewise.geometry.affine import Affine
from bladewise.layout.alike import key_of

if TYPE_CHECKING:
    from collections.abc import Container, Hashable, Sequence

    from bladewise.document import Box, Element, Leaf, Paint, Style
    from bladewise.geometry.path import Point

_DECIMALS = 5
"""Of a millimetre, for the places of copies; as `layout.alike` has them for outlines."""
_APART_MM = 1e-5
"""Copies whose parts lie no farther off than this are copies."""
_TRIES = 48
"""So many lengths of a row are tried: it may hold so many elements alike among others."""
_LEAST_SAVED = 200
"""Segments not to be written again, below which nothing is gained by saying them once."""


class Likeness(NamedTuple):
    """What an element is but for its place: a number, its place in mm, and how many segments it has.

    Of the number 0 no two are alike.
    """

    number: int
    place: Point
    size: int


class Run(NamedTuple):
    """A row of elements, and how far each of its copies is moved from it, in mm; the row itself comes first."""

    numbers: tuple[int, ...]
    elements: tuple[Element, ...]
    moves: tuple[Point, ...]


class Copies:
    """Knows which elements of a job are alike.

    Parameters
    ----------
    left_out
        The ids of leaves that are not painted with the others.
    """

    def __init__(self, left_out: Container[str]) -> None:
        """Begin with nothing known."""
        self._left_out = left_out
        self._numbers: dict[Hashable, int] = {}
        self._known: dict[int, tuple[Element, Likeness]] = {}
        self._pictures: dict[int, tuple[bytes, bytes]] = {}

    def runs(self, elements: Sequence[Element]) -> list[Run]:
        """Return the painted ones of some elements, in their order, copies in a row as one run."""
        shown = [each for each in elements if each.visible and each.id not in self._left_out]
        alike = [self._likeness(each) for each in shown]
        numbers = [each.number for each in alike]
        later: dict[int, list[int]] = {}
        for index, number in enumerate(numbers):
            if number:
                later.setdefault(number, []).append(index)
        places = np.array([each.place for each in alike], dtype=float).reshape(-1, 2)
        sizes = np.cumsum([0, *(each.size for each in alike)])
        runs: list[Run] = []
        index = 0
        while index < len(shown):
            length, moves = _longest(numbers, places, index, later.get(numbers[index], ()))
            if (len(moves) - 1) * int(sizes[index + length] - sizes[index]) < _LEAST_SAVED:
                length, moves = 1, [(0.0, 0.0)]
            row = slice(index, index + length)
            runs.append(Run(tuple(numbers[row]), tuple(shown[row]), tuple(moves)))
            index += length * len(moves)
        return runs

    def _likeness(self, element: Element) -> Likeness:
        known = self._known.get(id(element))
        if known is None:
            found = self._of_group(element) if isinstance(element, Group) else self._of_leaf(element)
            known = self._known[id(element)] = (element, found)
        return known[1]

    def _of_group(self, group: Group) -> Likeness:
        parts = [self._likeness(each) for each in group.children if each.visible and each.id not in self._left_out]
        size = sum(each.size for each in parts)
        if not parts or not all(each.number for each in parts):
            return Likeness(0, (0.0, 0.0), size)
        x, y = parts[0].place
        told = tuple((each.number, *_rounded(each.place[0] - x, each.place[1] - y)) for each in parts)
        return Likeness(self._number((group.opacity, told)), (x, y), size)

    def _of_leaf(self, leaf: Leaf) -> Likeness:
        if isinstance(leaf, Picture):
            *linear, x, y = leaf.transform
            told = (self._digest(leaf.data), tuple(round(each, 9) for each in linear), leaf.opacity)
            return Likeness(self._number(told), (x, y), 1)
        path = outline_of(leaf)
        if not path:
            return Likeness(self._number(None), (0.0, 0.0), 0)
        x, y = path.points[0, 0].tolist()
        style = _style_at(leaf.style, (x, y))
        if style is None:
            return Likeness(0, (x, y), len(path))
        return Likeness(self._number((key_of(path, path.points[0, 0]), style)), (x, y), len(path))

    def _number(self, told: Hashable) -> int:
        return self._numbers.setdefault(told, len(self._numbers) + 1)

    def _digest(self, data: bytes) -> bytes:
        known = self._pictures.get(id(data))
        if known is None:
            known = self._pictures[id(data)] = (data, hashlib.sha256(data).digest())
        return known[1]


def reach_of_all(elements: Sequence[Element]) -> Box:
    """Return a box in mm that surely holds all that some elements paint, strokes with their points too."""
    low, high = np.full(2, np.inf), np.full(2, -np.inf)
    for leaf in leaves_in(elements):
        if isinstance(leaf, Picture):
            corners, reach = np.array(leaf.bounds, dtype=float).reshape(2, 2), 0.0
        else:
            corners, stroke = outline_of(leaf).points.reshape(-1, 2), leaf.style.stroke
            pen = max(map(abs, stroke.pen[:4])) * 2.0 if stroke is not None and stroke.pen is not None else 1.0
            reach = 0.0 if stroke is None else stroke.width_mm * pen * max(1.5, stroke.miter_limit)
        if len(corners):
            low = np.minimum(low, corners.min(axis=0) - reach)
            high = np.maximum(high, corners.max(axis=0) + reach)
    if not (low <= high).all():
        return 0.0, 0.0, 0.0, 0.0
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _longest(
    numbers: list[int], places: np.ndarray[tuple[int, ...], np.dtype[np.float64]], start: int, same: Sequence[int]
) -> tuple[int, list[Point]]:
    """Return how many elements from a start are repeated, and the moves of all copies; of the longest such run."""
    best: tuple[int, list[Point]] = (1, [(0.0, 0.0)])
    tried = 0
    for other in same:
        if other <= start:
            continue
        if tried == _TRIES:
            break
        tried += 1
        length = other - start
        row, first = numbers[start:other], places[start:other]
        if 0 in row:
            break
        moves = [(0.0, 0.0)]
        at = other
        while numbers[at : at + length] == row:
            shift = places[at : at + length] - first
            if np.ptp(shift, axis=0).max() > _APART_MM:
                break
            moves.append((float(shift[0, 0]), float(shift[0, 1])))
            at += length
        if len(moves) > 1 and length * len(moves) > best[0] * len(best[1]):
            best = length, moves
        if at == len(numbers):
            break
    return best


def _style_at(style: Style, place: Point) -> Style | None:
    """Return a style with gradients as seen from a place; None where it lets some of what is below show by a mask."""
    paints: list[Paint | None] = [style.fill, style.stroke.paint if style.stroke is not None else None]
    gradients = [paint for paint in paints if isinstance(paint, Gradient)]
    if not gradients:
        return style
    if any(has_clear_stops(each) for each in gradients):
        return None
    fill, stroke = style.fill, style.stroke
    if isinstance(fill, Gradient):
        fill = _gradient_at(fill, place)
    if stroke is not None and isinstance(stroke.paint, Gradient):
        stroke = replace(stroke, paint=_gradient_at(stroke.paint, place))
    return replace(style, fill=fill, stroke=stroke)


def _gradient_at(gradient: Gradient, place: Point) -> Gradient:
    a, b, c, d, x, y = gradient.transform
    x, y = _rounded(x - place[0], y - place[1])
    seen = Affine(round(a, 9), round(b, 9), round(c, 9), round(d, 9), x, y)
    return replace(gradient, transform=seen)


def _rounded(x: float, y: float) -> tuple[float, float]:
    return round(x, _DECIMALS) + 0.0, round(y, _DECIMALS) + 0.0
