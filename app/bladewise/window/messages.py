"""What is said to the operator in place: a text, how it is meant, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from bladewise.errors import Cancelled
from bladewise.operations import ALL
from bladewise.window.language import say

if TYPE_CHECKING:
    from bladewise.errors import BladewiseError


class Tone(StrEnum):
    """How a message is meant."""

    PLAIN = "plain"
    GOOD = "good"
    TROUBLE = "trouble"


@dataclass(frozen=True, slots=True)
class Message:
    """One message to the operator, shown in place."""

    text: str
    tone: Tone = Tone.PLAIN
    hint: str = ""

    @classmethod
    def of(cls, error: BladewiseError) -> Message:
        """Return the message an error carries."""
        everywhere = error.where in ("", ALL.describe())  # that it is about all of the job tells nothing
        text = say(error.what) if everywhere else f"{say(error.where)}: {say(error.what)}"
        return cls(text, Tone.PLAIN if isinstance(error, Cancelled) else Tone.TROUBLE, say(error.hint))
