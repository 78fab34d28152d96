"""Cut lines as HP-GL/2, the public plotter language: absolute places, a pen a material, nothing of any device.

Numbers are plotter units of 0.025 mm (HP, PCL 5 Technical Reference Manual, Part II), or finer ones by the
language's own scale (IP and SC); what a device really resolves stays its own affair. Every place is rounded
once, from the exact one. Curves are Béziers (BZ) or chords within a tolerance; arcs are no instruction here,
because AA draws chords of the device's choice. Instructions, and the range of their numbers, are from memory
of that manual; force (FS) and speed (VS) are written only where the operator gives them, and what a number of
theirs means is told by the device's own papers.

Contours are cut inside out, holes before what is around them, each from where it begins, so that no piece
comes loose before what lies in it is cut; for the same reason through cuts come last of all. A perforation is
written as its cuts, one by one, unless the machine is to make them itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.errors import CannotWrite
from bladewise.formats.atomic import write_atomically
from bladewise.formats.cut_lines import PERFORATIONS, CutLines, cut_lines, extent, in_cutting_order
from bladewise.formats.inside_out import inside_out
from bladewise.formats.plotter_reader import PLOTTER_UNIT_MM, read_plotter
from bladewise.formats.reading_back import Made, apart, held
from bladewise.geometry.affine import Affine
from bladewise.geometry.curves import sub_segments
from bladewise.geometry.flatten import flatten
from bladewise.geometry.path import Path, SegmentKind, joined
from bladewise.phrases import phrase
from bladewise.units import format_length

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path as FilePath

    from numpy.typing import NDArray

    from bladewise.document import Job
    from bladewise.geometry.path import Floats

ORIGINS = ("lower-left", "centre", "art")
"""What lies at 0, 0: the sheet's lower left, its centre, or the lower left of what is cut."""
ROTATIONS = (0, 90, 180, 270)
"""Degrees, anticlockwise, by which the sheet is turned."""
CURVES = ("chords", "beziers")
UNITS_A_MM = {PLOTTER_UNIT_MM: 40, 0.01: 100, 0.005: 200}
"""Numbers a millimetre, by the size of the unit in mm; all but the first need the language's scale."""
MOST_PENS = 255
"""Pen 0 puts the pen away; a byte is more pens than any carousel has (common practice, no source)."""

_FARTHEST = 2**23 - 1
"""Largest number of the language (from memory)."""
_REFERENCE_UNITS = 4000
"""The scale's reference points lie 100 mm apart, which is a whole number of every unit."""
_ARC_UNEVENNESS = 1.055
"""Largest over mean angular speed of a quarter turn as a rational quadratic: its parts are not quite even."""
_POINTS_A_LINE = 32
"""Devices read an instruction into a buffer; this many places are safe in any (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class PlotterSettings:
    """How a plotter file is written.

    Parameters
    ----------
    origin, rotation_deg
        One of `ORIGINS`, one of `ROTATIONS`.
    curves, tolerance_mm
        "chords" that stay this near to the curve (before rounding), or "beziers", by which only arcs are
        not exact (before rounding), and stay this near.
    unit_mm
        One of `UNITS_A_MM`.
    pen, pens
        The pen of every line but those that `pens` names (name, number): by their material, else by how they
        are cut.
    force, speed
        As the device takes them in FS and VS; None: not written.
    takes_negative
        Whether the device takes numbers below 0, as one with its origin in the middle does.
    perforation
        One of `cut_lines.PERFORATIONS`.
    """

    origin: str = "lower-left"
    rotation_deg: int = 0
    curves: str = "chords"
    tolerance_mm: float = 0.01
    unit_mm: float = PLOTTER_UNIT_MM
    pen: int = 1
    pens: tuple[tuple[str, int], ...] = ()
    force: int | None = None
    speed: float | None = None
    takes_negative: bool = False
    perforation: str = "dashes"

    def pen_of(self, line: CutLines) -> int:
        """Return the pen of a line: its material's, else that of its kind of cut, else the one of all."""
        pens = dict(self.pens)
        return pens.get(line.name, pens.get(line.cut.value, self.pen))


class _Run(NamedTuple):
    """Places reached one after the other, whole units, shape (k, 2): by lines, or three by three as curves."""

    is_curve: bool
    places: NDArray[np.int64]


class _Contour(NamedTuple):
    start: tuple[int, int]
    runs: list[_Run]


def write_plotter(job: Job, path: FilePath, settings: PlotterSettings | None = None) -> None:
    """Write what is cut as HP-GL/2.

    Raises
    ------
    CannotWrite
        If the job is not ready, reaches where the device does not, or the file cannot be written; what
        stood there before still stands.
    """
    write_atomically(path, plotter_text(cut_lines(job), (job.width_mm, job.height_mm), settings).encode("ascii"))


def plotter_text(
    lines: Sequence[CutLines], sheet_mm: tuple[float, float], settings: PlotterSettings | None = None
) -> str:
    """Return cut lines as HP-GL/2, read back and found right; the parameters are those of `plotter_made`."""
    return plotter_made(lines, sheet_mm, settings).data.decode("ascii")


