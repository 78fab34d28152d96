"""What can be measured of art: lengths, areas, the narrowest place, the least gap. Values for the canvas to show."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bladewise.document import Picture, outline_of
from bladewise.geometry import booleans
from bladewise.geometry.distances import least_distance
from bladewise.geometry.measures import area, length
from bladewise.geometry.path import Point
from bladewise.geometry.regions import Region
from bladewise.geometry.widths import narrowest_width

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.document import Leaf
    from bladewise.geometry.path import Path

MOST_SEGMENTS = 20_000
"""Shapes of more segments are measured by length only: the rest would take long."""


@dataclass(frozen=True)
class Span:
    """A distance between two places of the art, in mm."""

    distance_mm: float
    start: Point
    end: Point


@dataclass(frozen=True)
class Measured:
    """What was measured of some art; None where it makes no sense."""

    count: int
    length_mm: float
    area_mm2: float | None = None
    narrowest: Span | None = None
    gap: Span | None = None


def measure(leaves: Sequence[Leaf]) -> Measured:
    """Measure some art.

    Returns
    -------
    Measured
        Length of all its outlines, the area that its closed outlines enclose, the narrowest place if it is one
        shape, the least gap between the outlines if it is two.
    """
    parts = [(leaf, outline_of(leaf)) for leaf in leaves if not isinstance(leaf, Picture)]
    parts = [(leaf, path) for leaf, path in parts if path]
    total = sum(length(path) for _, path in parts)
    size = sum(len(path) for _, path in parts)
    if not parts or size > MOST_SEGMENTS:
        return Measured(len(parts), total)
    resolved = [
        booleans.resolve(Region(path, leaf.style.fill_rule))
        for leaf, path in parts
        if not isinstance(leaf, Picture) and path.closed.any()
    ]
    covered = sum(abs(area(path)) for path in resolved) if resolved else None
    narrowest = _narrowest(resolved[0]) if len(parts) == 1 and resolved else None
    gap = _gap(parts[0][1], parts[1][1]) if len(parts) == 2 else None
    return Measured(len(parts), total, covered, narrowest, gap)


def angle_deg(start: Point, end: Point) -> float:
    """Return the direction from one place to another, degrees clockwise from the right as steps turn, −180 to 180."""
    return math.degrees(math.atan2(end[1] - start[1], end[0] - start[0])) + 0.0


def _narrowest(path: Path) -> Span | None:
    found = narrowest_width(path)
    return Span(found.width_mm, found.first.point, found.second.point) if found else None


def _gap(first: Path, second: Path) -> Span | None:
    found = least_distance(first, second)
    return Span(found.distance_mm, found.first.point, found.second.point) if math.isfinite(found.distance_mm) else None
