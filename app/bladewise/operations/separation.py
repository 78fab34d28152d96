"""Colours taken apart the way vinyl is applied: seen parts, butted with a trap, or lower ones under upper ones.

All that paints takes part, fills and strokes as they are wide, live lettering too: one layer a vinyl, in the order in
which they are stuck. What is one vinyl is one piece wherever it touches, so no edge between its parts is ever cut. The
curve-true work is done in `geometry.stacking`, the order in `operations.application`.

Gradients and pictures are print, hairlines and guides are no areas: they stay where they are, and are told.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.document import (
    Colour,
    Job,
    Layer,
    Lettering,
    Material,
    MaterialKind,
    Picture,
    Shape,
    Style,
    material_for_colour,
)
from bladewise.document.colour_distance import lab
from bladewise.errors import CannotApply
from bladewise.geometry.regions import FillRule, Region
from bladewise.geometry.remnants import remnants_given
from bladewise.geometry.stacking import Part, Stack, seen_in_groups, spread_under
from bladewise.operations.application import application_levels, stacking_order
from bladewise.operations.declaration import Operation, Progress, Result, acts_on, choice, length, only_with
from bladewise.operations.painted import stroke_area
from bladewise.operations.selection import Selection, nothing_matches
from bladewise.phrases import listing, phrase
from bladewise.units import counted, format_number

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from bladewise.document import Leaf, Placed
    from bladewise.geometry.path import Path

_SPECK_MM2 = 1e-4
"""Less covering than this is the noise of outlines that lie on one another, a hundredth of a millimetre square."""


class How(StrEnum):
    """How colours lie where they meet."""

    SEEN = "seen"
    BUTTED = "butted"
    LAYERED = "layered"


class Spread(StrEnum):
    """Which of two colours runs on under the other."""

    LIGHTER = "lighter"
    DARKER = "darker"
    LOWER = "lower"
    UPPER = "upper"


class Under(StrEnum):
    """How far lower colours run under upper ones."""

    OVERLAP = "overlap"
    WHOLE = "whole"


@dataclass(frozen=True, kw_only=True)
class SeparateColours:
    """One layer a vinyl, in the order in which they are stuck."""

    on: Selection = acts_on()
    how: How = choice(
        How.BUTTED,
        help="Only what is seen, edge to edge; edge to edge with a trap; or lower colours running on under upper ones",
    )
    trap_mm: float = only_with(
        length(
            0.3, minimum=0.0, maximum=10.0, help="Butted: how far one colour runs on under the other where the two meet"
        ),
        how=How.BUTTED,
    )
    spread: Spread = only_with(
        choice(
            Spread.LIGHTER, help="Butted: which of two colours runs on: the lighter, the darker, the lower or the upper"
        ),
        how=How.BUTTED,
    )
    under: Under = only_with(
        choice(Under.OVERLAP, help="Layered: lower colours run on by the overlap, or whole underneath"), how=How.LAYERED
    )
    overlap_mm: float = only_with(
        length(2.0, minimum=0.0, maximum=100.0, help="Layered: how far a lower colour runs on under an upper one"),
        how=How.LAYERED,
        under=Under.OVERLAP,
    )


class Painted(NamedTuple):
    """An area of one vinyl, and the leaf it belongs to."""

    region: Region
    material: Material
    colour: Colour
    leaf: Shape | Lettering


def separate_colours(job: Job, record: SeparateColours, progress: Progress) -> Result:
    """Take the colours apart, a layer each, and say in which order they are stuck."""
    placed = [each for each in record.on.leaves(job) if each.visible]
    if not placed:
        raise nothing_matches(record.on, job)
    areas: list[Painted] = []
    taken: dict[str, None] = {}
    for each in placed:
        found = painted_in_vinyl(job, each)
        areas += found
        if found:
            taken[each.leaf.id] = None
    if not areas:
        msg = "None of this is an area in a flat colour that is cut."
        hint = "Choose shapes with a colour; gradients and pictures are printed, guides are never cut."
        raise CannotApply(msg, where=record.on.describe(job), hint=hint)
    vinyls = list(dict.fromkeys(area.material.id for area in areas))
    groups = [vinyls.index(area.material.id) for area in areas]
    materials = [_as_cut(vinyl, areas) for vinyl in vinyls]
    progress(0.1)
    whole = record.how is How.LAYERED and record.under is Under.WHOLE
    regions = [area.region for area in areas]
    stack = seen_in_groups(regions, groups, _ranking(record, materials), whole=whole)
    if not stack.parts:
        msg = "None of these shapes has an area."
        raise CannotApply(msg, where=record.on.describe(job), hint="Close the outlines first, or choose other shapes.")
    progress(0.5)
    reach = {How.SEEN: 0.0, How.BUTTED: record.trap_mm, How.LAYERED: 0.0 if whole else record.overlap_mm}[record.how]
    remnants = 0
    if record.how is How.BUTTED:
        stack, remnants = remnants_given(stack, regions, reach)
    parts = spread_under(stack.parts, stack.order, reach)
    progress(0.9)
    levels = _levels(stack, whole=whole, spread=reach > 0.0)
    result, made = _layered(job, areas, materials, parts, stack, levels, taken)
    reports = _reports(stack, materials, levels, areas, groups, parts)
    if remnants:
        which = counted(remnants, "strip narrower than the trap", "strips narrower than the trap")
        reports.append(phrase("{which} went to the colour that covers the rest of it.", which=which))
    if record.how is How.LAYERED:
        reports += _in_turn(stack, materials)
    if whole:
        reports += _butting(stack, materials)
    reports += _brought_up(job, taken) + _left_out(placed, taken)
    progress(1.0)
    return Result(result, tuple(reports), made)


def _brought_up(job: Job, taken: Iterable[str]) -> list[str]:
    """Return what is told where art that was not taken lay above some of what was: the new layers lie above it."""
    wanted = set(taken)
    rows = [placed for placed in job.walk() if placed.visible and placed.leaf.bounds is not None]
    order = {layer.id: place for place, layer in enumerate(job.layers)}
    last = max(order[placed.layer.id] for placed in rows if placed.leaf.id in wanted)
    low, high = np.split(np.array([placed.leaf.bounds for placed in rows], dtype=np.float64), 2, axis=1)
    is_taken = np.array([placed.leaf.id in wanted for placed in rows])
    covering = 0
    for place, placed in enumerate(rows):
        if not is_taken[place] and order[placed.layer.id] <= last:
            below = np.flatnonzero(is_taken[:place])
            covering += bool(((low[below] < high[place]) & (low[place] < high[below])).all(axis=1).any())
    if not covering:
        return []
    which = counted(covering, "shape that lay above some of this lies", "shapes that lay above some of this lie")
    return [phrase("{which} below the new layers now: move them up again where they should show.", which=which)]


def painted_in_vinyl(job: Job, placed: Placed) -> list[Painted]:
    """Return what a leaf paints in vinyl, lowest first: its fill, and its stroke as wide as it is."""
    leaf = placed.leaf
    material = job.material_of(placed)
    if isinstance(leaf, Picture) or material.kind is not MaterialKind.CUT:
        return []
    style = leaf.style
    path = leaf.outline if isinstance(leaf, Lettering) else leaf.path
    found = []
    if style.fill is not None:
        if not isinstance(style.fill, Colour):
            return []
        if path and style.opacity * style.fill_opacity > 0.0:
            found.append(Painted(Region(path, style.fill_rule), material, style.fill, leaf))
    stroke = style.stroke
    if stroke is not None and (band := stroke_area(leaf)) and style.opacity * stroke.opacity > 0.0:
        if not isinstance(stroke.paint, Colour):
            return []
        own = material if stroke.paint == style.colour else _vinyl_of_stroke(job, placed, stroke.paint)
        found.insert(0 if style.stroke_first else len(found), Painted(Region(band), own, stroke.paint, leaf))
    return found


def _vinyl_of_stroke(job: Job, placed: Placed, colour: Colour) -> Material:
    """Return what a stroke of another colour than its fill is made of."""
    listed = next((each for each in job.materials if each.colour == colour and each.kind is MaterialKind.CUT), None)
    if listed is not None:
        return listed
    if any(key is not None and job.material(key) is not None for key in (placed.leaf.material, placed.layer.material)):
        return job.material_of(placed)  # all of it was said to be of this vinyl
    return material_for_colour(colour)


def _as_cut(vinyl: str, areas: Sequence[Painted]) -> Material:
    return next(area.material for area in areas if area.material.id == vinyl)


def _ranking(
    record: SeparateColours, materials: Sequence[Material]
) -> Callable[[Mapping[tuple[int, int], float]], list[int]]:
    """Return the rule that puts the vinyls in the order in which they are stuck."""

    def ranked(over: Mapping[tuple[int, int], float]) -> list[int]:
        order = stacking_order(len(materials), {pair: size for pair, size in over.items() if size > _SPECK_MM2})
        if record.how is not How.BUTTED or record.spread is Spread.LOWER:
            return order
        if record.spread is Spread.UPPER:
            return order[::-1]
        lightness = lab([material.colour for material in materials])[:, 0].tolist()
        sign = -1.0 if record.spread is Spread.LIGHTER else 1.0
        return sorted(order, key=lambda group: sign * lightness[group])  # what spreads is stuck first

    return ranked


def _levels(stack: Stack, *, whole: bool, spread: bool) -> dict[int, int]:
    rank = {group: place for place, group in enumerate(stack.order)}
    touching = set(stack.touching)
    over = set()
    if spread:
        over = {tuple(sorted(pair, key=lambda group: rank[group])) for pair, shared in stack.touching.items() if shared}
    elif whole:
        over = {pair for pair, size in stack.over.items() if size > _SPECK_MM2 and rank[pair[0]] < rank[pair[1]]}
    return application_levels(stack.order, {(one, two) for one, two in over}, touching)


def _layered(
    job: Job,
    areas: Sequence[Painted],
    materials: Sequence[Material],
    parts: Sequence[Part],
    stack: Stack,
    levels: Mapping[int, int],
    taken: Iterable[str],
) -> tuple[Job, tuple[str, ...]]:
    """Return the job with a layer for each vinyl in place of the art, and the ids of all pieces."""
    ids = list(taken)
    held = {placed.layer.id for placed in job.walk() if placed.leaf.id in set(ids)}
    last = max(place for place, layer in enumerate(job.layers) if layer.id in held)
    rest = job.without(ids)
    layers = [layer for layer in rest.layers if layer.children or layer.id not in held]
    kept = {layer.id for layer in layers}
    index = sum(layer.id in kept for layer in job.layers[: last + 1])
    used: dict[str, None] = {}
    counts: dict[str, int] = {}
    for group in _application(stack, levels):
        material = materials[group]
        rest = rest.with_material(material)
        display = _display(areas, material)
        children = []
        for part in parts:
            if part.group != group:
                continue
            leaf = areas[part.source].leaf
            number = counts[leaf.id] = counts.get(leaf.id, 0) + 1
            key = leaf.id if number == 1 else job.fresh_id(f"{leaf.id}-part", taken=used)
            used[key] = None
            name = leaf.name if number == 1 else f"{leaf.name or leaf.id} {number}"
            children.append(_piece(key, name, part.path, display))
        if not children:
            continue
        key = job.fresh_id(material.id, taken={*used, *(layer.id for layer in layers)})
        layers.insert(index, Layer(key, material.name, tuple(children), material=material.id))
        index += 1
    return replace(rest, layers=tuple(layers)), tuple(used)


def _piece(key: str, name: str, path: Path, colour: Colour) -> Shape:
    return Shape(key, path, Style(fill=colour, fill_rule=FillRule.NONZERO), name=name)


def _display(areas: Sequence[Painted], material: Material) -> Colour:
    """Return the one colour in which a vinyl's pieces are shown: as they were painted, if all were alike."""
    colours = {area.colour for area in areas if area.material.id == material.id}
    return colours.pop() if len(colours) == 1 else material.colour


