"""What vinyl cannot show, and what the customer would see wrong.

Gradients, translucent paint and pictures; colours that differ by a hair; art that never shows; mirrored words; print
that ends too near its cut line.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from bladewise.checks import facts, moves
from bladewise.checks.context import SOLID, Context, Limits, name_of
from bladewise.document import Colour, CutKind, Gradient, Lettering, MaterialKind, Shape, is_cut_line
from bladewise.document.colour_distance import colour_distance
from bladewise.findings import Finding, Remedy, Severity
from bladewise.geometry.booleans import merge
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import joined
from bladewise.geometry.regions import Region
from bladewise.geometry.tolerances import SLIVER_MM
from bladewise.operations.coats import areas_of
from bladewise.operations.marking import is_mark
from bladewise.operations.misregistration import REACHED_MM, clearance
from bladewise.operations.painted import is_hairline, painted_regions
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from bladewise.checks.memory import Memory
    from bladewise.document import Leaf, Material, Style
    from bladewise.geometry.path import Path

NEAR_COLOURS = 2.0
"""CIEDE2000; vinyls nearer than this look the same (common practice, no source)."""

SAME_COLOURS = 1.0
"""CIEDE2000; what is nearer than this no one tells apart side by side."""

_ANY = Colour(0, 0, 0)

_UNSEEN = 0.001
"""What is less solid than this shows nothing on any screen, and is cut all the same."""


def see_through(context: Context) -> Iterator[Finding]:
    """Find gradients, translucent paint and pictures in what is to be cut: vinyl is one solid colour."""
    for placed in context.placed:
        leaf = placed.leaf
        material = context.material_by_id[leaf.id]
        if material.kind is not MaterialKind.CUT:
            continue
        x, y = _middle(leaf)
        if not isinstance(leaf, (Shape, Lettering)):
            yield Finding(
                "bitmap",
                Severity.MAY_SPOIL,
                (leaf.id,),
                x,
                y,
                1.0,
                "pictures",
                phrase(
                    "{name} is a picture in {material}: a knife follows outlines, and it has none.",
                    name=name_of(leaf),
                    material=material.name,
                ),
                Remedy("Someone has to decide: print it, draw its outlines, or delete it"),
            )
            continue
        style = leaf.style
        paints = [style.fill, style.stroke.paint if style.stroke else None]
        if any(isinstance(paint, Gradient) for paint in paints):
            yield Finding(
                "gradient",
                Severity.MAY_SPOIL,
                (leaf.id,),
                x,
                y,
                1.0,
                "gradients",
                phrase(
                    "{name} runs from one colour to another; {material} is one flat colour.",
                    name=name_of(leaf),
                    material=material.name,
                ),
                Remedy("Someone has to decide: print it, or give it one flat colour"),
            )
        opacity = context.opacity[leaf.id]
        if _shows_nothing(context, leaf):
            continue  # that is another finding
        if opacity < SOLID:
            yield Finding(
                "see-through",
                Severity.MAY_SPOIL,
                (leaf.id,),
                x,
                y,
                round(100.0 * opacity, 3),
                "%",
                phrase(
                    "{name} is only {opacity} % solid; {material} covers all that lies under it.",
                    name=name_of(leaf),
                    opacity=format_number(100.0 * opacity, 0),
                    material=material.name,
                ),
                Remedy("Someone has to decide: cut it solid, give it a paler colour, print it, or delete it"),
            )


def near_colours(context: Context) -> Iterator[Finding]:
    """Find two vinyls whose colours differ by a hair: one would do."""
    used: dict[Material, int] = {material: len(shapes) for material, shapes in context.shapes.items()}
    for lettering in context.lettering:
        material = context.material_by_id[lettering.id]
        used[material] = used.get(material, 0) + 1
    listed = set(context.job.materials)
    materials = list(used)
    for index, one in enumerate(materials):
        for other in materials[:index]:
            if one in listed and other in listed:
                continue  # the operator has named both: they are two
            distance = colour_distance(one.colour, other.colour)
            if not distance < NEAR_COLOURS:
                continue
            few, many = sorted((one, other), key=lambda each: (each in listed, used[each]))
            leaves = [key for key, material in context.material_by_id.items() if material == few]
            x, y = _middle(next(placed.leaf for placed in context.placed if placed.leaf.id == leaves[0]))
            yield Finding(
                "near-colours",
                Severity.WASTES,
                tuple(leaves),
                x,
                y,
                round(distance, 3),
                "ΔE",
                phrase(
                    "{name} and {other} differ by a hair: two vinyls to load where one would do.",
                    name=few.name,
                    other=many.name,
                ),
                Remedy(
                    "Make it all of one material",
                    "set-material",
                    {"on": {"id": leaves}, "material": many.id},
                    safe=distance < SAME_COLOURS,
                ),
            )


def hidden_art(context: Context) -> Iterator[Finding]:
    """Find shapes that show nothing, or lie wholly under others, and would be cut all the same."""
    for shape in context.all_shapes:
        if _shows_nothing(context, shape):
            x, y = _middle(shape)
            yield Finding(
                "hidden-art",
                Severity.WASTES,
                (shape.id,),
                x,
                y,
                0.0,
                "%",
                phrase(
                    "{name} is so see-through that it does not show, and would be cut from {material} all the same.",
                    name=name_of(shape),
                    material=context.material_of(shape).name,
                ),
                Remedy("Delete what never shows", "delete", {"on": {"id": shape.id}}),
            )
    stack = [
        shape
        for shape in context.stack
        if shape.style.fill is not None
        and context.material_of(shape).kind is MaterialKind.CUT
        and shape.bounds
        and not is_mark(shape)  # they lie on each other, that is what they are for
        and not _shows_nothing(context, shape)
    ]
    if len(stack) < 2:
        return
    bounds = np.array([shape.bounds for shape in stack])
    opaque = [context.are_solid((shape,)) for shape in stack]
    boxes: Any = shapely.box(*bounds.T)
    below, above = shapely.STRtree(boxes).query(boxes, predicate="intersects")
    covers: dict[int, list[int]] = {}
    for lower, upper in zip(below.tolist(), above.tolist(), strict=True):
        if lower < upper and opaque[upper]:
            covers.setdefault(lower, []).append(upper)
    likely = [
        (lower, sorted(uppers))
        for lower, uppers in sorted(covers.items())
        if (bounds[uppers, :2].min(axis=0) <= bounds[lower, :2] + SLIVER_MM).all()
        and (bounds[uppers, 2:].max(axis=0) >= bounds[lower, 2:] - SLIVER_MM).all()
    ]
    polygons = facts.polygons_of(context.memory, stack)

    def solve(missing: list[int]) -> list[bool]:
        out = []
        for index in missing:
            lower, uppers = likely[index]
            left = shapely.difference(polygons[lower], shapely.union_all(polygons[uppers]))
            out.append(float(left.area) <= SLIVER_MM * float(polygons[lower].length))
        return out

    keys = [
        tuple(part for each in (lower, *uppers) for part in (stack[each].path, stack[each].style.fill_rule))
        for lower, uppers in likely
    ]
    for (lower, uppers), hidden in zip(likely, context.memory.each("hidden", keys, solve, moves.stays), strict=True):
        shape = stack[lower]
        kin = context.material_by_id[shape.id]
        if not hidden or any(context.material_by_id[stack[upper].id] == kin for upper in uppers):
            continue  # under its own material it is an overlap, and merged
        x, y = _middle(shape)
        yield Finding(
            "hidden-art",
            Severity.WASTES,
            (shape.id,),
            x,
            y,
            round(float(polygons[lower].area), 3),
            "mm²",
            phrase(
                "{name} lies wholly under other art and would be cut from {material} all the same.",
                name=name_of(shape),
                material=kin.name,
            ),
            Remedy("Delete what never shows", "delete", {"on": {"id": shape.id}}),
        )


def _shows_nothing(context: Context, leaf: Leaf) -> bool:
    return isinstance(leaf, Shape) and context.opacity[leaf.id] < _UNSEEN


def mirrored_words(context: Context) -> Iterator[Finding]:
    """Find words that read backwards on vinyl, and words that do not on material pressed on from the back."""
    for lettering in context.lettering:
        material = context.material_by_id[lettering.id]
        wanted = context.limits_of(material).heat_transfer
        t = lettering.transform
        mirrored = t.a * t.d - t.b * t.c < 0.0
        if mirrored == wanted:
            continue
        x, y = _middle(lettering)
        same = [key for key, other in context.material_by_id.items() if other == material]
        yield Finding(
            "mirrored-words",
            Severity.MAY_SPOIL,
            (lettering.id,),
            x,
            y,
            1.0,
            "words",
            phrase(
                "{name} is to be pressed on from the back, and is not mirrored: it would read backwards."
                if wanted
                else "{name} is mirrored, and {material} needs no mirroring: it would read backwards.",
                name=name_of(lettering),
                material=material.name,
            ),
            Remedy("Mirror all of this material", "mirror", {"on": {"id": same}, "about_sheet": True}, safe=False)
            if wanted
            else Remedy("Mirror it back", "mirror", {"on": {"id": lettering.id}}, safe=False),
        )


def short_bleed(context: Context) -> Iterator[Finding]:
    """Find cut lines that run too near the edge of the print: a strip of bare film would show.

    Creases, and perforations that are no rings, cross the edge of a print on purpose.
    """
    print_leaves = tuple(
        placed.leaf for placed in context.placed if context.material_by_id[placed.leaf.id].kind is MaterialKind.PRINT
    )
    lines = [
        (shape, context.limits_of(material))
        for material, shapes in context.shapes.items()
        if material.cut is not CutKind.CREASE
        for shape in shapes
        if (material.cut is not CutKind.PERFORATION or shape.path.closed.all())
        and shape.style.fill is None
        and shape.style.stroke is not None
        and is_hairline(shape.style.stroke)
    ]
    if not print_leaves or not lines:
        return
    painted = _painted(context.memory, [leaf for leaf in print_leaves if isinstance(leaf, Shape)])
    # leaves are values, but slow to compare: those of one path and style paint the same
    named = tuple(part for leaf in print_leaves for part in (_key(leaf) if isinstance(leaf, Shape) else (leaf,)))
    (area,) = context.memory.each("print-area", [named], lambda _: [_area(painted, print_leaves)], moves.outline)
    if not area:
        return
    (edge,) = context.memory.each("print-edge", [(area,)], lambda _: [_edge(area)], moves.polygon)

    def solve(missing: list[int]) -> list[facts.Place]:
        out = []
        for index in missing:
            rings = facts.rings_of(context.memory, [lines[index][0].path])[0]
            line = facts.lines_of(rings)
            (x, y), _ = shapely.get_coordinates(shapely.shortest_line(line, edge))
            out.append(facts.Place(float(shapely.distance(line, edge)), float(x), float(y)))
        return out

    found = context.memory.each("bleed", [(shape.path, *named) for shape, _ in lines], solve, moves.place)
    near = [
        (shape, limits, place)
        for (shape, limits), place in zip(lines, found, strict=True)
        if round(place.size_mm, 4) < limits.least_bleed_mm
    ]

    def look(missing: list[int]) -> list[facts.Place | None]:
        (printed,) = areas_of([Region(area)])
        return [_unmeant(*near[index], printed, edge) for index in missing]

    keys = [(shape.path, shape.style.fill_rule, limits.least_bleed_mm, area) for shape, limits, _ in near]
    for (shape, limits, _), place in zip(near, context.memory.each("unbled", keys, look, moves.place), strict=True):
        if place is not None:
            yield _bleed(context, shape, limits, round(place.size_mm, 4), round(place.x, 4), round(place.y, 4))


def _unmeant(shape: Shape, limits: Limits, place: facts.Place, printed: Any, edge: Any) -> facts.Place | None:
    """Return where print ends too near a line; None where only stretches bare by design meet the line."""
    if place.size_mm > REACHED_MM:
        return place  # the print does not come as far as the line, or runs on beyond it
    clear = clearance(shape.path, shape.style.fill_rule, printed, limits.least_bleed_mm)
    if clear is None:
        return place
    return clear.place and facts.Place(float(shapely.distance(shapely.Point(clear.place), edge)), *clear.place)


def _plainly(style: Style) -> Style:
    """Return a style that paints the same area: gradients move with their art, and the area does not care for them."""
    stroke = style.stroke
    return replace(style, fill=_plain(style.fill), stroke=stroke and replace(stroke, paint=_plain(stroke.paint)))


def _plain(paint: Any) -> Any:
    return _ANY if isinstance(paint, Gradient) and any(stop.opacity > 0.0 for stop in paint.stops) else paint


def _key(shape: Shape) -> tuple[Path, Style]:
    return shape.path, _plainly(shape.style)


def _painted(memory: Memory, shapes: Sequence[Shape]) -> list[tuple[Region, ...]]:
    def solve(missing: list[int]) -> list[tuple[Region, ...]]:
        return [tuple(painted_regions(shapes[index])) for index in missing]

    return memory.each("painted", [_key(shape) for shape in shapes], solve, moves.regions)


def _area(painted: Sequence[tuple[Region, ...]], leaves: Sequence[Leaf]) -> Path:
    rest = [region for leaf in leaves if not isinstance(leaf, Shape) for region in painted_regions(leaf)]
    return joined([merge([*(region for regions in painted for region in regions), *rest])])


def _edge(area: Path) -> Any:
    flat = flatten(area)
    return facts.lines_of(np.split(flat.coords, flat.starts[1:]))


def _bleed(context: Context, shape: Shape, limits: Limits, distance: float, x: float, y: float) -> Finding:
    return Finding(
        "short-bleed",
        Severity.MAY_SPOIL,
        (shape.id,),
        x,
        y,
        distance,
        "mm",
        phrase(
            "{name} runs {distance} mm from the edge of the print, under {least} mm: "
            "where the cut is a little off, bare film shows.",
            name=name_of(shape),
            distance=format_number(distance, 2),
            least=format_number(limits.least_bleed_mm),
        ),
        Remedy(
            "Let the print run on beyond it",
            "bleed",
            {
                "on": {"id": shape.id},
                "distance_mm": max(2.0, limits.least_bleed_mm),
                "reach_mm": round(distance + 0.2, 2),  # art that ends before the line is to run on through the gap
            },
            safe=False,
        )
        if is_cut_line(context.material_of(shape).id)
        else Remedy("Someone has to decide: let the print run on beyond the line, or move the line"),
    )


def _middle(leaf: Leaf) -> tuple[float, float]:
    box = leaf.bounds or (0.0, 0.0, 0.0, 0.0)
    return (box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0
