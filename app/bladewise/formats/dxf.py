"""Cut lines as DXF: one layer a material, one closed entity a contour, real size, y up.

A contour of lines and circular arcs is an LWPOLYLINE, its arcs as bulges: the bulge is the tangent of
a quarter of the arc's angle, positive where it turns anticlockwise (the published DXF reference, LWPOLYLINE,
group code 42; from memory). Any other contour is a SPLINE of degree 3 whose knots stand three deep at every node, so
that its control points are those of the Bézier curves; a quadratic is raised to degree 3, an elliptic arc
(and a circular one between curves) likewise with weights, all exactly. Where a machine takes no splines,
a tolerance turns curves into lines; circular arcs stay arcs even then.

A layer says how its lines are cut: in its name, where they are not kiss cut, and in extended data under
`BLADEWISE` (`cut=perforation`, and its lengths in mm). A perforation is the cuts it is made of, or one line of a
line type with these lengths; a crease is one unbroken line: a broken one would be pressed in places only.

What was written is read back by `ezdxf` and held against what was meant before it becomes a file.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from bladewise.document import CutKind
from bladewise.errors import CannotWrite
from bladewise.formats.atomic import write_atomically
from bladewise.formats.cut_lines import PERFORATIONS, cut_lines
from bladewise.formats.file_names import unique
from bladewise.formats.reading_back import Made, apart, held
from bladewise.geometry.affine import Affine
from bladewise.geometry.arcs import arc_rows, line_rows
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import EMPTY, Path, SegmentKind, joined
from bladewise.phrases import phrase
from bladewise.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path as FilePath

    from ezdxf.document import Drawing
    from numpy.typing import NDArray

    from bladewise.document import Colour, Job
    from bladewise.formats.cut_lines import CutLines
    from bladewise.geometry.arcs import Rows
    from bladewise.geometry.path import Floats

DXF_UNITS = {"mm": (4, 1, 1.0), "in": (1, 0, MM_PER_INCH)}
"""By unit: $INSUNITS, $MEASUREMENT (1 metric, 0 not), and its size in mm."""
DXF_VERSIONS = ("R2007", "R2010", "R2013", "R2018")
"""Those that have true colours and whose text is UTF-8."""

_CIRCULAR_MM = 1e-7
"""An arc whose points lie this near to a circle is one: well above rounding, far below what any knife resolves."""
DATA = "BLADEWISE"
"""Under which a layer's extended data say how its lines are cut."""
_NOT_IN_NAMES = str.maketrans(dict.fromkeys('<>/\\":;?*|=`,', " "))
_RESERVED = {"0", "defpoints"}
_LONGEST_NAME = 200


@dataclass(frozen=True, slots=True)
class DxfSettings:
    """How a DXF is written.

    Parameters
    ----------
    units
        "mm" or "in": what one drawing unit is, as the header says.
    tolerance_mm
        None: curves stay curves, as splines. Else they become lines that stay this near to them.
    version
        One of `DXF_VERSIONS`.
    perforation
        One of `cut_lines.PERFORATIONS`.
    """

    units: str = "mm"
    tolerance_mm: float | None = None
    version: str = "R2010"
    perforation: str = "dashes"


def write_dxf(job: Job, path: FilePath, settings: DxfSettings | None = None) -> None:
    """Write what is cut as DXF.

    Raises
    ------
    CannotWrite
        If the job is not ready, what was written does not read back as meant, or the file cannot be
        written; what stood there before still stands.
    """
    write_atomically(path, dxf_bytes(cut_lines(job), job.height_mm, settings))


def dxf_bytes(lines: Sequence[CutLines], height_mm: float, settings: DxfSettings | None = None) -> bytes:
    """Return cut lines as the contents of a DXF file, read back and found right; the parameters of `dxf_made`."""
    return dxf_made(lines, height_mm, settings).data


