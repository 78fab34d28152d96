"""What every rule looks at: the cut art, material by material, and the limits it is held to."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from bladewise.document import Box, Job, Lettering, Material, MaterialKind, Shape
from bladewise.geometry.overlaps import Duplicate, duplicates
from bladewise.operations.painted import is_hairline
from bladewise.phrases import phrase


@dataclass(frozen=True, slots=True)
class Limits:
    """What is too small. The defaults are common practice, no source."""

    least_piece_mm2: float = 4.0
    """A piece of less area lifts off with the waste or is lost (common practice, no source)."""

    least_overlap_mm2: float = 0.001
    """An overlap of less area is two pieces that touch."""

    coincident_mm: float = 0.02
    """Outlines this near are the same cut: less than a blade's width (common practice, no source)."""


DEFAULT_LIMITS = Limits()


@dataclass(frozen=True)
class Context:
    """The visible art of a job that a knife will follow, by material."""

    job: Job
    limits: Limits
    shapes: dict[Material, list[Shape]]
    lettering: list[Lettering]
    has_art: bool

    @classmethod
    def of(cls, job: Job, limits: Limits = DEFAULT_LIMITS) -> Context:
        """Sort a job's art by what it is made of; print and guides are left out."""
        shapes: dict[Material, list[Shape]] = {}
        lettering: list[Lettering] = []
        has_art = False
        for placed in job.walk():
            if not placed.visible:
                continue
            has_art = True
            material = job.material_of(placed)
            if material.kind is not MaterialKind.CUT:
                continue
            if isinstance(placed.leaf, Shape):
                if placed.leaf.path:
                    shapes.setdefault(material, []).append(placed.leaf)
            elif isinstance(placed.leaf, Lettering):
                lettering.append(placed.leaf)
        return cls(job, limits, shapes, lettering, has_art)

    def between(self, lower: Shape, upper: Shape, box: Box | None) -> list[Shape]:
        """Return the filled shapes of other materials that lie between two shapes and reach into a box."""
        kin = self.material_by_id[lower.id]
        first, last = self.order[lower.id], self.order[upper.id]
        return [
            shape
            for shape in self.stack[first + 1 : last]
            if shape.style.fill is not None
            and self.material_by_id[shape.id] != kin
            and box is not None
            and (other := shape.bounds) is not None
            and other[0] < box[2]
            and box[0] < other[2]
            and other[1] < box[3]
            and box[1] < other[3]
        ]

    @cached_property
    def coincident(self) -> dict[Material, list[Duplicate]]:
        """The outlines that lie on one another, by material; indexes are those of `shapes`."""
        found = {}
        for material, shapes in self.shapes.items():
            kept = [index for index, shape in enumerate(shapes) if not is_live_stroke(shape)]
            pairs = duplicates([shapes[index].path for index in kept], self.limits.coincident_mm)
            found[material] = [pair._replace(first=kept[pair.first], second=kept[pair.second]) for pair in pairs]
        return found

    @cached_property
    def stack(self) -> list[Shape]:
        """Every visible shape from the back to the front, whatever it is made of."""
        return self.job.shapes(visible_only=True)

    @cached_property
    def order(self) -> dict[str, int]:
        """The place of each shape in that order."""
        return {shape.id: index for index, shape in enumerate(self.stack)}

    @cached_property
    def material_by_id(self) -> dict[str, Material]:
        """What each visible leaf is made of."""
        return {placed.leaf.id: self.job.material_of(placed) for placed in self.job.walk() if placed.visible}

    @property
    def all_shapes(self) -> list[Shape]:
        """Every shape to be cut."""
        return [shape for shapes in self.shapes.values() for shape in shapes]


def is_live_stroke(shape: Shape) -> bool:
    """Whether a shape is nothing but a stroke that is not a shape yet."""
    stroke = shape.style.stroke
    return shape.style.fill is None and stroke is not None and not is_hairline(stroke)


def name_of(element: Shape | Lettering) -> str:
    """Return what to call an element in a message."""
    return phrase("“{name}”", name=element.name or element.id)
