"""Everything that is promised of true curves, measured in one run: results, strokes and parallels, time.

    python tests/benchmarks/bench_true_curves.py [--whole]

First the bars, then three tables that show where we stand: wrong results (`bench_results`), errors and segments
of strokes and parallels (`bench_outlines`), times as ratios to general kernels (`bench_merge`). A quick run takes a
few minutes; `--whole` counts all 13,000 cases and takes an hour or more. Nothing is asserted: machines differ.
"""

from __future__ import annotations

import argparse
import contextlib
import runpy
import sys
from pathlib import Path

HERE = Path(__file__).parent

BARS = (
    ("a segment that the operation did not touch", "bit for bit the same", "column “not bits”: 0"),
    ("a segment that it cut", "part of its source within 1e-9 mm", "column “off curve”: 0"),
    ("a crossing", "on both curves within 1e-7 mm", "column “off end”: 0"),
    ("segments out, merge and cut out", "at most those in + 2 a crossing", "column “many”: 0"),
    ("segments out, parallels", "at most 3 a source segment", "column out/in"),
    ("error of parallels and strokes over 300 mm", "0.005 mm", "columns worst and > 5 µm"),
    ("wrong results", "0 of 12,000", "column “wrong”: 0"),
    ("abutting pieces merged after chains of cuts", "no hairline, no sliver in 1,000", "row “chains”: 0"),
    ("time ÷ shapely union_all, 100,000 cubics", "under 1.0", "rows of 100,000 cubics"),
    ("time ÷ skia-pathops, 500 shapes", "under 0.15", "last row"),
    ("growth from 10,000 to 100,000 cubics", "at most 12 times", "row growth"),
)


def chapter(title: str, module: str, *options: str) -> None:
    """Run one of the benchmarks with its options under a heading."""
    print(f"\n=== {title} ({module}.py {' '.join(options)})\n", flush=True)
    sys.argv = [f"{module}.py", *options]
    with contextlib.suppress(SystemExit):
        runpy.run_path(str(HERE / f"{module}.py"), run_name="__main__")


def main() -> None:
    """Print the bars and the three tables."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--whole", action="store_true", help="all cases the bars speak of")
    whole = options.parse_args().whole
    sys.path[:0] = [str(HERE), str(HERE.parent), str(HERE.parents[1] / "app")]
    print(f"{'what':44} {'bar':34} where it shows")
    for what, bar, place in BARS:
        print(f"{what:44} {bar:34} {place}")
    cases = ("10000", "2000", "1000", "400") if whole else ("420", "130", "40", "20")
    chapter(
        "wrong results",
        "bench_results",
        "--random",
        cases[0],
        "--contrived",
        cases[1],
        "--chains",
        cases[2],
        "--heaps",
        cases[3],
        "--show",
    )
    outlines = ("--strokes", "150", "--parallels", "24") if whole else ("--strokes", "24", "--parallels", "4")
    chapter("strokes and parallels", "bench_outlines", *outlines)
    chapter("time", "bench_merge")


if __name__ == "__main__":
    main()
