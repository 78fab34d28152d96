"""Registration marks as they are on every kind of sheet: what they look like, where they stand, what is kept free.

A mark is one closed outline that crosses nothing, so it prints as an area, weeds as one piece and sticks as one.
Shapes and sizes are plain ones of our own: no mark of a machine's maker is copied. Whoever needs another draws it.
"""

from __future__ import annotations

import itertools
import math
from enum import StrEnum
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np
import shapely

from bladewise.document import Lettering, MaterialKind, Picture, Shape, bounds_of, measure_together, outline_of
from bladewise.errors import CannotApply
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import EMPTY, Path, Point, circle, polygon, rectangle
from bladewise.geometry.regions import Region
from bladewise.geometry.strokes import LineCap, LineJoin, stroke_outline
from bladewise.geometry.winding import contains
from bladewise.operations.painted import is_hairline, painted_regions, stroke_geometry

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from bladewise.document import Box, Element, Job, Leaf, Placed, Stroke

ARM_SHARE = 0.2
"""Width of a cross's arms as a share of its size: it closes, weeds as one piece, and crosses nothing."""

_CAPS: dict[LineCap, Literal["flat", "round", "square"]] = {
    LineCap.BUTT: "flat",
    LineCap.ROUND: "round",
    LineCap.SQUARE: "square",
}
_QUARTER = 16
"""Chords of a quarter circle about an end or a corner: their extent is that of the arc."""

MARK_ID = "registration-mark"
MARK_NAME = "Registration mark"


class MarkKind(StrEnum):
    """What a mark looks like."""

    CROSS = "cross"
    SQUARE = "square"
    ROUND = "round"
    CORNER = "corner"
    NONE = "none"


class Spot(NamedTuple):
    """Where a mark stands: its middle in mm, and which corner of the sheet it looks to (−1, 0 or 1, x right, y down).

    Along a side it looks to none: 0 and 0.
    """

    x: float
    y: float
    right: int = 0
    down: int = 0


def mark_outline(
    kind: MarkKind,
    place: Point,
    reach_mm: float,
    *,
    arm_mm: float | None = None,
    corner: tuple[int, int] = (0, 0),
) -> Path:
    """Return the outline of a mark about a place; clockwise on the screen, empty for none.

    Parameters
    ----------
    kind
        What it looks like.
    place
        Its middle in mm.
    reach_mm
        From its middle to its edge.
    arm_mm
        Half the width of a cross's arms, or half the width of a corner angle's legs.
    corner
        Which corner a corner angle is: −1 left or upper, 1 right or lower. Looking to none it is a cross.
    """
    x, y = place
    if kind is MarkKind.NONE:
        return EMPTY
    if kind is MarkKind.ROUND:
        return circle(place, reach_mm)
    if kind is MarkKind.SQUARE:
        return rectangle(x - reach_mm, y - reach_mm, 2.0 * reach_mm, 2.0 * reach_mm)
    arm = min(reach_mm * ARM_SHARE if arm_mm is None else arm_mm, reach_mm)
    right, down = corner
    if kind is MarkKind.CORNER and right and down:
        leg = 2.0 * arm
        tip = (x + right * reach_mm, y + down * reach_mm)
        legs = [(0.0, 0.0), (2.0 * reach_mm, 0.0), (2.0 * reach_mm, leg), (leg, leg), (leg, 2.0 * reach_mm)]
        legs.append((0.0, 2.0 * reach_mm))
        around = [(tip[0] - right * dx, tip[1] - down * dy) for dx, dy in legs]
        return polygon(around if right * down > 0 else [around[0], *around[:0:-1]])
    corners = ((arm, reach_mm), (arm, arm), (reach_mm, arm))
    quarters = ((1, 1), (-1, 1), (-1, -1), (1, -1))
    offsets = [(sx * a, sy * b) for sx, sy in quarters for a, b in (corners if sx * sy < 0 else corners[::-1])]
    return polygon([(x + dx, y + dy) for dx, dy in offsets])


