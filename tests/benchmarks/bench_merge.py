"""Times of the curve-true merge as ratios to general kernels, all from one run.

    python tests/benchmarks/bench_merge.py [--profile]

Rows: merge of many random closed outlines of cubics, sparse and dense, against shapely's `union_all`
on the plain flattening at the same tolerance; 500 shapes against skia-pathops (a curve-native
kernel); growth from 10,000 to 100,000 cubics. No time is asserted anywhere: machines differ.
"""

from __future__ import annotations

import argparse
import cProfile
import pstats
import time
from typing import TYPE_CHECKING

import numpy as np
import shapely

from bladewise.geometry.booleans import merge
from bladewise.geometry.curves import segment_areas
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import Path, SegmentKind, joined
from bladewise.geometry.rebuild import Tally
from bladewise.geometry.regions import Region
from bladewise.geometry.tolerances import FLATTENING_MM

if TYPE_CHECKING:
    from collections.abc import Callable


def outline(rng: np.random.Generator, centre: tuple[float, float], radius_mm: float, count: int) -> Path:
    """Return a smooth closed outline of cubics round a centre."""
    angle = np.arange(count) * 2.0 * np.pi / count + rng.random()
    reach = radius_mm * (0.8 + 0.3 * rng.random(count))
    nodes = np.asarray(centre) + reach[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    handle = (np.roll(nodes, -1, axis=0) - np.roll(nodes, 1, axis=0)) / 6.0
    after = np.roll(nodes, -1, axis=0)
    points = np.stack([nodes, nodes + handle, after - np.roll(handle, -1, axis=0), after], axis=1)
    kinds = np.full(count, int(SegmentKind.CUBIC), np.uint8)
    return Path(points, kinds, np.ones(count), np.zeros(1, np.int64), np.ones(1, np.bool_))


def field(shapes: int, per_shape: int, spread: float, radius_mm: float = 10.0) -> list[Region]:
    """Return outlines scattered over a square whose side is `spread` radii a shape in each direction."""
    rng = np.random.default_rng(7)
    side = radius_mm * spread * np.sqrt(shapes)
    return [
        Region(outline(rng, (side * rng.random(), side * rng.random()), radius_mm, per_shape)) for _ in range(shapes)
    ]


def timed(work: Callable[[], object], repeats: int) -> float:
    """Return the least processor time of some runs, in seconds (all kernels here run in one thread)."""
    best = np.inf
    for _ in range(repeats):
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return float(best)


def plain_union(regions: list[Region]) -> object:
    """Return shapely's union of the plain flattening, flattening included, as another program would do it."""
    flat = flatten(joined(region.path for region in regions), FLATTENING_MM)
    ring = np.searchsorted(flat.starts, np.arange(len(flat.coords)), side="right") - 1
    return shapely.union_all(shapely.polygons(shapely.linearrings(flat.coords, indices=ring)))


def skia_union(regions: list[Region]) -> object:
    """Return skia-pathops' union of the same curves."""
    import pathops

    builder = pathops.OpBuilder()
    for region in regions:
        path = pathops.Path()
        pen = path.getPen()
        pen.moveTo(tuple(region.path.points[0, 0]))
        for _, one, two, end in region.path.points.tolist():
            pen.curveTo(one, two, end)
        pen.closePath()
        builder.add(path, pathops.PathOp.UNION)
    return builder.resolve()


def row(name: str, regions: list[Region], repeats: int) -> float:
    """Print one row and return our time."""
    tally = Tally()
    merged = merge(regions, tally=tally)
    polygons = np.array([shapely.Polygon(flatten(region.path, FLATTENING_MM).coords) for region in regions])
    ours = timed(lambda: merge(regions), repeats)
    union_only = timed(lambda: shapely.union_all(polygons), repeats)
    whole = timed(lambda: plain_union(regions), 1)
    segments = sum(len(region.path) for region in regions)
    chords = int(shapely.get_num_coordinates(shapely.union_all(polygons)))
    area = float(segment_areas(merged.points, merged.kinds, merged.weights).sum())
    print(
        f"{name:32} ours {ours * 1e3:8.0f} ms  union_all {union_only * 1e3:8.0f} ms  ratio {ours / union_only:5.2f}"
        f"  (with its flattening {ours / whole:5.2f})  segments {segments} -> {len(merged)},"
        f" crossings {tally.crossings}, kept {tally.kept}, chords {chords}, area {area:.3f}"
    )
    return ours


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--profile", action="store_true", help="show where the time goes in the dense case")
    options.add_argument("--repeats", type=int, default=3)
    chosen = options.parse_args()
    if chosen.profile:
        for spread in (1.4,):
            regions = field(2000, 50, spread)
            merge(regions[:10])
            profile = cProfile.Profile()
            profile.runcall(merge, regions)
            pstats.Stats(profile).sort_stats("tottime").print_stats(28)
        return
    row("100,000 cubics, sparse", field(2000, 50, 2.6), chosen.repeats)
    large = row("100,000 cubics, middling", field(2000, 50, 1.4), chosen.repeats)
    row("100,000 cubics, dense", field(2000, 50, 0.7), chosen.repeats)
    small = row("10,000 cubics, middling", field(200, 50, 1.4), chosen.repeats)
    print(f"{'growth 10,000 -> 100,000':32} {large / small:5.2f} times")
    row("500 shapes of 8 cubics", field(500, 8, 1.4), chosen.repeats)
    some = field(500, 8, 1.4)
    ours, skia = timed(lambda: merge(some), chosen.repeats), timed(lambda: skia_union(some), 1)
    name = "500 shapes against skia-pathops"
    print(f"{name:32} ours {ours * 1e3:8.0f} ms  skia {skia * 1e3:8.0f} ms  ratio {ours / skia:5.2f}")


if __name__ == "__main__":
    main()
