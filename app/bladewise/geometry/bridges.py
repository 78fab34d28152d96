"""Bridges of a stencil: straight bars that hold the islands inside letters.

What is left of a panel when a word is cut out of it falls into pieces; those that lie in the word's counters are
islands and fall out. A bar is a rectangle across the cut, from an island to what is held. Where bars go is decided on
fine chords; the bars themselves have straight sides and the stencil keeps its true curves (`booleans`).

Islands are held one after the other, the one with the shortest way first, so that an island may hold its neighbour.
Lengths are mm, y down, angles in degrees clockwise on the screen from the x axis.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from bladewise.geometry.booleans import cut_out, merge, pieces
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import Path, Point, joined, polygon
from bladewise.geometry.regions import Region
from bladewise.geometry.tolerances import FLATTENING_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

_INTO_MM = 0.05
"""How far a bar runs into what it holds, so that the curve between two looks at its end leaves no slit."""
_LOOKS = 41
"""Places across an island at which a bar is tried."""
_ACROSS = (-0.5, -0.25, 0.0, 0.25, 0.5)
"""Lines along a bar, in widths from its middle, on which the way is measured."""
_TURN_DEG = 15.0
"""Directions tried where the shortest way is asked for."""
_OFF_MIDDLE = 0.25
"""How much longer a bar may be for each mm that it lies nearer to the island's middle, where the angle is set."""
_SECTOR_DEG = 30.0
"""Bars of one island whose directions differ by less than this from the best spread count as spread alike."""


class Bar(NamedTuple):
    """A bridge: from a place in an island to a place in what holds it, and its width in mm."""

    start: Point
    end: Point
    width_mm: float

    @property
    def path(self) -> Path:
        """Its outline, clockwise on the screen."""
        (x1, y1), (x2, y2) = self.start, self.end
        run = math.hypot(x2 - x1, y2 - y1)
        across = ((y1 - y2) / run * self.width_mm / 2.0, (x2 - x1) / run * self.width_mm / 2.0)
        dx, dy = across
        return polygon([(x1 - dx, y1 - dy), (x2 - dx, y2 - dy), (x2 + dx, y2 + dy), (x1 + dx, y1 + dy)])

    @property
    def length_mm(self) -> float:
        """How long it is, the parts that run into its ends too."""
        return math.dist(self.start, self.end)


class Stencil(NamedTuple):
    """A panel with a word cut out, the bars that were put in, the islands, and those nothing holds."""

    path: Path
    bars: list[Bar]
    islands: list[Path]
    loose: list[Path]


class _Way(NamedTuple):
    cost: float
    bar: Bar
    target: int


def stencil(
    panel: Region,
    word: Sequence[Region],
    width_mm: float,
    *,
    angle_deg: float | None = 90.0,
    count: int = 1,
    given: Sequence[Bar] = (),
) -> Stencil:
    """Return a panel with a word cut out of it, its islands held by bars.

    Parameters
    ----------
    panel, word
        What stays and what is cut out of it.
    width_mm
        Width of the bars.
    angle_deg
        Direction of the bars; None for the shortest way of each.
    count
        Bars an island; fewer where there is no room. One is the least that holds.
    given
        Bars put in first. An island that one of them touches gets no more than it needs to be held.

    Examples
    --------
    >>> from bladewise.geometry.path import circle, rectangle
    >>> ring = [Region(joined([circle((0, 0), 20), circle((0, 0), 10).reversed()]))]
    >>> made = stencil(Region(rectangle(-40, -40, 80, 80)), ring, 4.0)
    >>> len(made.islands), len(made.bars), len(made.loose)
    (1, 1, 0)
    """
    area = merge(word)
    parts, solids, islands = _parted(panel, area)
    bars = [bar for bar in given if bar.length_mm > 0.0]
    if islands and len(islands) < len(parts):
        whole = shapely.union_all([_polygon(part) for part in pieces(area)])
        bars += _held(solids, whole, islands, bars, width_mm, angle_deg, count)
    cut = cut_out(Region(area), [Region(bar.path) for bar in bars]) if bars else area
    loose = [parts[place] for place in _unheld(solids, islands, bars)]
    return Stencil(cut_out(panel, [Region(cut)]), bars, [parts[place] for place in islands], loose)


def _parted(panel: Region, area: Path) -> tuple[list[Path], Any, list[int]]:
    """Return what is left of a panel: its pieces, they as polygons, and which of them are islands."""
    parts = pieces(cut_out(panel, [Region(area)]))
    solids = np.array([_polygon(part) for part in parts], object)
    holes = [Region(joined(_holes(part))) for part in pieces(area)]
    counters = shapely.union_all([_polygon(hole) for region in holes for hole in region.path.subpaths()])
    islands = [
        place for place, solid in enumerate(solids) if shapely.contains(counters, shapely.point_on_surface(solid))
    ]
    return parts, solids, islands


