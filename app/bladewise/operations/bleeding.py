"""Print that runs on beyond the cut line: each band of colour along the edge goes on outward with its own colour.

The cut line is looked at from the art (`edge_inks`), the strip beyond it is divided among the inks by which part of the
line is nearest (`geometry.territories`), and each part is painted as its ink is: flat colours flat, gradients as the
same gradient, pictures with their edge pixels repeated (`picture_bleed`). The strip's outlines are true parallels of
the line; only the borders between two inks, which lie in the waste, are straight pieces. A part runs a little under the
art it continues, so that no hairline of film shows between the two.

Where the art itself does not reach the line, the film is meant to be bare there, and stays so.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely

from bladewise.document import PRINT, Colour, Gradient, Job, Layer, Picture, Placed, Shape, Style
from bladewise.errors import CannotApply
from bladewise.geometry import booleans, measures
from bladewise.geometry.kernel import Kernel, curve_true
from bladewise.geometry.regions import Region
from bladewise.geometry.rough import straight_outlines
from bladewise.geometry.territories import territories
from bladewise.operations.coats import Coat, coats_of, is_line_to_cut, is_print
from bladewise.operations.cut_regions import Parallels, cut_regions, lines_to_cut, near_lines
from bladewise.operations.declaration import Operation, Progress, Result, acts_on, colour, length
from bladewise.operations.edge_inks import (
    MOST_SITES,
    SPACING_MM,
    Edge,
    EdgeReader,
    Look,
    ending,
    hides,
    lies_in,
)
from bladewise.operations.painted import holds_any, painted_area, paints_anything
from bladewise.operations.picture_bleed import continued
from bladewise.operations.selection import Selection
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.document import Box, Element, Leaf
    from bladewise.geometry.path import Path

UNDER_MM = 0.3
"""How far bleed runs under the art it continues: more than a printer's own dot, too little to matter (no source)."""

SEAM_MM = 0.3
"""How far one ink's bleed runs under that of its neighbour."""

_BORDER_MM = 0.02
"""How far a border between two inks may stray, out in the waste."""

_TOUCHING_MM = 0.01
"""Bare film nearer than this to the line reaches it."""


@dataclass(frozen=True, kw_only=True)
class Bleed:
    """Print that runs on beyond the cut line."""

    on: Selection = acts_on(help="The cut line, or the art")
    distance_mm: float = length(2.0, minimum=0.05, maximum=100.0, help="How far the print runs beyond the cut line")
    fill: Colour | None = colour(None, help="Its colour; left out: each part goes on as it is at the art's edge")
    reach_mm: float = length(
        0.2, minimum=0.0, maximum=100.0, help="Art that ends this far before the cut line still runs on beyond it"
    )


class _Ask(NamedTuple):
    """What a part of the strip is cut from: its line, its look, where it is nearest, what it keeps off."""

    line: int
    look: Look
    territory: Any


@dataclass
class _Regions:
    """The regions of one kernel call, with their numbers."""

    all: list[Region] = field(default_factory=list)

    def add(self, path: Path) -> int:
        self.all.append(Region(path))
        return len(self.all) - 1


def bleed(job: Job, record: Bleed, progress: Progress) -> Result:
    """Put print that runs beyond the cut line at the back of the art."""
    lines, art, selected = _lines_and_art(job, record.on)
    outlines = [region.path for region in cut_regions(job, lines)]
    reaching = near_lines(art, outlines, record.distance_mm + record.reach_mm + UNDER_MM) if outlines else art
    coats = coats_of(reaching)
    if not any(paints_anything(placed.leaf) for placed in art):
        msg = "There is no art inside the cut line to run on beyond it."
        raise CannotApply(msg, where=record.on.describe(job), hint="Select the printed art and its cut line.")
    reports: list[str] = []
    if not outlines:
        if lines and selected:
            msg = "This cut line is open, so nothing lies inside it."
            raise CannotApply(msg, where=record.on.describe(job), hint="Close it, or choose the line around the art.")
        outlines = [painted_area([placed.leaf for placed in art])]
        reports.append("There is no cut line yet; the bleed runs beyond the art's edge.")
    progress(0.1)
    edges = _read(outlines, coats, record, progress)
    wanted = [edge for edge in edges if edge.bare < 1.0 and edge.run_on < 1.0]
    if not wanted:
        raise _nothing_to_do(job, record, edges)
    parts = _parts(edges, coats, record, progress)
    progress(0.9)
    elements = _elements(job, parts, edges, record)
    if not elements:
        raise _nothing_to_do(job, record, edges)
    layer_id = job.fresh_id("bleed-layer", taken={each.id for each in elements})
    layer = Layer(layer_id, "Bleed", tuple(elements))
    leaves: list[Leaf] = [placed.leaf for placed in art]
    place = min((index for index, each in enumerate(job.layers) if holds_any(each, leaves)), default=0)
    result = job.with_material(job.material(PRINT.id) or PRINT).with_layer(layer, index=place)
    bare = sum(edge.bare * measures.length(edge.path) for edge in wanted)
    if bare > 0.5:
        reports.append(
            phrase(
                "Along {length} mm of the cut line the art ends before it; the film stays bare there.",
                length=format_number(bare, 0),
            )
        )
    return Result(result, tuple(reports), tuple(each.id for each in elements))


