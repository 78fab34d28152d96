"""Whether places are nearer to a region than a distance: asked of GEOS, for thousands of places at once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import area
from bladewise.geometry.topology import region_polygons

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from bladewise.geometry.path import Floats, Path


class Nearness:
    """Tells whether places are nearer to a region than a distance; places within it are at no distance."""

    def __init__(self, path: Path, tolerance_mm: float) -> None:
        """Flatten the outlines, which do not cross and whose region lies right of them, and prepare the region."""
        around = area(path) < 0.0  # the region is all that lies around the outlines
        shape = path.reversed() if around else path
        flat = flatten(shape, tolerance_mm)
        ring = np.searchsorted(flat.starts, np.arange(len(flat.coords)), side="right") - 1
        none: Any = [None]
        region: Any = region_polygons(flat.coords, ring, np.zeros(len(flat.starts), np.int64), none)[0]
        if around:
            x0, y0, x1, y1 = region.bounds
            wide = x1 - x0 + y1 - y0
            region = shapely.box(x0 - wide, y0 - wide, x1 + wide, y1 + wide).difference(region)
        self._region: Any = region
        shapely.prepare(region)

    def within(self, places: Floats, distance_mm: Floats | float) -> NDArray[np.bool_]:
        """Return which places, shape (n, 2), are no farther than a distance in mm."""
        points: Any = shapely.points(places)
        reach: Any = distance_mm
        near: NDArray[np.bool_] = np.asarray(shapely.dwithin(self._region, points, reach), dtype=np.bool_)
        return near
