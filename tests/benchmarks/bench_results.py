"""Wrong results of the booleans, counted: random art, contrived art, and chains of cuts put back together.

    python tests/benchmarks/bench_results.py [--random N] [--contrived N] [--heaps N] [--chains N] [--seed S] [--show]

Every case runs one operation, in turn. Its result is held against shapely on a flattening twenty times
finer than ours. A result is *wrong* where the two differ anywhere by more than the sliver limit, where
pieces or holes (thicker than it) are not as many, or where a ring crosses itself. The other columns
count what the operator is promised of the segments. No time is asserted anywhere. `--show` names the
cases that are wrong; `--only FAMILY --case I` runs one of them.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from typing import TYPE_CHECKING, Any

import numpy as np
import result_cases
import shapely

from bladewise.geometry import booleans
from bladewise.geometry.crossings import Curves, project
from bladewise.geometry.curves import point_at, segment_areas
from bladewise.geometry.distances import nearest_each
from bladewise.geometry.flatten import chord_counts, chord_vertices
from bladewise.geometry.meeting import hull_boxes
from bladewise.geometry.path import EMPTY, Path, SegmentKind, joined
from bladewise.geometry.rebuild import Tally
from bladewise.geometry.regions import FillRule, Region
from bladewise.geometry.tolerances import FINE_FLATTENING_MM, FINEST_SHARE, FLATTENING_MM, SLIVER_MM

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

FINER = 20
SUB_CURVE_MM = 1e-9
CROSSING_MM = 1e-7
CROSSED_MM = 1e-6
"""A ring that encloses something wrongly counts where that is wider than a nanometre."""

NEAR = (0.1, 0.25, 0.5, 0.8, 1.1)
"""Sliver limits by which shapes may be larger or smaller and have as many pieces and holes as a result."""

ROUNDING = 4e-16
"""Of a coordinate, as a share of its size; what is promised in millimetres holds where doubles resolve it."""

OPERATIONS = ("merge", "cut_out", "keep_common", "visible_parts", "split_at_overlaps", "fit_inside", "resolve")
COLUMNS = {
    "wrong": "cases that differ from the reference by more than a sliver, or cross themselves",
    "area": "of these: somewhere more than a sliver off",
    "counts": "of these: pieces or holes not as many",
    "crossed": "of these: a ring that crosses itself by more than a nanometre",
    "touching": "rings that touch themselves in a point",
    "raised": "of these: an error",
    "not bits": "segments between the nodes of one source that are neither it, bit for bit, nor part of another",
    "off curve": "parts of segments that leave their source by more than 1e-9 mm",
    "off end": "ends of parts farther than 1e-7 mm from their source",
    "many": "results of more segments than went in and two a crossing",
    "results": "",
    "crossings": "",
    "kept": "crossings that could not be refined",
    "chorded": "rings written as chords",
    "again": "operations run once more",
}


# -------------------------------------------------------------------------------------------------- reference


def share_of(regions: Sequence[Region]) -> float:
    """Return by how much tolerances shrink for small art, as the kernel has it."""
    points = np.concatenate([region.path.points.reshape(-1, 2) for region in regions])
    reach = np.ptp(points, axis=0).max() if len(points) else 1.0
    return float(min(1.0, max(reach * FINEST_SHARE / FLATTENING_MM, 1e-9)))


def fine_rings(path: Path, tolerance_mm: float) -> list[np.ndarray]:
    """Return the closed polylines of a path, at least `FINER` times as near to it as the tolerance."""
    counts = chord_counts(path.points, path.kinds, path.weights, tolerance_mm)
    bent = counts > 1
    counts[bent] = np.ceil(counts[bent] * np.sqrt(FINER)).astype(np.int64)
    coords, segment, _ = chord_vertices(path.points, path.kinds, path.weights, counts)
    stops = np.searchsorted(segment, path.starts[1:])
    return [np.concatenate([ring, ring[:1]]) for ring in np.split(coords, stops) if len(ring) > 2]


def painted(region: Region, tolerance_mm: float, grid_mm: float | None = None) -> Any:
    """Return the area a region paints: all chords noded, the faces taken, their winding summed edge by edge.

    On a grid outlines that are drawn twice fall together.
    """
    rings = fine_rings(region.path, tolerance_mm)
    if not rings:
        return shapely.Polygon()
    if grid_mm is None and len(rings) == 1 and (simple := shapely.Polygon(rings[0])).is_valid:
        return simple
    lines = [shapely.LineString(ring) for ring in rings]
    size = max(np.ptp(ring, axis=0).max() for ring in rings)
    for grid in (None, 1e-12 * size, 1e-10 * size, 1e-8 * size) if grid_mm is None else (grid_mm,):
        faces = shapely.get_parts(shapely.polygonize([shapely.unary_union(lines, grid_size=grid)]))
        turns = _windings(faces, rings)
        covered = float((turns * shapely.area(faces)).sum())
        # Green's theorem: the faces, each as often as it is wound round, make up the area the rings sweep
        if abs(covered - sum(_swept(ring) for ring in rings)) < 1e-6 * size * size:
            break
    inside = turns % 2 != 0 if region.rule is FillRule.EVEN_ODD else turns != 0
    return shapely.union_all(faces[inside]) if inside.any() else shapely.Polygon()


def _swept(ring: np.ndarray) -> float:
    x, y = (ring - ring[0]).T
    return 0.5 * float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum())


def _windings(faces: Any, rings: list[np.ndarray]) -> Any:
    """Return how often the rings run round each face."""
    turns = np.zeros(len(faces), np.int64)
    at = shapely.get_coordinates(shapely.point_on_surface(faces))
    for ring in rings:
        a, b = ring[:-1], ring[1:]
        for low in range(0, len(at), 64):
            x, y = at[low : low + 64, :1], at[low : low + 64, 1:]
            side = (b[:, 0] - a[:, 0]) * (y - a[:, 1]) - (b[:, 1] - a[:, 1]) * (x - a[:, 0])
            up, down = (a[:, 1] <= y) & (b[:, 1] > y) & (side > 0), (b[:, 1] <= y) & (a[:, 1] > y) & (side < 0)
            turns[low : low + 64] += up.sum(axis=1) - down.sum(axis=1)
    return turns


def thick_only(shape: Any, sliver_mm: float) -> tuple[Any, int, int]:
    """Return a shape without pieces and holes thinner than the sliver limit, and how many of each are left."""
    parts, holes = [], 0
    for part in shapely.get_parts(shape):
        if part.geom_type != "Polygon":
            continue
        rings = [part.exterior, *part.interiors]
        bodies = [shapely.Polygon(ring) for ring in rings]
        thick = [2 * body.area > sliver_mm * ring.length for body, ring in zip(bodies, rings, strict=True)]
        if thick[0]:
            kept = [ring for ring, wide in zip(rings[1:], thick[1:], strict=True) if wide]
            parts.append(shapely.Polygon(rings[0], kept))
            holes += len(kept)
    return shapely.MultiPolygon(parts), len(parts), holes


# ------------------------------------------------------------------------------------------------ operations


def run(name: str, regions: list[Region], tally: Tally) -> dict[Any, Path]:
    """Return the results of an operation, by the names the reference gives them."""
    first, rest = regions[0], regions[1:]
    match name:
        case "merge":
            return {0: booleans.merge(regions, tally=tally)}
        case "cut_out":
            return {0: booleans.cut_out(first, rest, tally=tally)}
        case "keep_common":
            return {0: booleans.keep_common(regions, tally=tally)}
        case "fit_inside":
            return {0: booleans.fit_inside(first, rest, tally=tally)}
        case "visible_parts":
            return dict(enumerate(booleans.visible_parts(regions, tally=tally)))
        case "split_at_overlaps":
            found: dict[Any, list[Path]] = {}
            for piece in booleans.split_at_overlaps(regions, tally=tally):
                found.setdefault(piece.members, []).append(piece.path)
            return {members: joined(paths) for members, paths in found.items()}
    return {0: booleans.resolve(first, tally=tally)}


def expected(name: str, polygons: list[Any]) -> dict[Any, Any]:
    """Return what the operation gives on polygons: by region where it gives several, by members where it splits."""
    union = shapely.union_all
    match name:
        case "merge":
            return {0: union(polygons)}
        case "cut_out":
            return {0: shapely.difference(polygons[0], union(polygons[1:]))}
        case "keep_common":
            return {0: shapely.intersection_all(polygons)}
        case "fit_inside":
            return {0: shapely.intersection(polygons[0], union(polygons[1:]))}
        case "visible_parts":
            return {at: shapely.difference(one, union(polygons[at + 1 :])) for at, one in enumerate(polygons)}
        case "resolve":
            return {0: polygons[0]}
    faces: dict[Any, Any] = {(): shapely.box(*union(polygons).bounds)}
    for place, polygon in enumerate(polygons):
        parted = {}
        for members, face in faces.items():
            parted[(*members, place)] = shapely.intersection(face, polygon)
            parted[members] = shapely.difference(face, polygon)
        faces = {members: face for members, face in parted.items() if not face.is_empty}
    return {members: face for members, face in faces.items() if members}


def shifted(name: str, polygons: list[Any], by_mm: float) -> list[dict[Any, Any]]:
    """Return what is expected of shapes a hair larger or smaller: all alike, or the first against the others."""
    out = []
    for first, rest in ((by_mm, by_mm), (-by_mm, -by_mm), (by_mm, -by_mm), (-by_mm, by_mm)):
        grown = [shapely.buffer(one, rest if at else first, quad_segs=2) for at, one in enumerate(polygons)]
        out.append(expected(name, grown))
    return out


# ---------------------------------------------------------------------------------------------------- checks


def bodies(path: Path, tolerance_mm: float) -> list[Any]:
    """Return the polygons a result's rings make at a fine flattening: each outer ring with the holes after it."""
    out: list[list[np.ndarray]] = []
    for ring, coords in zip(path.subpaths(), fine_rings(path, tolerance_mm), strict=True):
        origin = ring.points[0, 0]
        turn = segment_areas(ring.points - origin, ring.kinds, ring.weights).sum()
        if turn > 0 or not out:
            out.append([coords])
        else:
            out[-1].append(coords)
    return [shapely.Polygon(rings[0], rings[1:]) for rings in out]


