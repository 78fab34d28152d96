"""Which steps are done at once, within a frame, and which go to the worker."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bladewise.document import Job
    from bladewise.operations import Step

AT_ONCE = frozenset({
    "move", "scale", "rotate", "mirror", "align", "reorder", "delete", "rename", "show", "lock", "set-material",
    "material-profile", "list-materials", "drop-material", "ordered-size",
    "restyle", "group", "ungroup", "draw-rectangle", "draw-ellipse", "draw-outline", "sheet",
    "move-nodes", "place-nodes", "move-handle", "node-kind", "add-node", "delete-nodes", "straighten", "line-to-curve",
    "pull-segment", "remove-segments", "break-path", "join-ends", "close-path", "reverse-path", "start-node",
    "draw-polygon", "draw-star", "draw-line", "draw-path", "draw-guide", "skew", "centre-on-sheet",
    "distribute", "equal-gaps", "duplicate-here", "paste",
})  # fmt: skip
"""Operations that only rearrange or transform what is there: done within a frame for any job of usual size."""

LIGHT = 400
"""So many leaves are moved, measured and shown again within a frame or two; more go to the worker …"""

MOST_AT_ONCE = 5000
"""… and in a job of more leaves than this everything does."""


def is_done_at_once(step: Step, job: Job, leaf_count: int) -> bool:
    """Whether a step only rearranges, and so little of a job of so many leaves that it is done within a frame."""
    if step.do not in AT_ONCE:
        return False
    if leaf_count <= LIGHT:
        return True
    on = getattr(step.record, "on", None)
    return leaf_count <= MOST_AT_ONCE and on is not None and len(on.leaves(job)) <= LIGHT
