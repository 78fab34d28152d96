"""Fewer colours: near ones join within a distance, down to a number, or to the vinyls on hand.

How near two colours look is measured by CIEDE2000 (`document.colour_distance`). Where colours join, the one that
paints more keeps its place; no colour is made up. Only flat colours of what is cut take part.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.document import Colour, Element, Job, Lettering, MaterialKind, Picture, material_for_colour
from bladewise.document.colour_distance import colour_distances
from bladewise.document.stock import listed, materials_in
from bladewise.errors import CannotApply
from bladewise.geometry.measures import area
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    choice,
    integer,
    number,
    only_with,
    wording,
)
from bladewise.operations.painted import label
from bladewise.operations.selection import Selection, nothing_matches
from bladewise.phrases import listing, phrase
from bladewise.units import counted, format_number

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from bladewise.document import Material, Placed, Shape

SEEN_APART = 2.3
"""CIEDE2000 beyond which most people see two vinyls side by side as two colours (common practice, no source)."""

_NAMED = 3
"""Shapes named in a report at most."""


class Reduction(StrEnum):
    """What tells how far colours join."""

    WITHIN = "within"
    NUMBER = "number"
    VINYLS = "vinyls"


@dataclass(frozen=True, kw_only=True)
class ReduceColours:
    """Near colours join."""

    on: Selection = acts_on()
    until: Reduction = choice(
        Reduction.WITHIN,
        help="Join what lies within a distance, join down to a number, or go to the nearest vinyl on hand",
    )
    within: float = only_with(
        number(
            5.0, minimum=0.0, maximum=100.0, help="How unlike colours that join may look: 1 is hardly seen (CIEDE2000)"
        ),
        until=Reduction.WITHIN,
    )
    count: int = only_with(
        integer(4, minimum=1, maximum=200, help="How many colours to join down to"), until=Reduction.NUMBER
    )
    vinyls: str = only_with(
        wording("", help="The vinyls on hand, one a line: a name, then its colour as #rrggbb; empty: the job's list"),
        until=Reduction.VINYLS,
    )


class Target(NamedTuple):
    """What a colour becomes: the colour, how far it lies from the old one, and the vinyl where it is one on hand."""

    colour: Colour
    distance: float
    material: Material | None = None


def reduce_colours(job: Job, record: ReduceColours, progress: Progress) -> Result:
    """Let near colours join, and say which shapes changed."""
    placed = record.on.leaves(job)
    if not placed:
        raise nothing_matches(record.on, job)
    cut = [each for each in placed if not isinstance(each.leaf, Picture) and _is_cut(job, each)]
    if record.until is Reduction.VINYLS:
        vinyls = _vinyls(job, record)
        cut = [each for each in cut if job.material_of(each) not in vinyls]  # the others are on hand already
    weights = _weights(cut)
    if not weights and record.until is Reduction.VINYLS:
        return Result(job, ("All of this is made of vinyls on hand already.",))
    if not weights:
        msg = "None of this has a flat colour that is cut."
        raise CannotApply(msg, where=record.on.describe(job), hint="Choose shapes with a colour.")
    progress(0.3)
    if record.until is Reduction.VINYLS:
        targets = nearest_vinyls(list(weights), vinyls)
    else:
        targets = joined_colours(
            weights,
            within=record.within if record.until is Reduction.WITHIN else None,
            count=record.count if record.until is Reduction.NUMBER else None,
        )
    progress(0.7)
    replacements: dict[str, tuple[Element, ...]] = {}
    changed: dict[Colour, list[str]] = {}
    for each in cut:
        new, moved = _recoloured(each, targets)
        if new is not each.leaf:
            replacements[new.id] = (new,)
        for old in moved:
            changed.setdefault(old, []).append(label(new))
    reports = [_told(old, targets[old], names) for old, names in changed.items()]
    left = len({target.colour for target in targets.values()})
    what = counted(len(weights), "colour", "colours")
    reports.append(
        phrase("{what} became {left}.", what=what, left=left)
        if changed
        else phrase("{what}, none of them near enough to another to join.", what=what)
    )
    if passed := sum(_has_other_paint(each) for each in placed):
        which = counted(passed, "one with a gradient or a picture", "with gradients or pictures")
        reports.append(phrase("Passed over: {which}.", which=which))
    result = job.replaced(replacements)
    for material in dict.fromkeys(target.material for target in targets.values()):
        if material is not None and job.material(material.id) != material:
            result = result.with_material(material)
    progress(1.0)
    return Result(result, tuple(reports), tuple(replacements))


def joined_colours(
    weights: Mapping[Colour, float], *, within: float | None = None, count: int | None = None
) -> dict[Colour, Target]:
    """Return what each colour becomes when near ones join.

    Parameters
    ----------
    weights
        How much each colour paints; the heavier of two that join keeps its colour.
    within
        No colour goes farther than this (CIEDE2000).
    count
        Join until so many are left.

    The two are joined next whose members stay nearest to the colour they get (complete linkage).
    """
    colours = list(weights)
    heavy = np.array([weights[colour] for colour in colours], dtype=np.float64)
    apart = colour_distances(colours)
    far = apart.copy()  # of the members of a cluster, the farthest from the colour of another one
    alive = np.ones(len(colours), np.bool_)
    becomes = np.arange(len(colours))
    while alive.sum() > (count or 1):
        # rows give way to columns, which are at least as heavy; of two as heavy the later gives way
        cost = np.maximum(far, np.diag(far)[None, :])
        order = np.arange(len(colours))
        heavier = (heavy[None, :] > heavy[:, None]) | (
            (heavy[None, :] == heavy[:, None]) & (order[None, :] < order[:, None])
        )
        cost[~(heavier & alive[:, None] & alive[None, :])] = np.inf
        gives, takes = np.unravel_index(int(np.argmin(cost)), cost.shape)
        if within is not None and cost[gives, takes] > within:
            break
        far[takes] = np.maximum(far[takes], far[gives])
        heavy[takes] += heavy[gives]
        alive[gives] = False
        becomes[becomes == gives] = takes
    return {
        colour: Target(colours[becomes[place]], float(apart[place, becomes[place]]))
        for place, colour in enumerate(colours)
    }


def nearest_vinyls(colours: Sequence[Colour], vinyls: Sequence[Material]) -> dict[Colour, Target]:
    """Return the vinyl that looks nearest to each colour, and how far it lies; of equal ones the first listed."""
    apart = colour_distances(colours, [vinyl.colour for vinyl in vinyls])
    return {
        colour: Target(vinyls[place].colour, float(row[place]), vinyls[place])
        for colour, row, place in zip(colours, apart, np.argmin(apart, axis=1).tolist(), strict=True)
    }


def _vinyls(job: Job, record: ReduceColours) -> list[Material]:
    if record.vinyls.strip():
        return _on_hand(job, record)
    vinyls = [material for material in job.materials if material.kind is MaterialKind.CUT]
    if not vinyls:
        msg = "The job lists no vinyl yet."
        hint = "Give the shapes of one colour a material first, or join colours within a distance."
        raise CannotApply(msg, where=record.on.describe(job), hint=hint)
    return vinyls


def _on_hand(job: Job, record: ReduceColours) -> list[Material]:
    """Return the vinyls that the step itself names, as the job knows them."""
    try:
        named = materials_in(record.vinyls)
    except ValueError as error:
        hint = "Write one a line: a name, then its colour."
        raise CannotApply(error.args[0], where=record.on.describe(job), hint=hint) from None
    vinyls = [material for material in listed(job, named) if material.kind is MaterialKind.CUT]
    if not vinyls:
        msg = "None of the vinyls on hand is cut."
        raise CannotApply(msg, where=record.on.describe(job), hint="Name a vinyl that is cut.")
    return vinyls


def _is_cut(job: Job, placed: Placed) -> bool:
    return job.material_of(placed).kind is MaterialKind.CUT


def _paints(leaf: Shape | Lettering) -> list[Colour]:
    paints = [leaf.style.fill, leaf.style.stroke.paint if leaf.style.stroke is not None else None]
    return [paint for paint in paints if isinstance(paint, Colour)]


def _has_other_paint(placed: Placed) -> bool:
    if isinstance(placed.leaf, Picture):
        return True
    style = placed.leaf.style
    return any(
        paint is not None and not isinstance(paint, Colour)
        for paint in (style.fill, style.stroke.paint if style.stroke else None)
    )


def _weights(placed: Sequence[Placed]) -> dict[Colour, float]:
    """Return how much each colour paints, in mm²: fills by their outline's area, strokes by a trifle."""
    weights: dict[Colour, float] = {}
    for each in placed:
        leaf = each.leaf
        if isinstance(leaf, Picture):
            continue
        path = leaf.outline if isinstance(leaf, Lettering) else leaf.path
        for colour in _paints(leaf):
            size = abs(area(path)) if colour is leaf.style.fill else 1e-3
            weights[colour] = weights.get(colour, 0.0) + size
    return weights