def _application(stack: Stack, levels: Mapping[int, int]) -> list[int]:
    """Return the groups in the order in which they are stuck: level by level."""
    return sorted((group for group in stack.order if group in levels), key=lambda group: levels[group])


def _reports(
    stack: Stack,
    materials: Sequence[Material],
    levels: Mapping[int, int],
    areas: Sequence[Painted],
    groups: Sequence[int],
    parts: Sequence[Part],
) -> list[str]:
    present = {part.group for part in parts}
    steps: dict[int, list[str]] = {}
    for group in _application(stack, levels):
        if group in present:
            steps.setdefault(levels[group], []).append(materials[group].name)
    order = listing(
        (
            phrase("{number}. {names}", number=number, names=" + ".join(names))
            for number, names in enumerate(steps.values(), start=1)
        ),
        "; ",
    )
    layers, stuck = counted(len(present), "layer", "layers"), counted(len(steps), "go", "goes")
    reports = [phrase("{layers} in {stuck}, the lowest first: {order}.", layers=layers, stuck=stuck, order=order)]
    for group, material in enumerate(materials):
        colours = {area.colour for area, of in zip(areas, groups, strict=True) if of == group}
        if len(colours) > 1:
            reports.append(
                phrase(
                    "{count} colours are cut from {name}: where they meet they are one piece, and no edge is cut.",
                    count=len(colours),
                    name=material.name,
                )
            )
    shown = {areas[part.source].leaf.id for part in parts}
    if gone := len({area.leaf.id for area in areas} - shown):
        which = counted(gone, "shape was covered or joined another", "shapes were covered or joined others")
        reports.append(phrase("{which}; none is a piece of its own any more.", which=which))
    return reports


