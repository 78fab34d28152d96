"""Where the knife would cut through vinyl that should stay whole: overlaps and outlines drawn twice.

Only shapes of one material are held against each other: each material is cut by itself. (Edges that two of them have
in common are a rule of `edges`.) A remedy is safe where all it touches is solid: a piece made of see-through ones, or
without one of two that lie on each other, looks another.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from bladewise.checks import facts
from bladewise.checks.context import Context, name_of
from bladewise.document import bounds_of
from bladewise.findings import Finding, Remedy, Severity
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from bladewise.document import Shape


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
                joining(context, lower, upper),
            )


def joining(context: Context, lower: Shape, upper: Shape) -> Remedy:
    """Return what makes two shapes one piece: merging, unless another colour between them would be lost by it.

    A merged piece lies where the upper one lay, or the lower one: what lies on the lower one must not come to lie
    under it, nor what lies under the upper one on top.
    """
    on_lower, under_upper = _covering(context, lower, upper)
    if on_lower and under_upper:
        covering = [shape.id for shape in context.stack if shape.id in on_lower | under_upper]
        everything = [shape for shape in context.stack if shape.id in {lower.id, upper.id, *covering}]
        return _if_solid(
            context,
            everything,
            Remedy(
                "Keep only what shows, for another colour lies between",
                "visible-parts",
                {"on": {"id": [lower.id, *covering, upper.id]}},
            ),
        )
    values: dict[str, Any] = {"on": {"id": [lower.id, upper.id]}}
    if on_lower:
        values["survivor"] = "backmost"
    return _if_solid(context, (lower, upper), Remedy("Merge the two into one piece", "merge", values))


def _if_solid(context: Context, shapes: Iterable[Shape], remedy: Remedy) -> Remedy:
    """Return a remedy as it is where all the shapes are solid; else one that somebody must ask for."""
    if context.are_solid(shapes):
        return remedy
    text = phrase("Someone has to decide what the see-through one becomes; then: {remedy}", remedy=remedy.text)
    return replace(remedy, text=text, safe=False)


def _covering(context: Context, lower: Shape, upper: Shape) -> tuple[set[str], set[str]]:
    """Return the ids of what lies between two shapes: that which overlaps the lower one, and the upper one."""
    between = context.between(lower, upper, bounds_of((lower, upper)))
    shapes = [lower, upper, *between]
    least = context.limits_of(context.material_by_id[lower.id]).least_overlap_mm2
    found = []
    for one in (0, 1):
        pairs = [(one, other) for other in range(2, len(shapes))]
        lapping = facts.are_lapping(context.memory, shapes, pairs, least)
        found.append({shape.id for shape, lap in zip(between, lapping, strict=True) if lap})
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
                remedy = _if_solid(context, (lower, upper), _without_one(lower, upper))
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
        return joining(context, lower, upper)
    for each in (lower, upper):
        if each.style.fill is None and len(each.path.starts) == shared:
            return Remedy("Delete the line that is cut already", "delete", {"on": {"id": each.id}})
    return Remedy("Someone has to decide which of the two keeps the outline: separate their pieces, delete one")
