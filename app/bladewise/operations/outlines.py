"""Outlines about art: strokes made shapes, stepped outlines, cut lines, bleed."""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from bladewise.document import (
    CUT_LINE,
    PRINT,
    Colour,
    Element,
    Group,
    Job,
    Layer,
    Leaf,
    Lettering,
    Material,
    MaterialKind,
    Picture,
    Shape,
    Stroke,
    Style,
)
from bladewise.errors import CannotApply
from bladewise.geometry import booleans, measures
from bladewise.geometry.flatten import flatten
from bladewise.geometry.parallels import Corner, parallel
from bladewise.geometry.path import Path, joined
from bladewise.geometry.regions import Region
from bladewise.geometry.strokes import stroke_to_shape
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    choice,
    colour,
    colours,
    integer,
    length,
    number,
    switch,
)
from bladewise.operations.painted import (
    HAIRLINE_MM,
    is_hairline,
    label,
    painted_area,
    painted_regions,
    reshaped,
    stroke_geometry,
)
from bladewise.operations.selection import Selection
from bladewise.phrases import phrase
from bladewise.units import counted, format_number

_STEP_COLOURS = (Colour(0xFF, 0xFF, 0xFF), Colour(0x2B, 0x2B, 0x33))
_LINE_COLOURS = tuple(
    Colour.from_hex(text) for text in ("#cc79a7", "#d55e00", "#0072b2", "#009e73", "#e69f00", "#56b4e9", "#f0e442")
)
"""Okabe and Ito's palette (2008), those that stand out on art first."""


class Side(StrEnum):
    """On which side of an outline the steps lie."""

    OUTSIDE = "outside"
    INSIDE = "inside"


class Holes(StrEnum):
    """Which of the design's outlines a cut line follows."""

    OUTER = "outer"
    WITH_HOLES = "with-holes"


@dataclass(frozen=True, kw_only=True)
class StrokeToShape:
    """The painted area of a stroke becomes a filled shape."""

    on: Selection = acts_on()
    merge_with_fill: bool = switch(default=False, help="Where fill and stroke have one colour, make them one piece")


@dataclass(frozen=True, kw_only=True)
class SteppedOutline:
    """One or more parallel outlines at set distances."""

    on: Selection = acts_on()
    steps: int = integer(1, minimum=1, maximum=50, help="How many outlines")
    distance_mm: float = length(3.0, minimum=0.01, maximum=500.0, help="From each outline to the next")
    side: Side = choice(Side.OUTSIDE, help="Outside or inside the art")
    corner: Corner = choice(Corner.ROUND, help="How corners are made")
    miter_limit: float = number(4.0, minimum=1.0, maximum=100.0, help="Longest miter, as a multiple of the width")
    colours: tuple[Colour, ...] = colours(help="A colour per step, the one nearest the art first")
    each: bool = switch(default=False, help="Outline every shape for itself instead of all together")


@dataclass(frozen=True, kw_only=True)
class CutLine:
    """The path the knife follows around a print."""

    on: Selection = acts_on()
    distance_mm: float = length(
        0.0, minimum=-50.0, maximum=500.0, help="How far outside the art's edge (minus: inside)"
    )
    holes: Holes = choice(Holes.WITH_HOLES, help="Outer edge only, or with the holes the design has")
    least_hole_mm2: float = number(0.0, minimum=0.0, maximum=1e6, help="Leave out holes smaller than this area in mm²")
    corner: Corner = choice(Corner.ROUND, help="How corners are made")
    line_colour: Colour | None = colour(None, help="Colour of the line; left out: one the art does not use")
    print_art: bool = switch(default=True, help="What the line goes around becomes print")


@dataclass(frozen=True, kw_only=True)
class Bleed:
    """Print that runs on beyond the cut line."""

    on: Selection = acts_on(help="The cut line, or the art")
    distance_mm: float = length(2.0, minimum=0.05, maximum=100.0, help="How far the print runs beyond the cut line")
    fill: Colour | None = colour(None, help="Its colour; left out: taken from the art's edge")


