"""Strokes and parallels held against what they should be: error, segments, time.

    PYTHONPATH=tests python tests/benchmarks/bench_outlines.py [--strokes N] [--parallels N] [--only errors|times]

Errors, in micrometres, over art of 30 mm (strokes) and 300 mm (parallels):

- a stroke against SVG 2's own listing of it, built bit by bit (tests/swept.py) from the source, both ways: the
  largest distance from either outline to the other, holes thinner than twice the sliver limit left out; dashes are
  cut anew here, by lengths summed over chords;
- a round parallel against the definition by distance: how far the distance from each of 16 places a segment to the
  source (chords within 1e-5 mm) is from the distance asked;
- parallels with every corner, both ways, against a one-sided listing of the band beside the source; opened and closed
  regions against GEOS's buffers of a source cut into 600 chords a segment, 150 chords a quarter turn.

Segments out over segments in; time by size. No time and no error is asserted here.
"""

from __future__ import annotations

import argparse
import time
from typing import TYPE_CHECKING, TypeVar

import numpy as np
import shapely

from bladewise.document import Colour, Lettering, Style
from bladewise.geometry.affine import Affine
from bladewise.geometry.booleans import resolve
from bladewise.geometry.curves import point_at, sub_segments
from bladewise.geometry.flatten import flatten
from bladewise.geometry.parallels import Corner, closed, opened, parallel
from bladewise.geometry.path import EMPTY, Path, PathBuilder, SegmentKind, joined
from bladewise.geometry.regions import Region
from bladewise.geometry.strokes import LineCap, LineJoin, StrokeGeometry, stroke_to_shape
from bladewise.geometry.tolerances import SLIVER_MM
from bladewise.lettering import set_outline
from swept import cross, fan, farthest, polygon_of, right_of, sampled, strips, swept

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

Kind = TypeVar("Kind", LineCap, LineJoin)

PLACES = 16
"""Places looked at on every segment of a result."""

BAR_MM = 0.005
"""The promise."""


def wandering(rng: np.random.Generator, *, curvy: bool = False) -> Path:
    """Return a path of one to five segments of every kind, as unruly as they come."""
    pen, here = PathBuilder(), rng.uniform(0, 30, 2)
    pen.move_to(tuple(here))
    for _ in range(int(rng.integers(1, 6))):
        a, b, there = rng.uniform(0, 30, (3, 2))
        match 2 if curvy else int(rng.integers(4)):
            case 0:
                pen.line_to(tuple(there))
            case 1:
                pen.quadratic_to(tuple(a), tuple(there))
            case 2:
                pen.cubic_to(tuple(a), tuple(b), tuple(there))
            case _:
                large, sweep = rng.random() < 0.5, rng.random() < 0.5
                radii, angle = rng.uniform(3, 15, 2), rng.uniform(0, 90)
                pen.svg_arc_to(*radii, angle, large=large, sweep=sweep, point=tuple(there))
    if rng.random() < 0.5:
        pen.close()
    return pen.path()


def any_of(rng: np.random.Generator, kind: type[Kind]) -> Kind:
    """Return a member of an enumeration."""
    return list(kind)[rng.integers(len(kind))]


def cusped(rng: np.random.Generator) -> Path:
    """Return a cubic that stops and turns right back in its middle, turned and stretched at random."""
    pen = PathBuilder()
    pen.move_to((0, 0))
    pen.cubic_to((30, 30), (0, 30), (30, 0))
    stretched = Affine(*(np.eye(2) + rng.uniform(-0.4, 0.4, (2, 2))).ravel(), 0.0, 0.0)
    return pen.path().transformed(Affine.rotated(rng.uniform(0, 360)).after(stretched))


