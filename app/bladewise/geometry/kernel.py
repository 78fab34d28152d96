"""The true-curve kernel: regions in, GEOS on their chords, paths of true curves out.

The parts stand in their own modules: `sources` (the segments in one table), `provenance` (chords and
the way back from an edge to its curve), `topology` (polygons of what is painted), `rebuild` (curves
put back), `crossings` (the exact place where two curves cross).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from bladewise.geometry.meeting import Meetings, lonely
from bladewise.geometry.provenance import ChordIndex, chords_of, closed_rings
from bladewise.geometry.rebuild import Rebuilder, Tally
from bladewise.geometry.sources import Sources, gather
from bladewise.geometry.tolerances import COINCIDENT_MM, FINEST_SHARE, FLATTENING_MM
from bladewise.geometry.topology import NOTHING, region_polygons
from bladewise.geometry.weave import weave

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.geometry.path import Path
    from bladewise.geometry.regions import Region


class Kernel:
    """One boolean's materials: sources, their chords, a polygon a region, and the way back."""

    def __init__(
        self,
        regions: Sequence[Region],
        *,
        tolerance_mm: float = FLATTENING_MM,
        tally: Tally | None = None,
        simplify: bool = True,
    ) -> None:
        """Flatten the regions and make their polygons; `simplify` gives curves that meet nothing a single chord."""
        self.tally = tally if tally is not None else Tally()
        self.sources: Sources = gather(regions)
        source = self.sources
        if len(source):
            reach = np.ptp(source.points.reshape(-1, 2), axis=0).max()
            tolerance_mm = min(tolerance_mm, max(reach * FINEST_SHARE, 1e-9))
        meetings = Meetings(source, COINCIDENT_MM)
        first, second = meetings.pairs()
        woven = weave(source, first, second)
        single = lonely(source, first, second) if simplify else np.zeros(len(source), np.bool_)
        chords = chords_of(woven, tolerance_mm, single[woven.parent])
        self.index = ChordIndex(woven, chords, meetings)
        self.polygons = region_polygons(
            *closed_rings(woven, chords), woven.sources.ring_region, [region.rule for region in regions]
        )
        self.rebuilder = Rebuilder(source, self.index, tolerance_mm, single, self.tally)

    def path(self, shape: Any) -> Path:  # noqa: ANN401
        """Return a polygon over these sources as a path."""
        return self.rebuilder.paths([shape])[0]


def union(polygons: Any) -> Any:  # noqa: ANN401
    """Return the union of shapely polygons; nothing for none."""
    return shapely.disjoint_subset_union_all(polygons) if len(polygons) else NOTHING
