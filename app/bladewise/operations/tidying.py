"""Outlines made kinder to the knife: corners rounded, edges smoothed, needless nodes taken out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bladewise.geometry.fitting import refit_all
from bladewise.geometry.rounding import Bend, RoundedCorner, round_corners
from bladewise.geometry.smoothing import smooth
from bladewise.geometry.tolerances import KEPT_CORNER_DEG, ROUNDED_CORNER_DEG
from bladewise.operations.declaration import Operation, Progress, Result, acts_on, angle, choice, length
from bladewise.operations.selection import Selection, shapes_or_refuse
from bladewise.phrases import listing, phrase
from bladewise.units import counted, format_number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.document import Element, Job, Shape
    from bladewise.geometry.path import Path

_NAMED = 3
"""Places named in a report at most."""


@dataclass(frozen=True, kw_only=True)
class RoundCorners:
    """Corners become arcs that touch both sides."""

    on: Selection = acts_on()
    radius_mm: float = length(2.0, minimum=0.01, maximum=1000.0, help="Radius of the arcs")
    corners: Bend = choice(Bend.BOTH, help="Corners that point out of the shape, into it, or both")
    sharper_than_deg: float = angle(
        ROUNDED_CORNER_DEG, minimum=1.0, maximum=179.0, help="Only corners whose sides enclose less than this angle"
    )


@dataclass(frozen=True, kw_only=True)
class SmoothEdges:
    """The stutter of traced or freehand outlines goes."""

    on: Selection = acts_on()
    amount_mm: float = length(
        0.3, minimum=0.01, maximum=50.0, help="How far an edge may move: the size of the steps to take out"
    )
    sharper_than_deg: float = angle(
        KEPT_CORNER_DEG, minimum=1.0, maximum=175.0, help="Corners whose sides enclose less than this angle stay"
    )


@dataclass(frozen=True, kw_only=True)
class FewerNodes:
    """Outlines keep their shape with fewer nodes."""

    on: Selection = acts_on()
    tolerance_mm: float = length(0.02, minimum=0.001, maximum=10.0, help="How far an edge may move at most")


def round_corners_step(job: Job, record: RoundCorners, progress: Progress) -> Result:
    """Replace the corners of shapes by arcs; say which got a smaller radius, and where."""
    shapes = shapes_or_refuse(record.on, job)
    paths: list[Path] = []
    found: list[RoundedCorner] = []
    for number, shape in enumerate(shapes):
        rounding = round_corners(
            shape.path,
            record.radius_mm,
            sharper_than_deg=record.sharper_than_deg,
            bend=record.corners,
            rule=shape.style.fill_rule,
        )
        paths.append(rounding.path)
        found += rounding.corners
        progress((number + 1) / len(shapes))
    if not found:
        return _reshaped(job, shapes, paths, ("There are no such corners.",))
    rounded = [corner for corner in found if corner.radius_mm > 0.0]
    reports = (
        [phrase("{counted} round now.", counted=counted(len(rounded), "corner is", "corners are"))] if rounded else []
    )
    smaller = [corner for corner in rounded if corner.radius_mm < record.radius_mm * (1.0 - 1e-9)]
    if smaller:
        smaller.sort(key=lambda corner: corner.radius_mm)
        some = listing(
            (
                phrase("{radius} mm {place}", radius=format_number(round(each.radius_mm, 2)), place=_place(each))
                for each in smaller[:_NAMED]
            ),
            "; ",
        )
        more = " …" if len(smaller) > _NAMED else ""
        which = counted(len(smaller), "corner", "corners")
        reports.append(
            phrase(
                "{which} got a smaller radius, the sides being too short: {some}{more}",
                which=which,
                some=some,
                more=more,
            )
        )
    left = [corner for corner in found if not corner.radius_mm > 0.0]
    if left:
        some = listing((_place(each) for each in left[:_NAMED]), "; ")
        more = " …" if len(left) > _NAMED else ""
        reports.append(
            phrase(
                "{counted} stayed, no arc fits there: {some}{more}",
                counted=counted(len(left), "corner", "corners"),
                some=some,
                more=more,
            )
        )
    return _reshaped(job, shapes, paths, tuple(reports))


def smooth_edges(job: Job, record: SmoothEdges, progress: Progress) -> Result:
    """Take the stutter out of the outlines of shapes."""
    shapes = shapes_or_refuse(record.on, job)
    paths = []
    for number, shape in enumerate(shapes):
        paths.append(smooth(shape.path, record.amount_mm, sharper_than_deg=record.sharper_than_deg))
        progress((number + 1) / len(shapes))
    return _reshaped(job, shapes, paths, (_told(shapes, paths, "These edges are smooth already."),))


def fewer_nodes(job: Job, record: FewerNodes, progress: Progress) -> Result:
    """Refit the outlines of shapes with as few segments as a tolerance allows."""
    shapes = shapes_or_refuse(record.on, job)
    progress(0.1)
    paths = refit_all([shape.path for shape in shapes], record.tolerance_mm)
    progress(1.0)
    return _reshaped(job, shapes, paths, (_told(shapes, paths, "No node can be spared."),))


def _told(shapes: Sequence[Shape], paths: Sequence[Path], nothing: str) -> str:
    if all(path == shape.path for shape, path in zip(shapes, paths, strict=True)):
        return nothing
    before, after = sum(len(shape.path) for shape in shapes), sum(map(len, paths))
    return phrase("{counted} became {after}.", counted=counted(before, "segment", "segments"), after=after)


def _place(corner: RoundedCorner) -> str:
    return phrase("at {x}, {y}", x=format_number(round(corner.x, 1)), y=format_number(round(corner.y, 1)))


def _reshaped(job: Job, shapes: Sequence[Shape], paths: Sequence[Path], reports: tuple[str, ...]) -> Result:
    replacements: dict[str, tuple[Element, ...]] = {
        shape.id: (replace(shape, path=path),) for shape, path in zip(shapes, paths, strict=True) if path != shape.path
    }
    return Result(job.replaced(replacements), reports, tuple(replacements))


OPERATIONS = (
    Operation(
        "round-corners",
        "Round corners",
        "Corners become arcs that touch both sides.",
        RoundCorners,
        round_corners_step,
        lambda r: phrase(
            "Round {value}corners of {describe}, radius {radius} mm",
            value="" if r.corners is Bend.BOTH else phrase("{which} ", which=r.corners),
            describe=r.on.describe(),
            radius=format_number(r.radius_mm),
        ),
    ),
    Operation(
        "smooth-edges",
        "Smooth edges",
        "The stutter of traced or freehand outlines goes; corners stay.",
        SmoothEdges,
        smooth_edges,
        lambda r: phrase(
            "Smooth the edges of {describe} by {amount} mm", describe=r.on.describe(), amount=format_number(r.amount_mm)
        ),
    ),
    Operation(
        "fewer-nodes",
        "Fewer nodes",
        "Outlines keep their shape, within a tolerance, with as few lines, arcs and curves as will do.",
        FewerNodes,
        fewer_nodes,
        lambda r: phrase(
            "Fewer nodes for {describe}, within {tolerance} mm",
            describe=r.on.describe(),
            tolerance=format_number(r.tolerance_mm),
        ),
    ),
)
