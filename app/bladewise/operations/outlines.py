"""Outlines about art: strokes made shapes, stepped outlines."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from enum import StrEnum

from bladewise.document import (
    Colour,
    Element,
    Job,
    Layer,
    Leaf,
    Shape,
    Style,
)
from bladewise.errors import CannotApply
from bladewise.geometry import booleans
from bladewise.geometry.parallels import Corner, parallel
from bladewise.geometry.regions import Region
from bladewise.geometry.strokes import stroke_to_shape
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    choice,
    colours,
    integer,
    length,
    number,
    only_with,
    switch,
)
from bladewise.operations.painted import (
    HAIRLINE_MM,
    holds_any,
    is_hairline,
    label,
    painted_area,
    painting,
    reshaped,
    stroke_geometry,
)
from bladewise.operations.selection import Selection
from bladewise.phrases import phrase
from bladewise.units import counted, format_number

_STEP_COLOURS = (Colour(0xFF, 0xFF, 0xFF), Colour(0x2B, 0x2B, 0x33))


class Side(StrEnum):
    """On which side of an outline the steps lie."""

    OUTSIDE = "outside"
    INSIDE = "inside"


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
    miter_limit: float = only_with(
        number(4.0, minimum=1.0, maximum=100.0, help="Longest miter, as a multiple of the width"), corner=Corner.MITER
    )
    colours: tuple[Colour, ...] = colours(help="A colour per step, the one nearest the art first")
    each: bool = switch(default=False, help="Outline every shape for itself instead of all together")


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
    leaves = painting(record.on, job)
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
    layers = [index for index, each in enumerate(job.layers) if holds_any(each, leaves)]
    place = min(layers) if outward else max(layers) + 1
    reports = (
        (phrase("{counted} vanished: the art is narrower than that.", counted=counted(gone, "outline", "outlines")),)
        if gone
        else ()
    )
    return Result(job.with_layer(layer, index=place), reports, tuple(shape.id for _, shape in ordered))


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
)
