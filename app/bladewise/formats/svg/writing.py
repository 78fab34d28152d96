"""A drawing written only once it has been read back: every outline where it was meant, on a sheet of the right size."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from bladewise.document import outline_of
from bladewise.errors import CannotRead
from bladewise.formats.atomic import write_atomically
from bladewise.formats.reading_back import Made, apart, held
from bladewise.formats.svg.reader import Reader
from bladewise.formats.svg.tree import parse
from bladewise.formats.svg.writer import svg_text
from bladewise.geometry.path import joined

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path as FilePath

    from bladewise.document import Job


def write_svg(job: Job, path: FilePath) -> None:
    """Write a job as a layered SVG, real size, for cutting and printing.

    Raises
    ------
    CannotWrite
        If it does not read back as meant, or cannot be written; what stood there before still stands.
    """
    write_atomically(path, svg_made(job).data)


def svg_made(job: Job, *, order: Mapping[str, int] | None = None) -> Made:
    """Return a job as the contents of an SVG file, and how far its outlines lie from what was meant.

    The parameters are those of `svg_text`.

    Raises
    ------
    CannotWrite
        If it does not read back as meant.
    """
    data = svg_text(job, order=order).encode("utf-8")
    return Made(data, held(_far_from(data, job), 0.0, "The drawing does not read back as it was meant."))


def _far_from(data: bytes, job: Job) -> float:
    """Read the drawing back; return how far its outlines lie from what was meant, in mm."""
    try:
        found = Reader(parse(data, where=job.name), where=job.name).job(job.name)
    except CannotRead:
        return math.inf
    if (found.width_mm, found.height_mm) != (job.width_mm, job.height_mm):
        return math.inf
    meant, seen = [], []
    for placed in job.walk():
        outline = outline_of(placed.leaf)
        if not outline:
            continue
        again = found.placed(placed.leaf.id)
        if again is None or again.visible != placed.visible:
            return math.inf
        meant.append(outline)
        seen.append(outline_of(again.leaf))
    return apart(joined(meant), joined(seen)) if meant else 0.0