def stroke_to_shape_step(job: Job, record: StrokeToShape, progress: Progress) -> Result:
    """Turn the strokes of shapes into filled shapes; a fill stays as its own shape underneath or above."""
    shapes = [placed.leaf for placed in record.on.leaves(job) if isinstance(placed.leaf, Shape)]
    stroked = [shape for shape in shapes if shape.style.stroke and not is_hairline(shape.style.stroke)]
    thin = sum(shape.style.stroke is not None for shape in shapes) - len(stroked)
    limit = phrase("{hairline} mm wide or less", hairline=format_number(HAIRLINE_MM))
    if not stroked and thin:
        msg = phrase(
            "{counted} {limit}: a line for the knife to follow, no area.",
            counted=counted(thin, "stroke is", "strokes are"),
            limit=limit,
        )
        raise CannotApply(msg, where=record.on.describe(job), hint="Scale the art to its size first, or widen them.")
    if not stroked:
        msg = "None of these shapes has a stroke."
        raise CannotApply(
            msg, where=record.on.describe(job), hint="Select shapes with a stroke, or leave this step out."
        )
    taken: set[str] = set()
    replacements: dict[str, tuple[Element, ...]] = {}
    reports = []
    if thin:
        reports.append(
            phrase(
                "{counted}, {limit}, stayed for the knife to follow.",
                counted=counted(thin, "stroke", "strokes"),
                limit=limit,
            )
        )
    made = []
    for index, shape in enumerate(stroked):
        stroke = shape.style.stroke
        assert stroke is not None
        path = stroke_to_shape(shape.path, stroke_geometry(stroke))
        progress((index + 1) / len(stroked))
        bare = replace(shape, style=replace(shape.style, stroke=None, stroke_first=False))
        if not path:
            reports.append(phrase("{shape}: its stroke paints nothing; it was dropped.", shape=label(shape)))
            replacements[shape.id] = (bare,) if bare.style.fill is not None else ()
            continue
        style = Style(fill=stroke.paint, fill_opacity=stroke.opacity, opacity=shape.style.opacity)
        if bare.style.fill is None:
            replacements[shape.id] = (replace(shape, path=path, style=style),)
            made.append(shape.id)
            continue
        if record.merge_with_fill and bare.style.fill == stroke.paint:
            together = booleans.merge([bare.region, Region(path)])
            replacements[shape.id] = (reshaped(bare, together),)
            made.append(shape.id)
            continue
        fresh = job.fresh_id(f"{shape.id}-stroke", taken=taken)
        taken.add(fresh)
        band = replace(shape, id=fresh, name=f"{shape.name or shape.id} stroke", path=path, style=style)
        replacements[shape.id] = (band, bare) if shape.style.stroke_first else (bare, band)
        made.extend((shape.id, fresh))
    return Result(job.replaced(replacements), tuple(reports), tuple(made))


def stepped_outline(job: Job, record: SteppedOutline, progress: Progress) -> Result:
    """Put one shape a step on a new layer below the art, the largest at the back."""
    leaves = _painting(record.on, job)
    sets: list[list[Leaf]] = [[leaf] for leaf in leaves] if record.each else [leaves]
    palette = list(itertools.islice(itertools.cycle(record.colours or _STEP_COLOURS), record.steps))
    sign = 1.0 if record.side is Side.OUTSIDE else -1.0
    layer_id = job.fresh_id("stepped-outline")
    taken: set[str] = {layer_id}
    shapes: list[tuple[int, Shape]] = []
    gone = 0
    for number_, together in enumerate(sets):
        region = Region(painted_area(together))
        for step in range(record.steps):
            distance = sign * record.distance_mm * (step + 1)
            path = parallel(region, distance, corner=record.corner, miter_limit=record.miter_limit)
            progress((number_ * record.steps + step + 1) / (len(sets) * record.steps))
            if not path:
                gone += 1
                continue
            fresh = job.fresh_id(f"{layer_id}-{step + 1}", taken=taken)
            taken.add(fresh)
            name = phrase("Outline {distance} mm", distance=format_number(abs(distance)))
            shapes.append((step, Shape(fresh, path, Style(fill=palette[step]), name=name)))
    if not shapes:
        msg = "The art is too narrow: no outline is left at this distance inside."
        raise CannotApply(msg, where=record.on.describe(job), hint="Make the distance smaller.")
    outward = record.side is Side.OUTSIDE
    ordered = sorted(shapes, key=lambda pair: -pair[0] if outward else pair[0])
    layer = Layer(layer_id, "Stepped outline", tuple(shape for _, shape in ordered))
    layers = [index for index, each in enumerate(job.layers) if _holds_any(each, leaves)]
    place = min(layers) if outward else max(layers) + 1
    reports = (
        (phrase("{counted} vanished: the art is narrower than that.", counted=counted(gone, "outline", "outlines")),)
        if gone
        else ()
    )
    return Result(job.with_layer(layer, index=place), reports, tuple(shape.id for _, shape in ordered))


