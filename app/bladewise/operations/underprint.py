"""White ink under a print and varnish over it: layers of their own, each a spot colour with a name.

On clear or dark film ink alone shows what lies behind it, so white is laid down first. It is choked, kept a little
inside the print's edge, so that none of it peeps out where the two are not quite in register; where the film itself is
to show, through chosen art, there is none. Varnish lies over everything: on chosen art, or on all of the sticker.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from bladewise.document import Colour, Layer, Material, MaterialKind, Shape, Style
from bladewise.errors import CannotApply
from bladewise.geometry import booleans, measures
from bladewise.geometry.parallels import parallel
from bladewise.geometry.regions import Region
from bladewise.operations.coats import coats_of, covering, is_line_to_cut, is_print, strongest
from bladewise.operations.cut_regions import cut_regions
from bladewise.operations.declaration import (
    Operation,
    Progress,
    Result,
    acts_on,
    choice,
    length,
    number,
    optional_selection,
    wording,
)
from bladewise.operations.painted import holds_any
from bladewise.operations.selection import Selection
from bladewise.phrases import phrase
from bladewise.units import counted, format_number

if TYPE_CHECKING:
    from bladewise.document import Job, Leaf, Placed
    from bladewise.geometry.path import Path
    from bladewise.operations.coats import Covering

_WHITE = Colour(0xFF, 0xFF, 0xFF)
_WHITE_ON_SCREEN = Colour(0xB4, 0xC3, 0xD1)
"""What stands for white where its outline or a swatch is shown on white."""
_VARNISH_ON_SCREEN = Colour(0x56, 0xB4, 0xE9)
_VARNISH_TINT = 0.2
"""How strongly varnish is shown over the print; it is laid down in full."""


class Extent(StrEnum):
    """What a layer of white or varnish covers."""

    ART = "art"
    INSIDE_CUT_LINE = "inside-cut-line"


@dataclass(frozen=True, kw_only=True)
class WhiteUnderprint:
    """White ink under the print."""

    on: Selection = acts_on(help="The print, its bleed with it")
    extent: Extent = choice(Extent.ART, help="Under what is printed, or all inside the cut line")
    choke_mm: float = length(
        0.2, minimum=-20.0, maximum=20.0, help="How far it stays inside the edge (minus: runs on beyond it)"
    )
    show_film: Selection | None = optional_selection(help="Art under which there is no white, so that the film shows")
    least_opacity: float = number(
        5.0, minimum=0.0, maximum=100.0, help="Ink that shows less than this gets none, in per cent"
    )
    name: str = wording("White", help="What the white ink is called: the name of its spot colour")


@dataclass(frozen=True, kw_only=True)
class VarnishOver:
    """Varnish over the print."""

    on: Selection = acts_on(help="The art that gets it")
    extent: Extent = choice(Extent.ART, help="Over this art alone, or all inside the cut line")
    inset_mm: float = length(
        0.0, minimum=-20.0, maximum=20.0, help="How far it stays inside the edge (minus: runs on beyond it)"
    )
    name: str = wording("Varnish", help="What the varnish is called: the name of its spot colour")


def white_underprint(job: Job, record: WhiteUnderprint, progress: Progress) -> Result:
    """Put white ink on a layer of its own below the print."""
    placed = _printed(job, record.on)
    art = covering(placed, least_opacity=record.least_opacity, least_ink=record.least_opacity)
    if not art:
        msg = "Nothing here is printed, so there is nothing to lay white under."
        raise CannotApply(msg, where=record.on.describe(job), hint="Select the print.")
    shown = {each.leaf.id for each in record.show_film.leaves(job)} if record.show_film is not None else set()
    base = _base(job, record.extent, art, record.on)
    progress(0.3)
    if shown:
        coats = coats_of(placed, least_opacity=record.least_opacity)
        coats = [coat for coat in coats if 100.0 * strongest(coat) >= record.least_opacity]
        seen = booleans.visible_parts([coat.region for coat in coats])
        film = [Region(path) for path, coat in zip(seen, coats, strict=True) if coat.leaf.id in shown and path]
        base = booleans.cut_out(Region(base), film) if film and base else base
    progress(0.6)
    path = parallel(Region(base), -record.choke_mm)
    if not path:
        msg = "No white is left: the print is narrower than twice the choke."
        raise CannotApply(msg, where=record.on.describe(job), hint="Make the choke smaller.")
    progress(0.9)
    reports = _without_any(base, path)
    material, result = _material(job, record.name, MaterialKind.WHITE, _WHITE_ON_SCREEN)
    leaves: list[Leaf] = [each.leaf for each in placed]
    below = min((index for index, layer in enumerate(job.layers) if holds_any(layer, leaves)), default=0)
    return _laid(result, material, path, Style(fill=_WHITE), below, tuple(reports))


def varnish(job: Job, record: VarnishOver, progress: Progress) -> Result:
    """Put varnish on a layer of its own above the print."""
    placed = _printed(job, record.on)
    art = covering(placed)
    if not art:
        msg = "Nothing here is printed, so there is nothing to varnish."
        raise CannotApply(msg, where=record.on.describe(job), hint="Select the print.")
    base = _base(job, record.extent, art, record.on)
    progress(0.5)
    path = parallel(Region(base), -record.inset_mm)
    if not path:
        msg = "No varnish is left at this distance from the edge."
        raise CannotApply(msg, where=record.on.describe(job), hint="Make the distance smaller.")
    progress(0.9)
    material, result = _material(job, record.name, MaterialKind.VARNISH, _VARNISH_ON_SCREEN)
    held = {each.layer.id for each in job.walk() if each.visible and is_print(job, each)}
    above = max((index + 1 for index, layer in enumerate(job.layers) if layer.id in held), default=len(job.layers))
    return _laid(result, material, path, Style(fill=_VARNISH_ON_SCREEN, fill_opacity=_VARNISH_TINT), above, ())


def _printed(job: Job, on: Selection) -> list[Placed]:
    return [each for each in on.leaves(job) if is_print(job, each)]


def _base(job: Job, extent: Extent, art: Covering, on: Selection) -> Path:
    """Return what a layer covers before its edge is moved."""
    if extent is Extent.ART:
        return art.area()
    chosen = [each for each in on.leaves(job) if is_line_to_cut(each)]
    regions = cut_regions(job, chosen or None)
    if not regions:
        msg = "There is no closed cut line, so nothing lies inside it."
        raise CannotApply(msg, where=on.describe(job), hint="Draw the cut line first, or cover the art alone.")
    return booleans.merge([Region(region.path) for region in regions])


def _without_any(base: Path, path: Path) -> list[str]:
    """Say how many pieces are too narrow to get any."""
    starts = path.points[path.starts, 0]
    bare = sum(not measures.contains(Region(piece), starts).any() for piece in booleans.pieces(base)) if base else 0
    if not bare:
        return []
    which = counted(bare, "piece is", "pieces are")
    return [phrase("{which} narrower than twice the choke and got no white.", which=which)]


def _material(job: Job, name: str, kind: MaterialKind, colour: Colour) -> tuple[Material, Job]:
    """Return the ink of a name, new if there is none yet, and the job that lists it."""
    name = name.strip()
    if not name:
        msg = "The ink needs a name."
        raise CannotApply(msg, where=job.name, hint="Type the name that the printer gives it.")
    known = next((each for each in job.materials if each.name == name), None)
    if known is not None:
        if known.kind is not kind:
            msg = phrase("“{name}” is the name of another material.", name=name)
            raise CannotApply(msg, where=job.name, hint="Choose another name.")
        return known, job
    key, count = str(kind), 2
    while job.material(key) is not None:
        key, count = f"{kind}-{count}", count + 1
    made = Material(key, name, colour, kind)
    return made, job.with_material(made)


def _laid(job: Job, material: Material, path: Path, style: Style, index: int, reports: tuple[str, ...]) -> Result:
    fresh = job.fresh_id(material.id)
    shape = Shape(fresh, path, style, name=material.name, material=material.id)
    layer_id = job.fresh_id(f"{material.id}-layer", taken={fresh})
    layer = Layer(layer_id, material.name, (shape,), material=material.id)
    return Result(job.with_layer(layer, index=index), reports, (fresh,))


def _covers(extent: Extent) -> str:
    return phrase("under the art" if extent is Extent.ART else "all inside the cut line")


OPERATIONS = (
    Operation(
        "white-underprint",
        "White underprint",
        "White ink under the print, for clear and dark film, a little inside its edge.",
        WhiteUnderprint,
        white_underprint,
        lambda r: phrase(
            "White underprint, {extent}, choke {choke} mm", extent=_covers(r.extent), choke=format_number(r.choke_mm)
        ),
    ),
    Operation(
        "varnish",
        "Varnish",
        "A clear coat over chosen art, or over all inside the cut line.",
        VarnishOver,
        varnish,
        lambda r: phrase(
            "Varnish, {extent}, {inset} mm inside its edge",
            extent=phrase("over the art" if r.extent is Extent.ART else "all inside the cut line"),
            inset=format_number(r.inset_mm),
        ),
    ),
)
