"""White and varnish as the steps make them, in the PDF: plates of their own, laid down in full."""

import re

from bladewise import operations
from bladewise.formats.pdf import pdf_bytes
from bladewise.geometry.path import circle
from pdf_reading import read_pdf
from pieces import print_of, shape


def test_white_and_varnish_are_plates_of_their_own_names_and_laid_down_in_full():
    job = print_of(circle((50, 50), 20), shape("art", circle((50, 50), 22)))
    for do, values in (("white-underprint", {"name": "White 1"}), ("varnish", {"name": "Gloss"})):
        job = operations.apply(job, operations.step(do, values)).job
    pdf, _ = read_pdf(pdf_bytes(job))
    page = pdf.pages[0]
    names = {str(space[1]) for space in page.Resources.ColorSpace.values() if str(space[0]) == "/Separation"}
    assert {"/White 1", "/Gloss", "/Cut line"} <= names
    content = page.Contents.read_bytes().decode("ascii")
    tints = re.findall(r"([0-9.]+) scn", content)
    assert tints == ["1", "1"]
