"""Whether the art fits: on its sheet, on its roll, to its order; and whether it is large enough to judge."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bladewise.checks.context import Context, name_of
from bladewise.document import bounds_of
from bladewise.findings import Finding, Remedy, Severity
from bladewise.operations.painted import is_hairline
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bladewise.document import Box, Leaf

TOUCHING_MM = 0.01
"""Art that reaches beyond a side by no more than this lies at it: a step of a common cutter."""

ORDERED_SHARE = 0.005
"""Art that is off its ordered size by no more than this share is as ordered (common practice, no source)."""

TINY_MM = 30.0
"""Art smaller than this is an icon as drawn, not yet a sign (common practice, no source)."""

TINY_STROKE_SHARE = 1.0 / 400.0
"""A hairline of more than this share of the art was drawn as a stroke: at the size of a sign it is an area."""


def off_sheet(context: Context) -> Iterator[Finding]:
    """Find what the knife would follow beyond the sheet."""
    job = context.job
    leaves: list[Leaf] = [*context.all_shapes, *context.lettering]
    boxes = [leaf.bounds for leaf in leaves]
    off = {
        leaf.id: (beyond, box)
        for leaf, box in zip(leaves, boxes, strict=True)
        if box is not None and (beyond := _beyond(box, job.width_mm, job.height_mm)) > TOUCHING_MM
    }
    if not off:
        return
    key, (beyond, box) = max(off.items(), key=lambda item: item[1][0])
    first = next(leaf for leaf in leaves if leaf.id == key)
    ids = (key, *(each for each in off if each != key))
    whole = bounds_of([placed.leaf for placed in context.placed]) or box
    remedy = Remedy("Make the sheet as large as the art", "fit-sheet", safe=False)
    if whole[2] - whole[0] <= job.width_mm + TOUCHING_MM and whole[3] - whole[1] <= job.height_mm + TOUCHING_MM:
        dx = max(0.0, -whole[0]) or min(0.0, job.width_mm - whole[2])
        dy = max(0.0, -whole[1]) or min(0.0, job.height_mm - whole[3])
        layers = [layer.id for layer in job.layers]
        remedy = Remedy("Move all the art onto the sheet", "move", {"on": {"id": layers}, "dx_mm": dx, "dy_mm": dy})
    yield Finding(
        "off-sheet",
        Severity.MAY_SPOIL,
        ids,
        min(max((box[0] + box[2]) / 2.0, 0.0), job.width_mm),
        min(max((box[1] + box[3]) / 2.0, 0.0), job.height_mm),
        beyond,
        "mm",
        phrase(
            "{name} reaches {beyond} mm beyond the sheet: it would be cut short, or not at all."
            if len(off) == 1
            else "{name} and {more} more reach beyond the sheet, by up to {beyond} mm: "
            "they would be cut short, or not at all.",
            name=name_of(first),
            more=len(off) - 1,
            beyond=format_number(beyond, 2),
        ),
        remedy,
    )


def _beyond(box: Box, width_mm: float, height_mm: float) -> float:
    return max(-box[0], -box[1], box[2] - width_mm, box[3] - height_mm)


def over_the_roll(context: Context) -> Iterator[Finding]:
    """Find materials whose art is wider than their roll."""
    for material, shapes in context.shapes.items():
        roll = context.limits_of(material).roll_width_mm
        box = bounds_of(tuple(shapes))
        if roll is None or box is None:
            continue
        least = min(box[2] - box[0], box[3] - box[1])  # it may be turned on the roll
        if least <= roll + TOUCHING_MM:
            continue
        yield Finding(
            "over-roll",
            Severity.MAY_SPOIL,
            tuple(shape.id for shape in shapes),
            (box[0] + box[2]) / 2.0,
            (box[1] + box[3]) / 2.0,
            least,
            "mm",
            phrase(
                "The art in {material} is {least} mm across at its narrower side; the roll is {roll} mm wide.",
                material=material.name,
                least=format_number(least, 1),
                roll=format_number(roll, 1),
            ),
            Remedy("Someone has to decide: scale it, take a wider roll, or cut it in panels"),
        )


def not_as_ordered(context: Context) -> Iterator[Finding]:
    """Hold the size of the art against the size that was ordered."""
    job = context.job
    leaves: list[Leaf] = [*context.all_shapes, *context.lettering]
    box = bounds_of(leaves)
    if box is None:
        return
    for ordered, is_, name in (
        (job.ordered_width_mm, box[2] - box[0], "width"),
        (job.ordered_height_mm, box[3] - box[1], "height"),
    ):
        if ordered is None or abs(is_ - ordered) <= ORDERED_SHARE * ordered:
            continue
        both = job.ordered_width_mm is not None and job.ordered_height_mm is not None
        other = (job.ordered_height_mm if name == "width" else job.ordered_width_mm) if both else None
        across = box[3] - box[1] if name == "width" else box[2] - box[0]
        fits = other is None or abs(across * ordered / max(is_, 1e-9) - other) <= ORDERED_SHARE * other
        yield Finding(
            "ordered-size",
            Severity.MAY_SPOIL,
            tuple(leaf.id for leaf in leaves),
            (box[0] + box[2]) / 2.0,
            (box[1] + box[3]) / 2.0,
            is_,
            "mm",
            phrase(
                "The art is {size} mm wide; {ordered} mm were ordered."
                if name == "width"
                else "The art is {size} mm high; {ordered} mm were ordered.",
                size=format_number(is_, 2),
                ordered=format_number(ordered, 2),
            ),
            Remedy(
                "Scale all of it to the ordered size",
                "scale",
                {"on": {"id": [layer.id for layer in job.layers]}, f"{name}_mm": _target(context, box, ordered, name)},
                safe=False,
            )
            if fits
            else Remedy("Someone has to decide: width and height as ordered do not go with the art's proportions"),
        )
        return


def _target(context: Context, box: Box, ordered: float, name: str) -> float:
    """Return what all the art must measure for what is cut to measure what was ordered: print may stand out."""
    whole = context.job.bounds or box
    side, all_of_it = (
        (box[2] - box[0], whole[2] - whole[0]) if name == "width" else (box[3] - box[1], whole[3] - whole[1])
    )
    return all_of_it * ordered / side if side else ordered


def thin_strokes(context: Context) -> Iterator[Finding]:
    """Find strokes that pass for hairlines only because the art is tiny yet."""
    box = bounds_of([placed.leaf for placed in context.placed])
    if box is None:
        return
    reach = max(box[2] - box[0], box[3] - box[1])
    if not 0.0 < reach < TINY_MM:
        return
    thin = [
        (width, shape)
        for shape in context.all_shapes
        if (stroke := shape.style.stroke) is not None
        and is_hairline(stroke)
        and (width := stroke.width_mm * (stroke.pen.mean_scale if stroke.pen else 1.0)) > TINY_STROKE_SHARE * reach
    ]
    if not thin:
        return
    width, shape = max(thin, key=lambda each: each[0])
    x, y = np.asarray(shape.path.points[0, 0]).tolist()
    job = context.job
    ordered = (
        {"width_mm": job.ordered_width_mm}
        if job.ordered_width_mm is not None
        else {"height_mm": job.ordered_height_mm}
        if job.ordered_height_mm is not None
        else {}
    )
    yield Finding(
        "thin-stroke",
        Severity.MAY_SPOIL,
        tuple(each.id for _, each in thin),
        x,
        y,
        width,
        "mm",
        phrase(
            "The art is only {reach} mm large, and {count} of its strokes so thin ({width} mm) that they pass "
            "for lines to cut: scale it first.",
            reach=format_number(reach, 1),
            count=len(thin),
            width=format_number(width, 3),
        ),
        Remedy(
            "Scale it to the ordered size first",
            "scale",
            {"on": {"id": [layer.id for layer in job.layers]}, **ordered},
            safe=False,
        )
        if ordered
        else Remedy("Someone has to say how large it will be: scale it first, or cut along the strokes as they are"),
    )