def _nothing_to_do(job: Job, record: Bleed, edges: Sequence[Edge]) -> CannotApply:
    if any(edge.bare < 1.0 for edge in edges):
        msg = phrase(
            "The print already runs {distance} mm beyond the cut line.", distance=format_number(record.distance_mm)
        )
        return CannotApply(msg, where=record.on.describe(job), hint="Leave this step out, or make the distance larger.")
    msg = phrase(
        "The art ends more than {reach} mm before the cut line, all along it: a bare margin lies between them.",
        reach=format_number(record.reach_mm),
    )
    hint = "Make the reach as large as the margin, so that the art's edge runs on through it."
    return CannotApply(msg, where=record.on.describe(job), hint=hint)


def _lines_and_art(job: Job, on: Selection) -> tuple[list[Placed], list[Placed], bool]:
    """Return the cut lines and the print a step is about, and whether the lines were among what it acts on."""
    chosen = on.leaves(job)
    lines = [placed for placed in chosen if is_line_to_cut(placed)]
    art = [placed for placed in chosen if not is_line_to_cut(placed) and is_print(job, placed)]
    shown = [placed for placed in job.walk() if placed.visible]
    found = bool(lines)
    if not lines:
        lines = [placed for placed in shown if is_line_to_cut(placed) and (not art or _any_meets(placed, art))]
    if not art:
        art = [
            placed
            for placed in shown
            if not is_line_to_cut(placed) and is_print(job, placed) and _any_meets(placed, lines)
        ]
    return lines_to_cut(job, lines), art, found


def _read(outlines: Sequence[Path], coats: Sequence[Coat], record: Bleed, progress: Progress) -> list[Edge]:
    """Return each line as it is seen from the art near it."""
    whole = sum(measures.length(path) for path in outlines)
    spacing = max(SPACING_MM, whole / MOST_SITES)
    boxes = np.array([coat.box or (np.inf, np.inf, -np.inf, -np.inf) for coat in coats]).reshape(-1, 4)
    edges = []
    for number, path in enumerate(outlines):
        x0, y0, x1, y1 = path.bounds() or (0.0, 0.0, 0.0, 0.0)
        room = record.distance_mm
        meets = (
            (boxes[:, 0] <= x1 + room)
            & (boxes[:, 2] >= x0 - room)
            & (boxes[:, 1] <= y1 + room)
            & (boxes[:, 3] >= y0 - room)
        )
        near = [coats[place] for place in np.flatnonzero(meets).tolist()]
        under = record.reach_mm + UNDER_MM
        edge = EdgeReader(near, record.distance_mm, record.reach_mm, under, spacing).read(path)
        if record.fill is not None:
            flat: Look = ((record.fill, 1.0),)
            edge = replace(edge, looks=tuple(flat if look else () for look in edge.looks))
        edges.append(edge)
        progress(0.1 + 0.3 * (number + 1) / len(outlines))
    return edges


