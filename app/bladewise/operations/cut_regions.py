"""What the lines about a print enclose: the pieces that the knife takes out."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from bladewise.document import CutKind, Shape
from bladewise.geometry import booleans
from bladewise.geometry.path import Path, joined
from bladewise.geometry.regions import Region
from bladewise.operations.coats import is_line_to_cut

if TYPE_CHECKING:
    from collections.abc import Iterable

    from bladewise.document import Job, Placed


class CutRegion(NamedTuple):
    """What one cut line encloses: outer rings clockwise on the screen, holes the other way."""

    leaf_id: str
    kind: CutKind
    path: Path


def lines_to_cut(job: Job, placed: Iterable[Placed] | None = None) -> list[Placed]:
    """Return the lines about a print that take pieces out, of some leaves or of all that show; creases take none."""
    some = (each for each in job.walk() if each.visible) if placed is None else placed
    return [each for each in some if is_line_to_cut(each) and job.material_of(each).cut is not CutKind.CREASE]


def cut_regions(job: Job, placed: Iterable[Placed] | None = None) -> list[CutRegion]:
    """Return what the closed lines about a print enclose, of some leaves or of all that show."""
    found = []
    for each in lines_to_cut(job, placed):
        assert isinstance(each.leaf, Shape)
        path = each.leaf.path
        closed = joined(ring for ring, shut in zip(path.subpaths(), path.closed.tolist(), strict=True) if shut)
        if closed and (inside := booleans.resolve(Region(closed, each.leaf.style.fill_rule))):
            found.append(CutRegion(each.leaf.id, job.material_of(each).cut, inside))
    return found