def cut_line(job: Job, record: CutLine, progress: Progress) -> Result:
    """Put the cut line about the art on a layer of its own at the front."""
    leaves = _painting(record.on, job, leave_out=CUT_LINE)
    path = painted_area(leaves)
    progress(0.5)
    if record.distance_mm:
        path = parallel(Region(path), record.distance_mm, corner=record.corner)
    keep = []
    left_out = 0
    for ring in path.subpaths():
        size = measures.area(ring)
        if size > 0.0 or (record.holes is Holes.WITH_HOLES and -size >= record.least_hole_mm2):
            keep.append(ring)
        elif record.holes is Holes.WITH_HOLES:
            left_out += 1
    path = joined(keep)
    if record.holes is Holes.OUTER and path:
        path = booleans.merge([Region(path)])
    if not path:
        msg = "No line is left at this distance."
        raise CannotApply(msg, where=record.on.describe(job), hint="Make the distance larger.")
    line = record.line_colour or _unused_colour(job)
    result = job.with_material(Material(CUT_LINE, "Cut line", line, MaterialKind.CUT))
    if record.print_art:
        result = result.with_material(result.material(PRINT.id) or PRINT)
        printed = [*leaves, *_thin_lines(record.on, job)]
        result = result.replaced({leaf.id: (replace(leaf, material=PRINT.id),) for leaf in printed})
    fresh = job.fresh_id("cut-line")
    style = Style(stroke=Stroke(line, HAIRLINE_MM))
    shape = Shape(fresh, path, style, name="Cut line", material=CUT_LINE)
    existing = next((layer for layer in result.layers if layer.material == CUT_LINE), None)
    if existing is not None:
        layer = replace(existing, children=(*existing.children, shape))
    else:
        layer = Layer(job.fresh_id("cut-line-layer", taken={fresh}), "Cut line", (shape,), material=CUT_LINE)
    reports = (
        (phrase("{counted} left out.", counted=counted(left_out, "small hole was", "small holes were")),)
        if left_out
        else ()
    )
    return Result(result.with_layer(layer), reports, (fresh,))


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
    place = min((index for index, each in enumerate(job.layers) if _holds_any(each, art)), default=0)
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


def _painting(on: Selection, job: Job, *, leave_out: str = "") -> list[Leaf]:
    leaves = [placed.leaf for placed in on.leaves(job) if not leave_out or placed.leaf.material != leave_out]
    painting = [leaf for leaf in leaves if painted_regions_exist(leaf)]
    if not painting:
        msg = "Nothing that paints is selected."
        raise CannotApply(msg, where=on.describe(job), hint="Select shapes, lettering or pictures that show.")
    return painting


def _thin_lines(on: Selection, job: Job) -> list[Leaf]:
    """Return hairlines that are part of a print; one whose material was chosen is a knife's line and stays one."""
    return [
        placed.leaf
        for placed in on.leaves(job)
        if isinstance(placed.leaf, Shape)
        and placed.leaf.style.is_painted
        and placed.leaf.material is None
        and placed.layer.material is None
        and not painted_regions_exist(placed.leaf)
    ]


def painted_regions_exist(leaf: Leaf) -> bool:
    """Whether a leaf paints anything, without working out what."""
    if isinstance(leaf, Picture):
        return True
    path: Path = leaf.outline if isinstance(leaf, Lettering) else leaf.path
    stroke = leaf.style.stroke
    return bool(path) and (leaf.style.fill is not None or (stroke is not None and not is_hairline(stroke)))


def _unused_colour(job: Job) -> Colour:
    used = {leaf.style.colour for placed in job.walk() if not isinstance(leaf := placed.leaf, Picture)}
    return next((each for each in _LINE_COLOURS if each not in used), _LINE_COLOURS[0])


def _boxes_meet(leaf: Leaf, others: list[Leaf] | list[Shape]) -> bool:
    mine = leaf.bounds
    boxes = [box for other in others if (box := other.bounds) is not None]
    return mine is not None and any(
        mine[0] <= box[2] and box[0] <= mine[2] and mine[1] <= box[3] and box[1] <= mine[3] for box in boxes
    )


def _holds_any(layer: Layer, leaves: list[Leaf]) -> bool:
    wanted = {leaf.id for leaf in leaves}

    def any_in(children: tuple[Element, ...]) -> bool:
        return any(any_in(each.children) if isinstance(each, Group) else each.id in wanted for each in children)

    return any_in(layer.children)


OPERATIONS = (
    Operation(
        "stroke-to-shape",
        "Stroke to shape",
        "The painted area of a stroke becomes a filled shape, with its joins, caps and dashes.",
        StrokeToShape,
        stroke_to_shape_step,
        lambda r: phrase("Stroke to shape, {describe}", describe=r.on.describe()),
    ),
    Operation(
        "stepped-outline",
        "Stepped outline",
        "One or more parallel outlines at set distances, each its own shape on the layer below.",
        SteppedOutline,
        stepped_outline,
        lambda r: phrase(
            "Stepped outline, {steps} × {distance} mm {side}, {corner}",
            steps=r.steps,
            distance=format_number(r.distance_mm),
            side=r.side,
            corner=r.corner,
        ),
    ),
    Operation(
        "cut-line",
        "Cut line",
        "The path the knife follows around a print: outer edge, or with the design's holes.",
        CutLine,
        cut_line,
        lambda r: phrase(
            "Cut line, {distance} mm, {holes}",
            distance=format_number(r.distance_mm),
            holes=phrase("outer edge" if r.holes is Holes.OUTER else "with holes"),
        ),
    ),
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
