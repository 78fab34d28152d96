"""Which segments a merge can never show, because other regions cover all there is around them.

In dense art most outlines run inside other shapes. A grid is laid over the art; a cell that no segment
of a region touches lies wholly inside or wholly outside it, which the winding number at its middle
tells. Segments are looked at in parts of about a cell; one whose parts all stand in cells that regions
cover is hidden: whatever becomes of each part within its box, the union is the same. So a hidden segment
goes into GEOS as one chord a part. Nothing is guessed: where the grid is too coarse to tell, nothing is
hidden.

What makes this safe is that no region changes in a cell it is said to cover. It never hides its own
segments, for the cells they stand in are those it does not cover for certain; the chord of a part stays in
the part's box; and a curve of several parts that does show must not stand as one chord, which would leave
the boxes of its parts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.geometry.curves import sub_segments
from bladewise.geometry.meeting import hull_boxes
from bladewise.geometry.path import SegmentKind
from bladewise.geometry.topology import paints

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats
    from bladewise.geometry.regions import FillRule
    from bladewise.geometry.sources import Sources

_FEWEST = 400
"""With fewer segments than this the grid costs more than it saves."""

_CELLS_ACROSS = 14.0
"""Into how many cells the middling region is divided each way."""

_CELLS_A_SEGMENT = 20.0
"""At most so many cells a segment, in the regions' own grids and in the grid of all; wider cells where it would be
more."""


class Hidden(NamedTuple):
    """What of the segments cannot show.

    Parameters
    ----------
    chords
        In how many chords, even in the parameter, each hidden segment may stand; 0 for one that may show; shape (m,).
    whole
        Whether each segment may stand as one chord without leaving the boxes that were looked at, shape (m,).
    """

    chords: NDArray[np.int64]
    whole: NDArray[np.bool_]

    @property
    def segments(self) -> NDArray[np.bool_]:
        """Which segments cannot show, shape (m,)."""
        return self.chords > 0


def hidden_in_union(sources: Sources, rules: Sequence[FillRule | None], slack_mm: float) -> Hidden | None:
    """Return which segments cannot show in the union of the regions; None where that is not worth finding out.

    Parameters
    ----------
    sources
        The segments of all regions, all rings closed.
    rules
        The fill rule of each region.
    slack_mm
        By which each segment's box is widened: so far may it be moved, and its chords stray from it.
    """
    if len(sources) < _FEWEST or len(rules) < 2:
        return None
    low, high = hull_boxes(sources.points, slack_mm)
    grid = _Grid(sources, low, high)
    parts = _parts(sources, grid, low, high, slack_mm)
    full = _Full(grid, _covered(sources, rules, grid, parts))
    straight = sources.kinds == SegmentKind.LINE
    count = np.bincount(parts.segment, minlength=len(sources))
    whole = straight | (count == 1)
    chords = np.where(straight, 1, count)
    chords[parts.segment[~full.over(parts.boxes)]] = 0
    return Hidden(chords, whole)


class _Boxes(NamedTuple):
    """The first and last column and row of cells that boxes touch, each of shape (n,)."""

    left: NDArray[np.int64]
    top: NDArray[np.int64]
    right: NDArray[np.int64]
    bottom: NDArray[np.int64]


class _Grid:
    """Square cells over all the art."""

    def __init__(self, sources: Sources, low: Floats, high: Floats) -> None:
        self.origin = low.min(axis=0)
        extent = high.max(axis=0) - self.origin
        region = sources.region
        first = np.flatnonzero(np.append(True, region[1:] != region[:-1]))
        spans = np.maximum.reduceat(high, first) - np.minimum.reduceat(low, first)
        side = float(np.median(spans.max(axis=1))) / _CELLS_ACROSS
        most = _CELLS_A_SEGMENT * len(sources)
        while (np.prod(spans / side + 2.0, axis=1)).sum() > most or np.prod(extent / side + 2.0) > most:
            side *= 1.5
        self.side = side
        self.columns, self.rows = (int(count) for count in np.floor(extent / side) + 1)

    def cells(self, low: Floats, high: Floats) -> _Boxes:
        """Return the cells that boxes touch."""
        last = (self.columns - 1, self.rows - 1)
        left, top = (np.floor((low[:, k] - self.origin[k]) / self.side).astype(np.int64) for k in (0, 1))
        right, bottom = (
            np.minimum(np.floor((high[:, k] - self.origin[k]) / self.side).astype(np.int64), last[k]) for k in (0, 1)
        )
        return _Boxes(left, top, right, bottom)


class _Parts(NamedTuple):
    """All segments, long ones in several parts, in order.

    Parameters
    ----------
    segment
        The segment of each part, shape (n,).
    start, end
        The ends of its chord, in mm, shape (n, 2); the end of one is, bit for bit, the start of the next in its ring.
    boxes
        The cells that the part may touch.
    """

    segment: NDArray[np.int64]
    start: Floats
    end: Floats
    boxes: _Boxes


def _parts(sources: Sources, grid: _Grid, low: Floats, high: Floats, slack_mm: float) -> _Parts:
    """Return the segments in parts of about a cell's size."""
    count = np.maximum(((high - low).max(axis=1) / grid.side).astype(np.int64), 1)
    segment = np.repeat(np.arange(len(count)), count)
    low, high, start = low[segment], high[segment], sources.points[segment, 0]
    number = np.arange(len(segment)) - (np.cumsum(count) - count)[segment]
    rows = np.flatnonzero(count[segment] > 1)
    if len(rows):
        of, share = segment[rows], 1.0 / count[segment[rows]]
        t0, t1 = number[rows] * share, (number[rows] + 1) * share
        points, _ = sub_segments(sources.points[of], sources.kinds[of], sources.weights[of], t0, t1)
        low[rows], high[rows] = hull_boxes(points, slack_mm)
        start[rows] = points[:, 0]
    after = np.arange(1, len(segment) + 1)
    first = np.searchsorted(segment, sources.ring_starts)
    after[first[1:] - 1] = first[:-1]
    return _Parts(segment, start, start[after], grid.cells(low, high))


