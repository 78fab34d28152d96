"""Cut lines as DXF: one layer a material, one closed entity a contour, real size, y up.

A contour of lines and circular arcs is an LWPOLYLINE, its arcs as bulges: the bulge is the tangent of
a quarter of the arc's angle, positive where it turns anticlockwise (the published DXF reference, LWPOLYLINE,
group code 42; from memory). Any other contour is a SPLINE of degree 3 whose knots stand three deep at every node, so
that its control points are those of the Bézier curves; a quadratic is raised to degree 3, an elliptic arc
(and a circular one between curves) likewise with weights, all exactly. Where a machine takes no splines,
a tolerance turns curves into lines; circular arcs stay arcs even then.

What was written is read back by `ezdxf` and held against what was meant before it becomes a file.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from bladewise.errors import CannotWrite
from bladewise.formats.atomic import write_atomically
from bladewise.formats.cut_lines import cut_lines
from bladewise.formats.file_names import unique
from bladewise.geometry.affine import Affine
from bladewise.geometry.arcs import arc_rows, line_rows
from bladewise.geometry.flatten import flatten
from bladewise.geometry.measures import length
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
_READ_BACK_MM = 1e-6
"""What read-back extents and lengths may differ by, and by this share of the whole for large art: rounding only."""
_READ_BACK_SHARE = 1e-10
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
    """

    units: str = "mm"
    tolerance_mm: float | None = None
    version: str = "R2010"


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
    """Return cut lines as the contents of a DXF file, read back and found right.

    Parameters
    ----------
    lines
        What is cut, a layer for each; mm, y down.
    height_mm
        Of the sheet: its bottom left becomes the origin.
    settings
        Units, tolerance, version; the defaults if left out.
    """
    settings = settings or DxfSettings()
    if settings.units not in DXF_UNITS or settings.version not in DXF_VERSIONS:
        raise CannotWrite(
            phrase(
                "A DXF in “{units}”, version “{version}”, cannot be written.",
                units=settings.units,
                version=settings.version,
            ),
            hint=phrase("Known: {join}.", join=", ".join((*DXF_UNITS, *DXF_VERSIONS))),
        )
    insunits, measurement, unit_mm = DXF_UNITS[settings.units]
    upright = Affine(1.0 / unit_mm, 0.0, 0.0, -1.0 / unit_mm, 0.0, height_mm / unit_mm)
    meant = [line._replace(path=_prepared(line.path, settings.tolerance_mm).transformed(upright)) for line in lines]

    from ezdxf.filemanagement import new

    drawing = new(settings.version, units=insunits)
    drawing.header["$INSUNITS"], drawing.header["$MEASUREMENT"] = insunits, measurement
    if box := joined(line.path for line in meant).bounds():
        drawing.modelspace().reset_extents((*box[:2], 0.0), (*box[2:], 0.0))
    names = _layer_names(meant)
    for name, line in zip(names, meant, strict=True):
        layer = drawing.layers.add(name, color=nearest_index(line.colour))
        layer.rgb = (line.colour.red, line.colour.green, line.colour.blue)
        for contour in line.path.subpaths():
            _add(drawing, name, contour)
    stream = io.StringIO()
    drawing.write(stream)
    data = stream.getvalue().encode("utf-8")
    _hold_against(data, dict(zip(names, meant, strict=True)), insunits)
    return data


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
        made.append(unique(" ".join(plain.split())[:_LONGEST_NAME] or "Cut", taken))
    return made


# -------------------------------------------------------------------------------------- reading back


def _hold_against(data: bytes, meant: dict[str, CutLines], insunits: int) -> None:
    from ezdxf.filemanagement import read

    drawing = read(io.StringIO(data.decode("utf-8")))
    faults = [*(audit := drawing.audit()).errors, *audit.fixes]
    found = read_dxf_outlines(drawing)
    is_right = not faults and drawing.header.get("$INSUNITS") == insunits and found.keys() == meant.keys()
    if not (is_right and all(_agree(line.path, found[name]) for name, line in meant.items())):
        raise CannotWrite("The DXF does not read back as it was meant.", hint="Please report this, with the job.")


def _agree(meant: Path, found: Path) -> bool:
    """Whether two paths have the same contours, extent and length, but for rounding."""
    if len(meant.starts) != len(found.starts) or not np.array_equal(meant.closed, found.closed):
        return False
    near, size = _READ_BACK_MM, float(np.abs(meant.points).max())
    run = length(meant)
    boxes = np.array(meant.bounds()), np.array(found.bounds())
    return bool(
        np.abs(boxes[0] - boxes[1]).max() <= near + _READ_BACK_SHARE * size
        and abs(run - length(found)) <= near + _READ_BACK_SHARE * run * 10.0
        and np.abs(meant.points[meant.starts, 0] - found.points[found.starts, 0]).max() <= near
    )


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
