"""What holds for every stroke and every parallel, whatever the path."""

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bladewise.geometry.booleans import cut_out, resolve
from bladewise.geometry.dashes import dashed
from bladewise.geometry.measures import area, contains, perimeter, segment_lengths, winding_numbers
from bladewise.geometry.parallels import Corner, parallel
from bladewise.geometry.path import Path, PathBuilder, SegmentKind
from bladewise.geometry.regions import Region
from bladewise.geometry.strokes import LineCap, LineJoin, StrokeGeometry, stroke_outline, stroke_to_shape

places = st.tuples(st.integers(-400, 400), st.integers(-400, 400)).map(lambda at: (at[0] / 10.0, at[1] / 10.0))


@st.composite
def paths(draw: st.DrawFn) -> Path:
    """A path on a grid of 0.1 mm, so that doubled points, collinear handles and cusps come up often."""
    pen = PathBuilder()
    for _ in range(draw(st.integers(1, 2))):
        pen.move_to(draw(places))
        for _ in range(draw(st.integers(1, 4))):
            match draw(st.sampled_from("LQC")):
                case "L":
                    pen.line_to(draw(places))
                case "Q":
                    pen.quadratic_to(draw(places), draw(places))
                case _:
                    pen.cubic_to(draw(places), draw(places), draw(places))
        if draw(st.booleans()):
            pen.close()
    return pen.path()


strokes = st.builds(
    StrokeGeometry,
    width_mm=st.sampled_from([0.3, 1.0, 5.0, 20.0]),
    cap=st.sampled_from(list(LineCap)),
    join=st.sampled_from(list(LineJoin)),
    miter_limit=st.sampled_from([1.0, 4.0, 20.0]),
)


@given(paths(), strokes)
@settings(max_examples=40)
def test_no_place_is_counted_backwards_before_crossings_are_resolved(path, stroke):
    outline = stroke_outline(path, stroke)
    assume(outline)
    x0, y0, x1, y1 = outline.bounds()
    grid = np.stack(np.meshgrid(np.linspace(x0, x1, 23)[1:-1], np.linspace(y0, y1, 23)[1:-1]), axis=-1).reshape(-1, 2)
    counts = winding_numbers(outline, grid + 0.0123)
    for place in (grid + 0.0123)[counts < 0]:  # a hair beside an evolute's chord may count backwards; no area may
        around = place + 0.02 * np.array([[1, 0], [-1, 0], [0, 1], [0, -1]])
        assert winding_numbers(outline, around).max() >= 0


@given(paths(), strokes)
@settings(max_examples=40)
def test_the_middle_of_every_line_is_painted(path, stroke):
    shape = stroke_to_shape(path, stroke)
    lines = path.points[path.kinds == SegmentKind.LINE]
    lines = lines[np.hypot(*(lines[:, 3] - lines[:, 0]).T) > 0.2]
    assume(len(lines))
    assert contains(Region(shape), lines[:, [0, 3]].mean(axis=1)).all()


@given(paths(), strokes, st.sampled_from([(3.0, 2.0), (1.0,), (4.0, 1.0, 0.0, 1.0)]), st.floats(-20.0, 20.0))
@settings(max_examples=30)
def test_dashes_paint_nothing_that_the_whole_stroke_does_not(path, stroke, pattern, offset):
    assume(stroke.cap is LineCap.BUTT)
    whole = stroke_to_shape(path, stroke)
    dashes = dashed(path, pattern, offset).path
    assert segment_lengths(dashes).sum() <= segment_lengths(path).sum() * (1.0 + 1e-9) + 1e-9
    over = cut_out(Region(stroke_to_shape(dashes, stroke)), [Region(whole)])
    assert area(over) <= 0.005 * perimeter(whole) + 1e-6


@given(paths(), st.sampled_from([0.2, 1.5, 6.0]), st.sampled_from(list(Corner)))
@settings(max_examples=40)
def test_growing_only_adds_and_shrinking_only_takes(path, distance, corner):
    region = Region(resolve(Region(path)))
    assume(area(region.path) > 1.0)
    larger, smaller = parallel(region, distance, corner=corner), parallel(region, -distance, corner=corner)
    slack = 0.003 * perimeter(region.path)
    assert area(cut_out(region, [Region(larger)])) <= slack
    assert area(cut_out(Region(smaller), [region])) <= slack
    assert area(larger) > area(region.path) > area(smaller)


@given(paths(), st.sampled_from([0.2, 1.5]))
@settings(max_examples=25)
def test_twice_a_distance_is_the_distance_twice(path, distance):
    region = Region(resolve(Region(path)))
    assume(area(region.path) > 1.0)
    once = parallel(region, 2.0 * distance)
    twice = parallel(Region(parallel(region, distance)), distance)
    assert abs(area(once) - area(twice)) <= 0.005 * perimeter(once) + 1e-6
