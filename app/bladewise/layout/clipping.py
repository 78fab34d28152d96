"""Art cut along the lines about it, as areas: what lies outside the pieces is gone, curves stay curves.

For pictures on paper, which are put into frames and must not reach beyond them. Only art that a line crosses is
worked on; of a placed bitmap the pixels outside become clear (`cut_pictures`).
"""

from __future__ import annotations

from dataclasses import replace
from enum import Enum
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import shapely

from bladewise.document import CutKind, Gradient, Group, Lettering, Picture, Shape, Style, measure_together, outline_of
from bladewise.geometry import booleans
from bladewise.geometry.affine import Affine
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import Path, joined
from bladewise.geometry.regions import FillRule, Region
from bladewise.geometry.winding import contains
from bladewise.layout.alike import Key, key_of
from bladewise.layout.cut_pictures import cut_picture
from bladewise.operations.cut_regions import lines_to_cut
from bladewise.operations.marking import reach_of
from bladewise.operations.painted import is_hairline, stroke_area

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.document import Box, Element, Job, Leaf, Paint


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


def clipped(children: tuple[Element, ...], pieces: Path) -> tuple[Element, ...]:
    """Return what of some elements lies in the pieces.

    Parameters
    ----------
    children
        Elements of a layer.
    pieces
        A resolved path: outer rings and holes.
    """
    measure_together(children)
    return tuple(_Clipper(pieces).elements(children))


class _Lies(Enum):
    INSIDE = 1
    OUTSIDE = 2
    ACROSS = 3


_Key: TypeAlias = tuple[Key, Key, Style]


class _Clipper:
    def __init__(self, pieces: Path) -> None:
        self._rings = list(pieces.subpaths())
        self._boxes = np.array([ring.bounds() for ring in self._rings], dtype=float).reshape(-1, 4)
        self._tree = shapely.STRtree([shapely.LinearRing(flatten(ring).coords) for ring in self._rings])
        self._lies: dict[_Key, _Lies] = {}
        self._known: dict[_Key, tuple[tuple[Path, Style], ...]] = {}
        self._pictures: dict[tuple[bytes, tuple[float, ...], Key], tuple[Picture, Picture | None]] = {}

    def elements(self, children: Sequence[Element]) -> list[Element]:
        found: list[Element] = []
        for child in children:
            if isinstance(child, Group):
                inner = self.elements(child.children)
                if inner:
                    found.append(replace(child, children=tuple(inner)))
            else:
                found += self._leaf(child)
        return found

    def _leaf(self, leaf: Leaf) -> list[Leaf]:
        if isinstance(leaf, Picture):
            return self._picture(leaf)
        outline, stroke = outline_of(leaf), leaf.style.stroke
        box = leaf.bounds
        if box is None:
            return []
        reach = 0.0 if stroke is None or is_hairline(stroke) else reach_of(stroke)
        near = self._near(box, reach)
        if not near:
            return []
        origin, pieces = outline.points[0, 0], joined(near)
        key = key_of(outline, origin), key_of(pieces, origin), leaf.style
        if key not in self._lies:
            self._lies[key] = self._how(leaf, outline, near, reach)
        match self._lies[key]:
            case _Lies.INSIDE:
                return [leaf]
            case _Lies.OUTSIDE:
                return []
            case _Lies.ACROSS:
                return self._parts(leaf, outline, pieces, key)

    def _how(self, leaf: Shape | Lettering, outline: Path, near: list[Path], reach_mm: float) -> _Lies:
        if self._is_crossed(outline, reach_mm):
            return _Lies.ACROSS
        region = Region(outline, leaf.style.fill_rule)
        if leaf.style.fill is not None and any(contains(region, ring.points[0, 0])[0] for ring in near):
            return _Lies.ACROSS  # all about a piece
        return _Lies.INSIDE if contains(Region(joined(near)), outline.points[0, 0])[0] else _Lies.OUTSIDE

    def _picture(self, picture: Picture) -> list[Leaf]:
        box = picture.bounds
        near = self._near(box, 0.0) if box is not None else []
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

    def _parts(self, leaf: Shape | Lettering, outline: Path, pieces: Path, key: _Key) -> list[Leaf]:
        """Return what the fill and the stroke of a leaf leave in the pieces, each as a shape."""
        origin = outline.points[0, 0]
        flat = not any(isinstance(paint, Gradient) for paint in _paints(leaf.style))
        if flat and key in self._known:
            move = Affine.moved(*origin)
            parts = tuple((path.transformed(move), style) for path, style in self._known[key])
        else:
            parts = tuple((path, style) for path, style in _cut(leaf, outline, Region(pieces)) if path)
            if flat:
                back = Affine.moved(*-origin)
                self._known[key] = tuple((path.transformed(back), style) for path, style in parts)
        return [Shape(f"{leaf.id}-part-{number}", *each, name=leaf.name) for number, each in enumerate(parts, start=1)]

    def _near(self, box: Box, reach_mm: float) -> list[Path]:
        x0, y0, x1, y1 = self._boxes.T
        met = (x0 - reach_mm <= box[2]) & (x1 + reach_mm >= box[0])
        met &= (y0 - reach_mm <= box[3]) & (y1 + reach_mm >= box[1])
        return [self._rings[place] for place in np.flatnonzero(met)]

    def _is_crossed(self, outline: Path, reach_mm: float) -> bool:
        flat = flatten(outline)
        lines = [shapely.LineString(part) for part in np.split(flat.coords, flat.starts[1:]) if len(part) > 1]
        return bool(lines) and bool(self._tree.query(lines, predicate="dwithin", distance=reach_mm).size)


def _cut(leaf: Shape | Lettering, outline: Path, pieces: Region) -> list[tuple[Path, Style]]:
    style, found = leaf.style, []
    if style.fill is not None:
        path = booleans.keep_common([Region(outline, style.fill_rule), pieces])
        found.append((path, replace(style, stroke=None, fill_rule=FillRule.NONZERO)))
    if style.stroke is not None and not is_hairline(style.stroke):
        path = booleans.keep_common([Region(stroke_area(leaf)), pieces])
        found.append((path, Style(style.stroke.paint, fill_opacity=style.stroke.opacity, opacity=style.opacity)))
    return found[::-1] if style.stroke_first else found


def _closed(line: Shape) -> Region | None:
    """Return what the closed rings of a cut line enclose."""
    rings = [ring for ring, shut in zip(line.path.subpaths(), line.path.closed.tolist(), strict=True) if shut]
    return Region(joined(rings), line.style.fill_rule) if rings else None


def _paints(style: Style) -> list[Paint | None]:
    return [style.fill, style.stroke.paint if style.stroke is not None else None]
