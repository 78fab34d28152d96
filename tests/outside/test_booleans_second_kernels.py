"""Our booleans against other kernels on the same curves: skia-pathops (curve-native) and Clipper2 (integer polygons).

Both come from the package registry and serve in tests only. Areas are held against each other where the
second kernel's own flattening or fitting allows; where skia-pathops is known to go wrong (some per cent
of dense art) the comparison would tell nothing, so it is fed two outlines at a time.
"""

from __future__ import annotations

import numpy as np
import pytest

from bladewise.geometry.affine import Affine
from bladewise.geometry.booleans import cut_out, keep_common, merge
from bladewise.geometry.curves import segment_areas
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import Path, SegmentKind, rectangle
from bladewise.geometry.regions import Region

pyclipr = pytest.importorskip("pyclipr")
pathops = pytest.importorskip("pathops")


def outline(seed: int, centre: tuple[float, float]) -> Path:
    """Return a smooth closed outline of seven cubics."""
    rng = np.random.default_rng(seed)
    angle = np.arange(7) * 2 * np.pi / 7 + rng.random()
    nodes = np.asarray(centre) + 10 * (0.7 + 0.6 * rng.random(7))[:, None] * np.c_[np.cos(angle), np.sin(angle)]
    handle = (np.roll(nodes, -1, axis=0) - np.roll(nodes, 1, axis=0)) / 6
    after = np.roll(nodes, -1, axis=0)
    points = np.stack([nodes, nodes + handle, after - np.roll(handle, -1, axis=0), after], axis=1)
    kinds = np.full(7, int(SegmentKind.CUBIC), np.uint8)
    return Path(points, kinds, np.ones(7), np.zeros(1, np.int64), np.ones(1, np.bool_))


def area(path: Path) -> float:
    return float(segment_areas(path.points, path.kinds, path.weights).sum())


def clipped(kind: object, one: Path, two: Path) -> float:
    """Return the area Clipper2 finds on chords a hundredth of our tolerance."""
    clipper = pyclipr.Clipper()
    clipper.scaleFactor = 1_000_000
    clipper.addPath(flatten(one, 5e-5).coords[:-1], pyclipr.Subject)
    clipper.addPath(flatten(two, 5e-5).coords[:-1], pyclipr.Clip)
    total = 0.0
    for ring in clipper.execute(kind, pyclipr.FillRule.NonZero):
        x, y = np.asarray(ring).T
        total += 0.5 * float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum())
    return abs(total)


def skia(kind: object, one: Path, two: Path) -> float:
    """Return the area of skia-pathops' result."""
    paths = []
    for source in (one, two):
        path = pathops.Path()
        pen = path.getPen()
        pen.moveTo(tuple(source.points[0, 0]))
        for _, first, second, end in source.points.tolist():
            pen.curveTo(first, second, end)
        pen.closePath()
        paths.append(path)
    return abs(float(pathops.op(*paths, kind).area))


PAIRS = [(seed, (8.0 + seed % 5, 3.0 * (seed % 4) - 4.0)) for seed in range(12)]


@pytest.mark.parametrize(("seed", "centre"), PAIRS)
def test_areas_agree_with_clipper2_on_a_hundred_times_finer_chords(seed: int, centre: tuple[float, float]) -> None:
    one, two = outline(seed, (0.0, 0.0)), outline(seed + 100, centre)
    regions = [Region(one), Region(two)]
    for ours, kind in (
        (merge(regions), pyclipr.Union),
        (keep_common(regions), pyclipr.Intersection),
        (cut_out(regions[0], regions[1:]), pyclipr.Difference),
    ):
        assert area(ours) == pytest.approx(clipped(kind, one, two), abs=5e-3)


@pytest.mark.parametrize(("seed", "centre"), PAIRS)
def test_areas_agree_with_skia_pathops_on_the_same_curves(seed: int, centre: tuple[float, float]) -> None:
    """skia-pathops reckons in single precision: a hundredth of a square millimetre here."""
    one, two = outline(seed, (0.0, 0.0)), outline(seed + 100, centre)
    regions = [Region(one), Region(two)]
    assert area(merge(regions)) == pytest.approx(skia(pathops.PathOp.UNION, one, two), abs=1e-2)
    assert area(keep_common(regions)) == pytest.approx(skia(pathops.PathOp.INTERSECTION, one, two), abs=1e-2)


@pytest.mark.parametrize("turn_deg", [10.0, 30.0, 45.0, 60.0])
def test_a_square_and_itself_turned_share_a_known_octagon(turn_deg: float) -> None:
    """Closed form: a circle of radius r touches all eight sides; its tangents a turn θ apart meet at r·tan(θ/2).

    So the octagon's area is 4r²·(tan(θ/2) + tan(π/4 − θ/2)); at 45° the regular octagon's 8r²·tan(π/8).
    """
    square = rectangle(-5, -5, 10, 10)
    half = np.radians(turn_deg) / 2
    octagon = 100 * (np.tan(half) + np.tan(np.pi / 4 - half))
    common = keep_common([Region(square), Region(square.transformed(Affine.rotated(turn_deg)))])
    assert area(common) == pytest.approx(octagon, abs=1e-9)
    assert len(common) == 8
