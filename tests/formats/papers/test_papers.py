"""The papers as others read them: pdfium finds the words, the sizes are true, the HTML says what the PDF says."""

import io
import re
from dataclasses import replace
from datetime import UTC, date, datetime
from html.parser import HTMLParser

import numpy as np
import pikepdf
import pypdfium2
import pytest

from bladewise import checks
from bladewise.document import BLACK, JobDetails
from bladewise.formats.papers.html import ticket_html
from bladewise.formats.papers.pdf import pages_as_pdf
from bladewise.geometry.path import rectangle
from bladewise.layout.page import Art, Box, Page, Paper, Words
from bladewise.layout.proof import proof_of
from bladewise.layout.ticket import ticket_of
from bladewise.layout.ticket_pages import ticket_pages
from bladewise.phrases import phrase
from pieces import job_of, ring_and_bar, shape

DAY = date(2026, 5, 31)
POINT = 25.4 / 72.0


def told():
    return replace(ring_and_bar(), name="Sign", details=JobDetails("Łódź & Żółw", "A-77", "Friday", "3", "Matt film"))


def ticket(job):
    return ticket_of(job, checks.check(job), DAY)


def text_of(data):
    with pypdfium2.PdfDocument(data) as document:
        return "\n".join(page.get_textpage().get_text_range() for page in document)


def words_of(text):
    return re.sub(r"\s+", "", text)


def pixels(data, scale):
    with pypdfium2.PdfDocument(data) as document:
        return np.asarray(document[0].render(scale=scale).to_pil().convert("L"), dtype=float)


def test_every_word_of_the_ticket_is_found_in_the_pdf():
    found = ticket(told())
    text = words_of(text_of(pages_as_pdf(ticket_pages(found), found.name)))
    sentences = [found.name, found.totals, found.remark, found.assumptions, *found.order, *found.signatures]
    sentences += [part for fact in (*found.facts, *found.cautions) for part in fact]
    sentences += [cell for row in found.rows for cell in row.cells]
    sentences += [each.message for each in found.warnings]
    assert [each for each in sentences if words_of(each) not in text] == []


def test_the_html_says_what_the_pdf_says_and_fetches_nothing():
    class Reader(HTMLParser):
        def __init__(self):
            super().__init__()
            self.text, self.asked, self.quiet = [], [], False

        def handle_starttag(self, tag, attributes):
            self.quiet = tag == "style"
            self.asked += [value for name, value in attributes if name in ("src", "href")]

        def handle_data(self, data):
            if not self.quiet:
                self.text.append(data)

    found = ticket(told())
    page = ticket_html(found)
    reader = Reader()
    reader.feed(page)
    text = words_of("".join(reader.text))
    for each in (
        found.name,
        found.totals,
        found.assumptions,
        *found.order,
        *(cell for row in found.rows for cell in row.cells),
    ):
        assert words_of(each) in text
    assert all(fact.value in "".join(reader.text) for fact in found.facts)
    assert len(reader.asked) == 3
    assert all(each.startswith("data:image/svg+xml;base64,") for each in reader.asked)
    assert "url(" not in page


def test_letters_with_a_meaning_in_html_are_only_letters():
    job = replace(told(), name="<b>Sign</b>", details=JobDetails('"<script>"'))
    page = ticket_html(ticket(job))
    assert "<script>" not in page
    assert "&lt;b&gt;Sign&lt;/b&gt;" in page


def test_only_the_letters_used_are_in_the_file_and_each_font_is_in_it():
    data = pages_as_pdf([Page(100, 50, (Words(10, 20, "Aß", 5), Words(10, 30, "Żω", 5, bold=True)))], "Test")
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for name in ("/F1", "/F2"):
            font = pdf.pages[0].Resources.Font[name]
            assert re.fullmatch(r"/[A-Z]{6}\+NotoSans-(Regular|Bold)", str(font.BaseFont))
            program = font.DescendantFonts[0].FontDescriptor.FontFile2.read_bytes()
            assert len(program) < 12_000
    assert text_of(data).split() == ["Aß", "Żω"]


def test_the_same_pages_give_the_same_bytes_and_a_date_is_only_there_if_given():
    pages = ticket_pages(ticket(told()))
    assert pages_as_pdf(pages, "Sign") == pages_as_pdf(pages, "Sign")
    with pikepdf.open(io.BytesIO(pages_as_pdf(pages, "Sign"))) as pdf:
        assert "/CreationDate" not in pdf.docinfo
    with pikepdf.open(io.BytesIO(pages_as_pdf(pages, "Sign", datetime(2026, 5, 31, 12, tzinfo=UTC)))) as pdf:
        assert str(pdf.docinfo["/CreationDate"]).startswith("D:20260531120000")


@pytest.mark.parametrize("paper", list(Paper))
def test_pages_are_of_the_paper_and_nothing_lies_beyond_a_printers_reach(paper):
    for page in (*ticket_pages(ticket(told()), paper), proof_of(told(), DAY, paper=paper).page):
        assert sorted((page.width_mm, page.height_mm)) == sorted(paper.size_mm)
        for item in page.items:
            if isinstance(item, Words):
                assert 13.9 <= item.x_mm <= item.x_mm + item.width_mm <= page.width_mm - 13.5, item
                assert 13.9 <= item.y_mm <= page.height_mm - 12.0, item
            elif isinstance(item, Box):
                assert item.x_mm >= 13.9
                assert item.x_mm + item.width_mm <= page.width_mm - 13.9


