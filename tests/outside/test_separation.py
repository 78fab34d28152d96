"""Separated colours against two outsiders: resvg's picture of the art, and shapely's areas on fine chords.

The art is every 120th file of a set of openly licensed emoji (packaging/outside_data.py). See-through art is
left out of the comparison of pictures: vinyl is solid, and the step says so. Bounds are in the tests.
"""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from bladewise import operations
from bladewise.formats import read_svg, svg_text
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import area
from bladewise.operations.painted import painted_area
from outside.pictures import OFF, picture, size_in_px
from outside_cases import cases

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from bladewise.document import Job, Layer
    from bladewise.operations import Outcome

EMOJI = cases("twemoji", every=120)
CHORDS_MM = 2e-4
TRAP_MM = 0.2
NARROW_TRAP_MM = 0.02


def separated(job: Job, **values: object) -> Outcome:
    return operations.apply(job, operations.step("separate-colours", values))


def polygons(layer: Layer) -> shapely.Geometry:
    """Return the even-odd area of a layer's outlines on fine chords."""
    rings = []
    for each in layer.children:
        for ring in each.path.subpaths():
            points = flatten(ring, CHORDS_MM).coords
            if len(points) > 3:
                rings.append(shapely.make_valid(shapely.Polygon(points)))
    whole = shapely.Polygon()
    for ring in sorted(rings, key=shapely.area, reverse=True):
        whole = shapely.symmetric_difference(whole, ring)
    return whole


@cache
def only_seen(path: Path) -> tuple[Job, Outcome, shapely.Geometry]:
    """Return the art, its seen parts, and where these have edges: the same for every way it is held against."""
    job = read_svg(path)
    seen = separated(job, how="seen")
    return job, seen, shapely.union_all([shapely.boundary(polygons(layer)) for layer in seen.job.layers])


@cache
def picture_of(path: Path, width: int, height: int) -> NDArray[np.float64]:
    return picture(path, width, height)


def looks_like(path: Path, job: Job, outcome: Outcome, edges: shapely.Geometry) -> None:
    """Hold the picture of layers as stuck against that of the art: apart only along edges, and little in all."""
    size = size_in_px(job.width_mm, job.height_mm)
    off = np.abs(picture_of(path, *size) - picture(svg_text(outcome.job), *size)).max(axis=2) > OFF
    rows, columns = np.nonzero(off)
    pixel = job.width_mm / size[0]
    far = shapely.distance(edges, shapely.points((columns + 0.5) * pixel, (rows + 0.5) * pixel))
    assert (far <= math.sqrt(0.5) * pixel).all(), "a place away from every edge has another colour"
    assert len(rows) <= 0.01 * off.size


@pytest.mark.parametrize("path", EMOJI)
def test_butted_areas_are_the_painted_area_once_and_the_layers_as_stuck_look_like_the_art(path: Path) -> None:
    job = read_svg(path)
    butted = separated(job, trap_mm=0.0)
    layers = [polygons(layer) for layer in butted.job.layers]
    whole = shapely.union_all(layers)
    chords = sum(shapely.length(layer) for layer in layers) * CHORDS_MM
    assert sum(shapely.area(layer) for layer in layers) == pytest.approx(shapely.area(whole), abs=chords)
    painted = painted_area([placed.leaf for placed in job.walk()])  # by another way through the kernel
    assert area(painted) == pytest.approx(shapely.area(whole), abs=chords)
    if any("see-through" in report for report in butted.reports):
        return  # vinyl is solid, see-through art is not
    edges = shapely.union_all([shapely.boundary(layer) for layer in layers])
    trapped = separated(job, trap_mm=TRAP_MM)
    if any("narrower than the trap" in report for report in trapped.reports):
        trapped = separated(job, trap_mm=NARROW_TRAP_MM)  # what goes elsewhere is then finer than a pixel
    looks_like(path, job, trapped, edges)


@pytest.mark.parametrize("path", EMOJI[::5])
@pytest.mark.parametrize(
    "values", [{"how": "seen"}, {"how": "layered", "under": "whole"}, {"how": "layered", "overlap_mm": 0.5}]
)
def test_only_seen_and_layered_look_like_the_art_too(path: Path, values: dict[str, object]) -> None:
    job, seen, edges = only_seen(path)
    if any("see-through" in report for report in seen.reports):
        pytest.skip("see-through art: vinyl is solid")
    looks_like(path, job, seen if values == {"how": "seen"} else separated(job, **values), edges)
