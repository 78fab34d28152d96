"""What is wrong with an outline itself: it does not close, or it crosses itself or another line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from bladewise.checks import facts, moves
from bladewise.checks.context import Context, is_live_stroke, name_of
from bladewise.document import CutKind
from bladewise.findings import Finding, Remedy, Severity
from bladewise.geometry.measures import area
from bladewise.geometry.tolerances import COINCIDENT_MM
from bladewise.operations.repair import open_gaps
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from bladewise.document import Shape
    from bladewise.geometry.path import Path

_FREE_LINES = frozenset({CutKind.PERFORATION, CutKind.CREASE})
"""Lines that may end anywhere and cross one another: they tear or fold, and set no piece free."""


TAB_MM = 10.0
"""Ends of a through cut no farther apart than this are a tab that holds the piece (common practice, no source)."""


def open_paths(context: Context) -> Iterator[Finding]:
    """Find outlines that end before they are back at their start: the piece would stay attached.

    No fault are lines that set no piece free (creases, perforations), tabs left in a through cut, and ends that
    stop at another cut, which goes on for them.
    """
    for material in context.shapes:
        if material.cut in _FREE_LINES:
            continue
        shapes = context.outlines(material)  # a live stroke is another finding
        found = {index: gaps for index, shape in enumerate(shapes) if (gaps := open_gaps(shape))}
        lines = [index for index in found if shapes[index].style.fill is None]
        if material.cut is CutKind.THROUGH:
            lines = [index for index in lines if not _is_tabbed(shapes[index].path)]
            found = {index: gaps for index, gaps in found.items() if index in lines or shapes[index].style.fill}
        reach = max(context.limits_of(material).coincident_mm, COINCIDENT_MM)
        stopped = _stopped_at_others(context, shapes, lines, reach)
        for index, gaps in found.items():
            if left := [gap for gap in gaps if gap[0] not in stopped.get(index, ())]:
                yield _open(shapes[index], left)


def _is_tabbed(path: Path) -> bool:
    """Whether the ends of a cut lie in pairs, each the nearest to the other and a tab apart."""
    firsts, lasts = path.starts[~path.closed], path.ends[~path.closed] - 1
    ends = np.concatenate([path.points[firsts, 0], path.points[lasts, 3]])
    apart = np.hypot(*(ends[:, None] - ends[None]).transpose(2, 0, 1))
    np.fill_diagonal(apart, np.inf)
    nearest = apart.argmin(axis=1)
    return bool((nearest[nearest] == np.arange(len(ends))).all() and (apart.min(axis=1) <= TAB_MM).all())


def _stopped_at_others(
    context: Context, shapes: Sequence[Shape], lines: Sequence[int], within_mm: float
) -> dict[int, frozenset[int]]:
    """Return which subpaths of each line end on other outlines at both their ends."""
    if not lines:
        return {}
    boxes = np.array([shape.bounds or (np.nan,) * 4 for shape in shapes])
    low, high = boxes[:, :2] - within_mm, boxes[:, 2:] + within_mm
    beside = []
    for index in lines:
        near = np.flatnonzero(((low <= boxes[index, 2:]) & (high >= boxes[index, :2])).all(axis=1))
        beside.append([other for other in near.tolist() if other != index])

    def solve(missing: list[int]) -> list[frozenset[int]]:
        return [
            _stopped(context, shapes[lines[each]].path, [shapes[other].path for other in beside[each]], within_mm)
            for each in missing
        ]

    keys = [
        (shapes[index].path, within_mm, *(shapes[other].path for other in others))
        for index, others in zip(lines, beside, strict=True)
    ]
    return dict(zip(lines, context.memory.each("stopped", keys, solve, moves.stays), strict=True))


def _stopped(context: Context, path: Path, others: Sequence[Path], within_mm: float) -> frozenset[int]:
    if not others:
        return frozenset()
    around = facts.lines_of([ring for rings in facts.rings_of(context.memory, others) for ring in rings])
    which = np.flatnonzero(~path.closed)
    firsts: Any = shapely.points(path.points[path.starts[which], 0])
    lasts: Any = shapely.points(path.points[path.ends[which] - 1, 3])
    both = np.maximum(shapely.distance(firsts, around), shapely.distance(lasts, around)) <= within_mm
    return frozenset(which[both].tolist())


def _open(shape: Shape, gaps: Sequence[tuple[int, float, float, float]]) -> Finding:
    _, gap, x, y = max(gaps, key=lambda each: each[1])
    many = len(gaps) > 1
    return Finding(
        "open-path",
        Severity.MAY_SPOIL,
        (shape.id,),
        x,
        y,
        gap,
        "mm",
        phrase(
            "{name} is open in {count} places, by up to {gap} mm: the pieces would stay attached there."
            if many
            else "{name} is open by {gap} mm: the piece would stay attached there.",
            name=name_of(shape),
            count=len(gaps),
            gap=format_number(gap, 2),
        ),
        Remedy("Close the outlines" if many else "Close the outline", "close-outlines", {"on": {"id": shape.id}}),
        tuple((place_x, place_y) for _, _, place_x, place_y in gaps) if many else (),
    )


def crossing_outlines(context: Context) -> Iterator[Finding]:
    """Find outlines that cross themselves, and lines that cross other lines of their material."""
    for material, shapes in context.shapes.items():
        if material.cut in _FREE_LINES:
            continue
        counted = [shape for shape in shapes if not is_live_stroke(shape)]
        paths = [shape.path for shape in counted]
        pairs = [  # two areas that cross are an overlap
            (first, second)
            for first, second in facts.neighbours(counted, 0.0)
            if counted[first].style.fill is None or counted[second].style.fill is None
        ]
        met = [((index, index), where) for index, where in enumerate(facts.self_crossings(context.memory, paths))]
        met += zip(pairs, facts.pair_crossings(context.memory, paths, pairs), strict=True)
        for (first, second), where in sorted(met):
            if not where:
                continue
            one, other, count = counted[first], counted[second], len(where)
            x, y = where[0]
            times = phrase("once" if count == 1 else "{count} times", count=count)
            if one is other:
                closed = one.style.fill is not None or bool(one.path.closed.all())
                if closed and not _is_tangled(context, one, context.limits_of(material).least_overlap_mm2):
                    continue
                yield Finding(
                    "crossing",
                    Severity.SPOILS,
                    (one.id,),
                    x,
                    y,
                    float(count),
                    "crossings",
                    phrase(
                        "The outline of {name} crosses itself {times}: the knife would cut into the piece.",
                        name=name_of(one),
                        times=times,
                    ),
                    Remedy("Untangle the outline", "untangle", {"on": {"id": one.id}})
                    if closed
                    else Remedy("Someone has to decide how the line should run: close it, or take it apart"),
                    where,
                )
            else:
                yield Finding(
                    "crossing",
                    Severity.SPOILS,
                    (other.id, one.id),
                    x,
                    y,
                    float(count),
                    "crossings",
                    phrase(
                        "{name} crosses {other} {times} in {material}: both would be cut through there.",
                        name=name_of(other),
                        other=name_of(one),
                        times=times,
                        material=material.name,
                    ),
                    Remedy(
                        "Someone has to decide which line goes where: move one, delete it, or cut one out of the other"
                    ),
                    where,
                )


def _is_tangled(context: Context, shape: Shape, least_mm2: float) -> bool:
    """Whether an outline encloses more than a trifle the wrong way round or more than once.

    Wherever two strands cross, one of the four sectors about the place has a winding other than 0 and 1. Even
    windings tell the two fill rules apart, and with none of these an odd one changes the signed area. Outlines
    that touch, or wander across each other by less than a knife can follow, enclose next to nothing that way.
    """
    ((painted, even_odd),) = facts.painted_areas(context.memory, [shape])
    return abs(area(shape.path) - painted) > least_mm2 or abs(even_odd - painted) > least_mm2
