"""Bends put every point where the map says, keep what is straight, and never tear an outline."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise.geometry.bending import (
    AlongArc,
    AlongPath,
    Bend,
    Climb,
    FourCorners,
    Ripple,
    Swell,
    UprightArch,
    bent,
)
from bladewise.geometry.curves import point_at
from bladewise.geometry.distances import nearest
from bladewise.geometry.measures import area, length
from bladewise.geometry.path import EMPTY, Path, PathBuilder, SegmentKind, circle, joined, polygon, rectangle


def curve(*places: tuple[float, float], closed: bool = False) -> Path:
    """Return a path of cubics through a start and three places a segment."""
    builder = PathBuilder()
    builder.move_to(places[0])
    for k in range(1, len(places), 3):
        builder.cubic_to(*places[k : k + 3])
    if closed:
        builder.close()
    return builder.path()


BENDS: dict[str, Bend] = {
    "rainbow": AlongArc(60.0, 20.0),
    "bowl": AlongArc(-80.0, 20.0),
    "ripple": Ripple(4.0, 30.0),
    "arch": UprightArch(6.0, 0.0, 40.0),
    "sag": UprightArch(-6.0, 0.0, 40.0),
    "climb": Climb(12.0, 0.0, 40.0),
    "slope": Climb(12.0, 0.0, 40.0, eased=False),
    "swell": Swell(0.5, 0.0, 40.0),
    "corners": FourCorners((0.0, -10.0, 40.0, 0.0), ((2.0, -14.0), (38.0, -9.0), (41.0, 1.0), (-1.0, 0.0))),
    "path": AlongPath(curve((0, 0), (15, -20), (30, 20), (50, 0)), 2.0),
}


def art() -> Path:
    """Return a word's worth of outlines: straight stems, round bowls with holes, and slanting curves."""
    leaf = curve((24, 0), (24, -8), (34, -9), (36, -4), (37, 0), (28, 1), (24, 0), closed=True)
    return joined([rectangle(1, -9, 2, 9), circle((12, -4), 4), circle((12, -4), 2.5).reversed(), leaf])


@pytest.mark.parametrize("name", BENDS)
def test_every_point_of_a_bent_outline_is_where_the_bend_puts_it(name: str) -> None:
    path, bend = art(), BENDS[name]
    rows = np.repeat(np.arange(len(path)), 41)
    t = np.tile(np.linspace(0.0, 1.0, 41), len(path))
    true = bend.places(point_at(path.points[rows], path.kinds[rows], path.weights[rows], t))
    result = bent(path, bend)
    assert max(nearest(result, place).distance_mm for place in true[::3]) < 0.005
    assert len(result.starts) == len(path.starts)


@pytest.mark.parametrize("name", BENDS)
def test_a_bent_outline_has_no_gap(name: str) -> None:
    result = bent(art(), BENDS[name])
    for ring in result.subpaths():
        assert (ring.points[1:, 0] == ring.points[:-1, 3]).all()
        assert (ring.points[-1, 3] == ring.points[0, 0]).all()


@pytest.mark.parametrize("name", BENDS)
def test_the_derivative_of_a_bend_is_that_of_its_places(name: str) -> None:
    bend = BENDS[name]
    points = np.stack([np.linspace(1.0, 39.0, 60), np.linspace(-9.0, 2.0, 60)[::-1]], axis=1)
    right, below = np.array([1e-5, 0.0]), np.array([0.0, 1e-5])
    across = (bend.places(points + right) - bend.places(points - right)) / 2e-5
    down = (bend.places(points + below) - bend.places(points - below)) / 2e-5
    found = bend.derivatives(points)
    assert np.abs(found[:, :, 0] - across).max() < 1e-6
    assert np.abs(found[:, :, 1] - down).max() < 1e-6


