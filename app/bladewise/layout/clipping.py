"""Art cut along the lines about it, as areas: what lies outside the pieces is gone, curves stay curves.

For pictures on paper, which are put into frames and must not reach beyond them. Only art that a line crosses is
worked on, many leaves at a time: one by one each would be held against the whole of a line about all of them. Of a
placed bitmap the pixels outside become clear (`cut_pictures`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
import shapely

from bladewise.document import (
    CutKind,
    Gradient,
    Group,
    Picture,
    Shape,
    Style,
    leaves_in,
    measure_together,
    outline_of,
)
from bladewise.geometry import booleans
from bladewise.geometry.affine import Affine
from bladewise.geometry.flatten import flatten
from bladewise.geometry.kernel import curve_true
from bladewise.geometry.path import Path, joined
from bladewise.geometry.regions import FillRule, Region
from bladewise.geometry.tolerances import FLATTENING_MM
from bladewise.geometry.winding import contains
from bladewise.layout.alike import Key, key_of
from bladewise.layout.cut_pictures import cut_picture
from bladewise.layout.portions import portion
from bladewise.operations.coats import areas_of
from bladewise.operations.cut_regions import lines_to_cut
from bladewise.operations.declaration import quiet
from bladewise.operations.marking import reach_of
from bladewise.operations.painted import is_hairline, stroke_area

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from bladewise.document import Box, Element, Job, Leaf, Lettering, Paint
    from bladewise.operations.declaration import Progress

_AT_ONCE = 100
"""So many leaves are cut at once: fewer read a long line more often, more keep whoever stops waiting."""
_LONG = 2000
"""A line of more segments than this goes about much art: nothing in it lies just as a copy does in another."""


def pieces_of(job: Job) -> Path:
    """Return the pieces that the customer holds: inside kiss cuts, and inside other cuts that hold no kiss cut."""
    kiss: list[Region] = []
    others: list[Region] = []
    for placed in lines_to_cut(job):
        if isinstance(placed.leaf, Shape) and (rings := _closed(placed.leaf)):
            (kiss if job.material_of(placed).cut is CutKind.KISS else others).append(rings)
    marks = np.array([each.path.points[0, 0] for each in kiss]).reshape(-1, 2)
    alone = [each for each in others if not contains(each, marks).any()]
    return booleans.merge([*kiss, *alone])


def clipped(children: tuple[Element, ...], pieces: Path, progress: Progress = quiet) -> tuple[Element, ...]:
    """Return what of some elements lies in the pieces.

    Parameters
    ----------
    children
        Elements of a layer.
    pieces
        A resolved path: outer rings and holes.
    progress
        Told from 0 to 1 between portions of the work; it may raise `Cancelled`.
    """
    measure_together(children)
    leaves = list(leaves_in(children))
    return tuple(_regrouped(children, iter(_Clipper(pieces, progress).parts(leaves))))


def _regrouped(children: Sequence[Element], parts: Iterator[list[Leaf]]) -> list[Element]:
    """Return elements with what is left of each leaf in its stead, groups of which nothing is left gone."""
    found: list[Element] = []
    for child in children:
        if isinstance(child, Group):
            inner = _regrouped(child.children, parts)
            if inner:
                found.append(replace(child, children=tuple(inner)))
        else:
            found += next(parts)
    return found


_Key: TypeAlias = tuple[Key, Key, Style]
_Drawn: TypeAlias = "Shape | Lettering"


@dataclass(frozen=True)
class _Across:
    """A leaf that a line crosses, or that lies all about a piece."""

    place: int
    leaf: _Drawn
    outline: Path
    near: tuple[int, ...]
    """The rings that it may meet."""


class _Clipper:
    def __init__(self, pieces: Path, progress: Progress) -> None:
        self._rings = list(pieces.subpaths())
        self._sizes = np.array([len(ring) for ring in self._rings])
        self._boxes = np.array([ring.bounds() for ring in self._rings], dtype=float).reshape(-1, 4)
        self._near_tree = shapely.STRtree(shapely.box(*self._boxes.T))
        self._lines = shapely.STRtree([shapely.LinearRing(flatten(ring).coords) for ring in self._rings])
        self._inside = areas_of([Region(pieces)], FLATTENING_MM)[0]
        shapely.prepare(self._inside)
        self._progress = progress
        self._pictures: dict[tuple[bytes, tuple[float, ...], Key], tuple[Picture, Picture | None]] = {}

    def parts(self, leaves: Sequence[Leaf]) -> list[list[Leaf]]:
        """Return what is left of each leaf."""
        found: list[list[Leaf]] = [[] for _ in leaves]
        drawn: list[_Across] = []
        for place, leaf in enumerate(leaves):
            if isinstance(leaf, Picture):
                self._progress(0.2 * place / len(leaves))
                found[place] = self._picture(leaf)
            elif leaf.bounds is not None and (near := self._near(leaf.bounds, _reach(leaf))):
                drawn.append(_Across(place, leaf, outline_of(leaf), near))
        self._progress(0.2)
        if not drawn:
            return found
        crossed = self._crossed(drawn)
        first: Any = np.array([each.outline.points[0, 0] for each in drawn])
        within = shapely.contains_xy(self._inside, first).tolist()
        across = []
        for each, is_crossed, is_within in zip(drawn, crossed, within, strict=True):
            if is_crossed or self._lies_about(each):
                across.append(each)
            elif is_within:
                found[each.place] = [each.leaf]
        for place, parts in self._cut(across):
            found[place] = parts
        return found

    def _near(self, box: Box, reach_mm: float) -> tuple[int, ...]:
        grown = shapely.box(box[0] - reach_mm, box[1] - reach_mm, box[2] + reach_mm, box[3] + reach_mm)
        return tuple(sorted(self._near_tree.query(grown).tolist()))

    def _crossed(self, drawn: Sequence[_Across]) -> list[bool]:
        """Whether what each paints reaches a line."""
        flat = flatten(joined(each.outline for each in drawn))
        owner = np.repeat(np.arange(len(drawn)), [len(each.outline.starts) for each in drawn])
        sizes = np.diff(np.append(flat.starts, len(flat.coords)))
        lines: Any = shapely.linestrings(flat.coords, indices=np.repeat(np.arange(len(sizes)), sizes))
        reach = np.array([_reach(each.leaf) for each in drawn])[owner]
        found = np.zeros(len(drawn), np.bool_)
        found[owner[self._lines.query(lines, predicate="dwithin", distance=reach)[0]]] = True
        return [bool(each) for each in found]

    def _lies_about(self, drawn: _Across) -> bool:
        """Whether a leaf that no line crosses has a piece or a hole in the midst of it."""
        box, style = drawn.leaf.bounds, drawn.leaf.style
        if style.fill is None or box is None:
            return False
        low, high = self._boxes[list(drawn.near), :2], self._boxes[list(drawn.near), 2:]
        held = np.flatnonzero((low >= box[:2]).all(axis=1) & (high <= box[2:]).all(axis=1)).tolist()
        starts = [self._rings[drawn.near[number]].points[0, 0] for number in held]
        return bool(starts) and bool(contains(Region(drawn.outline, style.fill_rule), starts).any())

    def _picture(self, picture: Picture) -> list[Leaf]:
        box = picture.bounds
        near = [self._rings[ring] for ring in self._near(box, 0.0)] if box is not None else []
        if not near:
            return []
        origin = np.array(picture.transform[4:])
        key = picture.data, tuple(round(each, 9) for each in picture.transform[:4]), key_of(joined(near), origin)
        if key not in self._pictures:
            self._pictures[key] = picture, cut_picture(picture, near)
        first, part = self._pictures[key]
        if part is first:
            return [picture]
        if part is None:
            return []
        dx, dy = origin - first.transform[4:]
        place = Affine.moved(float(dx), float(dy)).after(part.transform)
        return [replace(picture, data=part.data, media_type=part.media_type, transform=place)]

    def _cut(self, across: Sequence[_Across]) -> Iterator[tuple[int, list[Leaf]]]:
        """Yield what the fills and strokes of leaves leave in the pieces, each as a shape; copies are cut once."""
        alike: dict[_Key | int, list[_Across]] = {}
        for each in across:
            alike.setdefault(self._key(each), []).append(each)
        groups = list(alike.values())
        for start in range(0, len(groups), _AT_ONCE):
            some = groups[start : start + _AT_ONCE]
            share = portion(
                self._progress, 0.2 + 0.8 * start / len(groups), 0.2 + 0.8 * (start + len(some)) / len(groups)
            )
            for group, parts in zip(some, self._cut_portion([group[0] for group in some], share), strict=True):
                begun = group[0].outline.points[0, 0]
                for each in group:
                    yield each.place, _shapes(each.leaf, parts, Affine.moved(*(each.outline.points[0, 0] - begun)))
        self._progress(1.0)

    def _key(self, drawn: _Across) -> _Key | int:
        """Return what is the same for copies of a leaf in copies of a piece; for what has none, its own number."""
        rings, style = list(drawn.near), drawn.leaf.style
        if self._sizes[rings].sum() > _LONG or any(isinstance(paint, Gradient) for paint in _paints(style)):
            return drawn.place
        origin = drawn.outline.points[0, 0]
        return key_of(drawn.outline, origin), key_of(joined(self._rings[ring] for ring in rings), origin), style

    def _cut_portion(self, across: Sequence[_Across], progress: Progress) -> list[list[tuple[Path, Style]]]:
        """Return what is left of leaves, the curves of all of them cut at once: for each, areas with how they look."""
        coats: list[tuple[int, Region, Style]] = []
        for number, each in enumerate(across):
            progress(0.5 * number / len(across))  # strokes take their time
            coats += [(number, *coat) for coat in _coats(each.leaf, each.outline)]
        rings = sorted({ring for each in across for ring in each.near})
        pieces = Region(joined(self._rings[ring] for ring in rings))
        found: list[list[tuple[Path, Style]]] = [[] for _ in across]
        paths = curve_true(
            [pieces, *(region for _, region, _ in coats)],
            lambda polygons: list(shapely.intersection(polygons[1:], polygons[0])),
        )
        for (number, _, style), path in zip(coats, paths, strict=True):
            if path:
                found[number].append((path, style))
        return found


def _coats(leaf: _Drawn, outline: Path) -> list[tuple[Region, Style]]:
    """Return what a leaf paints, from the back to the front, as areas with how they look."""
    style, found = leaf.style, []
    if style.fill is not None:
        filled = replace(style, stroke=None, fill_rule=FillRule.NONZERO)
        found.append((Region(outline, style.fill_rule), filled))
    if style.stroke is not None and not is_hairline(style.stroke):
        drawn = Style(style.stroke.paint, fill_opacity=style.stroke.opacity, opacity=style.opacity)
        found.append((Region(stroke_area(leaf)), drawn))
    return found[::-1] if style.stroke_first else found


def _shapes(leaf: _Drawn, parts: Sequence[tuple[Path, Style]], move: Affine) -> list[Leaf]:
    return [
        Shape(f"{leaf.id}-part-{number}", path.transformed(move), style, name=leaf.name)
        for number, (path, style) in enumerate(parts, start=1)
    ]


def _reach(leaf: _Drawn) -> float:
    """Return how far beyond its outline a leaf paints, in mm."""
    stroke = leaf.style.stroke
    return 0.0 if stroke is None or is_hairline(stroke) else reach_of(stroke)


def _closed(line: Shape) -> Region | None:
    """Return what the closed rings of a cut line enclose."""
    rings = [ring for ring, shut in zip(line.path.subpaths(), line.path.closed.tolist(), strict=True) if shut]
    return Region(joined(rings), line.style.fill_rule) if rings else None


def _paints(style: Style) -> list[Paint | None]:
    return [style.fill, style.stroke.paint if style.stroke is not None else None]
