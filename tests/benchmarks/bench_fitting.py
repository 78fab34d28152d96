"""How few segments a refit needs, how near it stays, and how long it takes; all from one run.

    python tests/benchmarks/bench_fitting.py [--profile] [--glyphs N] [--rows WORD]

Chords: glyphs of the fonts at hand (the shipped one, and those of packaging/outside_data.py that are
there) set 40 mm an em, cut into chords at 0.01 and 0.05 mm and fitted again at one and a half times
that; and shapes whose best answer is known. Columns: segments the designer drew, chords, what shapely's
`simplify` (D. Douglas and T. Peucker) keeps of the chords at the same tolerance, what we give and its ratio
to the designer's; the largest and the mean distance to the designer's own curves, both ways, in
micrometres; the largest turn at a joint where none was drawn; processor time a chord, all outlines of
a row at once and each alone.

Nodes: the designer's quadratics made fewer at 0.01 and 0.05 mm, against fontTools' `qu2cu` on the same
quadratics at the same tolerance.

Traces: the glyphs as pixels of 0.25 mm draw them, smoothed by 0.3 mm. Corners: all corners of the glyphs
rounded by 1 mm; how many got that radius, a smaller one, none; the largest turn left at an arc's end.
No time is asserted anywhere: machines differ.
"""

from __future__ import annotations

import argparse
import cProfile
import itertools
import pstats
import string
import sys
import time
from pathlib import Path as FilePath
from typing import TYPE_CHECKING

import numpy as np
import shapely
from fontTools.pens.basePen import BasePen
from fontTools.qu2cu import quadratic_to_curves
from fontTools.ttLib import TTFont

from bladewise.geometry.affine import Affine
from bladewise.geometry.bernstein import points_on, rational_cubics
from bladewise.geometry.fitting import fit_polyline, fit_polylines, refit_all
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import area, nearest_each, tangent_at
from bladewise.geometry.overlaps import crossings
from bladewise.geometry.path import Path, PathBuilder, SegmentKind, circle, ellipse, joined, polygon, rectangle
from bladewise.geometry.regions import Region
from bladewise.geometry.rounding import round_corners
from bladewise.geometry.smoothing import smooth
from bladewise.geometry.winding import contains

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

ROOT = FilePath(__file__).resolve().parent.parent.parent
EM_MM = 40.0
_ALONE = 12
"""Outlines fitted each alone, for their time."""
PIXEL_MM = 0.25
DENSE = np.linspace(0.0, 1.0, 25)


class GlyphPen(BasePen):
    """Hands a glyph's outline on to a path, y turned down and scaled to `EM_MM`."""

    def __init__(self, glyphs: object, per_em: float) -> None:
        super().__init__(glyphs)
        self.builder = PathBuilder()
        self._scale = EM_MM / per_em

    def _mm(self, point: tuple[float, float]) -> tuple[float, float]:
        return point[0] * self._scale, -point[1] * self._scale

    def _moveTo(self, point: tuple[float, float]) -> None:
        self.builder.move_to(self._mm(point))

    def _lineTo(self, point: tuple[float, float]) -> None:
        self.builder.line_to(self._mm(point))

    def _curveToOne(self, one: tuple[float, float], two: tuple[float, float], end: tuple[float, float]) -> None:
        self.builder.cubic_to(self._mm(one), self._mm(two), self._mm(end))

    def _qCurveToOne(self, one: tuple[float, float], end: tuple[float, float]) -> None:
        self.builder.quadratic_to(self._mm(one), self._mm(end))

    def _closePath(self) -> None:
        self.builder.close()


def fonts() -> Iterator[tuple[str, FilePath]]:
    """Yield name and file of every font at hand."""
    yield "josefin", ROOT / "app/bladewise/lettering/shipped/JosefinSans-Bold.ttf"
    sets = ROOT / ".venv/outside"
    for name in ("pacifico", "lobster", "kaushan-script", "leckerli-one", "dancing-script", "great-vibes"):
        found = sorted((sets / name).rglob("*.ttf")) or sorted((sets / name).rglob("*-latin-400-normal.woff2"))
        if found:
            yield name, found[0]


