"""Which nodes, or which segments, of which shapes: numbers under the shapes' ids.

How they are numbered says `geometry.nodes`. In a recipe: { bird = [3, 4], cup = [0] }; typed in a
field: "bird 3 4; cup 0".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from bladewise.phrases import phrase
from bladewise.units import counted


@dataclass(frozen=True, slots=True)
class Places:
    """Numbers under ids, in the order given; a value that can be replayed."""

    of: tuple[tuple[str, tuple[int, ...]], ...] = ()

    @classmethod
    def from_plain(cls, plain: Any) -> Places:
        """Return the places of a table or of a text; empty for an empty one.

        Raises
        ------
        ValueError
            With a sentence for the operator.
        """
        if isinstance(plain, Places):
            return plain
        if isinstance(plain, str):
            plain = _from_text(plain)
        if not isinstance(plain, Mapping):
            msg = 'Nodes are given as a table such as { bird = [3, 4] }, or as "bird 3 4".'
            raise ValueError(msg)  # noqa: TRY004 - every bad value is a ValueError with a sentence
        return cls(tuple((str(key), _numbers(str(key), value)) for key, value in plain.items()))

    def plain(self) -> dict[str, list[int]]:
        """Return the form used in recipes and job files."""
        return {key: list(numbers) for key, numbers in self.of}

    @property
    def count(self) -> int:
        """How many there are in all."""
        return sum(len(numbers) for _, numbers in self.of)

    @property
    def text(self) -> str:
        """The form that is typed: "bird 3 4; cup 0"."""
        return "; ".join(" ".join([key, *map(str, numbers)]) for key, numbers in self.of)

    def describe(self, one: str = "node", many: str = "nodes") -> str:
        """Return them in words: "a node", "3 nodes"."""
        return phrase("a node" if one == "node" else "a segment") if self.count == 1 else counted(self.count, one, many)


def _from_text(text: str) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for part in filter(None, (each.strip() for each in text.split(";"))):
        words = part.split()
        place = len(words)
        while place > 1 and words[place - 1].isdigit():
            place -= 1
        found[" ".join(words[:place])] = [int(word) for word in words[place:]]
    return found


def _numbers(key: str, value: Any) -> tuple[int, ...]:
    values = value if isinstance(value, (list, tuple)) else [value]
    right = [each for each in values if isinstance(each, int) and not isinstance(each, bool) and each >= 0]
    if not values or len(right) < len(values):
        msg = phrase("“{key}” takes numbers from 0 on, such as [3, 4].", key=key)
        raise ValueError(msg)
    return tuple(dict.fromkeys(right))
