"""Pictures held against what was asked: readable, of the sheet's size at the dots an inch, clear where that was asked.

Pillow reads them; who painted them does not matter.
"""

from __future__ import annotations

import io
import math
from typing import TYPE_CHECKING

from PIL import Image

from bladewise.errors import CannotWrite
from bladewise.units import MM_PER_INCH

if TYPE_CHECKING:
    from bladewise.document import Job

_DPI_SHARE = 0.001
"""PNG states whole pixels a metre: at 25 dots an inch that is a share of five in ten thousand."""


def hold_pixels(data: bytes, job: Job, dpi: float, *, transparent: bool) -> None:
    """Refuse a PNG that is not the picture of a job's sheet at so many dots an inch.

    Raises
    ------
    CannotWrite
        If it is not; this is a fault of ours, and the file is not written.
    """
    scale = dpi / MM_PER_INCH
    wanted = math.ceil(job.width_mm * scale - 1e-6), math.ceil(job.height_mm * scale - 1e-6)
    try:
        with Image.open(io.BytesIO(data)) as picture:
            picture.load()
            size, stated, kind = picture.size, picture.info.get("dpi", (0.0, 0.0)), picture.format
            least = picture.getchannel("A").getextrema()[0] if "A" in picture.getbands() else 255
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        size, stated, kind, least = (0, 0), (0.0, 0.0), None, 255
    right = kind == "PNG" and all(abs(one - other) <= 1 for one, other in zip(size, wanted, strict=True))
    right &= all(abs(float(one) - dpi) <= max(_DPI_SHARE * dpi, 0.0127) for one in stated)
    if not (right and (transparent or least == 255)):
        raise CannotWrite("The picture does not read back as it was meant.", where=job.name, hint="Please report it.")