def glyphs(font: FilePath, most: int) -> list[Path]:
    """Return outlines of letters and digits."""
    face = TTFont(font)
    names, glyphset = face.getBestCmap(), face.getGlyphSet()
    letters = [ord(letter) for letter in string.ascii_letters + string.digits if ord(letter) in names][:most]
    out = []
    for letter in letters:
        pen = GlyphPen(glyphset, face["head"].unitsPerEm)
        glyphset[names[letter]].draw(pen)
        out.append(pen.builder.path())
    return [path for path in out if path]


def chords(subpath: Path, cut_mm: float) -> np.ndarray:
    """Return a closed subpath's chords, the last vertex not the first again."""
    return flatten(subpath, cut_mm).coords[:-1]


def distances(first: Path, second: Path) -> tuple[float, float]:
    """Return the largest and the mean distance in micrometres, both ways, by dense sampling."""
    away = [
        nearest_each(one, points_on(rational_cubics(other), DENSE).reshape(-1, 2)).distances_mm
        for one, other in ((first, second), (second, first))
    ]
    return 1e3 * max(each.max() for each in away), 1e3 * float(np.concatenate(away).mean())


def kinks_deg(path: Path) -> np.ndarray:
    """Return the turn at each node of closed subpaths."""
    turns = []
    for ring in path.subpaths():
        index = np.arange(len(ring))
        a, b = tangent_at(ring, index, np.ones(len(ring))), tangent_at(ring, np.roll(index, -1), np.zeros(len(ring)))
        turns.append(np.abs(np.degrees(np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1)))))
    return np.concatenate(turns)


def false_kinks_deg(path: Path, drawn: Path) -> float:
    """Return the largest turn at a node of one path where the other has no turn of 2° within 0.3 mm."""
    corners = drawn.points[kinks_deg(drawn) > 2.0, 3]
    turn = kinks_deg(path)
    if len(corners):
        away = np.hypot(*(path.points[:, None, 3] - corners[None]).transpose(2, 0, 1)).min(axis=1)
        turn = turn[away > 0.3]
    return float(turn.max(initial=0.0))


def timed(work: Callable[[], list[Path]]) -> tuple[list[Path], float]:
    """Return what some work gives and its processor time in seconds."""
    start = time.process_time()
    found = work()
    return found, time.process_time() - start


def report(name: str, drawn: list[Path], cut_mm: float) -> None:
    """Fit the chords of outlines again and print one row."""
    tolerance_mm = 1.5 * cut_mm
    rings = [[chords(ring, cut_mm) for ring in path.subpaths()] for path in drawn]
    every = [ring for path in rings for ring in path]
    fitted, seconds = timed(lambda: fit_polylines(every, tolerance_mm, closed=True))
    _, alone = timed(lambda: [fit_polyline(ring, tolerance_mm, closed=True) for ring in every[:_ALONE]])
    left = iter(fitted)
    found = [joined(next(left) for _ in path) for path in rings]
    count = sum(len(ring) for path in rings for ring in path)
    plain = shapely.simplify([shapely.linearrings(ring) for path in rings for ring in path], tolerance_mm)
    kept = int(sum(shapely.get_num_coordinates(plain) - 1))
    worst, mean = zip(*(distances(*pair) for pair in zip(drawn, found, strict=True)), strict=True)
    designed, ours = sum(map(len, drawn)), sum(map(len, found))
    kink = max(false_kinks_deg(new, old) for new, old in zip(found, drawn, strict=True))
    kinds = np.concatenate([path.kinds for path in found])
    mix = "/".join(str(int((kinds == kind).sum())) for kind in (SegmentKind.LINE, SegmentKind.ARC, SegmentKind.CUBIC))
    print(
        f"{name:26} {cut_mm:5.3f} {designed:6d} {count:7d} {kept:7d} {ours:6d} {mix:>14} {ours / designed:6.2f}"
        f" {max(worst):7.1f} {np.mean(mean):6.2f} {kink:6.2f} {1e3 * seconds / count:8.4f}"
        f" {1e3 * alone / sum(map(len, every[:_ALONE])):8.4f}"
    )


