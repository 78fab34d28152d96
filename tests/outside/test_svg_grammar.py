"""Path data and lengths as the standards write them.

Sources: W3C SVG 1.1 (Second Edition), chapter 8, and SVG 2, chapter 9: the worked examples of the path
data sections, quoted from memory where the numbers are plain; W3C CSS Values and Units 4, section 6.2,
for the absolute lengths; svgelements (PyPI) as second reader of path data.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
import svgelements

from bladewise.formats import read_svg
from bladewise.formats.svg.path_data import read_path_data
from bladewise.formats.svg.values import Frame, length
from bladewise.geometry.curves import point_at
from bladewise.geometry.measures import area
from bladewise.geometry.measures import length as path_length

FRAME = Frame(100.0, 100.0)

# SVG 1.1, 8.3.9 "The grammar for path data": these pairs mean the same.
SAME = [
    ("M 100 100 L 200 200", "M100 100L200 200"),
    ("M 100 200 L 200 100 L -100 -200", "M 100 200 L 200 100 -100 -200"),
    ("M 0.6 0.5", "M 0.6.5"),
    ("M 100-200", "M 100 -200"),
    ("M 10,20 30,40", "M 10 20 L 30 40"),
    ("m 10,20 30,40", "M 10 20 l 30 40"),
    ("M 0 0 L 1e1 1E+1 .5e2 5e1", "M 0 0 L 10 10 50 50"),
    ("M0,0a1,1,0,0,1,2,0", "M 0 0 a 1 1 0 012 0"),
    ("M0 0\tL\n10\r10", "M 0 0 L 10 10"),
]


@pytest.mark.parametrize(("one", "other"), SAME)
def test_white_space_and_repeated_letters_may_be_left_out_where_the_grammar_says(one: str, other: str) -> None:
    first, second = read_path_data(one), read_path_data(other)
    assert first.path == second.path
    assert first.complete
    assert second.complete


def test_the_triangle_of_the_lineto_example_is_closed() -> None:
    path, complete = read_path_data("M 100 100 L 300 100 L 200 300 z")  # example triangle01
    assert complete
    assert path.closed.tolist() == [True]
    assert abs(area(path)) == 200.0 * 200.0 / 2.0


def test_the_cubic_example_is_smooth_where_s_continues_c() -> None:
    path, _ = read_path_data("M100,200 C100,100 250,100 250,200 S400,300 400,200")  # example cubic01
    assert path.points[1, 1].tolist() == [250.0, 300.0], "the reflection of (250, 100) about (250, 200)"


def test_the_quadratic_example_is_smooth_where_t_continues_q() -> None:
    path, _ = read_path_data("M200,300 Q400,50 600,300 T1000,300")  # example quad01
    assert path.points[1, 1].tolist() == [800.0, 550.0]


def test_the_pie_of_the_arc_example_is_three_quarters_of_a_disc() -> None:
    path, _ = read_path_data("M300,200 h-150 a150,150 0 1,0 150,-150 z")  # example arcs01
    assert abs(area(path)) == pytest.approx(0.75 * math.pi * 150.0**2, rel=1e-13)


def test_the_chain_of_arcs_in_the_example_ends_where_it_says() -> None:
    text = (
        "M600,350 l 50,-25 a25,25 -30 0,1 50,-25 l 50,-25 a25,50 -30 0,1 50,-25 "
        "l 50,-25 a25,75 -30 0,1 50,-25 l 50,-25 a25,100 -30 0,1 50,-25 l 50,-25"
    )
    path, complete = read_path_data(text)
    assert complete
    assert path.points[-1, 3].tolist() == [1050.0, 125.0]


def test_radii_too_small_grow_until_the_arc_fits() -> None:
    path, _ = read_path_data("M0 0 A 1 1 0 0 1 10 0")  # SVG 1.1, F.6.6: scaled to a half circle of radius 5
    assert path_length(path) == pytest.approx(5.0 * math.pi, rel=1e-12)


def test_a_zero_radius_is_a_line_and_an_arc_to_its_own_start_is_nothing() -> None:
    assert read_path_data("M0 0 A 0 5 0 0 1 10 0").path == read_path_data("M0 0 L 10 0").path
    assert len(read_path_data("M0 0 A 5 5 0 0 1 0 0").path) == 0


@pytest.mark.parametrize(
    ("broken", "drawn"),
    [
        ("M 10 10 L 20 20 L 30", "M 10 10 L 20 20"),
        ("M 10 10 L 20 20 X 30 30", "M 10 10 L 20 20"),
        ("M 10 10 L 20 20,,30 30", "M 10 10 L 20 20"),
        ("M 10 10 L 20 20 A 5 5 0 2 0 30 30", "M 10 10 L 20 20"),
        ("M 10 10 L 20 20 L NaN 5", "M 10 10 L 20 20"),
        ("M 10 10 L 20 20 L 1e999 5", "M 10 10 L 20 20"),
        ("L 10 10", ""),
    ],
)
def test_an_error_ends_the_path_and_what_came_before_is_drawn(broken: str, drawn: str) -> None:
    path, complete = read_path_data(broken)  # SVG 1.1, F.2 "Error processing"
    assert not complete
    assert path == read_path_data(drawn).path


def test_path_data_is_read_as_a_second_reader_reads_it() -> None:
    # The second reader lets T continue a cubic and S a quadratic, which SVG 2, 9.3.7 rules out: not asked here.
    source = random.Random(7)
    for _ in range(60):
        words = ["M 3 4"]
        for _ in range(12):
            letter = source.choice("LlHhVvCcSsQqTtAaZzMm")
            if (letter + words[-1][0]).lower() in ("tc", "ts", "sq", "st"):
                continue
            count = {"l": 2, "h": 1, "v": 1, "c": 6, "s": 4, "q": 4, "t": 2, "a": 7, "z": 0, "m": 2}[letter.lower()]
            numbers = [f"{source.uniform(-50, 50):.2f}" for _ in range(count)]
            if letter.lower() == "a":
                numbers[:5] = ["30", "20", numbers[2], source.choice("01"), source.choice("01")]
            words.append(letter + " ".join(numbers))
        text = " ".join(words)
        ours, complete = read_path_data(text)
        assert complete
        theirs = [one for one in svgelements.Path(text) if not isinstance(one, (svgelements.Move, svgelements.Close))]
        ends = [(one.end.x, one.end.y) for one in theirs]
        points = ours.points[:, 3]
        for end in ends:
            assert np.hypot(*(points - end).T).min() < 1e-9
        middles = [one.point(0.5) for one in theirs if not isinstance(one, svgelements.Arc)]
        mine = point_at(ours.points, ours.kinds, ours.weights, np.full(len(ours), 0.5))
        for middle in middles:
            assert np.hypot(*(mine - (middle.x, middle.y)).T).min() < 1e-9


@pytest.mark.parametrize(
    ("text", "px"),
    [(text, 96.0) for text in ("1in", "2.54cm", "25.4mm", "101.6Q", "6pc", "72pt", "96px", "96")],
)
def test_an_inch_is_the_same_in_every_unit(text: str, px: float) -> None:
    assert length(text, 0.0, FRAME) == pytest.approx(px, rel=1e-15)


@pytest.mark.parametrize(
    ("width", "mm"),
    [("1in", 25.4), ("96", 25.4), ("96px", 25.4), ("72pt", 25.4), ("6pc", 25.4), ("210mm", 210.0), ("29.7cm", 297.0)],
)
def test_the_sheet_has_the_drawings_real_size(tmp_path, width: str, mm: float) -> None:
    path = tmp_path / "art.svg"
    path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{width}" viewBox="0 0 10 10"/>')
    job = read_svg(path)
    assert job.width_mm == pytest.approx(mm, rel=1e-15)
    assert job.height_mm == job.width_mm


def test_a_size_said_in_millimetres_is_kept_to_the_last_bit(tmp_path) -> None:
    path = tmp_path / "art.svg"
    path.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="180.1mm" height="0.3mm" viewBox="0 0 180.1 0.3"/>')
    job = read_svg(path)
    assert (job.width_mm, job.height_mm) == (180.1, 0.3)
