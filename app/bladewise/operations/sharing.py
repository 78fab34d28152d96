"""Edges that pieces of one vinyl share are cut once: the upper piece keeps its outline, the lower one opens.

The lower piece becomes the line that is still to be cut, in its own colour and of its own vinyl: an area cannot be
cut along only part of its edge. Pieces of different vinyls share nothing, each is cut from its own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from bladewise.document import Element, Job, Material, MaterialKind, Shape, Stroke, Style
from bladewise.geometry.path import joined
from bladewise.geometry.shared_edges import without_shared
from bladewise.geometry.tolerances import COINCIDENT_MM
from bladewise.operations.declaration import Operation, Progress, Result, acts_on
from bladewise.operations.painted import HAIRLINE_MM, label, shows_stroke, strokes_left
from bladewise.operations.selection import Selection, shapes_or_refuse
from bladewise.phrases import phrase
from bladewise.units import counted, format_length

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.geometry.path import Path


@dataclass(frozen=True, kw_only=True)
class CutEdgesOnce:
    """Edges that pieces of one vinyl share are cut once."""

    on: Selection = acts_on()


def cut_edges_once(job: Job, record: CutEdgesOnce, progress: Progress) -> Result:
    """Open the lower of two pieces along the edge that the upper one has cut already."""
    shapes_on = shapes_or_refuse(record.on, job, least=2)
    wanted = {shape.id for shape in shapes_on if not shows_stroke(shape)}
    left = strokes_left(len(shapes_on) - len(wanted))
    by_vinyl: dict[Material, list[Shape]] = {}
    for placed in job.walk():
        if isinstance(placed.leaf, Shape) and placed.leaf.id in wanted and placed.leaf.path:
            material = job.material_of(placed)
            if material.kind is MaterialKind.CUT:
                by_vinyl.setdefault(material, []).append(placed.leaf)
    replacements: dict[str, tuple[Element, ...]] = {}
    reports: list[str] = []
    total = 0.0
    for done, (material, shapes) in enumerate(by_vinyl.items()):
        for shape, path, shared in _opened(shapes[::-1]):
            total += shared
            replacements[shape.id] = (_as_line(shape, path, material),) if path else ()
            if not path:
                reports.append(
                    phrase("{shape} lies wholly on edges that are cut already; it is gone.", shape=label(shape))
                )
        progress((done + 1) / len(by_vinyl))
    if not replacements:
        return Result(job, ("No two of these share an edge in one vinyl.", *left))
    opened = sum(1 for new in replacements.values() if new)
    reports.insert(
        0,
        phrase(
            "{length} of edge is cut once instead of twice; {opened}.",
            length=format_length(total),
            opened=counted(opened, "piece is a line now", "pieces are lines now"),
        ),
    )
    reports += left
    return Result(job.replaced(replacements), tuple(reports), tuple(key for key, new in replacements.items() if new))


def _opened(shapes: Sequence[Shape]) -> list[tuple[Shape, Path, float]]:
    """Return the shapes that share edges with ones before them, what is left of each, and how much they share."""
    boxes = shapely.box(*np.array([shape.bounds for shape in shapes]).T)
    one, other = shapely.STRtree(boxes).query(boxes, predicate="dwithin", distance=COINCIDENT_MM)
    before: dict[int, list[int]] = {}
    for here, there in zip(one.tolist(), other.tolist(), strict=True):
        if there < here:
            before.setdefault(here, []).append(there)
    found = []
    for here in sorted(before):
        shape = shapes[here]
        left, shared = without_shared(shape.path, joined(shapes[there].path for there in sorted(before[here])))
        if shared > 0.0:
            found.append((shape, left, shared))
    return found


def _as_line(shape: Shape, path: Path, material: Material) -> Shape:
    line = Stroke(shape.style.colour or material.colour, HAIRLINE_MM)
    return replace(shape, path=path, style=Style(stroke=line))


OPERATIONS = (
    Operation(
        "cut-edges-once",
        "Cut shared edges once",
        "Where two pieces of one vinyl share an edge, the knife goes there once.",
        CutEdgesOnce,
        cut_edges_once,
        lambda r: phrase("Cut shared edges of {on} once", on=r.on.describe()),
        least=2,
    ),
)