def _parts(
    edges: Sequence[Edge], coats: Sequence[Coat], record: Bleed, progress: Progress
) -> list[tuple[int, Look, Path]]:
    """Return what is painted in the strip beyond the lines: the line, the look, and the area of each part."""
    asks = _asks(edges, record.distance_mm)
    progress(0.5)
    regions = _Regions()
    strips: dict[int, tuple[int, int]] = {}
    solid: dict[int, tuple[int, int]] = {}
    territory: dict[int, Any] = {}
    under = record.reach_mm + UNDER_MM
    parallels = Parallels()
    for number in sorted({ask.line for ask in asks} | {n for n, edge in enumerate(edges) if not edge.flipped}):
        edge = edges[number]
        out, back = (under, record.distance_mm) if edge.flipped else (record.distance_mm, under)
        outer, inner = parallels.of(edge.path, out), parallels.of(edge.path, -back)
        strips[number] = regions.add(outer), regions.add(inner)
        territory[number] = shapely.box(*_grown(outer.bounds()))
        if edge.broken or any(ask.line == number and not hides(ask.look) for ask in asks):
            near = [coat.region for coat in coats if edge.box and coat.box and _meet(edge.box, coat.box)]
            solid[number] = regions.add(edge.path), regions.add(booleans.merge(near))
        progress(0.5 + 0.2 * (number + 1) / len(edges))
    kept_off = {number: _others(edges, number, strips, record.distance_mm) for number in strips}
    shares = [regions.add(straight_outlines(shapely.intersection(ask.territory, territory[ask.line]))) for ask in asks]

    def operation(polygons: Any) -> list[Any]:
        cut = {number: _strip(polygons, strips, number, kept_off[number]) for number in strips}
        out = []
        for ask, share in zip(asks, shares, strict=True):
            part = shapely.intersection(cut[ask.line], polygons[share])
            if ask.line in solid:
                line, painted = (polygons[place] for place in solid[ask.line])
                flipped = edges[ask.line].flipped
                part = _kept_off(part, line, painted, hiding=hides(ask.look), flipped=flipped)
            out.append(part)
        return out

    paths = curve_true(regions.all, operation)
    return [(ask.line, ask.look, path) for ask, path in zip(asks, paths, strict=True) if path]


def _others(edges: Sequence[Edge], number: int, strips: dict[int, tuple[int, int]], room_mm: float) -> list[int]:
    """Return the other stickers whose inside the strip of one must keep off: near it, and not around it."""
    mine = edges[number]
    if mine.flipped:
        return []
    return [
        other
        for other in strips
        if other != number
        and not edges[other].flipped
        and mine.box
        and (theirs := edges[other].box)
        and _meet(mine.box, theirs, room_mm)
        and not lies_in(mine, edges[other])
    ]


def _strip(polygons: Any, strips: dict[int, tuple[int, int]], number: int, others: Sequence[int]) -> Any:
    """Return the strip along a line, without the inside of other stickers."""
    outer, inner = (polygons[place] for place in strips[number])
    strip = shapely.difference(outer, inner)
    cores = [polygons[strips[other][1]] for other in others]
    return shapely.difference(strip, shapely.union_all(cores)) if cores else strip


def _kept_off(part: Any, line: Any, painted: Any, *, hiding: bool, flipped: bool) -> Any:
    """Return a part without bare film that does not reach the line; thin ink lies under no other.

    A margin is filled as deep as the strip goes, also where an inlet makes it deeper: no part lies where the art ends
    too far before the line.
    """
    own = shapely.difference(part, line) if flipped else shapely.intersection(part, line)
    beyond = shapely.intersection(part, line) if flipped else shapely.difference(part, line)
    rim = shapely.boundary(line)
    margin = [
        each
        for each in shapely.get_parts(shapely.difference(own, painted))
        if shapely.distance(each, rim) < _TOUCHING_MM
    ]
    if hiding:
        return shapely.union_all([beyond, shapely.intersection(own, painted), *margin])
    return shapely.difference(shapely.union_all([beyond, *margin]), painted)


def _asks(edges: Sequence[Edge], around_mm: float) -> list[_Ask]:
    """Return which parts of the plane are nearest to which ink of which line."""
    names: dict[tuple[int, Look], int] = {}
    labels = [names.setdefault((line, look), len(names)) for line, edge in enumerate(edges) for look in edge.looks]
    keys = list(names)
    found: dict[int, list[Any]] = {}
    depths = _depths(edges)
    of_line = np.repeat(np.arange(len(edges)), [len(edge.sites) for edge in edges])
    for depth in np.unique(depths):
        mine = depths[of_line] == depth
        sites = np.concatenate([edge.sites for edge in edges])[mine]
        own = np.array(labels, np.int64)[mine]
        for polygon_, label in territories(sites, own, around_mm=around_mm, tolerance_mm=_BORDER_MM):
            found.setdefault(label, []).append(polygon_)
    asks = []
    for label, (line, look) in enumerate(keys):
        edge = edges[line]
        if not look or label not in found or edge.run_on >= 1.0:
            continue
        asks.append(_Ask(line, look, shapely.union_all(found[label])))
    # what ends at an inner line lowest: where it goes on past an outer one, that one's own ink lies over it;
    # flat colours lowest, then gradients, then pictures; what lies lower runs a little under what lies higher
    asks.sort(key=lambda ask: (-depths[ask.line], ask.line, _rank(ask.look)))
    last = {ask.line: place for place, ask in enumerate(asks)}
    return [
        ask._replace(territory=ask.territory.buffer(SEAM_MM, join_style="mitre"))
        if place != last[ask.line] and hides(ask.look)
        else ask
        for place, ask in enumerate(asks)
    ]


