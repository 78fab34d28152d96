"""What our files draw, as other people's readers have it: outlines as places in mm, y down, in the order of the file.

SVG by svgelements, PDF by pdfium (its page objects, through pypdfium2), DXF by ezdxf, HP-GL/2 by ezhpgl: all from PyPI,
none of them ours. Curves are sampled so finely that chords stay within 0.001 mm.
"""

from __future__ import annotations

import ctypes
import io
import itertools
from dataclasses import replace
from typing import TYPE_CHECKING

import ezhpgl
import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
import shapely
import svgelements
from ezdxf.filemanagement import read
from ezdxf.math import ConstructionArc, bulge_to_arc

from bladewise.document import Job, Layer, Material, Shape, Stroke, Style
from bladewise.document.style import BLACK
from bladewise.formats import Destination, prepared, read_svg
from bladewise.formats.inside_out import inside_out
from bladewise.geometry.affine import Affine
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import joined
from bladewise.operations.painted import HAIRLINE_MM

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path as FilePath

    from bladewise.formats import Prepared
    from bladewise.geometry.path import Path

SAMPLED_MM = 0.001
POINT_MM = 25.4 / 72.0
_SVGELEMENTS_MM = 25.4 * 0.0393701
"""svgelements takes an inch for 1/0.0393701 mm; every length of its own is taken back by that."""

DESTINATIONS = {
    "svg": (Destination("svg", per_colour=True), 0.0),
    "pdf": (Destination("pdf", per_colour=True), 0.001),
    "dxf": (Destination("dxf", per_colour=True), 0.0),
    "dxf in chords": (Destination("dxf", per_colour=True, tolerance_mm=0.02), 0.02),
    "hpgl": (Destination("hpgl", per_colour=True, tolerance_mm=0.01, takes_negative=True), 0.01 + 0.025 * np.sqrt(0.5)),
    "hpgl in Béziers": (
        Destination("hpgl", per_colour=True, curves="beziers", unit_mm=0.005, tolerance_mm=0.01, takes_negative=True),
        0.01 + 0.005 * np.sqrt(0.5),
    ),
}
"""Each way a line can go out, and how near it promises to stay, in mm."""


def apart(ours: Path, theirs: np.ndarray) -> float:
    """Hausdorff's distance between a contour and places along another, both sampled."""
    mine = flatten(ours, SAMPLED_MM).coords
    if len(theirs) == 1 or np.ptp(theirs, axis=0).max() == 0.0:
        return float(np.hypot(*(mine - theirs[0]).T).max())
    lines = [shapely.LineString(each) for each in (mine, theirs)]
    shapely.prepare(lines)
    return max(
        float(shapely.distance(shapely.points(each), line).max())
        for each, line in ((mine, lines[1]), (theirs, lines[0]))
    )


def round_trip(job: Job, way: str) -> tuple[float, int]:
    """How far all that is cut of a job lies from what others read in its files, and how many contours there are."""
    destination, _ = DESTINATIONS[way]
    farthest, count = 0.0, 0
    for file in prepared(job, destination):
        meant, found = _meant(file), _found(file)
        assert len(meant) == len(found), f"{file.name}: {len(meant)} contours, {len(found)} read back"
        count += len(meant)
        farthest = max([farthest, *(apart(ours, theirs) for ours, theirs in zip(meant, found, strict=True))])
    return farthest, count


def art_job(path: FilePath) -> Job | None:
    """Every filled outline of a file, as one vinyl: artwork that no one has made ready. None where there is none."""
    art = read_svg(path)
    outline = joined(shape.path for shape in art.shapes() if shape.style.fill is not None)
    if not outline:
        return None
    vinyl = Material("vinyl", "Vinyl", BLACK)
    shape = Shape("art", outline, Style(stroke=Stroke(BLACK, HAIRLINE_MM)), material=vinyl.id)
    return replace(art, layers=(Layer("all", "All", (shape,)),), materials=(vinyl,))


def _meant(file: Prepared) -> list[Path]:
    path = joined(line.path for line in file.lines)
    if not file.name.endswith(".hpgl"):
        return list(path.subpaths())
    upright = Affine(1.0, 0.0, 0.0, -1.0, 0.0, file.job.height_mm)
    return [contour.transformed(upright) for contour in inside_out(path.transformed(upright))]


def _found(file: Prepared) -> list[np.ndarray]:
    height = file.job.height_mm
    match file.name.rpartition(".")[2]:
        case "svg":
            return list(svg_places(file.data))
        case "pdf":
            return list(pdf_places(file.data))
        case "dxf":
            return [_upright(each, height) for each in dxf_places(file.data)]
        case _:
            return [_upright(places, height) for _, places in plotted(file.data.decode("ascii"))]


def _upright(places: np.ndarray, height_mm: float) -> np.ndarray:
    return places * (1.0, -1.0) + (0.0, height_mm)


def cubic_places(control: np.ndarray) -> np.ndarray:
    p0, p1, p2, p3 = np.asarray(control, dtype=np.float64)[:, None, :]
    bend = max(np.hypot(*(p0 - 2.0 * p1 + p2)[0]), np.hypot(*(p1 - 2.0 * p2 + p3)[0]))
    t = np.linspace(0.0, 1.0, 3 + int(np.sqrt(0.75 * bend / SAMPLED_MM)))[:, None]
    s = 1.0 - t
    return s**3 * p0 + 3.0 * s * s * t * p1 + 3.0 * s * t * t * p2 + t**3 * p3


# ------------------------------------------------------------------------------------------- readers


