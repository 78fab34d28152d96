"""Reads back the few instructions of HP-GL/2 that `plotter` writes, to hold a file against what was meant.

It is no reader for other people's plots: what it does not know, it refuses. Meanings as in HP, PCL 5
Technical Reference Manual, Part II (from memory): IN begin anew, IP and SC the scale, PA absolute places,
SP pen, PU and PD lifted and lowered, BZ Bézier curves from where the pen is, FS force, VS speed. One
plotter unit is 0.025 mm; y points up.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from bladewise.errors import CannotRead
from bladewise.geometry.path import Path, PathBuilder, Point
from bladewise.phrases import phrase

PLOTTER_UNIT_MM = 0.025
"""One plotter unit (HP, PCL 5 Technical Reference Manual, Part II)."""

_INSTRUCTION = re.compile(r"\s*([A-Z]{2})([^A-Z;]*);?\s*")
_KNOWN = frozenset({"IN", "IP", "SC", "PA", "SP", "PU", "PD", "BZ", "FS", "VS"})


class Drawn(NamedTuple):
    """What one lowering of the pen drew: the pen, and the path in mm, y up; closed where it ends as it began."""

    pen: int
    path: Path


class Plot(NamedTuple):
    """Everything drawn, in order, and what one number stands for in mm."""

    drawn: tuple[Drawn, ...]
    unit_mm: float


def read_plotter(text: str) -> Plot:
    """Return what a plotter file of ours draws.

    Raises
    ------
    CannotRead
        If it holds anything that `plotter` does not write.
    """
    plotting = _Plotting()
    place = 0
    while place < len(text):
        found = _INSTRUCTION.match(text, place)
        if found is None or found.group(1) not in _KNOWN:
            raise CannotRead(phrase("“{text}” is no instruction we write.", text=text[place : place + 20]))
        numbers = [float(each) for each in found.group(2).split(",") if each.strip()]
        plotting.obey(found.group(1), numbers)
        place = found.end()
    plotting.lift()
    return Plot(tuple(plotting.drawn), plotting.unit_mm)


class _Plotting:
    def __init__(self) -> None:
        self.drawn: list[Drawn] = []
        self.unit_mm = PLOTTER_UNIT_MM
        self._reference = 0.0
        self._pen = 0
        self._here: Point = (0.0, 0.0)
        self._start: Point = (0.0, 0.0)
        self._builder: PathBuilder | None = None
        self._is_down = False

    def obey(self, name: str, numbers: list[float]) -> None:
        match name:
            case "IP":
                self._reference = numbers[2] - numbers[0]
            case "SC":
                self.unit_mm = PLOTTER_UNIT_MM * self._reference / (numbers[1] - numbers[0])
            case "SP":
                self.lift()
                self._pen = int(numbers[0])
            case "PU":
                self.lift()
                for at in range(0, len(numbers), 2):
                    self._here = self._mm(numbers[at], numbers[at + 1])
            case "PD":
                self._is_down = True
                for at in range(0, len(numbers), 2):
                    self._pencil().line_to(self._mm(numbers[at], numbers[at + 1]))
            case "BZ" if self._is_down:
                for at in range(0, len(numbers), 6):
                    first, second, end = (
                        self._mm(numbers[at + each], numbers[at + each + 1]) for each in range(0, 6, 2)
                    )
                    self._pencil().cubic_to(first, second, end)
            case _:
                pass

    def lift(self) -> None:
        """End what is being drawn."""
        if self._builder is not None:
            self._here = self._builder.here
            if self._here == self._start:
                self._builder.close()
            self.drawn.append(Drawn(self._pen, self._builder.path()))
        self._builder, self._is_down = None, False

    def _pencil(self) -> PathBuilder:
        if self._builder is None:
            self._builder = PathBuilder()
            self._builder.move_to(self._here)
            self._start = self._here
        return self._builder

    def _mm(self, x: float, y: float) -> Point:
        return x * self.unit_mm, y * self.unit_mm
