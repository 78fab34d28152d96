"""Where an operation is run more than once, results and what was noted beside them come from the same run."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from bladewise.geometry import kernel
from bladewise.geometry.path import Path, rectangle
from bladewise.geometry.rebuild import Tally
from bladewise.geometry.regions import Region

FAILURES = {"first": (1, 0, 0), "second": (2, 1, 0), "none better": (1, 2, 3)}


@pytest.mark.parametrize(
    ("case", "chords", "chosen", "again"),
    [
        ("first", 0, 1, 1),
        ("second", 0, 2, 2),
        ("none better", 0, 0, 2),
        ("none better", kernel.MANY_CHORDS + 1, 0, 1),  # so many are not cut finer a second time
    ],
)
def test_the_members_of_split_pieces_belong_to_the_attempt_whose_pieces_are_returned(
    case: str, chords: int, chosen: int, again: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    attempts: list[float] = []

    class Rebuilt:
        unsettled = faults = np.zeros((0, 2))

        def paths(self, shapes: list[Any]) -> list[Path]:
            return shapes

    class Attempt:
        sources = ()
        chord_count = chords
        rebuilder = Rebuilt()

        def __init__(self, regions: object, *, tally: Tally, finer: float, **_: object) -> None:
            self.polygons = len(attempts)
            tally.kept = FAILURES[case][len(attempts)]
            attempts.append(finer)

    monkeypatch.setattr(kernel, "Kernel", Attempt)
    tally = Tally()
    paths, note = kernel.curve_true_noted(
        [Region(rectangle(0, 0, 1, 1))], lambda number: ([rectangle(number, 0, 1, 1)], number), tally=tally
    )
    assert note == chosen
    assert paths == [rectangle(chosen, 0, 1, 1)]
    assert tally.kept == FAILURES[case][chosen]
    assert tally.again == again
    assert attempts == sorted(set(attempts)), "each attempt looks closer than the one before"
