"""Text that runs from right to left stands in the right order.

Reference: python-bidi, an implementation of UAX #9 of its own; here with what the algorithm says of letters, numbers,
signs and brackets, and no explicit embeddings.
"""

from __future__ import annotations

from bidi.wrapper import get_display
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise.lettering.directions import is_leftward, levels, stretches

LETTERS = "abcאבגدرس 012٠١٢.,-+/%$()!"  # noqa: RUF001 - the digits of two scripts


def shown(text: str) -> str:
    """Return the characters as they stand from left to right."""
    parts = [(text[each.start : each.end], each.leftward) for each in stretches(text)]
    return "".join(part[::-1] if leftward else part for part, leftward in parts)


@given(st.text(st.sampled_from(LETTERS), min_size=1, max_size=14))
@settings(max_examples=300, deadline=None)
def test_characters_stand_in_the_order_of_the_unicode_algorithm(text: str) -> None:
    alike = str.maketrans("()", "||")  # a bracket that is turned round is drawn as its mate
    assert shown(text).translate(alike) == get_display(text).translate(alike)


def test_a_line_is_read_the_way_of_its_first_letter() -> None:
    assert not is_leftward("123 abc אבג")
    assert is_leftward("123 אבג abc")


def test_numbers_within_hebrew_run_rightward() -> None:
    assert levels("אב 12") == [1, 1, 1, 2, 2]


def test_each_script_is_shaped_by_itself() -> None:
    assert [each.script for each in stretches("Caféкофе")] == ["Latn", "Cyrl"]  # noqa: RUF001
    assert [each.script for each in stretches("12 – 13")] == ["Latn"]
    assert stretches("") == []