def quadratic_runs(path: Path) -> Iterator[list[tuple[complex, ...]]]:
    """Yield each unbroken run of quadratics of a path as complex points."""
    for ring in path.subpaths():
        for kind, rows in itertools.groupby(range(len(ring)), key=lambda row, ring=ring: int(ring.kinds[row])):
            if kind == SegmentKind.QUADRATIC:
                yield [tuple(complex(*point) for point in ring.points[row, [0, 1, 3]]) for row in rows]


def report_nodes(name: str, drawn: list[Path], tolerance_mm: float) -> None:
    """Make the nodes of quadratic outlines fewer, ours and fontTools', and print one row."""
    found, seconds = timed(lambda: refit_all(drawn, tolerance_mm))
    start = time.process_time()
    theirs = sum(int((path.kinds != SegmentKind.QUADRATIC).sum()) for path in drawn)
    for path in drawn:
        theirs += sum(len(quadratic_to_curves(run, tolerance_mm, False)) for run in quadratic_runs(path))
    reference = time.process_time() - start
    worst = max(distances(*pair)[0] for pair in zip(drawn, found, strict=True))
    before, ours = sum(map(len, drawn)), sum(map(len, found))
    print(
        f"{name:26} {tolerance_mm:5.3f} {before:6d} {ours:6d} {theirs:6d} {ours / theirs:6.2f} {worst:7.1f}"
        f" {1e3 * seconds:9.0f} {1e3 * reference:9.0f}"
    )


def traced(path: Path) -> Path:
    """Return the outlines of the pixels whose middles a path paints."""
    low_x, low_y, high_x, high_y = (round(side / PIXEL_MM) for side in path.bounds() or (0.0, 0.0, 0.0, 0.0))
    x, y = np.meshgrid(np.arange(low_x - 1, high_x + 2), np.arange(low_y - 1, high_y + 2))
    middles = (np.stack([x.ravel(), y.ravel()], axis=1) + 0.5) * PIXEL_MM
    corner = middles[contains(Region(path), middles)] - PIXEL_MM / 2.0
    pixels = shapely.box(corner[:, 0], corner[:, 1], corner[:, 0] + PIXEL_MM, corner[:, 1] + PIXEL_MM)
    rings = [
        ring
        for piece in shapely.get_parts(shapely.union_all(pixels))
        for ring in (shapely.get_exterior_ring(piece), *piece.interiors)
    ]
    return joined(polygon(map(tuple, shapely.get_coordinates(ring)[:-1].tolist())) for ring in rings)


def report_traced(name: str, drawn: list[Path]) -> None:
    """Smooth traces of outlines and print one row."""
    stairs = [traced(path) for path in drawn]
    found, seconds = timed(lambda: [smooth(path, 1.2 * PIXEL_MM) for path in stairs])
    off = [abs(area(new) / area(old) - 1.0) for new, old in zip(found, stairs, strict=True)]
    away = max(nearest_each(new, old.points[:, 0]).distances_mm.max() for new, old in zip(found, stairs, strict=True))
    crossed = sum(len(crossings(list(path.subpaths()))) for path in found)
    before, ours = sum(map(len, stairs)), sum(map(len, found))
    print(
        f"{name:26} {sum(map(len, drawn)):6d} {before:6d} {ours:6d} {100 * max(off):10.2f} {1e3 * away:8.0f}"
        f" {crossed:9d} {1e3 * seconds / before:8.4f}"
    )


