"""What is too narrow: strips and bridges that tear, gaps that take long to weed. Marked where they are.

A place narrower than twice the film's thickness does not hold and may spoil the cut; one that is only
under the least width of its material costs time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.checks import facts
from bladewise.checks.context import Context, Limits, makes_no_piece, name_of
from bladewise.findings import Finding, Remedy, Severity
from bladewise.operations.mending import HAIR_MM2
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from bladewise.checks.facts import Place
    from bladewise.document import Shape

_BY_HAND = Remedy("Someone has to decide: enlarge the art, make the place wider, or cut it away")


def narrow_bridges(context: Context) -> Iterator[Finding]:
    """Find shapes that are narrower somewhere than their material bears."""
    for material in context.shapes:
        if makes_no_piece(material):
            continue
        limits = context.limits_of(material)
        shapes = context.outlines(material)
        found = facts.narrow_places(context.memory, shapes, limits.least_bridge_mm)
        torn = [
            shape
            for shape, places in zip(shapes, found, strict=True)
            if places and places[0].size_mm < limits.least_strip_mm
        ]
        hairs = facts.hairs_of(context.memory, torn, limits.least_strip_mm, HAIR_MM2, limits.coincident_mm)
        remedies = {shape.id: _remedy(shape, *counts, limits) for shape, counts in zip(torn, hairs, strict=True)}
        for shape, places in zip(shapes, found, strict=True):
            if places:
                yield _bridge(shape, places, limits, remedies.get(shape.id, _BY_HAND))


def _remedy(shape: Shape, hairs: int, bridges: int, limits: Limits) -> Remedy:
    """Return what ends hairs: they go where nothing is lost by it; one that holds two pieces together parts them."""
    values = {
        "on": {"id": shape.id},
        "below_mm": limits.least_strip_mm,
        "most_mm2": HAIR_MM2,
        "blade_mm": limits.coincident_mm,
    }
    if hairs:
        return Remedy("Drop the hairs", "drop-hairs", values)
    if bridges:
        text = "Someone has to decide: make the place wider, or part the pieces that a hair holds together"
        return Remedy(text, "drop-hairs", values | {"most_mm2": limits.least_piece_mm2, "parting": True}, safe=False)
    return _BY_HAND


def _bridge(shape: Shape, places: Sequence[Place], limits: Limits, remedy: Remedy) -> Finding:
    torn = places[0].size_mm < limits.least_strip_mm
    return Finding(
        "narrow-bridge",
        Severity.MAY_SPOIL if torn else Severity.WASTES,
        (shape.id,),
        places[0].x,
        places[0].y,
        places[0].size_mm,
        "mm",
        phrase(
            ("{name} is only {width} mm wide in one place: it will tear in weeding.")
            if torn and len(places) == 1
            else "{name} is narrow in {count} places, down to {width} mm: it will tear in weeding."
            if torn
            else "{name} is only {width} mm wide in one place, under {least} mm: slow to weed."
            if len(places) == 1
            else "{name} is narrower than {least} mm in {count} places, down to {width} mm: slow to weed.",
            name=name_of(shape),
            count=len(places),
            width=format_number(places[0].size_mm, 2),
            least=format_number(limits.least_bridge_mm),
        ),
        remedy,
        _all(places),
    )


def narrow_gaps(context: Context) -> Iterator[Finding]:
    """Find gaps within a shape and between two of one material that are too narrow to weed."""
    for material in context.shapes:
        if makes_no_piece(material):
            continue
        limits = context.limits_of(material)
        shapes = context.outlines(material)
        for shape, places in zip(shapes, facts.inner_gaps(context.memory, shapes, limits.least_gap_mm), strict=True):
            if seen := _wide_enough(places, limits):
                yield Finding(
                    "narrow-gap",
                    Severity.WASTES,
                    (shape.id,),
                    seen[0].x,
                    seen[0].y,
                    seen[0].size_mm,
                    "mm",
                    phrase(
                        "{name} leaves a gap of only {width} mm, under {least} mm: slow to weed."
                        if len(seen) == 1
                        else "{name} leaves {count} gaps under {least} mm, down to {width} mm: slow to weed.",
                        name=name_of(shape),
                        count=len(seen),
                        width=format_number(seen[0].size_mm, 2),
                        least=format_number(limits.least_gap_mm),
                    ),
                    Remedy(
                        "Fill the narrow gaps",
                        "fill-gaps",
                        {"on": {"id": shape.id}, "below_mm": limits.least_gap_mm},
                        safe=False,
                    )
                    if shape.style.fill is not None
                    else Remedy("Someone has to decide: enlarge the art, widen the gap, or close it"),
                    _all(seen),
                )
        yield from _between(context, shapes, limits, context.same[material], material.name)


def _between(
    context: Context, shapes: list[Shape], limits: Limits, same: set[frozenset[str]], material: str
) -> Iterator[Finding]:
    pairs = [
        pair
        for pair in facts.neighbours(shapes, limits.least_gap_mm)
        if frozenset((shapes[pair[0]].id, shapes[pair[1]].id)) not in same
    ]
    lapping = facts.overlaps_of(context.memory, shapes, pairs, limits.least_overlap_mm2)
    pairs = [pair for pair, lap in zip(pairs, lapping, strict=True) if lap is None]
    for pair, places in zip(pairs, facts.gaps_between(context.memory, shapes, pairs, limits.least_gap_mm), strict=True):
        if seen := _wide_enough(places, limits):
            lower, upper = shapes[pair[0]], shapes[pair[1]]
            yield Finding(
                "narrow-gap",
                Severity.WASTES,
                (upper.id, lower.id),
                seen[0].x,
                seen[0].y,
                seen[0].size_mm,
                "mm",
                phrase(
                    "{name} and {other} are only {width} mm apart in {material}, under {least} mm: slow to weed.",
                    name=name_of(upper),
                    other=name_of(lower),
                    width=format_number(seen[0].size_mm, 2),
                    least=format_number(limits.least_gap_mm),
                    material=material,
                ),
                Remedy("Someone has to decide: move the two apart, or merge them and fill the gap"),
                _all(seen),
            )


def _wide_enough(places: Sequence[Place], limits: Limits) -> list[Place]:
    """Return the gaps that are any: sides nearer than the blade is wide are one cut, and another rule's."""
    return [place for place in places if place.size_mm > limits.coincident_mm]


def _all(places: Sequence[Place]) -> tuple[tuple[float, float], ...]:
    return tuple((place.x, place.y) for place in places) if len(places) > 1 else ()