def dxf_made(lines: Sequence[CutLines], height_mm: float, settings: DxfSettings | None = None) -> Made:
    """Return cut lines as the contents of a DXF file, and how far they lie from what was meant.

    Parameters
    ----------
    lines
        What is cut, a layer for each; mm, y down.
    height_mm
        Of the sheet: its bottom left becomes the origin.
    settings
        Units, tolerance, version, perforation; the defaults if left out.

    Raises
    ------
    CannotWrite
        If the settings make no sense, or what was written does not read back as meant.
    """
    settings = settings or DxfSettings()
    known = settings.units in DXF_UNITS, settings.version in DXF_VERSIONS, settings.perforation in PERFORATIONS
    if not all(known):
        raise CannotWrite(
            phrase(
                "A DXF in “{units}”, version “{version}”, cannot be written.",
                units=settings.units,
                version=settings.version,
            ),
            hint=phrase("Known: {join}.", join=", ".join((*DXF_UNITS, *DXF_VERSIONS, *PERFORATIONS))),
        )
    insunits, measurement, unit_mm = DXF_UNITS[settings.units]
    upright = Affine(1.0 / unit_mm, 0.0, 0.0, -1.0 / unit_mm, 0.0, height_mm / unit_mm)
    lines = [line.followed(settings.perforation) for line in lines]
    meant = [line._replace(path=_prepared(line.path, settings.tolerance_mm).transformed(upright)) for line in lines]

    from ezdxf.filemanagement import new

    drawing = new(settings.version, units=insunits)
    drawing.header["$INSUNITS"], drawing.header["$MEASUREMENT"] = insunits, measurement
    if box := joined(line.path for line in meant).bounds():
        drawing.modelspace().reset_extents((*box[:2], 0.0), (*box[2:], 0.0))
    drawing.appids.add(DATA)
    names = _layer_names(meant)
    for name, line in zip(names, meant, strict=True):
        layer = drawing.layers.add(name, color=nearest_index(line.colour))
        layer.rgb = (line.colour.red, line.colour.green, line.colour.blue)
        if line.cut is CutKind.PERFORATION and settings.perforation == "line":
            layer.dxf.linetype = _line_type(drawing, line.perforation_mm, unit_mm)
        layer.set_xdata(DATA, [(1000, text) for text in _told(line)])
        for contour in line.path.subpaths():
            _add(drawing, name, contour)
    stream = io.StringIO()
    drawing.write(stream)
    data = stream.getvalue().encode("utf-8")
    path = joined(line.path for line in lines)
    far = _far_from(data, names, path, upright.inverse(), insunits)
    return Made(data, held(far, settings.tolerance_mm or 0.0, "The DXF does not read back as it was meant."))


def read_dxf_outlines(drawing: Drawing) -> dict[str, Path]:
    """Return the outlines a DXF of ours holds, by layer, in drawing units, y up."""
    found: dict[str, list[Path]] = {}
    for entity in drawing.modelspace():
        if entity.dxftype() == "LWPOLYLINE":
            path = _from_polyline(entity)
        elif entity.dxftype() == "SPLINE":
            path = _from_spline(entity)
        else:
            continue
        found.setdefault(entity.dxf.layer, []).append(path)
    return {layer: joined(paths) for layer, paths in found.items()}


def nearest_index(colour: Colour) -> int:
    """Return the number of the nearest of the 255 numbered colours, for readers that know no true colours."""
    from ezdxf.colors import DXF_DEFAULT_COLORS

    table = np.array(DXF_DEFAULT_COLORS[1:256])
    known = np.stack([table >> 16 & 255, table >> 8 & 255, table & 255], axis=1).astype(np.int64)
    return 1 + int(((known - np.array(colour)) ** 2).sum(axis=1).argmin())


# ------------------------------------------------------------------------------------------- writing


def _prepared(path: Path, tolerance_mm: float | None) -> Path:
    """Return the path with its curves as lines where that is asked."""
    if tolerance_mm is None or not path:
        return path
    curved = (path.kinds != SegmentKind.LINE) & ~_circular(path)
    if not curved.any():
        return path
    kept: list[Path] = []
    for contour in path.subpaths():
        rows: list[Rows] = []
        bends = (contour.kinds != SegmentKind.LINE) & ~_circular(contour)
        chords = flatten(contour, tolerance_mm)
        for index in range(len(contour)):
            if not bends[index]:
                rows.append((contour.points[[index]], contour.kinds[[index]], contour.weights[[index]]))
                continue
            places = np.concatenate(
                [chords.coords[(chords.segment == index) & (chords.t < 1.0)], contour.points[index, 3:]]
            )
            rows += [line_rows(places[at : at + 2]) for at in range(len(places) - 1)]
        kept.append(_of_rows(rows, is_closed=bool(contour.closed[0])))
    return joined(kept)


