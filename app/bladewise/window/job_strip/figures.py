"""What each material takes: pieces, area, knife travel; measured in a worker, kept while a path stays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from bladewise.document import Lettering, Picture, Shape
from bladewise.geometry import booleans, measures
from bladewise.geometry.regions import Region
from bladewise.units import MM_PER_INCH, format_number

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.document import Job, Leaf
    from bladewise.geometry.path import Path

MM_PER_FOOT = 12.0 * MM_PER_INCH


@dataclass(frozen=True, slots=True)
class Figures:
    """Pieces, area in mm² and knife travel in mm."""

    pieces: int = 0
    area_mm2: float = 0.0
    travel_mm: float = 0.0

    def __add__(self, other: Figures) -> Figures:
        return Figures(self.pieces + other.pieces, self.area_mm2 + other.area_mm2, self.travel_mm + other.travel_mm)


class Figurer:
    """Measures jobs; what did not change since the last time is not measured again."""

    def __init__(self) -> None:
        """Start with nothing known."""
        self._known: dict[str, tuple[Path, Figures]] = {}
        self.by_material: dict[str, Figures] = {}

    def measure(self, job: Job, progress: Callable[[float], None]) -> None:
        """Measure all that shows, by material id."""
        totals: dict[str, Figures] = {}
        uses = job.materials_in_use()
        for number, (material, leaves) in enumerate(uses.items()):
            total = Figures()
            for leaf in leaves:
                total += self._of(leaf)
            totals[material.id] = total
            progress(number / len(uses))
        self.by_material = totals

    def _of(self, leaf: Leaf) -> Figures:
        if isinstance(leaf, Picture):
            return Figures(1, 0.0, 0.0)
        path = leaf.outline if isinstance(leaf, Lettering) else leaf.path
        known = self._known.get(leaf.id)
        if known is not None and known[0] is path:
            return known[1]
        figures = _measured(leaf, path)
        self._known[leaf.id] = (path, figures)
        return figures


def _measured(leaf: Shape | Lettering, path: Path) -> Figures:
    if not path:
        return Figures()
    travel = measures.length(path)
    if leaf.style.fill is None and not path.closed.all():
        return Figures(len(path.starts), 0.0, travel)
    if len(path.starts) == 1:
        return Figures(1, abs(measures.area(path)), travel)
    resolved = booleans.resolve(Region(path, leaf.style.fill_rule))
    return Figures(len(booleans.pieces(resolved)), abs(measures.area(resolved)), travel)


def area_text(mm2: float, unit: str) -> str:
    """Return an area for reading, in cm² or square inches."""
    if unit == "in":
        return f"{format_number(mm2 / MM_PER_INCH**2, 1)} in²"
    return f"{format_number(mm2 / 100.0, 1 if mm2 < 10_000 else 0)} cm²"


def travel_text(mm: float, unit: str) -> str:
    """Return knife travel for reading, in metres or feet."""
    if unit == "in":
        return f"{format_number(mm / MM_PER_FOOT, 1)} ft"
    return f"{format_number(mm / 1000.0, 2 if mm < 10_000 else 1)} m"
