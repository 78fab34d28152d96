"""Other forms of one letter are found in the font; what HarfBuzz makes of a feature is what is shown."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path as FilePath

from bladewise.document import Lettering, Typesetting
from bladewise.geometry.measures import area
from bladewise.lettering import find_face, search_also
from bladewise.lettering.alternates import for_letter, forms_of, of_letter
from bladewise.lettering.fonts import faces_of
from bladewise.lettering.loaded import loaded
from bladewise.lettering.shaping import shape_line

search_also(FilePath(__file__).parents[2] / "demo_art" / "fonts")


def word(text: str, *features: str) -> Lettering:
    """Return a word in the demo's script."""
    return Lettering("w", text, "Pacifico", 50.0, setting=Typesetting(features=features))


def test_the_first_form_is_the_letter_as_it_is_and_no_form_comes_twice():
    forms = forms_of(word("Puddlewick"), 0)
    assert forms[0].feature == ""
    shapes = [each.outline.points.tobytes() for each in forms]
    assert len(set(shapes)) == len(shapes) > 1


def test_a_form_is_what_the_font_makes_of_its_feature_on_that_letter_alone():
    lettering = word("Puddlewick")
    font = loaded(find_face("Pacifico"), 400)
    plain = shape_line(font, lettering.text).glyphs
    for form in forms_of(lettering, 0)[1:]:
        shaped = shape_line(font, lettering.text, for_letter((), 0, form.feature)).glyphs
        assert shaped[0] != plain[0]
        assert (shaped[1:] == plain[1:]).all()
        assert area(form.outline) == area(font.outline(int(shaped[0])))


def test_letters_of_a_later_line_are_counted_through_the_whole_text():
    first, later = forms_of(word("P"), 0), forms_of(word("ab\nP"), 3)
    assert [each.feature for each in first] == [each.feature for each in later]


def test_a_blank_has_no_forms_and_a_letter_that_is_not_there_neither():
    assert forms_of(word("a b"), 1) == []
    assert forms_of(word("a"), 7) == []


def test_a_letters_own_feature_is_replaced_and_the_others_are_kept():
    features = ("smcp", "salt[3]=2", "ss01[0]")
    assert of_letter(features, 3) == "salt=2"
    assert of_letter(features, 0) == "ss01"
    assert of_letter(features, 1) == ""
    assert for_letter(features, 3, "swsh") == ("smcp", "ss01[0]", "swsh[3]")
    assert for_letter(features, 3, "") == ("smcp", "ss01[0]")


def test_the_forms_do_not_depend_on_the_one_that_is_chosen():
    plain = word("Puddlewick")
    chosen = replace(plain, setting=Typesetting(features=for_letter((), 0, forms_of(plain, 0)[1].feature)))
    assert [each.feature for each in forms_of(chosen, 0)] == [each.feature for each in forms_of(plain, 0)]


def test_the_faces_of_a_family_are_listed_from_light_to_heavy():
    assert [(face.family, face.weight) for face in faces_of("josefin sans")] == [("Josefin Sans", 700)]
    assert faces_of("No Such Family") == []
