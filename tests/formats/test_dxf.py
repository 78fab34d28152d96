"""DXF: what is cut, in layers by material, circles exact, curves exact, real size in the unit the header says."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from ezdxf.filemanagement import read, readfile

from bladewise import formats
from bladewise.document import BLACK, Layer, Lettering, Material, Style
from bladewise.errors import CannotWrite
from bladewise.formats.cut_lines import CutLines, cut_lines
from bladewise.formats.dxf import DxfSettings, dxf_bytes, nearest_index, read_dxf_outlines, write_dxf
from bladewise.geometry.measures import area, length
from bladewise.geometry.path import Path, PathBuilder, SegmentKind, circle, ellipse, joined, polygon, rectangle
from pieces import BLUE, ORANGE, job_of, ring_and_bar, shape

if TYPE_CHECKING:
    from pathlib import Path as FilePath

    from ezdxf.document import Drawing


def drawing_of(path: Path, settings: DxfSettings | None = None) -> Drawing:
    data = dxf_bytes([CutLines("Orange", ORANGE, path)], 100.0, settings)
    return read(io.StringIO(data.decode("utf-8")))


def outline_in(path: Path, settings: DxfSettings | None = None) -> Path:
    return read_dxf_outlines(drawing_of(path, settings))["Orange"]


def leaf_curve() -> Path:
    pen = PathBuilder()
    pen.move_to((10.0, 10.0))
    pen.cubic_to((20.0, 0.0), (37.5, 55.0), (40.0, 10.0))
    pen.quadratic_to((30.0, 60.0), (20.0, 30.0))
    pen.line_to((10.0, 30.0))
    pen.close()
    return pen.path()


def test_a_circle_is_an_exact_circle_of_four_bulges() -> None:
    (entity,) = drawing_of(circle((50.0, 50.0), 5.0)).modelspace()
    assert entity.dxftype() == "LWPOLYLINE"
    assert entity.closed
    assert [abs(row[2]) for row in entity.get_points("xyb")] == pytest.approx([math.tan(math.pi / 8.0)] * 4, abs=1e-15)
    found = outline_in(circle((50.0, 50.0), 5.0))
    assert abs(area(found)) == pytest.approx(25.0 * math.pi, abs=1e-9), "78.540, not the 78.554 of cubics"
    assert length(found) == pytest.approx(10.0 * math.pi, abs=1e-9)


@pytest.mark.parametrize("quarters", [0.2, 1.0, 1.7])
@pytest.mark.parametrize("sweep", [False, True])
def test_an_arc_bends_the_same_way_and_as_far(quarters: float, *, sweep: bool) -> None:
    angle = math.radians(90.0 * quarters) * (1.0 if sweep else -1.0)
    end = (50.0 + 10.0 * math.cos(angle), 50.0 + 10.0 * math.sin(angle))
    pen = PathBuilder()
    pen.move_to((60.0, 50.0))
    pen.svg_arc_to(10.0, 10.0, 0.0, large=False, sweep=sweep, point=end)
    found = outline_in(pen.path())
    assert length(found) == pytest.approx(10.0 * abs(angle), abs=1e-9)
    low = np.hypot(*(found.points[:, [0, 3]].reshape(-1, 2) - (50.0, 50.0)).T)
    assert low == pytest.approx(10.0, abs=1e-9)
    assert area(found) == pytest.approx(-area(pen.path()), abs=1e-9), "y points up in a DXF"


def test_a_spline_lies_on_our_curve_to_the_ninth_decimal() -> None:
    path = leaf_curve()
    (entity,) = drawing_of(path).modelspace()
    assert entity.dxftype() == "SPLINE"
    assert (entity.dxf.degree, entity.closed, len(entity.knots)) == (3, True, 3 * len(path) + 5)
    curve = entity.construction_tool()
    for u in np.linspace(0.0, 4.0, 81):
        row, t = min(int(u), 3), u - min(int(u), 3)
        p0, p1, p2, p3 = path.points[row]
        s = 1.0 - t
        match path.kinds[row]:
            case SegmentKind.LINE:
                place = s * p0 + t * p3
            case SegmentKind.QUADRATIC:
                place = s * s * p0 + 2.0 * s * t * p1 + t * t * p3
            case _:
                place = s**3 * p0 + 3.0 * s * s * t * p1 + 3.0 * s * t * t * p2 + t**3 * p3
        at = curve.point(float(u))
        assert (at.x, 100.0 - at.y) == pytest.approx(tuple(place), abs=1e-9)


def test_an_ellipse_is_exact_by_weights() -> None:
    (entity,) = drawing_of(ellipse((50.0, 50.0), 20.0, 8.0)).modelspace()
    assert entity.dxftype() == "SPLINE"
    curve = entity.construction_tool()
    for u in np.linspace(0.0, 4.0, 41):
        at = curve.point(float(u))
        assert ((at.x - 50.0) / 20.0) ** 2 + ((at.y - 50.0) / 8.0) ** 2 == pytest.approx(1.0, abs=1e-12)


def test_curves_become_lines_within_the_tolerance_and_circles_stay_circles() -> None:
    settings = DxfSettings(tolerance_mm=0.05)
    both = joined([ellipse((50.0, 50.0), 20.0, 8.0), circle((20.0, 80.0), 5.0)])
    first, second = drawing_of(both, settings).modelspace()
    assert {first.dxftype(), second.dxftype()} == {"LWPOLYLINE"}
    chords = first.get_points("xyb")
    assert all(row[2] == 0.0 for row in chords)
    places = np.array([row[:2] for row in chords])
    between = (places + np.roll(places, -1, axis=0)) / 2.0 - (50.0, 50.0)
    inside = 1.0 - np.sqrt((between[:, 0] / 20.0) ** 2 + (between[:, 1] / 8.0) ** 2)
    assert 0.0 < (inside * 8.0).max() <= 0.05
    assert len(second.get_points("xyb")) == 4


def test_layers_bear_the_materials_names_and_colours() -> None:
    lines = [CutLines('Red/gloss: "A"', ORANGE, circle((9, 9), 3)), CutLines("0", BLUE, rectangle(1, 1, 5, 5))]
    drawing = read(io.StringIO(dxf_bytes(lines, 100.0).decode("utf-8")))
    assert [entity.dxf.layer for entity in drawing.modelspace()] == ["Red gloss A", "0 2"]
    assert tuple(drawing.layers.get("Red gloss A").rgb) == tuple(ORANGE)
    assert tuple(drawing.layers.get("0 2").rgb) == tuple(BLUE)
    assert nearest_index(BLACK.__class__(255, 0, 0)) == 1
    assert nearest_index(BLACK.__class__(0, 0, 255)) == 5


@pytest.mark.parametrize(("units", "code", "width"), [("mm", 4, 50.8), ("in", 1, 2.0)])
def test_the_header_says_the_unit_and_the_size_is_real(units: str, code: int, width: float) -> None:
    drawing = drawing_of(rectangle(10.0, 20.0, 50.8, 25.4), DxfSettings(units=units))
    assert drawing.header["$INSUNITS"] == code
    (entity,) = drawing.modelspace()
    places = np.array([row[:2] for row in entity.get_points("xyb")])
    assert np.ptp(places, axis=0) == pytest.approx((width, width / 2.0), abs=1e-12)
    share = width / 50.8
    assert places.min(axis=0) == pytest.approx((10.0 * share, 54.6 * share)), "the sheet's bottom left is the origin"
    assert tuple(drawing.header["$EXTMAX"])[:2] == pytest.approx(tuple(places.max(axis=0)))


def test_open_lines_stay_open_and_begin_where_they_began() -> None:
    line = polygon([(1.0, 1.0), (50.0, 1.0), (50.0, 9.0)], closed=False)
    (entity,) = drawing_of(line).modelspace()
    assert not entity.closed
    assert [row[:2] for row in entity.get_points("xyb")] == [(1.0, 99.0), (50.0, 99.0), (50.0, 91.0)]


def test_a_written_file_is_sound_and_holds_what_is_cut(tmp_path: FilePath) -> None:
    job = ring_and_bar()
    target = tmp_path / "cut.dxf"
    formats.write(job, target)
    drawing = readfile(target)
    audit = drawing.audit()
    assert not audit.errors
    assert not audit.fixes
    assert drawing.dxfversion == "AC1024"
    assert [layer.dxf.name for layer in drawing.layers][-2:] == [line.name for line in cut_lines(job)]
    found = read_dxf_outlines(drawing)
    assert [length(path) for path in found.values()] == pytest.approx([40.0 * math.pi, 140.0])


def test_what_cannot_be_cut_is_refused_and_the_old_file_stands(tmp_path: FilePath) -> None:
    target = tmp_path / "cut.dxf"
    target.write_text("old")
    text = Lettering("word", "Fresh", "Pacifico", 10.0, Style(fill=ORANGE), outline=circle((9, 9), 3.0))
    live = replace(ring_and_bar(), layers=(Layer("art", "Art", (text,)),))
    hidden = job_of(replace(shape("a", circle((9, 9), 3.0)), visible=False))
    for job in (live, hidden):
        with pytest.raises(CannotWrite):
            write_dxf(job, target)
    with pytest.raises(CannotWrite, match="cannot be written"):
        write_dxf(ring_and_bar(), target, DxfSettings(units="furlong"))
    assert target.read_text() == "old"


def test_names_in_any_script_come_back(tmp_path: FilePath) -> None:
    material = Material("foil", "Größe 金 µ", ORANGE)
    job = replace(job_of(replace(shape("a", circle((9, 9), 3.0)), material="foil")), materials=(material,))
    write_dxf(job, tmp_path / "cut.dxf")
    assert list(read_dxf_outlines(readfile(tmp_path / "cut.dxf"))) == ["Größe 金 µ"]


def test_a_file_that_does_not_read_back_as_meant_is_never_written(
    tmp_path: FilePath, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bladewise.formats.dxf._bulges", lambda path: np.zeros(len(path)))
    with pytest.raises(CannotWrite, match="does not read back"):
        write_dxf(ring_and_bar(), tmp_path / "cut.dxf")
    assert not list(tmp_path.iterdir())


def test_a_folder_that_is_not_there_is_told(tmp_path: FilePath) -> None:
    with pytest.raises(CannotWrite, match="could not be written") as caught:
        write_dxf(ring_and_bar(), tmp_path / "none" / "cut.dxf")
    assert "folder is not there" in caught.value.hint