def _depths(edges: Sequence[Edge]) -> NDArray[np.int64]:
    """Return in how many others each line lies, shape (n,).

    A kiss cut in a through cut is bled past that as well; only lines beside one another halve what is between them.
    """
    none = (np.inf, np.inf, -np.inf, -np.inf)
    boxes = np.array([edge.box or none for edge in edges]).reshape(-1, 4)
    depths = np.zeros(len(edges), np.int64)
    for number, (x0, y0, x1, y1) in enumerate(boxes):
        around = (boxes[:, 0] <= x0) & (boxes[:, 1] <= y0) & (boxes[:, 2] >= x1) & (boxes[:, 3] >= y1)
        others = np.flatnonzero(around).tolist()
        depths[number] = sum(lies_in(edges[number], edges[other]) for other in others if other != number)
    return depths


def _rank(look: Look) -> int:
    if not hides(look):
        return 3
    kinds = [2 if isinstance(ink, Picture) else 1 if isinstance(ink, Gradient) else 0 for ink, _ in look]
    return max(kinds)


def _elements(job: Job, parts: Sequence[tuple[int, Look, Path]], edges: Sequence[Edge], record: Bleed) -> list[Element]:
    """Return the shapes and pictures that the parts are made of, the lowest first."""
    made: list[Element] = []
    taken: set[str] = set()
    name = phrase("Bleed {distance} mm", distance=format_number(record.distance_mm))
    for line, look, path in parts:
        sites = edges[line].sites[[each == look for each in edges[line].looks]]
        for ink, opacity in look:
            key = job.fresh_id("bleed", taken=taken)
            taken.add(key)
            if isinstance(ink, Picture):
                if record.fill is not None:
                    style = Style(fill=record.fill)
                    made.append(Shape(key, path, style, name=name, material=PRINT.id))
                elif (picture := continued(ink, _flat(path), key=key, name=name)) is not None:
                    made.append(_printed(picture, opacity))
                continue
            fill = ending(ink, sites) if isinstance(ink, Gradient) else ink
            made.append(Shape(key, path, Style(fill=fill, fill_opacity=opacity), name=name, material=PRINT.id))
    return made


def _printed(picture: Picture, opacity: float) -> Picture:
    return replace(picture, opacity=opacity, material=PRINT.id, locked=False)


def _flat(path: Path) -> Any:
    """Return an area as a polygon of chords."""
    return Kernel([Region(path)], simplify=False).polygons[0]


def _grown(box: Box | None) -> Box:
    x0, y0, x1, y1 = box or (0.0, 0.0, 0.0, 0.0)
    return x0 - 1.0, y0 - 1.0, x1 + 1.0, y1 + 1.0


def _meet(one: Box, other: Box, room_mm: float = 0.0) -> bool:
    return (
        one[0] <= other[2] + room_mm
        and other[0] <= one[2] + room_mm
        and one[1] <= other[3] + room_mm
        and other[1] <= one[3] + room_mm
    )


def _any_meets(placed: Placed, others: Sequence[Placed]) -> bool:
    mine = placed.leaf.bounds
    return mine is not None and any(_meet(mine, box) for other in others if (box := other.leaf.bounds) is not None)


OPERATIONS = (
    Operation(
        "bleed",
        "Bleed",
        "Print that runs a set distance beyond the cut line, each colour at the art's edge going on outward.",
        Bleed,
        bleed,
        lambda r: phrase(
            "Bleed, {distance} mm, {value}",
            distance=format_number(r.distance_mm),
            value=r.fill.hex if r.fill else phrase("colours of the edge"),
        ),
    ),
)
