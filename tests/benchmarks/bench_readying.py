"""Make cut-ready on hundreds of drawings by others: how they end, counted.

    python tests/benchmarks/bench_readying.py [--set twemoji] [--every N] [--width MM] [--show RULE]

Every drawing is brought to a width, made cut-ready, and checked again from nothing. It ends *ready*, *wasteful*
(ready, with findings that only waste), or *for a person* (findings that someone must decide). What must never happen is
counted too: an error, an empty result, a safe step left undone, a finding the plan did not foresee. `--show` names the
files where a rule is left.
"""

from __future__ import annotations

import argparse
import time
import traceback
import warnings
from collections import Counter

from bladewise import checks, operations
from bladewise.checks.readying import plan
from bladewise.session import Session
from outside_data import where


def main() -> None:
    """Count and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--set", default="twemoji")
    parser.add_argument("--every", type=int, default=7)
    parser.add_argument("--width", type=float, default=100.0)
    parser.add_argument("--first", type=int, default=0, help="how many drawings to pass over")
    parser.add_argument("--show", default="")
    parser.add_argument("--seconds", type=float, default=1e9, help="stop after so many, by the clock on the wall")
    options = parser.parse_args()
    warnings.simplefilter("error")  # a warning is an error here, as in the tests
    files = sorted(where(options.set).rglob("*.svg"))[:: options.every][options.first :]
    ends: Counter[str] = Counter()
    steps: Counter[str] = Counter()
    left: Counter[str] = Counter()
    wrong: list[str] = []
    start = time.process_time()
    until = time.monotonic() + options.seconds
    done = 0
    for path in files:
        if time.monotonic() > until:
            break
        done += 1
        try:
            job = Session.open(path).job
            if not job.shapes():
                ends["nothing drawn"] += 1
                continue
            job = operations.apply(job, operations.step("scale", {"width_mm": options.width})).job
            job = operations.apply(job, operations.step("fit-sheet")).job
            found = plan(job)
            again = checks.check(found.job)
        except Exception:  # noqa: BLE001 - what is counted here is whether any comes at all
            wrong.append(f"{path.name}: {traceback.format_exc().splitlines()[-1]}")
            continue
        steps.update(proposal.step.do for proposal in found.proposals)
        rules = {finding.rule for finding in found.left}
        left.update(rules)
        if options.show in rules:
            print(f"{path.name}: {next(each.message for each in found.left if each.rule == options.show)}")
        if not found.job.shapes(visible_only=True):
            wrong.append(f"{path.name}: nothing left")
        if any(finding.remedy.is_safe_step for finding in found.left):
            waiting = next(finding for finding in found.left if finding.remedy.is_safe_step)
            wrong.append(f"{path.name}: left undone: {waiting.message} {waiting.remedy.do}")
        if again != list(found.left):
            wrong.append(f"{path.name}: another check finds something else")
        ends["ready" if not found.left else "wasteful" if checks.is_ready(found.left) else "for a person"] += 1
    print(f"{done} drawings of {len(files)}, {time.process_time() - start:.0f} s of processor time")
    for title, counts in (("how they end", ends), ("steps taken", steps), ("files in which a rule is left", left)):
        print(f"{title}: " + ", ".join(f"{name} {count}" for name, count in counts.most_common()))
    print(f"what must not happen: {len(wrong)}")
    for line in wrong:
        print(f"    {line}")


if __name__ == "__main__":
    main()
