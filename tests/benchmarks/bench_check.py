"""The readiness check of a large job against one self-join of its outlines by shapely, and again after a move.

    python tests/benchmarks/bench_check.py [--shapes N] [--segments N] [--rules]

The art is wavy discs in rows, in one vinyl. Compared in one run, in processor time:
    join      shapely: the outlines flattened, one STRtree, every pair that crosses
    check     the full check, every rule
    again     the same checker, nothing changed
    moved     the same checker, one shape moved by a little
    all       the same checker, everything moved by a little
No time is asserted anywhere. `--rules` tells the time of each rule.
"""

from __future__ import annotations

import argparse
import math
import time
from typing import TYPE_CHECKING

import numpy as np
import shapely

from bladewise import checks
from bladewise.document import Colour, Job, Layer, Shape, Style
from bladewise.geometry.affine import Affine
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import Path, PathBuilder

if TYPE_CHECKING:
    from collections.abc import Callable

PITCH_MM = 24.0


def wavy_disc(x: float, y: float, segments: int) -> Path:
    """Return a closed outline of cubics that waves in and out about a circle of radius 10 mm."""
    pen = PathBuilder()
    step = 2.0 * math.pi / segments

    def radius(angle: float) -> float:
        return 10.0 + 0.6 * math.sin(7.0 * angle)

    def slope(angle: float) -> float:
        return 4.2 * math.cos(7.0 * angle)

    def place(angle: float) -> tuple[float, float]:
        return x + radius(angle) * math.cos(angle), y + radius(angle) * math.sin(angle)

    def heading(angle: float) -> tuple[float, float]:
        r, s = radius(angle), slope(angle)
        return (
            (s * math.cos(angle) - r * math.sin(angle)) * step / 3.0,
            (s * math.sin(angle) + r * math.cos(angle)) * step / 3.0,
        )

    pen.move_to(place(0.0))
    for index in range(segments):
        one, two = index * step, (index + 1) * step
        (px, py), (qx, qy) = place(one), place(two if index < segments - 1 else 0.0)
        (ux, uy), (vx, vy) = heading(one), heading(two)
        pen.cubic_to((px + ux, py + uy), (qx - vx, qy - vy), (qx, qy))
    pen.close()
    return pen.path()


def art(shapes: int, segments: int) -> Job:
    """Return a job of wavy discs in rows."""
    across = math.ceil(math.sqrt(shapes))
    style = Style(Colour(0xE6, 0x9F, 0x00))
    children = tuple(
        Shape(f"s{n}", wavy_disc(PITCH_MM * (n % across + 0.5), PITCH_MM * (n // across + 0.5), segments), style)
        for n in range(shapes)
    )
    return Job("Bench", PITCH_MM * across, PITCH_MM * across, (Layer("art", "Art", children),))


def join(job: Job) -> int:
    """Return how many pairs of outlines meet, by shapely alone."""
    lines = np.array([shapely.LineString(flatten(shape.path).coords) for shape in job.shapes()])
    first, second = shapely.STRtree(lines).query(lines, predicate="intersects")
    return int((first < second).sum())


def timed(work: Callable[[], object]) -> float:
    """Return the processor time of some work in seconds."""
    start = time.process_time()
    work()
    return time.process_time() - start


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--shapes", type=int, default=2000)
    parser.add_argument("--segments", type=int, default=50, help="of each shape")
    parser.add_argument("--rules", action="store_true")
    options = parser.parse_args()
    job = art(options.shapes, options.segments)
    checker = checks.Checker()
    small = art(20, options.segments)
    checks.check(small)  # so that nothing is imported or compiled while it counts
    base = timed(lambda: join(job))
    key = job.shapes()[options.shapes // 2].id
    element = job.element(key)
    assert element is not None
    moved = job.replaced({key: (element.transformed(Affine.moved(1.5, 0.5)),)})
    shifted = moved.replaced({each.id: (each.transformed(Affine.moved(0.3, 0.1)),) for each in moved.shapes()})
    rows = [
        ("check", timed(lambda: checker.check(job))),
        ("again", timed(lambda: checker.check(job))),
        ("moved", timed(lambda: checker.check(moved))),
        ("all", timed(lambda: checker.check(shifted))),
    ]
    print(f"{options.shapes} shapes, {options.shapes * options.segments} segments")
    print(f"{'join':8}{base:8.3f} s")
    for name, seconds in rows:
        print(f"{name:8}{seconds:8.3f} s{seconds / base:8.2f} x join")
    print(f"facts worked out after the moves: {checker.worked_out}; findings: {len(checker.check(moved))}")
    if options.rules:
        context = checks.Context.of(job)
        for name, rule in checks.RULES:
            print(f"    {name:16}{timed(lambda rule=rule: list(rule(context))):8.3f} s")


if __name__ == "__main__":
    main()
