"""Where the knife would cut through vinyl that should stay whole: overlaps and outlines drawn twice.

Only shapes of one material are held against each other: each material is cut by itself.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from bladewise.checks import facts
from bladewise.checks.context import Context, name_of
from bladewise.document import bounds_of
from bladewise.findings import Finding, Remedy, Severity
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bladewise.document import Shape

LEAST_SHARED_MM = 3.0
"""Outlines that run together for less than this touch, as two discs do (common practice, no source)."""


def overlaps(context: Context) -> Iterator[Finding]:
    """Find areas that two shapes of one material both cover, unless the two are the same outline."""
    for material, shapes in context.shapes.items():
        areas = [shape for shape in shapes if shape.style.fill is not None]
        pairs = facts.neighbours(areas, 0.0)
        found = facts.overlaps_of(context.memory, areas, pairs, context.limits_of(material).least_overlap_mm2)
        for (first, second), pair in zip(pairs, found, strict=True):
            lower, upper = areas[first], areas[second]
            if pair is None or frozenset((lower.id, upper.id)) in context.same[material]:
                continue
            yield Finding(
                "overlap",
                Severity.SPOILS,
                (upper.id, lower.id),
                pair.x,
                pair.y,
                pair.area_mm2,
                "mm²",
                phrase(
                    "{name} and {other} overlap by {area} mm² in {material}: "
                    "the knife would cut through one along the edge of the other.",
                    name=name_of(upper),
                    other=name_of(lower),
                    area=format_number(pair.area_mm2, 2),
                    material=material.name,
                ),
                _joining(context, lower, upper),
            )


def _joining(context: Context, lower: Shape, upper: Shape) -> Remedy:
    """Return what makes two shapes one piece: merging, unless another colour between them would be lost by it.

    A merged piece lies where the upper one lay, or the lower one: what lies on the lower one must not come to lie
    under it, nor what lies under the upper one on top.
    """
    on_lower, under_upper = _covering(context, lower, upper)
    if on_lower and under_upper:
        covering = [shape.id for shape in context.stack if shape.id in on_lower | under_upper]
        return Remedy(
            "Keep only what shows, for another colour lies between",
            "visible-parts",
            {"on": {"id": [lower.id, *covering, upper.id]}},
        )
    both = {"on": {"id": [lower.id, upper.id]}}
    if on_lower:
        return Remedy("Merge the two into one piece", "merge", {**both, "survivor": "backmost"})
    return Remedy("Merge the two into one piece", "merge", both)


def _covering(context: Context, lower: Shape, upper: Shape) -> tuple[set[str], set[str]]:
    """Return the ids of what lies between two shapes: that which overlaps the lower one, and the upper one."""
    between = context.between(lower, upper, bounds_of((lower, upper)))
    shapes = [lower, upper, *between]
    least = context.limits_of(context.material_by_id[lower.id]).least_overlap_mm2
    found = []
    for one in (0, 1):
        pairs = [(one, other) for other in range(2, len(shapes))]
        lapping = facts.overlaps_of(context.memory, shapes, pairs, least)
        found.append({shape.id for shape, lap in zip(between, lapping, strict=True) if lap is not None})
    return found[0], found[1]


def duplicates(context: Context) -> Iterator[Finding]:
    """Find outlines that lie on one another and would be cut twice."""
    for material, shapes in context.shapes.items():
        seen: set[frozenset[int]] = set()
        together = Counter(frozenset((pair.first, pair.second)) for pair in context.coincident[material])
        for pair in context.coincident[material]:
            key = frozenset((pair.first, pair.second))
            if key in seen:
                continue
            seen.add(key)
            lower, upper = shapes[pair.first], shapes[pair.second]
            names = {"name": name_of(upper), "other": name_of(lower), "material": material.name}
            if lower is upper:
                remedy = Remedy("Untangle the shape", "untangle", {"on": {"id": lower.id}})
                message = phrase("{name} holds the same outline twice in {material}: it would be cut twice.", **names)
            elif together[key] == len(lower.path.starts) == len(upper.path.starts):
                remedy = _without_one(lower, upper)
                message = phrase("{name} lies exactly on {other} in {material}: it would be cut twice.", **names)
            else:
                remedy = _without_shared(context, lower, upper, together[key])
                message = phrase("{name} and {other} share an outline in {material}: it would be cut twice.", **names)
            yield Finding(
                "duplicate", Severity.SPOILS, (upper.id, lower.id), pair.x, pair.y, 2.0, "cuts", message, remedy
            )


def _without_one(lower: Shape, upper: Shape) -> Remedy:
    """Return what is left of two that are the same: what shows, and the fill rather than a bare line on it."""
    if lower.style.fill is not None and upper.style.fill is None:
        return Remedy("Delete the line on it", "delete", {"on": {"id": upper.id}})
    return Remedy("Delete the lower one", "delete", {"on": {"id": lower.id}})


def _without_shared(context: Context, lower: Shape, upper: Shape, shared: int) -> Remedy:
    """Return what ends a shared outline: merging areas, deleting a line that lies wholly on other outlines."""
    if lower.style.fill is not None and upper.style.fill is not None:
        return _joining(context, lower, upper)
    for each in (lower, upper):
        if each.style.fill is None and len(each.path.starts) == shared:
            return Remedy("Delete the line that is cut already", "delete", {"on": {"id": each.id}})
    return Remedy("Someone has to decide which of the two keeps the outline: separate their pieces, delete one")


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
    """Return what ends a shared edge: two of one colour are one piece; else somebody knows what they are."""
    if lower.style.fill is None or lower.style.fill != upper.style.fill:
        return Remedy("Someone has to decide: merge the two, move them apart, or leave the edge to one of them")
    return _joining(context, lower, upper)