def _in_turn(stack: Stack, materials: Sequence[Material]) -> list[str]:
    """Name the pairs that lie over and under one another in turn: one of them cannot run on everywhere."""
    reports = []
    rank = {group: place for place, group in enumerate(stack.order)}
    for (low, high), size in sorted(stack.over.items()):
        back = stack.over.get((high, low), 0.0)
        if low < high and min(size, back) > _SPECK_MM2:
            first, second = sorted((low, high), key=lambda group: rank[group])
            reports.append(
                phrase(
                    "{first} lies under {second} in one place and over it in another; {first} is stuck first.",
                    first=materials[first].name,
                    second=materials[second].name,
                )
            )
    return reports


def _butting(stack: Stack, materials: Sequence[Material]) -> list[str]:
    """Name the colours that only meet edge to edge, though lower ones run whole under upper ones."""
    rank = {group: place for place, group in enumerate(stack.order)}
    pairs = [
        phrase("{one} and {other}", one=materials[one].name, other=materials[other].name)
        for (one, other), shared in sorted(stack.touching.items())
        if shared and stack.over.get((one, other) if rank[one] < rank[other] else (other, one), 0.0) <= _SPECK_MM2
    ]
    return [phrase("Edge to edge, nothing runs on underneath: {pairs}.", pairs=listing(pairs))] if pairs else []


