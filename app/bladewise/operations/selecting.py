"""What else to select: art of the same fill, stroke, layer or material, small art, all that is not selected.

Each function takes a job and the ids of what is selected (leaves, or groups, which stand for what they
hold) and returns the ids of leaves from the back to the front. Hidden and locked art is passed over.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.document import Picture

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Hashable

    from bladewise.document import Job, Placed


def same_fill(job: Job, ids: Collection[str]) -> tuple[str, ...]:
    """Return what has a fill that something selected has; no fill counts as one. Pictures have none to compare."""
    return _alike(job, ids, lambda placed: None if isinstance(placed.leaf, Picture) else (placed.leaf.style.fill,))


def same_stroke(job: Job, ids: Collection[str]) -> tuple[str, ...]:
    """Return what has a stroke of a paint that something selected has, of any width; no stroke counts as one."""

    def paint(placed: Placed) -> Hashable:
        if isinstance(placed.leaf, Picture):
            return None
        stroke = placed.leaf.style.stroke
        return (stroke.paint if stroke is not None else None,)

    return _alike(job, ids, paint)


def same_layer(job: Job, ids: Collection[str]) -> tuple[str, ...]:
    """Return what lies on a layer on which something selected lies."""
    return _alike(job, ids, lambda placed: placed.layer.id)


def same_material(job: Job, ids: Collection[str]) -> tuple[str, ...]:
    """Return what is made of what something selected is made of."""
    return _alike(job, ids, lambda placed: job.material_of(placed).id)


def smaller_than(job: Job, size_mm: float) -> tuple[str, ...]:
    """Return what is smaller than a size both across and down; art without any extent too."""

    def small(placed: Placed) -> bool:
        box = placed.leaf.bounds
        return box is None or max(box[2] - box[0], box[3] - box[1]) < size_mm

    return tuple(placed.leaf.id for placed in _at_hand(job) if small(placed))


def inverted(job: Job, ids: Collection[str]) -> tuple[str, ...]:
    """Return what is not selected."""
    chosen = {placed.leaf.id for placed in _selected(job, ids)}
    return tuple(placed.leaf.id for placed in _at_hand(job) if placed.leaf.id not in chosen)


def _alike(job: Job, ids: Collection[str], key: Callable[[Placed], Hashable]) -> tuple[str, ...]:
    wanted = {key(placed) for placed in _selected(job, ids)} - {None}
    return tuple(placed.leaf.id for placed in _at_hand(job) if key(placed) in wanted)


def _at_hand(job: Job) -> list[Placed]:
    return [placed for placed in job.walk() if placed.visible and not placed.locked]


def _selected(job: Job, ids: Collection[str]) -> list[Placed]:
    chosen = set(ids)
    return [
        placed
        for placed in job.walk()
        if not chosen.isdisjoint({placed.leaf.id, placed.layer.id, *(group.id for group in placed.groups)})
    ]
