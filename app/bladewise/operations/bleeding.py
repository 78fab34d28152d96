"""Print that runs on beyond the cut line."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from bladewise.document import (
    CUT_LINE,
    PRINT,
    Colour,
    Job,
    Layer,
    Leaf,
    Picture,
    Shape,
    Style,
)
from bladewise.errors import CannotApply
from bladewise.geometry import booleans, measures
from bladewise.geometry.flatten import flatten
from bladewise.geometry.parallels import parallel
from bladewise.geometry.regions import Region
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    colour,
    length,
)
from bladewise.operations.painted import (
    holds_any,
    painted_area,
    painted_regions,
)
from bladewise.operations.selection import Selection
from bladewise.phrases import phrase
from bladewise.units import format_number


@dataclass(frozen=True, kw_only=True)
class Bleed:
    """Print that runs on beyond the cut line."""

    on: Selection = acts_on(help="The cut line, or the art")
    distance_mm: float = length(2.0, minimum=0.05, maximum=100.0, help="How far the print runs beyond the cut line")
    fill: Colour | None = colour(None, help="Its colour; left out: taken from the art's edge")


def bleed(job: Job, record: Bleed, progress: Progress) -> Result:
    """Put a print shape that runs beyond the cut line at the back of the art."""
    selected = [placed.leaf for placed in record.on.leaves(job)]
    lines = [leaf for leaf in selected if isinstance(leaf, Shape) and leaf.material == CUT_LINE]
    art = [leaf for leaf in selected if leaf.material != CUT_LINE]
    if not lines:
        everywhere = [leaf for leaf in job.shapes(visible_only=True) if leaf.material == CUT_LINE]
        lines = [leaf for leaf in everywhere if not art or _boxes_meet(leaf, art)]
    if not art:
        art = [
            placed.leaf
            for placed in job.walk()
            if placed.visible and placed.leaf.material != CUT_LINE and _boxes_meet(placed.leaf, lines)
        ]
    art = [leaf for leaf in art if painted_regions(leaf)]
    if not art:
        msg = "There is no art inside the cut line to run on beyond it."
        raise CannotApply(msg, where=record.on.describe(job), hint="Select the printed art and its cut line.")
    outline = booleans.merge([line.region for line in lines]) if lines else painted_area(art)
    progress(0.4)
    path = parallel(Region(outline), record.distance_mm)
    fill = record.fill or edge_colour(art)
    progress(0.9)
    fresh = job.fresh_id("bleed")
    shape = Shape(
        fresh,
        path,
        Style(fill=fill),
        name=phrase("Bleed {distance} mm", distance=format_number(record.distance_mm)),
        material=PRINT.id,
    )
    layer = Layer(job.fresh_id("bleed-layer", taken={fresh}), "Bleed", (shape,))
    place = min((index for index, each in enumerate(job.layers) if holds_any(each, art)), default=0)
    result = job.with_material(job.material(PRINT.id) or PRINT).with_layer(layer, index=place)
    reports = () if lines else ("There is no cut line yet; the bleed runs beyond the art's edge.",)
    return Result(result, reports, (fresh,))


def edge_colour(art: list[Leaf], *, inset_mm: float = 0.05) -> Colour:
    """Return the flat colour that shows along most of the art's edge.

    Points just inside the edge are looked up in the art from the front to the back.
    """
    edge = painted_area(art)
    rim = parallel(Region(edge), -inset_mm) or edge
    points = flatten(rim, 0.5).coords
    waiting = np.ones(len(points), dtype=bool)
    seen: Counter[Colour] = Counter()
    for leaf in reversed(art):
        for paint, region in reversed(_paints(leaf)):
            if not waiting.any():
                break
            inside = np.zeros(len(points), dtype=bool)
            inside[waiting] = measures.contains(region, points[waiting])
            waiting &= ~inside
            seen[paint] += int(inside.sum())
    common = seen.most_common(1)
    return common[0][0] if common and common[0][1] else Colour(0xFF, 0xFF, 0xFF)


def _paints(leaf: Leaf) -> list[tuple[Colour, Region]]:
    """Return a leaf's flat colours with the areas they paint, back to front; a gradient counts as its last stop."""
    if isinstance(leaf, Picture):
        return []
    regions = painted_regions(leaf)
    paints = [leaf.style.fill] if leaf.style.fill is not None else []
    if len(regions) > len(paints) and leaf.style.stroke is not None:
        paints.append(leaf.style.stroke.paint)
    flat = [paint if isinstance(paint, Colour) else paint.stops[-1].colour for paint in paints]
    return list(zip(flat, regions, strict=True))


def _boxes_meet(leaf: Leaf, others: list[Leaf] | list[Shape]) -> bool:
    mine = leaf.bounds
    boxes = [box for other in others if (box := other.bounds) is not None]
    return mine is not None and any(
        mine[0] <= box[2] and box[0] <= mine[2] and mine[1] <= box[3] and box[1] <= mine[3] for box in boxes
    )


OPERATIONS = (
    Operation(
        "bleed",
        "Bleed",
        "Print that runs a set distance beyond the cut line, at the back.",
        Bleed,
        bleed,
        lambda r: phrase(
            "Bleed, {distance} mm, {value}",
            distance=format_number(r.distance_mm),
            value=r.fill.hex if r.fill else phrase("colour of the edge"),
        ),
    ),
)
