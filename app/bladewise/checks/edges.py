"""Edges that two shapes have in common: cut twice where they are of one vinyl, and a gap in waiting where of two."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import shapely

from bladewise.checks import facts, moves
from bladewise.checks.context import Context, name_of
from bladewise.checks.overlapping import joining
from bladewise.findings import Finding, Remedy, Severity
from bladewise.geometry.flatten import flatten
from bladewise.geometry.tolerances import ABUTTING_MM, SLIVER_MM
from bladewise.operations.marking import is_mark
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from bladewise.checks.facts import Pair, Place
    from bladewise.document import Material, Shape
    from bladewise.geometry.path import Path

LEAST_SHARED_MM = 3.0
"""Outlines that run together for less than this touch, as two discs do (common practice, no source)."""

TRAP_MM = 0.3
"""How far one colour is offered to run on under the other (common practice, no source)."""

_TRAPPED_MM = 2.5
"""Where two vinyls lie over one another in nothing wider than this, one runs on under the other already."""

LEAST_LAP_MM2 = 0.001
"""An overlap of less area is two pieces that touch."""

_FINE_MM = 0.5 * ABUTTING_MM
"""Chords fine enough to tell edges that two areas share from edges a hair apart: nothing runs on across a gap."""


def shared_edges(context: Context) -> Iterator[Finding]:
    """Find edges that two shapes of one material share: they would be cut twice where once will do."""
    for material in context.shapes:
        limits = context.limits_of(material)
        shapes = context.outlines(material)
        pairs = [
            pair
            for pair in facts.neighbours(shapes, limits.coincident_mm)
            if frozenset((shapes[pair[0]].id, shapes[pair[1]].id)) not in context.same[material]
        ]
        lapping = facts.overlaps_of(context.memory, shapes, pairs, limits.least_overlap_mm2)
        pairs = [  # areas that overlap are merged anyway; a line may well run along an edge from within
            pair
            for pair, lap in zip(pairs, lapping, strict=True)
            if lap is None or any(shapes[each].style.fill is None for each in pair)
        ]
        shared = facts.shared_edges(context.memory, shapes, pairs, limits.coincident_mm)
        for (first, second), place in zip(pairs, shared, strict=True):
            if place is None or place.size_mm < LEAST_SHARED_MM:
                continue
            lower, upper = shapes[first], shapes[second]
            yield Finding(
                "shared-edge",
                Severity.MAY_SPOIL,
                (upper.id, lower.id),
                place.x,
                place.y,
                place.size_mm,
                "mm",
                phrase(
                    "{name} and {other} share {length} mm of edge in {material}: it would be cut twice.",
                    name=name_of(upper),
                    other=name_of(lower),
                    length=format_number(place.size_mm, 1),
                    material=material.name,
                ),
                _cut_once(context, lower, upper),
            )


def _cut_once(context: Context, lower: Shape, upper: Shape) -> Remedy:
    """Return what ends a shared edge: two of one colour are one piece, else it is left to the upper one.

    The lower one becomes a line for the knife, open where the upper one has cut: nothing a customer sees where it was
    a line before, but an area loses its colour in the picture.
    """
    if lower.style.fill is not None and lower.style.fill == upper.style.fill:
        return joining(context, lower, upper)
    return Remedy(
        "Cut the shared edge once"
        if lower.style.fill is None
        else "Cut the shared edge once: the lower one becomes a line to cut",
        "cut-edges-once",
        {"on": {"id": [lower.id, upper.id]}},
        safe=lower.style.fill is None,
    )


def butted_edges(context: Context) -> Iterator[Finding]:
    """Find where two vinyls are cut along the same line: each needs its edge, and the least slip shows a gap.

    Two vinyls are one finding, wherever they meet: the remedy is one for all of it. It is offered only for those
    that a trap would part.
    """
    areas = [
        (shape, material)
        for material in context.shapes
        for shape in context.outlines(material)
        if shape.style.fill is not None and not is_mark(shape)
    ]
    if len(context.shapes) < 2 or len(areas) < 2:
        return
    shapes = [shape for shape, _ in areas]
    of = [material for _, material in areas]
    within = min(context.limits_of(material).coincident_mm for material in context.shapes)
    pairs = [pair for pair in facts.neighbours(shapes, within) if of[pair[0]].id != of[pair[1]].id]
    found: dict[tuple[Material, Material], list[tuple[int, int, Place]]] = {}
    for (one, other), place in zip(pairs, facts.shared_edges(context.memory, shapes, pairs, within), strict=True):
        if place is not None and place.size_mm >= LEAST_SHARED_MM:
            first, second = sorted((one, other), key=lambda each: context.order[shapes[each].id])
            low, high = sorted((of[first], of[second]), key=lambda each: each.id)
            found.setdefault((low, high), []).append((first, second, place))
    met = [(first, second) for places in found.values() for first, second, _ in places]
    mended = dict(zip(met, _trap_helps(context, shapes, met), strict=True))
    for (low, high), places in found.items():
        length = sum(place.size_mm for _, _, place in places)
        longest = max((place for _, _, place in places), key=lambda place: (place.size_mm, place.x, place.y))
        ids = dict.fromkeys(shapes[each].id for lower, upper, _ in places for each in (upper, lower))
        yield Finding(
            "butted-edge",
            Severity.WASTES,
            tuple(ids),
            longest.x,
            longest.y,
            length,
            "mm",
            phrase(
                "{material} and {other} are cut along the same line for {length} mm: each vinyl needs its own edge, "
                "and stuck a little off they leave a gap.",
                material=low.name,
                other=high.name,
                length=format_number(length, 1),
            ),
            _trapped(
                [shapes[each].id for lower, upper, _ in places if mended[lower, upper] for each in (upper, lower)]
            ),
            tuple((place.x, place.y) for _, _, place in places) if len(places) > 1 else (),
        )


def _trapped(ids: Sequence[str]) -> Remedy:
    """Return what parts the edges of two vinyls: a trap for the given shapes, or words where there are none."""
    if not ids:
        return Remedy(
            "No trap parts these edges: one vinyl runs on under the other already, or they are a hair apart. "
            "Leave it so, or widen what is narrow",
            safe=False,
        )
    return Remedy(
        "Separate the colours with a trap: one runs on under the other",
        "separate-colours",
        {"on": {"id": list(dict.fromkeys(ids))}, "how": "butted", "trap_mm": TRAP_MM},
        safe=False,
    )


def _trap_helps(context: Context, shapes: Sequence[Shape], pairs: Sequence[Pair]) -> list[bool]:
    """Return whether a trap would part the edges that the two of each pair share.

    Not where one is a narrow strip of the other's underside already, and not across a gap, however small.
    """
    laps = facts.overlaps_of(context.memory, shapes, pairs, least_mm2=LEAST_LAP_MM2)

    def solve(missing: list[int]) -> list[bool]:
        out = []
        for index in missing:
            lap = laps[index]
            if lap is None:
                one, two = (_lines(shapes[each].path) for each in pairs[index])
                beside = shapely.buffer(two, SLIVER_MM + 2.0 * _FINE_MM, quad_segs=2, cap_style="flat")
                out.append(bool(shapely.length(shapely.intersection(one, beside)) >= LEAST_SHARED_MM))
            else:
                common = shapely.build_area(_lines(lap.path))
                out.append(not shapely.is_empty(shapely.buffer(common, -0.5 * _TRAPPED_MM)))
        return out

    keys = [
        tuple(part for each in pair for part in (shapes[each].path, shapes[each].style.fill_rule)) for pair in pairs
    ]
    return context.memory.each("trap-helps", keys, solve, moves.stays)


def _lines(path: Path) -> Any:
    """Return outlines on fine chords as one shapely geometry."""
    return facts.lines_of([flatten(each, _FINE_MM).coords for each in path.subpaths()])
