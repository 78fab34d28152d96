"""Pages: text that fits its room, pictures as large as they may be, and pages as jobs that anyone can draw."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bladewise.document import Group
from bladewise.layout.page import Art, Box, Page, Words, fitted, page_as_job, shortened, width_of, wrapped
from bladewise.lettering.text_faces import text_face
from pieces import BLUE, two_circles


@given(text=st.text(st.sampled_from("aW. ńЖα-"), max_size=60), width=st.floats(8, 60))
@settings(max_examples=40, deadline=None)
def test_no_line_is_wider_than_its_room_and_no_letter_is_lost(text, width):
    lines = wrapped(text, 3.0, width)
    assert all(width_of(line, 3.0) <= width + 1e-9 for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())


def test_a_text_too_long_for_its_room_ends_in_dots():
    text = shortened("A name far too long for this", 3.0, 30.0)
    assert text.endswith("…")
    assert width_of(text, 3.0) <= 30.0
    assert shortened("Short", 3.0, 30.0) == "Short"


def test_a_picture_is_as_large_as_its_frame_allows_and_in_its_middle():
    art = fitted(two_circles(), 10, 20, 100, 50)
    assert (art.scale, art.x_mm, art.y_mm) == (0.25, 35.0, 20.0)
    assert fitted(two_circles(), 0, 0, 1000, 1000, most=1.0).scale == 1.0


def test_a_page_as_a_job_has_the_words_as_outlines_at_their_places():
    page = Page(100, 80, (Words(10, 30, "Hx", 10), Box(50, 5, 20, 10, fill=BLUE), Art(5, 40, 0.1, two_circles())))
    job = page_as_job(page, "Page")
    words, box, art = job.layers[0].children
    x0, y0, x1, y1 = words.bounds
    assert (y1, y0) == pytest.approx((30.0, 30.0 - 7.14), abs=0.02)  # capitals of this face are 0.714 of the em
    assert 10.0 < x0 < x1 < 10.0 + width_of("Hx", 10)
    assert box.bounds == (50, 5, 70, 15)
    assert isinstance(art, Group)
    assert art.bounds == pytest.approx((5 + 3.0, 40 + 3.0, 5 + 8.5, 40 + 7.0))


def test_kerning_counts_in_the_width_of_a_line():
    assert width_of("AVAVAV", 10) < sum(width_of(each, 10) for each in "AVAVAV")
    face = text_face(bold=True)
    assert sum(glyph.advance for glyph in face.glyphs("Puddlewick")) * 5 == pytest.approx(face.width("Puddlewick", 5))


def test_every_glyph_knows_the_text_it_stands_for():
    for text in ("Łódź – fi 3½ mm²", "Ωμέγα", "Щука", "Straße"):
        assert "".join(glyph.text for glyph in text_face().glyphs(text)) == text
        assert all(glyph.number for glyph in text_face().glyphs(text))
