"""A path taken apart into its subpaths for editing, and put together again with its nodes followed.

A part is a subpath whose nodes remember which node of the old path they were. Whatever is done to the
parts (turned, cut, joined, segments exchanged), `assembled` gives the new path and says where each old
node went.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from bladewise.geometry.path import EMPTY, Floats, Path

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from bladewise.geometry.arcs import Rows


class Edited(NamedTuple):
    """A path after an edit, and where each node of the path before went: its number now, −1 if it is gone."""

    path: Path
    now: NDArray[np.int64]

    def then(self, later: Edited) -> Edited:
        """Return this edit and one made of its outcome as one edit."""
        return Edited(later.path, np.where(self.now >= 0, later.now[self.now], -1) if len(later.now) else self.now)


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One subpath: its n rows, whether it is closed, and which nodes its own were, n or n + 1 of them; −1 new."""

    points: Floats
    kinds: NDArray[np.uint8]
    weights: Floats
    closed: bool
    nodes: NDArray[np.int64]

    def __len__(self) -> int:
        """Return the number of segments."""
        return len(self.kinds)

    def path(self) -> Path:
        """Return the part as a path of its own."""
        return Path(self.points, self.kinds, self.weights, np.zeros(1, np.int64), np.array([self.closed]))

    def turned(self, node: int) -> Part:
        """Return a closed part that begins at its node of that number."""
        return Part(
            np.roll(self.points, -node, axis=0),
            np.roll(self.kinds, -node),
            np.roll(self.weights, -node),
            self.closed,
            np.roll(self.nodes, -node),
        )

    def opened(self) -> Part:
        """Return a closed part as an open one from its first node round to the same."""
        return replace(self, closed=False, nodes=np.append(self.nodes, self.nodes[0]))

    def looped(self) -> Part:
        """Return an open part whose end lies on its start as a closed one."""
        return replace(self, closed=True, nodes=self.nodes[:-1])

    def cut(self, start: int, stop: int) -> Part:
        """Return the segments of an open part from one node to another."""
        rows = slice(start, stop)
        nodes = self.nodes[start : stop + 1]
        return Part(self.points[rows], self.kinds[rows], self.weights[rows], closed=False, nodes=nodes)

    def reversed(self) -> Part:
        """Return the part run backwards; a closed one begins at the same node."""
        nodes = np.append(self.nodes[:1], self.nodes[:0:-1]) if self.closed else self.nodes[::-1]
        return Part(self.points[::-1, ::-1], self.kinds[::-1], self.weights[::-1], self.closed, nodes)

    def exchanged(self, start: int, stop: int, rows: Rows) -> Part:
        """Return the part with segments start … stop − 1 (no more than to its last) exchanged for other rows."""
        points, kinds, weights = rows
        added = np.full(max(len(kinds) - 1, 0), -1, np.int64)
        return Part(
            np.concatenate([self.points[:start], points, self.points[stop:]]),
            np.concatenate([self.kinds[:start], kinds, self.kinds[stop:]]),
            np.concatenate([self.weights[:start], weights, self.weights[stop:]]),
            self.closed,
            np.concatenate([self.nodes[: start + 1], added, self.nodes[stop:]]),
        )

    def bridged(self, rows: Rows | None) -> Part:
        """Return an open part with rows after its end."""
        if rows is None:
            return self
        points, kinds, weights = rows
        return Part(
            np.concatenate([self.points, points]),
            np.concatenate([self.kinds, kinds]),
            np.concatenate([self.weights, weights]),
            closed=False,
            nodes=np.append(self.nodes, np.full(len(kinds), -1, np.int64)),
        )

    def followed_by(self, other: Part) -> Part:
        """Return two open parts as one, the second beginning where the first ends."""
        return Part(
            np.concatenate([self.points, other.points]),
            np.concatenate([self.kinds, other.kinds]),
            np.concatenate([self.weights, other.weights]),
            closed=False,
            nodes=np.concatenate([self.nodes[:-1], other.nodes]),
        )


def parts_of(path: Path) -> list[Part]:
    """Return the subpaths of a path as parts."""
    first = 0
    parts = []
    for start, end, closed in zip(path.starts.tolist(), path.ends.tolist(), path.closed.tolist(), strict=True):
        count = end - start + (not closed)
        parts.append(
            Part(
                path.points[start:end],
                path.kinds[start:end],
                path.weights[start:end],
                closed,
                np.arange(first, first + count),
            )
        )
        first += count
    return parts


def assembled(parts: Sequence[Part], count: int) -> Edited:
    """Return the parts as a path, and where each of the `count` nodes of the old one went.

    Where a node became two ends, the one at which a part begins is its successor.
    """
    parts = [part for part in parts if len(part)]
    now = np.full(count, -1, np.int64)
    if not parts:
        return Edited(EMPTY, now)
    lengths = np.array([len(part) for part in parts])
    path = Path(
        np.concatenate([part.points for part in parts]),
        np.concatenate([part.kinds for part in parts]),
        np.concatenate([part.weights for part in parts]),
        np.cumsum(lengths) - lengths,
        np.array([part.closed for part in parts]),
    )
    nodes = np.concatenate([part.nodes for part in parts])
    kept = np.flatnonzero(nodes >= 0)
    now[nodes[kept]] = kept
    sizes = np.array([len(part.nodes) for part in parts])
    begins = np.cumsum(sizes) - sizes
    begins = begins[nodes[begins] >= 0]
    now[nodes[begins]] = begins
    return Edited(path, now)


def count_of(path: Path) -> int:
    """Return the number of nodes of a path."""
    return len(path) + int((~path.closed).sum())


def checked(numbers: Iterable[int], count: int) -> NDArray[np.int64]:
    """Return numbers as an array without repeats, in the order given.

    Raises
    ------
    ValueError
        If one is not there.
    """
    given = list(numbers)
    array = np.array(given, dtype=np.int64)
    if len(array) and (array.min() < 0 or array.max() >= count):
        message = f"numbers run from 0 to {count - 1}: {given}"
        raise ValueError(message)
    _, first = np.unique(array, return_index=True)
    kept: NDArray[np.int64] = array[np.sort(first)]
    return kept
