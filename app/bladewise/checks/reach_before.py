"""What there was to draw of findings before, found again where their outlines and places only moved together."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.checks.moves import Shift, shift_between

if TYPE_CHECKING:
    from collections.abc import Iterable

    from bladewise.checks.reach import Reach
    from bladewise.findings import Finding
    from bladewise.geometry.path import Path

_BOUND_TO_THE_SHEET = frozenset({"off-sheet", "short-bleed"})
"""What there is to draw of these hangs on more than the outlines they name."""

_PLACE_MM = 1e-6
"""Findings whose places are off the shift of their outlines by more than this are others."""


class Known(NamedTuple):
    """What was worked out of a finding; the outlines are kept with it, so that their ids stay theirs."""

    finding: Finding
    paths: tuple[Path, ...]
    reach: Reach


class Before:
    """What was known of the findings before, to be found again where outlines and places only moved together."""

    def __init__(self, known: Iterable[Known]) -> None:
        self._of: dict[tuple[str, tuple[str, ...]], list[Known]] = {}
        for each in known:
            self._of.setdefault((each.finding.rule, each.finding.shapes), []).append(each)
        self._shifts: dict[tuple[int, int], Shift | None] = {}

    def moved(self, finding: Finding, paths: tuple[Path, ...]) -> Reach | None:
        """Return what is drawn of a finding that was there before, elsewhere; None where there was none."""
        if finding.rule in _BOUND_TO_THE_SHEET:
            return None
        for each in self._of.get((finding.rule, finding.shapes), ()):
            shift = self._shift(each.paths, paths)
            if shift is not None and _is_moved(each.finding, finding, shift):
                return each.reach.moved(shift)
        return None

    def _shift(self, before: tuple[Path, ...], after: tuple[Path, ...]) -> Shift | None:
        if len(before) != len(after):
            return None
        found: Shift | None = None
        for one, other in zip(before, after, strict=True):
            key = id(one), id(other)
            if key not in self._shifts:
                self._shifts[key] = shift_between(one, other)
            shift = self._shifts[key]
            if shift is None or (found is not None and not found.is_like(shift)):
                return None
            found = shift
        return found


def _is_moved(before: Finding, after: Finding, shift: Shift) -> bool:
    """Whether a finding says the same as before of places that are all off by a shift."""
    if abs(before.measure - after.measure) > _PLACE_MM or len(before.all_places) != len(after.all_places):
        return False
    was = np.array([(before.x_mm, before.y_mm), *before.all_places])
    now = np.array([(after.x_mm, after.y_mm), *after.all_places])
    return bool((np.abs(now - was - shift) <= _PLACE_MM).all())
