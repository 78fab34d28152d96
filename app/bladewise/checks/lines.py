"""What is wrong with an outline itself: it does not close, or it crosses itself or another line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.checks import facts
from bladewise.checks.context import Context, is_live_stroke, name_of
from bladewise.findings import Finding, Remedy, Severity
from bladewise.geometry.measures import area
from bladewise.operations.repair import open_gaps
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bladewise.document import Shape


def open_paths(context: Context) -> Iterator[Finding]:
    """Find outlines that end before they are back at their start: the piece would stay attached."""
    for shape in context.all_shapes:
        if is_live_stroke(shape):
            continue  # that is another finding
        gaps = open_gaps(shape)
        if not gaps:
            continue
        _, gap, x, y = max(gaps, key=lambda each: each[1])
        many = len(gaps) > 1
        wide = format_number(gap, 2)
        yield Finding(
            "open-path",
            Severity.MAY_SPOIL,
            (shape.id,),
            x,
            y,
            gap,
            "mm",
            phrase(
                "{name} is open in {count} places, by up to {gap} mm: the pieces would stay attached there."
                if many
                else "{name} is open by {gap} mm: the piece would stay attached there.",
                name=name_of(shape),
                count=len(gaps),
                gap=wide,
            ),
            Remedy("Close the outlines" if many else "Close the outline", "close-outlines", {"on": {"id": shape.id}}),
            tuple((place_x, place_y) for _, _, place_x, place_y in gaps) if many else (),
        )


def crossing_outlines(context: Context) -> Iterator[Finding]:
    """Find outlines that cross themselves, and lines that cross other lines of their material."""
    for material, shapes in context.shapes.items():
        counted = [shape for shape in shapes if not is_live_stroke(shape)]
        paths = [shape.path for shape in counted]
        pairs = [  # two areas that cross are an overlap
            (first, second)
            for first, second in facts.neighbours(counted, 0.0)
            if counted[first].style.fill is None or counted[second].style.fill is None
        ]
        met = [((index, index), where) for index, where in enumerate(facts.self_crossings(context.memory, paths))]
        met += zip(pairs, facts.pair_crossings(context.memory, paths, pairs), strict=True)
        for (first, second), where in sorted(met):
            if not where:
                continue
            one, other, count = counted[first], counted[second], len(where)
            x, y = where[0]
            times = phrase("once" if count == 1 else "{count} times", count=count)
            if one is other:
                closed = one.style.fill is not None or bool(one.path.closed.all())
                if closed and not _is_tangled(context, one, context.limits_of(material).least_overlap_mm2):
                    continue
                yield Finding(
                    "crossing",
                    Severity.SPOILS,
                    (one.id,),
                    x,
                    y,
                    float(count),
                    "crossings",
                    phrase(
                        "The outline of {name} crosses itself {times}: the knife would cut into the piece.",
                        name=name_of(one),
                        times=times,
                    ),
                    Remedy("Untangle the outline", "untangle", {"on": {"id": one.id}})
                    if closed
                    else Remedy("Someone has to decide how the line should run: close it, or take it apart"),
                    where,
                )
            else:
                yield Finding(
                    "crossing",
                    Severity.SPOILS,
                    (other.id, one.id),
                    x,
                    y,
                    float(count),
                    "crossings",
                    phrase(
                        "{name} crosses {other} {times} in {material}: both would be cut through there.",
                        name=name_of(other),
                        other=name_of(one),
                        times=times,
                        material=material.name,
                    ),
                    Remedy(
                        "Someone has to decide which line goes where: move one, delete it, or cut one out of the other"
                    ),
                    where,
                )


def _is_tangled(context: Context, shape: Shape, least_mm2: float) -> bool:
    """Whether an outline encloses more than a trifle the wrong way round or more than once.

    Wherever two strands cross, one of the four sectors about the place has a winding other than 0 and 1. Even
    windings tell the two fill rules apart, and with none of these an odd one changes the signed area. Outlines
    that touch, or wander across each other by less than a knife can follow, enclose next to nothing that way.
    """
    ((painted, even_odd),) = facts.painted_areas(context.memory, [shape])
    return abs(area(shape.path) - painted) > least_mm2 or abs(even_odd - painted) > least_mm2