def crossed_mm(body: Any) -> float:
    """Return how wide the widest face is that a broken polygon's rings enclose wrongly."""
    faces = shapely.get_parts(shapely.polygonize([shapely.unary_union(body.boundary)]))
    turns = _windings(faces, [shapely.get_coordinates(ring) for ring in (body.exterior, *body.interiors)])
    wrong = faces[(turns < 0) | (turns > 1)]
    return float((2 * shapely.area(wrong) / shapely.length(wrong)).max(initial=0.0))


def count_segments(path: Path, source: Path, size: float, found: Counter[str]) -> None:
    """Count what the segments of a result are not: the source's own, bit for bit, or parts of it."""
    known = {points.tobytes() for points in source.points} | {p[::-1].copy().tobytes() for p in source.points}
    new = [row for row, points in enumerate(path.points) if points.tobytes() not in known]
    if not new:
        return
    rows = np.array(new)
    nodes = {(s.tobytes(), e.tobytes()) for s, e in zip(source.points[:, 0], source.points[:, 3], strict=True)}
    nodes |= {(end, start) for start, end in nodes}
    low, high = hull_boxes(source.points, 1e-3 * size)
    t = np.array([0.0, 0.13, 0.37, 0.5, 0.71, 0.9, 1.0])
    each = np.repeat(rows, len(t))
    places = point_at(path.points[each], path.kinds[each], path.weights[each], np.tile(t, len(rows)))
    middle = places.reshape(len(rows), len(t), 2)[:, 3]
    fits = ((middle[:, None] >= low) & (middle[:, None] <= high)).all(axis=2)
    one, two = np.nonzero(fits)
    away = np.full(len(rows), np.inf)
    ends = np.full(len(rows), np.inf)
    if len(one):
        at = places.reshape(len(rows), len(t), 2)[one].reshape(-1, 2)
        on = np.repeat(two, len(t))
        _, gap = project(Curves(source.points[on], source.kinds[on], source.weights[on]), at)
        gap = gap.reshape(-1, len(t))
        best = np.lexsort((gap[:, 1:-1].max(axis=1), one))
        lead = best[np.append(True, one[best][1:] != one[best][:-1])]
        away[one[lead]], ends[one[lead]] = gap[lead, 1:-1].max(axis=1), gap[lead][:, [0, -1]].max(axis=1)
    for row in np.flatnonzero((away > SUB_CURVE_MM) | (ends > CROSSING_MM)).tolist():
        gap = nearest_each(source, places.reshape(len(rows), len(t), 2)[row]).distances_mm
        away[row], ends[row] = min(away[row], gap[1:-1].max()), min(ends[row], gap[[0, -1]].max())
    own = np.array([(p[0].tobytes(), p[3].tobytes()) in nodes for p in path.points[rows]])
    found["not bits"] += int((own & (path.kinds[rows] != SegmentKind.LINE) & (away > SUB_CURVE_MM)).sum())
    reach = np.abs(source.points).max()
    found["off curve"] += int((away > SUB_CURVE_MM + 16 * ROUNDING * reach).sum())
    found["off end"] += int((ends > CROSSING_MM + 16 * ROUNDING * reach).sum())


