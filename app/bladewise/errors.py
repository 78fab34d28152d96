"""What can go wrong, told to the operator: what happened, to which file or shape, what to do next.

The place where a fact is known raises; the window and the command line show it. Nothing else in the
program reports failure by other means.
"""

from __future__ import annotations

from bladewise.phrases import listing


class BladewiseError(Exception):
    """A message for the operator.

    Parameters
    ----------
    what
        What happened, one sentence.
    where
        The file, shape or line it happened to, if there is one.
    hint
        What to do next, one sentence, if there is something.
    """

    def __init__(self, what: str, *, where: str = "", hint: str = "") -> None:
        """Keep the three parts apart, so that each can be shown and tested."""
        super().__init__(what)
        self.what = what
        self.where = where
        self.hint = hint

    def __str__(self) -> str:
        """Return the whole message on one line."""
        text = listing((self.where, self.what), ": ") if self.where else self.what
        return listing((text, self.hint), " ") if self.hint else text


class CannotRead(BladewiseError):
    """A file could not be read; nothing was touched."""


class CannotApply(BladewiseError):
    """A step does not apply to the job as it stands; the job is unchanged."""


class CannotWrite(BladewiseError):
    """A file could not be written; what stood there before still stands."""


class Cancelled(BladewiseError):
    """The operator stopped a long piece of work; the job is unchanged."""

    def __init__(self) -> None:
        """Say so."""
        super().__init__("Stopped; nothing was changed.")
