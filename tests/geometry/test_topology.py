"""What a path paints is found whole, however its rings cross and however its curves fold."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bladewise.geometry.affine import Affine
from bladewise.geometry.booleans import cut_out, merge, resolve
from bladewise.geometry.curves import segment_areas
from bladewise.geometry.path import Path, PathBuilder, circle, joined, rectangle
from bladewise.geometry.regions import Region


def area(path: Path) -> float:
    return float(segment_areas(path.points, path.kinds, path.weights).sum())


def test_rings_of_one_shape_that_cross_are_not_taken_for_rings_in_rings() -> None:
    """Closed form: the square of side 16 reaches out of the circle of radius 10 at its corners only."""
    nest = joined([rectangle(-12, -12, 24, 24), circle((0, 0), 10), rectangle(-8, -8, 16, 16).reversed()])
    in_both = 100 * math.pi - 4 * (100 * math.acos(0.8) - 48)
    assert area(merge([Region(nest)])) == pytest.approx(576 - 256 + in_both, abs=1e-9)


def folded_square(seed: int, side_mm: float = 10.0) -> Path:
    """Return a square, turned, whose sides are many small cubics that fold back on the side itself."""
    rng = np.random.default_rng(seed)
    corners = side_mm * np.array([(0, 0), (1, 0), (1, 1), (0, 1)])
    pen = PathBuilder()
    pen.move_to(tuple(corners[0]))
    last = corners[0]
    for side in range(4):
        here, there = corners[side], corners[(side + 1) % 4]
        count = int(rng.integers(30, 60))
        for t in [*np.sort(rng.random(count - 1)), 1.0]:
            node = there if t == 1.0 else here + (there - here) * t
            step = (there - here) / count * rng.choice([0.3, 1.5])
            pen.cubic_to(tuple(last + step * rng.normal()), tuple(node + step * rng.normal()), tuple(node))
            last = node
    pen.close()
    return pen.path().transformed(Affine.rotated(30.0))


@pytest.mark.parametrize("seed", [*range(6), 34])
def test_a_square_of_many_folded_curves_paints_and_cuts_as_a_square(seed: int) -> None:
    square = Region(folded_square(seed))
    assert area(resolve(square)) == pytest.approx(100.0, abs=1e-6)
    assert area(cut_out(Region(rectangle(-30, -30, 60, 60)), [square])) == pytest.approx(3500.0, abs=1e-6)