@given(st.floats(15.0, 400.0), st.floats(1.0, 12.0), st.floats(5.0, 80.0))
@settings(max_examples=40, deadline=None)
def test_a_bar_bent_outward_has_the_area_of_its_piece_of_a_ring(radius: float, high: float, wide: float) -> None:
    # closed form: s·h + h²·s / 2r for a bar of length s and height h on a baseline of radius r
    wide = min(wide, 2.0 * math.pi * radius * 0.95)
    result = bent(rectangle(0.0, -high, wide, high), AlongArc(radius, wide / 2.0))
    assert abs(area(result)) == pytest.approx(wide * high + high * high * wide / (2.0 * radius), abs=0.005 * wide)


def test_a_baseline_becomes_an_arc_of_the_same_length() -> None:
    line = polygon([(0.0, 0.0), (50.0, 0.0)], closed=False)
    result = bent(line, AlongArc(40.0, 25.0), tolerance_mm=1e-5)
    assert length(result) == pytest.approx(50.0, abs=1e-4)
    assert np.hypot(result.points[:, 0, 0] - 25.0, result.points[:, 0, 1] - 40.0) == pytest.approx(40.0)
    turn = math.atan2(result.points[-1, 3, 0] - 25.0, 40.0 - result.points[-1, 3, 1])
    assert turn == pytest.approx(25.0 / 40.0)


def test_uprights_along_an_arc_stay_lines_of_the_same_length() -> None:
    stem = polygon([(3.0, 0.0), (3.0, -12.0)], closed=False)
    for bend in (AlongArc(30.0, 10.0), Ripple(3.0, 20.0), UprightArch(5.0, 0.0, 30.0), Climb(5.0, 0.0, 30.0)):
        result = bent(stem, bend)
        assert result.kinds.tolist() == [SegmentKind.LINE]
        assert length(result) == pytest.approx(12.0)


def test_lines_stay_lines_when_a_frame_is_pulled_by_its_corners() -> None:
    frame = ((1.0, 2.0), (44.0, -3.0), (39.0, 22.0), (-2.0, 19.0))
    bend = FourCorners((0.0, 0.0, 40.0, 20.0), frame)
    result = bent(rectangle(0.0, 0.0, 40.0, 20.0), bend)
    assert result.kinds.tolist() == [SegmentKind.LINE] * 4
    assert result.points[:, 0] == pytest.approx(np.array(frame))
    assert bend.is_sound
    assert not FourCorners((0, 0, 1, 1), ((0, 0), (1, 0), (0.2, 0.2), (0, 1))).is_sound


def test_text_round_a_circle_goes_on_past_its_start() -> None:
    ring = circle((0.0, 0.0), 20.0)
    around = AlongPath(ring, start_mm=length(ring) - 5.0)
    line = bent(polygon([(0.0, 0.0), (10.0, 0.0)], closed=False), around, tolerance_mm=1e-5)
    assert length(line) == pytest.approx(10.0, abs=1e-4)
    assert np.hypot(*line.points[:, 0].T) == pytest.approx(20.0)


def test_past_the_end_of_an_open_path_it_goes_on_straight() -> None:
    base = polygon([(0.0, 0.0), (10.0, 0.0)], closed=False)
    result = bent(rectangle(8.0, -3.0, 6.0, 3.0), AlongPath(base))
    assert result.bounds() == pytest.approx((8.0, -3.0, 14.0, 0.0))


def test_an_arch_rises_by_what_was_asked() -> None:
    line = polygon([(0.0, 0.0), (20.0, 0.0), (40.0, 0.0)], closed=False)
    result = bent(line, UprightArch(6.0, 0.0, 40.0))
    assert result.bounds() == pytest.approx((0.0, -6.0, 40.0, 0.0), abs=1e-6)


def test_few_nodes_are_added() -> None:
    path = art()
    for name, bend in BENDS.items():
        assert len(bent(path, bend)) <= 4 * len(path), name


def test_nothing_bent_is_nothing() -> None:
    assert not bent(EMPTY, Ripple(1.0, 10.0))
