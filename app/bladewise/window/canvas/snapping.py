"""Snapping: what the hand means when it points nearly at something, and how that is said in words.

Two levels of boxes find what is near (extents of the shapes, then boxes of their segments), so a look
costs the same in a large job as in a small one. A point snaps to one place; art that is moved snaps by
its nodes, its edges and its middle. Alt leaves it all out, the preferences choose the kinds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from PySide6.QtCore import QCoreApplication, QLineF, QPointF

from bladewise.document import MaterialKind
from bladewise.geometry.landmarks import (
    Neighbourhood,
    arc_centres,
    crossings_near,
    feet,
    middles,
    segments_of,
    square_places,
    tangent_places,
)
from bladewise.geometry.path import Path, SegmentKind, joined, rectangle
from bladewise.window.language import quoted
from bladewise.window.preferences import SNAP_AT_FIRST, Snap

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.document import Box
    from bladewise.geometry.path import Floats, Point
    from bladewise.window.canvas.scene import Row, Scene
    from bladewise.window.view import View

REACH_PX = 7.0
"""How near something must be to be snapped to."""

_MOST_SHAPES = 24
_MOST_SEGMENTS = 128
"""Beyond so many near one place they are denser than a hand can mean; the topmost of them count."""
_MOST_MEANT = 8
"""So many of the nearest segments are looked at for middles, crossings and tangents …"""
_DENSE = 40
"""… and none where more than so many pass within the reach: there only nodes, edges and centres can be meant."""
_MOST_KEPT = 4_000
"""Neighbourhoods kept for shapes that were looked at."""

translate = QCoreApplication.translate

SHEET = "\0sheet"
"""Stands for the sheet where a leaf's id would."""


@dataclass(frozen=True)
class SnapRules:
    """What is snapped to."""

    kinds: frozenset[Snap] = SNAP_AT_FIRST
    grid_mm: float = 10.0
    unit: str = "mm"


class Spot(NamedTuple):
    """A place that a point snaps to: where, of what kind, in words, and a line to show with it if there is one."""

    x_mm: float
    y_mm: float
    kind: Snap
    text: str
    lines: tuple[tuple[Point, Point], ...] = ()


class Landmark(NamedTuple):
    """What is kept for a shape: its segments in boxes and the centres of its arcs and of its extent."""

    path: Path
    hood: Neighbourhood
    centres: Floats