def blob(seed: int, size: float = 300.0) -> Region:
    """Return a closed outline of curves around a centre: bays, bulges, corners."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(4, 9))
    angle = np.sort(rng.uniform(0, 2 * np.pi, count)) + np.linspace(0, 2.0, count)
    nodes = np.stack([np.cos(angle), np.sin(angle)], axis=1) * (rng.uniform(0.25, 0.5, count) * size)[:, None]
    pen = PathBuilder()
    pen.move_to(tuple(nodes[0]))
    for a, b in zip(nodes, np.roll(nodes, -1, axis=0), strict=True):
        one, two = rng.uniform(-0.2, 0.2, (2, 2)) * size
        pen.cubic_to(tuple(a + one), tuple(b + two), tuple(b))
    pen.close()
    return Region(resolve(Region(pen.path())))


def rough(count: int, shapes: int = 20, size: float = 25.0) -> Path:
    """Return blots with jagged edges, as a scan traced without care leaves them: `count` cubics in all."""
    side = int(np.ceil(np.sqrt(shapes)))
    parts = []
    for number in range(shapes):
        rng = np.random.default_rng(3 + number)
        per = count // shapes
        a = np.arange(per) * 2.0 * np.pi / per
        reach = size * (1 + 0.25 * np.sin(3 * a + number) + 0.15 * np.sin(7 * a)) + rng.normal(0, 0.3, per)
        centre = np.array([number % side, number // side]) * size * 3
        nodes = np.stack([np.cos(a), np.sin(a)], axis=1) * reach[:, None] + centre
        after = np.roll(nodes, -1, axis=0)
        way = after - nodes
        aside = right_of(way) * rng.uniform(-0.3, 0.3, (per, 1))
        points = np.stack([nodes, nodes + way / 3.0 + aside, nodes + way / 1.5 - aside, after], axis=1)
        kinds = np.full(per, int(SegmentKind.CUBIC), np.uint8)
        parts.append(Path(points, kinds, np.ones(per), np.zeros(1, np.int64), np.ones(1, np.bool_)))
    return joined(parts)


def lettering(text: str = "Puddlewick coffee & son", size_mm: float = 50.0) -> Path:
    """Return a line of lettering in the shipped sans."""
    return set_outline(Lettering("t", text, "Josefin Sans", size_mm, Style(fill=Colour(0, 0, 0)))).outline


def cut_anew(path: Path, pattern: tuple[float, ...], offset: float) -> tuple[Path, list[NDArray[np.float64]]]:
    """Return the dashes of a path, and where those of no length stand, by lengths summed over chords."""
    pattern = pattern * (1 + len(pattern) % 2)
    whole, pieces, dots = sum(pattern), [], []
    for one in path.subpaths():
        t = np.linspace(0.0, 1.0, 4001)
        size = [
            np.append(0.0, np.cumsum(np.hypot(*np.diff(point_at(*(np.repeat(each[row : row + 1], len(t), axis=0)
            for each in (one.points, one.kinds, one.weights)), t), axis=0).T)))
            for row in range(len(one))
        ]  # fmt: skip
        upto = np.append(0.0, np.cumsum([each[-1] for each in size]))
        edges = np.cumsum((0.0, *pattern))[:-1]
        for turn in range(int((upto[-1] + offset % whole) / whole) + 1):
            for begin, length in zip(edges[::2], pattern[::2], strict=True):
                start = begin + turn * whole - offset % whole
                stop = start + length
                if stop <= 0.0 or start >= upto[-1]:
                    continue
                rows, t0, t1 = [], [], []
                for row in range(len(one)):
                    low, high = (np.interp(at - upto[row], size[row], t) for at in (start, stop))
                    if high > low or (length == 0.0 and upto[row] <= start < upto[row + 1]):
                        rows.append(row), t0.append(low), t1.append(high)
                chosen = np.array(rows)
                kinds = one.kinds[chosen]
                parts = sub_segments(one.points[chosen], kinds, one.weights[chosen], np.array(t0), np.array(t1))
                if length == 0.0:
                    dots.append(parts[0][0, 0])
                    continue
                lone = np.zeros(1, np.int64), np.zeros(1, np.bool_)
                pieces.append(Path(parts[0], kinds, parts[1], *lone))
    return joined(pieces), dots


def listed(path: Path, stroke: StrokeGeometry) -> shapely.Geometry:
    """Return the area that SVG 2 lists for a stroke; with dashes, of butt-ended or round ones."""
    form = stroke.width_mm, stroke.cap, stroke.join, stroke.miter_limit
    inner = path if stroke.pen is None else path.transformed(stroke.pen.inverse())
    if stroke.dash:
        parts, dots = cut_anew(inner, stroke.dash, stroke.dash_offset)
        discs = [shapely.Point(*dot).buffer(stroke.width_mm / 2.0, quad_segs=100) for dot in dots]
        area = shapely.union_all([*(swept(one, *form) for one in parts.subpaths()), *discs])
    else:
        area = swept(inner, *form)
    if stroke.pen is None:
        return area
    a, b, c, d, e, f = stroke.pen
    return shapely.transform(area, lambda at: at @ np.array([[a, b], [c, d]]) + np.array([e, f]))


def side_band(path: Path, distance: float, join: str) -> shapely.Geometry:
    """Return what lies within a distance left of closed outlines, with joins on that side alone; miter limit 4."""
    parts = []
    for one in path.subpaths():
        runs = [sampled(one, index) for index in range(len(one))]
        for place, tangent in runs:
            parts += strips(place - 0.5 * distance * right_of(tangent), tangent, distance / 2.0)
        for before, after in zip(runs, runs[1:] + runs[:1], strict=True):
            centre, into, out = before[0][-1], before[1][-1], after[1][0]
            turn = np.arctan2(float(cross(into, out)), float(into @ out))
            a, b = -distance * right_of(into), -distance * right_of(out)
            if turn < 1e-9:
                continue
            if join == "round":
                parts.append(fan(centre, a, turn))
            elif join == "miter" and 1.0 / max(np.cos(turn / 2.0), 1e-12) <= 4.0:
                tip = (a + b) / (2.0 * np.cos(turn / 2.0) ** 2)
                parts.append(shapely.Polygon([centre, centre + a, centre + tip, centre + b]))
            else:
                parts.append(shapely.Polygon([centre, centre + a, centre + b]))
    solid = [part for part in parts if part.geom_type == "Polygon" and part.area > 1e-14]
    return shapely.union_all(solid).buffer(2e-5, join_style="mitre").buffer(-2e-5, join_style="mitre")


def from_distance(result: Path, source: Path, distance: float) -> float:
    """Return by how much the distance of the result's places to the source differs from the one asked, at most."""
    flat = flatten(source, 1e-5)
    last = np.append(flat.starts[1:], len(flat.coords)) - 1
    start = np.delete(np.arange(len(flat.coords)), last)
    tree = shapely.STRtree(shapely.linestrings(np.stack([flat.coords[start], flat.coords[start + 1]], axis=1)))
    t = np.tile(np.arange(PLACES) / PLACES, len(result))
    rows = np.repeat(np.arange(len(result)), PLACES)
    places = point_at(result.points[rows], result.kinds[rows], result.weights[rows], t)
    _, apart = tree.query_nearest(shapely.points(places), all_matches=False, return_distance=True)
    return float(np.abs(apart - abs(distance)).max(initial=0.0))


