"""What every rule looks at: the cut art, material by material, and the limits it is held to."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from bladewise.checks.memory import Memory
from bladewise.document import (
    Box,
    Colour,
    CutKind,
    Job,
    Lettering,
    Material,
    MaterialKind,
    Picture,
    Placed,
    Profile,
    Shape,
)
from bladewise.document.profiles import DEFAULTS
from bladewise.geometry.overlaps import Duplicate, duplicates
from bladewise.operations.painted import is_hairline
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Iterable


SOLID = 0.999
"""An opacity from here on is solid."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What is too small, too narrow, too sharp. The defaults are common practice, no source."""

    least_piece_mm2: float = 4.0
    """A piece of less area lifts off with the waste or is lost (common practice, no source)."""

    least_overlap_mm2: float = 0.001
    """An overlap of less area is two pieces that touch."""

    coincident_mm: float = 0.02
    """Outlines this near are the same cut: less than a blade's width (common practice, no source)."""

    least_bridge_mm: float = 0.5
    """A strip narrower than this takes long to weed (common practice, no source)."""

    least_gap_mm: float = 0.5
    """A gap narrower than this takes long to weed (common practice, no source)."""

    thickness_mm: float = 0.07
    """Of the film; what is narrower than twice this stands no pull (common practice, no source)."""

    sharpest_corner_deg: float = 10.0
    """Sides that enclose less than this tear where the blade swivels (common practice, no source)."""

    least_bleed_mm: float = 1.0
    """Print runs on this far beyond its cut line, or ends this far before it (common practice, no source)."""

    roll_width_mm: float | None = None
    """Of the roll that can be cut; None: not known."""

    heat_transfer: bool = False
    """Whether the material is cut mirrored."""

    @classmethod
    def of(cls, profile: Profile) -> Limits:
        """Return the limits that a material's profile sets; what it leaves out is the default."""
        full = profile.over(DEFAULTS)
        return cls(
            least_piece_mm2=full.least_piece_mm2 or 0.0,
            coincident_mm=max(full.blade_width_mm or 0.0, 0.001),
            least_bridge_mm=full.least_bridge_mm or 0.0,
            least_gap_mm=full.least_gap_mm or 0.0,
            thickness_mm=full.thickness_mm or 0.0,
            sharpest_corner_deg=full.sharpest_corner_deg or 0.0,
            least_bleed_mm=full.least_bleed_mm or 0.0,
            roll_width_mm=full.roll_width_mm,
            heat_transfer=full.heat_transfer,
        )

    @property
    def least_strip_mm(self) -> float:
        """What is narrower than this does not hold: twice the film's thickness (common practice, no source)."""
        return 2.0 * self.thickness_mm


DEFAULT_LIMITS = Limits()


@dataclass(frozen=True)
class Context:
    """The visible art of a job that a knife will follow, by material.

    `limits`, where given, hold for every material in place of its profile. `memory` keeps what was found out
    about outlines from one check to the next.
    """

    job: Job
    limits: Limits | None
    shapes: dict[Material, list[Shape]]
    lettering: list[Lettering]
    has_art: bool
    pictures: list[Picture] = field(default_factory=list)
    memory: Memory = field(default_factory=Memory)

    @classmethod
    def of(cls, job: Job, limits: Limits | None = None, memory: Memory | None = None) -> Context:
        """Sort a job's art by what it is made of; print and guides are left out."""
        shapes: dict[Material, list[Shape]] = {}
        lettering: list[Lettering] = []
        pictures: list[Picture] = []
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
            else:
                pictures.append(placed.leaf)
        return cls(job, limits, shapes, lettering, has_art, pictures, memory or Memory())

    def limits_of(self, material: Material) -> Limits:
        """Return what the shapes of a material are held to."""
        return self.limits if self.limits is not None else Limits.of(material.profile)

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
            pairs = duplicates([shapes[index].path for index in kept], self.limits_of(material).coincident_mm)
            found[material] = [pair._replace(first=kept[pair.first], second=kept[pair.second]) for pair in pairs]
        return found

    @cached_property
    def same(self) -> dict[Material, set[frozenset[str]]]:
        """The ids of pairs (or of one shape) that share a whole outline, by material."""
        return {
            material: {frozenset((shapes[pair.first].id, shapes[pair.second].id)) for pair in self.coincident[material]}
            for material, shapes in self.shapes.items()
        }

    @cached_property
    def stack(self) -> list[Shape]:
        """Every visible shape from the back to the front, whatever it is made of."""
        return self.job.shapes(visible_only=True)

    @cached_property
    def order(self) -> dict[str, int]:
        """The place of each shape in that order."""
        return {shape.id: index for index, shape in enumerate(self.stack)}

    @cached_property
    def placed(self) -> list[Placed]:
        """Every visible leaf with its surroundings, from the back to the front."""
        return [placed for placed in self.job.walk() if placed.visible]

    @cached_property
    def material_by_id(self) -> dict[str, Material]:
        """What each visible leaf is made of."""
        return {placed.leaf.id: self.job.material_of(placed) for placed in self.placed}

    @cached_property
    def opacity(self) -> dict[str, float]:
        """How solid the paint of each visible leaf is, 0 to 1, that of the groups it lies in counted too."""
        return {placed.leaf.id: _opacity(placed) for placed in self.placed}

    def are_solid(self, shapes: Iterable[Shape]) -> bool:
        """Whether shapes show one flat colour each, and nothing through it: what is made of them looks the same."""
        return all(
            self.opacity[shape.id] >= SOLID
            and (shape.style.fill is None or isinstance(shape.style.fill, Colour))
            and (shape.style.stroke is None or isinstance(shape.style.stroke.paint, Colour))
            for shape in shapes
        )

    def material_of(self, leaf: Shape | Lettering | Picture) -> Material:
        """Return what a visible leaf is made of."""
        return self.material_by_id[leaf.id]

    @property
    def all_shapes(self) -> list[Shape]:
        """Every shape to be cut."""
        return [shape for shapes in self.shapes.values() for shape in shapes]

    def outlines(self, material: Material) -> list[Shape]:
        """Return the shapes of a material that are outlines to cut, those that are strokes still left out."""
        return [shape for shape in self.shapes[material] if not is_live_stroke(shape)]


def makes_no_piece(material: Material) -> bool:
    """Whether its lines set no piece free: a crease folds, it does not cut through."""
    return material.cut is CutKind.CREASE


def _opacity(placed: Placed) -> float:
    leaf = placed.leaf
    opacity = leaf.opacity if isinstance(leaf, Picture) else leaf.style.opacity
    for group in placed.groups:
        opacity *= group.opacity
    if isinstance(leaf, Picture):
        return opacity
    if leaf.style.fill is not None:
        return opacity * leaf.style.fill_opacity
    return opacity * leaf.style.stroke.opacity if leaf.style.stroke is not None else opacity


def is_live_stroke(shape: Shape) -> bool:
    """Whether a shape is nothing but a stroke that is not a shape yet."""
    stroke = shape.style.stroke
    return shape.style.fill is None and stroke is not None and not is_hairline(stroke)


def name_of(element: Shape | Lettering | Picture) -> str:
    """Return what to call an element in a message."""
    return phrase("“{name}”", name=element.name or element.id)
