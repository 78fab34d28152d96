"""What is not yet a shape to cut, and what is too small to be one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.checks.context import Context, name_of
from bladewise.findings import Finding, Remedy, Severity
from bladewise.geometry.measures import area
from bladewise.operations.painted import is_hairline
from bladewise.operations.repair import is_speck
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Iterator


def live_lettering(context: Context) -> Iterator[Finding]:
    """Find lettering that is still live: the cutter has no outlines for it."""
    for lettering in context.lettering:
        box = lettering.bounds or (0.0, 0.0, 0.0, 0.0)
        yield Finding(
            "live-lettering",
            Severity.SPOILS,
            (lettering.id,),
            (box[0] + box[2]) / 2.0,
            (box[1] + box[3]) / 2.0,
            float(len(lettering.text)),
            "letters",
            phrase("{name} is live lettering: it has no outlines for the knife yet.", name=name_of(lettering)),
            Remedy("Turn it into shapes", "lettering-to-shapes", {"on": {"id": lettering.id}}),
        )


def strokes(context: Context) -> Iterator[Finding]:
    """Find strokes that show but are no edge: the knife would run along their middle, or not at all."""
    for shape in context.all_shapes:
        stroke = shape.style.stroke
        if stroke is None or is_hairline(stroke):
            continue
        x, y = (float(each) for each in shape.path.points[0, 0])
        width = stroke.width_mm * (stroke.pen.mean_scale if stroke.pen else 1.0)
        yield Finding(
            "stroke",
            Severity.SPOILS,
            (shape.id,),
            x,
            y,
            width,
            "mm",
            phrase(
                "The {width} mm stroke of {name} is not a shape yet: the knife would follow its middle, not its edges.",
                width=format_number(width, 2),
                name=name_of(shape),
            ),
            Remedy("Turn the stroke into a shape", "stroke-to-shape", {"on": {"id": shape.id}}),
        )


def small_pieces(context: Context) -> Iterator[Finding]:
    """Find pieces too small to weed; holes count too, for their waste must be picked."""
    least = context.limits.least_piece_mm2
    for shape in context.all_shapes:
        small = [ring for ring in shape.path.subpaths() if is_speck(ring, least)]
        if not small:
            continue
        size = min(abs(area(ring)) for ring in small)
        box = small[0].bounds() or (0.0, 0.0, 0.0, 0.0)
        yield Finding(
            "small-piece",
            Severity.MAY_SPOIL,
            (shape.id,),
            (box[0] + box[2]) / 2.0,
            (box[1] + box[3]) / 2.0,
            size,
            "mm²",
            phrase(
                "{name} has a piece or hole under {least} mm² (down to {size} mm²): "
                "it will lift with the waste or be lost."
                if len(small) == 1
                else "{name} has {count} pieces or holes under {least} mm² (down to {size} mm²): "
                "they will lift with the waste or be lost.",
                name=name_of(shape),
                count=len(small),
                least=format_number(least),
                size=format_number(size, 2),
            ),
            Remedy("Drop what is too small", "drop-specks", {"on": {"id": shape.id}, "least_mm2": least}),
        )


def nothing_to_cut(context: Context) -> Iterator[Finding]:
    """Say so when there is no art, or none of it will be cut: an empty file is not ready."""
    if not context.shapes and not context.lettering:
        yield Finding(
            "nothing-to-cut",
            Severity.MAY_SPOIL,
            (),
            context.job.width_mm / 2.0,
            context.job.height_mm / 2.0,
            0.0,
            "shapes",
            "Nothing in this job will be cut: all that shows is print or guide, or has no paint."
            if context.has_art
            else "There is nothing to cut: no art shows in this job.",
            Remedy("Someone has to decide: add a cut line, or choose a material to cut")
            if context.has_art
            else Remedy("Someone has to bring in art, or show what is hidden"),
        )
