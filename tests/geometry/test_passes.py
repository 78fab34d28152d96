"""Places where lines cross lie on both curves; lines that only touch do not cross."""

from __future__ import annotations

import numpy as np
import pytest

from bladewise.geometry.overlaps import crossings
from bladewise.geometry.path import PathBuilder, circle, polygon


def test_circles_cross_to_the_last_digits_where_circles_do() -> None:
    """Closed form: 6, 8 and 10."""
    places = crossings([circle((0, 0), 10), circle((12, 0), 10)])
    assert [(found.first, found.second) for found in places] == [(0, 1), (0, 1)]
    assert np.array([(found.x, found.y) for found in places]) == pytest.approx(np.array([(6, -8), (6, 8)]), abs=1e-9)


def test_a_loop_crosses_itself_on_its_axis() -> None:
    """Closed form: symmetric about x = 5, where the two passes, t = ½ ± ¼√3, have y = 60 t (1 − t) = 3.75."""
    pen = PathBuilder()
    pen.move_to((0, 0))
    pen.cubic_to((30, 20), (-20, 20), (10, 0))
    (place,) = crossings(pen.path())
    assert (place.x, place.y) == pytest.approx((5.0, 3.75), abs=1e-9)


CROSS = polygon([(-5, 0), (0, 0), (5, 0)], closed=False)


@pytest.mark.parametrize(
    ("line", "count"),
    [
        ([(0, -5), (0, 0), (0, 5)], 1),  # through a node of both
        ([(0, -5), (0, 5)], 1),  # through a node of the other
        ([(0, -5), (0, 0)], 0),  # ends on it
        ([(-3, 4), (0, 0), (3, 4)], 0),  # touches with a corner
        ([(2, -5), (2, 5)], 1),  # through the middle of a segment
        ([(-4, -3), (-2, 0), (2, 0), (4, 3)], 0),  # shares a stretch
    ],
)
def test_a_line_crosses_where_it_changes_sides(line: list[tuple[float, float]], count: int) -> None:
    assert len(crossings([CROSS, polygon(line, closed=False)])) == count
    assert len(crossings([polygon(line, closed=False), CROSS])) == count


def test_three_lines_through_one_point_cross_in_pairs() -> None:
    star = [polygon([(-x, -y), (x, y)], closed=False) for x, y in ((5, 0), (3, 4), (0, 5))]
    assert {(found.first, found.second) for found in crossings(star)} == {(0, 1), (0, 2), (1, 2)}
