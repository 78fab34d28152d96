"""What is read back is measured against what was meant: contour by contour, both ways, in millimetres."""

from __future__ import annotations

import io
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from bladewise.errors import CannotWrite
from bladewise.formats import Destination, prepared
from bladewise.formats.reading_back import SAMPLED_MM, apart, held
from bladewise.formats.svg import writing
from bladewise.geometry.affine import Affine
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import EMPTY, Path, circle, joined, polygon, rectangle
from pieces import job_of, ring_and_bar, shape


def chorded(path: Path, tolerance_mm: float) -> Path:
    flat = flatten(path, tolerance_mm)
    return joined(polygon([tuple(place) for place in part[:-1]]) for part in np.split(flat.coords, flat.starts[1:]))


@given(count=st.integers(8, 60), radius=st.floats(1.0, 500.0))
def test_chords_of_a_circle_lie_their_sagitta_away(count: int, radius: float) -> None:
    # r (1 - cos(pi / n)): any handbook of geometry.
    corners = [(radius * math.cos(a), radius * math.sin(a)) for a in np.linspace(0.0, math.tau, count + 1)[:-1]]
    around = circle((0.0, 0.0), radius)
    sagitta = radius * (1.0 - math.cos(math.pi / count))
    assert apart(around, polygon(corners)) == pytest.approx(sagitta, abs=2.0 * SAMPLED_MM)


def test_what_strays_on_one_side_alone_is_seen_from_both() -> None:
    plain = rectangle(0.0, 0.0, 100.0, 50.0)
    spiked = polygon([(0, 0), (49, 0), (50, -7), (51, 0), (100, 0), (100, 50), (0, 50)])
    assert apart(plain, spiked) == pytest.approx(7.0)
    assert apart(spiked, plain) == pytest.approx(7.0)


def test_a_chord_across_a_notch_is_seen_between_its_nodes() -> None:
    # Nodes of both lie on each other's lines; what is between them does not.
    notch = polygon([(0, 0), (40, 0), (50, 30), (60, 0), (100, 0), (100, -10), (0, -10)])
    across = polygon([(0, 0), (100, 0), (100, -10), (0, -10)])
    assert apart(notch, across) == pytest.approx(30.0)


def test_contours_lost_joined_or_swapped_are_as_wrong_as_moved_ones() -> None:
    one, other = circle((0.0, 0.0), 5.0), circle((50.0, 0.0), 5.0)
    assert apart(joined([one, other]), joined([other, one])) == pytest.approx(50.0, abs=0.01)
    assert apart(joined([one, other]), one) == math.inf
    assert apart(one, EMPTY) == math.inf
    line = polygon([(0, 0), (9, 0), (9, 9)], closed=False)
    opened = polygon([(0, 0), (9, 0), (9, 9), (0, 0)], closed=False)
    assert apart(line, polygon([(0, 0), (9, 0), (9, 9)])) == math.inf
    assert apart(opened, polygon([(0, 0), (9, 0), (9, 9)]), tells_closed=False) == 0.0
    assert apart(EMPTY, EMPTY) == 0.0


def test_a_number_that_is_none_is_infinitely_far() -> None:
    path = circle((0.0, 0.0), 5.0)
    broken = replace(path, points=np.where(path.points > 4.0, np.nan, path.points))
    assert apart(path, broken) == math.inf
    with pytest.raises(CannotWrite, match="wrong"):
        held(math.nan, 0.1, "wrong")


def test_long_rows_of_chords_are_measured_all_the_same() -> None:
    whole = circle((0.0, 0.0), 3000.0)
    assert apart(whole, chorded(whole, 0.01)) == pytest.approx(0.01, abs=0.002)
    assert apart(whole, chorded(whole, 0.0002).transformed(Affine.moved(0.3, 0.4))) == pytest.approx(0.5, abs=0.003)


