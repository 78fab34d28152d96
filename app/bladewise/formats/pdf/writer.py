"""A job as a PDF of one page, real size, for printing and cutting; read back before it counts as written.

PDF 1.7 (ISO 32000-1): no encryption, no scripts, no fonts, transparency only where the art has some. Kept
within what PDF/X asks for where it costs nothing; the file does not claim PDF/X, as it names no printing
condition. No date is written unless given: the same job gives the same bytes.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import pikepdf
from pikepdf import Array, Dictionary, Name, Pdf, Stream, String

from bladewise.document import MaterialKind
from bladewise.errors import CannotWrite
from bladewise.formats.atomic import write_atomically
from bladewise.formats.pdf.painter import Painter
from bladewise.formats.pdf.resources import Resources
from bladewise.formats.pdf.shadings import real
from bladewise.formats.pdf.space import Page
from bladewise.formats.pdf.spots import CUT_NAME, ProcessingStep, Spot, spots_by_leaf
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime
    from pathlib import Path as FilePath

    from bladewise.document import Box, Job

_MAKER = "Bladewise"
_BOX_PT = 1e-4
"""Largest difference between a box asked for and one read back."""


def write_pdf(
    job: Job,
    path: FilePath,
    *,
    cut_name: str = CUT_NAME,
    cut_step: ProcessingStep = ProcessingStep.CUTTING,
    spots: Mapping[str, Spot] | None = None,
    trim_mm: Box | None = None,
    bleed_mm: float = 0.0,
    made: datetime | None = None,
) -> None:
    """Write a job as a PDF, real size, for printing and cutting.

    The parameters are those of `pdf_bytes`.

    Raises
    ------
    CannotWrite
        If the job cannot be shown in a PDF, or the file cannot be written; what stood there before still stands.
    """
    data = pdf_bytes(
        job, cut_name=cut_name, cut_step=cut_step, spots=spots, trim_mm=trim_mm, bleed_mm=bleed_mm, made=made
    )
    write_atomically(path, data)


def pdf_bytes(
    job: Job,
    *,
    cut_name: str = CUT_NAME,
    cut_step: ProcessingStep = ProcessingStep.CUTTING,
    spots: Mapping[str, Spot] | None = None,
    trim_mm: Box | None = None,
    bleed_mm: float = 0.0,
    made: datetime | None = None,
) -> bytes:
    """Return a job as the bytes of a PDF that has been read back.

    Parameters
    ----------
    job
        The job; hidden art is left out, and so are guides.
    cut_name
        Name of the spot colour of the cut line, as the printer's or the cutter's program wants it.
    cut_step
        What the knife does along it: `ProcessingStep.PARTIAL_CUTTING` for a kiss cut.
    spots
        Spot colours of other materials by the material's id: perforation, crease, white, varnish.
    trim_mm
        The finished piece on the sheet (left, top, right, bottom in mm); left out: the whole sheet.
    bleed_mm
        How far the print runs on beyond the finished piece, at least 0. Beyond the sheet the page grows by it.
    made
        When it was made, for the document information; left out of the file if not given.

    Raises
    ------
    CannotWrite
        If the job cannot be shown in a PDF.
    """
    if not (0.0 < job.width_mm < 1e6 and 0.0 < job.height_mm < 1e6 and 0.0 <= bleed_mm < 1e4):
        raise CannotWrite(
            phrase("A page of {width:g} × {height:g} mm cannot be.", width=job.width_mm, height=job.height_mm),
            where=job.name,
            hint="Give the sheet a width and a height.",
        )
    found = spots_by_leaf(job, cut_name=cut_name, cut_step=cut_step, spots=spots or {})
    guides = [
        placed.leaf.id
        for placed in job.walk()
        if job.material_of(placed).kind is MaterialKind.GUIDE and placed.leaf.id not in found
    ]
    job = job.without(guides)
    page = Page.of(job.width_mm, job.height_mm, 0.0 if trim_mm is not None else bleed_mm)
    with Pdf.new() as pdf:
        resources = Resources(pdf, page)
        lines = Painter(page, resources, found).lines(job)
        boxes = _boxes(page, trim_mm, bleed_mm)
        sheet = Dictionary(
            Type=Name.Page,
            Contents=Stream(pdf, "\n".join([*lines, ""]).encode("ascii")),
            Resources=resources.dictionary,
        )
        for name, box in boxes.items():
            sheet[f"/{name}"] = Array([real(value) for value in box])
        if page.unit > 1:
            sheet.UserUnit = page.unit
        if resources.is_transparent:
            sheet.Group = Dictionary(Type=Name.Group, S=Name.Transparency, CS=Name.DeviceRGB, I=True)
        pdf.pages.append(pikepdf.Page(pdf.make_indirect(sheet)))
        _name_layers(pdf, resources)
        _inform(pdf, job, made)
        held = io.BytesIO()
        pdf.save(held, force_version="1.7", deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.disable)
        spot_names, layers = set(resources.spots), len(resources.layers)
    data = held.getvalue()
    _read_back(data, job, boxes, spot_names, layers, len(lines))
    return data


def _boxes(page: Page, trim_mm: Box | None, bleed_mm: float) -> dict[str, Box]:
    media = page.media_box
    if trim_mm is None:
        return {
            "MediaBox": media,
            "BleedBox": media,
            "TrimBox": page.box(0.0, 0.0, page.width_mm, page.height_mm),
        }
    x0, y0, x1, y1 = trim_mm
    if not (0.0 <= x0 < x1 <= page.width_mm and 0.0 <= y0 < y1 <= page.height_mm):
        raise CannotWrite("The finished piece lies outside the sheet.", hint="Make the sheet larger.")
    wide = (
        max(0.0, x0 - bleed_mm),
        max(0.0, y0 - bleed_mm),
        min(page.width_mm, x1 + bleed_mm),
        min(page.height_mm, y1 + bleed_mm),
    )
    return {"MediaBox": media, "BleedBox": page.box(*wide), "TrimBox": page.box(*trim_mm)}


def _name_layers(pdf: Pdf, resources: Resources) -> None:
    """List the layers, all of them shown and printed (ISO 32000-1, 8.11.4)."""
    if not resources.layers:
        return
    shown = Dictionary(
        Name=String("Layers"),
        BaseState=Name.ON,
        ON=Array(resources.layers),
        OFF=Array([]),
        Order=Array(resources.layers),
    )
    pdf.Root.OCProperties = Dictionary(OCGs=Array(resources.layers), D=shown)


def _inform(pdf: Pdf, job: Job, made: datetime | None) -> None:
    pdf.docinfo["/Title"] = String(job.name)
    pdf.docinfo["/Creator"] = String(_MAKER)
    pdf.docinfo["/Producer"] = String(_MAKER)
    pdf.docinfo["/Trapped"] = Name("/False")
    if made is not None:
        for key in ("/CreationDate", "/ModDate"):
            pdf.docinfo[key] = String(pikepdf.models.metadata.encode_pdf_date(made))


def _read_back(
    data: bytes, job: Job, boxes: Mapping[str, Box], spot_names: set[str], layers: int, operators: int
) -> None:
    """Read the file as another program would, and hold it against what it should say.

    Raises
    ------
    CannotWrite
        If anything differs; this is a fault of ours, and the file is not written.
    """
    try:
        with Pdf.open(io.BytesIO(data)) as pdf:
            (page,) = pdf.pages
            told = {
                name: all(
                    abs(float(value) - wanted) <= _BOX_PT
                    for value, wanted in zip(page.obj[f"/{name}"], box, strict=True)
                )
                for name, box in boxes.items()
            }
            spaces = page.obj.Resources.get("/ColorSpace", Dictionary())
            names = {str(space[1])[1:] for space in spaces.values()}
            groups = len(pdf.Root.OCProperties.OCGs) if "/OCProperties" in pdf.Root else 0
            count = len(pikepdf.parse_content_stream(page))
            sound = not pdf.check_pdf_syntax() and not pdf.is_encrypted
            right = sound and all(told.values()) and names == spot_names and groups == layers and count == operators
    except (pikepdf.PdfError, AttributeError, KeyError, TypeError, ValueError):
        right = False
    if not right:
        raise CannotWrite(
            "The PDF did not read back as it was written.",
            where=job.name,
            hint="Nothing was written; please report it.",
        )
