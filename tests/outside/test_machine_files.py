"""Every machine file as others read it: within its promise of the art, everywhere, both ways.

SVG: svgelements. PDF: pdfium's page objects. DXF: ezdxf's auditor, its bulge arithmetic and its B-splines. HP-GL/2:
ezhpgl, an independent parser; one plotter unit is 0.025 mm (HP, PCL 5 Technical Reference Manual, Part II). All four
are from PyPI. Art: the demo jobs after their recipes, and files of Twemoji, circle-flags, Tabler and the W3C suite
(packaging/outside_data.py); two hundred of these are taken by tests/benchmarks/bench_round_trips.py. The distance is
Hausdorff's, contour by contour, on curves sampled to 0.001 mm.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path as FilePath

import pytest

from bladewise.document import BLACK, Job
from bladewise.errors import CannotApply
from bladewise.formats.cut_lines import CutLines, cut_lines
from bladewise.formats.dxf import dxf_bytes
from bladewise.formats.plotter import PlotterSettings, plotter_text
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import rectangle
from bladewise.recipe import read_recipe
from bladewise.session import Session
from outside.round_trips import DESTINATIONS, SAMPLED_MM, apart, art_job, dxf_places, plotted, round_trip
from outside_cases import cases

DEMO = FilePath(__file__).resolve().parents[2] / "demo_art"
DEMO_JOBS = sorted(path.stem for path in DEMO.glob("*.toml"))


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


@pytest.mark.parametrize("way", DESTINATIONS)
@pytest.mark.parametrize("name", DEMO_JOBS)
def test_a_demo_job_comes_back_from_every_format_within_its_promise(name: str, way: str) -> None:
    farthest, count = round_trip(demo_job(name), way)
    assert count > 0
    assert farthest <= DESTINATIONS[way][1] + 2.0 * SAMPLED_MM


@pytest.mark.parametrize("way", DESTINATIONS)
@pytest.mark.parametrize(
    "path",
    [
        *cases("twemoji", every=900),
        *cases("circle-flags", every=200),
        *cases("w3c-svg11", every=80),
        *cases("tabler", every=4000),
    ],
)
def test_artwork_of_others_comes_back_from_every_format_within_its_promise(path: FilePath, way: str) -> None:
    # packaging/outside_data.py names the sets; tests/benchmarks/bench_round_trips.py takes two hundred of their files.
    job = art_job(path)
    if job is None:
        pytest.skip("nothing in it is filled")
    farthest, _ = round_trip(job, way)
    assert farthest <= DESTINATIONS[way][1] + 2.0 * SAMPLED_MM


def test_the_measure_sees_a_file_that_lies_two_hundredths_off() -> None:
    square = rectangle(10.0, 10.0, 30.0, 20.0)
    moved = square.transformed(Affine.moved(0.02, 0.0))
    (places,) = dxf_places(dxf_bytes([CutLines("Art", BLACK, moved)], 100.0))
    upright = Affine(1.0, 0.0, 0.0, -1.0, 0.0, 100.0)
    assert apart(square.transformed(upright), places) == pytest.approx(0.02)


@pytest.mark.parametrize("curves", ["chords", "beziers"])
def test_another_reader_sees_the_pen_of_each_vinyl(curves: str) -> None:
    job = demo_job(DEMO_JOBS[0])
    lines = cut_lines(job)
    pens = tuple((line.name, number) for number, line in enumerate(lines, start=2))
    settings = PlotterSettings(curves=curves, pens=pens, takes_negative=True)
    theirs = [pen for pen, _ in plotted(plotter_text(lines, (job.width_mm, job.height_mm), settings))]
    assert theirs == [pen for (_, pen), line in zip(pens, lines, strict=True) for _ in line.path.starts]


def test_another_reader_sees_the_scale_of_a_finer_unit() -> None:
    lines = [CutLines("Art", BLACK, rectangle(10.0, 10.0, 10.01, 10.0))]
    ((_, places),) = plotted(plotter_text(lines, (100.0, 100.0), PlotterSettings(unit_mm=0.01)))
    assert (*places.min(axis=0), *places.max(axis=0)) == pytest.approx((10.0, 80.0, 20.01, 90.0))
