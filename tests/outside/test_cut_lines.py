"""Cut lines about art that others made, against resvg's picture of it, and traced letters against their own outlines.

The art is every 180th file of a set of openly licensed emoji (packaging/outside_data.py); the letters come out of
their fonts by fontTools and are drawn by resvg.
"""

from __future__ import annotations

import io
import itertools
from functools import cache
from pathlib import Path as FilePath
from typing import TYPE_CHECKING

import numpy as np
import pytest
import resvg_py
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.svgPathPen import SVGPathPen
from fontTools.ttLib import TTFont
from PIL import Image

from bends import tightest
from bladewise import operations
from bladewise.formats import read_svg
from bladewise.formats.svg.path_data import write_path_data
from bladewise.geometry.booleans import resolve
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import nearest_each
from bladewise.geometry.overlaps import crossings
from bladewise.geometry.path import PathBuilder
from bladewise.geometry.regions import Region
from bladewise.geometry.tracing import traced
from bladewise.operations.line_round import art_in
from bladewise.operations.painted import painted_area
from outside_cases import cases

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from bladewise.document import Job
    from bladewise.geometry.path import Path

EMOJI = cases("twemoji", every=180)
JOINED = [
    pytest.param(*case.values, ("bridged", "backed", "apart")[number % 3], id=f"{case.id}", marks=case.marks)
    for number, case in enumerate(EMOJI)
]
FONTS = FilePath(__file__).resolve().parents[2] / "demo_art" / "fonts"
PX = 512
COVERED = 0.02
"""A pixel that shows less than this of anything shows nothing: resvg's edges are that coarse."""


def alpha_of(svg: str) -> NDArray[np.float64]:
    """Return how much of each pixel resvg paints."""
    png = resvg_py.svg_to_bytes(svg_string=svg, width=PX, height=PX, dpi=96.0, skip_system_fonts=True)
    with Image.open(io.BytesIO(bytes(png))) as image:
        return np.asarray(image.convert("RGBA"), dtype=np.float64)[..., 3] / 255.0


def around(mask: NDArray[np.float64], which: Callable[..., NDArray[np.float64]]) -> NDArray[np.float64]:
    """Return the largest or the least of each pixel and its eight neighbours."""
    high, wide = mask.shape
    padded = np.pad(mask, 1, mode="edge")
    return which([padded[row : row + high, column : column + wide] for row in range(3) for column in range(3)], axis=0)


def alpha_of_line(path: Path, job: Job) -> NDArray[np.float64]:
    sheet = f'width="{PX}" height="{PX}" viewBox="0 0 {job.width_mm} {job.height_mm}"'
    return alpha_of(f'<svg xmlns="http://www.w3.org/2000/svg" {sheet}><path d="{write_path_data(path)}"/></svg>')


def cut(job: Job, **values: object) -> Path:
    outcome = operations.apply(job, operations.step("cut-line", values))
    line = outcome.job.element(outcome.made[0])
    assert line is not None
    return line.path


@pytest.mark.parametrize("path", EMOJI)
def test_a_cut_line_at_the_edge_encloses_what_resvg_paints_and_nothing_else(path: FilePath) -> None:
    job = read_svg(path)
    line = cut(job)
    assert line.closed.all()
    assert not crossings(line)
    art, inside = alpha_of(path.read_text(encoding="utf-8")), alpha_of_line(line, job)
    assert (around(inside, np.max)[art > COVERED] > 0.0).all()
    assert (art[around(inside, np.min) == 1.0] > COVERED).all()


@pytest.mark.parametrize(("path", "islands"), JOINED)
def test_a_smoothed_cut_line_is_whole_and_smooth_and_has_few_nodes(path: FilePath, islands: str) -> None:
    job = read_svg(path)
    radius = 0.5
    line = cut(
        job,
        distance_mm=1.0,
        holes="outer",
        inlet_radius_mm=radius,
        point_radius_mm=radius,
        islands=islands,
        reach_mm=3.0,
        bridge_width_mm=1.5,
    )
    assert line
    assert line.closed.all()
    assert not crossings(line)
    assert len(line) <= 2.0 * len(painted_area([placed.leaf for placed in art_in(operations.ALL, job)]))
    assert min(tightest(line)) >= 0.95 * radius


@cache
def glyphs(name: str) -> tuple[TTFont, dict[int, str]]:
    font = TTFont(FONTS / name)
    return font, font.getBestCmap()


@pytest.mark.parametrize("size_px", [80, 320])
@pytest.mark.parametrize("letter", "agB&")
@pytest.mark.parametrize("name", ["Pacifico-Regular.ttf", "JosefinSans-Bold.ttf"])
def test_a_letter_drawn_in_pixels_is_traced_within_a_pixel_of_its_outline(name: str, letter: str, size_px: int) -> None:
    font, keys = glyphs(name)
    drawn = font.getGlyphSet()
    recording, pen, svg = DecomposingRecordingPen(drawn), PathBuilder(), SVGPathPen(drawn)
    drawn[keys[ord(letter)]].draw(recording)
    drawn[keys[ord(letter)]].draw(svg)
    em = font["head"].unitsPerEm
    scale = size_px / (1.6 * em)

    def at(place: tuple[float, float]) -> tuple[float, float]:
        return 0.2 * size_px + place[0] * scale, 0.6 * size_px - place[1] * scale

    for command, places in recording.value:
        match command:
            case "moveTo":
                pen.move_to(at(places[0]))
            case "lineTo":
                pen.line_to(at(places[0]))
            case "curveTo":
                pen.cubic_to(*map(at, places))
            case "qCurveTo":
                *controls, end = places
                for first, second in itertools.pairwise(controls):
                    middle = ((first[0] + second[0]) / 2.0, (first[1] + second[1]) / 2.0)
                    pen.quadratic_to(at(first), at(middle))
                pen.quadratic_to(at(controls[-1]), at(end))
            case _:
                pen.close()
    outline = resolve(Region(pen.path()))
    matrix = f"matrix({scale} 0 0 {-scale} {0.2 * size_px} {0.6 * size_px})"
    png = resvg_py.svg_to_bytes(
        svg_string=f'<svg xmlns="http://www.w3.org/2000/svg" width="{size_px}" height="{size_px}">'
        f'<path transform="{matrix}" d="{svg.getCommands()}"/></svg>'
    )
    with Image.open(io.BytesIO(bytes(png))) as image:
        mask = np.asarray(image.convert("RGBA"), dtype=np.float64)[..., 3] / 255.0
    found = traced(mask)
    there = nearest_each(outline, flatten(found, 0.05).coords).distances_mm
    back = nearest_each(found, flatten(outline, 0.05).coords).distances_mm
    assert there.max() < 0.6
    # pixels do not tell where a sharp tip ends
    assert back.max() < 2.0
    assert np.quantile(back, 0.95) < 1.0
    assert np.median(back) < 0.25
    assert len(found) <= 2 * len(outline) + 8
