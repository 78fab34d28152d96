"""Reads back what a PDF of ours paints in spot colours: the lines that are followed, the areas that are filled.

Only what stands in a spot colour is followed, operator by operator (ISO 32000-1, 8.5 and 8.6); the rest of the page
is passed over. pikepdf has split the content into operators. Lengths are mm on the sheet, y down.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from bladewise.geometry.path import EMPTY, Path, PathBuilder, joined

if TYPE_CHECKING:
    from collections.abc import Iterable

    from bladewise.formats.pdf.space import Page


@dataclass(frozen=True, slots=True)
class Plate:
    """What one spot colour paints: lines where it strokes, else areas.

    Parameters
    ----------
    path
        All of it, in the order it is painted.
    dash_mm
        Its pattern of dashes; empty for a whole line.
    group, step
        What its layer says it is for, and None where it says nothing (ISO 19593-1).
    """

    path: Path = EMPTY
    dash_mm: tuple[float, ...] = ()
    group: str | None = None
    step: str | None = None


class _Reading:
    def __init__(self, resources: Any, page: Page) -> None:
        self._names = {str(key): str(space[1])[1:] for key, space in resources.get("/ColorSpace", {}).items()}
        self._layers = resources.get("/Properties", {})
        self._to_sheet = page.from_sheet.inverse()
        self._scale = page.scale
        self._stroke = self._fill = ""
        self._dash: tuple[float, ...] = ()
        self._layer: Any = None
        self._pen = PathBuilder()
        self.lines: dict[str, list[Path]] = {}
        self.areas: dict[str, list[Path]] = {}
        self.dashes: dict[str, tuple[float, ...]] = {}
        self.said: dict[str, tuple[str | None, str | None]] = {}

    def obey(self, name: str, operands: Any) -> None:
        match name:
            case "CS":
                self._stroke = self._names.get(str(operands[0]), "")
            case "cs":
                self._fill = self._names.get(str(operands[0]), "")
            case "RG" | "rg":
                self._stroke, self._fill = ("", self._fill) if name == "RG" else (self._stroke, "")
            case "d":
                self._dash = tuple(float(length) / self._scale for length in operands[0])
            case "BDC":
                self._layer = self._layers[str(operands[1])]
            case "Q":
                self._stroke = self._fill = ""
                self._dash = ()
            case "S" if self._stroke:
                self._painted(self._stroke, self.lines)
            case "f" | "f*" if self._fill:
                self._painted(self._fill, self.areas)
            case _ if self._stroke or self._fill:
                self._build(name, operands)

    def _build(self, name: str, operands: Any) -> None:
        if name not in ("m", "l", "c", "h"):
            return
        numbers = [float(one) for one in operands]
        points = list(zip(numbers[::2], numbers[1::2], strict=True))
        match name:
            case "m":
                self._pen.move_to(points[0])
            case "l":
                self._pen.line_to(points[0])
            case "c":
                self._pen.cubic_to(points[0], points[1], points[2])
            case _:
                self._pen.close()

    def _painted(self, spot: str, into: dict[str, list[Path]]) -> None:
        into.setdefault(spot, []).append(self._pen.path().transformed(self._to_sheet))
        self._pen = PathBuilder()
        self.dashes[spot] = self._dash
        said = self._layer.get("/GTS_Metadata") if self._layer is not None else None
        told = (said.get("/GTS_ProcStepsGroup"), said.get("/GTS_ProcStepsType")) if said is not None else (None, None)
        group, step = (None if one is None else str(one)[1:] for one in told)
        self.said[spot] = group, step


def read_plates(content: Iterable[Any], resources: Any, page: Page) -> dict[str, Plate]:
    """Return what each spot colour of a page paints, by its name.

    Parameters
    ----------
    content
        The page's operators, as pikepdf has them.
    resources
        The page's.
    page
        How the sheet lies on it.
    """
    reading = _Reading(resources, page)
    for operands, operator in content:
        reading.obey(str(operator), operands)
    plates = {}
    for spot, (group, step) in reading.said.items():
        painted = reading.lines if group == "Structural" else reading.areas
        plates[spot] = Plate(joined(painted.get(spot, [])), reading.dashes[spot], group, step)
    return plates
