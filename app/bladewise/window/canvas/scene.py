"""The job as the canvas sees it: visible leaves in painting order, their extents in one array.

A new job is compared with the old one leaf by leaf; leaves that are the same value keep the paths made
for them, and only what they covered or cover now is reported for repainting.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QBrush

from bladewise.document import Box, Changes, Group, Job, Leaf, Material, Picture, Placed, measure_together
from bladewise.window.drawing import PIECE, SMALL_PX, Drawing, prepare
from bladewise.window.painting import (
    ViewMode,
    hairline_in_pieces,
    paint_elements,
    paint_hairline,
    paint_leaf,
)
from bladewise.window.paints import material_pen, qt_colour
from bladewise.window.paths import REACH_PX

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from numpy.typing import NDArray
    from PySide6.QtGui import QPainter, QPen

    from bladewise.document import Colour
    from bladewise.geometry.path import Floats
    from bladewise.window.view import View

FAINT = 0.12
"""Opacity of art of another material than the one that is asked for."""

MOST_EXACT = 400
"""So many strokes at most are found exactly, some milliseconds each; in a job with more QPainter draws them …"""

LONGEST_EXACT = 150
"""… as it does those along more segments, which would take longer than a few frames in one go."""

MOST_BOXES = 64
"""More parts than this are not mended one by one."""

_NOWHERE = (np.inf, np.inf, -np.inf, -np.inf)

BATCH_COST = 4_000
"""The paths of so many segments are made in one go (some 2 ms)."""

HAIRLINE_COST = 1
AREA_COST = 3
PICTURE_COST = 1_000
"""Filling costs about three times a hairline, a segment (measured on a raster of 1600 × 1000)."""


class Row(NamedTuple):
    """A visible leaf in painting order; `veil` is the outermost translucent group around it."""

    placed: Placed
    drawing: Drawing
    material: Material
    veil: Group | None


class Scene:
    """What is there to paint and to pick."""

    def __init__(self) -> None:
        """Begin with no job."""
        self.job: Job | None = None
        self.rows: list[Row] = []
        self.bounds: Floats = np.zeros((0, 4))
        self.costs: NDArray[np.int64] = np.zeros(0, np.int64)
        self._row_of: dict[str, int] = {}
        self._material: str | None = None
        self._hidden: list[Drawing] | None = None

    def set_job(self, job: Job, changes: Changes | None) -> list[Box] | None:
        """Take a new job; return the extents to repaint in mm, or None for all of it."""
        old = self.job
        self.job = job
        self._hidden = None
        resized = old is None or (old.width_mm, old.height_mm) != (job.width_mm, job.height_mm)
        if changes is not None and old is not None and not resized:
            boxes = self._patched(job, changes, same_materials=old.materials == job.materials)
            if boxes is not None:
                return boxes
        before, before_bounds = self.rows, self.bounds
        known = {row.placed.leaf.id: row.drawing for row in before}
        self.rows = list(_rows(job, known))
        self._row_of = {row.placed.leaf.id: index for index, row in enumerate(self.rows)}
        self._measure()
        if resized or changes is None:
            return None
        return _damage(before, before_bounds, self.rows, self.bounds)

    def set_material_filter(self, material_id: str | None) -> None:
        """Show only one material strongly, or all."""
        self._material = material_id

    def is_faint(self, row: Row) -> bool:
        """Whether a row is of another material than the one that is asked for."""
        return self._material is not None and row.material.id != self._material

    def hidden(self) -> list[Drawing]:
        """Return what of the job is hidden."""
        if self._hidden is None:
            walk = self.job.walk() if self.job is not None else ()
            self._hidden = [Drawing(placed.leaf) for placed in walk if not placed.visible]
        return self._hidden

    def row(self, leaf_id: str) -> Row | None:
        """Return the row of a visible leaf."""
        index = self._row_of.get(leaf_id)
        return None if index is None else self.rows[index]

    def within(self, box: Box) -> NDArray[np.int64]:
        """Return the indices of the rows whose extents meet a box, back to front."""
        bounds = self.bounds
        return np.flatnonzero(
            (bounds[:, 0] <= box[2]) & (bounds[:, 2] >= box[0]) & (bounds[:, 1] <= box[3]) & (bounds[:, 3] >= box[1])
        )

    def extent(self) -> Box | None:
        """Return the extent of all that is shown, in mm, or None."""
        bounds = self.bounds[self.bounds[:, 2] >= self.bounds[:, 0]]
        if not len(bounds):
            return None
        left, top = bounds[:, :2].min(axis=0).tolist()
        right, bottom = bounds[:, 2:].max(axis=0).tolist()
        return left, top, right, bottom

    def leaf_ids(self, ids: Iterable[str]) -> frozenset[str]:
        """Return the visible leaves that elements stand for: themselves, or all in them."""
        wanted = set(ids)
        if not wanted:
            return frozenset()
        direct = {each for each in wanted if each in self._row_of}
        if len(direct) == len(wanted):
            return frozenset(direct)
        return frozenset(
            row.placed.leaf.id
            for row in self.rows
            if row.placed.leaf.id in wanted
            or row.placed.layer.id in wanted
            or any(group.id in wanted for group in row.placed.groups)
        )

    def cost(self, indices: NDArray[np.int64], mode: ViewMode) -> int:
        """Return about how much work it is to paint rows, in hairline segments."""
        return int(self.costs[indices].sum()) * (HAIRLINE_COST if mode is ViewMode.OUTLINE else AREA_COST)

    def row_in_pieces(self, painter: QPainter, row: Row, view: View, mode: ViewMode, paper: Colour) -> Iterator[None]:
        """Paint one row, whatever veil lies over it, pausing within long outlines."""
        if mode is ViewMode.FILL:
            paint_leaf(painter, row.drawing, view)
            yield
        else:
            yield from hairline_in_pieces(painter, row.drawing, view, material_pen(row.material, paper))

    def painting(
        self,
        painter: QPainter,
        indices: NDArray[np.int64],
        view: View,
        mode: ViewMode,
        paper: Colour,
        without: frozenset[str] = frozenset(),
    ) -> Iterator[None]:
        """Paint rows in order, pausing after each: the caller decides when to go on."""
        if mode is ViewMode.OUTLINE and self._material is None:
            yield from self._hairlines(painter, indices, view, paper, without)
            return
        veil: Group | None = None
        torn = {id(row.veil) for each in without if (row := self.row(each)) is not None and row.veil is not None}
        fills = mode is ViewMode.FILL
        extent = self._extents(indices) * view.scale
        near, small = (extent < REACH_PX / 2.0).tolist(), (extent < SMALL_PX).tolist()
        transform, is_set = view.transform, False
        brushes: dict[Colour, QBrush] = {}
        prepared = 0
        for number, index in enumerate(indices.tolist()):
            row = self.rows[index]
            if without and row.placed.leaf.id in without:
                continue
            if fills and number >= prepared:
                prepared = self._prepare(indices, number, view, mode)
                yield
            colour = row.drawing.plain_colour
            if fills and colour is not None and near[number] and row.veil is None and self._material is None:
                # most art is flat areas: for thousands of small ones what surrounds the call costs more than the call
                if not is_set:
                    painter.setTransform(transform)
                    is_set = True
                brush = brushes.get(colour)
                if brush is None:
                    brush = brushes[colour] = QBrush(qt_colour(colour))
                painter.fillPath(row.drawing.curves if small[number] else row.drawing.area(view.scale), brush)
                yield
                continue
            if is_set:
                painter.resetTransform()
                is_set = False
            if self.is_faint(row):
                pen = material_pen(row.material, paper)
                painter.setOpacity(2.0 * FAINT)
                paint_hairline(painter, row.drawing, view, pen)
                painter.setOpacity(1.0)
            elif fills and row.veil is not None and id(row.veil) not in torn:
                if row.veil is not veil:
                    paint_elements(painter, (row.veil,), view, self._drawing)
                veil = row.veil
            else:
                yield from self.row_in_pieces(painter, row, view, mode, paper)
                continue
            yield
        painter.resetTransform()

    def _extents(self, indices: NDArray[np.int64]) -> Floats:
        """Return the longer side of each row's extent, in mm."""
        bounds = self.bounds[indices]
        extents: Floats = np.maximum(bounds[:, 2] - bounds[:, 0], bounds[:, 3] - bounds[:, 1])
        return extents

    def _prepare(self, indices: NDArray[np.int64], begin: int, view: View, mode: ViewMode) -> int:
        """Make the paths of some more rows, a few milliseconds' worth; return the number of the first that waits."""
        total = np.cumsum(self.costs[indices[begin : begin + BATCH_COST]])
        end = begin + max(int(np.searchsorted(total, BATCH_COST)), 1)
        extent = self._extents(indices[begin:end]) * view.scale
        near = indices[begin:end][extent < REACH_PX / 2.0]  # larger ones are painted from what is near of them
        drawings = [self.rows[index].drawing for index in near.tolist()]
        if mode is ViewMode.FILL:
            prepare([each for each in drawings if each.is_filled], view.scale, filled=True)
        else:
            prepare([each for each in drawings if len(each.path) <= PIECE], view.scale, filled=False)
        return end

    def _hairlines(
        self,
        painter: QPainter,
        indices: NDArray[np.int64],
        view: View,
        paper: Colour,
        without: frozenset[str],
    ) -> Iterator[None]:
        """Paint rows as hairlines; for thousands of small ones what surrounds the call costs more than the call."""
        transform, extent = view.transform, self._extents(indices) * view.scale
        plain = (extent < REACH_PX / 2.0) & (self.costs[indices] <= PIECE)
        pens: dict[int, QPen] = {}
        last: QPen | None = None
        prepared = 0
        for number, (index, is_plain) in enumerate(zip(indices.tolist(), plain.tolist(), strict=True)):
            row = self.rows[index]
            if without and row.placed.leaf.id in without:
                continue
            if number >= prepared:
                prepared = self._prepare(indices, number, view, ViewMode.OUTLINE)
                yield
            if not is_plain:
                last = None
                yield from self.row_in_pieces(painter, row, view, ViewMode.OUTLINE, paper)
                continue
            pen = pens.get(id(row.material))
            if pen is None:
                pen = pens[id(row.material)] = material_pen(row.material, paper)
            if pen is not last:
                painter.setPen(pen)
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.setTransform(transform)
                last = pen
            painter.drawPath(row.drawing.curves)
            yield
        painter.resetTransform()

    def _drawing(self, leaf: Leaf) -> Drawing:
        row = self.row(leaf.id)
        return row.drawing if row is not None and row.drawing.leaf is leaf else Drawing(leaf)

    def _patched(self, job: Job, changes: Changes, *, same_materials: bool) -> list[Box] | None:
        """Exchange the rows of altered leaves and return the extents to repaint; None if there is more to do."""
        if changes.structure or changes.added or changes.removed:
            return None
        found: list[Placed] = []
        places: list[int] = []
        for key in changes.altered:
            placed, index = job.placed(key), self._row_of.get(key)
            if placed is None or index is None or not placed.visible or self.rows[index].veil is not None:
                return None
            found.append(placed)
            places.append(index)
        measure_together(placed.leaf for placed in found)
        before = self.bounds[places]
        after: list[Box] = []
        reaches: list[float] = []
        costs: list[int] = []
        for placed, index in zip(found, places, strict=True):
            row = self.rows[index]
            drawing = row.drawing
            if drawing.leaf is not placed.leaf:
                drawing = Drawing(placed.leaf).after(drawing)
            same = same_materials and _stands_for_the_same(row.placed, placed)
            self.rows[index] = Row(placed, drawing, row.material if same else job.material_of(placed), None)
            box, reach = drawing.leaf.bounds, drawing.reach_mm
            after.append(box or _NOWHERE)
            reaches.append(reach)
            costs.append(_cost(drawing))
        if places:
            self.bounds[places], self.costs[places] = after, costs
            self.bounds[places] += np.array(reaches)[:, None] * (-1.0, -1.0, 1.0, 1.0)
        return boxes_of(np.concatenate([before, self.bounds[places]]))

    def _measure(self) -> None:
        measure_together(row.placed.leaf for row in self.rows)
        self.bounds = np.array([row.drawing.bounds or _NOWHERE for row in self.rows]).reshape(-1, 4)
        self.costs = np.array([_cost(row.drawing) for row in self.rows], np.int64)