class Ground:
    """The islands of a stencil, for putting bridges where a hand wants them."""

    def __init__(self, panel: Region, word: Sequence[Region]) -> None:
        """Find the islands of a word cut out of a panel."""
        area = merge(word)
        _, self._solids, self._islands = _parted(panel, area)
        self._cut = shapely.union_all([_polygon(part) for part in pieces(area)])
        self._ground = _Ground(self._solids) if self._islands else None

    def __len__(self) -> int:
        """Return how many islands there are."""
        return len(self._islands)

    def bars(
        self, width_mm: float, *, angle_deg: float | None = 90.0, count: int = 1, given: Sequence[Bar] = ()
    ) -> list[Bar]:
        """Return the bars that `stencil` puts in with the same numbers."""
        bars = [bar for bar in given if bar.length_mm > 0.0]
        if self._islands and len(self._islands) < len(self._solids):
            bars += _held(self._solids, self._cut, self._islands, bars, width_mm, angle_deg, count)
        return bars

    def middle(self, island: int) -> Point:
        """Return the middle of an island."""
        centre = shapely.centroid(self._solids[self._islands[island]])
        return float(centre.x), float(centre.y)

    def nearest(self, place: Point) -> int:
        """Return the island nearest to a place."""
        point = shapely.Point(place)
        return int(np.argmin(shapely.distance(self._solids[self._islands], point)))

    def held_by(self, bar: Bar) -> list[int]:
        """Return the islands that a bar touches."""
        return [number for number, place in enumerate(self._islands) if _touches(self._solids[place], bar)]

    def bar_at(self, island: int, place: Point, width_mm: float, angle_deg: float | None) -> Bar | None:
        """Return the bar that holds an island where a hand wants it; None where none can run.

        Parameters
        ----------
        island
            Which island, from 0.
        place
            Where the hand is: the bar runs from the island past it.
        angle_deg
            The direction of bars; it is kept while the hand is level with the island. Beside it, and where no
            direction is given, the bar runs from the island's middle towards the hand.
        """
        if self._ground is None:
            return None
        solid = self._islands[island]
        if angle_deg is not None:
            turn = math.radians(angle_deg)
            level = place[1] * math.cos(turn) - place[0] * math.sin(turn)
            low, high = self._ground.extent(solid, angle_deg)
            if not low <= level <= high:
                angle_deg = None
        if angle_deg is None:
            middle = self.middle(island)
            angle_deg = math.degrees(math.atan2(place[1] - middle[1], place[0] - middle[0]))
            turn = math.radians(angle_deg)
            level = place[1] * math.cos(turn) - place[0] * math.sin(turn)
        ways = _ways_along(self._ground, solid, width_mm, angle_deg, off_middle=0.0, level=level)
        if not ways:
            return None

        def off(way: _Way) -> float:
            (x1, y1), (x2, y2) = way.bar.start, way.bar.end
            return math.dist(((x1 + x2) / 2.0, (y1 + y2) / 2.0), place)

        return _whole(min(ways, key=off).bar, self._cut)


def _held(
    solids: Any,
    cut: Any,
    islands: Sequence[int],
    bars: Sequence[Bar],
    width_mm: float,
    angle_deg: float | None,
    count: int,
) -> list[Bar]:
    """Return the bars still needed: first one for each island not held, the shortest first, then the others."""
    made: list[Bar] = []
    unheld = set(_unheld(solids, islands, bars))
    ground = _Ground(solids)
    ways = {place: _ways(ground, place, width_mm, angle_deg) for place in islands}
    stubborn: set[int] = set()
    while unheld:
        found = [(way, place) for place in unheld for way in ways[place] if way.target not in unheld]
        if not found:
            # nothing lies that way for those that are left: any direction will do
            again = unheld - stubborn
            if not again or angle_deg is None:
                break
            stubborn |= again
            ways |= {place: _ways(ground, place, width_mm, None) for place in again}
            continue
        way, place = min(found, key=lambda each: (round(each[0].cost, 3), each[1], each[0].bar))
        made.append(_whole(way.bar, cut))
        unheld = set(_unheld(solids, islands, [*bars, *made]))
    for place in islands:
        holding = [bar for bar in (*bars, *made) if _touches(solids[place], bar)]
        if place in unheld or any(_touches(solids[place], bar) for bar in bars):
            continue  # what holds an island by hand is what was wanted there
        while len(holding) < count:
            more = _farthest(solids[place], ways[place], holding)
            if more is None:
                break
            made.append(_whole(more, cut))
            holding.append(made[-1])
    return made


