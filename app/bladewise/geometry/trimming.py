"""Open paths parted by regions: what of a line lies inside a frame, or outside it.

The crossings with the frame's outline are found on the chords and refined on the true curves; the
path is split there and each part judged by its middle.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from bladewise.geometry.crossings import Curves, refine, side_by_side
from bladewise.geometry.curves import point_at, sub_segments
from bladewise.geometry.kernel import ATTEMPTS, FINER, Kernel
from bladewise.geometry.meeting import Meetings
from bladewise.geometry.path import EMPTY, Path, SegmentKind
from bladewise.geometry.provenance import ChordIndex, chords_of, closed_rings
from bladewise.geometry.regions import Region
from bladewise.geometry.sources import Sources, gather
from bladewise.geometry.tolerances import BESIDE, ON_CURVE_MM, REACH
from bladewise.geometry.weave import unwoven

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from bladewise.geometry.path import Floats


def trim_open(path: Path, frame: Sequence[Region], *, inside: bool) -> Path:
    """Return the parts of a path's lines that lie inside, or outside, the area of the frame's regions.

    Parameters
    ----------
    path
        Its subpaths are taken as lines, closed ones too; a closed one that is not cut stays closed.
    frame
        The regions; what runs along their common outline counts as inside.
    inside
        Keep what is inside, otherwise what is outside.

    Returns
    -------
    path
        Open parts in the order and direction of the source; segments that are not cut keep their bits.

    Raises
    ------
    ValueError
        If a coordinate is not a finite number.
    """
    lines = gather([Region(path)], close=False)
    if not len(lines):
        return EMPTY
    best, least, missed = EMPTY, -1, np.zeros((0, 2))
    for attempt in range(ATTEMPTS):
        kernel = Kernel(frame, simplify=False, fine_at=missed, finer=FINER**attempt)
        area = shapely.union_all(kernel.polygons) if len(kernel.polygons) else shapely.Polygon()
        tolerances = np.full(len(lines), kernel.rebuilder.tolerance_mm)
        if len(missed):
            tolerances[np.unique(Meetings(lines, 0.0).at(missed)[1])] /= FINER**attempt
        cuts, left = _cuts(lines, tolerances, kernel, area)
        if least < 0 or len(left) < least:
            best, least = _parts(lines, cuts, area, inside=inside), len(left)
        if not len(left):
            break
        missed = np.concatenate([missed, left])
    return best


def _cuts(
    lines: Sources, tolerances_mm: Floats, kernel: Kernel, area: Any
) -> tuple[list[list[tuple[float, Floats]]], Floats]:
    """Return where each segment crosses the frame, parameters (rising) and places, and the places not exact."""
    woven = unwoven(lines)
    chords = chords_of(woven, tolerances_mm)
    index = ChordIndex(woven, chords)
    out: list[list[tuple[float, Floats]]] = [[] for _ in range(len(lines))]
    coords, ring = closed_rings(woven, chords)
    met = shapely.intersection(shapely.linestrings(coords, indices=ring), shapely.boundary(area))
    places = np.unique(shapely.get_coordinates(shapely.boundary(met[shapely.length(met) > 0.0])), axis=0)
    bare = shapely.get_parts(met)
    for _ in range(2):
        bare = shapely.get_parts(bare)
    points = bare[shapely.get_type_id(bare) == shapely.GeometryType.POINT]
    places = np.unique(np.concatenate([places, shapely.get_coordinates(points)]), axis=0)
    mine, t = index.locate(places)
    theirs, u = kernel.index.locate(places)
    good = (mine >= 0) & (theirs >= 0)
    mine, t, theirs, u, places = mine[good], t[good], theirs[good], u[good], places[good]
    if not len(mine):
        return out, places
    frame = kernel.sources
    one = Curves(lines.points[mine], lines.kinds[mine], lines.weights[mine])
    two = Curves(frame.points[theirs], frame.kinds[theirs], frame.weights[theirs])
    exact_t, exact_u, exact, miss = refine(one, t, two, u, places)
    sound = (miss < ON_CURVE_MM) & (np.abs(exact_t - 0.5) <= 0.5) & (np.abs(exact_u - 0.5) <= 0.5 + 1e-9)
    tolerance_mm = kernel.rebuilder.tolerance_mm
    near = np.hypot(*(exact - places).T) < REACH * tolerance_mm
    sound &= near | side_by_side(one, two, (t, u), (exact_t, exact_u), BESIDE * tolerance_mm)
    ends = [0.0, 1.0]  # a shared stretch ends at a node: nothing is to be refined there
    missed = places[~sound & ~np.isin(t, ends) & ~np.isin(u, ends)]
    t = np.where(sound, exact_t, t)
    places = np.where(sound[:, None], exact, places)
    for segment, at, place in zip(mine.tolist(), t.tolist(), places, strict=True):
        out[segment].append((at, place))
    for found in out:
        found.sort(key=lambda cut: cut[0])
    return out, missed


def _parts(lines: Sources, cuts: list[list[tuple[float, Floats]]], area: Any, *, inside: bool) -> Path:
    rows: list[int] = []
    spans: list[tuple[float, float]] = []
    ends: list[tuple[Floats, Floats]] = []
    for segment, found in enumerate(cuts):
        stops = [(0.0, lines.points[segment, 0])]
        stops += [cut for cut in found if 0.0 < cut[0] < 1.0]
        stops.append((1.0, lines.points[segment, 3]))
        for (t0, start), (t1, end) in pairwise(stops):
            if t1 > t0:
                rows.append(segment)
                spans.append((t0, t1))
                ends.append((start, end))
    row, span = np.array(rows), np.array(spans)
    source = Curves(lines.points[row], lines.kinds[row], lines.weights[row])
    middle = point_at(*source, span.mean(axis=1))
    keep = shapely.intersects(area, shapely.points(middle)) == inside
    if not keep.any():
        return EMPTY
    points, weights = sub_segments(*source, span[:, 0], span[:, 1])
    for place, (start, end) in enumerate(ends):
        points[place, 0], points[place, 3] = start, end
    straight = source.kinds == SegmentKind.LINE
    points[straight, 1], points[straight, 2] = points[straight, 0], points[straight, 3]
    order: list[int] = []
    starts: list[int] = []
    closed: list[bool] = []
    ring = lines.ring[row]
    for number in range(len(lines.ring_closed)):
        here = np.flatnonzero(ring == number)
        kept = keep[here]
        if kept.all() and lines.ring_closed[number]:
            starts.append(len(order))
            closed.append(True)
            order += here.tolist()
            continue
        if lines.ring_closed[number] and kept[0] and kept[-1]:  # the part that runs over the closing point
            turn = int(np.flatnonzero(~kept)[0])
            here, kept = np.roll(here, -turn), np.roll(kept, -turn)
        begins = kept & ~np.append(False, kept[:-1])
        for place, (wanted, new) in enumerate(zip(kept.tolist(), begins.tolist(), strict=True)):
            if new:
                starts.append(len(order))
                closed.append(False)
            if wanted:
                order.append(int(here[place]))
    return Path(
        points[order], source.kinds[order], weights[order], np.array(starts, np.int64), np.array(closed, np.bool_)
    )
