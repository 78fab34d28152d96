"""Data that others made: a test that needs a set gets its folder, or skips and says why it is not there."""

from collections.abc import Callable
from pathlib import Path

import pytest

from outside_data import Missing, where


@pytest.fixture(scope="session")
def outside_data() -> Callable[[str], Path]:
    """Return a function from the name of a set to its folder; it skips the test when the set cannot be had."""

    def folder(name: str) -> Path:
        try:
            return where(name)
        except Missing as reason:
            pytest.skip(str(reason))

    return folder