def differs(path: Path, reference: Any, tolerance_mm: float, sliver_mm: float, found: Counter[str]) -> list[str]:
    """Return what is wrong with one result; "pieces" where they, or the holes, are not as many."""
    wrong = []
    shapes = bodies(path, tolerance_mm)
    for place, shape in enumerate(shapes):
        if not shape.is_valid:
            found["touching"] += 1
            crossed = crossed_mm(shape) and crossed_mm(bodies(path, tolerance_mm / 256)[place])
            if crossed > CROSSED_MM + 1e-12 * np.abs(path.points).max():
                wrong.append(f"crossed by {crossed:.2g} mm")
            shapes[place] = shapely.make_valid(shape)
    origin = path.points[0, 0] if path else np.zeros(2)
    area = float(segment_areas(path.points - origin, path.kinds, path.weights).sum())
    thick, pieces, holes = thick_only(reference, sliver_mm)
    if abs(area - thick.area) > 0.25 * sliver_mm * thick.length + 1e-12 * thick.area:
        found["symdiff"] += 1
        astray = thick_only(shapely.symmetric_difference(shapely.union_all(shapes), reference), 1.1 * sliver_mm)[0]
        if not shapely.buffer(astray, -0.55 * sliver_mm - tolerance_mm / FINER).is_empty:
            wrong.append(f"area {area:.6g} against {thick.area:.6g}")
    if ring_counts(path) != (pieces, holes):
        wrong.append(f"pieces, holes {ring_counts(path)} against {(pieces, holes)}")
    return wrong


