"""Where layers lie in an exploded view: lifted off one another in the order in which they are stuck."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from bladewise.document.job import Layer
from bladewise.document.materials import MaterialKind

if TYPE_CHECKING:
    from bladewise.document.job import Job

_SLANT_DEG = 62.0
"""Direction in which layers are lifted, up from the x axis: up and to the right, as sheets are drawn in assembly."""


def by_material(job: Job) -> Job:
    """Return a job with one layer a material, for looking at: what shows and reaches a machine, from back to front.

    A layer has the id and the name of its material. After separating colours these are the layers that are stuck.
    """
    layers = tuple(
        Layer(material.id, material.name, tuple(leaves), material=material.id)
        for material, leaves in job.materials_in_use().items()
        if material.kind is not MaterialKind.GUIDE
    )
    return replace(job, layers=layers)


def exploded_offsets(job: Job, amount: float = 1.0, *, slant_deg: float = _SLANT_DEG) -> dict[str, tuple[float, float]]:
    """Return how far each layer is moved, by its id, in mm; y down.

    Parameters
    ----------
    job
        Its layers lie from back to front, which after separating is the order of application.
    amount
        0 as they lie; 1 so far that no layer's extent overlaps another's; beyond that farther.
    slant_deg
        Direction in which layers are lifted, counted up from the x axis; 90 straight up.

    The lowest layer with something to see stays where it is. Hidden and empty layers move with the one below them, and
    take no place of their own.

    Examples
    --------
    >>> from bladewise.document import Job, Layer, Shape
    >>> from bladewise.geometry.path import rectangle
    >>> square = rectangle(0, 0, 10, 10)
    >>> job = Job("j", 10, 10, (Layer("a", "A", (Shape("x", square),)), Layer("b", "B", (Shape("y", square),))))
    >>> exploded_offsets(job, slant_deg=90.0)
    {'a': (0.0, 0.0), 'b': (0.0, -10.0)}
    """
    across, up = math.cos(math.radians(slant_deg)), math.sin(math.radians(slant_deg))
    steps: list[tuple[float, float, float, float]] = []  # extents of the layers with something to see, as lifted
    offsets: dict[str, tuple[float, float]] = {}
    lift = 0.0
    for layer in job.layers:
        box = layer.bounds if layer.visible else None
        if box is not None:
            lift = max((_clear(below, box, across, up) for below in steps), default=0.0)
            lift = max(lift, 0.0)
            dx, dy = lift * across, -lift * up
            steps.append((box[0] + dx, box[1] + dy, box[2] + dx, box[3] + dy))
        offsets[layer.id] = (round(lift * across * amount, 9) + 0.0, round(-lift * up * amount, 9) + 0.0)
    return offsets


def _clear(
    below: tuple[float, float, float, float], box: tuple[float, float, float, float], across: float, up: float
) -> float:
    """Return the least lift at which an extent is clear of one below it: beyond its top, or beyond its side."""
    ways = []
    if up > 1e-9:
        ways.append((box[3] - below[1]) / up)
    if abs(across) > 1e-9:
        ways.append((below[2] - box[0]) / across if across > 0.0 else (below[0] - box[2]) / across)
    return min(ways) if ways else 0.0
