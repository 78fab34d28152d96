"""The job's list of materials: those taken from the shop's stock, and those taken off it again.

A step holds all that is said of a material as words (`document.stock`), so that it can be done again where the stock
is not at hand.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bladewise.document.stock import listed, materials_in
from bladewise.errors import CannotApply
from bladewise.operations.declaration import Operation, Progress, Result, wording
from bladewise.phrases import listing, phrase

if TYPE_CHECKING:
    from bladewise.document import Job


@dataclass(frozen=True, kw_only=True)
class ListMaterials:
    """Materials go onto the job's list."""

    materials: str = wording(
        "", help="One a line: a name, a colour as #rrggbb, then key=value for roll, price, kind, cut and limits"
    )


@dataclass(frozen=True, kw_only=True)
class DropMaterial:
    """A material that nothing is made of goes off the job's list."""

    material: str = wording("", help="The material's name")


def list_materials(job: Job, record: ListMaterials, progress: Progress) -> Result:
    """List materials; one of the same name is replaced by what is said now."""
    try:
        found = listed(job, materials_in(record.materials))
    except ValueError as error:
        hint = "Write a name, a colour as #rrggbb, then key=value."
        raise CannotApply(error.args[0], where=job.name, hint=hint) from None
    if not found:
        raise CannotApply("No material was given.", where=job.name, hint="Write one a line, each with its colour.")
    for material in found:
        job = job.with_material(material)
    progress(1.0)
    return Result(job)


def drop_material(job: Job, record: DropMaterial, progress: Progress) -> Result:
    """Take a material off the list."""
    progress(1.0)
    wanted = record.material.strip()
    found = next((each for each in job.materials if wanted in (each.id, each.name)), None)
    if found is None:
        msg = phrase("The job lists no material “{name}”.", name=wanted)
        raise CannotApply(msg, where=job.name, hint="Choose one of those listed.")
    used = [placed.leaf for placed in job.walk() if job.material_of(placed).id == found.id]
    if used:
        msg = phrase("Something is made of “{name}”: {count} in all.", name=found.name, count=len(used))
        raise CannotApply(msg, where=job.name, hint="Choose another material for it first.")
    return Result(replace(job, materials=tuple(each for each in job.materials if each.id != found.id)))


def _listed_text(record: ListMaterials) -> str:
    try:
        names = [each.name for each in materials_in(record.materials)]
    except ValueError:
        names = []
    return phrase("On the list of materials: {names}", names=listing(names)) if names else phrase("List materials")


OPERATIONS = (
    Operation(
        "list-materials",
        "List materials",
        "Put vinyls and prints onto the job's list, each with its colour, roll, price and limits.",
        ListMaterials,
        list_materials,
        _listed_text,
        least=0,
    ),
    Operation(
        "drop-material",
        "Drop a material",
        "Take a material that nothing is made of off the job's list.",
        DropMaterial,
        drop_material,
        lambda r: phrase("“{name}” off the list of materials", name=r.material),
        least=0,
    ),
)