def _farthest(island: Any, ways: Sequence[_Way], holding: Sequence[Bar]) -> Bar | None:
    """Return the bar that spreads best around an island among those that keep clear of the others; None for none."""
    centre = shapely.centroid(island)
    taken = shapely.union_all([_polygon(bar.path) for bar in holding])

    def bearing(bar: Bar) -> float:
        return math.degrees(math.atan2(bar.end[1] - centre.y, bar.end[0] - centre.x))

    others = [bearing(bar if _starts_in(island, bar) else Bar(bar.end, bar.start, bar.width_mm)) for bar in holding]
    free = [way for way in ways if shapely.distance(_polygon(way.bar.path), taken) >= way.bar.width_mm]
    if not free:
        return None

    def spread(way: _Way) -> int:
        here = bearing(way.bar)
        return round(min(abs((here - other + 180.0) % 360.0 - 180.0) for other in others) / _SECTOR_DEG)

    best = max(map(spread, free))
    return min((way for way in free if spread(way) == best), key=lambda way: (round(way.cost, 3), way.bar)).bar


def _whole(bar: Bar, cut: Any) -> Bar:
    """Return a bar so long that no tip of the cut is left standing alone beyond its ends."""
    ends = []
    for one, other in ((bar.start, bar.end), (bar.end, bar.start)):
        dx, dy = (one[0] - other[0]) / bar.length_mm, (one[1] - other[1]) / bar.length_mm
        beyond = Bar(one, (one[0] + dx * bar.width_mm, one[1] + dy * bar.width_mm), bar.width_mm)
        more = 0.0
        for tip in shapely.get_parts(shapely.intersection(_polygon(beyond.path), cut)):
            if tip.is_empty:
                continue
            along = (shapely.get_coordinates(tip) - one) @ np.array([dx, dy])
            if along.min() < 1e-6 and _INTO_MM + along.max() < bar.width_mm:  # a longer one is another part of the cut
                more = max(more, float(along.max()) + _INTO_MM)
        ends.append((one[0] + dx * more, one[1] + dy * more))
    return Bar(ends[0], ends[1], bar.width_mm)


def _starts_in(island: Any, bar: Bar) -> bool:
    return bool(shapely.distance(island, shapely.Point(bar.start)) <= shapely.distance(island, shapely.Point(bar.end)))


class _Ground:
    """The pieces round about, as edges, turned so that bars of a direction run along x."""

    def __init__(self, solids: Any) -> None:
        """Take the edges of polygons."""
        self.solids = solids
        rings, self._piece = shapely.get_parts(shapely.boundary(solids), return_index=True)
        coords, ring = shapely.get_coordinates(rings, return_index=True)
        inner = np.flatnonzero(ring[1:] == ring[:-1])
        self._edges = np.stack([coords[inner], coords[inner + 1]], axis=1)
        self._piece = self._piece[ring[inner]]
        self._turned: dict[float, Any] = {}

    def turned(self, angle_deg: float) -> Any:
        """Return the edges turned back by an angle, shape (n, 2, 2)."""
        if angle_deg not in self._turned:
            cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
            self._turned[angle_deg] = self._edges @ np.array([[cos, -sin], [sin, cos]])
        return self._turned[angle_deg]

    def extent(self, place: int, angle_deg: float) -> tuple[float, float]:
        """Return between which lines along the bars a piece lies."""
        across = self.turned(angle_deg)[self._piece == place, :, 1]
        return float(across.min()), float(across.max())

    def spans(self, rows: Any, angle_deg: float) -> tuple[Any, Any, Any, Any]:
        """Return where lines along the bars run in pieces: the line, the piece, from, to."""
        edges = self.turned(angle_deg)
        above = edges[None, :, :, 1] <= rows[:, None, None]
        line, edge = np.nonzero(above[..., 0] != above[..., 1])
        (x1, y1), (x2, y2) = edges[edge, 0].T, edges[edge, 1].T
        x = x1 + (rows[line] - y1) / (y2 - y1) * (x2 - x1)
        order = np.lexsort((x, self._piece[edge], line))
        line, piece, x = line[order], self._piece[edge][order], x[order]
        return line[::2], piece[::2], x[::2], x[1::2]


def _ways(ground: _Ground, place: int, width_mm: float, angle_deg: float | None) -> list[_Way]:
    """Return the ways on which a bar can run from an island straight to another piece."""
    if angle_deg is not None:
        return _ways_along(ground, place, width_mm, angle_deg)
    others = shapely.union_all(np.delete(ground.solids, place))
    ends = shapely.get_coordinates(shapely.shortest_line(ground.solids[place], others))
    angles = [turn * _TURN_DEG for turn in range(round(180.0 / _TURN_DEG))]
    if len(ends) and math.dist(*ends) > 0.0:
        (x1, y1), (x2, y2) = ends
        angles.append(math.degrees(math.atan2(y2 - y1, x2 - x1)))
    return [way for angle in angles for way in _ways_along(ground, place, width_mm, angle, off_middle=0.0)]


