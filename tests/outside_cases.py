"""One test case a file of an outside set, or one skipped case that says why the set is not there."""

from collections.abc import Container
from pathlib import Path
from typing import Any

import pytest

from outside_data import Missing, where


def cases(name: str, pattern: str = "**/*.svg", *, only: Container[str] | None = None, every: int = 1) -> list[Any]:
    """Return pytest parameters: the files of a set, sorted, each under its own name.

    Parameters
    ----------
    name
        The set, one of those in packaging/outside_data.py.
    pattern
        Which files, as a glob from the folder of the set.
    only
        Keep the files whose names (with ending) are in here; all of them when not given.
    every
        Keep every n-th file, for sets of thousands; the choice is the same on every machine.
    """
    try:
        folder = where(name)
    except Missing as reason:
        return [pytest.param(Path(name), id=f"{name}-not-there", marks=pytest.mark.skip(reason=str(reason)))]
    files = [path for path in sorted(folder.glob(pattern)) if only is None or path.name in only][::every]
    assert files, f"the set {name} holds no file like {pattern}"
    return [pytest.param(path, id=path.relative_to(folder).as_posix()) for path in files]
