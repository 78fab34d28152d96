"""Art for the sweep of wrong results: random, contrived to be hard, and chains of cuts.

Every maker takes a random generator and returns regions; `RANDOM` and `CONTRIVED` name them. Glyph
outlines come from the shipped face and, where it has been fetched, from Pacifico.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from pathlib import Path as FilePath
from typing import TYPE_CHECKING

import numpy as np
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont

from bladewise.geometry.affine import Affine
from bladewise.geometry.booleans import cut_out, keep_common, pieces, split_at_overlaps, visible_parts
from bladewise.geometry.curves import point_at, sub_segments
from bladewise.geometry.path import Path, PathBuilder, SegmentKind, circle, ellipse, joined, polygon, rectangle
from bladewise.geometry.regions import FillRule, Region

if TYPE_CHECKING:
    from collections.abc import Callable

    Maker = Callable[[np.random.Generator], list[Region]]

ROOT = FilePath(__file__).resolve().parents[2]
FACES = (
    ROOT / "app/bladewise/lettering/shipped/JosefinSans-Bold.ttf",
    ROOT / ".venv/outside/pacifico/package/400Regular/Pacifico_400Regular.ttf",
)
LETTERS = "ABCDEGKMOQRSWabcdefghkmopqrsyz&@%8369"


# ------------------------------------------------------------------------------------------- single outlines


def from_nodes(nodes: np.ndarray, handle: float = 1 / 6, kinds: np.ndarray | None = None) -> Path:
    """Return a closed outline through nodes: smooth cubics, or the kinds given (SegmentKind a segment)."""
    count = len(nodes)
    slope = (np.roll(nodes, -1, axis=0) - np.roll(nodes, 1, axis=0)) * handle
    pen = PathBuilder()
    pen.move_to(tuple(nodes[0]))
    for index in range(count):
        after = (index + 1) % count
        here, there = nodes[index], nodes[after]
        kind = SegmentKind.CUBIC if kinds is None else SegmentKind(int(kinds[index]))
        if kind is SegmentKind.LINE:
            pen.line_to(tuple(there))
        elif kind is SegmentKind.QUADRATIC:
            pen.quadratic_to(tuple(here + 1.5 * slope[index]), tuple(there))
        elif kind is SegmentKind.CUBIC:
            pen.cubic_to(tuple(here + slope[index]), tuple(there - slope[after]), tuple(there))
        else:
            radius = float(np.hypot(*(there - here)))
            pen.svg_arc_to(radius, 0.8 * radius, 30, large=False, sweep=True, point=tuple(there))
    pen.close()
    return pen.path()


def blob(rng: np.random.Generator, *, mixed: bool = False) -> Path:
    """Return an outline round a place near the origin, some 10 mm across; `mixed` uses all kinds of segment."""
    count = int(rng.integers(3, 9))
    angle = np.arange(count) * 2 * math.pi / count + rng.random() * 6
    reach = 10 * (0.4 + 0.8 * rng.random(count))
    nodes = rng.uniform(-8, 8, 2) + reach[:, None] * np.c_[np.cos(angle), np.sin(angle)]
    return from_nodes(nodes, kinds=rng.integers(1, 5, count) if mixed else None)


def tangled(rng: np.random.Generator) -> Path:
    """Return an outline that crosses itself, of cubics through nodes anywhere."""
    return from_nodes(rng.uniform(-12, 12, (int(rng.integers(4, 9)), 2)), handle=float(rng.uniform(0.1, 0.4)))


def star(rng: np.random.Generator) -> Path:
    """Return a star drawn in one stroke, crossing itself, its sides straight or bent."""
    count = int(rng.choice([5, 7, 9, 11]))
    angle = np.arange(count) * 2 * math.pi * (count // 2) / count + rng.random()
    nodes = rng.uniform(-4, 4, 2) + rng.uniform(6, 14) * np.c_[np.cos(angle), np.sin(angle)]
    if rng.random() < 0.5:
        return polygon([tuple(node) for node in nodes])
    return from_nodes(nodes, handle=float(rng.uniform(0.02, 0.1)))


def strip(rng: np.random.Generator) -> Path:
    """Return a long thin band whose two sides are bent alike."""
    length, width, lift = rng.uniform(20, 60), 10 ** rng.uniform(-1.5, 0.5), rng.uniform(-15, 15)
    pen = PathBuilder()
    pen.move_to((-length / 2, 0))
    pen.cubic_to((-length / 6, lift), (length / 6, -lift), (length / 2, 0))
    pen.line_to((length / 2, width))
    pen.cubic_to((length / 6, width - lift), (-length / 6, width + lift), (-length / 2, width))
    pen.close()
    return pen.path().transformed(Affine.rotated(float(rng.uniform(0, 360))))


def cell(rng: np.random.Generator) -> Path:
    """Return a figure as clip art has it on a grid: much touches, abuts or coincides."""
    x, y, size = int(rng.integers(-4, 5)), int(rng.integers(-4, 5)), int(rng.integers(1, 6))
    match int(rng.integers(0, 6)):
        case 0:
            return rectangle(x, y, size, int(rng.integers(1, 6)))
        case 1:
            return rectangle(x, y, size + 1, size + 1, 0.5, 0.5)
        case 2:
            return circle((x, y), size)
        case 3:
            return ellipse((x, y), size, size / 2).transformed(Affine.rotated(float(rng.choice([0, 45, 90]))))
        case 4:
            return joined([circle((x, y), size), circle((x, y), size / 2).reversed()])
        case _:
            return polygon([(x, y), (x + size, y), (x, y + size)])


@cache
def glyphs() -> list[Path]:
    """Return outlines of letters, some 20 mm high, y down."""
    out = []
    for file in FACES:
        if not file.exists():
            continue
        font = TTFont(file)
        shapes, names, scale = font.getGlyphSet(), font.getBestCmap(), 20 / font["head"].unitsPerEm
        for letter in LETTERS:
            pen, sink = DecomposingRecordingPen(shapes), PathBuilder()
            shapes[names[ord(letter)]].draw(pen)
            for verb, points in pen.value:
                _draw(sink, verb, [(x * scale, -y * scale) for x, y in points if x is not None] if points else [])
            out.append(sink.path())
    return out


def _draw(sink: PathBuilder, verb: str, points: list[tuple[float, float]]) -> None:
    if verb == "moveTo":
        sink.move_to(points[0])
    elif verb == "lineTo":
        sink.line_to(points[0])
    elif verb == "curveTo":
        sink.cubic_to(*points)
    elif verb == "qCurveTo":  # off-curve points with implied nodes halfway between them
        for control, after in pairwise(points[:-1]):
            sink.quadratic_to(control, ((control[0] + after[0]) / 2, (control[1] + after[1]) / 2))
        sink.quadratic_to(points[-2], points[-1])
    else:
        sink.close()


def glyph(rng: np.random.Generator) -> Path:
    """Return a letter, turned, sheared and moved a little."""
    choice = glyphs()
    path = choice[int(rng.integers(len(choice)))]
    path = path.transformed(Affine.moved(*(-np.array(path.bounds()).reshape(2, 2).mean(axis=0)).tolist()))
    if rng.random() < 0.7:
        path = path.transformed(Affine.rotated(float(rng.uniform(0, 360))))
    return path.transformed(Affine.moved(*rng.uniform(-7, 7, 2).tolist()))


# ------------------------------------------------------------------------------------------------ random art


def _rule(rng: np.random.Generator) -> FillRule:
    return FillRule.NONZERO if rng.random() < 0.5 else FillRule.EVEN_ODD


def _several(maker: Callable[[np.random.Generator], Path], least: int, most: int) -> Maker:
    def make(rng: np.random.Generator) -> list[Region]:
        return [Region(maker(rng), _rule(rng)) for _ in range(int(rng.integers(least, most + 1)))]

    return make


def _anything(rng: np.random.Generator) -> Path:
    return (blob, tangled, star, strip, cell, glyph)[int(rng.integers(0, 6))](rng)


RANDOM: dict[str, Maker] = {
    "pairs of blobs": _several(blob, 2, 2),
    "sets of blobs": _several(lambda rng: blob(rng, mixed=True), 3, 6),
    "clip art on a grid": _several(cell, 3, 10),
    "letters": _several(glyph, 2, 3),
    "strips": _several(strip, 2, 5),
    "stars": _several(star, 1, 3),
    "self-crossing blobs": _several(tangled, 1, 3),
    "anything": _several(_anything, 2, 4),
}


def placed(rng: np.random.Generator, regions: list[Region]) -> list[Region]:
    """Return art at another size, 1e-3 to 1e6 mm across, or elsewhere on the roll, for four cases in ten."""
    choice = rng.random()
    if choice < 0.25:
        size = 10 ** rng.uniform(-4.3, 4.7)  # the art is some 20 mm across
        affine = Affine.scaled(float(size), float(size))
    elif choice < 0.4:
        affine = Affine.moved(*(10 ** rng.uniform(2, 5, 2)).tolist())
    else:
        return regions
    return [Region(region.path.transformed(affine), region.rule) for region in regions]


# --------------------------------------------------------------------------------------------- contrived art

GAPS_MM = (0.0, 1e-12, 1e-9, 1e-6, 1e-5, 1e-4, 1e-3, 5e-3)


def _gap(rng: np.random.Generator) -> float:
    return float(rng.choice(GAPS_MM)) * (1 if rng.random() < 0.5 else -1)


def split_nodes(rng: np.random.Generator, path: Path, *, roll: bool = True) -> Path:
    """Return the same closed outline with other nodes: split at random, begun elsewhere, perhaps reversed."""
    rings = []
    for ring in path.subpaths():
        cuts = [np.sort(rng.uniform(0.02, 0.98, int(rng.integers(0, 3)))) for _ in range(len(ring))]
        stops = [np.concatenate([[0.0], cut, [1.0]]) for cut in cuts]
        rows = np.repeat(np.arange(len(ring)), [len(stop) - 1 for stop in stops])
        t0, t1 = np.concatenate([stop[:-1] for stop in stops]), np.concatenate([stop[1:] for stop in stops])
        points, weights = sub_segments(ring.points[rows], ring.kinds[rows], ring.weights[rows], t0, t1)
        points[1:, 0] = points[:-1, 3]
        turn = int(rng.integers(0, len(rows))) if roll else 0
        points, kinds = np.roll(points, turn, axis=0), np.roll(ring.kinds[rows], turn)
        rings.append(Path(points, kinds, np.roll(weights, turn), ring.starts, ring.closed))
    out = joined(rings)
    return out.reversed() if rng.random() < 0.5 else out


def near_tangent_circles(rng: np.random.Generator) -> list[Region]:
    """Circles side by side or one inside the other, all but touching, of radii up to 100 m."""
    r1, r2 = 10 ** rng.uniform(-1, 5, 2)
    gap, turn = _gap(rng), Affine.rotated(float(rng.choice([0, 17, 45, 90])))
    distance = r1 + r2 + gap if rng.random() < 0.5 else abs(r1 - r2) + gap
    return [Region(circle((0, 0), r1).transformed(turn)), Region(circle((distance, 0), r2).transformed(turn))]


def drawn_twice(rng: np.random.Generator) -> list[Region]:
    """The same outline again, with other nodes, perhaps the other way round."""
    path = (blob, cell, glyph, strip)[int(rng.integers(0, 4))](rng)
    return [Region(path), *(Region(split_nodes(rng, path)) for _ in range(int(rng.integers(1, 3))))]


def abutting(rng: np.random.Generator) -> list[Region]:
    """Two pieces cut from one, with a third that shares a part of one curve, put edge to edge."""
    path, cutter = Region(blob(rng)), Region(blob(rng))
    parts = [cut_out(path, [cutter]), keep_common([path, cutter]), cutter.path]
    third = keep_common([path, Region(strip(rng))])
    return [Region(part) for part in [*parts, third] if part]


def cusps(rng: np.random.Generator) -> list[Region]:
    """Cubics with a cusp or a small loop, and the same again beside it."""
    wide = float(rng.choice([1.0, 1.0, 1.0, 0.999, 1.001, 1.3]))

    def drop(turn_deg: float) -> Path:
        pen = PathBuilder()
        pen.move_to((0, 0))
        pen.cubic_to((10 * wide, 10), (0, 10), (10, 0))
        pen.line_to((10, -6))
        pen.cubic_to((10, -9), (0, -9), (0, -6))
        pen.close()
        return pen.path().transformed(Affine.rotated(turn_deg))

    return [Region(drop(float(rng.choice([0, 30, 90])))), Region(drop(float(rng.choice([0, 31, 180]))))]


def odd_handles(rng: np.random.Generator) -> list[Region]:
    """Handles of no length, handles on the chord, handles past one another."""

    def shape() -> Path:
        count = int(rng.integers(3, 7))
        angle = np.arange(count) * 2 * math.pi / count
        nodes = rng.uniform(-5, 5, 2) + 8 * np.c_[np.cos(angle), np.sin(angle)]
        pen = PathBuilder()
        pen.move_to(tuple(nodes[0]))
        for index in range(count):
            a, b = nodes[index], nodes[(index + 1) % count]
            aside = rng.uniform(-6, 6, 2)
            match int(rng.integers(0, 6)):
                case 0:
                    pen.cubic_to(tuple(a), tuple(b), tuple(b))
                case 1:
                    pen.cubic_to(tuple(a), tuple(b + aside), tuple(b))
                case 2:
                    pen.cubic_to(tuple(a + (b - a) / 3), tuple(a + (b - a) * 2 / 3), tuple(b))
                case 3:
                    way = b - a
                    pen.cubic_to(tuple(a + way * rng.uniform(0, 2)), tuple(b - way * rng.uniform(0, 2)), tuple(b))
                case 4:
                    pen.quadratic_to(tuple(a), tuple(b))
                case _:
                    pen.cubic_to(tuple(b), tuple(a), tuple(b))
        pen.close()
        return pen.path()

    return [Region(shape(), _rule(rng)) for _ in range(int(rng.integers(1, 4)))]


def folded(rng: np.random.Generator) -> list[Region]:
    """Cubics that run back along their own line, some of them tiny, beside a plain shape."""
    count, size = int(rng.integers(4, 30)), 10 ** rng.uniform(-1, 1)
    angle = np.arange(count) * 2 * math.pi / count
    nodes = size * np.c_[np.cos(angle), np.sin(angle)]
    if rng.random() < 0.3:
        nodes = np.repeat(size * np.array([[0, 0], [1, 0], [1, 1], [0, 1.0]]), 3, axis=0)
        nodes += np.tile(np.array([[0, 0], [0.2, 0], [0.1, 0]]) * size, (4, 1))
        count = len(nodes)
    pen = PathBuilder()
    pen.move_to(tuple(nodes[0]))
    for index in range(count):
        a, b = nodes[index], nodes[(index + 1) % count]
        way = b - a
        pen.cubic_to(tuple(a + way * rng.uniform(-0.5, 1.5)), tuple(b + way * rng.uniform(-1.5, 0.5)), tuple(b))
    pen.close()
    return [Region(rectangle(-size, -size / 3, 3 * size, size)), Region(pen.path(), _rule(rng))]


def loops_of_one(rng: np.random.Generator) -> list[Region]:
    """Closed outlines of a single cubic."""

    def loop() -> Path:
        at = rng.uniform(-3, 3, 2)
        pen = PathBuilder()
        pen.move_to(tuple(at))
        pen.cubic_to(tuple(at + rng.uniform(-15, 15, 2)), tuple(at + rng.uniform(-15, 15, 2)), tuple(at))
        pen.close()
        return pen.path()

    return [Region(loop(), _rule(rng)) for _ in range(int(rng.integers(1, 5)))]


def arcs_on_arcs(rng: np.random.Generator) -> list[Region]:
    """Sectors, lenses and discs of one circle, cut at other angles, all on the same arc."""
    radius, count = float(rng.uniform(1, 50)), int(rng.integers(2, 5))
    out = [Region(circle((0, 0), radius).transformed(Affine.rotated(float(rng.uniform(0, 90)))))]
    for _ in range(count):
        start, sweep = rng.uniform(0, 2 * math.pi), rng.uniform(0.05, 3.1)
        pen = PathBuilder()
        pen.move_to((0.0, 0.0) if rng.random() < 0.7 else (radius * 1.5, 0.0))
        pen.line_to((radius * math.cos(start), radius * math.sin(start)))
        end = (radius * math.cos(start + sweep), radius * math.sin(start + sweep))
        pen.svg_arc_to(radius, radius, 0, large=False, sweep=True, point=end)
        pen.close()
        out.append(Region(pen.path(), _rule(rng)))
    return out


def holes_in_holes(rng: np.random.Generator) -> list[Region]:
    """Rings inside rings, drawn in any direction, under both rules."""

    def nest() -> Path:
        at, count = rng.uniform(-3, 3, 2), int(rng.integers(2, 7))
        radii = np.sort(rng.uniform(0.5, 12, count))[::-1] if rng.random() < 0.7 else np.arange(count, 0, -1) * 2.0
        rings = [
            circle(tuple(at), r) if rng.random() < 0.6 else rectangle(at[0] - r, at[1] - r, 2 * r, 2 * r) for r in radii
        ]
        return joined(ring if rng.random() < 0.5 else ring.reversed() for ring in rings)

    return [Region(nest(), _rule(rng)) for _ in range(int(rng.integers(1, 4)))]


def compound(rng: np.random.Generator) -> list[Region]:
    """Several outlines in one path, overlapping one another, some of them drawn twice."""

    def several() -> Path:
        parts = [(blob, cell, glyph)[int(rng.integers(0, 3))](rng) for _ in range(int(rng.integers(2, 4)))]
        if rng.random() < 0.3:
            parts.append(split_nodes(rng, parts[0]))
        return joined(parts)

    return [Region(several(), _rule(rng)) for _ in range(int(rng.integers(1, 3)))]


def shared_corners(rng: np.random.Generator) -> list[Region]:
    """Shapes that meet in one point, or along one line with other corners."""
    count = int(rng.integers(3, 9))
    angle = np.sort(rng.uniform(0, 2 * math.pi, count))
    out = []
    for one, two in zip(angle, np.roll(angle, -1), strict=True):
        r1, r2 = rng.uniform(3, 12, 2)
        a, b = (r1 * math.cos(one), r1 * math.sin(one)), (r2 * math.cos(two), r2 * math.sin(two))
        pen = PathBuilder()
        pen.move_to((0, 0))
        pen.line_to(a)
        if rng.random() < 0.5:
            pen.quadratic_to((1.2 * a[0] + 0.1 * b[0], 1.2 * a[1] + 0.1 * b[1]), b)
        else:
            pen.line_to(b)
        pen.close()
        out.append(Region(pen.path()))
    return out


def near_coincident(rng: np.random.Generator) -> list[Region]:
    """An outline and itself a hair away: moved, scaled or turned by next to nothing."""
    path = (blob, cell, glyph)[int(rng.integers(0, 3))](rng)
    by = _gap(rng)
    match int(rng.integers(0, 3)):
        case 0:
            other = path.transformed(Affine.moved(by, by / 3))
        case 1:
            other = path.transformed(Affine.scaled(1 + by / 10, 1 + by / 10))
        case _:
            other = path.transformed(Affine.rotated(by * 3))
    return [Region(path), Region(other)]


def near_tangent_blobs(rng: np.random.Generator) -> list[Region]:
    """A curve and its mirror image at its highest point, all but touching."""
    path = blob(rng)
    top = path.bounds()[1]
    other = path.transformed(Affine(1, 0, 0, -1, float(rng.choice([0, 0, 0.1, 2])), 2 * top - _gap(rng)))
    return [Region(path), Region(other)]


CONTRIVED: dict[str, Maker] = {
    "near-tangent circles": near_tangent_circles,
    "near-tangent curves": near_tangent_blobs,
    "same outline, other nodes": drawn_twice,
    "outline a hair away": near_coincident,
    "pieces edge to edge": abutting,
    "cusps": cusps,
    "odd handles": odd_handles,
    "folded cubics": folded,
    "loops of one cubic": loops_of_one,
    "arcs on arcs": arcs_on_arcs,
    "holes in holes": holes_in_holes,
    "compound shapes": compound,
    "shared corners": shared_corners,
}


# ------------------------------------------------------------------------------------------------------ heaps


def small_on_large(rng: np.random.Generator) -> list[Region]:
    """A few large shapes and a hundred or more small ones on them: what hides most is the worst to lose."""
    large = [_at(rng, blob(rng, mixed=True), rng.uniform(1.0, 4.0)) for _ in range(int(rng.integers(1, 6)))]
    small = [_at(rng, _anything(rng), rng.uniform(0.05, 0.3)) for _ in range(int(rng.integers(100, 260)))]
    return [Region(path, _rule(rng)) for path in (*large, *small)]


def dots_along_rims(rng: np.random.Generator) -> list[Region]:
    """Dots in rows along the inside of a large outline."""
    outline = _at(rng, blob(rng), rng.uniform(2.0, 4.0))
    middle = np.array(outline.points[:, 0].mean(axis=0))
    dots = []
    for share in rng.uniform(0.5, 1.0, 2):
        for row in range(len(outline)):
            for t in np.linspace(0.0, 1.0, 24, endpoint=False):
                one = slice(row, row + 1)
                place = point_at(outline.points[one], outline.kinds[one], outline.weights[one], np.array([t]))[0]
                dots.append(circle(tuple(middle + share * (place - middle)), float(rng.uniform(0.1, 0.8))))
    return [Region(path) for path in (outline, *dots)]


def _at(rng: np.random.Generator, path: Path, size: float) -> Path:
    x, y = rng.uniform(-30.0, 30.0, 2)
    return path.transformed(Affine.scaled(size, size)).transformed(Affine.moved(x, y))


HEAPS: dict[str, Maker] = {"small on large": small_on_large, "dots along rims": dots_along_rims}
"""Much art at once, for merge alone: the only operation in which what is hidden stays coarse."""


# ----------------------------------------------------------------------------------------------------- chains


def chain(rng: np.random.Generator) -> tuple[Region, list[Region]]:
    """Return an outline and the pieces into which a random chain of cuts has parted it."""
    start = (blob, lambda r: blob(r, mixed=True), cell, glyph, strip)[int(rng.integers(0, 5))](rng)
    whole = Region(start)
    parts = [whole]
    for _ in range(int(rng.integers(3, 8))):
        at = int(rng.integers(len(parts)))
        part = parts.pop(at)
        cutter = _cutter(rng, parts)
        match int(rng.integers(0, 4)):
            case 0 | 1:
                new = [cut_out(part, [cutter]), keep_common([part, cutter])]
            case 2:
                new = [piece.path for piece in split_at_overlaps([part, cutter]) if 0 in piece.members]
            case _:
                below, above = visible_parts([part, Region(keep_common([part, cutter]))])
                new = [*pieces(below), above]
        parts[at:at] = [Region(path) for path in new if path]
    return whole, parts


def _cutter(rng: np.random.Generator, parts: list[Region]) -> Region:
    if parts and rng.random() < 0.35:  # a part of a part cuts the others
        path = parts[int(rng.integers(len(parts)))].path
        return Region(path.transformed(Affine.moved(*rng.uniform(-3, 3, 2).tolist())))
    return Region((blob, cell, strip, glyph)[int(rng.integers(0, 4))](rng))