def row(name: str, errors: list[float], segments: tuple[int, int] = (0, 0), note: str = "") -> None:
    """Print one row of the table of errors."""
    um = 1e3 * np.array(errors)
    ratio = f"{segments[1] / segments[0]:8.2f}" if segments[0] else " " * 8
    over = int((um > 1e3 * BAR_MM).sum())
    worst = f"{np.median(um):8.2f} {np.quantile(um, 0.9):8.2f} {um.max():8.2f}"
    print(f"{name:44} {len(um):5d} {worst} {over:6d} {ratio}  {note}", flush=True)


def without_slivers(area: shapely.Geometry) -> shapely.Geometry:
    """Return an area without parts and holes thinner than twice the sliver limit: they hang on a micrometre."""
    parts = []
    for part in shapely.get_parts(area):
        if 2.0 * part.area <= 2.0 * SLIVER_MM * part.length:
            continue
        holes = [shapely.Polygon(ring) for ring in part.interiors]
        kept = [hole.exterior for hole in holes if 2.0 * hole.area > 2.0 * SLIVER_MM * hole.length]
        parts.append(shapely.Polygon(part.exterior, kept))
    return shapely.MultiPolygon(parts)


def strokes(count: int) -> None:
    """Print the rows of strokes, each family from its own seeds."""

    def plain(rng: np.random.Generator) -> tuple[Path, StrokeGeometry]:
        width, limit = float(rng.choice([0.5, 1, 2, 4, 8])), float(rng.choice([1, 4, 10]))
        return wandering(rng), StrokeGeometry(width, any_of(rng, LineCap), any_of(rng, LineJoin), limit)

    def wide(rng: np.random.Generator) -> tuple[Path, StrokeGeometry]:
        return wandering(rng, curvy=True), StrokeGeometry(16.0, LineCap.ROUND, any_of(rng, LineJoin))

    def dashes(rng: np.random.Generator) -> tuple[Path, StrokeGeometry]:
        pattern = tuple(rng.uniform(0.5, 6.0, int(rng.integers(1, 5))))
        path = next(path for _ in range(99) if not (path := wandering(rng)).closed[0])
        width, cap, join = float(rng.choice([0.5, 1, 2])), any_of(rng, LineCap), any_of(rng, LineJoin)
        return path, StrokeGeometry(width, cap, join, dash=pattern, dash_offset=rng.uniform(-10, 10))

    def dotted(rng: np.random.Generator) -> tuple[Path, StrokeGeometry]:
        path = next(path for _ in range(99) if not (path := wandering(rng)).closed[0])
        pattern = (0.0, rng.uniform(1.0, 4.0), rng.uniform(1.0, 4.0), rng.uniform(1.0, 4.0))
        return path, StrokeGeometry(0.8, LineCap.ROUND, LineJoin.ROUND, dash=pattern, dash_offset=rng.uniform(0, 5))

    def uneven(rng: np.random.Generator) -> tuple[Path, StrokeGeometry]:
        path, stroke = plain(rng)
        pen = Affine.rotated(rng.uniform(0, 360)).after(
            Affine(rng.uniform(0.5, 2), 0.3, -0.2, rng.uniform(0.5, 2), 0, 0)
        )
        return path, StrokeGeometry(stroke.width_mm, stroke.cap, stroke.join, stroke.miter_limit, pen=pen)

    families = {
        "strokes, all caps and joins": (plain, count),
        "strokes wider than their bends": (wide, count // 2),
        "dashes with an offset, all caps": (dashes, count // 3),
        "dots among dashes": (dotted, count // 3),
        "uneven pens": (uneven, count // 2),
    }
    for name, (make, many) in families.items():
        errors, into, out = [], 0, 0
        for seed in range(many):
            path, stroke = make(np.random.default_rng(10_000 + seed))
            shape = stroke_to_shape(path, stroke)
            errors.append(farthest(*map(without_slivers, (polygon_of(shape), listed(path, stroke)))))
            into, out = into + 2 * len(path), out + len(shape)
        row(name, errors, (0, 0) if "dash" in name else (into, out), "" if "dash" in name else "a side of a segment")
    errors = []
    for seed in range(count // 3):
        rng = np.random.default_rng(seed)
        path, width = cusped(rng), float(rng.choice([0.5, 2.0, 6.0]))
        shape = stroke_to_shape(path, StrokeGeometry(width, LineCap.ROUND, LineJoin.ROUND))
        errors.append(from_distance(shape, path, width / 2.0))
    row("cusps, by distance", errors)


def grown(region: Region, distance: float, corner: str) -> shapely.Geometry:
    """Return a region with a band listed bit by bit added outside (> 0) or taken off inside (< 0)."""
    base, path = polygon_of(region.path, 1000), region.path
    band = side_band(path if distance > 0.0 else path.reversed(), abs(distance), corner)
    exact = base.union(band) if distance > 0.0 else base.difference(band)
    return without_slivers(exact)  # hairlines where the chords of base and band differ


def parallels(count: int) -> None:
    """Print the rows of parallels, of blobs over 300 mm and of lettering."""
    sources = [blob(seed) for seed in range(count)]
    letters = Region(resolve(Region(lettering())))
    for name, art in (("unruly blobs", sources), ("lettering", [letters])):
        for distance in (0.25, 2.0, 8.0, -0.25, -0.8, -2.0):
            errors, into, out, arcs = [], 0, 0, 0
            for region in art:
                shape = parallel(region, distance)
                errors.append(from_distance(shape, region.path, distance))
                into, out = into + len(region.path), out + len(shape)
                arcs += int((shape.kinds == SegmentKind.ARC).sum() - (region.path.kinds == SegmentKind.ARC).sum())
            note = f"{(out - max(arcs, 0)) / into:.2f} without the corners' arcs"
            row(f"{name}, round, {distance:+g} mm", errors, (into, out), note)
    for corner in Corner:
        for distance in (2.0, -2.0):
            errors, into, out = [], 0, 0
            for region in sources[: max(count // 3, 1)]:
                shape = parallel(region, distance, corner=corner)
                errors.append(farthest(polygon_of(shape, 400), grown(region, distance, corner)))
                into, out = into + len(region.path), out + len(shape)
            row(f"unruly blobs, {corner}, {distance:+g} mm, listed", errors, (into, out))
    for work, sign in ((opened, -1.0), (closed, 1.0)):
        errors = []
        for region in sources[: max(count // 3, 1)]:
            exact = polygon_of(region.path, 600).buffer(sign * 2.0, quad_segs=150).buffer(-sign * 2.0, quad_segs=150)
            errors.append(farthest(polygon_of(work(region, 2.0), 400), exact))
        row(f"unruly blobs, {work.__name__} by 2 mm", errors)


def timed(work: Callable[[], Path]) -> tuple[float, Path]:
    """Return the processor time of a run in seconds, and what it made."""
    start = time.process_time()
    made = work()
    return time.process_time() - start, made


def times() -> None:
    """Print how long outlines of growing art take."""
    print(
        f"\n{'processor time, ms':44} {'art':>6} " + " ".join(f"{d:>13}" for d in ("0.5 mm", "3 mm", "6 mm", "-3 mm"))
    )
    for name, art in [
        *((f"rough blots, {count} cubics", rough(count)) for count in (1000, 2000, 5000, 10_000)),
        ("a line of lettering, 50 mm", lettering()),
        ("a paragraph of lettering, 4 mm", lettering("\n".join(["Puddlewick coffee & son, of Mill Lane"] * 6), 4.0)),
    ]:
        region = Region(resolve(Region(art)))
        cells = []
        for distance in (0.5, 3.0, 6.0, -3.0):
            took, made = timed(lambda region=region, distance=distance: parallel(region, distance))
            cells.append(f"{1e3 * took:6.0f} →{len(made):5d}")
        print(f"{name:44} {len(region.path):6d} " + " ".join(cells), flush=True)
    for name, art in (("rough blots, 5000 cubics", rough(5000)), ("a line of lettering, 50 mm", lettering())):
        cells = []
        for width in (0.5, 2.0):
            took, made = timed(lambda art=art, width=width: stroke_to_shape(art, StrokeGeometry(width)))
            cells.append(f"{width:g} mm wide {1e3 * took:6.0f} →{len(made or EMPTY):6d}")
        print(f"stroke of {name:34} {len(art):6d} " + "  ".join(cells), flush=True)


def main() -> None:
    """Print the tables."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--strokes", type=int, default=150)
    options.add_argument("--parallels", type=int, default=24)
    options.add_argument("--only", choices=("errors", "times"))
    chosen = options.parse_args()
    if chosen.only != "times":
        print(f"{'largest error of each, µm':44} cases   median     90 %    worst  > 5 µm  out/in")
        strokes(chosen.strokes)
        parallels(chosen.parallels)
    if chosen.only != "errors":
        times()


if __name__ == "__main__":
    main()