def _recoloured(placed: Placed, targets: Mapping[Colour, Target]) -> tuple[Shape | Lettering, list[Colour]]:
    """Return a leaf in its new colours (itself if they are the old ones), and the colours that changed."""
    leaf = placed.leaf
    assert not isinstance(leaf, Picture)
    style, moved = leaf.style, []
    if isinstance(style.fill, Colour) and (target := targets[style.fill]).colour != style.fill:
        moved.append(style.fill)
        style = replace(style, fill=target.colour)
    stroke = style.stroke
    if stroke is not None and isinstance(stroke.paint, Colour):
        target = targets[stroke.paint]
        if target.colour != stroke.paint:
            moved.append(stroke.paint)
            style = replace(style, stroke=replace(stroke, paint=target.colour))
    first = next(iter(_paints(leaf)), None)
    vinyl = targets[first].material if first is not None else None
    material = vinyl.id if vinyl is not None else leaf.material
    if style == leaf.style and material == leaf.material:
        return leaf, []
    return replace(leaf, style=style, material=material), list(dict.fromkeys(moved))


def _told(old: Colour, target: Target, names: Sequence[str]) -> str:
    some = listing(names[:_NAMED])
    if len(names) > _NAMED:
        some = phrase("{some} and {count} more", some=some, count=len(names) - _NAMED)
    values = {
        "old": _named(old),
        "new": target.material.name if target.material is not None else _named(target.colour),
        "distance": format_number(target.distance, 1),
        "names": some,
    }
    if target.distance > SEEN_APART:
        return phrase("{old} became {new}, which looks different ({distance}): {names}.", **values)
    return phrase("{old} became {new} ({distance} apart): {names}.", **values)


def _named(colour: Colour) -> str:
    return material_for_colour(colour).name


def _summary(record: ReduceColours) -> str:
    on = record.on.describe()
    match record.until:
        case Reduction.VINYLS:
            return phrase("Bring {on} to the vinyls on hand", on=on)
        case Reduction.NUMBER:
            return phrase("Reduce {on} to {colours}", on=on, colours=counted(record.count, "colour", "colours"))
        case _:
            return phrase("Join colours of {on} that look within {within}", on=on, within=format_number(record.within))


OPERATIONS = (
    Operation(
        "reduce-colours",
        "Reduce colours",
        "Near colours join: within a distance, down to a number, or to the vinyls on hand.",
        ReduceColours,
        reduce_colours,
        _summary,
    ),
)
