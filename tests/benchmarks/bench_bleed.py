"""Bleed, white ink and registration on a sheet of stickers, each with a cut line of its own: processor time.

    PYTHONPATH=tests:app python tests/benchmarks/bench_bleed.py [--count N] [--art FILE]

The demo's sticker is put down so many times, seven in a row, with its own cut line; then each step is timed.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from bladewise import operations
from bladewise.formats import read_svg
from bladewise.geometry.affine import Affine
from bladewise.layout.results import Cutting
from bladewise.operations.misregistration import Registration

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.document import Job

Outcome = TypeVar("Outcome")
ACROSS = 7
GAP_MM = 5.0


def timed(what: str, work: Callable[[], Outcome]) -> Outcome:
    """Do something and print how long it took."""
    start = time.process_time()
    result = work()
    print(f"{what:34} {1000.0 * (time.process_time() - start):9.1f} ms")
    return result


def sheet(art: Path, count: int) -> Job:
    """Return a sheet with so many stickers, each with its cut line."""
    one = read_svg(art)
    one = operations.apply(one, operations.step("cut-line", {})).job
    wide, high = one.width_mm + GAP_MM, one.height_mm + GAP_MM
    layers = []
    for layer in one.layers:
        children = []
        for number in range(count):
            move = Affine.moved(wide * (number % ACROSS), high * (number // ACROSS))
            children += [
                replace(leaf.transformed(move), id=f"{leaf.id}-{number}")
                for placed in one.walk()
                if placed.layer.id == layer.id and (leaf := placed.leaf)
            ]
        layers.append(replace(layer, children=tuple(children)))
    rows = -(-count // ACROSS)
    return replace(one, width_mm=wide * ACROSS, height_mm=high * rows, layers=tuple(layers))


def main() -> None:
    """Time every step."""
    root = Path(__file__).parents[2]
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--count", type=int, default=50)
    given.add_argument("--art", type=Path, default=root / "demo_art" / "sticker.svg")
    chosen = given.parse_args()
    job = sheet(chosen.art, chosen.count)
    segments = sum(len(shape.path) for shape in job.shapes())
    print(f"{chosen.count} stickers, {sum(1 for _ in job.walk())} leaves, {segments} segments")
    step = operations.step("bleed", {"distance_mm": 2.0})
    outcome = timed("bleed 2 mm", lambda: operations.apply(job, step))
    bled = outcome.job
    made = [shape for shape in bled.shapes() if shape.id in outcome.made]
    print(f"    {len(made)} shapes, {sum(len(shape.path) for shape in made)} segments")
    timed("white underprint", lambda: operations.apply(bled, operations.step("white-underprint", {})))
    registration = Registration(bled)
    timed("how far the cut may be off", lambda: registration.clear_up_to_mm)
    timed("white at one shift, by chords", lambda: registration.about((1.0, 0.5)))
    timed("white at the worst of 16, true", lambda: registration.worst(3.0))
    cutting = timed("pieces for the cut result", lambda: Cutting(bled))
    timed("cut result at one shift", lambda: cutting.at((1.0, 0.5)))


if __name__ == "__main__":
    main()
