"""A step: an operation's name with its parameters. The unit of the command stack and of recipes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from bladewise.operations.selection import ALL, Selection


@dataclass(frozen=True, slots=True)
class Step:
    """What was done, or is to be done: the operation's name and its record of parameters."""

    do: str
    record: Any

    @property
    def on(self) -> Selection:
        """What it acts on."""
        selection = getattr(self.record, "on", ALL)
        return selection if isinstance(selection, Selection) else ALL

    def changed(self, **values: Any) -> Step:
        """Return the step with some parameters changed (already typed)."""
        return replace(self, record=replace(self.record, **values))


PlainStep = Mapping[str, Any]