def ring_counts(path: Path, least_mm: float = 0.0) -> tuple[int, int]:
    """Return the number of outer rings and of holes that are at least so thick."""
    counts = [0, 0]
    for ring in path.subpaths():
        around = float(segment_areas(ring.points - ring.points[0, 0], ring.kinds, ring.weights).sum())
        length = float(np.hypot(*(ring.points[:, 3] - ring.points[:, 0]).T).sum())
        if 2.0 * abs(around) >= least_mm * length:
            counts[around <= 0.0] += 1
    return counts[0], counts[1]


def check(operation: str, regions: list[Region], found: Counter[str]) -> list[str]:
    """Run one case, count its findings, and return what is wrong."""
    share = share_of(regions)
    tolerance, sliver = share * FINE_FLATTENING_MM, share * SLIVER_MM
    polygons = [painted(region, tolerance) for region in regions]
    tally = Tally()
    try:
        results = run(operation, regions, tally)
    except (ValueError, IndexError, shapely.errors.GEOSException) as error:
        found["raised"] += 1
        return [f"raised {error!r}"]
    references = expected(operation, polygons)
    wrong = []
    source = joined([*(region.path for region in regions), *(closed_up(region.path) for region in regions)])
    for name in {*results, *references}:
        path, reference = results.get(name, EMPTY), references.get(name, shapely.Polygon())
        wrong += differs(path, reference, tolerance, sliver, found)
        if path:
            count_segments(path, source, share, found)
    miscounted = any(what.startswith("pieces") for what in wrong)
    if miscounted and _near_counts(operation, results, references, (polygons, regions), sliver):
        found["recount"] += 1
        wrong = [what for what in wrong if not what.startswith("pieces")]
    written = sum(len(path) for path in results.values())
    if operation in {"merge", "cut_out", "fit_inside", "keep_common", "resolve"}:
        found["many"] += written > len(source) + 2 * tally.crossings
    for column in ("area", "counts", "crossed"):
        found[column] += any(what.startswith(column.replace("counts", "pieces")) for what in wrong)
    found["results"] += len(results)
    _add(found, tally)
    return wrong


