"""HP-GL/2: absolute places in plotter units of 0.025 mm, rounded once; read back by our own small reader."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from bladewise import formats
from bladewise.errors import CannotRead, CannotWrite
from bladewise.formats import plotter
from bladewise.formats.cut_lines import CutLines
from bladewise.formats.plotter import PlotterSettings, inside_out, plotter_text, write_plotter
from bladewise.formats.plotter_reader import read_plotter
from bladewise.geometry.path import Path, PathBuilder, circle, ellipse, joined, polygon, rectangle
from pieces import BLUE, ORANGE, ring_and_bar

if TYPE_CHECKING:
    from pathlib import Path as FilePath

SHEET = (200.0, 100.0)


def text_of(path: Path, **settings: object) -> str:
    return plotter_text([CutLines("Orange", ORANGE, path)], SHEET, PlotterSettings(**settings))


def places_in(text: str) -> np.ndarray:
    numbers = [number for each in re.findall(r"(?:PU|PD|BZ)([\d,-]+);", text) for number in each.split(",")]
    return np.array(numbers, dtype=np.int64).reshape(-1, 2)


def test_a_square_is_written_as_the_manual_has_it() -> None:
    # Sheet 100 mm high; a square of 10 mm whose lower left is 20 mm across and 70 mm up: 40 units a millimetre.
    text = text_of(rectangle(20.0, 20.0, 10.0, 10.0))
    assert text == "IN;\nPA;\nSP1;\nPU800,3200;\nPD1200,3200,1200,2800,800,2800,800,3200;\nPU;\nPU;SP0;\n"


def test_only_whole_numbers_and_only_the_languages_own_instructions_are_written() -> None:
    text = text_of(circle((50.0, 50.0), 7.3), curves="beziers", force=3, speed=10.0, unit_mm=0.01)
    assert re.fullmatch(r"[A-Z0-9,;\n-]+", text)
    assert set(re.findall(r"[A-Z]{2}", text)) == {"IN", "IP", "SC", "PA", "SP", "FS", "VS", "PU", "PD", "BZ"}
    assert not re.findall("FS|VS", text_of(circle((50.0, 50.0), 7.3))), "force and speed only where asked"


@pytest.mark.parametrize(
    ("rotation", "origin", "box"),
    [
        # The art is 20 × 10 mm, its lower left at 30, 60 mm on a sheet of 200 × 100 mm.
        (0, "lower-left", (30, 60, 50, 70)),
        (90, "lower-left", (30, 30, 40, 50)),
        (180, "lower-left", (150, 30, 170, 40)),
        (270, "lower-left", (60, 150, 70, 170)),
        (0, "centre", (-70, 10, -50, 20)),
        (90, "centre", (-20, -70, -10, -50)),
        (0, "art", (0, 0, 20, 10)),
        (90, "art", (0, 0, 10, 20)),
    ],
)
def test_the_sheet_is_turned_and_its_origin_is_where_it_was_asked(
    rotation: int, origin: str, box: tuple[int, ...]
) -> None:
    path = rectangle(30.0, 30.0, 20.0, 10.0)
    places = places_in(text_of(path, rotation_deg=rotation, origin=origin, takes_negative=origin == "centre"))
    assert (*places.min(axis=0), *places.max(axis=0)) == tuple(40 * each for each in box)


@pytest.mark.parametrize("tolerance", [0.5, 0.05, 0.01])
def test_chords_of_a_circle_stay_within_the_tolerance_and_half_a_unit(tolerance: float) -> None:
    text = text_of(circle((100.0, 50.0), 30.0), tolerance_mm=tolerance)
    places = places_in(text) * 0.025 - (100.0, 50.0)
    middles = np.hypot(*((places[1:] + places[:-1]) / 2.0).T)
    rounding = 0.025 * math.sqrt(0.5)
    assert np.abs(np.hypot(*places.T) - 30.0).max() <= rounding + 1e-9, (
        "every place lies on the circle but for rounding"
    )
    assert (30.0 - middles).max() <= tolerance + rounding
    assert (30.0 - middles).max() >= tolerance / 8.0, "not many more chords than are needed"


@pytest.mark.parametrize(("radius", "tolerance", "count"), [(30.0, 0.01, 4), (30.0, 0.001, 8), (90.0, 0.05, 4)])
def test_an_arc_as_beziers_is_parted_until_it_is_within_the_tolerance(
    radius: float, tolerance: float, count: int
) -> None:
    text = plotter_text(
        [CutLines("Orange", ORANGE, circle((100.0, 100.0), radius))],
        (200.0, 200.0),
        PlotterSettings(curves="beziers", tolerance_mm=tolerance, unit_mm=0.005),
    )
    (drawn,) = read_plotter(text).drawn
    assert len(drawn.path) == count
    t = np.linspace(0.0, 1.0, 41)[:, None, None]
    p0, p1, p2, p3 = (drawn.path.points[:, row][None] for row in range(4))
    s = 1.0 - t
    on = s**3 * p0 + 3 * s * s * t * p1 + 3 * s * t * t * p2 + t**3 * p3
    off = np.abs(np.hypot(on[..., 0] - 100.0, on[..., 1] - 100.0) - radius).max()
    assert off <= tolerance + 0.005 * math.sqrt(0.5)


def test_a_cubic_is_written_with_its_own_control_points_rounded_once() -> None:
    pen = PathBuilder()
    pen.move_to((10.0, 90.0))
    pen.cubic_to((20.01, 80.0), (30.0, 75.49), (40.0, 90.0))
    assert "PU400,400;\nPD;\nBZ800,800,1200,980,1600,400;\nPU;" in text_of(pen.path(), curves="beziers")


def test_a_finer_unit_is_told_by_the_languages_own_scale() -> None:
    path = rectangle(20.0, 20.0, 10.0, 10.003)
    text = text_of(path, unit_mm=0.005)
    assert text.startswith("IN;\nIP0,0,4000,4000;SC0,20000,0,20000;\nPA;")
    plot = read_plotter(text)
    assert plot.unit_mm == pytest.approx(0.005)
    assert plot.drawn[0].path.bounds() == pytest.approx((20.0, 69.995, 30.0, 80.0))


def test_holes_are_cut_before_what_is_around_them_and_else_the_order_stays() -> None:
    far = circle((150.0, 50.0), 5.0)
    around, hole = circle((50.0, 50.0), 30.0), circle((50.0, 50.0), 20.0)
    island, dot = circle((50.0, 50.0), 10.0), circle((50.0, 50.0), 2.0)
    found = list(inside_out(joined([around, far, dot, hole, island])))
    assert found == [dot, island, hole, around, far]


def test_contours_that_only_share_their_boxes_keep_their_order() -> None:
    bracket = polygon([(0, 0), (50, 0), (50, 5), (5, 5), (5, 45), (50, 45), (50, 50), (0, 50)])
    beside = circle((30.0, 25.0), 10.0)
    assert list(inside_out(joined([bracket, beside]))) == [bracket, beside]


def test_contours_begin_where_they_began() -> None:
    (drawn,) = read_plotter(text_of(polygon([(30.0, 20.0), (40.0, 20.0), (35.0, 30.0)]))).drawn
    assert tuple(drawn.path.points[0, 0]) == pytest.approx((30.0, 80.0))
    assert drawn.path.closed.all()


def test_each_material_has_its_pen() -> None:
    lines = [CutLines("Orange", ORANGE, circle((50, 50), 9)), CutLines("Blue", BLUE, circle((90, 50), 9))]
    text = plotter_text(lines, SHEET, PlotterSettings(pens=(("Blue", 4),)))
    assert [drawn.pen for drawn in read_plotter(text).drawn] == [1, 4]


def test_numbers_below_0_are_never_written_for_a_device_that_takes_none() -> None:
    with pytest.raises(CannotWrite, match="2 mm beyond the origin"):
        text_of(rectangle(-2.0, 10.0, 20.0, 20.0))
    assert places_in(text_of(rectangle(-2.0, 10.0, 20.0, 20.0), takes_negative=True)).min() == -80
    pen = PathBuilder()
    pen.move_to((2.0, 50.0))
    pen.cubic_to((-0.5, 60.0), (-0.5, 70.0), (2.0, 80.0))  # the curve stays on the sheet, its handles do not
    text = text_of(pen.path(), curves="beziers")
    assert "BZ" not in text
    assert places_in(text).min() >= 0
    assert "BZ" in text_of(pen.path(), curves="beziers", takes_negative=True)


def test_what_the_language_cannot_say_is_refused() -> None:
    with pytest.raises(CannotWrite, match="farther than the plotter language"):
        text_of(rectangle(0.0, 0.0, 300_000.0, 10.0))
    for wrong in ({"origin": "top"}, {"rotation_deg": 45}, {"unit_mm": 0.1}, {"curves": "arcs"}, {"pen": 0}):
        with pytest.raises(CannotWrite):
            text_of(circle((50.0, 50.0), 5.0), **wrong)


def test_a_piece_smaller_than_a_unit_is_still_there() -> None:
    text = text_of(joined([circle((50.0, 50.0), 0.004), circle((90.0, 50.0), 5.0)]))
    assert len(read_plotter(text).drawn) == 2


def test_long_lines_are_parted_for_small_buffers() -> None:
    text = text_of(ellipse((100.0, 50.0), 90.0, 40.0), tolerance_mm=0.001)
    assert max(map(len, text.splitlines())) < 400
    (drawn,) = read_plotter(text).drawn
    assert drawn.path.closed.all()


def test_a_file_is_written_by_its_ending_and_old_ones_stand_when_it_fails(tmp_path: FilePath) -> None:
    for ending in (".hpgl", ".plt"):
        formats.write(ring_and_bar(), tmp_path / f"cut{ending}")
        assert (tmp_path / f"cut{ending}").read_text().startswith("IN;")
    outside = replace(ring_and_bar(), height_mm=10.0)
    before = (tmp_path / "cut.plt").read_bytes()
    with pytest.raises(CannotWrite, match="beyond the origin"):
        write_plotter(outside, tmp_path / "cut.plt")
    assert (tmp_path / "cut.plt").read_bytes() == before


def test_our_reader_refuses_what_we_do_not_write() -> None:
    with pytest.raises(CannotRead, match="no instruction we write"):
        read_plotter("IN;SP1;LBhello;")


def test_a_file_that_does_not_read_back_as_meant_is_never_written(
    tmp_path: FilePath, monkeypatch: pytest.MonkeyPatch
) -> None:
    right = plotter._rounded
    monkeypatch.setattr(plotter, "_rounded", lambda places, a_mm: right(places * 1.01, a_mm))
    with pytest.raises(CannotWrite, match="does not read back"):
        write_plotter(ring_and_bar(), tmp_path / "cut.plt")
    assert not list(tmp_path.iterdir())