def is_mark(element: Element) -> bool:
    """Whether an element is one of the marks that a step has put there."""
    return isinstance(element, Shape) and element.id.startswith(MARK_ID)


def marks_in(job: Job) -> list[Shape]:
    """Return the marks that steps have put into a job."""
    return [shape for shape in job.shapes() if is_mark(shape)]


def spots_beside(box: Box, size_mm: float, gap_mm: float, count: int) -> list[Spot]:
    """Return where marks stand beside art: left and right at its foot, then at its head.

    Parameters
    ----------
    box
        The art's extent in mm.
    size_mm, gap_mm
        How large the marks are and how far off the art they stand, beside it.
    count
        2, 3 or 4.
    """
    x0, y0, x1, y1 = box
    off = gap_mm + size_mm / 2.0
    middle, apart = (y0 + y1) / 2.0, max(y1 - y0 - size_mm, size_mm + gap_mm)  # beside flat art they keep apart too
    foot, head = middle + apart / 2.0, middle - apart / 2.0
    corners = [(x0 - off, foot, -1, 1), (x1 + off, foot, 1, 1), (x0 - off, head, -1, -1), (x1 + off, head, 1, -1)]
    return [Spot(*each) for each in corners[:count]]


def spots_at_corners(frame: Box) -> list[Spot]:
    """Return marks at the four corners of a frame through their middles: from the upper left clockwise."""
    x0, y0, x1, y1 = frame
    return [Spot(x0, y0, -1, -1), Spot(x1, y0, 1, -1), Spot(x1, y1, 1, 1), Spot(x0, y1, -1, 1)]


def spots_along(frame: Box, every_mm: float) -> list[Spot]:
    """Return marks between the corners along both long sides of a frame, evenly, at most so far apart."""
    x0, y0, x1, y1 = frame
    level = x1 - x0 >= y1 - y0
    long = max(x1 - x0, y1 - y0)
    stretches = max(1, math.ceil(long / every_mm - 1e-9))
    shares = [number / stretches for number in range(1, stretches)]
    if level:
        return [Spot(x0 + share * long, y) for y in (y0, y1) for share in shares]
    return [Spot(x, y0 + share * long) for x in (x0, x1) for share in shares]


def zone(spot: Spot, size_mm: float, quiet_mm: float) -> Box:
    """Return the box about a mark that is kept free."""
    reach = size_mm / 2.0 + quiet_mm
    return spot.x - reach, spot.y - reach, spot.x + reach, spot.y + reach


def painted_box(leaf: Leaf) -> Box | None:
    """Return the extent of what a leaf paints or a knife follows in it, strokes at their width, in mm.

    Of a joint beyond its miter limit a little too much may be counted, and of dashes that are too many to be drawn
    the whole line.
    """
    box = leaf.bounds
    if isinstance(leaf, Picture) or box is None or (stroke := leaf.style.stroke) is None or is_hairline(stroke):
        return box
    if is_dashed(stroke):
        try:
            dashes = stroke_outline(outline_of(leaf), stroke_geometry(stroke)).bounds()
        except CannotApply:
            dashes = _rough_box(leaf)
        shown = [each for each in (box if leaf.style.fill is not None else None, dashes) if each is not None]
        return joined_box(shown) if shown else None
    half = reach_of(stroke)
    band = shapely.buffer(
        _lines(outline_of(leaf)),
        half,
        cap_style=_CAPS[stroke.cap],
        join_style="mitre" if stroke.join is LineJoin.MITER else "round",
        mitre_limit=max(1.0, stroke.miter_limit),
        quad_segs=_QUARTER,
    )
    return joined_box([box, *shapely.bounds(band).tolist()])


def is_dashed(stroke: Stroke) -> bool:
    """Whether a stroke has gaps."""
    return sum(stroke.dash) > 0.0


