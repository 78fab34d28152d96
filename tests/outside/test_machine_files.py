"""DXF and plotter files as others read them: within the stated tolerance of the art, everywhere, both ways.

DXF: ezdxf's auditor, its bulge arithmetic and its B-splines. HP-GL/2: ezhpgl (PyPI, MIT), an independent parser;
one plotter unit is 0.025 mm (HP, PCL 5 Technical Reference Manual, Part II). Art: the demo jobs after their recipes,
and files of Twemoji, circle-flags and Material Design icons (npm; packaging/outside_data.py). The distance is
Hausdorff's, contour by contour, on curves sampled to 0.001 mm.
"""

from __future__ import annotations

import io
import itertools
from functools import cache
from pathlib import Path as FilePath

import ezhpgl
import numpy as np
import pytest
import shapely
from ezdxf.filemanagement import read
from ezdxf.math import ConstructionArc, bulge_to_arc

from bladewise.document import BLACK, Job
from bladewise.errors import CannotApply
from bladewise.formats import read_svg
from bladewise.formats.cut_lines import CutLines, cut_lines
from bladewise.formats.dxf import DxfSettings, dxf_bytes
from bladewise.formats.plotter import PlotterSettings, inside_out, plotter_text
from bladewise.geometry.affine import Affine
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import Path, joined, rectangle
from bladewise.recipe import read_recipe
from bladewise.session import Session
from outside_cases import cases

DEMO = FilePath(__file__).resolve().parents[2] / "demo_art"
DEMO_JOBS = sorted(path.stem for path in DEMO.glob("*.toml"))
SAMPLED_MM = 0.001


@cache
def demo_job(name: str) -> Job:
    recipe = read_recipe(DEMO / f"{name}.toml")
    session = Session.open(recipe.art)
    for step in recipe.steps:
        try:
            session.apply(step)
        except CannotApply:  # what the recipe cannot do is another test's business
            continue
    return session.job


def art_lines(path: FilePath) -> tuple[list[CutLines], tuple[float, float]]:
    """Every filled outline of a file, whatever its colour: artwork that no one has made ready."""
    job = read_svg(path)
    outline = joined(shape.path for shape in job.shapes() if shape.style.fill is not None)
    return [CutLines("Art", BLACK, outline)] if outline else [], (job.width_mm, job.height_mm)


def apart(ours: Path, theirs: np.ndarray) -> float:
    """Hausdorff's distance between a contour and places along another."""
    mine = flatten(ours, SAMPLED_MM).coords
    if len(theirs) == 1 or np.ptp(theirs, axis=0).max() == 0.0:
        return float(np.hypot(*(mine - theirs[0]).T).max())
    lines = [shapely.LineString(each) for each in (mine, theirs)]
    shapely.prepare(lines)
    return max(
        float(shapely.distance(shapely.points(each), line).max())
        for each, line in ((mine, lines[1]), (theirs, lines[0]))
    )


# ---------------------------------------------------------------------------------------------- DXF


def polyline_places(entity: object) -> np.ndarray:
    """Places along an LWPOLYLINE: ends exactly, arcs from their centre and radius, the closing segment too."""
    rows = entity.get_points("xyb")
    ends = [*rows, rows[0]] if entity.closed else rows
    places = [ends[0][:2]]
    for (x0, y0, bulge), (x1, y1, _) in itertools.pairwise(ends):
        if bulge != 0.0:
            centre, start, end, radius = bulge_to_arc((x0, y0), (x1, y1), bulge)
            arc = ConstructionArc(centre, radius, np.degrees(start), np.degrees(end))
            count = 3 + int((arc.end_angle - arc.start_angle) % 360.0 / np.degrees(np.sqrt(8.0 * SAMPLED_MM / radius)))
            inner = [tuple(each)[:2] for each in arc.vertices(arc.angles(count))]
            places += inner if bulge > 0.0 else inner[::-1]
        places.append((x1, y1))
    return np.array(places)


def dxf_distances(lines: list[CutLines], height_mm: float, settings: DxfSettings) -> list[float]:
    drawing = read(io.StringIO(dxf_bytes(lines, height_mm, settings).decode("utf-8")))
    audit = drawing.audit()
    assert not audit.errors
    assert not audit.fixes
    ours = [contour for line in lines for contour in line.path.subpaths()]
    upright = Affine(1.0, 0.0, 0.0, -1.0, 0.0, height_mm)
    entities = list(drawing.modelspace())
    assert len(entities) == len(ours)
    found = []
    for contour, entity in zip(ours, entities, strict=True):
        assert entity.closed == contour.closed[0]
        if entity.dxftype() == "LWPOLYLINE":
            places = polyline_places(entity)
        else:
            curve = entity.construction_tool()
            places = np.array([tuple(each)[:2] for each in curve.flattening(SAMPLED_MM, segments=32)])
        found.append(apart(contour.transformed(upright), places))
    return found