def _add(found: Counter[str], tally: Tally) -> None:
    found["crossings"] += tally.crossings
    found["kept"] += tally.kept
    found["chorded"] += tally.chorded_rings
    found["again"] += tally.again


def _near_counts(
    operation: str,
    results: dict[Any, Path],
    references: dict[Any, Any],
    art: tuple[list[Any], list[Region]],
    sliver_mm: float,
) -> bool:
    """Whether pieces and holes are as many as they are for shapes a hair larger or smaller, or between those.

    Those less than twice as thick as a sliver may go either way: they may be what two shapes leave of each other
    where they run a hair apart.
    """
    polygons, regions = art
    near = [references, *(each for by in NEAR for each in shifted(operation, polygons, by * sliver_mm))]
    snapped = [painted(region, sliver_mm, sliver_mm / 2.0) for region in regions]
    near.append(expected(operation, snapped))
    for name in {*results, *references}:
        counts = [thick_only(each.get(name, shapely.Polygon()), sliver_mm)[1:] for each in near]
        counts += [thick_only(references.get(name, shapely.Polygon()), by * sliver_mm)[1:] for by in (0.3, 2.0)]
        path = results.get(name, EMPTY)
        most, least = ring_counts(path), ring_counts(path, 2.0 * sliver_mm)
        if (most < np.min(counts, axis=0)).any() or (least > np.max(counts, axis=0)).any():
            return False
    return True


def check_chain(rng: np.random.Generator, found: Counter[str]) -> list[str]:
    """Cut art into pieces by a chain of operations, merge them, and return what is wrong with the whole."""
    whole, parts = result_cases.chain(rng)
    tally = Tally()
    back, plain = booleans.merge(parts, tally=tally), booleans.resolve(whole)
    wrong = []
    found["results"] += 1
    _add(found, tally)
    if ring_counts(back) != ring_counts(plain):
        wrong.append(f"pieces, holes {ring_counts(back)} from {len(parts)} parts against {ring_counts(plain)}")
        found["counts"] += 1
    shapes = [shapely.make_valid(shapely.union_all(bodies(path, FINE_FLATTENING_MM))) for path in (back, plain)]
    astray = thick_only(shapely.symmetric_difference(*shapes), 1.1 * SLIVER_MM)[0]
    if not shapely.buffer(astray, -0.55 * SLIVER_MM).is_empty:
        wrong.append(f"area {shapes[0].area:.6g} against {shapes[1].area:.6g}")
        found["area"] += 1
    for place, shape in enumerate(bodies(back, FINE_FLATTENING_MM)):
        if shape.is_valid or crossed_mm(shape) < CROSSED_MM:
            continue
        if (crossed := crossed_mm(bodies(back, FINE_FLATTENING_MM / 256)[place])) > CROSSED_MM:
            wrong.append(f"crossed by {crossed:.2g} mm")
            found["crossed"] += 1
    return wrong


