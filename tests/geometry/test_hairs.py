"""Hairs go at their root; every curve away from them keeps its bits; bridges stay."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise.geometry.affine import Affine
from bladewise.geometry.booleans import cut_out, merge, resolve
from bladewise.geometry.hairs import without_hairs
from bladewise.geometry.measures import area
from bladewise.geometry.path import Path, circle, joined, polygon, rectangle
from bladewise.geometry.regions import Region
from bladewise.geometry.widths import narrow_widths

BELOW, MOST, BLADE = 0.14, 0.1, 0.02


def dropped(path: Path, *, parting: bool = False):
    return without_hairs(path, BELOW, MOST, BLADE, parting=parting)


def united(*paths: Path) -> Path:
    return merge([Region(path) for path in paths])


def bits(path: Path) -> set[bytes]:
    return {control.tobytes() for control in path.points}


@settings(max_examples=40, deadline=None)
@given(
    st.floats(0.001, 0.13),
    st.floats(0.3, 8.0),
    st.floats(-30.0, 30.0),
    st.floats(0.0, 1.0),
    st.booleans(),
)
def test_a_spur_goes_and_all_else_keeps_its_bits(width, long, turn, tip, is_round):
    """A spur of one width or tapering, on a disc or a slab, anywhere around it."""
    body = circle((0, 0), 10) if is_round else rectangle(-10, -10, 20, 20, 3, 3)
    reach = 10.0 if is_round else 10.0 / math.cos(math.radians(turn))
    long = min(long, 0.05 / width)  # larger ones are left to a person
    end = width * tip / 2.0
    spur = polygon([(0, -width / 2), (reach + long, -end), (reach + long, end), (0, width / 2)])
    whole = united(body, spur.transformed(Affine.rotated(turn)))
    found = dropped(whole)
    if not narrow_widths(whole, BELOW):
        assert found.path is whole  # tips have no width
        return
    assert found.dropped == 1
    # what is off the body's edge by more than the root of the hair is gone, and no more than that root is lost of it
    assert area(cut_out(Region(found.path), [Region(body)])) <= 0.02
    assert area(cut_out(Region(body), [Region(found.path)])) <= 0.002
    assert narrow_widths(resolve(Region(found.path)), BELOW) == []
    touched = {control.tobytes() for control in whole.points} - bits(found.path)
    assert len(touched) <= 2 + 4  # the spur's own sides and end, and the curve or two it stands on


def test_a_long_hair_goes_if_it_is_finer_than_the_blade():
    fine = united(circle((0, 0), 10), rectangle(0, -0.005, 40, 0.01))
    assert dropped(fine).path.bounds()[2] == pytest.approx(10.0, abs=0.02)
    stout = united(circle((0, 0), 10), rectangle(0, -0.05, 40, 0.1))
    assert dropped(stout).path is stout


def test_a_hair_that_holds_two_pieces_together_is_a_bridge_and_stays_unless_asked():
    bone = united(circle((0, 0), 10), circle((30, 0), 10), rectangle(0, -0.005, 30, 0.01))
    found = dropped(bone)
    assert (found.path, found.dropped, found.bridges) == (bone, 0, 1)
    parted = dropped(bone, parting=True)
    assert (len(parted.path.starts), parted.dropped, parted.bridges) == (2, 1, 0)
    assert area(parted.path) == pytest.approx(2 * math.pi * 100, abs=0.01)


def test_two_thin_places_of_a_ring_are_bridges_both_and_one_opens_it():
    thin_twice = cut_out(Region(circle((0, 0), 10)), [Region(rectangle(-9.99, -3, 19.98, 6, 3, 3))])
    assert (dropped(thin_twice).dropped, dropped(thin_twice).bridges) == (0, 2)
    thin_once = cut_out(Region(circle((0, 0), 10)), [Region(circle((8.9, 0), 1.09))])
    found = dropped(thin_once)
    assert (len(found.path.starts), found.dropped, found.bridges) == (1, 1, 0)
    assert area(thin_once) - area(found.path) == pytest.approx(found.lost_mm2, abs=0.02)


def test_corners_however_sharp_and_art_without_hairs_stay_the_very_same():
    for path in (polygon([(0, 0), (40, 3), (0, 6)]), circle((5, 5), 3), rectangle(0, 0, 20, 0.05)):
        assert dropped(path).path is path


def test_a_hair_in_a_hole_goes_too():
    hole = cut_out(Region(rectangle(2, 2, 16, 16)), [Region(rectangle(2, 9.99, 6, 0.02))])
    frame = cut_out(Region(rectangle(0, 0, 20, 20)), [Region(hole)])
    found = dropped(frame)
    assert found.dropped == 1
    assert area(found.path) == pytest.approx(400 - 256, abs=1e-9)
    assert bits(joined([rectangle(0, 0, 20, 20)])) <= bits(found.path)
