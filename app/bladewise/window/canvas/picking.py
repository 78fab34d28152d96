"""What lies under the pointer, and what a rubber band holds.

Extents first, then the part of the outline near the pointer at the precision of the screen: the same at
every zoom, and cheap, because only what passes within a few pixels is looked at.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bladewise.document import Box, Group, Picture
from bladewise.geometry.regions import FillRule
from bladewise.window.painting import ViewMode
from bladewise.window.paths import near_polylines

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from numpy.typing import NDArray

    from bladewise.document import Element, Placed
    from bladewise.geometry.path import Floats
    from bladewise.window.canvas.scene import Row, Scene
    from bladewise.window.drawing import Drawing
    from bladewise.window.view import View

REACH_PX = 4.0
"""How near to an outline the pointer counts as on it."""


def under(scene: Scene, view: View, x_px: float, y_px: float, mode: ViewMode) -> Iterator[Row]:
    """Yield the rows under a pixel, topmost first; hidden, locked and faint art cannot be picked."""
    reach = REACH_PX / view.scale
    x, y = view.to_mm(x_px, y_px)
    for index in scene.within((x - reach, y - reach, x + reach, y + reach))[::-1].tolist():
        row = scene.rows[index]
        if not row.placed.locked and not scene.is_faint(row) and _is_hit(row.drawing, view, x_px, y_px, mode):
            yield row


def inside(scene: Scene, view: View, band: Box, mode: ViewMode, *, touched: bool) -> list[Row]:
    """Return the rows that lie wholly in a band of pixels, or also those that it touches."""
    corners = (*view.to_mm(band[0], band[1]), *view.to_mm(band[2], band[3]))
    rows = []
    for index in scene.within(corners).tolist():
        row = scene.rows[index]
        if row.placed.locked or scene.is_faint(row):
            continue
        box = row.drawing.leaf.bounds
        if box is None:
            continue
        whole = box[0] >= corners[0] and box[1] >= corners[1] and box[2] <= corners[2] and box[3] <= corners[3]
        if whole or (touched and _is_touched(row.drawing, view, band, mode)):
            rows.append(row)
    return rows


def outermost(placed: Placed, entered: str | None) -> str:
    """Return the id that a click on a leaf selects: its outermost group, or one level into the group entered."""
    ids = [*(group.id for group in placed.groups), placed.leaf.id]
    if entered in ids[:-1]:
        return ids[ids.index(entered) + 1]
    return ids[0]


def whole_groups(scene: Scene, rows: list[Row], entered: str | None) -> frozenset[str]:
    """Return what a band selects: groups all of whose visible leaves it holds count as the group."""
    held = {row.placed.leaf.id for row in rows}
    short: set[str] = set()
    for row in scene.rows:
        if row.placed.leaf.id not in held:
            short.update(group.id for group in row.placed.groups)
    chosen = set()
    for row in rows:
        top = outermost(row.placed, entered)
        if top not in short:
            chosen.add(top)
    return frozenset(chosen)


def members_of(elements: Mapping[str, Element], group_id: str) -> frozenset[str]:
    """Return the ids of all that a group holds, groups too."""
    ids: set[str] = set()
    found = elements.get(group_id)
    for child in found.children if isinstance(found, Group) else ():
        ids.add(child.id)
        ids |= members_of(elements, child.id)
    return frozenset(ids)


def _is_hit(drawing: Drawing, view: View, x: float, y: float, mode: ViewMode) -> bool:
    leaf = drawing.leaf
    if isinstance(leaf, Picture):
        try:
            u, v = leaf.transform.inverse().apply(np.array(view.to_mm(x, y)))
        except ZeroDivisionError:
            return False
        return bool(0.0 <= u <= 1.0 and 0.0 <= v <= 1.0)
    if not drawing.path:
        return False
    reach = REACH_PX
    if mode is ViewMode.FILL and leaf.style.stroke is not None:
        stroke = leaf.style.stroke
        scale = stroke.pen.mean_scale if stroke.pen else 1.0
        reach = max(reach, 0.5 * stroke.width_mm * scale * view.scale)
    coords, starts = near_polylines(drawing.path, view, (x - reach, y - reach, x + reach, y + reach))
    if mode is ViewMode.FILL and leaf.style.fill is not None and _winding(coords, starts, x, y, leaf.style.fill_rule):
        return True
    return _distance(coords, starts, x, y) <= reach


def _is_touched(drawing: Drawing, view: View, band: Box, mode: ViewMode) -> bool:
    leaf = drawing.leaf
    if isinstance(leaf, Picture):
        return True
    if not drawing.path:
        return False
    coords, starts = near_polylines(drawing.path, view, band)
    a, b = _chords(coords, starts)
    if _crosses(a, b, band).any():
        return True
    filled = mode is ViewMode.FILL and leaf.style.fill is not None
    return filled and _winding(coords, starts, band[0], band[1], leaf.style.fill_rule)


def _chords(coords: Floats, starts: NDArray[np.int64]) -> tuple[Floats, Floats]:
    """Return both ends of each chord, shape (n, 2) each; none from one subpath to the next."""
    joins = np.ones(len(coords) - 1, bool)
    joins[starts[1:] - 1] = False
    return coords[:-1][joins], coords[1:][joins]


def _distance(coords: Floats, starts: NDArray[np.int64], x: float, y: float) -> float:
    a, b = _chords(coords, starts)
    if not len(a):
        return np.inf
    along, to = b - a, np.array([x, y]) - a
    length = (along * along).sum(axis=1)
    t = np.clip((along * to).sum(axis=1) / np.where(length > 0.0, length, 1.0), 0.0, 1.0)
    return float(np.hypot(*(to - t[:, None] * along).T).min())


def _winding(coords: Floats, starts: NDArray[np.int64], x: float, y: float, rule: FillRule) -> bool:
    """Whether a place is inside, open subpaths closed by a line: a ray to the right, crossings counted."""
    ends = np.append(starts[1:], len(coords)) - 1
    a, b = _chords(coords, starts)
    a, b = np.concatenate([a, coords[ends]]), np.concatenate([b, coords[starts]])
    up, down = (a[:, 1] <= y) & (b[:, 1] > y), (a[:, 1] > y) & (b[:, 1] <= y)
    side = (b[:, 0] - a[:, 0]) * (y - a[:, 1]) - (x - a[:, 0]) * (b[:, 1] - a[:, 1])
    turns = int((up & (side > 0.0)).sum()) - int((down & (side < 0.0)).sum())
    return turns % 2 != 0 if rule is FillRule.EVEN_ODD else turns != 0


def _crosses(a: Floats, b: Floats, band: Box) -> NDArray[np.bool_]:
    """Whether each chord passes through a box: its extent meets it, and its line parts the corners."""
    low, high = np.minimum(a, b), np.maximum(a, b)
    meets = (low[:, 0] <= band[2]) & (high[:, 0] >= band[0]) & (low[:, 1] <= band[3]) & (high[:, 1] >= band[1])
    along = b - a
    sides = [along[:, 0] * (y - a[:, 1]) - along[:, 1] * (x - a[:, 0]) for x in band[::2] for y in band[1::2]]
    parts: NDArray[np.bool_] = meets & (np.min(sides, axis=0) <= 0.0) & (np.max(sides, axis=0) >= 0.0)
    return parts
