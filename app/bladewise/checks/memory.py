"""What was found out about shapes and pairs of shapes, kept from one check to the next.

Jobs are values that share what did not change, so a fact about an outline holds for as long as that very
outline is there. A check asks for facts by the values they follow from; only those it has not met are
worked out, together. What a check did not ask for is forgotten after it.

Where all outlines of a fact were moved by one shift it goes along with them (`moves`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from bladewise.checks.moves import Shift, shift_between
from bladewise.geometry.path import Path

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

Fact = TypeVar("Fact")

AT_ONCE = 256
"""Facts are worked out in portions of so many: together for speed, and yet a check can be broken off."""


class _Known(NamedTuple):
    """A fact, the key it follows from, and what was worked out by how much moved since: roundings do not add up."""

    key: tuple[Any, ...]
    fact: Any
    origin: Any
    since: Shift


_NOT_MOVED = Shift(0.0, 0.0)


class Memory:
    """Facts by the values they follow from: paths by identity, all else by equality."""

    def __init__(self) -> None:
        self._before: dict[tuple[Any, ...], _Known] = {}
        self._now: dict[tuple[Any, ...], _Known] = {}
        self._moved: dict[int, tuple[Path, Path, Shift]] = {}
        self.worked_out = 0
        """How many facts were not known yet, since the last check began."""
        self.pause: Callable[[], None] = lambda: None
        """Called before each portion of work; what it raises breaks the check off, and what is known is kept."""

    def begin(self) -> None:
        """Begin a check; what one that was broken off has found out is kept too."""
        self._before |= self._now
        self._now = {}
        self._moved = {}
        self.worked_out = 0

    def end(self) -> None:
        """End a check: what it did not ask for is forgotten."""
        self._before, self._now = self._now, {}

    def note_move(self, before: Path, after: Path) -> None:
        """Take note that a path stands in place of another: if it was only moved, what is known of it holds."""
        if before is not after and (shift := shift_between(before, after)) is not None:
            self._moved[id(after)] = (after, before, shift)

    def each(
        self,
        kind: str,
        keys: Sequence[tuple[Any, ...]],
        solve: Callable[[list[int]], Sequence[Fact]],
        moving: Callable[[Any, Shift], Any] | None = None,
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
        moving
            Returns a fact moved by a shift; None for facts that do not go along with the paths of their key.
        """
        names = [_name(kind, key) for key in keys]
        first: dict[tuple[Any, ...], int] = {}
        for index, name in enumerate(names):
            if name not in self._now:
                known = self._before.get(name)
                if known is None and moving is not None and self._moved:
                    known = self._gone_along(kind, keys[index], moving)
                if known is not None:
                    self._now[name] = known
                else:
                    first.setdefault(name, index)
        missing = list(first.values())
        for begin in range(0, len(missing), AT_ONCE):
            some = missing[begin : begin + AT_ONCE]
            self.pause()
            for index, fact in zip(some, solve(some), strict=True):
                # the key holds the paths whose identity names it
                self._now[names[index]] = _Known(keys[index], fact, fact, _NOT_MOVED)
            self.worked_out += len(some)
        return [self._now[name].fact for name in names]

    def _gone_along(self, kind: str, key: tuple[Any, ...], moving: Callable[[Any, Shift], Any]) -> _Known | None:
        """Return what was known of a key before all its paths were moved by one shift."""
        by: Shift | None = None
        former: list[Any] = []
        for part in key:
            if not isinstance(part, Path):
                former.append(part)
                continue
            moved = self._moved.get(id(part))
            if moved is None or (by is not None and not by.is_like(moved[2])):
                return None
            by = by or moved[2]
            former.append(moved[1])
        known = self._before.get(_name(kind, former)) if by is not None else None
        if known is None or by is None:
            return None
        same = next((new for old, new in zip(former, key, strict=True) if old is known.fact), None)
        if isinstance(same, Path):  # the fact is the outline itself
            return _Known(key, same, same, _NOT_MOVED)
        since = known.since.then(by)
        fact = moving(known.origin, since)
        if isinstance(fact, Path):  # and what is known of it goes along too
            self._moved[id(fact)] = (fact, known.fact, by)
        return _Known(key, fact, known.origin, since)


def _name(kind: str, key: Sequence[Any]) -> tuple[Any, ...]:
    return (kind, *(id(part) if isinstance(part, Path) else part for part in key))
