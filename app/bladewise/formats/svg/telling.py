"""What an SVG file says of how it is made, as data any program may read: material, its turn, how it is cut.

Custom data attributes are SVG 2's own (Struct, "Data attributes"): a reader that knows none of them passes them over.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.document import CutKind, MaterialKind
from bladewise.formats.svg.path_data import decimal

if TYPE_CHECKING:
    from collections.abc import Mapping

    from bladewise.document import Job, Material


def told_of_job(job: Job, order: Mapping[str, int]) -> dict[str, dict[str, str | None]]:
    """Return what is said of each layer and leaf, by its id: all of a layer where it is of one material alone.

    Parameters
    ----------
    job
        The job.
    order
        The turn of each material that has one, by its id, from 1.
    """
    told: dict[str, dict[str, str | None]] = {}
    in_layer: dict[str, set[Material]] = {}
    for placed in job.walk():
        material = job.material_of(placed)
        in_layer.setdefault(placed.layer.id, set()).add(material)
        told[placed.leaf.id] = _told(material, order)
    for layer, materials in in_layer.items():
        if len(materials) == 1:
            told[layer] = _told(next(iter(materials)), order)
    return told


def _told(material: Material, order: Mapping[str, int]) -> dict[str, str | None]:
    turn = order.get(material.id)
    said: dict[str, str | None] = {
        "data-material": material.name,
        "data-kind": material.kind.value,
        "data-order": None if turn is None else str(turn),
    }
    if material.kind is MaterialKind.CUT:
        said["data-cut"] = material.cut.value
        if material.cut is CutKind.PERFORATION:
            said["data-perforation-cut-mm"] = decimal(material.perforation_cut_mm)
            said["data-perforation-gap-mm"] = decimal(material.perforation_gap_mm)
    return said
