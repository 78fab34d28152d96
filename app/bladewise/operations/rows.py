"""Boxes in rows on sheets: which copy of which design lies where, upright or turned by a quarter.

First fit by falling height (the shelf method of the packing literature, Coffman, Garey, Johnson and Tarjan
1980; from memory): high boxes first, each into the first row that has room, a new row on the first sheet that
has room, else a new sheet. Where turning is allowed every way of turning the designs is tried, up to
`_MOST_TRIED` designs; beyond that each is turned as it lies best alone. True shapes are not looked at.
"""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

_MOST_TRIED = 5
"""Designs beyond which not every way of turning them is tried: two to this power are."""

_SLACK_MM = 1e-6
"""Rounding of sums of widths."""


class Size(NamedTuple):
    """A box in mm."""

    width_mm: float
    height_mm: float

    @property
    def turned(self) -> Size:
        """The box after a quarter turn."""
        return Size(self.height_mm, self.width_mm)


class Cell(NamedTuple):
    """Where one copy lies: which design, its upper left corner in the room, and whether it is turned."""

    design: int
    x_mm: float
    y_mm: float
    is_turned: bool


@dataclass
class _Row:
    sheet: int
    y_mm: float
    height_mm: float
    used_mm: float = 0.0


@dataclass(frozen=True)
class Laid:
    """Sheets, each a row of cells in the order laid."""

    sheets: list[list[Cell]] = field(default_factory=list)
    rows: tuple[int, ...] = ()
    used_mm: float = 0.0
    """Height of the rows on all sheets together: the less, the better laid."""

    def counts(self, sheet: int) -> Counter[int]:
        """Return how many of each design lie on a sheet."""
        return Counter(cell.design for cell in self.sheets[sheet])


def fits(size: Size, room: Size) -> bool:
    """Whether a box goes into a room as it lies."""
    return size.width_mm <= room.width_mm + _SLACK_MM and size.height_mm <= room.height_mm + _SLACK_MM


def laid_out(
    sizes: Sequence[Size], counts: Sequence[int], room: Size, gutter_mm: float, *, may_turn: bool
) -> Laid | None:
    """Return copies of designs in rows on as few sheets as this method finds.

    Parameters
    ----------
    sizes, counts
        The box of each design, and how many of it.
    room
        A sheet without its margins.
    gutter_mm
        Space between neighbours.
    may_turn
        Whether designs may lie turned by a quarter, all copies of one alike.

    Returns
    -------
    laid
        None if a design does not go onto a sheet at all.
    """
    tried = (_packed(sizes, counts, room, gutter_mm, turns) for turns in _turns(sizes, room, gutter_mm, may_turn))
    found = [laid for laid in tried if laid is not None]
    return min(found, key=lambda laid: (len(laid.sheets), laid.used_mm)) if found else None


def most_on_a_sheet(sizes: Sequence[Size], room: Size, gutter_mm: float, *, may_turn: bool) -> list[int]:
    """Return how many of each design go onto one sheet: as many of one as of the other, then what still fits."""

    def is_one(counts: list[int]) -> bool:
        laid = laid_out(sizes, counts, room, gutter_mm, may_turn=may_turn)
        return laid is not None and len(laid.sheets) == 1

    area = sum(max(size.width_mm, _SLACK_MM) * max(size.height_mm, _SLACK_MM) for size in sizes)
    low, high = 0, int(room.width_mm * room.height_mm / area) + 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if is_one([middle] * len(sizes)) else (low, middle)
    counts = [low] * len(sizes)
    if len(sizes) > 1:
        for place in range(len(sizes)):
            while is_one([*counts[:place], counts[place] + 1, *counts[place + 1 :]]):
                counts[place] += 1
    return counts


def _turns(sizes: Sequence[Size], room: Size, gutter_mm: float, may_turn: bool) -> Iterator[tuple[bool, ...]]:  # noqa: FBT001
    upright = (False,) * len(sizes)
    if not may_turn:
        yield upright
    elif len(sizes) <= _MOST_TRIED:
        yield from itertools.product((False, True), repeat=len(sizes))
    else:
        yield tuple(_alone(size.turned, room, gutter_mm) > _alone(size, room, gutter_mm) for size in sizes)


def _alone(size: Size, room: Size, gutter_mm: float) -> int:
    """Return how many of one design go onto a sheet as it lies."""
    across = (room.width_mm + gutter_mm + _SLACK_MM) // (size.width_mm + gutter_mm + 1e-12)
    down = (room.height_mm + gutter_mm + _SLACK_MM) // (size.height_mm + gutter_mm + 1e-12)
    return int(across * down)


def _packed(
    sizes: Sequence[Size], counts: Sequence[int], room: Size, gutter_mm: float, turns: tuple[bool, ...]
) -> Laid | None:
    lying = [size.turned if turned else size for size, turned in zip(sizes, turns, strict=True)]
    if not all(fits(size, room) for size in lying):
        return None
    rows: list[_Row] = []
    filled: list[float] = []  # how far down each sheet is taken
    sheets: list[list[Cell]] = []
    order = sorted(range(len(sizes)), key=lambda place: (-lying[place].height_mm, -lying[place].width_mm, place))
    for design in order:
        wide, high = lying[design]
        first = 0
        for _ in range(counts[design]):
            while first < len(rows) and not _has_room(rows[first], wide, high, room, gutter_mm):
                first += 1
            if first == len(rows):
                rows.append(_new_row(filled, high, room, gutter_mm))
                sheets += [[] for _ in range(len(filled) - len(sheets))]
            row = rows[first]
            x = row.used_mm + gutter_mm if row.used_mm > 0.0 else 0.0
            sheets[row.sheet].append(Cell(design, x, row.y_mm, turns[design]))
            row.used_mm = x + max(wide, _SLACK_MM)
    per_sheet = Counter(row.sheet for row in rows)
    return Laid(sheets, tuple(per_sheet[sheet] for sheet in range(len(sheets))), sum(filled))


def _has_room(row: _Row, wide: float, high: float, room: Size, gutter_mm: float) -> bool:
    x = row.used_mm + gutter_mm if row.used_mm > 0.0 else 0.0
    return x + wide <= room.width_mm + _SLACK_MM and high <= row.height_mm + _SLACK_MM


def _new_row(filled: list[float], high: float, room: Size, gutter_mm: float) -> _Row:
    for sheet, used in enumerate(filled):
        y = used + gutter_mm
        if y + high <= room.height_mm + _SLACK_MM:
            filled[sheet] = y + high
            return _Row(sheet, y, high)
    filled.append(high)
    return _Row(len(filled) - 1, 0.0, high)