def bar_in(data):
    """Return the black box that a scale bar stands on, in mm, as pikepdf reads the page."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        found = []
        black = False
        for each in pikepdf.parse_content_stream(pdf.pages[0]):
            if str(each.operator) == "rg":
                black = [float(value) for value in each.operands] == [0.0, 0.0, 0.0]
            elif str(each.operator) == "re" and black:
                x, y, wide, high = (float(value) * POINT for value in each.operands)
                if 2.0 < high < 3.0:
                    found.append((x, y, wide, high))
    return max(found, key=lambda box: box[2])


@pytest.mark.parametrize(("unit", "length"), [("mm", 100.0), ("in", 50.8)])
def test_the_bar_of_the_proof_is_as_long_as_it_says(unit, length):
    proof = proof_of(told(), DAY, unit=unit)
    data = pages_as_pdf([proof.page], "Sign")
    assert bar_in(data)[2] == pytest.approx(length, abs=1e-5)
    assert f"Measure this bar: {'100 mm' if unit == 'mm' else '2 in'}" in text_of(data)


def test_the_bar_is_as_long_in_pdfiums_pixels():
    """Ten pixels a millimetre: 100 mm are 1000 pixels from the first black to the last."""
    data = pages_as_pdf([proof_of(told(), DAY).page], "Sign")
    x, y, *_ = bar_in(data)
    image = pixels(data, 10.0 * POINT)
    row = image[round(image.shape[0] - 10 * (y + 0.05))]  # along the lower edge of its frame
    dark = np.flatnonzero(row < 128)
    ends = np.flatnonzero(np.diff(dark) > 1)  # words stand to the right of it
    assert dark[ends[0]] - dark[0] + 1 == pytest.approx(1000, abs=1)
    assert dark[0] == pytest.approx(10 * x, abs=1)


def test_art_that_fits_is_shown_at_its_true_size():
    job = replace(job_of(shape("bar", rectangle(20, 30, 120, 40), BLACK)), name="Bar")
    proof = proof_of(job, DAY)
    assert proof.scale_text == "1:1"
    data = pages_as_pdf([proof.page], "Bar")
    assert "Shown at true size (1:1)." in text_of(data)
    art = next(item for item in proof.page.items if isinstance(item, Art))
    image = pixels(data, 10.0 * POINT)
    row = image[round(10 * (art.y_mm + art.job.height_mm / 2))]
    dark = np.flatnonzero(row < 128)
    assert dark[-1] - dark[0] + 1 == pytest.approx(1200, abs=1)


def test_art_that_does_not_fit_is_shown_at_a_round_scale_that_is_said():
    proof = proof_of(replace(job_of(shape("wall", rectangle(0, 0, 2400, 700)), width_mm=2400), name="Wall"), DAY)
    assert proof.page.width_mm > proof.page.height_mm
    text = text_of(pages_as_pdf([proof.page], "Wall"))
    assert f"Shown at {proof.scale_text}" in text
    art = next(item for item in proof.page.items if isinstance(item, Art))
    assert art.scale == pytest.approx(1.0 / proof.parts)
    assert art.job.width_mm * art.scale <= proof.page.width_mm - 28.0


def test_the_proof_names_its_colours_and_its_revision():
    text = text_of(pages_as_pdf([proof_of(told(), DAY).page], "Sign"))
    for each in ("Orange #e69f00", "Blue #0072b2", "Revision 3, 2026-05-31", "Łódź & Żółw", "40 × 60 mm", "Signature"):
        assert each in text


def test_pictures_are_vectors_without_layers_of_their_own():
    data = pages_as_pdf(ticket_pages(ticket(told())), "Sign")
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert not pdf.check_pdf_syntax()
        assert "/OCProperties" not in pdf.Root
        forms = pdf.pages[0].Resources.XObject
        assert len(forms.keys()) == 3
        for form in forms.values():
            assert form.Subtype == "/Form"
            assert "/Properties" not in form.Resources
            assert b"BDC" not in form.read_bytes()


def test_a_long_ticket_goes_on_over_pages_that_are_counted():
    findings = checks.check(job_of(shape("speck", rectangle(3, 3, 0.5, 0.5)))) * 40
    found = ticket_of(told(), findings[:12], DAY)
    long = replace(found, order=found.order * 30)
    pages = ticket_pages(long)
    assert len(pages) > 1
    text = text_of(pages_as_pdf(pages, "Sign"))
    assert f"Page {len(pages)} of {len(pages)}" in text
    assert text.count("put it on as layer 2") == 30


def test_another_language_is_said_throughout():
    said = []

    def say(text):
        said.append(str(text))
        return f"»{text}«" if len(text) < 30 else text

    text = text_of(pages_as_pdf(ticket_pages(ticket(told()), say=say), "Sign"))
    assert "»Job ticket«" in text
    assert str(phrase("Page {number} of {count}", number=1, count=1)) in said
