"""Lengths as people write them.

Factors: CSS Values and Units 4, section 6.2 (1in = 2.54cm = 96px = 72pt = 6pc, 1cm = 40Q).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bladewise.units import MM_PER_UNIT, format_length, format_number, parse_length, parse_number


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("12.5", 12.5),
        ("12,5 mm", 12.5),
        ("3/8in", 9.525),
        ('3/8"', 9.525),
        ("1 1/2 in", 38.1),
        ("-1 1/2 in", -38.1),
        ("=210/3", 70.0),
        ("2 * (3 + 4)", 14.0),
        ("2.54 cm", 25.4),
        ("96px", 25.4),
        ("72 pt", 25.4),
        ("6pc", 25.4),
        ("40q", 10.0),
        ("2m", 2000.0),
        ("-4", -4.0),
    ],
)
def test_a_length_reads_as_people_write_it(text, mm):
    assert parse_length(text) == pytest.approx(mm, rel=1e-12)


def test_a_bare_number_takes_the_unit_the_operator_works_in():
    assert parse_length("2", default_unit="in") == pytest.approx(50.8)


@pytest.mark.parametrize(
    "text", ["", "abc", "2**9", "1/0", "()", "__import__('os')", "1e999", "3 furlongs", "True", "[1]"]
)
def test_what_is_no_length_is_refused_with_a_sentence(text):
    with pytest.raises(ValueError, match=r"not a number|too large"):
        parse_length(text)


def test_deep_nesting_is_refused_and_not_a_crash():
    with pytest.raises(ValueError, match="not a number"):
        parse_number("(" * 3000 + "1" + ")" * 3000)


@given(st.floats(-1e6, 1e6), st.sampled_from(["mm", "in", "cm", "pt"]))
def test_what_is_printed_reads_back(mm, unit):
    assert parse_length(format_length(mm, unit=unit, decimals=9)) == pytest.approx(mm, abs=1e-6)


def test_one_inch_in_every_unit():
    assert MM_PER_UNIT["in"] == MM_PER_UNIT["px"] * 96 == MM_PER_UNIT["pt"] * 72 == MM_PER_UNIT["cm"] * 2.54 == 25.4


@pytest.mark.parametrize(
    ("value", "text"), [(3.0, "3"), (0.25, "0.25"), (-0.0001, "0"), (1000.0, "1000"), (12.5, "12.5")]
)
def test_numbers_carry_no_idle_zeros(value, text):
    assert format_number(value) == text