def plotter_made(
    lines: Sequence[CutLines], sheet_mm: tuple[float, float], settings: PlotterSettings | None = None
) -> Made:
    """Return cut lines as the contents of a HP-GL/2 file, and how far they lie from what was meant.

    Parameters
    ----------
    lines
        What is cut; mm, y down.
    sheet_mm
        Width and height of the sheet.
    settings
        The defaults if left out.

    Raises
    ------
    CannotWrite
        If the settings make no sense, the device cannot reach it, or it does not read back as meant.
    """
    settings = settings or PlotterSettings()
    _refuse_bad(settings)
    placed = _placement(lines, sheet_mm, settings)
    a_mm = UNITS_A_MM[settings.unit_mm]
    head = ["IN;"]
    if a_mm != UNITS_A_MM[PLOTTER_UNIT_MM]:
        units = _REFERENCE_UNITS * a_mm // UNITS_A_MM[PLOTTER_UNIT_MM]
        head.append(f"IP0,0,{_REFERENCE_UNITS},{_REFERENCE_UNITS};SC0,{units},0,{units};")
    rows, meant = [*head, "PA;"], []
    for line in in_cutting_order(line.followed(settings.perforation) for line in lines):
        pen = settings.pen_of(line)
        rows.append(f"SP{pen};{_told('FS', settings.force)}{_told('VS', settings.speed)}")
        for contour in inside_out(line.path.transformed(placed)):
            made = _in_units(contour, a_mm, settings)
            _refuse_far(made, settings)
            rows += _instructions(made)
            meant.append((pen, contour))
    text = "\n".join([*rows, "PU;SP0;", ""])
    return Made(text.encode("ascii"), _hold_against(text, meant, settings))


# ------------------------------------------------------------------------------------------- placing


def _placement(lines: Sequence[CutLines], sheet_mm: tuple[float, float], settings: PlotterSettings) -> Affine:
    """Return the transform from the sheet, y down, to the plotter's mm, y up, turned and moved to its origin."""
    width, height = sheet_mm
    turned = Affine.rotated(float(settings.rotation_deg)).after(Affine(1.0, 0.0, 0.0, -1.0, 0.0, height))
    if settings.origin == "art":
        box = extent([line._replace(path=line.path.transformed(turned)) for line in lines])
        return Affine.moved(-box[0], -box[1]).after(turned)
    corners = turned.apply(np.array([[0.0, 0.0], [width, height]]))
    x, y = (corners.mean(axis=0) if settings.origin == "centre" else corners.min(axis=0)).tolist()
    return Affine.moved(-x, -y).after(turned)


def _in_units(contour: Path, a_mm: int, settings: PlotterSettings) -> _Contour:
    start = _rounded(contour.points[0, :1], a_mm)[0].tolist()
    if settings.curves == "chords":
        chords = _rounded(flatten(contour, settings.tolerance_mm).coords[1:], a_mm)
        return _Contour((start[0], start[1]), [_Run(is_curve=False, places=chords)])
    runs: list[_Run] = []
    for index in range(len(contour)):
        points, kind, weight = contour.points[index], contour.kinds[index], float(contour.weights[index])
        if kind == SegmentKind.LINE:
            is_curve, places = False, _rounded(points[3:], a_mm)
        else:
            is_curve, places = True, _rounded(_cubics(points, int(kind), weight, settings.tolerance_mm), a_mm)
            if (
                not settings.takes_negative and (places < 0).any()
            ):  # a handle may reach below 0 where the curve does not
                alone = Path(
                    points[None],
                    contour.kinds[[index]],
                    contour.weights[[index]],
                    np.zeros(1, np.int64),
                    np.array([False]),
                )
                is_curve, places = False, _rounded(flatten(alone, settings.tolerance_mm).coords[1:], a_mm)
        if runs and runs[-1].is_curve == is_curve:
            runs[-1] = _Run(is_curve, np.concatenate([runs[-1].places, places]))
        else:
            runs.append(_Run(is_curve, places))
    return _Contour((start[0], start[1]), runs)


def _rounded(places_mm: Floats, a_mm: int) -> NDArray[np.int64]:
    whole: NDArray[np.int64] = np.rint(places_mm * a_mm).astype(np.int64)
    return whole


