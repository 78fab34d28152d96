"""Remedies: close outlines, untangle outlines that cross themselves, drop pieces too small to weed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from bladewise.errors import CannotApply
from bladewise.geometry import booleans
from bladewise.geometry.measures import area
from bladewise.geometry.path import Path, PathBuilder, joined
from bladewise.geometry.regions import Region
from bladewise.operations.declaration import Operation, Progress, Result, acts_on, length, number
from bladewise.operations.painted import label, reshaped
from bladewise.operations.selection import Selection, shapes_or_refuse
from bladewise.phrases import phrase
from bladewise.units import counted, format_number

if TYPE_CHECKING:
    from bladewise.document import Element, Job, Shape

CLOSED_MM = 0.01
"""Ends this near are the same place to a knife: a step of a common cutter (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class CloseOutlines:
    """Open outlines are closed."""

    on: Selection = acts_on()
    gap_mm: float = length(0.0, minimum=0.0, maximum=1e5, help="Widest gap to close; 0 closes every one")


@dataclass(frozen=True, kw_only=True)
class Untangle:
    """Outlines that cross themselves are resolved as they paint."""

    on: Selection = acts_on()


@dataclass(frozen=True, kw_only=True)
class DropSpecks:
    """Pieces too small to weed are removed."""

    on: Selection = acts_on()
    least_mm2: float = number(1.0, minimum=0.0, maximum=1e6, help="Smallest area in mm² that stays")


def close_outlines(job: Job, record: CloseOutlines, progress: Progress) -> Result:
    """Close open subpaths with a straight line."""
    replacements: dict[str, tuple[Element, ...]] = {}
    shapes = shapes_or_refuse(record.on, job)
    too_wide = 0
    for number_, shape in enumerate(shapes):
        path, left = _closed(shape.path, record.gap_mm)
        too_wide += left
        if path is not shape.path:
            replacements[shape.id] = (replace(shape, path=path),)
        progress((number_ + 1) / len(shapes))
    if not replacements and not too_wide:
        msg = "None of these outlines is open."
        raise CannotApply(msg, where=record.on.describe(job), hint="Leave this step out.")
    reports = (
        (
            phrase(
                "{counted} wider than {gap} mm: left open.",
                counted=counted(too_wide, "gap is", "gaps are"),
                gap=format_number(record.gap_mm),
            ),
        )
        if too_wide
        else ()
    )
    return Result(job.replaced(replacements), reports, tuple(replacements))


def untangle(job: Job, record: Untangle, progress: Progress) -> Result:
    """Resolve outlines as they paint, so that none crosses itself."""
    replacements: dict[str, tuple[Element, ...]] = {}
    reports = []
    shapes = shapes_or_refuse(record.on, job)
    for number_, shape in enumerate(shapes):
        if shape.style.fill is not None or shape.path.closed.all():
            path = booleans.resolve(shape.region)
            if not path:
                reports.append(phrase("{shape} encloses nothing; it is gone.", shape=label(shape)))
                replacements[shape.id] = ()
            elif path != shape.path:
                replacements[shape.id] = (reshaped(shape, path),)
        progress((number_ + 1) / len(shapes))
    return Result(job.replaced(replacements), tuple(reports), tuple(shape.id for shape in shapes))


def drop_specks(job: Job, record: DropSpecks, progress: Progress) -> Result:
    """Remove pieces, and holes, smaller than a set area."""
    replacements: dict[str, tuple[Element, ...]] = {}
    shapes = shapes_or_refuse(record.on, job)
    dropped = 0
    for number_, shape in enumerate(shapes):
        rings = list(shape.path.subpaths())
        kept = [ring for ring in rings if not is_speck(ring, record.least_mm2)]
        if len(kept) < len(rings):
            dropped += len(rings) - len(kept)
            replacements[shape.id] = (replace(shape, path=joined(kept)),) if kept else ()
        progress((number_ + 1) / len(shapes))
    reports = (f"{counted(dropped, 'speck is', 'specks are')} gone.",) if dropped else ("There are no specks.",)
    return Result(job.replaced(replacements), reports, tuple(key for key, kept in replacements.items() if kept))


def is_speck(ring: Path, least_mm2: float) -> bool:
    """Whether a closed outline encloses less than an area, its loops counted whichever way they run."""
    ends_meet = ring.closed[0] or float(np.hypot(*(ring.points[-1, 3] - ring.points[0, 0]))) <= CLOSED_MM
    if not ends_meet or abs(area(ring)) >= least_mm2:
        return False
    return area(booleans.resolve(Region(ring))) < least_mm2


def open_gaps(shape: Shape) -> list[tuple[int, float, float, float]]:
    """Return index, gap in mm, and the place where it stops, of each open subpath.

    One that ends where it began is closed for the knife, whether or not the file says so.
    """
    result = []
    path = shape.path
    for index, (start, end) in enumerate(zip(path.starts, path.ends, strict=True)):
        if not path.closed[index]:
            first, last = path.points[start, 0], path.points[end - 1, 3]
            if (gap := float(np.hypot(*(last - first)))) > CLOSED_MM:
                result.append((index, gap, float(last[0]), float(last[1])))
    return result


def _closed(path: Path, gap_mm: float) -> tuple[Path, int]:
    if path.closed.all():
        return path, 0
    rings = []
    too_wide = 0
    changed = False
    for ring in path.subpaths():
        first, last = ring.points[0, 0], ring.points[-1, 3]
        gap = float(np.hypot(*(last - first)))
        if ring.closed[0] or (gap_mm and gap > gap_mm):
            too_wide += not ring.closed[0]
            rings.append(ring)
            continue
        changed = True
        if gap:
            pen = PathBuilder()
            pen.move_to((float(last[0]), float(last[1])))
            pen.line_to((float(first[0]), float(first[1])))
            line = pen.path()
            ring = Path(
                np.concatenate([ring.points, line.points]),
                np.append(ring.kinds, line.kinds),
                np.append(ring.weights, 1.0),
                ring.starts,
                np.array([True]),
            )
        else:
            ring = replace(ring, closed=np.array([True]))
        rings.append(ring)
    return (joined(rings) if changed else path), too_wide


OPERATIONS = (
    Operation(
        "close-outlines",
        "Close outlines",
        "Open outlines are closed with a straight line.",
        CloseOutlines,
        close_outlines,
        lambda r: phrase("Close the outlines of {describe}", describe=r.on.describe()),
    ),
    Operation(
        "untangle",
        "Untangle",
        "Outlines that cross themselves are resolved as they paint.",
        Untangle,
        untangle,
        lambda r: phrase("Untangle {describe}", describe=r.on.describe()),
    ),
    Operation(
        "drop-specks",
        "Drop specks",
        "Pieces and holes too small to weed are removed.",
        DropSpecks,
        drop_specks,
        lambda r: phrase("Drop specks under {least_mm2} mm²", least_mm2=format_number(r.least_mm2)),
    ),
)
