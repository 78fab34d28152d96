"""The true-curve kernel: regions in, GEOS on their chords, paths of true curves out.

The parts stand in their own modules: `sources` (the segments in one table), `provenance` (chords and
the way back from an edge to its curve), `topology` (polygons of what is painted), `rebuild` (curves
put back), `crossings` (the exact place where two curves cross).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
import shapely

from bladewise.geometry.hidden import hidden_in_union
from bladewise.geometry.meeting import Meetings, hull_boxes, lonely
from bladewise.geometry.path import joined
from bladewise.geometry.provenance import ChordIndex, chords_of, closed_rings
from bladewise.geometry.rebuild import Rebuilder, Tally
from bladewise.geometry.regions import Region
from bladewise.geometry.soundness import WOVEN
from bladewise.geometry.sources import Sources, gather
from bladewise.geometry.tolerances import (
    COINCIDENT_MM,
    FEW_SEGMENTS,
    FINE_FLATTENING_MM,
    FINEST_SHARE,
    FLATTENING_MM,
    SLIVER_MM,
)
from bladewise.geometry.topology import NOTHING, region_polygons
from bladewise.geometry.weave import weave

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from bladewise.geometry.path import Floats, Path
    from bladewise.geometry.regions import FillRule

Note = TypeVar("Note")
"""What an operation says beside the polygons it returns."""

FINER = 64.0
"""How much finer curves are cut at each further attempt where the last one failed: chords eight times as many."""

ATTEMPTS = 3
"""How often an operation is run at most; the better result counts."""

_CROWDED = 6.0
"""Neighbours a polygon above which a heap of them is taken for one connected whole."""

_LARGE = 20_000
"""With more segments than this a vertex that stays where the chords crossed (within the tolerance) is let stand."""

MANY_CHORDS = 30_000
"""The same where curves were cut finer once already into more chords than this: cut finer still they take minutes."""


class Kernel:
    """One boolean's materials: sources, their chords, a polygon a region, and the way back."""

    def __init__(
        self,
        regions: Sequence[Region],
        *,
        tolerance_mm: float = FLATTENING_MM,
        tally: Tally | None = None,
        simplify: bool = True,
        fine_at: Floats | None = None,
        finer: float = FINER,
        rules: Sequence[FillRule | None] | None = None,
        only_union: bool = False,
    ) -> None:
        """Flatten the regions and make their polygons.

        `simplify` gives curves that meet nothing a single chord; those near the places `fine_at` (mm, shape
        (k, 2)) are cut `finer` times as fine; `rules` stand in for the regions' own. With `only_union` nothing
        but the union of the polygons holds good: what others hide is left as coarse as can be.
        """
        self.tally = tally if tally is not None else Tally()
        self.sources: Sources = gather(regions)
        source = self.sources
        share = 1.0
        if len(source):
            reach = np.ptp(source.points.reshape(-1, 2), axis=0).max()
            share = min(1.0, max(reach * FINEST_SHARE / FLATTENING_MM, 1e-9))
        if share < 1.0:
            tolerance_mm = min(tolerance_mm, share * FLATTENING_MM)
        if len(source) <= FEW_SEGMENTS:
            tolerance_mm = min(tolerance_mm, share * FINE_FLATTENING_MM)
        rules = rules or [region.rule for region in regions]
        found = hidden_in_union(source, rules, share * COINCIDENT_MM + tolerance_mm) if only_union else None
        few = found.chords if found is not None else np.zeros(len(source), np.int64)
        seen = np.flatnonzero(few == 0) if few.any() else None
        meetings = Meetings(source, share * COINCIDENT_MM, seen)
        first, second = meetings.pairs()
        woven = weave(source, first, second, share * COINCIDENT_MM)
        single = np.zeros(len(source), np.bool_)
        if simplify:
            single = lonely(source, first, second, seen)
            if found is not None and seen is not None:
                single &= found.whole
            few = np.where(single, 1, few)
        each: float | Floats = tolerance_mm
        if fine_at is not None and len(fine_at):
            fine = np.zeros(len(source), np.bool_)
            fine[meetings.at(fine_at)[1]] = True
            near = np.concatenate([second[fine[first]], first[fine[second]]])
            fine[near] = True  # curves that lie on one another must be cut alike
            each = np.where(fine, tolerance_mm / finer, tolerance_mm)[woven.parent]
        chords = chords_of(woven, each, few[woven.parent])
        self.chord_count = len(chords.start)
        self.index = ChordIndex(woven, chords, meetings)
        self.polygons = region_polygons(*closed_rings(woven, chords), woven.sources.ring_region, rules)
        self.rebuilder = Rebuilder(source, self.index, tolerance_mm, share * SLIVER_MM, single, self.tally)


