"""Bleed as resvg sees it (PyPI `resvg_py`): a cut that is off shows no white, and colours go on as they end.

Art: the Puddlewick drawings, some of the emoji of Twemoji, and pieces made here. A trade rule stands behind the first
(common practice, no source): print has to run on beyond the cut by at least what the cut may be off.
"""

import io
import math
from dataclasses import replace

import numpy as np
import pytest
import resvg_py
import shapely
from PIL import Image
from shapely import affinity

from bladewise import operations
from bladewise.document import Gradient, GradientKind, Picture, Stop
from bladewise.formats import read_svg, svg_text
from bladewise.geometry.affine import Affine
from bladewise.geometry.measures import point_at_length, segment_lengths
from bladewise.geometry.path import circle, joined, polygon, rectangle
from bladewise.geometry.regions import Region
from bladewise.layout.results import printed_result
from bladewise.operations.coats import areas_of, is_line_to_cut
from outside.pictures import DEMO, ROOT
from outside_cases import cases
from pieces import BLUE, ORANGE, job_of, print_of, shape

INCH_MM = 25.4
BLEED_MM = 2.0
DIRECTIONS = 16
FILM_SHOWS = 230
"""Under this opacity, of 255, film shows: what two soft edges on one another leave out is less."""
EMOJI = cases("twemoji", every=330)
"""A dozen, the same everywhere."""


def roomy(job, room_mm=10.0):
    """Return a job with room around it, its sheet a whole number of inches: resvg rounds sheets to whole pixels."""
    move = Affine.moved(room_mm, room_mm)
    wide, high = (INCH_MM * math.ceil((side + 2.0 * room_mm) / INCH_MM) for side in (job.width_mm, job.height_mm))
    layers = tuple(
        replace(each, children=tuple(child.transformed(move) for child in each.children)) for each in job.layers
    )
    return replace(job, width_mm=wide, height_mm=high, layers=layers)


def looked_at(job, scale):
    """Return the picture of what is printed of a job, with alpha, and pixels a mm."""
    art = printed_result(job)
    art = art.without([placed.leaf.id for placed in art.walk() if is_line_to_cut(placed)])
    wide, high = round(job.width_mm * scale), round(job.height_mm * scale)
    png = resvg_py.svg_to_bytes(svg_string=svg_text(art), width=wide, height=high, dpi=96.0, skip_system_fonts=True)
    with Image.open(io.BytesIO(bytes(png))) as image:
        return np.asarray(image.convert("RGBA"))


def bled(job, **values):
    for do, given in (("cut-line", {}), ("bleed", {"distance_mm": BLEED_MM, **values})):
        job = operations.apply(job, operations.step(do, given)).job
    return job


def line_of(job):
    return next(placed.leaf.path for placed in job.walk() if is_line_to_cut(placed))


def white_shown(job, scale, off_mm):
    """Return the share of places along the moved line, beyond the line itself, where film shows, the worst way."""
    pixels = looked_at(job, scale)
    inside = areas_of([Region(line_of(job))])[0]
    known = inside.buffer(0.6 / scale)
    shapely.prepare(known)
    worst = 0.0
    for number in range(DIRECTIONS):
        turn = 2.0 * math.pi * number / DIRECTIONS
        moved = affinity.translate(inside, off_mm * math.cos(turn), off_mm * math.sin(turn))
        points = shapely.get_coordinates(shapely.segmentize(shapely.boundary(moved), 0.4))
        points = points[~shapely.contains_xy(known, points)]
        column, row = np.floor(points * scale).astype(int).T
        worst = max(worst, float((pixels[row, column, 3] < FILM_SHOWS).mean()) if len(points) else 0.0)
    return worst


@pytest.mark.parametrize("path", DEMO)
def test_a_cut_that_is_off_by_the_bleed_shows_no_white_on_the_demo(path):
    job = roomy(read_svg(path))
    scale = 1600.0 / max(job.width_mm, job.height_mm)
    assert white_shown(bled(job), scale, BLEED_MM - 2.0 / scale) == 0.0


@pytest.mark.parametrize("path", EMOJI)
def test_a_cut_that_is_off_by_the_bleed_shows_no_white_on_emoji(path):
    job = roomy(read_svg(path))
    assert white_shown(bled(job), 40.0, BLEED_MM - 2.0 / 40.0) == 0.0


def test_the_measure_itself_sees_white_where_there_is_no_bleed():
    job = roomy(read_svg(ROOT / "demo_art" / "mascot.svg"))
    assert white_shown(bled(job, distance_mm=0.5), 8.0, BLEED_MM) > 0.5