def svg_places(data: bytes) -> Iterator[np.ndarray]:
    drawing = svgelements.SVG.parse(io.BytesIO(data), ppi=25.4)
    for element in drawing.elements():
        if isinstance(element, svgelements.Path):
            for part in abs(element).as_subpaths():
                rows = [_svg_segment(segment) for segment in part if not isinstance(segment, svgelements.Move)]
                yield np.concatenate(rows) / _SVGELEMENTS_MM


def _svg_segment(segment: object) -> np.ndarray:
    if isinstance(segment, svgelements.CubicBezier):
        ends = (segment.start, segment.control1, segment.control2, segment.end)
        return cubic_places(np.array([(each.x, each.y) for each in ends]))
    if isinstance(segment, svgelements.QuadraticBezier):
        p0, p1, p2 = (np.array((each.x, each.y)) for each in (segment.start, segment.control, segment.end))
        return cubic_places(np.array([p0, (p0 + 2.0 * p1) / 3.0, (p2 + 2.0 * p1) / 3.0, p2]))
    if isinstance(segment, svgelements.Arc):
        radius = max(abs(segment.rx), abs(segment.ry))
        count = 3 + int(abs(segment.sweep) / np.sqrt(8.0 * SAMPLED_MM / max(radius, SAMPLED_MM)))
        return np.array([(each[0], each[1]) for each in segment.npoint(np.linspace(0.0, 1.0, count))])
    return np.array([(each.x, each.y) for each in (segment.start, segment.end)])


def pdf_places(data: bytes) -> Iterator[np.ndarray]:
    """Every path that the one page strokes; pdfium keeps single precision, some 0.0001 mm on a metre."""
    document = pypdfium2.PdfDocument(data)
    try:
        page = document[0]
        high = page.get_mediabox()[3]
        for item in page.get_objects():
            if item.type == pdfium.FPDF_PAGEOBJ_PATH:
                for places in _pdf_contours(item.raw):
                    yield (places * (1.0, -1.0) + (0.0, high)) * POINT_MM
        page.close()
    finally:
        document.close()


def _pdf_contours(path: object) -> Iterator[np.ndarray]:
    rows: list[np.ndarray] = []
    handles: list[tuple[float, float]] = []
    here = start = (0.0, 0.0)
    x, y = ctypes.c_float(), ctypes.c_float()
    for index in range(pdfium.FPDFPath_CountSegments(path)):
        segment = pdfium.FPDFPath_GetPathSegment(path, index)
        pdfium.FPDFPathSegment_GetPoint(segment, x, y)
        place = (x.value, y.value)
        kind = pdfium.FPDFPathSegment_GetType(segment)
        if kind == pdfium.FPDF_SEGMENT_MOVETO:
            if rows:
                yield np.concatenate(rows)
            rows, here, start = [], place, place
            continue
        if kind == pdfium.FPDF_SEGMENT_BEZIERTO:
            handles.append(place)
            if len(handles) < 3:
                continue
            # sampled in points, a hundredth finer than in mm
            rows.append(cubic_places(np.array([here, *handles])))
            handles = []
        else:
            rows.append(np.array([here, place]))
        here = place
        if pdfium.FPDFPathSegment_GetClose(segment):
            rows.append(np.array([here, start]))
            here = start
    if rows:
        yield np.concatenate(rows)


def dxf_places(data: bytes) -> Iterator[np.ndarray]:
    """What ezdxf finds after its auditor has found nothing wrong; y up."""
    drawing = read(io.StringIO(data.decode("utf-8")))
    audit = drawing.audit()
    assert not audit.errors
    assert not audit.fixes
    for entity in drawing.modelspace():
        if entity.dxftype() == "LWPOLYLINE":
            yield polyline_places(entity)
        else:
            curve = entity.construction_tool()
            yield np.array([tuple(each)[:2] for each in curve.flattening(SAMPLED_MM, segments=32)])


def polyline_places(entity: object) -> np.ndarray:
    """Places along an LWPOLYLINE: ends exactly, arcs from their centre and radius, the closing segment too."""
    rows = entity.get_points("xyb")
    ends = [*rows, rows[0]] if entity.closed else rows
    places = [ends[0][:2]]
    for (x0, y0, bulge), (x1, y1, _) in itertools.pairwise(ends):
        if bulge != 0.0:
            centre, start, end, radius = bulge_to_arc((x0, y0), (x1, y1), bulge)
            arc = ConstructionArc(centre, radius, np.degrees(start), np.degrees(end))
            count = 3 + int((arc.end_angle - arc.start_angle) % 360.0 / np.degrees(np.sqrt(8.0 * SAMPLED_MM / radius)))
            inner = [tuple(each)[:2] for each in arc.vertices(arc.angles(count))]
            places += inner if bulge > 0.0 else inner[::-1]
        places.append((x1, y1))
    return np.array(places)


def plotted(text: str) -> list[tuple[int, np.ndarray]]:
    """What ezhpgl understands: pen and places of each lowering of the pen, mm, y up."""
    document = ezhpgl.parse(text.encode("ascii"))
    assert not document.diagnostics
    assert (document.units, document.completeness) == ("mm", "complete")
    found: list[tuple[int, np.ndarray]] = []
    last = None
    for operation in (each for page in document.pages for each in page.operations):
        geometry = operation.geometry
        if geometry.kind == "curve":
            places = cubic_places(np.array([(each.x, each.y) for each in geometry.curve.control_points]))
        else:
            places = np.array([(each.x, each.y) for each in geometry.points])
        if operation.path_id == last:
            found[-1] = (found[-1][0], np.concatenate([found[-1][1], places]))
        else:
            found.append((operation.style.pen, places))
        last = operation.path_id
    return found