@pytest.mark.parametrize("tolerance_mm", [None, 0.05])
@pytest.mark.parametrize("name", DEMO_JOBS)
def test_a_demo_job_as_dxf_lies_on_the_art(name: str, tolerance_mm: float | None) -> None:
    job = demo_job(name)
    found = dxf_distances(cut_lines(job), job.height_mm, DxfSettings(tolerance_mm=tolerance_mm))
    assert max(found) <= (tolerance_mm or 0.0) + 2.0 * SAMPLED_MM


@pytest.mark.parametrize(
    "path", cases("twemoji", every=400) + cases("circle-flags", every=60) + cases("mdi", every=900)
)
def test_artwork_of_others_as_dxf_lies_on_the_art(path: FilePath) -> None:
    lines, (_, height) = art_lines(path)
    for tolerance in (None, 0.02):
        found = dxf_distances(lines, height, DxfSettings(tolerance_mm=tolerance))
        assert max(found, default=0.0) <= (tolerance or 0.0) + 2.0 * SAMPLED_MM


# ------------------------------------------------------------------------------------------- HP-GL/2


def curve_places(control: list[tuple[float, float]]) -> np.ndarray:
    p0, p1, p2, p3 = np.array(control)[:, None, :]
    bend = max(np.hypot(*(p0 - 2.0 * p1 + p2)[0]), np.hypot(*(p1 - 2.0 * p2 + p3)[0]))
    t = np.linspace(0.0, 1.0, 3 + int(np.sqrt(0.75 * bend / SAMPLED_MM)))[:, None]
    s = 1.0 - t
    return s**3 * p0 + 3.0 * s * s * t * p1 + 3.0 * s * t * t * p2 + t**3 * p3


def plotted(text: str) -> list[tuple[int, np.ndarray]]:
    """What ezhpgl understands: pen and places of each lowering of the pen, mm, y up."""
    document = ezhpgl.parse(text.encode("ascii"))
    assert not document.diagnostics
    assert (document.units, document.completeness) == ("mm", "complete")
    found: list[tuple[int, np.ndarray]] = []
    last = None
    for operation in (each for page in document.pages for each in page.operations):
        geometry = operation.geometry
        if geometry.kind == "curve":
            places = curve_places([(each.x, each.y) for each in geometry.curve.control_points])
        else:
            places = np.array([(each.x, each.y) for each in geometry.points])
        if operation.path_id == last:
            found[-1] = (found[-1][0], np.concatenate([found[-1][1], places]))
        else:
            found.append((operation.style.pen, places))
        last = operation.path_id
    return found


def plot_distances(lines: list[CutLines], sheet_mm: tuple[float, float], settings: PlotterSettings) -> list[float]:
    theirs = plotted(plotter_text(lines, sheet_mm, settings))
    upright = Affine(1.0, 0.0, 0.0, -1.0, 0.0, sheet_mm[1])
    ours = [
        (dict(settings.pens).get(line.name, settings.pen), contour)
        for line in lines
        for contour in inside_out(line.path.transformed(upright))
    ]
    assert [pen for pen, _ in theirs] == [pen for pen, _ in ours]
    return [apart(contour, places) for (_, contour), (_, places) in zip(ours, theirs, strict=True)]


@pytest.mark.parametrize("unit_mm", [0.025, 0.005])
@pytest.mark.parametrize("curves", ["chords", "beziers"])
@pytest.mark.parametrize("name", DEMO_JOBS)
def test_a_demo_job_as_plotter_file_lies_on_the_art(name: str, curves: str, unit_mm: float) -> None:
    job = demo_job(name)
    lines = cut_lines(job)
    pens = tuple((line.name, number) for number, line in enumerate(lines, start=2))
    settings = PlotterSettings(curves=curves, unit_mm=unit_mm, tolerance_mm=0.01, pens=pens, takes_negative=True)
    found = plot_distances(lines, (job.width_mm, job.height_mm), settings)
    assert max(found) <= 0.01 + unit_mm * np.sqrt(0.5) + 2.0 * SAMPLED_MM


@pytest.mark.parametrize(
    "path", cases("twemoji", every=400) + cases("circle-flags", every=60) + cases("mdi", every=900)
)
def test_artwork_of_others_as_plotter_file_lies_on_the_art(path: FilePath) -> None:
    lines, sheet = art_lines(path)
    for curves in ("chords", "beziers"):
        settings = PlotterSettings(curves=curves, tolerance_mm=0.01, takes_negative=True)
        found = plot_distances(lines, sheet, settings)
        assert max(found, default=0.0) <= 0.01 + 0.025 * np.sqrt(0.5) + 2.0 * SAMPLED_MM


def test_another_reader_sees_the_scale_of_a_finer_unit() -> None:
    lines = [CutLines("Art", BLACK, rectangle(10.0, 10.0, 10.01, 10.0))]
    ((_, places),) = plotted(plotter_text(lines, (100.0, 100.0), PlotterSettings(unit_mm=0.01)))
    assert (*places.min(axis=0), *places.max(axis=0)) == pytest.approx((10.0, 80.0, 20.01, 90.0))
