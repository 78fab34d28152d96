"""Drawings that others made, and how far one picture of them lies from another.

Which files are compared, which are not and why, how a picture is made by resvg, and how two pictures
are measured against each other: shared by the tests of what we read and of what the window paints.

    @pytest.mark.parametrize("path", CUSTOMERS)      # or DEMO, W3C
    def test_...(path):
        job = without_lettering(read_svg(path))
        size = size_in_px(job.width_mm, job.height_mm)
        apart = difference(picture(path, *size), ...)   # our own picture of the job
        assert apart.within(BOUND)
"""

from __future__ import annotations

import io
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pytest
import resvg_py
from PIL import Image

from bladewise.document import Job, Lettering
from outside_cases import cases

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

ROOT = FilePath(__file__).resolve().parents[2]
LONG_SIDE_PX = 256
OFF = 48
"""A pixel is off when one of its channels differs by more than this, of 255: more than edges soften."""


class Difference(NamedTuple):
    """How far two pictures lie apart: mean difference of a channel (of 255), and share of pixels that are off."""

    mean: float
    off: float

    def within(self, bound: Difference) -> bool:
        """Whether both figures keep to a bound."""
        return self.mean <= bound.mean and self.off <= bound.off


BOUND = Difference(mean=0.2, off=0.0025)
"""Against resvg, of the same drawing."""
CLIPPED_BOUND = Difference(mean=0.5, off=0.01)
"""The same where a clip has become geometry: pixels along its edge are then soft once a shape, not once in all."""
W3C_BOUND = Difference(mean=1.5, off=0.01)
"""Against the pictures of the W3C suite, which another renderer with other soft edges has made."""

DEMO = [pytest.param(path, id=path.name) for path in sorted((ROOT / "demo_art").glob("*.svg"))]
"""The Puddlewick drawings."""

CUSTOMERS = [
    *cases("twemoji", every=60),
    *cases("flag-icons", every=5),
    *cases("circle-flags", every=10),
    *cases("tabler", every=60),
    *cases("mdi", every=100),
    *cases("picosvg", "*-before.svg"),
]
"""Art as customers send it: some five hundred files, the same on every machine."""

_EXTERNAL = "the file asks for another file, which is never opened"
_PATTERN = "patterns are shown in grey and noted"
_MASK = "masks that are not opaque black and white are left out and noted"
SKIPPED = {
    "degenerate-before.svg": "resvg refuses a prefix without a namespace",
    "ungroup-before.svg": "resvg refuses a prefix without a namespace",
    "ungroup-with-ids-before.svg": "resvg refuses a prefix without a namespace",
}
"""Customers' files that are not compared."""

W3C_CHAPTERS = ("coords", "masking", "painting", "paths", "pservers", "shapes", "struct", "styling", "types")
"""Chapters of the suite that concern outlines, transforms, paint, structure and styling; text and filters do not."""
W3C_SKIPPED = {
    "coords-viewattr-02-b.svg": "pictures are not cropped (preserveAspectRatio slice); noted",
    "masking-intro-01-f.svg": _MASK,
    "masking-mask-01-b.svg": _MASK,
    "masking-path-04-b.svg": _EXTERNAL,
    "pservers-grad-03-b.svg": _PATTERN,
    "pservers-grad-06-b.svg": _PATTERN,
    "pservers-pattern-01-b.svg": _PATTERN,
    "pservers-pattern-02-f.svg": _PATTERN,
    "pservers-pattern-04-f.svg": _PATTERN,
    "pservers-pattern-05-f.svg": _PATTERN,
    "pservers-pattern-07-f.svg": _PATTERN,
    "pservers-pattern-08-f.svg": _PATTERN,
    "struct-cond-03-t.svg": "requiredFeatures is gone in SVG 2 and always holds",
    "struct-symbol-01-b.svg": _EXTERNAL,
    "struct-use-04-b.svg": _EXTERNAL,
}
"""Files of the suite that are not compared, each with its reason."""
_SUITE = cases("w3c-svg11")
W3C = [one for one in _SUITE if one.id and (one.id.startswith(W3C_CHAPTERS) or one.marks)]


def picture(source: str | Path, width_px: int, height_px: int, *, fonts: tuple[Path, ...] = ()) -> NDArray[np.float64]:
    """Return resvg's picture of a drawing (its text, or its file) on white, shape (height, width, 3).

    Of fonts only those given are known, so that the picture is the same on every computer.
    """
    given = {"svg_string": source} if isinstance(source, str) else {"svg_path": str(source)}
    known = {"font_files": [str(font) for font in fonts]} if fonts else {}
    png = resvg_py.svg_to_bytes(
        **given, **known, background="#ffffff", width=width_px, height=height_px, dpi=96.0, skip_system_fonts=True
    )
    with Image.open(io.BytesIO(bytes(png))) as image:
        return np.asarray(image.convert("RGB"), dtype=np.float64)


def size_in_px(width: float, height: float) -> tuple[int, int]:
    """Return the size of a picture with the proportions of a sheet."""
    scale = LONG_SIDE_PX / max(width, height)
    return max(1, round(width * scale)), max(1, round(height * scale))


def difference(one: NDArray[np.float64], other: NDArray[np.float64]) -> Difference:
    """Return how far two pictures of one size lie apart."""
    rows, columns = min(one.shape[0], other.shape[0]), min(one.shape[1], other.shape[1])
    apart = np.abs(one[:rows, :columns] - other[:rows, :columns])
    return Difference(float(apart.mean()), float((apart.max(axis=2) > OFF).mean()))


def own_picture(path: Path) -> NDArray[np.float64] | None:
    """Return the picture that the W3C suite has beside a file, on white; None where there is none."""
    beside = path.with_name(f"{path.stem}-ref.png")
    if not beside.exists():
        return None
    with Image.open(beside) as image:
        ground = Image.new("RGBA", image.size, "white")
        ground.alpha_composite(image.convert("RGBA"))
        return np.asarray(ground.convert("RGB"), dtype=np.float64)


def without_lettering(job: Job) -> Job:
    """Return a job without its lettering, for comparing with a picture made without fonts."""
    return job.without([placed.leaf.id for placed in job.walk() if isinstance(placed.leaf, Lettering)])


def lettering_boxes(job: Job, width_px: int, height_px: int) -> NDArray[np.bool_]:
    """Return the pixels where lettering may lie in whatever font, shape (height, width): its boxes and a margin."""
    scale_x, scale_y = width_px / job.width_mm, height_px / job.height_mm
    held = np.zeros((height_px, width_px), dtype=bool)
    for placed in job.walk():
        leaf = placed.leaf
        if isinstance(leaf, Lettering) and (box := leaf.bounds) is not None:
            across, down = 0.15 * (box[2] - box[0]) + leaf.size_mm * 0.3, leaf.size_mm * 0.5
            x0, x1 = (box[0] - across) * scale_x, (box[2] + across) * scale_x
            y0, y1 = (box[1] - down) * scale_y, (box[3] + down) * scale_y
            held[max(0, int(y0)) : max(0, int(y1) + 1), max(0, int(x0)) : max(0, int(x1) + 1)] = True
    return held
