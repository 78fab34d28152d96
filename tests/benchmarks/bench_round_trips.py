"""How true files are: the demo jobs, and two hundred drawings of others, written and read back by other readers.

    python tests/benchmarks/bench_round_trips.py [count]

Needs the sets of packaging/outside_data.py. Prints, for each way a line can go out, the farthest that any contour
lies from what was meant, beside the promise; and the processor time of writing and checking. One process.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / part) for part in ("app", "packaging", "tests")]

from bladewise.errors import BladewiseError  # noqa: E402
from bladewise.recipe import read_recipe  # noqa: E402
from bladewise.session import Session  # noqa: E402
from outside.round_trips import DESTINATIONS, SAMPLED_MM, art_job, round_trip  # noqa: E402
from outside_data import files_of  # noqa: E402

SETS = ("twemoji", "circle-flags", "flag-icons", "tabler", "mdi", "w3c-svg11")


def demo_jobs() -> list[tuple[str, object]]:
    """Return the demo jobs, each after its recipe."""
    made = []
    for path in sorted((ROOT / "demo_art").glob("*.toml")):
        recipe = read_recipe(path)
        session = Session.open(recipe.art)
        for step in recipe.steps:
            try:
                session.apply(step)
            except BladewiseError:  # what a recipe cannot do is another test's business
                continue
        made.append((path.stem, session.job))
    return made


def corpus(count: int) -> list[tuple[str, object]]:
    """Return the first `count` drawings with filled art, taken evenly from each set, the same on every machine."""
    found: list[tuple[str, object]] = []
    for place, name in enumerate(SETS):
        wanted = (count - len(found)) // (len(SETS) - place)
        drawings = files_of(name)
        every, taken = max(1, len(drawings) // (wanted * 2 or 1)), 0
        for path in drawings[::every]:
            if taken == wanted:
                break
            try:
                job = art_job(path)
            except BladewiseError:
                continue
            if job is not None:
                found.append((f"{name}/{path.name}", job))
                taken += 1
    return found


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    for title, jobs in (("demo jobs", demo_jobs()), ("drawings of others", corpus(count))):
        print(f"{len(jobs)} {title}")
        for way, (_, promised) in DESTINATIONS.items():
            began = time.process_time()
            worst, where, contours, refused = 0.0, "", 0, []
            for name, job in jobs:
                try:
                    far, some = round_trip(job, way)
                except BladewiseError as error:
                    refused.append(f"{name}: {error}")
                    continue
                contours += some
                if far > worst:
                    worst, where = far, name
            verdict = "held" if worst <= promised + 2.0 * SAMPLED_MM else "NOT HELD"
            spent = time.process_time() - began
            print(
                f"  {way:16} {worst:.5f} mm of {promised:.5f} promised, {verdict}; {contours} contours, "
                f"worst in {where or 'none'}, {spent:.0f} s"
            )
            for line in refused:
                print(f"      refused: {line[:150]}")


if __name__ == "__main__":
    main()