def report_corners(name: str, drawn: list[Path], radius_mm: float) -> None:
    """Round the corners of outlines and print one row."""
    found, seconds = timed(lambda: [round_corners(path, radius_mm) for path in drawn])
    radii = np.array([corner.radius_mm for rounding in found for corner in rounding.corners])
    worst = 0.0
    for rounding, old in zip(found, drawn, strict=True):
        new = rounding.path
        after = np.concatenate([np.roll(ring, -1) for ring in np.split(np.arange(len(new)), new.starts[1:])])
        arc = (new.kinds == SegmentKind.ARC) | (new.kinds[after] == SegmentKind.ARC)
        at_node = np.hypot(*(new.points[:, None, 3] - old.points[None, :, 3]).transpose(2, 0, 1)).min(axis=1) < 1e-6
        worst = max(worst, float(kinks_deg(new)[arc & ~at_node].max(initial=0.0)))
    full, none = int((radii == radius_mm).sum()), int((radii == 0.0).sum())
    print(
        f"{name:26} {len(radii):7d} {full:6d} {len(radii) - full - none:7d} {none:5d} {worst:9.1e}"
        f" {1e3 * seconds / len(radii):9.3f}"
    )


def shapes() -> Iterator[tuple[str, Path]]:
    """Yield shapes whose fewest segments are known."""
    yield "circle", circle((3.0, 4.0), 10.0)
    yield "ellipse 30 × 10", ellipse((3.0, 4.0), 30.0, 10.0)
    yield "ellipse turned", ellipse((0.0, 0.0), 20.0, 13.0).transformed(Affine.rotated(33.0))
    yield "rounded rectangle", rectangle(0.0, 0.0, 50.0, 30.0, 5.0, 5.0)
    yield "the same, turned", rectangle(0.0, 0.0, 50.0, 30.0, 5.0, 5.0).transformed(Affine.rotated(33.0))
    yield "with elliptic corners", rectangle(0.0, 0.0, 50.0, 30.0, 9.0, 5.0)
    yield "stadium", rectangle(0.0, 0.0, 50.0, 20.0, 10.0, 10.0)


def main() -> None:
    """Print the tables."""
    options = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    options.add_argument("--profile", action="store_true", help="show where the time goes in the shipped font")
    options.add_argument("--glyphs", type=int, default=62, help="glyphs a font at most")
    options.add_argument("--rows", default="", help="only rows whose name has this word in it")
    chosen = options.parse_args()
    faces = [(name, glyphs(file, chosen.glyphs)) for name, file in fonts() if chosen.rows in name]
    if chosen.profile:
        rings = [chords(ring, 0.01) for path in faces[0][1] for ring in path.subpaths()]
        profile = cProfile.Profile()
        profile.runcall(lambda: fit_polylines(rings, 0.015, closed=True))
        pstats.Stats(profile, stream=sys.stdout).sort_stats("tottime").print_stats(25)
        return
    print(
        f"{'chords fitted again':26} {'cut':>5} {'drawn':>6} {'chords':>7} {'simple':>7} {'ours':>6}"
        f" {'line/arc/cubic':>14} {'÷drawn':>6} {'worst':>7} {'mean':>6} {'kink°':>6} {'ms/chord':>8} {'alone':>8}"
    )
    for name, path in shapes():
        if chosen.rows in name:
            for cut_mm in (0.01, 0.05):
                report(name, [path], cut_mm)
    for name, drawn in faces:
        for cut_mm in (0.01, 0.05):
            report(name, drawn, cut_mm)
    print(
        f"\n{'nodes made fewer':26} {'tol':>5} {'before':>6} {'ours':>6} {'qu2cu':>6} {'ratio':>6} {'worst':>7}"
        f" {'ours ms':>9} {'qu2cu ms':>9}"
    )
    for name, drawn in faces:
        if any((path.kinds == SegmentKind.QUADRATIC).any() for path in drawn):
            for tolerance_mm in (0.01, 0.05):
                report_nodes(name, drawn, tolerance_mm)
    print(
        f"\n{'traces smoothed':26} {'drawn':>6} {'before':>6} {'ours':>6} {'area off %':>10} {'moved µm':>8}"
        f" {'crossings':>9} {'ms/chord':>8}"
    )
    for name, drawn in faces:
        report_traced(name, drawn[:12])
    print(
        f"\n{'corners rounded by 1 mm':26} {'corners':>7} {'full':>6} {'smaller':>7} {'none':>5} {'kink°':>9}"
        f" {'ms/corner':>9}"
    )
    for name, drawn in faces:
        report_corners(name, drawn, 1.0)


if __name__ == "__main__":
    main()
