"""Pages of words, boxes and pictures as a PDF: real text in a part of its font, pictures as live vectors.

Words carry their letters with them (ToUnicode), so they are found, copied and read aloud. A picture is the page that
`formats.pdf` writes of its job, put in as a form (ISO 32000-1, 8.10) without its layers. No date is written
unless given: the same pages give the same bytes.
"""

from __future__ import annotations

import io
import zlib
from typing import TYPE_CHECKING

import pikepdf
from pikepdf import Array, Dictionary, Name, Object, Pdf, Stream, String

from bladewise.errors import CannotWrite
from bladewise.formats.pdf import pdf_bytes
from bladewise.formats.pdf.shadings import real
from bladewise.formats.pdf.space import POINTS_PER_MM, number
from bladewise.layout.page import Art, Box, Words
from bladewise.lettering.text_faces import text_face

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from bladewise.document import Colour, Job
    from bladewise.layout.page import Page

_MAKER = "Bladewise"
_SYMBOLIC = 4
"""Flag of a font whose glyphs are named by number alone (ISO 32000-1, table 123)."""


def pages_as_pdf(pages: Sequence[Page], title: str, made: datetime | None = None) -> bytes:
    """Return pages as the bytes of a PDF that has been read back.

    Raises
    ------
    CannotWrite
        If a picture cannot be shown in a PDF.
    """
    with Pdf.new() as pdf:
        writer = _Writer(pdf)
        for page in pages:
            writer.add(page)
        writer.finish_fonts()
        pdf.Root.Lang = String("en")
        pdf.docinfo["/Title"] = String(title)
        pdf.docinfo["/Creator"] = String(_MAKER)
        pdf.docinfo["/Producer"] = String(_MAKER)
        if made is not None:
            for key in ("/CreationDate", "/ModDate"):
                pdf.docinfo[key] = String(pikepdf.models.metadata.encode_pdf_date(made))
        held = io.BytesIO()
        pdf.save(held, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    data = held.getvalue()
    _read_back(data, len(pages), title)
    return data


class _Font:
    """One face in the file: which of its glyphs were used, and what each of them says."""

    def __init__(self, pdf: Pdf, name: str, *, bold: bool) -> None:
        self.face = text_face(bold=bold)
        self.name = name
        self.said: dict[int, str] = {}
        self.object = pdf.make_indirect(Dictionary())

    def line(self, words: Words, page_high_mm: float) -> str:
        """Return the operators that show a line of text."""
        size = words.size_mm * POINTS_PER_MM
        shown, run = [], ""
        for glyph in self.face.glyphs(words.text):
            self.said.setdefault(glyph.number, glyph.text)
            run += f"{glyph.number:04X}"
            kern = (self.face.natural(glyph.number) - glyph.advance) * 1000.0
            if abs(kern) > 1e-6:
                shown.append(f"<{run}> {number(kern)}")
                run = ""
        if run:
            shown.append(f"<{run}>")
        x, y = words.x_mm * POINTS_PER_MM, (page_high_mm - words.y_mm) * POINTS_PER_MM
        start = f"BT {_fill(words.colour)} /{self.name} {number(size)} Tf {number(x)} {number(y)} Td"
        return f"{start} [{' '.join(shown)}] TJ ET"

    def finish(self, pdf: Pdf) -> None:
        """Write the part of the font that was used (ISO 32000-1, 9.7)."""
        measures = self.face.measures
        data = self.face.subset(self.said)
        tag = "".join(chr(ord("A") + digit % 26) for digit in zlib.crc32(data).to_bytes(4, "big") + b"BW")[:6]
        name = Name(f"/{tag}+{measures.name}")
        descriptor = Dictionary(
            Type=Name.FontDescriptor,
            FontName=name,
            Flags=_SYMBOLIC,
            FontBBox=Array([real(value) for value in measures.box]),
            ItalicAngle=0,
            Ascent=real(measures.ascent),
            Descent=real(measures.descent),
            CapHeight=real(measures.caps),
            StemV=real(measures.stem),
            FontFile2=pdf.make_indirect(Stream(pdf, data, Length1=len(data))),
        )
        widths: list[Object | int] = []
        for glyph in sorted(self.said):
            widths += [glyph, Array([real(self.face.natural(glyph) * 1000.0)])]
        descendant = Dictionary(
            Type=Name.Font,
            Subtype=Name.CIDFontType2,
            BaseFont=name,
            CIDSystemInfo=Dictionary(Registry=String("Adobe"), Ordering=String("Identity"), Supplement=0),
            FontDescriptor=pdf.make_indirect(descriptor),
            W=Array(widths),
            CIDToGIDMap=Name.Identity,
        )
        self.object.Type, self.object.Subtype = Name.Font, Name.Type0
        self.object.BaseFont, self.object.Encoding = name, Name("/Identity-H")
        self.object.DescendantFonts = Array([pdf.make_indirect(descendant)])
        self.object.ToUnicode = pdf.make_indirect(Stream(pdf, self._letters().encode("ascii")))

    def _letters(self) -> str:
        """Return what each glyph says, as readers want it told (ISO 32000-1, 9.10.3)."""
        told = [(glyph, text) for glyph, text in sorted(self.said.items()) if text]
        lines = [
            "/CIDInit /ProcSet findresource begin",
            "12 dict begin",
            "begincmap",
            "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def",
            "/CMapName /Adobe-Identity-UCS def",
            "/CMapType 2 def",
            "1 begincodespacerange",
            "<0000> <FFFF>",
            "endcodespacerange",
        ]
        for begin in range(0, len(told), 100):
            part = told[begin : begin + 100]
            lines.append(f"{len(part)} beginbfchar")
            lines += [f"<{glyph:04X}> <{text.encode('utf-16-be').hex().upper()}>" for glyph, text in part]
            lines.append("endbfchar")
        return "\n".join([*lines, "endcmap", "CMapName currentdict /CMap defineresource pop", "end", "end", ""])


class _Writer:
    def __init__(self, pdf: Pdf) -> None:
        self._pdf = pdf
        self._fonts = {bold: _Font(pdf, "F2" if bold else "F1", bold=bold) for bold in (False, True)}
        self._forms: dict[int, tuple[Job, Object, float]] = {}

    def add(self, page: Page) -> None:
        """Add a page."""
        pdf = self._pdf
        fonts = Dictionary({f"/{font.name}": font.object for font in self._fonts.values()})
        forms = Dictionary()
        lines: list[str] = []
        for item in page.items:
            match item:
                case Words():
                    if item.text:
                        lines.append(self._fonts[item.bold].line(item, page.height_mm))
                case Box():
                    lines += _box(item, page.height_mm)
                case Art():
                    form, unit = self._form(item.job)
                    name = f"X{len(forms.keys()) + 1}"
                    forms[f"/{name}"] = form
                    scale = item.scale * unit
                    x = item.x_mm * POINTS_PER_MM
                    y = (page.height_mm - item.y_mm - item.job.height_mm * item.scale) * POINTS_PER_MM
                    lines.append(f"q {number(scale)} 0 0 {number(scale)} {number(x)} {number(y)} cm /{name} Do Q")
        sheet = Dictionary(
            Type=Name.Page,
            MediaBox=Array([0, 0, real(page.width_mm * POINTS_PER_MM), real(page.height_mm * POINTS_PER_MM)]),
            Contents=Stream(pdf, "\n".join([*lines, ""]).encode("ascii")),
            Resources=Dictionary(Font=fonts, XObject=forms),
        )
        pdf.pages.append(pikepdf.Page(pdf.make_indirect(sheet)))

    def finish_fonts(self) -> None:
        """Write the fonts, now that all is known of what they must show."""
        for font in self._fonts.values():
            font.finish(self._pdf)

    def _form(self, job: Job) -> tuple[Object, float]:
        """Return a job's page as a form, and how many points its unit measures."""
        known = self._forms.get(id(job))
        if known is None:
            with Pdf.open(io.BytesIO(pdf_bytes(job))) as own:
                page = own.pages[0]
                unit = float(page.obj.get("/UserUnit", 1))
                form = page.as_form_xobject()
                _without_layers(form)
                known = self._forms[id(job)] = (job, self._pdf.copy_foreign(form), unit)
        return known[1], known[2]


def _without_layers(form: Object) -> None:
    """Take the marks of layers out of a form: the layers of a picture are nothing to switch on and off.

    The content that `formats.pdf` writes has each operator on a line of its own.
    """
    lines = form.read_bytes().split(b"\n")
    form.write(b"\n".join(line for line in lines if line != b"EMC" and not line.endswith(b" BDC")))
    if "/Properties" in form.Resources:
        del form.Resources["/Properties"]


def _fill(colour: Colour) -> str:
    return f"{_channels(colour)} rg"


def _channels(colour: Colour) -> str:
    return " ".join(number(channel / 255.0) for channel in colour)


def _box(box: Box, page_high_mm: float) -> list[str]:
    x, y = box.x_mm * POINTS_PER_MM, (page_high_mm - box.y_mm - box.height_mm) * POINTS_PER_MM
    wide, high = box.width_mm * POINTS_PER_MM, box.height_mm * POINTS_PER_MM
    shape = f"{number(x)} {number(y)} {number(wide)} {number(high)} re"
    lines = [] if box.fill is None else [f"{_fill(box.fill)} {shape} f"]
    if box.line is not None:
        lines.append(f"{_channels(box.line)} RG {number(box.line_mm * POINTS_PER_MM)} w {shape} S")
    return lines


def _read_back(data: bytes, pages: int, title: str) -> None:
    """Read the file as another program would.

    Raises
    ------
    CannotWrite
        If it is not sound; this is a fault of ours, and the file is not written.
    """
    try:
        with Pdf.open(io.BytesIO(data)) as pdf:
            sound = len(pdf.pages) == pages and not pdf.check_pdf_syntax()
            sound = sound and all(len(pikepdf.parse_content_stream(page)) > 0 for page in pdf.pages)
    except (pikepdf.PdfError, ValueError):
        sound = False
    if not sound:
        raise CannotWrite(
            "The PDF did not read back as it was written.", where=title, hint="Nothing was written; please report it."
        )