def beside(job, scale=20.0, away_mm=0.09):
    """Return the colours just inside and just outside the line, shape (k, 3) each, and the places."""
    pixels = looked_at(job, scale)
    path = line_of(job)
    places = point_at_length(path, np.arange(0.13, segment_lengths(path).sum(), 0.37))
    out = np.stack([places.tangents[:, 1], -places.tangents[:, 0]], axis=1)
    seen = []
    for sign in (-1.0, 1.0):
        column, row = np.floor((places.points + sign * away_mm * out) * scale).astype(int).T
        seen.append(pixels[row, column, :3].astype(np.float64))
    return seen[0], seen[1], places.points


def pie(count):
    rim = [[(40 + 25 * math.cos(a), 40 + 25 * math.sin(a)) for a in np.linspace(n, n + 1, 300) * 2 * math.pi / count]
           for n in range(count)]  # fmt: skip
    return [shape(f"slice-{n}", polygon([(40, 40), *each]), BLUE if n % 2 else ORANGE) for n, each in enumerate(rim)]


def ramp(kind, start, end, radius=0.0):
    return Gradient(kind, start, end, (Stop(0.0, ORANGE), Stop(0.5, BLUE), Stop(1.0, ORANGE)), radius=radius)


CARDS = {
    "slices": pie(8),
    "stripes": [shape("card", rectangle(12, 12, 56, 40)), *(
        shape(f"stripe-{n}", polygon([(16 + 8 * n, 12), (20 + 8 * n, 12), (18 + 8 * n, 52), (14 + 8 * n, 52)]), BLUE)
        for n in range(6)
    )],
    "linear": [shape("card", circle((40, 40), 25), ramp(GradientKind.LINEAR, (15, 20), (65, 60)))],
    "radial": [shape("card", rectangle(12, 12, 56, 40), ramp(GradientKind.RADIAL, (30, 30), (30, 30), 45.0))],
    "ring": [shape("ring", joined([circle((40, 40), 25), circle((40, 40), 9).reversed()])), shape(
        "half", joined([rectangle(40, 12, 27, 56)]), BLUE
    )],
}  # fmt: skip


@pytest.mark.parametrize("name", CARDS)
def test_the_pixel_just_outside_the_edge_is_that_just_inside(name):
    job = job_of(*CARDS[name], width_mm=4 * INCH_MM, height_mm=4 * INCH_MM)
    inside, outside, _ = beside(bled(job))
    apart = np.abs(inside - outside).max(axis=1)
    assert (apart > 24.0).mean() < (0.05 if name in ("slices", "stripes", "ring") else 0.002)  # where colours meet
    assert np.median(apart) <= 3.0


def test_a_picture_goes_on_with_the_colours_of_its_edge():
    y, x = np.mgrid[0:160, 0:240]
    waves = [128 + 100 * np.sin(x / 17.0 + y / 29.0), 128 + 100 * np.cos(y / 13.0), 128 + 90 * np.sin(x / 41.0)]
    stream = io.BytesIO()
    Image.fromarray(np.stack(waves, axis=-1).astype(np.uint8)).save(stream, "PNG")
    picture = Picture("photo", stream.getvalue(), "image/png", Affine(60.0, 0.0, 0.0, 40.0, 12.0, 14.0))
    job = print_of(rectangle(12, 14, 60, 40)).with_layer(replace(job_of().layers[0], children=(picture,)), index=0)
    job = replace(job, width_mm=4 * INCH_MM, height_mm=4 * INCH_MM)
    job = operations.apply(job, operations.step("bleed", {"distance_mm": BLEED_MM})).job
    inside, outside, _ = beside(job, away_mm=0.13)  # half a pixel of the picture
    assert np.abs(inside - outside).max() <= 12.0
    assert white_shown(job, 10.0, BLEED_MM - 0.2) == 0.0


def test_a_picture_with_a_clear_ground_goes_on_beyond_its_own_outline():
    y, x = np.mgrid[0:300, 0:300]
    far = np.hypot(x - 149.5, y - 149.5) - 12.0 * np.cos(5.0 * np.arctan2(y - 149.5, x - 149.5))
    pixels = np.zeros((300, 300, 4), np.uint8)
    pixels[..., 0], pixels[..., 2] = 30 + x // 2, 220 - y // 2
    pixels[..., 3] = np.clip((121.0 - far) / 2.0, 0.0, 1.0) * 255
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, "PNG")
    picture = Picture("flower", stream.getvalue(), "image/png", Affine(60.0, 0.0, 0.0, 60.0, 15.0, 15.0))
    job = replace(job_of(), layers=(replace(job_of().layers[0], children=(picture,)),))
    job = bled(replace(job, width_mm=4 * INCH_MM, height_mm=4 * INCH_MM))
    assert white_shown(job, 16.0, BLEED_MM - 0.2) == 0.0
    inside, outside, _ = beside(job, away_mm=0.25)
    assert np.abs(inside - outside).max() <= 24.0
