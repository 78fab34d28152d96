"""Which ink ends at a cut line is told by the art's edge, whatever the line's distance from it."""

import pytest

from bladewise.geometry.path import polygon, rectangle
from bladewise.operations.coats import coats_of
from bladewise.operations.edge_inks import EdgeReader
from pieces import BLUE, ORANGE, job_of, shape


def inks_at_the_left(peeping_mm, gap_mm):
    """Return the inks along a line at the left of two colours that share the art's left edge, all but a hairline."""
    steps = [(20 + peeping_mm * (number % 2), 40 - number * 20 / 40) for number in range(41)]
    job = job_of(
        shape("under", rectangle(20, 20, 60, 20)),
        shape("over", polygon([*steps, (50, 20), (50, 40)]), BLUE),
    )
    reader = EdgeReader(coats_of(job.walk()), beyond_mm=2.0, reach_mm=2.0, under_mm=0.2)
    edge = reader.read(rectangle(20 - gap_mm, 20 - gap_mm, 60 + 2 * gap_mm, 20 + 2 * gap_mm))
    along = [look[0][0] for (x, y), look in zip(edge.sites.tolist(), edge.looks, strict=True) if x < 20 and 21 < y < 39]
    assert len(along) > 50
    return set(along)


@pytest.mark.parametrize("gap_mm", [0.55, 1.0, 1.23])
def test_a_hairline_of_the_colour_below_does_not_make_stripes_of_the_one_above(gap_mm):
    assert inks_at_the_left(0.08, gap_mm) == {BLUE}


def test_a_rim_that_is_wider_goes_on_as_the_rim_it_is():
    job = job_of(shape("under", rectangle(20, 20, 60, 20)), shape("over", rectangle(20.3, 20, 30, 20), BLUE))
    reader = EdgeReader(coats_of(job.walk()), beyond_mm=2.0, reach_mm=2.0, under_mm=0.2)
    edge = reader.read(rectangle(19, 19, 62, 22))
    left = {
        look[0][0] for (x, y), look in zip(edge.sites.tolist(), edge.looks, strict=True) if x < 19.5 and 21 < y < 39
    }
    assert left == {ORANGE}
