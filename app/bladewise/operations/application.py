"""In which order the colours of a job are stuck, and which of them may be stuck together.

`stacking_order` finds an order from what covers what (the greedy rule for acyclic subgraphs of P. Eades, X. Lin,
W. Smyth 1993, from memory): it obeys all covering where that goes, and goes against the least area where colours lie
over and under one another in turn. `application_levels` puts colours that nowhere overlap or touch into one level, the
fewest levels there can be.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.document.elements import leaves_in
from bladewise.geometry.rough import rough_fill, rough_union
from bladewise.operations.painted import painted_regions

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from bladewise.document import Job

_NEAR_MM = 0.02
"""Layers no farther apart than this touch: twice what the chords may be off their curves."""

_TRIES = 20_000
"""Placements tried for each number of levels; a few dozen colours seldom need a hundred."""

Pair = tuple[int, int]


def stacking_order(count: int, over: Mapping[Pair, float]) -> list[int]:
    """Return colours 0 … count − 1 from the back to the front.

    Parameters
    ----------
    count
        How many colours there are, numbered as they first appear from the back.
    over
        For (lower, upper): how much of the lower the upper covers.

    Examples
    --------
    >>> stacking_order(3, {(2, 0): 5.0, (0, 1): 1.0})
    [2, 0, 1]
    """
    left = list(range(count))
    back: list[int] = []
    front: list[int] = []
    while left:
        below = {
            each: sum(over.get((other, each), 0.0) for other in left if other != each) for each in left
        }  # what lies under it
        above = {each: sum(over.get((each, other), 0.0) for other in left if other != each) for each in left}
        lowest = next((each for each in left if below[each] == 0.0), None)
        if lowest is None:
            highest = next((each for each in reversed(left) if above[each] == 0.0), None)
            if highest is not None:
                front.append(highest)
                left.remove(highest)
                continue
            lowest = max(left, key=lambda each: (above[each] - below[each], -each))
        back.append(lowest)
        left.remove(lowest)
    return back + front[::-1]


def applications_of(job: Job) -> dict[str, int]:
    """Return when each layer of a job is stuck, 0 first, by its id; layers that nowhere meet are stuck at once.

    Parameters
    ----------
    job
        Its layers lie from back to front, one a material. Only filled areas and strokes that show count.
    """
    areas = []
    for layer in job.layers:
        parts = []
        for leaf in leaves_in(layer.children):
            parts += [rough_fill(region, _NEAR_MM / 2.0) for region in painted_regions(leaf)]
        areas.append(rough_union(parts))
    order = [place for place, area in enumerate(areas) if not area.is_empty]
    over, touching = set(), set()
    for number, low in enumerate(order):
        for high in order[number + 1 :]:
            if not areas[low].intersects(areas[high]):
                if areas[low].distance(areas[high]) <= _NEAR_MM:
                    touching.add((low, high))
            elif not areas[low].intersection(areas[high]).buffer(-_NEAR_MM).is_empty:
                over.add((low, high))  # more than the noise of outlines that lie on one another
            else:
                touching.add((low, high))
    return {job.layers[place].id: level for place, level in application_levels(order, over, touching).items()}


def application_levels(order: Sequence[int], over: Collection[Pair], touching: Collection[Pair]) -> dict[int, int]:
    """Return the level, 0 first, in which each colour is stuck; as few levels as there can be.

    Parameters
    ----------
    order
        The colours, from the back to the front.
    over
        Pairs (lower, upper) that overlap: the lower is stuck in an earlier level.
    touching
        Pairs that touch: they are stuck in two levels, whichever comes first.

    Examples
    --------
    >>> application_levels([0, 1, 2], {(0, 1)}, {(1, 2)})
    {0: 0, 1: 1, 2: 0}
    """
    lower: dict[int, set[int]] = {each: set() for each in order}
    beside: dict[int, set[int]] = {each: set() for each in order}
    for one, two in over:
        lower[two].add(one)
    for one, two in touching:
        beside[one].add(two)
        beside[two].add(one)
    chain: dict[int, int] = {}
    for each in order:
        chain[each] = max((chain[other] + 1 for other in lower[each]), default=0)
    plain: dict[int, int] = {}
    for each in order:
        near = [plain[other] for other in lower[each] | beside[each] if other in plain]
        plain[each] = max(near, default=-1) + 1
    if not plain:
        return {}
    for count in range(max(chain.values()) + 1, max(plain.values()) + 1):
        found = _placed(order, lower, beside, count)
        if found is not None:
            return found
    return plain


def _placed(
    order: Sequence[int], lower: Mapping[int, set[int]], beside: Mapping[int, set[int]], count: int
) -> dict[int, int] | None:
    """Return levels below a count for all colours, or None where there are none (or none were found in time)."""
    height: dict[int, int] = dict.fromkeys(order, 0)  # how many levels must lie above each
    for each in reversed(order):
        for other in lower[each]:
            height[other] = max(height[other], height[each] + 1)
    levels: dict[int, int] = {}
    tries = 0

    def place(index: int) -> bool:
        nonlocal tries
        if index == len(order):
            return True
        each = order[index]
        least = max((levels[other] + 1 for other in lower[each]), default=0)
        taken = {levels[other] for other in beside[each] if other in levels}
        for level in range(least, count - height[each]):
            tries += 1
            if tries > _TRIES:
                return False
            if level in taken:
                continue
            levels[each] = level
            if place(index + 1):
                return True
            del levels[each]
        return False

    return levels if place(0) else None