def _circular(path: Path) -> NDArray[np.bool_]:
    """Whether each segment is an arc of a circle, shape (n,)."""
    start, control, end = path.points[:, 0], path.points[:, 1], path.points[:, 3]
    first, second = np.hypot(*(control - start).T), np.hypot(*(end - control).T)
    half = np.hypot(*(end - start).T) / 2.0
    # half the chord over the leg is the cosine of half the angle, which is the weight where the frame is a circle
    off = np.maximum(np.abs(first - second), np.abs(half - path.weights * first))
    circular: NDArray[np.bool_] = (path.kinds == SegmentKind.ARC) & (off <= _CIRCULAR_MM) & (half > 0.0)
    return circular


def _bulges(path: Path) -> Floats:
    """Return the bulge of each segment, shape (n,), 0 for lines; y up."""
    leg, chord = path.points[:, 1] - path.points[:, 0], path.points[:, 3] - path.points[:, 0]
    turn = leg[:, 0] * chord[:, 1] - leg[:, 1] * chord[:, 0]
    reach = np.hypot(*leg.T) * np.hypot(*chord.T) + (leg * chord).sum(axis=1)
    bulges: Floats = np.where(path.kinds == SegmentKind.ARC, turn / np.where(reach > 0.0, reach, 1.0), 0.0)
    return bulges


def _add(drawing: Drawing, layer: str, contour: Path) -> None:
    is_closed = bool(contour.closed[0])
    attributes = {"layer": layer}
    space = drawing.modelspace()
    if ((contour.kinds == SegmentKind.LINE) | _circular(contour)).all():
        bulges = _bulges(contour)
        rows = [(x, y, bulge) for (x, y), bulge in zip(contour.points[:, 0].tolist(), bulges.tolist(), strict=True)]
        if is_closed and len(rows) > 1 and contour.kinds[-1] == SegmentKind.LINE and _is_dot(contour.points[-1]):
            rows.pop()
        if not is_closed:
            rows.append((*contour.points[-1, 3].tolist(), 0.0))
        space.add_lwpolyline(rows, format="xyb", close=is_closed, dxfattribs=attributes)
        return
    control, weights = _cubics(contour)
    spline = space.add_spline(degree=3, dxfattribs=attributes)
    spline.control_points = [(x, y, 0.0) for x, y in control.tolist()]
    spline.knots = _knots(len(contour))
    if (weights != 1.0).any():
        spline.weights = weights.tolist()
    spline.closed = is_closed


def _is_dot(points: Floats) -> bool:
    return bool((points == points[0]).all())


def _knots(count: int) -> list[float]:
    """Return the knots of Bézier curves one after the other: each node three deep, the ends four."""
    return [0.0, *(float(node) for node in range(count + 1) for _ in range(3)), float(count)]


def _cubics(path: Path) -> tuple[Floats, Floats]:
    """Return all segments of one contour as one row of control points with weights, shapes (3n + 1, 2), (3n + 1,)."""
    points, kinds, weights = path.points, path.kinds, path.weights
    start, control, other, end = (points[:, row] for row in range(4))
    inner, outer = control.copy(), other.copy()
    inner_weights = np.ones(len(path))
    straight = kinds == SegmentKind.LINE
    inner[straight], outer[straight] = (2.0 * start + end)[straight] / 3.0, (start + 2.0 * end)[straight] / 3.0
    conic = (kinds == SegmentKind.QUADRATIC) | (kinds == SegmentKind.ARC)
    pull = np.where(conic, 2.0 * weights, 0.0)[:, None]
    inner = np.where(conic[:, None], (start + pull * control) / (1.0 + pull), inner)
    outer = np.where(conic[:, None], (end + pull * control) / (1.0 + pull), outer)
    arc = kinds == SegmentKind.ARC
    inner_weights[arc] = (1.0 + 2.0 * weights[arc]) / 3.0
    row = np.stack([start, inner, outer], axis=1).reshape(-1, 2)
    weight = np.stack([np.ones(len(path)), inner_weights, inner_weights], axis=1).reshape(-1)
    return np.concatenate([row, end[-1:]]), np.append(weight, 1.0)


