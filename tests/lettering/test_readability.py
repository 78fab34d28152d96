"""Letters too small for the distance, or too thin to weed, are told with the figure and its source.

Source: U.S. Department of Justice, 2010 ADA Standards for Accessible Design, table 703.5.5 (first row as published:
16 mm up to 1830 mm, then 3.2 mm more for each 305 mm; the other rows from memory).
"""

from __future__ import annotations

from pathlib import Path as FilePath

import pytest

from bladewise.document import BLACK, Height, Lettering, Style, Typesetting
from bladewise.geometry.affine import Affine
from bladewise.lettering import search_also, set_outline
from bladewise.lettering.readability import SOURCE, least_height_mm, readability

search_also(FilePath(__file__).parents[2] / "demo_art" / "fonts")


@pytest.mark.parametrize(
    ("distance_mm", "above_mm", "least_mm"),
    [
        (1000.0, 1500.0, 15.9), (1828.8, 1500.0, 15.9), (1828.8 + 304.8, 1500.0, 15.9 + 3.2),
        (1828.8 + 3048.0, 1500.0, 15.9 + 31.75), (4000.0, 2500.0, 50.8), (4572.0 + 304.8, 2500.0, 54.0),
        (6000.0, 4000.0, 76.2), (6400.8 + 609.6, 4000.0, 82.55),
    ],
)  # fmt: skip
def test_capitals_are_asked_to_be_as_tall_as_the_table_says(distance_mm, above_mm, least_mm) -> None:
    assert least_height_mm(distance_mm, above_mm) == pytest.approx(least_mm, abs=0.06)


def lettering(caps_mm: float, **values: object) -> Lettering:
    """Return lettering with capitals of a height."""
    setting = Typesetting(height=Height.CAPS)
    return set_outline(Lettering("t", "Open", "Josefin Sans", caps_mm, Style(fill=BLACK), setting=setting, **values))


def test_small_lettering_is_told_with_its_height_and_the_source() -> None:
    (told,) = readability(lettering(40.0), seen_from_mm=10_000.0).warnings
    assert SOURCE in told
    assert "these are 40 mm" in told
    assert "Local codes decide" in told
    assert not readability(lettering(120.0), seen_from_mm=10_000.0).warnings
    assert not readability(lettering(40.0)).warnings


def test_the_height_counts_as_it_stands_on_the_sheet() -> None:
    assert readability(lettering(20.0, transform=Affine.scaled(3.0))).caps_mm == pytest.approx(60.0)


def test_thin_strokes_are_told() -> None:
    thin = readability(lettering(5.0))
    assert thin.stroke_mm < 1.0
    assert "thinnest stroke" in thin.warnings[0]