def _left_out(placed: Sequence[Placed], taken: Mapping[str, None]) -> list[str]:
    reports = []
    clear = sum(_is_clear(each) for each in placed if each.leaf.id in taken)
    if clear:
        which = counted(clear, "see-through shape was", "see-through shapes were")
        reports.append(phrase("{which} taken as solid: vinyl is.", which=which))
    rest = [each.leaf for each in placed if each.leaf.id not in taken]
    printed = sum(_is_printed(leaf) for leaf in rest)
    if printed:
        which = counted(printed, "one with a gradient or a picture", "with gradients or pictures")
        reports.append(phrase("Not taken apart, left on its own layer: {which}.", which=which))
    if len(rest) > printed:
        which = counted(len(rest) - printed, "line, guide or print", "lines, guides or prints")
        reports.append(phrase("Left as it was: {which}.", which=which))
    return reports


def _is_clear(placed: Placed) -> bool:
    leaf = placed.leaf
    if isinstance(leaf, Picture):
        return False
    style = leaf.style
    shares = [style.opacity, *(group.opacity for group in placed.groups)]
    if style.fill is not None:
        shares.append(style.fill_opacity)
    if style.stroke is not None:
        shares.append(style.stroke.opacity)
    return min(shares) < 1.0


def _is_printed(leaf: Leaf) -> bool:
    if isinstance(leaf, Picture):
        return True
    paints = (leaf.style.fill, leaf.style.stroke.paint if leaf.style.stroke is not None else None)
    return any(paint is not None and not isinstance(paint, Colour) for paint in paints)


def _summary(record: SeparateColours) -> str:
    on = record.on.describe()
    match record.how:
        case How.SEEN:
            return phrase("Separate the colours of {on}: what is seen, edge to edge", on=on)
        case How.BUTTED:
            return phrase(
                "Separate the colours of {on}: edge to edge, the {spread} {trap} mm under the other",
                on=on,
                spread=phrase(record.spread.value),
                trap=format_number(record.trap_mm),
            )
        case _ if record.under is Under.WHOLE:
            return phrase("Separate the colours of {on}: lower ones whole under upper ones", on=on)
        case _:
            return phrase(
                "Separate the colours of {on}: lower ones {overlap} mm under upper ones",
                on=on,
                overlap=format_number(record.overlap_mm),
            )


OPERATIONS = (
    Operation(
        "separate-colours",
        "Separate colours",
        "One layer a vinyl, in the order they are stuck: edge to edge, with a trap, or running on underneath.",
        SeparateColours,
        separate_colours,
        _summary,
    ),
)