def _layer_names(lines: Iterable[CutLines]) -> list[str]:
    taken = set(_RESERVED)
    made = []
    for line in lines:
        plain = "".join(letter if letter.isprintable() else " " for letter in line.name.translate(_NOT_IN_NAMES))
        name = " ".join(plain.split())[:_LONGEST_NAME] or "Cut"
        if line.cut is not CutKind.KISS and line.cut.value not in name.casefold():
            name = f"{name} - {line.cut}"
        made.append(unique(name, taken))
    return made


def _told(line: CutLines) -> list[str]:
    """Return what the extended data of a layer say."""
    told = [f"cut={line.cut}"]
    if line.cut is CutKind.PERFORATION:
        told += [f"{name}={value:g}" for name, value in zip(("cut_mm", "gap_mm"), line.perforation_mm, strict=True)]
    return told


def _line_type(drawing: Drawing, perforation_mm: tuple[float, float], unit_mm: float) -> str:
    """Return the name of the line type of a perforation: how long a dash is, and the gap after it."""
    cut, gap = (length / unit_mm for length in perforation_mm)
    name = f"PERFORATION {perforation_mm[0]:g}-{perforation_mm[1]:g}"
    if name not in drawing.linetypes:
        drawing.linetypes.add(name, [cut + gap, cut, -gap], description="Perforation")
    return name


# -------------------------------------------------------------------------------------- reading back


def _far_from(data: bytes, names: Sequence[str], meant: Path, to_sheet: Affine, insunits: int) -> float:
    """Read the file back; return how far its outlines, layer by layer, lie from what was meant, in mm."""
    from ezdxf.filemanagement import read

    drawing = read(io.StringIO(data.decode("utf-8")))
    faults = [*(audit := drawing.audit()).errors, *audit.fixes]
    found = read_dxf_outlines(drawing)
    if faults or drawing.header.get("$INSUNITS") != insunits or list(found) != list(names):
        return math.inf
    return apart(meant, joined(found.values()).transformed(to_sheet))


def _from_polyline(entity: Any) -> Path:
    rows: list[Rows] = []
    points = entity.get_points("xyb")
    places = np.array([row[:2] for row in points], dtype=np.float64)
    count = len(places) if entity.closed else len(places) - 1
    for index in range(count):
        start, end, bulge = places[index], places[(index + 1) % len(places)], float(points[index][2])
        if bulge == 0.0:
            rows.append(line_rows(np.stack([start, end])))
            continue
        chord = end - start
        middle = (start + end) / 2.0
        centre = middle + np.array([-chord[1], chord[0]]) * (1.0 - bulge * bulge) / (4.0 * bulge)
        rows.append(arc_rows(start, end, centre, 4.0 * math.atan(bulge)))
    return _of_rows(rows, is_closed=bool(entity.closed))


def _from_spline(entity: Any) -> Path:
    control = np.array(entity.control_points, dtype=np.float64)[:, :2]
    weights = np.array(entity.weights, dtype=np.float64) if len(entity.weights) else np.ones(len(control))
    rows: list[Rows] = []
    for index in range(0, len(control) - 1, 3):
        four, weight = control[index : index + 4], float(weights[index + 1])
        if weight == 1.0:
            rows.append((four[None], np.array([SegmentKind.CUBIC], np.uint8), np.ones(1)))
            continue
        inner = (3.0 * weight - 1.0) / 2.0
        tip = (four[1] * (1.0 + 2.0 * inner) - four[0]) / (2.0 * inner)
        points = np.stack([four[0], tip, tip, four[3]])[None]
        rows.append((points, np.array([SegmentKind.ARC], np.uint8), np.array([inner])))
    return _of_rows(rows, is_closed=bool(entity.closed))


def _of_rows(rows: Sequence[Rows], *, is_closed: bool) -> Path:
    if not rows:
        return EMPTY
    points, kinds, weights = (np.concatenate([row[column] for row in rows]) for column in range(3))
    return Path(points, kinds, weights, np.zeros(1, np.int64), np.array([is_closed]))
