"""SVG: reading what customers send, writing what the shop needs."""

from __future__ import annotations

from pathlib import Path as FilePath
from typing import TYPE_CHECKING

from bladewise.formats.svg.reader import Reader
from bladewise.formats.svg.tree import Progress, read_tree
from bladewise.formats.svg.writer import svg_text
from bladewise.formats.svg.writing import svg_made, write_svg

if TYPE_CHECKING:
    from bladewise.document import Job

__all__ = ["read_svg", "svg_made", "svg_text", "write_svg"]


def read_svg(path: FilePath, *, progress: Progress | None = None) -> Job:
    """Return the job an SVG file holds: its art in mm on a sheet of the drawing's real size.

    Parameters
    ----------
    path
        A plain or a gzip-compressed SVG file. Nothing outside it is ever opened.
    progress
        Called with the part done, 0 to 1; it may raise `bladewise.errors.Cancelled`.

    Raises
    ------
    CannotRead
        If it cannot be read: missing, empty, broken, too large, not SVG, or hostile.
    """
    path = FilePath(path)
    tree = read_tree(path, progress=_part(progress, 0.0, 0.5))
    job = Reader(tree, where=path.name, progress=_part(progress, 0.5, 1.0)).job(path.stem)
    if progress is not None:
        progress(1.0)
    return job


def _part(progress: Progress | None, start: float, end: float) -> Progress | None:
    return None if progress is None else lambda done: progress(start + (end - start) * done)