def curve_true(
    regions: Sequence[Region],
    operation: Callable[[Any], Sequence[Any]],
    *,
    tally: Tally | None = None,
    tolerance_mm: float = FLATTENING_MM,
    only_union: bool = False,
) -> list[Path]:
    """Return the results of an operation on polygons as paths of true curves.

    Parameters
    ----------
    regions
        What the operation works on.
    operation
        Takes one shapely polygon a region, returns polygons over the same vertices.
    tally
        Counts what the rebuilding met.
    tolerance_mm
        Of the flattening that decides the topology.
    only_union
        The operation asks for nothing but the union of all polygons.
    """
    return curve_true_noted(
        regions,
        lambda polygons: (operation(polygons), None),
        tally=tally,
        tolerance_mm=tolerance_mm,
        only_union=only_union,
    )[0]


def curve_true_noted(
    regions: Sequence[Region],
    operation: Callable[[Any], tuple[Sequence[Any], Note]],
    *,
    tally: Tally | None = None,
    tolerance_mm: float = FLATTENING_MM,
    simplify: bool = True,
    only_union: bool = False,
) -> tuple[list[Path], Note]:
    """Return the results of an operation as `curve_true` does, and what the operation noted beside them.

    Where a crossing cannot be refined or a written ring crosses itself, the operation is run once
    more with the curves there cut finer; the better result counts, with its own notes. In a very large one
    only the result is gone over again at the places where its rings cross themselves.

    Parameters
    ----------
    regions, tally, tolerance_mm, only_union
        As for `curve_true`.
    operation
        Takes one shapely polygon a region, returns polygons over the same vertices and anything else.
    simplify
        Give curves that meet nothing a single chord; without it polygons keep to their curves everywhere.
    """
    best: tuple[list[Path], Note] | None = None
    least = Tally()
    places: Floats = np.zeros((0, 2))
    for attempt in range(ATTEMPTS):
        count = Tally(again=attempt)
        kernel = Kernel(
            regions,
            tolerance_mm=tolerance_mm,
            tally=count,
            simplify=simplify,
            fine_at=places,
            finer=FINER**attempt,
            only_union=only_union,
        )
        rebuilder, large = kernel.rebuilder, len(kernel.sources) > _LARGE
        shapes, note = operation(kernel.polygons)
        paths = rebuilder.paths(shapes)
        count.faults = len(rebuilder.faults)
        if count.faults and large:
            paths = [_mended(path, rebuilder.faults, tolerance_mm) for path in paths]
            count.again += 1
            count.faults = 0
        if best is None or count.failures < least.failures:
            best, least = (paths, note), count
        else:
            least.again = attempt
        if not count.failures or large or len(rebuilder.faults) > WOVEN:
            break  # sides that weave about each other do so however fine they are cut
        if attempt and count.failures == count.kept and kernel.chord_count > MANY_CHORDS:
            break
        places = np.concatenate([places, rebuilder.unsettled, rebuilder.faults])
    assert best is not None
    if tally is not None:
        tally.add(least)
    return best


def _mended(path: Path, faults: Floats, tolerance_mm: float) -> Path:
    """Return a result whose rings cross themselves at some places, resolved there at a finer flattening."""
    if not path:
        return path
    lower, upper = hull_boxes(path.points, 0.0)
    near = faults[((faults >= lower.min(axis=0)) & (faults <= upper.max(axis=0))).all(axis=1)]
    if not len(near):
        return path
    rings = list(path.subpaths())
    lower, upper = np.minimum.reduceat(lower, path.starts), np.maximum.reduceat(upper, path.starts)
    inside = ((near[:, None] >= lower) & (near[:, None] <= upper)).all(axis=2)
    touched = np.flatnonzero(inside.any(axis=0)).tolist()
    broken = Region(joined(rings[place] for place in touched))
    sound = (ring for place, ring in enumerate(rings) if place not in touched)
    kernel = Kernel([broken], tolerance_mm=tolerance_mm, fine_at=near, rules=[None])
    return joined([*kernel.rebuilder.paths(list(kernel.polygons)), *sound])


def union(polygons: Any) -> Any:
    """Return the union of shapely polygons; nothing for none."""
    if not len(polygons):
        return NOTHING
    return shapely.union_all(polygons) if _crowded(polygons) else shapely.disjoint_subset_union_all(polygons)


def _crowded(polygons: Any) -> bool:
    """Whether the polygons' boxes stand so close that they can hardly fall into groups that do not touch.

    Boxes thrown at random hang together from about four and a half neighbours each (continuum percolation
    of squares). This decides only which of two ways to the same union is likely the quicker.
    """
    bounds = shapely.bounds(polygons)
    bounds = bounds[~np.isnan(bounds[:, 0])]  # an empty one has none
    if not len(bounds):
        return False
    size = bounds[:, 2:] - bounds[:, :2]
    whole = np.max(bounds[:, 2:], axis=0) - np.min(bounds[:, :2], axis=0)
    return bool(4.0 * np.sum(size[:, 0] * size[:, 1]) > _CROWDED * whole[0] * whole[1])
