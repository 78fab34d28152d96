"""A job as a picture: the sheet filled or as outlines only, into an image or a PNG file.

Works without a window and without a screen: an image and a painter are all it needs.
"""

from __future__ import annotations

import math
from pathlib import Path as FilePath
from typing import TYPE_CHECKING

from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QImage, QPainter

from bladewise.errors import CannotWrite
from bladewise.formats.atomic import write_atomically
from bladewise.phrases import phrase
from bladewise.units import MM_PER_INCH
from bladewise.window.painting import ViewMode, paint_job
from bladewise.window.paints import WHITE, qt_colour
from bladewise.window.view import View

if TYPE_CHECKING:
    from bladewise.document import Job

DEFAULT_WIDTH_PX = 1600

MOST_PX = 120_000_000
"""Half a gigabyte of pixels: what is larger is a slip of the finger."""


def render_picture(
    job: Job,
    *,
    view: ViewMode | str = ViewMode.FILL,
    width_px: int | None = None,
    scale: float | None = None,
    transparent: bool = False,
) -> QImage:
    """Return the sheet of a job as an image.

    Parameters
    ----------
    job
        What to show.
    view
        "fill": as printed; "outline": every path as a hairline.
    width_px
        The picture's width; the height follows the sheet.
    scale
        Instead of a width: pixels a millimetre. With neither, `DEFAULT_WIDTH_PX` wide.
    transparent
        Nothing behind the art instead of white.

    Raises
    ------
    CannotWrite
        If the sheet has no size or the picture would be too large.
    """
    if not (job.width_mm > 0.0 and job.height_mm > 0.0):
        msg = "The sheet has no size, so there is nothing to make a picture of."
        raise CannotWrite(msg, where=job.name, hint="Set the sheet's size first.")
    if scale is None:
        scale = (width_px if width_px is not None else DEFAULT_WIDTH_PX) / job.width_mm
    wide = width_px if width_px is not None else max(1, math.ceil(job.width_mm * scale - 1e-6))
    high = max(1, math.ceil(job.height_mm * scale - 1e-6))
    if wide < 1 or wide * high > MOST_PX or max(wide, high) > 32_000:
        msg = phrase("The picture would be {wide} × {high} pixels.", wide=wide, high=high)
        raise CannotWrite(msg, where=job.name, hint="Ask for a width between 1 and a few thousand pixels.")
    image = QImage(wide, high, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(qt_colour(WHITE, 0.0 if transparent else 1.0))
    image.setDotsPerMeterX(round(scale * 1000.0))
    image.setDotsPerMeterY(round(scale * 1000.0))
    painter = QPainter(image)
    paint_job(painter, job, View(scale), mode=ViewMode(view))
    painter.end()
    return image


def write_png(
    job: Job,
    path: FilePath | str,
    *,
    view: ViewMode | str = ViewMode.FILL,
    width_px: int | None = None,
    scale: float | None = None,
    transparent: bool = False,
) -> None:
    """Write the sheet of a job as a PNG file, true to size by its pixel density; see `render_picture`.

    Raises
    ------
    CannotWrite
        If it cannot be drawn or written; a file that stood there still stands.
    """
    write_atomically(FilePath(path), png_bytes(job, view=view, width_px=width_px, scale=scale, transparent=transparent))


def png_bytes(
    job: Job,
    *,
    view: ViewMode | str = ViewMode.FILL,
    width_px: int | None = None,
    scale: float | None = None,
    transparent: bool = False,
) -> bytes:
    """Return the sheet of a job as the contents of a PNG file; see `render_picture`.

    Raises
    ------
    CannotWrite
        If it cannot be drawn.
    """
    image = render_picture(job, view=view, width_px=width_px, scale=scale, transparent=transparent)
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    if not image.save(buffer, "PNG"):  # type: ignore[call-overload]
        msg = "The picture could not be made."
        raise CannotWrite(msg, where=job.name, hint="Ask for a smaller width.")
    buffer.close()
    return bytes(data.data())


def paint_picture(job: Job, dpi: float, transparent: bool) -> bytes:  # noqa: FBT001 - a `PicturePainter` of the formats
    """Return a PNG of a job at so many dots an inch; see `render_picture`."""
    return png_bytes(job, scale=dpi / MM_PER_INCH, transparent=transparent)