def test_dots_have_a_distance() -> None:
    dot = polygon([(5.0, 5.0), (5.0, 5.0)], closed=False)
    assert apart(dot, polygon([(5.0, 8.0), (5.0, 8.0)], closed=False)) == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("kind", "promised"), [("svg", 0.0), ("pdf", 0.001), ("dxf", 1e-9), ("hpgl", 0.01 + 0.025 * math.sqrt(0.5))]
)
def test_each_file_knows_how_true_it_is(kind: str, promised: float) -> None:
    (file,) = prepared(ring_and_bar(), Destination(kind))
    assert file.apart_mm is not None
    assert 0.0 <= file.apart_mm <= promised + 2.0 * SAMPLED_MM
    if kind == "hpgl":
        assert file.apart_mm > 0.001, "whole plotter units are not exact"


def test_a_drawing_that_does_not_read_back_is_not_made(monkeypatch: pytest.MonkeyPatch) -> None:
    right = writing.svg_text
    for wrong in (
        lambda job, **more: right(job, **more).replace('d="M', 'd="M0 0L9 9M', 1),
        lambda job, **more: right(job, **more).replace("<path", "<glyph", 1),
        lambda job, **more: right(job, **more).replace('width="200mm"', 'width="201mm"'),
        lambda job, **more: right(job, **more)[:-20],
    ):
        monkeypatch.setattr(writing, "svg_text", wrong)
        with pytest.raises(CannotWrite, match="does not read back"):
            prepared(ring_and_bar(), Destination("svg"))


def test_a_picture_of_the_wrong_size_or_none_at_all_is_refused() -> None:
    def painter(width: int, dpi: float, kind: str = "PNG", alpha: int = 255) -> bytes:
        stream = io.BytesIO()
        mode = "RGBA" if kind == "PNG" else "RGB"
        Image.new(mode, (width, width), (9, 9, 9, alpha)[: len(mode)]).save(stream, kind, dpi=(dpi, dpi))
        return stream.getvalue()

    job = job_of(shape("a", rectangle(1.0, 1.0, 5.0, 5.0)), width_mm=25.4, height_mm=25.4)
    png = Destination("png", dpi=100.0)
    (file,) = prepared(job, png, lambda *_: painter(100, 100.0))
    assert (file.name, file.apart_mm) == ("Test.png", None)
    wrong = [painter(98, 100.0), painter(100, 72.0), painter(100, 100.0, "BMP"), b"none", painter(100, 100.0, alpha=9)]
    for data in wrong:
        with pytest.raises(CannotWrite, match="does not read back"):
            prepared(job, png, lambda *_, data=data: data)
    prepared(job, replace(png, transparent=True), lambda *_: painter(100, 100.0, alpha=9))
    with pytest.raises(CannotWrite, match="Pictures cannot be painted"):
        prepared(job, png)


def test_of_copies_each_is_held_against_its_own_place() -> None:
    one = joined([circle((5.0, 5.0), 4.0), rectangle(20.0, 2.0, 6.0, 6.0)])
    rows = [one.transformed(Affine.moved(30.0 * number, 7.0)) for number in range(6)]
    told = [chorded(each, 0.01) for each in rows]
    alone = apart(rows[0], told[0])
    assert apart(joined(rows), joined(told)) == pytest.approx(alone, abs=SAMPLED_MM)
    told[4] = told[4].transformed(Affine.moved(0.5, 0.0))
    assert apart(joined(rows), joined(told)) == pytest.approx(0.5, abs=0.02)
    told[4] = told[3]
    assert apart(joined(rows), joined(told)) == pytest.approx(30.0, abs=0.02)


@settings(max_examples=25)
@given(seed=st.integers(0, 10_000), turned=st.integers(0, 299))
def test_the_farthest_place_of_many_is_found_wherever_a_contour_begins(seed: int, turned: int) -> None:
    rng = np.random.default_rng(seed)
    around = np.linspace(0.0, math.tau, 301)[:-1]
    reach = 30.0 + np.cumsum(rng.normal(0.0, 0.3, 300))
    corners = np.c_[reach * np.cos(around), reach * np.sin(around)]
    other = np.roll(corners + rng.normal(0.0, 0.02, corners.shape), turned, axis=0)
    one, two = (polygon([(x, y) for x, y in each.tolist()]) for each in (corners, other))
    rings = [shapely.segmentize(shapely.LinearRing(each), 0.5) for each in (corners, other)]
    plain = shapely.hausdorff_distance(rings[0], rings[1], densify=0.1)  # GEOS's own, over places only
    assert apart(one, two) == pytest.approx(plain, abs=0.02)
