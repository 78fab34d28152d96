"""What is not yet a shape to cut, and what is too small to be one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.checks import facts
from bladewise.checks.context import Context, makes_no_piece, name_of
from bladewise.document import CutKind, is_cut_line
from bladewise.findings import Finding, Remedy, Severity
from bladewise.operations.mending import STRAY_MM
from bladewise.operations.painted import HAIRLINE_MM, is_hairline
from bladewise.operations.repair import is_speck
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from bladewise.checks.facts import Ring
    from bladewise.checks.moves import Shift
    from bladewise.document import Shape
    from bladewise.geometry.path import Path

DUST_SHARE = 0.002
"""Specks that are no more of a shape than this are dust nobody drew on purpose (common practice, no source)."""


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
            _stroke_remedy(context, shape),
        )


def _stroke_remedy(context: Context, shape: Shape) -> Remedy:
    """Return what makes a stroke ready: its area, or a hairline where it stands for the knife's way."""
    material = context.material_of(shape)
    on = {"id": shape.id}
    if is_cut_line(material.id) or material.cut in (CutKind.PERFORATION, CutKind.CREASE):
        return Remedy("Make it a hairline for the knife", "restyle", {"on": on, "stroke_width_mm": HAIRLINE_MM})
    solid = shape.style.fill is None or context.are_solid((shape,))
    return Remedy(
        "Turn the stroke into a shape"
        if solid
        else "Someone has to decide what the see-through paint becomes; then: turn the stroke into a shape",
        "stroke-to-shape",
        {"on": on},
        safe=solid,
    )


def small_pieces(context: Context) -> Iterator[Finding]:
    """Find pieces too small to weed; holes count too, for their waste must be picked."""
    shapes = [
        (shape, context.limits_of(material))
        for material in context.shapes
        for shape in context.shapes[material]
        if not makes_no_piece(material)
    ]
    sizes = facts.ring_sizes(context.memory, [shape.path for shape, _ in shapes])

    def solve(missing: list[int]) -> list[tuple[int, float, float, float, float]]:
        return [_specks(shapes[index][0].path, sizes[index], shapes[index][1].least_piece_mm2) for index in missing]

    keys = [(shape.path, limits.least_piece_mm2) for shape, limits in shapes]
    found = context.memory.each("specks", keys, solve, _specks_moved)
    for (shape, limits), (count, size, share, x, y) in zip(shapes, found, strict=True):
        if not count:
            continue
        least = limits.least_piece_mm2
        yield Finding(
            "small-piece",
            Severity.MAY_SPOIL,
            (shape.id,),
            x,
            y,
            size,
            "mm²",
            phrase(
                "{name} has a piece or hole under {least} mm² (down to {size} mm²): "
                "it will lift with the waste or be lost."
                if count == 1
                else "{name} has {count} pieces or holes under {least} mm² (down to {size} mm²): "
                "they will lift with the waste or be lost.",
                name=name_of(shape),
                count=count,
                least=format_number(least),
                size=format_number(size, 2),
            ),
            Remedy(
                "Drop what is too small",
                "drop-specks",
                {"on": {"id": shape.id}, "least_mm2": least},
                safe=share < DUST_SHARE,
            ),
        )


def _specks(path: Path, sizes: Sequence[Ring], least_mm2: float) -> tuple[int, float, float, float, float]:
    """Return how many outlines are too small, the least area, their share of all of it, and where the first is."""
    # A loop run both ways cancels, so that only what is small by its area is looked at closely; points are
    # another finding.
    likely = [index for index, ring in enumerate(sizes) if ring.area_mm2 < least_mm2 and ring.reach_mm > STRAY_MM]
    if not likely:
        return 0, 0.0, 0.0, 0.0, 0.0
    rings = list(path.subpaths())
    small = [index for index in likely if is_speck(rings[index], least_mm2)]
    if not small:
        return 0, 0.0, 0.0, 0.0, 0.0
    box = rings[small[0]].bounds() or (0.0, 0.0, 0.0, 0.0)
    total = max(sum(ring.area_mm2 for ring in sizes), 1e-12)
    share = sum(sizes[index].area_mm2 for index in small) / total if len(small) < len(rings) else 1.0
    least = min(sizes[index].area_mm2 for index in small)
    return len(small), least, share, (box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0


def _specks_moved(found: tuple[int, float, float, float, float], by: Shift) -> tuple[int, float, float, float, float]:
    count, least, share, x, y = found
    return count, least, share, x + by.dx, y + by.dy


def nothing_to_cut(context: Context) -> Iterator[Finding]:
    """Say so when there is no art, or none of it will be cut: an empty file is not ready."""
    if not context.shapes and not context.lettering and not context.pictures:
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