class Landmarks:
    """The neighbourhoods of the shapes that were looked at; a shape that changed is looked at anew."""

    def __init__(self) -> None:
        """Begin with none."""
        self._kept: dict[str, Landmark] = {}
        self._guides: tuple[object, list[Row]] = (None, [])

    def guides(self, scene: Scene) -> list[Row]:
        """Return the guides of a scene; looked for once a job."""
        if self._guides[0] is not scene.job:
            self._guides = scene.job, [row for row in scene.rows if len(row.drawing.path) == 1 and is_guide(row)]
        return self._guides[1]

    def of(self, row: Row) -> Landmark:
        """Return what is known of a row."""
        leaf = row.placed.leaf
        path = row.drawing.path
        if not path and leaf.bounds is not None:
            x0, y0, x1, y1 = leaf.bounds
            path = rectangle(x0, y0, x1 - x0, y1 - y0)
        return self._of(leaf.id, path, row.drawing.path, leaf.bounds)

    def of_sheet(self, width_mm: float, height_mm: float) -> Landmark:
        """Return the sheet as a shape."""
        path = rectangle(0.0, 0.0, width_mm, height_mm)
        return self._of(SHEET, path, path, (0.0, 0.0, width_mm, height_mm))

    def _of(self, key: str, path: Path, source: Path, box: Box | None) -> Landmark:
        known = self._kept.get(key)
        if known is not None and (known.path is path or (known.path == path and len(path) <= 4)):
            return known
        if len(self._kept) >= _MOST_KEPT:
            self._kept.clear()
        arcs = arc_centres(source)
        arcs = arcs[~np.isnan(arcs[:, 0])]
        middle = [] if box is None else [[(box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0]]
        centres = np.concatenate([arcs, np.array(middle).reshape(-1, 2)])
        if len(centres) > 1:
            _, first = np.unique(np.round(centres, 6), axis=0, return_index=True)
            centres = centres[first]
        found = self._kept[key] = Landmark(path, Neighbourhood(path), centres)
        return found


class _Near(NamedTuple):
    """The segments near a place with the nearest point of each, and whose they are."""

    path: Path
    owner: NDArray[np.int64]
    away: Floats
    feet: Floats


class Magnet:
    """Finds what points snap to in one view of a scene, some leaves left out."""

    def __init__(
        self, scene: Scene, view: View, rules: SnapRules, store: Landmarks, without: frozenset[str] = frozenset()
    ) -> None:
        """Take the scene as it is seen now."""
        self._scene, self._view, self._rules, self._store = scene, view, rules, store
        self._without = without

    @property
    def reach_mm(self) -> float:
        """How near something must be, in mm."""
        return REACH_PX / self._view.scale

    def point(
        self,
        x_mm: float,
        y_mm: float,
        *,
        origin: Point | None = None,
        extra: Floats | None = None,
        extra_text: str = "",
    ) -> Spot | None:
        """Return what a point snaps to, or None.

        Parameters
        ----------
        x_mm, y_mm
            Where the hand points.
        origin
            Where a line to the point begins: then it may also touch a curve, or meet an edge squarely.
        extra, extra_text
            More nodes to snap to, shape (n, 2), and how they are called (a path being drawn).
        """
        kinds, place, reach = self._rules.kinds, (x_mm, y_mm), self.reach_mm
        landmarks, names, guides = self._around(place, reach)
        near = self._near(landmarks, place, reach)
        found: list[tuple[float, Spot]] = []

        def offer(points: Floats, kind: Snap, texts: Sequence[str], malus: float) -> None:
            away = np.hypot(points[:, 0] - x_mm, points[:, 1] - y_mm)
            for row in np.flatnonzero(away <= reach).tolist():  # what is nowhere, NaN, is not near either
                x, y = points[row].tolist()
                found.append((float(away[row]) / reach + malus, Spot(x, y, kind, texts[row])))

        if extra is not None and len(extra):
            offer(extra, Snap.NODES, [extra_text] * len(extra), 0.0)
        owners = near.owner.tolist()
        if Snap.NODES in kinds and owners:
            word, corner = translate("Snapping", "a node of {name}"), translate("Snapping", "a corner of {name}")
            whose = [(corner if landmarks[each] is self._sheet else word).format(name=names[each]) for each in owners]
            open_to = np.array([not guides[each] for each in owners])
            ends = np.where(open_to[:, None, None], near.path.points[:, [0, 3]], np.nan)
            offer(ends[:, 0], Snap.NODES, whose, 0.0)
            offer(ends[:, 1], Snap.NODES, whose, 0.0)
        meant = np.argsort(near.away, kind="stable")[: _MOST_MEANT if len(owners) <= _DENSE else 0]
        part = segments_of(near.path, meant)
        whose = [names[owners[row]] for row in meant.tolist()]
        if Snap.MIDPOINTS in kinds and part:
            text = translate("Snapping", "the middle of an edge of {name}")
            places = middles(part)
            places[[guides[owners[row]] for row in meant.tolist()]] = np.nan
            offer(places, Snap.MIDPOINTS, [text.format(name=name) for name in whose], 0.15)
        if origin is not None and Snap.TANGENTS in kinds and part:
            touches, square = translate("Snapping", "touches {name}"), translate("Snapping", "square to {name}")
            offer(
                tangent_places(part, origin, place), Snap.TANGENTS, [touches.format(name=name) for name in whose], 0.1
            )
            offer(square_places(part, origin, place), Snap.TANGENTS, [square.format(name=name) for name in whose], 0.1)
        if Snap.CENTRES in kinds:
            text = translate("Snapping", "the centre of {name}")
            for landmark, name, guide in zip(landmarks, names, guides, strict=True):
                if not guide and len(landmark.centres):
                    offer(landmark.centres, Snap.CENTRES, [text.format(name=name)] * len(landmark.centres), 0.1)
        if Snap.INTERSECTIONS in kinds and len(part) > 1:
            crossings, pairs = crossings_near(part, place, reach)
            offer(crossings, Snap.INTERSECTIONS, [self._crossing(owners, names, meant[pair]) for pair in pairs], 0.05)
        if found:
            return min(found, key=lambda each: each[0])[1]
        return self._line_or_grid(near, names, guides, place, reach)

    @staticmethod
    def _crossing(owners: list[int], names: list[str], pair: NDArray[np.int64]) -> str:
        first, second = (names[index] for index in sorted(owners[row] for row in pair.tolist()))
        if first == second:
            return translate("Snapping", "the crossing of {name} with itself").format(name=first)
        return translate("Snapping", "the crossing of {first} and {second}").format(first=first, second=second)

    # --- what is near ---------------------------------------------------------------------------------------------

    def _around(self, place: Point, reach: float) -> tuple[list[Landmark], list[str], list[bool]]:
        scene, (x, y) = self._scene, place
        landmarks: list[Landmark] = []
        names: list[str] = []
        guides: list[bool] = []
        for index in scene.within((x - reach, y - reach, x + reach, y + reach))[::-1].tolist():
            row = scene.rows[index]
            leaf = row.placed.leaf
            if leaf.id in self._without:
                continue
            guide = is_guide(row)
            if guide and Snap.GUIDES not in self._rules.kinds:
                continue
            landmarks.append(self._store.of(row))
            names.append(translate("Snapping", "a guide") if guide else quoted(leaf.name or leaf.id))
            guides.append(guide)
            if len(landmarks) >= _MOST_SHAPES:
                break
        job = scene.job
        assert job is not None
        self._sheet = self._store.of_sheet(job.width_mm, job.height_mm)
        landmarks.append(self._sheet)
        names.append(translate("Snapping", "the sheet"))
        guides.append(False)
        return landmarks, names, guides

    def _near(self, landmarks: list[Landmark], place: Point, reach: float) -> _Near:
        paths: list[Path] = []
        owners: list[NDArray[np.int64]] = []
        room = _MOST_SEGMENTS
        for index, landmark in enumerate(landmarks):
            rows = landmark.hood.near(place, reach)[:room]
            if len(rows):
                paths.append(segments_of(landmark.path, rows))
                owners.append(np.full(len(rows), index))
                room -= len(rows)
            if room <= 0:
                break
        path = joined(paths)
        if not path:
            return _Near(path, np.zeros(0, np.int64), np.zeros(0), np.zeros((0, 2)))
        _, away, foot = feet(path, place)
        keep = np.flatnonzero(away <= reach)
        return _Near(segments_of(path, keep), np.concatenate(owners)[keep], away[keep], foot[keep])

    def _line_or_grid(
        self, near: _Near, names: list[str], guides: list[bool], place: Point, reach: float
    ) -> Spot | None:
        kinds = self._rules.kinds
        order = np.argsort(near.away, kind="stable").tolist()
        for guide_wanted in (True, False):
            for row in order:
                owner = int(near.owner[row])
                if guides[owner] is guide_wanted and (guide_wanted or Snap.EDGES in kinds):
                    x, y = near.feet[row].tolist()
                    if guide_wanted:
                        return Spot(x, y, Snap.GUIDES, names[owner])
                    return Spot(x, y, Snap.EDGES, translate("Snapping", "an edge of {name}").format(name=names[owner]))
        if Snap.GRID in kinds:
            size = self._rules.grid_mm
            on = [round(each / size) * size for each in place]
            close = [abs(a - b) <= reach for a, b in zip(on, place, strict=True)]
            if any(close):
                x, y = (a if near_ else b for a, b, near_ in zip(on, place, close, strict=True))
                return Spot(x, y, Snap.GRID, translate("Snapping", "the grid"))
        return None


def is_guide(row: Row) -> bool:
    """Whether a row is a guide: one straight line that reaches no machine."""
    path = row.drawing.path
    return row.material.kind is MaterialKind.GUIDE and len(path) == 1 and int(path.kinds[0]) == SegmentKind.LINE


def snap_line(view: View, start: Point, end: Point) -> QLineF:
    """Return a line of the sheet in pixels."""
    return QLineF(QPointF(view.to_px(*start)), QPointF(view.to_px(*end)))