def _cubics(points: Floats, kind: int, weight: float, tolerance_mm: float) -> Floats:
    """Return a curve as cubics, three control points each after the start, shape (3k, 2); arcs within the tolerance.

    A cubic with handles of 4w/3(1 + w) of the way to where the tangents meet strays from an arc of a half-angle
    θ/2 by (2/27) · sin⁶(θ/4) / cos²(θ/4) of the radius (the classical bound, from memory; on a quarter turn 2.7e-4).
    """
    if kind == SegmentKind.CUBIC:
        return points[1:]
    start, control, end = points[0], points[1], points[3]
    if kind == SegmentKind.QUADRATIC:
        return np.stack([(start + 2.0 * control) / 3.0, (end + 2.0 * control) / 3.0, end])
    theta = 2.0 * math.acos(min(1.0, weight))
    sine = max(math.sin(theta / 2.0), 1e-9)
    halves = np.stack([(end - start) / (2.0 * sine), (control - (start + end) / 2.0) * weight / sine**2])
    reach = float(np.linalg.norm(halves, 2))  # the larger half-axis, of two conjugate half-diameters
    count = 1
    while reach * _strayed(theta / count * (_ARC_UNEVENNESS if count > 1 else 1.0)) > tolerance_mm:
        count += 1
    t = np.arange(count + 1) / count
    rows = np.repeat(points[None], count, axis=0)
    kinds = np.full(count, SegmentKind.ARC, np.uint8)
    parts, weights = sub_segments(rows, kinds, np.full(count, weight), t[:-1], t[1:])
    pull = (4.0 * weights / (3.0 * (1.0 + weights)))[:, None]
    first = parts[:, 0] + pull * (parts[:, 1] - parts[:, 0])
    second = parts[:, 3] + pull * (parts[:, 1] - parts[:, 3])
    made: Floats = np.stack([first, second, parts[:, 3]], axis=1).reshape(-1, 2)
    return made


def _strayed(theta: float) -> float:
    """Return how far the cubic of an arc strays from it, as a share of the radius."""
    return (2.0 / 27.0) * math.sin(theta / 4.0) ** 6 / math.cos(theta / 4.0) ** 2


# ------------------------------------------------------------------------------------------- writing


def _instructions(contour: _Contour) -> Iterator[str]:
    yield f"PU{contour.start[0]},{contour.start[1]};"
    here = contour.start
    for run in contour.runs:
        places = run.places
        if run.is_curve:
            yield "PD;"
        else:  # a place rounded onto the one before it is no move
            before = np.concatenate([[here], places[:-1]])
            moved = (places != before).any(axis=1)
            places = places[moved] if moved.any() else places[:1]
        here = tuple(places[-1].tolist())
        step = 3 * (_POINTS_A_LINE // 3) if run.is_curve else _POINTS_A_LINE
        for at in range(0, len(places), step):
            numbers = ",".join(map(str, places[at : at + step].reshape(-1).tolist()))
            yield f"{'BZ' if run.is_curve else 'PD'}{numbers};"
    yield "PU;"


def _told(name: str, value: float | None) -> str:
    return "" if value is None else f"{name}{value:g};"


def _refuse_bad(settings: PlotterSettings) -> None:
    for value, known, what in (
        (settings.origin, ORIGINS, "origin"),
        (settings.rotation_deg, ROTATIONS, "rotation"),
        (settings.curves, CURVES, "curves"),
        (settings.perforation, PERFORATIONS, "perforation"),
        (settings.unit_mm, tuple(UNITS_A_MM), "unit"),
    ):
        if value not in known:
            raise CannotWrite(
                phrase("“{value}” does not go with “{what}” in a plotter file.", value=value, what=what),
                hint=phrase("Known: {join}.", join=", ".join(map(str, known))),
            )
    if not settings.tolerance_mm > 0.0 or not all(
        1 <= pen <= MOST_PENS for pen in (settings.pen, *(number for _, number in settings.pens))
    ):
        raise CannotWrite(
            phrase("A plotter file needs a tolerance above 0 mm, and pens from 1 to {most}.", most=MOST_PENS)
        )


def _refuse_far(contour: _Contour, settings: PlotterSettings) -> None:
    places = np.concatenate([[contour.start], *(run.places for run in contour.runs)])
    least = int(places.min())
    if least < 0 and not settings.takes_negative:
        raise CannotWrite(
            phrase(
                "What is cut reaches {length} beyond the origin, and the device takes no numbers below 0.",
                length=format_length(-least * settings.unit_mm),
            ),
            hint="Put the art on the sheet, or choose the art's own lower left as the origin.",
        )
    if int(np.abs(places).max()) > _FARTHEST:
        raise CannotWrite(
            phrase(
                "What is cut reaches farther than the plotter language can say, which is {length}.",
                length=format_length(_FARTHEST * settings.unit_mm),
            ),
            hint="Choose a coarser unit, or cut it in panels.",
        )


def _hold_against(text: str, meant: Sequence[tuple[int, Path]], settings: PlotterSettings) -> float:
    """Read the text back; return how far its contours, each with its pen and in its turn, lie from what was meant."""
    plot = read_plotter(text)
    told = [drawn.pen for drawn in plot.drawn], math.isclose(plot.unit_mm, settings.unit_mm)
    far = math.inf
    if told == ([pen for pen, _ in meant], True):
        # that a contour is closed is told by where it ends, and rounding may bring the ends of a tiny one together
        drawn = joined(each.path for each in plot.drawn)
        far = apart(joined(contour for _, contour in meant), drawn, tells_closed=False)
    promised = settings.tolerance_mm + settings.unit_mm * math.sqrt(0.5)
    return held(far, promised, "The plotter file does not read back as it was meant.")
