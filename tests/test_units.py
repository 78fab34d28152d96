"""Lengths as people write them.

Factors: CSS Values and Units 4, section 6.2 (1in = 2.54cm = 96px = 72pt = 6pc, 1cm = 40Q).
"""

import math
import re

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
        ("=2*3mm+1/4in", 12.35),
        ("1 1/2in", 38.1),
        ("1½in", 38.1),
        ("5/8″ - 1,5mm", 14.375),
        ("3*1/8in", 9.525),
        ("(1+2)cm", 30.0),
        ("1in/4", 6.35),
        ("2in/1mm", 50.8),
        ("10 − 2 × 3", 4.0),
        ("1 1/2in + 3", 41.1),
        ("-(1 1/4in)", -31.75),
        (".5in", 12.7),
        ("1e2mm", 100.0),
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


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "“” is not a number."),
        ("abc", "“abc” is not a number."),
        ("1/0", "“1/0” is not a number: it divides by 0."),
        ("3 furlongs", "“furlongs” is no unit; use mm"),
        ("2**9", "a number is missing before “*”"),
        ("2mm*3mm", "a length times a length is an area"),
        ("2/(3mm)", "a number cannot be divided by a length"),
        ("(1mm)mm", "“mm” is one unit too many"),
        ("12 +", "it breaks off"),
        ("(12", "it breaks off"),
        ("(12mm 3", "a bracket is not closed"),
        ("12)", "“)” does not go on from what stands before it"),
        ("1mm 2mm", "“2” does not go on"),
        ("12 & 3", "“&” has no place in it"),
        ("1e999", "“1e999” is too large."),
        ("9e307*100", "too large"),
        ("1 ½ ½", "does not go on"),
    ],
)
def test_why_a_text_is_no_length_is_said(text, why):
    with pytest.raises(ValueError, match=re.escape(why)):
        parse_length(text)


def test_a_bare_number_takes_no_unit():
    assert parse_number("1 1/2") == 1.5
    assert parse_number("=2*(3+4)/7") == 2.0
    with pytest.raises(ValueError, match="this takes no unit"):
        parse_number("2mm")


def test_a_bare_number_in_a_sum_takes_the_unit_the_operator_works_in():
    assert parse_length("1mm + 2", default_unit="in") == pytest.approx(51.8)
    assert parse_length("3/8", default_unit="in") == pytest.approx(9.525)


@given(st.text(max_size=12) | st.text('0123456789./*+-()in m"', max_size=14))
def test_whatever_is_typed_is_a_finite_length_or_is_refused_in_words(text):
    refusal = ""
    try:
        value = parse_length(text)
    except ValueError as error:
        refusal = str(error)
    assert re.search(r"is not a number|too large", refusal) if refusal else math.isfinite(value)


def test_deep_nesting_is_refused_and_not_a_crash():
    with pytest.raises(ValueError, match="not a number: it is too long"):
        parse_number("(" * 3000 + "1" + ")" * 3000)
    with pytest.raises(ValueError, match="too many brackets"):
        parse_number("(" * 80 + "1" + ")" * 80)
    with pytest.raises(ValueError, match="too many brackets"):
        parse_number("-" * 80 + "1")
    with pytest.raises(ValueError, match="too large"):
        parse_number("1e999999999")


def test_what_was_typed_is_rounded_once():
    assert parse_length("3/8in") == 9.525
    assert parse_length("1 1/2in") == 38.1
    assert parse_length("=0.1+0.2") == 0.3
    assert parse_length("1in/3*3") == 25.4


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
