"""What is wrong with how an outline is drawn: corners too sharp, nodes too many, stray points, two ways to fill."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bladewise.checks import facts, moves
from bladewise.checks.context import Context, is_live_stroke, makes_no_piece, name_of
from bladewise.checks.facts import Place
from bladewise.findings import Finding, Remedy, Severity
from bladewise.geometry.curves import cross
from bladewise.geometry.fitting import refit_all
from bladewise.geometry.measures import tangent_at
from bladewise.geometry.path import Path, joined
from bladewise.operations.mending import STRAY_MM
from bladewise.phrases import phrase
from bladewise.units import format_number

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from bladewise.geometry.path import Floats

REFIT_MM = 0.02
"""A refit moves no edge by more than a blade is wide (common practice, no source)."""

MANY_NODES = 60
"""Outlines of fewer segments cost a cutter nothing worth a word."""

CROWDED_MM = 1.0
"""Segments shorter than this on average may be more than the form needs; only such outlines are refitted to see."""

SPARED = 0.5
"""A refit that does not spare this share of the segments is not worth a word."""

_SIDE_MM = 0.2
"""A corner whose sides are shorter than this is part of a curve, or too small to matter to a blade."""

_ROUNDED_MM = 0.25
"""Radius offered for a corner too sharp: about the offset of a common drag knife (common practice, no source)."""


def sharp_corners(context: Context) -> Iterator[Finding]:
    """Find corners whose sides enclose less than the blade can turn in."""
    for material in context.shapes:
        if makes_no_piece(material):
            continue
        limits = context.limits_of(material)
        shapes = context.outlines(material)
        paths = [shape.path for shape in shapes]

        def solve(
            missing: list[int], paths: list[Path] = paths, most: float = limits.sharpest_corner_deg
        ) -> list[tuple[Place, ...]]:
            return _corners([paths[index] for index in missing], most)

        keys = [(path, limits.sharpest_corner_deg) for path in paths]
        found = [facts.rounded(each) for each in context.memory.each("corners", keys, solve, moves.places)]
        for shape, places in zip(shapes, found, strict=True):
            if not places:
                continue
            yield Finding(
                "sharp-corner",
                Severity.WASTES,
                (shape.id,),
                places[0].x,
                places[0].y,
                places[0].size_mm,
                "°",
                phrase(
                    "{name} has a corner of {angle}°: under {least}° the tip lifts or tears in weeding."
                    if len(places) == 1
                    else "{name} has {count} corners under {least}°, down to {angle}°: "
                    "their tips lift or tear in weeding.",
                    name=name_of(shape),
                    count=len(places),
                    angle=format_number(places[0].size_mm, 1),
                    least=format_number(limits.sharpest_corner_deg),
                ),
                Remedy(
                    "Round the sharpest corners",
                    "round-corners",
                    {
                        "on": {"id": shape.id},
                        "radius_mm": _ROUNDED_MM,
                        "sharper_than_deg": max(limits.sharpest_corner_deg, 1.0),
                    },
                    safe=False,
                ),
                tuple((place.x, place.y) for place in places) if len(places) > 1 else (),
            )


def _corners(paths: Sequence[Path], most_deg: float) -> list[tuple[Place, ...]]:
    """Return the corners of each path whose sides enclose less than an angle: the angle in degrees and the place."""
    out: list[list[Place]] = [[] for _ in paths]
    whole = joined(paths)
    if not whole or not most_deg > 0.0:
        return [()] * len(paths)
    home = np.repeat(np.arange(len(paths)), [len(path) for path in paths])
    ring = np.repeat(np.arange(len(whole.starts)), whole.ends - whole.starts)
    chord = np.hypot(*np.ptp(whole.points, axis=1).T)
    live = np.flatnonzero(chord > 1e-6)  # a segment without extent has no direction
    if not len(live):
        return [()] * len(paths)
    owner = ring[live]
    place = np.arange(len(live))
    first = np.searchsorted(owner, owner, side="left")
    last = np.searchsorted(owner, owner, side="right") - 1
    before = np.where(place > first, place - 1, last)
    joint = whole.closed[owner] | (place > first)
    arriving = tangent_at(whole, live[before], np.ones(len(live)))
    leaving = tangent_at(whole, live, np.zeros(len(live)))
    turn: Floats = np.degrees(np.abs(np.arctan2(cross(arriving, leaving), (arriving * leaving).sum(axis=1))))
    long = (chord[live] > _SIDE_MM) & (chord[live[before]] > _SIDE_MM)
    meet = np.hypot(*(whole.points[live[before], 3] - whole.points[live, 0]).T) < STRAY_MM
    for row in np.flatnonzero(joint & long & meet & (180.0 - turn < most_deg)):
        x, y = whole.points[live[row], 0].tolist()
        out[home[live[row]]].append(Place(180.0 - float(turn[row]), x, y))
    return [tuple(places) for places in out]


def many_nodes(context: Context) -> Iterator[Finding]:
    """Find outlines whose form far fewer nodes would keep; say how many."""
    shapes = [
        shape
        for shape in context.all_shapes
        if not is_live_stroke(shape) and len(shape.path) >= MANY_NODES and _usual_length(shape.path) < CROWDED_MM
    ]

    def solve(missing: list[int]) -> list[int]:
        return [len(path) for path in refit_all([shapes[index].path for index in missing], REFIT_MM)]

    counts = context.memory.each("refit", [(shape.path,) for shape in shapes], solve, moves.stays)
    for shape, count in zip(shapes, counts, strict=True):
        if count > (1.0 - SPARED) * len(shape.path):
            continue
        x, y = (float(each) for each in shape.path.points[0, 0])
        yield Finding(
            "many-nodes",
            Severity.WASTES,
            (shape.id,),
            x,
            y,
            float(len(shape.path)),
            "segments",
            phrase(
                "{name} has {count} segments where {fewer} would do: the cutter runs slowly and unevenly.",
                name=name_of(shape),
                count=len(shape.path),
                fewer=count,
            ),
            Remedy("Keep the form with fewer nodes", "fewer-nodes", {"on": {"id": shape.id}, "tolerance_mm": REFIT_MM}),
        )


def _usual_length(path: Path) -> float:
    return float(np.hypot(*(path.points[:, 3] - path.points[:, 0]).T).mean())


def stray_points(context: Context) -> Iterator[Finding]:
    """Find outlines without extent: the knife would peck a hole."""
    shapes = context.all_shapes

    sizes = facts.ring_sizes(context.memory, [shape.path for shape in shapes])
    for shape, rings in zip(shapes, sizes, strict=True):
        places = tuple(ring.start for ring in rings if ring.reach_mm <= STRAY_MM)
        if not places:
            continue
        yield Finding(
            "stray-point",
            Severity.MAY_SPOIL,
            (shape.id,),
            *places[0],
            float(len(places)),
            "points",
            phrase(
                "{name} holds a point without extent: the knife would peck a hole there."
                if len(places) == 1
                else "{name} holds {count} points without extent: the knife would peck a hole at each.",
                name=name_of(shape),
                count=len(places),
            ),
            Remedy("Drop what has no extent", "drop-stray-points", {"on": {"id": shape.id}}),
            places if len(places) > 1 else (),
        )


def ambiguous_fills(context: Context) -> Iterator[Finding]:
    """Find outlines that the two fill rules paint differently, though none crosses itself."""
    for material, shapes in context.shapes.items():
        least = context.limits_of(material).least_overlap_mm2
        some = [
            shape
            for shape in shapes
            if shape.style.fill is not None
            and len(shape.path.starts) > 1
            and frozenset((shape.id,)) not in context.same[material]
        ]
        crossing = facts.self_crossings(context.memory, [shape.path for shape in some])
        some = [shape for shape, places in zip(some, crossing, strict=True) if not places]  # that is another finding
        for shape, (solid, even_odd) in zip(some, facts.painted_areas(context.memory, some), strict=True):
            if abs(solid - even_odd) <= least:
                continue
            filled = shape.style.fill_rule == "nonzero"
            x, y = (float(each) for each in shape.path.points[shape.path.starts[-1], 0])
            yield Finding(
                "fill-rule",
                Severity.MAY_SPOIL if filled else Severity.WASTES,
                (shape.id,),
                x,
                y,
                abs(solid - even_odd),
                "mm²",
                phrase(
                    "{name} has an outline within its fill: it shows solid, and the knife would cut it all the same."
                    if filled
                    else "{name} is filled differently by the two fill rules, by {area} mm²: "
                    "another program may fill its holes.",
                    name=name_of(shape),
                    area=format_number(abs(solid - even_odd), 2),
                ),
                Remedy("Make it fill one way only, as it shows here", "untangle", {"on": {"id": shape.id}}),
            )