def _ways_along(
    ground: _Ground,
    place: int,
    width_mm: float,
    angle_deg: float,
    *,
    off_middle: float = _OFF_MIDDLE,
    level: float | None = None,
) -> list[_Way]:
    """Return the ways of bars in one direction, to either side; `level` asks for one line across it only."""
    low, high = ground.extent(place, angle_deg)
    room = (high - low) / 2.0 - width_mm / 2.0
    if room <= 0.0:
        offs = np.zeros(1)
    elif level is None:
        offs = np.linspace(-room, room, _LOOKS)
    else:
        offs = np.array([min(max(level - (low + high) / 2.0, -room), room)])
    middles = (low + high) / 2.0 + offs
    # an island slimmer than the bar is looked at where it is
    reach = width_mm if room > 0.0 else 0.98 * (high - low)
    rows = (middles[:, None] + reach * np.array(_ACROSS)).ravel()
    nudge = 1e-6 * (high - low)
    rows = np.clip(rows, low + nudge, high - nudge)
    line, piece, start_x, stop_x = ground.spans(rows, angle_deg)
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    found = []
    for side in (1.0, -1.0):
        first, last = (start_x, stop_x) if side > 0.0 else (-stop_x, -start_x)
        leaves = np.full(len(rows), -np.inf)
        own = piece == place
        np.maximum.at(leaves, line[own], last[own])
        beyond = np.flatnonzero((first > leaves[line]) & np.isfinite(leaves[line]))
        beyond = beyond[np.lexsort((first[beyond], line[beyond]))]
        _, at = np.unique(line[beyond], return_index=True)
        arrives, target = np.full(len(rows), np.inf), np.full(len(rows), -1, np.int64)
        arrives[line[beyond[at]]], target[line[beyond[at]]] = first[beyond[at]], piece[beyond[at]]
        near = leaves.reshape(-1, len(_ACROSS)).min(axis=1)
        far = arrives.reshape(-1, len(_ACROSS)).max(axis=1)
        targets = target.reshape(-1, len(_ACROSS))
        good = (targets == targets[:, :1]).all(axis=1) & (targets[:, 0] >= 0)
        for number in np.flatnonzero(good).tolist():
            middle = float(middles[number])
            begin, end = side * (float(near[number]) - _INTO_MM), side * (float(far[number]) + _INTO_MM)
            start = (begin * cos - middle * sin, begin * sin + middle * cos)
            stop = (end * cos - middle * sin, end * sin + middle * cos)
            cost = float(far[number] - near[number]) + off_middle * abs(middle - (low + high) / 2.0)
            way = _Way(cost, Bar(start, stop, width_mm), int(targets[number, 0]))
            found.append(way)
    return found


def _unheld(solids: Any, islands: Sequence[int], bars: Sequence[Bar]) -> list[int]:
    """Return the islands that no chain of bars ties to a piece that is none."""
    ties = [{place for place in range(len(solids)) if _touches(solids[place], bar)} for bar in bars]
    held = set(range(len(solids))) - set(islands)
    grown = True
    while grown:
        grown = False
        for tie in ties:
            if tie & held and not tie <= held:
                held |= tie
                grown = True
    return [place for place in islands if place not in held]


def _touches(solid: Any, bar: Bar) -> bool:
    shape = _polygon(bar.path)
    return bool(shapely.intersects(solid, shape)) and shapely.area(shapely.intersection(solid, shape)) > 0.0


def _holes(part: Path) -> list[Path]:
    """Return the inner rings of a piece, turned the other way about."""
    rings = list(part.subpaths())
    sizes = [shapely.area(_polygon(ring)) for ring in rings]
    outer = int(np.argmax(sizes))
    return [ring.reversed() for place, ring in enumerate(rings) if place != outer]


def _polygon(part: Path) -> Any:
    """Return a piece (an outer ring and its holes) on fine chords."""
    rings = [flatten(ring, FLATTENING_MM).coords for ring in part.subpaths()]
    shapes = sorted((shapely.Polygon(ring) for ring in rings if len(ring) > 3), key=lambda shape: -shapely.area(shape))
    if not shapes:
        return shapely.Polygon()
    return shapely.make_valid(shapely.Polygon(shapes[0].exterior, [shape.exterior for shape in shapes[1:]]))
