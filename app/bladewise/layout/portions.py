"""Progress of a part of the work, told as a share of the whole."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bladewise.operations.declaration import Progress


def portion(progress: Progress, start: float, end: float) -> Progress:
    """Return what a part tells its progress to, 0 to 1, which is the whole's from start to end.

    Examples
    --------
    >>> portion(print, 0.5, 1.0)(0.5)
    0.75
    """

    def told(done: float) -> None:
        progress(start + (end - start) * done)

    return told
