"""Tabs: where a cut that goes through is left whole, so that the piece stays in its sheet until it is broken out.

Tabs stand evenly along an outline, each moved a little if need be to where the outline is straightest: a tab at a
corner or in a tight bend tears the piece. All of them are first turned together to where they fit best.

Lengths are mm, measured along the outline from its start.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from bladewise.geometry.measures import curvature_at, point_at_length, segment_lengths
from bladewise.geometry.perforation import corner_places

if TYPE_CHECKING:
    from bladewise.geometry.path import Floats, Path

LEAST_STEP = 2.2
"""From one tab to the next, in widths of a tab: what is cut between two is longer than what is not."""

_PHASES = 48
"""In how many places the set of tabs is tried."""
_SHIFT = 0.3
"""By how much of the way to the next one a tab may move."""
_SAMPLES = 1200
"""How finely an outline is looked at."""
_TIGHT = 2.0
"""A bend of less than this many widths of a tab in radius counts in full, one of twice that radius half."""


def most_tabs(length_mm: float, width_mm: float) -> int:
    """Return how many tabs an outline has room for."""
    return int(length_mm / (LEAST_STEP * width_mm) + 1e-9)


def even_places(ring: Path, count: int, width_mm: float) -> Floats:
    """Return where tabs stand on a closed outline: as even as corners and tight bends allow.

    Parameters
    ----------
    ring
        One closed subpath.
    count
        How many tabs, 1 or more and no more than there is room for (`most_tabs`).
    width_mm
        How wide each is.

    Returns
    -------
    places
        The middle of each tab, shape (count,), rising, in mm from the outline's start.
    """
    size = float(segment_lengths(ring).sum())
    step = size / count
    at = (np.arange(_SAMPLES) + 0.5) * size / _SAMPLES
    worry = _worry(ring, at, size, width_mm)
    ideal = np.arange(count) * step
    reach = max(min(_SHIFT * step, (step - LEAST_STEP * width_mm) / 2.0), 0.0)
    best: tuple[float, Floats] | None = None
    for phase in (np.arange(_PHASES) / _PHASES * step).tolist():
        centres = (ideal + phase) % size
        away = np.abs((at[None, :] - centres[:, None] + size / 2.0) % size - size / 2.0)
        cost = np.where(away <= reach, worry[None, :] + 0.2 * away / step, np.inf)
        exact = np.interp(centres, at, worry, period=size)
        choice = np.argmin(cost, axis=1)
        lower = cost[np.arange(count), choice] < exact
        total = float(np.where(lower, cost[np.arange(count), choice], exact).sum())
        if best is None or total < best[0] - 1e-9:
            best = total, np.where(lower, at[choice], centres)
    assert best is not None
    places: Floats = np.sort(best[1])
    return places


def _worry(ring: Path, at: Floats, size: float, width_mm: float) -> Floats:
    """Return how bad a place is for a tab: 0 on a straight, 1 in a tight bend, more at a corner; shape as `at`."""
    places = point_at_length(ring, at)
    bend = np.abs(curvature_at(ring, places.segments, places.parameters)) * _TIGHT * width_mm
    worry = np.minimum(bend, 1.0)
    spread = max(math.ceil(width_mm / 2.0 / (size / len(at))), 0)
    widest = worry.copy()
    for shift in range(-min(spread, len(at) // 2), min(spread, len(at) // 2) + 1):
        np.maximum(widest, np.roll(worry, shift), out=widest)
    for corner in corner_places(ring)[0].tolist():
        away = np.abs((at - corner + size / 2.0) % size - size / 2.0)
        widest += np.clip(2.0 - away / width_mm, 0.0, 1.0) * 3.0  # clear of it by a width and a half
    return widest
