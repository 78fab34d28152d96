"""Snapping while art is moved: by the node it is held at, by its nodes, by its edges and middle, by equal gaps.

What is held by a node goes where that node may go; else its own nodes, the corners of its extent and
its middle look for nodes and centres; else its edges line up with others, with guides and the grid, or
it keeps the gap that others keep.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from PySide6.QtCore import QCoreApplication, QLineF

from bladewise.geometry.landmarks import segments_of
from bladewise.geometry.path import SegmentKind, joined
from bladewise.operations.arrange import Anchor
from bladewise.units import format_length
from bladewise.window.canvas.snapping import REACH_PX, Magnet, Spot, is_guide
from bladewise.window.language import quoted
from bladewise.window.preferences import Snap

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from bladewise.document import Box
    from bladewise.geometry.path import Floats, Path, Point
    from bladewise.window.canvas.scene import Scene
    from bladewise.window.canvas.snapping import Landmark, Landmarks, SnapRules
    from bladewise.window.view import View

_MOST = 500
"""So many elements in view are lined up with at most."""
_MOST_TARGETS = 20_000
"""With more nodes than this in view they lie denser than the reach of snapping; then none is meant."""
_LARGE = 2_000
"""Of outlines of more segments than this only those in view are looked at."""
_MOST_OWN = 24
"""So many nodes of the moved art, those nearest the hand, look for something to snap to."""

_NOWHERE = (np.nan, np.nan, np.nan, np.nan)

translate = QCoreApplication.translate


class Snapped(NamedTuple):
    """A move after snapping: offsets in mm, the lines to show, what to say, and the place hit, if it is one place."""

    dx_mm: float
    dy_mm: float
    lines: list[QLineF]
    hint: str
    spot: Spot | None = None


class LiningUp:
    """What moved art can snap to, gathered once a drag."""

    def __init__(
        self,
        scene: Scene,
        view: View,
        window: Box,
        without: frozenset[str],
        rules: SnapRules,
        store: Landmarks,
        box: Box,
        held_at: Point,
    ) -> None:
        """Gather; `without` are the moved leaves, `box` their extent, `held_at` where the hand took hold of them."""
        self._view, self._rules, self._box = view, rules, box
        self._magnet = Magnet(scene, view, rules, store, without)
        self._gather_boxes(scene, window, without)
        own_nodes = _nodes(scene, without)
        away = np.hypot(*(own_nodes - held_at).T)
        nearest = np.argsort(away, kind="stable")[:_MOST_OWN]
        corners = np.array([anchor.point(box) for anchor in Anchor])
        self._own = np.concatenate([own_nodes[nearest], corners])
        self._own_nodes = len(nearest)
        self._grip: Point | None = None
        if len(nearest) and away[nearest[0]] * view.scale <= REACH_PX * 1.5:
            x, y = own_nodes[nearest[0]].tolist()
            self._grip = x, y
        self._gather_targets(scene, window, without, store)

    def snap(self, dx_mm: float, dy_mm: float) -> Snapped:
        """Return a move, corrected to what is near."""
        edge: tuple[Spot, Point] | None = None
        if self._grip is not None:
            x, y = self._grip
            spot = self._magnet.point(x + dx_mm, y + dy_mm)
            if spot is not None and spot.kind in (Snap.EDGES, Snap.GRID):
                edge = spot, (x, y)
            elif spot is not None:
                return self._hit(spot, (x, y), translate("Snapping", "the node held"))
        if (hit := self._to_target(dx_mm, dy_mm)) is not None:
            return hit
        lined = self._line_up(dx_mm, dy_mm)
        if lined.hint or edge is None:
            return lined
        return self._hit(*edge, translate("Snapping", "the node held"))

    # --- one place ------------------------------------------------------------------------------------------------

    def _hit(self, spot: Spot, own: Point, word: str) -> Snapped:
        text = translate("Snapping", "{own} on {target}").format(own=word, target=spot.text)
        return Snapped(spot.x_mm - own[0], spot.y_mm - own[1], [], text, spot)

    def _to_target(self, dx: float, dy: float) -> Snapped | None:
        if not len(self._targets):
            return None
        reach = REACH_PX / self._view.scale
        moved = self._own + np.array([dx, dy])
        low = np.searchsorted(self._targets[:, 0], moved[:, 0] - reach)
        high = np.searchsorted(self._targets[:, 0], moved[:, 0] + reach)
        best: tuple[float, int, int] | None = None
        for number in np.flatnonzero(high > low).tolist():
            part = self._targets[low[number] : high[number]]
            away = np.hypot(part[:, 0] - moved[number, 0], part[:, 1] - moved[number, 1])
            nearest = int(away.argmin())
            if away[nearest] <= reach and (best is None or away[nearest] < best[0]):
                best = float(away[nearest]), number, int(low[number]) + nearest
        if best is None:
            return None
        _, number, target = best
        x, y = self._targets[target].tolist()
        kind = (Snap.NODES, Snap.MIDPOINTS, Snap.CENTRES)[int(self._target_kinds[target])]
        name = self._target_names[int(self._target_owners[target])]
        words = {
            Snap.NODES: translate("Snapping", "a node of {name}"),
            Snap.MIDPOINTS: translate("Snapping", "the middle of an edge of {name}"),
            Snap.CENTRES: translate("Snapping", "the centre of {name}"),
        }
        if number < self._own_nodes:
            own = translate("Snapping", "a node")
        else:
            anchor = list(Anchor)[number - self._own_nodes]
            own = translate("Snapping", "the middle") if anchor is Anchor.CENTRE else translate("Snapping", "the edge")
            if "-" in anchor:
                own = translate("Snapping", "the corner")
        ox, oy = self._own[number].tolist()
        return self._hit(Spot(x, y, kind, words[kind].format(name=name)), (ox, oy), own)

    @staticmethod
    def _near_part(landmark: Landmark, window: Box) -> Path:
        """Return the segments of a long outline that are in view."""
        middle = (window[0] + window[2]) / 2.0, (window[1] + window[3]) / 2.0
        reach = max(window[2] - window[0], window[3] - window[1]) / 2.0
        return segments_of(landmark.path, landmark.hood.near(middle, reach))

    def _gather_targets(self, scene: Scene, window: Box, without: frozenset[str], store: Landmarks) -> None:
        """Gather nodes, middles of straight edges and centres: all paths in one go, for thousands take a frame."""
        kinds = self._rules.kinds
        seen = scene.within(window)
        costs = scene.costs[seen]
        if costs[costs < _LARGE].sum() > 2 * _MOST_TARGETS:
            seen = seen[:0]
        rows = [scene.rows[index] for index in seen.tolist()]
        rows = [row for row in rows if row.placed.leaf.id not in without and not is_guide(row)]
        called = quoted("{name}")
        self._target_names = [called.format(name=row.placed.leaf.name or row.placed.leaf.id) for row in rows]
        paths = [
            self._near_part(store.of(row), window) if len(row.drawing.path) >= _LARGE else row.drawing.path
            for row in rows
        ]
        path = joined(paths)
        owner = np.repeat(np.arange(len(rows)), [len(each) for each in paths])
        found: list[tuple[Floats, NDArray[np.int64]]] = [(np.zeros((0, 2)), np.zeros(0, np.int64))] * 3
        if Snap.NODES in kinds and path:
            loose = path.ends[~path.closed] - 1
            nodes = np.concatenate([path.points[:, 0], path.points[loose, 3]])
            found[0] = nodes, np.concatenate([owner, owner[loose]])
        if Snap.MIDPOINTS in kinds and path:
            straight = np.flatnonzero(path.kinds == SegmentKind.LINE)
            found[1] = (path.points[straight, 0] + path.points[straight, 3]) / 2.0, owner[straight]
        if Snap.CENTRES in kinds and rows:
            boxes = np.array([row.placed.leaf.bounds or _NOWHERE for row in rows])
            found[2] = (boxes[:, :2] + boxes[:, 2:]) / 2.0, np.arange(len(rows))
        everything = np.concatenate([points for points, _ in found])
        low, high = np.array(window[:2]), np.array(window[2:])
        kept = np.flatnonzero(((everything >= low) & (everything <= high)).all(axis=1))
        kept = kept if len(kept) <= _MOST_TARGETS else kept[:0]
        kept = kept[np.argsort(everything[kept, 0], kind="stable")]
        self._targets = everything[kept]
        self._target_kinds = np.repeat(np.arange(3), [len(points) for points, _ in found])[kept]
        self._target_owners = np.concatenate([owners for _, owners in found])[kept]

    # --- edges, middles, gaps -------------------------------------------------------------------------------------

    def _gather_boxes(self, scene: Scene, window: Box, without: frozenset[str]) -> None:
        job = scene.job
        assert job is not None
        boxes: list[Box] = [(0.0, 0.0, job.width_mm, job.height_mm)]
        self._names = [translate("Snapping", "the sheet")]
        called = quoted("{name}")
        for index in scene.within(window).tolist():
            row = scene.rows[index]
            leaf = row.placed.leaf
            if leaf.id in without or leaf.bounds is None:
                continue
            guide = is_guide(row)
            if guide and Snap.GUIDES not in self._rules.kinds:
                continue
            boxes.append(leaf.bounds)
            self._names.append(translate("Snapping", "a guide") if guide else called.format(name=leaf.name or leaf.id))
            if len(boxes) > _MOST:
                break
        self._boxes: Floats = np.array(boxes)
        places = [
            np.stack([self._boxes[:, axis], self._boxes[:, axis::2].mean(axis=1), self._boxes[:, axis + 2]], axis=1)
            for axis in (0, 1)
        ]
        edges, centres = Snap.EDGES in self._rules.kinds, Snap.CENTRES in self._rules.kinds
        for each in places:
            if not edges:
                each[:, [0, 2]] = np.inf
            if not centres:
                each[:, 1] = np.inf
        self._places = places

    def _line_up(self, dx: float, dy: float) -> Snapped:
        box, offsets, lines, said = self._box, [dx, dy], [], []
        reach = REACH_PX / self._view.scale
        found: list[tuple[int, int, float]] = []
        gaps: list[tuple[int, tuple[tuple[float, float], ...]]] = []
        for axis in (0, 1):
            own = np.array([box[axis], (box[axis] + box[axis + 2]) / 2.0, box[axis + 2]]) + offsets[axis]
            with np.errstate(invalid="ignore"):
                apart = self._places[axis][:, :, None] - own[None, None, :]
            apart[~np.isfinite(apart)] = np.inf
            nearest = np.unravel_index(int(np.abs(apart).argmin()), apart.shape)
            gap = float(apart[nearest])
            equal = self._equal_gap(axis, offsets[0] if axis else dx, dy)
            if equal is not None and abs(equal[0]) < min(abs(gap), reach):
                offsets[axis] += equal[0]
                said.append(equal[1])
                gaps.append((axis, equal[2]))
                continue
            if abs(gap) <= reach:
                offsets[axis] += gap
                other, theirs, mine = (int(each) for each in nearest)
                found.append((axis, other, float(self._places[axis][other, theirs])))
                said.append(self._lined_text(axis, mine, theirs, other))
                continue
            if Snap.GRID in self._rules.kinds:
                size = self._rules.grid_mm
                away = float(np.round(own[0] / size) * size - own[0])
                if abs(away) <= reach:
                    offsets[axis] += away
                    said.append(translate("Snapping", "the grid"))
        for axis, other, place in found:
            low = min(box[1 - axis] + offsets[1 - axis], self._boxes[other, 1 - axis])
            high = max(box[3 - axis] + offsets[1 - axis], self._boxes[other, 3 - axis])
            ends = ((place, low), (place, high)) if axis == 0 else ((low, place), (high, place))
            lines.append(QLineF(self._view.to_px(*ends[0]), self._view.to_px(*ends[1])))
        for axis, stretches in gaps:
            across = (box[1 - axis] + box[3 - axis]) / 2.0 + offsets[1 - axis]
            for start, end in stretches:
                ends = ((start, across), (end, across)) if axis == 0 else ((across, start), (across, end))
                lines.append(QLineF(self._view.to_px(*ends[0]), self._view.to_px(*ends[1])))
        return Snapped(offsets[0], offsets[1], lines, "; ".join(dict.fromkeys(said)))

    def _lined_text(self, axis: int, mine: int, theirs: int, other: int) -> str:
        own = (
            (
                translate("Snapping", "left edge"),
                translate("Snapping", "middle"),
                translate("Snapping", "right edge"),
            ),
            (
                translate("Snapping", "top edge"),
                translate("Snapping", "middle"),
                translate("Snapping", "bottom edge"),
            ),
        )[axis]
        name = self._names[other]
        if self._boxes[other, axis] == self._boxes[other, axis + 2]:
            return translate("Snapping", "{own} to {name}").format(own=own[mine], name=name)
        text = translate("Snapping", "{own} to the {theirs} of {name}")
        return text.format(own=own[mine], theirs=own[theirs], name=name)

    def _equal_gap(self, axis: int, dx: float, dy: float) -> tuple[float, str, tuple[tuple[float, float], ...]] | None:
        """Return the correction that makes a gap beside the art equal to another, in words, and the gaps to show."""
        if Snap.EQUAL_GAPS not in self._rules.kinds or len(self._boxes) < 3:
            return None
        box, other = self._box, 1 - axis
        shift = (dx, dy)
        start, end = box[axis] + shift[axis], box[axis + 2] + shift[axis]
        low, high = box[other] + shift[other], box[other + 2] + shift[other]
        boxes = self._boxes[1:]
        level = boxes[(boxes[:, other] < high) & (boxes[:, other + 2] > low) & (boxes[:, axis] < boxes[:, axis + 2])]
        slack = REACH_PX / self._view.scale
        best: tuple[float, tuple[tuple[float, float], ...]] | None = None
        for target, stretches in _gap_targets(level[:, axis], level[:, axis + 2], start, end, slack):
            if best is None or abs(target - start) < abs(best[0]):
                best = target - start, stretches
        if best is None:
            return None
        size = best[1][0][1] - best[1][0][0]
        text = translate("Snapping", "equal gaps of {size}").format(size=format_length(size, unit=self._rules.unit))
        return best[0], text, best[1]


def _gap_targets(
    lows: Floats, highs: Floats, start: float, end: float, slack: float
) -> Iterator[tuple[float, tuple[tuple[float, float], ...]]]:
    """Yield where the art may begin so that two gaps are equal, with both gaps.

    Between its neighbours; or as far from its neighbour as that one is from the next beyond.
    """
    wide = end - start
    before = np.flatnonzero(highs <= start + slack)
    after = np.flatnonzero(lows >= end - slack)
    left = before[np.argsort(-highs[before])] if len(before) else before
    right = after[np.argsort(lows[after])] if len(after) else after
    if len(left) and len(right):
        a, b = float(highs[left[0]]), float(lows[right[0]])
        gap = (b - a - wide) / 2.0
        if gap > 0.0:
            yield a + gap, ((a, a + gap), (b - gap, b))
    if len(left):
        a = float(highs[left[0]])
        beyond = [float(highs[each]) for each in left[1:] if highs[each] < lows[left[0]]]
        if beyond:
            gap = float(lows[left[0]]) - beyond[0]
            yield a + gap, ((beyond[0], beyond[0] + gap), (a, a + gap))
    if len(right):
        b = float(lows[right[0]])
        beyond = [float(lows[each]) for each in right[1:] if lows[each] > highs[right[0]]]
        if beyond:
            gap = beyond[0] - float(highs[right[0]])
            yield b - gap - wide, ((beyond[0] - gap, beyond[0]), (b - gap, b))


def _nodes(scene: Scene, ids: frozenset[str]) -> Floats:
    """Return the nodes of some leaves; none where there are so many that no hand means one."""
    paths = [row.drawing.path for each in ids if (row := scene.row(each)) is not None]
    if sum(len(path) for path in paths) > _MOST_TARGETS:
        return np.zeros((0, 2))
    path = joined(paths)
    return np.concatenate([path.points[:, 0], path.points[path.ends[~path.closed] - 1, 3]])