def _cost(drawing: Drawing) -> int:
    """Return about how many segments it is like to paint a leaf as a hairline; a picture takes a while."""
    return PICTURE_COST if isinstance(drawing.leaf, Picture) else len(drawing.path) + 4


def _stands_for_the_same(old: Placed, new: Placed) -> bool:
    """Whether nothing has changed about a leaf that its material follows from."""
    was, now = old.leaf, new.leaf
    if was.material != now.material or old.layer.material != new.layer.material:
        return False
    if isinstance(was, Picture) or isinstance(now, Picture):
        return isinstance(was, Picture) and isinstance(now, Picture)
    before, after = was.style, now.style
    if before.fill is after.fill and before.stroke is after.stroke and before.opacity == after.opacity:
        return before.fill_opacity == after.fill_opacity
    return before == after


def boxes_of(bounds: Floats) -> list[Box]:
    """Return extents, shape (n, 4), as boxes; one around all of them where they are many."""
    bounds = bounds[bounds[:, 2] >= bounds[:, 0]]
    if len(bounds) > MOST_BOXES:
        bounds = np.concatenate([bounds[:, :2].min(axis=0), bounds[:, 2:].max(axis=0)])[None]
    return [(a, b, c, d) for a, b, c, d in bounds.tolist()]


def _rows(job: Job, known: dict[str, Drawing]) -> Iterator[Row]:
    shown = [placed for placed in job.walk() if placed.visible]
    stroked = sum(1 for placed in shown if not isinstance(placed.leaf, Picture) and placed.leaf.style.stroke)
    few = stroked <= MOST_EXACT
    materials: dict[Material, Material] = {}
    for placed in shown:
        drawing = known.get(placed.leaf.id)
        if drawing is None or drawing.leaf is not placed.leaf or drawing.exact_stroke > few:
            fresh = Drawing(placed.leaf)
            drawing = fresh if drawing is None else fresh.after(drawing)
            drawing.exact_stroke = few and len(drawing.path) <= LONGEST_EXACT
        veil = next((group for group in placed.groups if group.opacity < 1.0), None)
        material = job.material_of(placed)
        yield Row(placed, drawing, materials.setdefault(material, material), veil)


def _damage(before: list[Row], old: Floats, after: list[Row], new: Floats) -> list[Box] | None:
    """Return what two lists of rows paint differently, or None where their order differs."""
    was = {row.placed.leaf.id: index for index, row in enumerate(before)}
    order = [was[row.placed.leaf.id] for row in after if row.placed.leaf.id in was]
    if any(later < earlier for earlier, later in itertools.pairwise(order)):
        return None
    boxes: list[Box] = []
    seen: set[int] = set()
    for index, row in enumerate(after):
        place = was.get(row.placed.leaf.id)
        if place is None:
            boxes += _box(new[index])
            continue
        seen.add(place)
        other = before[place]
        if other.drawing is not row.drawing or other.material != row.material or other.veil is not row.veil:
            boxes += _box(old[place]) + _box(new[index])
    for place in range(len(before)):
        if place not in seen:
            boxes += _box(old[place])
    return boxes


def _box(row: Floats) -> list[Box]:
    low_x, low_y, high_x, high_y = row.tolist()
    return [(low_x, low_y, high_x, high_y)] if high_x >= low_x else []
