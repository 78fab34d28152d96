"""A sentence of the core can be said again in another language, with its names and numbers in place."""

from __future__ import annotations

import copy
import pickle
from enum import StrEnum

from bladewise.errors import CannotApply
from bladewise.phrases import in_words, listing, phrase

GERMAN = {
    "{what} crosses itself {times}": "{what} kreuzt sich {times}",
    "{count} times": "{count}-mal",
    "Undo": "Rückgängig",
    "{first}: {second}": "{second} – {first}",
}


def test_a_phrase_is_its_english_text() -> None:
    text = phrase("{count} pieces are smaller than {least} mm²", count=3, least="4")
    assert text == "3 pieces are smaller than 4 mm²"
    assert text + "." == "3 pieces are smaller than 4 mm²."


def test_phrases_within_phrases_are_put_into_words_too() -> None:
    text = phrase("{what} crosses itself {times}", what="“Tail”", times=phrase("{count} times", count=2))
    assert in_words(text, GERMAN.get) == "“Tail” kreuzt sich 2-mal"


def test_another_language_may_put_the_places_in_another_order() -> None:
    assert in_words(phrase("{first}: {second}", first="a", second="b"), GERMAN.get) == "b – a"


def test_what_has_no_translation_stays_english() -> None:
    assert in_words("Redo", GERMAN.get) == "Redo"
    assert in_words(phrase("{count} shapes", count=5), GERMAN.get) == "5 shapes"
    assert in_words("", GERMAN.get) == ""


def test_the_parts_of_a_listing_are_put_into_words_one_by_one() -> None:
    text = listing(["Undo", phrase("{count} times", count=2)])
    assert text == "Undo, 2 times"
    assert in_words(text, GERMAN.get) == "Rückgängig, 2-mal"


def test_a_name_with_braces_in_it_is_not_a_place() -> None:
    text = phrase("{what} crosses itself {times}", what="{times}", times="once")
    assert in_words(text, GERMAN.get) == "{times} kreuzt sich once"


class Side(StrEnum):
    UNDO = "Undo"


def test_a_name_in_a_sentence_stays_as_the_operator_wrote_it() -> None:
    assert in_words(phrase("{first}: {second}", first="Undo", second="a"), GERMAN.get) == "a – Undo"
    assert in_words(phrase("{first}: {second}", first=Side.UNDO, second="a"), GERMAN.get) == "a – Rückgängig"


def test_what_an_exception_was_made_from_is_not_lost() -> None:
    error = ValueError(phrase("{count} times", count=2))
    assert in_words(str(error), GERMAN.get) == "2-mal"
    error = CannotApply(phrase("{count} times", count=2), where="Tail", hint="Undo")
    assert str(error) == "Tail: 2 times Undo"
    assert in_words(str(error), GERMAN.get) == "Tail: 2-mal Rückgängig"


def test_phrases_survive_a_copy_and_a_pickle() -> None:
    text = phrase("{count} times", count=2)
    for again in (copy.deepcopy(text), pickle.loads(pickle.dumps(text)), copy.copy(listing([text]))):
        assert again == text
        assert in_words(again, GERMAN.get) == "2-mal"
