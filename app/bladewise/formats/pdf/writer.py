"""A job as a PDF of one page, real size, for printing and cutting; read back before it counts as written.

PDF 1.7 (ISO 32000-1): no encryption, no scripts, no fonts, transparency only where the art has some. Kept
within what PDF/X asks for where it costs nothing; the file does not claim PDF/X, as it names no printing
condition. No date is written unless given: the same job gives the same bytes.
"""

from __future__ import annotations

import io
import math
from typing import TYPE_CHECKING, NamedTuple, TypedDict, Unpack

import pikepdf
from pikepdf import Array, Dictionary, Name, Pdf, Stream, String

from bladewise.document import MaterialKind, Picture, outline_of
from bladewise.errors import CannotWrite
from bladewise.formats.atomic import write_atomically
from bladewise.formats.cut_lines import cut_outline
from bladewise.formats.pdf.painter import Painter
from bladewise.formats.pdf.plates import read_plates
from bladewise.formats.pdf.resources import Resources
from bladewise.formats.pdf.shadings import real
from bladewise.formats.pdf.space import ARC_MM, Page
from bladewise.formats.pdf.spots import CUT_NAME, ProcessingStep, Spot, spots_by_leaf
from bladewise.formats.reading_back import Made, apart, held
from bladewise.geometry.path import EMPTY, joined
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime
    from pathlib import Path as FilePath

    from bladewise.document import Box, Colour, Job, Leaf
    from bladewise.formats.pdf.plates import Plate
    from bladewise.geometry.path import Path

_MAKER = "Bladewise"
_BOX_PT = 1e-4
"""Largest difference between a box asked for and one read back."""
_WRONG = "The PDF did not read back as it was written."


class PdfChoices(TypedDict, total=False):
    """What may be said of a PDF; `pdf_made` tells what each means."""

    cut_name: str
    cut_step: ProcessingStep | None
    spots: Mapping[str, Spot] | None
    dashed: bool
    trim_mm: Box | None
    bleed_mm: float
    made: datetime | None


def write_pdf(job: Job, path: FilePath, **choices: Unpack[PdfChoices]) -> None:
    """Write a job as a PDF, real size, for printing and cutting.

    The choices are those of `pdf_made`.

    Raises
    ------
    CannotWrite
        If the job cannot be shown in a PDF, or the file cannot be written; what stood there before still stands.
    """
    write_atomically(path, pdf_made(job, **choices).data)


def pdf_bytes(job: Job, **choices: Unpack[PdfChoices]) -> bytes:
    """Return a job as the bytes of a PDF that has been read back; the choices are those of `pdf_made`."""
    return pdf_made(job, **choices).data


def pdf_made(
    job: Job,
    *,
    cut_name: str = CUT_NAME,
    cut_step: ProcessingStep | None = None,
    spots: Mapping[str, Spot] | None = None,
    dashed: bool = True,
    trim_mm: Box | None = None,
    bleed_mm: float = 0.0,
    made: datetime | None = None,
) -> Made:
    """Return a job as the contents of a PDF, and how far its lines lie from what was meant.

    Parameters
    ----------
    job
        The job; hidden art is left out, and so are guides.
    cut_name
        Name of the spot colour of the cut line, as the printer's or the cutter's program wants it; lines cut in
        other ways bear the name of their material.
    cut_step
        What the knife does along it, in place of what its material says.
    spots
        Spot colours of materials by the material's id, in place of what the materials themselves say.
    dashed
        Whether a perforation is drawn with its cuts and gaps, or as a line of which the machine knows these.
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
    found = spots_by_leaf(job, cut_name=cut_name, cut_step=cut_step, spots=spots or {}, dashed=dashed)
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
        stream = io.BytesIO()
        pdf.save(
            stream, force_version="1.7", deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.disable
        )
        written = _Written(boxes, dict(resources.spots), len(resources.layers), len(lines), dict(resources.forms))
    data = stream.getvalue()
    far = held(_far_from(data, job, page, found, written), ARC_MM, _WRONG)
    return Made(data, far)


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


class _Written(NamedTuple):
    """What a file should say: its boxes, its spot colours, how many layers and operators it has, and each form."""

    boxes: Mapping[str, Box]
    spots: Mapping[str, Spot]
    layers: int
    operators: int
    forms: Mapping[str, int]


def _far_from(data: bytes, job: Job, page: Page, spots: Mapping[str, tuple[Spot, Colour]], written: _Written) -> float:
    """Read the file as another program would; return how far its lines lie from what was meant, in mm.

    Infinite where it is not sound, or says anything but what it should.
    """
    try:
        with Pdf.open(io.BytesIO(data)) as pdf:
            (sheet,) = pdf.pages
            told = all(
                abs(float(value) - wanted) <= _BOX_PT
                for name, box in written.boxes.items()
                for value, wanted in zip(sheet.obj[f"/{name}"], box, strict=True)
            )
            spaces = sheet.obj.Resources.get("/ColorSpace", Dictionary())
            names = {str(space[1])[1:] for space in spaces.values()}
            groups = len(pdf.Root.OCProperties.OCGs) if "/OCProperties" in pdf.Root else 0
            content = pikepdf.parse_content_stream(sheet)
            right = told and names == set(written.spots) and groups == written.layers
            right &= len(content) == written.operators and not pdf.check_pdf_syntax() and not pdf.is_encrypted
            objects = sheet.obj.Resources.get("/XObject", Dictionary())
            right &= all(
                len(pikepdf.parse_content_stream(objects[name])) == count for name, count in written.forms.items()
            )
            plates = read_plates(content, sheet.obj.Resources, page)
    except (pikepdf.PdfError, AttributeError, KeyError, TypeError, ValueError):
        return math.inf
    meant: dict[Spot, list[Path]] = {}
    for placed in job.walk():
        spot = spots[placed.leaf.id][0] if placed.leaf.id in spots and placed.visible else None
        if spot is not None and (path := _outline_on(placed.leaf, spot)):
            meant.setdefault(spot, []).append(path)
    if not right or {spot.name for spot in meant} != {name for name, plate in plates.items() if plate.path}:
        return math.inf
    return max((_apart(spot, joined(paths), plates[spot.name]) for spot, paths in meant.items()), default=0.0)


def _outline_on(leaf: Leaf, spot: Spot) -> Path:
    """Return what of a leaf is drawn on its plate: the line that is followed, or the area that is filled."""
    if not spot.step.is_area:
        return cut_outline(leaf)
    return outline_of(leaf) if not isinstance(leaf, Picture) and leaf.style.fill is not None else EMPTY


def _apart(spot: Spot, meant: Path, plate: Plate) -> float:
    lengths = spot.dash_mm or ()
    dashes = len(lengths) == len(plate.dash_mm) and all(
        abs(one - other) <= ARC_MM for one, other in zip(lengths, plate.dash_mm, strict=True)
    )
    said = (plate.group, plate.step) == (spot.step.group, None if spot.step.is_area else spot.step.value)
    return apart(meant, plate.path) if dashes and said else math.inf