def painted_extent(leaves: Iterable[Leaf]) -> Box | None:
    """Return the box around what leaves paint; only those that may reach its sides are measured with their strokes."""
    shown = list(leaves)
    only_dashes = [leaf for leaf in shown if _is_only_dashes(leaf)]
    inner = bounds_of([leaf for leaf in shown if not _is_only_dashes(leaf)] if only_dashes else shown)
    outer = [
        leaf for leaf in shown if (box := _rough_box(leaf)) is not None and (inner is None or not _lies_in(box, inner))
    ]
    boxes = [box for box in (inner, *(painted_box(leaf) for leaf in outer)) if box is not None]
    return joined_box(boxes) if boxes else None


def _is_only_dashes(leaf: Leaf) -> bool:
    if isinstance(leaf, Picture) or leaf.style.fill is not None:
        return False
    stroke = leaf.style.stroke
    return stroke is not None and is_dashed(stroke) and not is_hairline(stroke)


def _rough_box(leaf: Leaf) -> Box | None:
    """Return a box that what a leaf paints does not leave; found at once."""
    box = leaf.bounds
    if isinstance(leaf, Picture) or box is None or (stroke := leaf.style.stroke) is None or is_hairline(stroke):
        return box
    reach = reach_of(stroke) * max(math.sqrt(2.0), stroke.miter_limit if stroke.join is LineJoin.MITER else 1.0)
    return box[0] - reach, box[1] - reach, box[2] + reach, box[3] + reach


def _lies_in(box: Box, around: Box) -> bool:
    return box[0] >= around[0] and box[1] >= around[1] and box[2] <= around[2] and box[3] <= around[3]


def reach_of(stroke: Stroke) -> float:
    """Return how far a stroke reaches from its line, in mm."""
    scale = 1.0
    if stroke.pen is not None:
        a, b, c, d = stroke.pen[:4]
        scale = float(np.linalg.norm([[a, c], [b, d]], ord=2))  # the longest half-axis of the pen
    return stroke.width_mm * scale / 2.0


def joined_box(boxes: Sequence[Box]) -> Box:
    """Return the box around boxes."""
    low, high = np.min(boxes, axis=0), np.max(boxes, axis=0)
    return float(low[0]), float(low[1]), float(high[2]), float(high[3])


def art_of(job: Job, leaves: Iterable[Placed]) -> list[Leaf]:
    """Return the leaves that are art: shown, no marks, no guides."""
    return [
        placed.leaf
        for placed in leaves
        if placed.visible and not is_mark(placed.leaf) and job.material_of(placed).kind is not MaterialKind.GUIDE
    ]


def in_the_way(art: Iterable[Leaf], zones: Sequence[Box]) -> list[Leaf]:
    """Return the art of which anything lies in one of the boxes: paint, or a line that a knife follows."""
    leaves = list(art)
    measure_together(leaves)
    return [leaf for leaf in leaves if any(_reaches_into(leaf, each) for each in zones)]


def _reaches_into(leaf: Leaf, box: Box) -> bool:
    own = _rough_box(leaf)
    if own is None or not (own[0] < box[2] and box[0] < own[2] and own[1] < box[3] and box[1] < own[3]):
        return False
    regions = painted_regions(leaf)
    bare = shapely.box(*box)
    outlines = [region.path for region in regions]
    if isinstance(leaf, (Shape, Lettering)):
        outlines.append(outline_of(leaf))
    if any(shapely.intersects(_lines(path), bare).any() for path in outlines if path):
        return True
    middle = (
        (box[0] + box[2]) / 2.0,
        (box[1] + box[3]) / 2.0,
    )  # no outline in the box: it is painted whole, or not at all
    return any(bool(contains(Region(region.path, region.rule), middle)[0]) for region in regions)


def _lines(path: Path) -> list[shapely.LineString]:
    found = flatten(path)
    bounds = [*found.starts.tolist(), len(found.coords)]
    parts = [found.coords[start:end] for start, end in itertools.pairwise(bounds)]
    return [shapely.LineString(part) for part in parts if len(part) > 1]
