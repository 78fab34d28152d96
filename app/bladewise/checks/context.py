"""What every rule looks at: the cut art, material by material, and the limits it is held to."""

from __future__ import annotations

from dataclasses import dataclass

from bladewise.document import Job, Lettering, Material, MaterialKind, Shape


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

    @property
    def all_shapes(self) -> list[Shape]:
        """Every shape to be cut."""
        return [shape for shapes in self.shapes.values() for shape in shapes]


def name_of(element: Shape | Lettering) -> str:
    """Return what to call an element in a message."""
    return f"“{element.name or element.id}”"
