"""How long opening and saving take, as ratios to a second reader in the same run.

    python tests/benchmarks/bench_open.py

The second reader is svgelements (`SVG.parse`). Aim: half its time for 10,000 segments, whether they are
one path or thousands.
"""

from __future__ import annotations

import gc
import random
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "app"))

from typing import TYPE_CHECKING

import svgelements

from bladewise.formats import JobFile, read, read_svg, svg_text, write_job_file

if TYPE_CHECKING:
    from collections.abc import Callable


def best_of(work: Callable[[], object], times: int = 3) -> float:
    """Return the shortest of several runs in seconds."""
    found = []
    for _ in range(times):
        gc.collect()
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


def drawing(paths: int, segments: int, *, relative: bool) -> str:
    """Return a drawing of so many paths of so many cubics each."""
    source = random.Random(3)
    letter = "c" if relative else "C"
    rows = []
    for number in range(paths):
        data = f"M{source.uniform(0, 900):.3f} {source.uniform(0, 900):.3f}" + "".join(
            letter + " ".join(f"{source.uniform(-9, 9):.3f}" for _ in range(6)) for _ in range(segments)
        )
        rows.append(f'<path id="p{number}" fill="#{number % 4096:03x}" d="{data}Z"/>')
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="1000mm" height="1000mm" viewBox="0 0 1000 1000">'
    return f"{head}<g id='art'>{''.join(rows)}</g></svg>"


def main() -> None:
    """Print a table."""
    print(f"{'drawing':34} {'MB':>6} {'read s':>8} {'ratio':>7} {'write s':>8} {'job file s':>10}")
    with TemporaryDirectory() as folder:
        for paths, segments, relative in (
            (1, 10_000, False), (1, 10_000, True), (1_000, 10, True), (10_000, 1, True), (1, 100_000, False),
            (10_000, 10, True),
        ):  # fmt: skip
            path = Path(folder, "art.svg")
            path.write_text(drawing(paths, segments, relative=relative), encoding="utf-8")
            ours = best_of(lambda path=path: read_svg(path))
            theirs = best_of(lambda path=path: svgelements.SVG.parse(str(path)), 1 if segments * paths > 20_000 else 3)
            job = read_svg(path)
            writing = best_of(lambda job=job: svg_text(job))
            saved = Path(folder, "job.svg")
            write_job_file(JobFile(job, job), saved)
            opening = best_of(lambda saved=saved: read(saved))
            name = f"{paths:,} × {segments:,} cubics, {'relative' if relative else 'absolute'}"
            size = path.stat().st_size / 1e6
            print(f"{name:34} {size:6.2f} {ours:8.3f} {ours / theirs:7.2f} {writing:8.3f} {opening:10.3f}")


if __name__ == "__main__":
    main()
