"""Make cut-ready on hundreds of drawings by others: how they end, counted.

    PYTHONPATH=tests:app:packaging python tests/benchmarks/bench_readying.py
        [--set twemoji] [--every N] [--first N] [--count N] [--width MM] [--limit SECONDS] [--show RULE] [--kept FILE]

Every drawing is brought to a width, made cut-ready, and checked again from nothing (tests/outside/readied.py). It ends
*ready*, *wasteful* (ready, with findings that only waste), or *for a person* (findings that someone must decide). What
must never happen is counted too: an error, an empty result, more processor time than the limit, a safe step left
undone, a finding the plan did not foresee, another look. `--kept` keeps each result as it comes, one a line, and passes
over the drawings that are in it: a run that was broken off goes on where it was. `--show` names the files where a rule
is left.
"""

from __future__ import annotations

import argparse
import json
import signal
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path
from typing import Any

from outside.readied import NOTHING_DRAWN, Readied, readied
from outside_data import where


class Slow(Exception):
    """A drawing took longer than the limit."""


def result(path: Path, width_mm: float, limit_s: float) -> dict[str, Any]:
    """Return how a drawing ends, as plain values."""

    def stop(*_: object) -> None:
        raise Slow

    signal.signal(signal.SIGPROF, stop)  # processor time: the machine may be shared
    start = time.process_time()
    signal.setitimer(signal.ITIMER_PROF, limit_s)
    try:
        ended = readied(path, width_mm)
    except Slow:
        found = {"end": "slow", "wrong": [f"over {limit_s:g} s"]}
    except Exception:  # noqa: BLE001 - what is counted here is whether any comes at all
        found = {"end": "crashed", "wrong": [traceback.format_exc().splitlines()[-1]]}
    else:
        found = as_plain(ended)
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
    return {"file": path.name, "seconds": round(time.process_time() - start, 2), **found}


def as_plain(ended: Readied) -> dict[str, Any]:
    """Return a result as values that JSON can hold."""
    return {
        "end": ended.end,
        "steps": ended.steps,
        "left": ended.left,
        "spoiling": list(ended.spoiling),
        "apart": round(ended.apart, 6),
        "wrong": list(ended.wrong),
        "same": ended.looks_the_same,
    }


def tell(results: list[dict[str, Any]], show: str) -> None:
    """Print the counts."""
    ends = Counter(each["end"] for each in results)
    steps = Counter[str]()
    for each in results:
        steps.update(each.get("steps", {}))
    seconds = sorted(each["seconds"] for each in results)
    counts = (
        ("how they end", ends),
        ("for a person, by rule", Counter(rule for each in results for rule in each.get("spoiling", ()))),
        ("files in which a rule is left", Counter(rule for each in results for rule in each.get("left", ()))),
        ("steps taken", steps),
    )
    print(
        f"{len(results)} drawings, {sum(seconds):.0f} s of processor time; "
        f"half of them within {seconds[len(seconds) // 2]} s, the slowest {seconds[-1]} s"
    )
    for title, count in counts:
        print(f"{title}: " + ", ".join(f"{name} {number}" for name, number in count.most_common()))
    drawn = [each for each in results if "same" in each and each["end"] != NOTHING_DRAWN]
    other = [each for each in drawn if not each["same"]]
    print(f"looks the same before and after: {len(drawn) - len(other)} of {len(drawn)}")
    for each in other:
        print(f"    {each['file']}: {100.0 * each['apart']:.2f} % after {each['steps']}")
    wrong = [each for each in results if each.get("wrong")]
    print(f"what must not happen: {len(wrong)}")
    for each in wrong:
        print(f"    {each['file']}: {'; '.join(each['wrong'])}")
    for each in results:
        if show in each.get("left", ()):
            print(f"{each['file']}: {each['left'][show]}")


def main() -> None:
    """Count and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--set", default="twemoji")
    parser.add_argument("--every", type=int, default=7)
    parser.add_argument("--first", type=int, default=0, help="how many drawings to pass over")
    parser.add_argument("--count", type=int, help="how many drawings at most")
    parser.add_argument("--width", type=float, default=100.0)
    parser.add_argument("--limit", type=float, default=60.0, help="processor time for one drawing, in seconds")
    parser.add_argument("--show", default="")
    parser.add_argument("--kept", type=Path, help="a file for the results as they come")
    options = parser.parse_args()
    warnings.simplefilter("error")  # a warning is an error here, as in the tests
    files = sorted(where(options.set).rglob("*.svg"))[:: options.every][options.first :]
    files = files[: options.count]
    results: list[dict[str, Any]] = []
    if options.kept and options.kept.exists():
        results = [json.loads(line) for line in options.kept.read_text(encoding="utf-8").splitlines()]
    known = {each["file"] for each in results}
    for path in files:
        if path.name in known:
            continue
        results.append(result(path, options.width, options.limit))
        if options.kept:
            with options.kept.open("a", encoding="utf-8") as kept:
                kept.write(json.dumps(results[-1], ensure_ascii=False) + "\n")
    tell(results, options.show)


if __name__ == "__main__":
    main()