def closed_up(path: Path) -> Path:
    """Return the lines that close a path's open subpaths."""
    lines = [(ring.points[-1, 3], ring.points[0, 0]) for ring in path.subpaths()]
    return joined(result_cases.polygon([tuple(a), tuple(b)], closed=False) for a, b in lines if (a != b).any())


# ----------------------------------------------------------------------------------------------------- table


def sweep(
    families: dict[str, Callable[[np.random.Generator], list[Region]]],
    count: int,
    options: argparse.Namespace,
    *,
    scattered: bool,
    operations: Sequence[str] = OPERATIONS,
) -> dict[str, Counter[str]]:
    """Return the findings of each family over a number of cases in all."""
    table: dict[str, Counter[str]] = {}
    for number, (name, maker) in enumerate(families.items()):
        if options.only and options.only != name:
            continue
        found = table.setdefault(name, Counter())
        for case in range(number, count, len(families)):
            if options.case is not None and case != options.case:
                continue
            rng = np.random.default_rng([options.seed, case, int(scattered)])
            regions = maker(rng)
            if not regions:
                continue
            if scattered:
                regions = result_cases.placed(rng, regions)
            operation = operations[case // len(families) % len(operations)]
            start = time.process_time()
            wrong = check(operation, regions, found)
            _note(options, found, name, f"case {case} {operation}", wrong, start)
    return table


def _note(
    options: argparse.Namespace, found: Counter[str], name: str, case: str, wrong: list[str], start: float
) -> None:
    found["cases"] += 1
    found["wrong"] += bool(wrong)
    taken = time.process_time() - start
    if options.show and (wrong or taken > 5.0):
        print(f"  {name}, {case}: {'; '.join(wrong) or 'slow'} ({taken:.1f} s)", flush=True)


def print_table(table: dict[str, Counter[str]]) -> None:
    """Print a row a family, and the rate at which refinement fell back."""
    print(f"{'':28}{'cases':>8}" + "".join(f"{column:>10}" for column in COLUMNS))
    everything: Counter[str] = Counter()
    for name, found in table.items():
        everything.update(found)
        print(f"{name:28}{found['cases']:8}" + "".join(f"{found[column]:10}" for column in COLUMNS))
    print(f"{'in all':28}{everything['cases']:8}" + "".join(f"{everything[column]:10}" for column in COLUMNS))
    rate = everything["kept"] / max(everything["crossings"], 1)
    print(f"crossings left where the chords crossed: {everything['kept']} of {everything['crossings']} ({rate:.2e})")
    print(f"looked at more closely: {everything['symdiff']} areas, {everything['recount']} counts")


def main() -> None:
    """Run the sweep and print the table; ends with 1 where any result was wrong."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--random", type=int, default=400)
    options.add_argument("--contrived", type=int, default=260)
    options.add_argument("--heaps", type=int, default=20)
    options.add_argument("--chains", type=int, default=50)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--show", action="store_true", help="name the cases that are wrong or slow")
    options.add_argument("--only", help="one family")
    options.add_argument("--case", type=int, help="one case")
    chosen = options.parse_args()
    table = sweep(result_cases.RANDOM, chosen.random, chosen, scattered=True)
    table |= sweep(result_cases.CONTRIVED, chosen.contrived, chosen, scattered=False)
    table |= sweep(result_cases.HEAPS, chosen.heaps, chosen, scattered=True, operations=("merge",))
    if not chosen.only or chosen.only == "chains":
        found = table.setdefault("chains", Counter())
        for case in range(chosen.chains):
            if chosen.case is not None and case != chosen.case:
                continue
            start = time.process_time()
            wrong = check_chain(np.random.default_rng([chosen.seed, case, 2]), found)
            _note(chosen, found, "chains", f"case {case}", wrong, start)
    print_table(table)
    sys.exit(any(found["wrong"] for found in table.values()))


if __name__ == "__main__":
    main()
