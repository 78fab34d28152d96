"""What was found out about shapes and pairs of shapes, kept from one check to the next.

Jobs are values that share what did not change, so a fact about an outline holds for as long as that very
outline is there. A check asks for facts by the values they follow from; only those it has not met are
worked out, together. What a check did not ask for is forgotten after it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

from bladewise.geometry.path import Path

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

Fact = TypeVar("Fact")

AT_ONCE = 256
"""Facts are worked out in portions of so many: together for speed, and yet a check can be broken off."""


class Memory:
    """Facts by the values they follow from: paths by identity, all else by equality."""

    def __init__(self) -> None:
        self._before: dict[tuple[Any, ...], tuple[Any, Any]] = {}
        self._now: dict[tuple[Any, ...], tuple[Any, Any]] = {}
        self.worked_out = 0
        """How many facts were not known yet, since the last check began."""
        self.pause: Callable[[], None] = lambda: None
        """Called before each portion of work; what it raises breaks the check off, and what is known is kept."""

    def begin(self) -> None:
        """Begin a check; what one that was broken off has found out is kept too."""
        self._before |= self._now
        self._now = {}
        self.worked_out = 0

    def end(self) -> None:
        """End a check: what it did not ask for is forgotten."""
        self._before, self._now = self._now, {}

    def each(
        self, kind: str, keys: Sequence[tuple[Any, ...]], solve: Callable[[list[int]], Sequence[Fact]]
    ) -> list[Fact]:
        """Return the fact of a kind for each key.

        Parameters
        ----------
        kind
            The name of the question.
        keys
            What each answer follows from: paths, and values that can be hashed.
        solve
            Takes the indexes of the keys that are not known yet, and returns their facts in that order. A fact
            may follow from nothing but its key: neither from its neighbours nor from how many there are.
        """
        names = [(kind, *(id(part) if isinstance(part, Path) else part for part in key)) for key in keys]
        first: dict[tuple[Any, ...], int] = {}
        for index, name in enumerate(names):
            if name not in self._now:
                if name in self._before:
                    self._now[name] = self._before[name]
                else:
                    first.setdefault(name, index)
        missing = list(first.values())
        for begin in range(0, len(missing), AT_ONCE):
            some = missing[begin : begin + AT_ONCE]
            self.pause()
            for index, fact in zip(some, solve(some), strict=True):
                self._now[names[index]] = (keys[index], fact)  # the key holds the paths whose identity names it
            self.worked_out += len(some)
        return [self._now[name][1] for name in names]