class _Full:
    """The cells of the grid that are covered, ready to be asked for whole blocks (Crow 1984, summed areas)."""

    def __init__(self, grid: _Grid, covered: NDArray[np.bool_]) -> None:
        self._sums = np.zeros((grid.rows + 1, grid.columns + 1), np.int64)
        np.cumsum(covered.reshape(grid.rows, grid.columns), axis=0, dtype=np.int64, out=self._sums[1:, 1:])
        np.cumsum(self._sums[1:, 1:], axis=1, out=self._sums[1:, 1:])

    def over(self, boxes: _Boxes) -> NDArray[np.bool_]:
        """Whether every cell of each block is covered, shape (n,)."""
        left, top, right, bottom = boxes.left, boxes.top, boxes.right + 1, boxes.bottom + 1
        sums = self._sums
        found = sums[bottom, right] - sums[top, right] - sums[bottom, left] + sums[top, left]
        full: NDArray[np.bool_] = found == (right - left) * (bottom - top)
        return full


def _covered(sources: Sources, rules: Sequence[FillRule | None], grid: _Grid, parts: _Parts) -> NDArray[np.bool_]:
    """Return which cells of the grid lie wholly inside some region, shape (rows * columns,)."""
    boxes = parts.boxes
    region = sources.region[parts.segment]
    change = np.append(True, region[1:] != region[:-1])
    first, number = np.flatnonzero(change), np.cumsum(change) - 1
    left, top = np.minimum.reduceat(boxes.left, first), np.minimum.reduceat(boxes.top, first)
    # every row of a region's own grid ends with a cell more, in which all sums come back to nothing
    width = np.maximum.reduceat(boxes.right, first) - left + 2
    height = np.maximum.reduceat(boxes.bottom, first) - top + 1
    begin = np.cumsum(width * height) - width * height
    total = int((width * height).sum())
    count = boxes.bottom - boxes.top + 1
    box = np.repeat(np.arange(len(count)), count)
    row = boxes.top[box] + np.arange(len(box)) - np.repeat(np.cumsum(count) - count, count)
    own = number[box]
    line = begin[own] + (row - top[own]) * width[own] - left[own]
    touched = np.bincount(line + boxes.left[box], minlength=total)
    touched -= np.bincount(line + boxes.right[box] + 1, minlength=total)
    passing, column, down = _passes(grid, parts, box, row)
    column += line[passing]
    turns = np.bincount(column[~down], minlength=total) - np.bincount(column[down], minlength=total)
    clear = np.flatnonzero(np.cumsum(touched) == 0)
    winding = np.cumsum(turns)[clear]
    owner = np.searchsorted(begin, clear, side="right") - 1
    inside = np.zeros(len(clear), np.bool_)
    kinds = {rule: place for place, rule in enumerate(dict.fromkeys(rules))}
    ruled = np.array([kinds[rule] for rule in rules])[region[first]]
    for rule, place in kinds.items():
        inside |= paints(winding, rule) & (ruled[owner] == place)
    clear, owner = clear[inside], owner[inside]
    down_rows, across = np.divmod(clear - begin[owner], width[owner])
    covered = np.zeros(grid.rows * grid.columns, np.bool_)
    covered[(top[owner] + down_rows) * grid.columns + left[owner] + across] = True
    return covered


def _passes(
    grid: _Grid, parts: _Parts, box: NDArray[np.int64], row: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.bool_]]:
    """Return where chords pass the middles of rows of cells: the first column beyond, and whether downwards.

    Parameters
    ----------
    grid, parts
        The cells and the chords.
    box, row
        Pairs of a part and a row it may pass, shape (k,).

    Returns
    -------
    passing, column, down
        The places of the pairs that do pass, the first column whose middle lies beyond, and the way; shapes (j,).
    """
    # in units of cells, measured from the middle of the first one
    (x0, y0), (x1, y1) = (((place - grid.origin) / grid.side - 0.5).T for place in (parts.start, parts.end))
    above = y0[box] <= row
    passing = np.flatnonzero(above != (y1[box] <= row))
    down, row, box = above[passing], row[passing], box[passing]
    slant = (x1 - x0) / np.where(y1 == y0, 1.0, y1 - y0)
    column = np.ceil(x0[box] + (row - y0[box]) * slant[box]).astype(np.int64)
    return passing, np.clip(column, parts.boxes.left[box], parts.boxes.right[box] + 1), down
