"""What comes of a job: the sheet as it leaves the printer, and what the customer holds once it is cut.

Both are jobs like any other, which the one painter paints. Nothing is clipped: what the knife takes away is painted
over in the colour of what lies below, so that pictures, gradients and groups stay whole, and the line can be moved by
a registration error without any of it being worked out again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bladewise.document import CutKind, Layer, MaterialKind, Shape, Stroke, Style
from bladewise.geometry import booleans
from bladewise.geometry.affine import Affine
from bladewise.geometry.measures import contains
from bladewise.geometry.path import EMPTY, Path, joined, rectangle
from bladewise.geometry.regions import FillRule, Region
from bladewise.layout.films import PLAIN, Ground, on_film
from bladewise.operations.coats import is_line_to_cut, is_print
from bladewise.operations.cut_regions import CutRegion, cut_regions

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.document import Box, Colour, Job, Placed
    from bladewise.geometry.path import Point

_ROOM_MM = 1.0
"""How far beyond art that hangs over the sheet's edge the waste is taken off."""

_RIM_MM = 0.1
"""Width of the edge that shows white film on a pale liner."""


@dataclass(frozen=True)
class _Pieces:
    """What is left after cutting, on the sheet in mm: stickers, and the liner or board under them."""

    stickers: Path
    carriers: Path
    """Empty where the whole sheet is the carrier."""


def printed_result(job: Job, *, ground: Ground = PLAIN) -> Job:
    """Return the job as it leaves the printer, its cut lines over it: no vinyl, no guides, nothing that is hidden.

    White ink lies where it is printed. Varnish is clear and does not show. On film that is not white the sheet has the
    film's colour, and ink looks as it does there (`films`).
    """
    lines = [
        placed.leaf
        for placed in job.walk()
        if placed.visible and is_line_to_cut(placed) and isinstance(placed.leaf, Shape)
    ]
    result = on_film(_ink(job), ground.film)
    if ground.film != PLAIN.film:
        sheet = Shape(job.fresh_id("film"), _everything(job), Style(fill=ground.film), name="film")
        result = result.with_layer(Layer(job.fresh_id("film-layer"), "Film", (sheet,)), index=0)
    layer = Layer(job.fresh_id("lines-over-print"), "Cut lines", tuple(_as_line(job, each) for each in lines))
    return result.with_layer(layer) if lines else result


def cut_result(job: Job, shift_mm: Point = (0.0, 0.0), *, ground: Ground = PLAIN) -> Job:
    """Return what the customer holds: the print inside the cut lines, moved by a registration error.

    Kiss-cut stickers lie on their liner with the waste taken off; through-cut pieces lie by themselves, what was inside
    their holes is gone. A kiss cut inside a through cut is a sticker on a piece of liner.

    Parameters
    ----------
    job
        The job; without a closed cut line the result is the print alone.
    shift_mm
        How far the cut lies from where it should, to the right and down.
    ground
        The colours of film, liner and what lies around.
    """
    return Cutting(job, ground=ground).at(shift_mm)


class Cutting:
    """A job on the cutter: made ready once, then cut with one error after another at no cost.

    Parameters
    ----------
    job, ground
        As for `cut_result`.
    """

    def __init__(self, job: Job, *, ground: Ground = PLAIN) -> None:
        """Find the ink and the pieces."""
        self._job, self._ground = job, ground
        self._ink = on_film(_ink(job), ground.film)
        self.regions = cut_regions(job)
        self._pieces = _pieces(self.regions)
        self._sheet = _everything(job)

    @property
    def box(self) -> Box | None:
        """The box around all pieces where the cut lies right, in mm."""
        return self._pieces.stickers.bounds()

    def at(self, shift_mm: Point) -> Job:
        """Return what the customer holds for one error (right, down)."""
        if not self.regions:
            return self._ink
        move, ground = Affine.moved(*shift_mm), self._ground
        stickers, carriers = (path.transformed(move) for path in (self._pieces.stickers, self._pieces.carriers))
        below = self._shape("film", stickers, Style(fill=ground.film))
        on_liner = bool(carriers) or not _all_through(self.regions)
        over = [
            self._shape(
                "waste", joined([self._sheet, stickers]), _all_but(ground.liner if on_liner else ground.around)
            ),
            self._shape("rim", stickers, Style(stroke=Stroke(ground.rim, _RIM_MM))),
        ]
        if carriers:
            over.append(self._shape("around", joined([self._sheet, carriers]), _all_but(ground.around)))
            over.append(self._shape("carrier", carriers, Style(stroke=Stroke(ground.rim, _RIM_MM))))
        film = Layer(self._job.fresh_id("film-layer"), "Film", (below,))
        away = Layer(self._job.fresh_id("cut-away"), "Cut away", tuple(over))
        return self._ink.with_layer(film, index=0).with_layer(away)

    def _shape(self, stem: str, path: Path, style: Style) -> Shape:
        return Shape(self._job.fresh_id(stem), path, style, name=stem)


def _all_but(colour: Colour) -> Style:
    """Return how the sheet is painted over but for the pieces."""
    return Style(fill=colour, fill_rule=FillRule.EVEN_ODD)


def _ink(job: Job) -> Job:
    """Return the job with nothing but the ink that is seen."""
    gone = {placed.leaf.id for placed in job.walk() if not placed.visible or not _is_ink(job, placed)}
    result = job.without(gone)
    return replace(result, layers=tuple(layer for layer in result.layers if layer.visible and layer.children))


def _is_ink(job: Job, placed: Placed) -> bool:
    return is_print(job, placed) or (not is_line_to_cut(placed) and job.material_of(placed).kind is MaterialKind.WHITE)


def _as_line(job: Job, shape: Shape) -> Shape:
    """Return a cut line that shows, whatever it was drawn with."""
    placed = job.placed(shape.id)
    assert placed is not None
    colour = job.material_of(placed).colour
    stroke = shape.style.stroke or Stroke(colour, _RIM_MM)
    return replace(shape, visible=True, style=replace(shape.style, fill=None, stroke=stroke))


def _pieces(regions: Sequence[CutRegion]) -> _Pieces:
    """Return which cuts make stickers and which take out what carries them."""
    kiss = [region for region in regions if region.kind is CutKind.KISS]
    through = [region for region in regions if region.kind is not CutKind.KISS]
    carrying = [region for region in through if any(_lies_in(each, region) for each in kiss)]
    alone = [region for region in through if region not in carrying]
    stickers = booleans.merge([Region(region.path) for region in [*kiss, *alone]])
    loose = [region for region in kiss if not any(_lies_in(region, each) for each in carrying)]
    if not carrying or loose:  # some stickers stay on the sheet, which is there then
        return _Pieces(stickers, EMPTY)
    return _Pieces(stickers, booleans.merge([Region(region.path) for region in [*carrying, *alone]]))


def _lies_in(inner: CutRegion, outer: CutRegion) -> bool:
    return bool(contains(Region(outer.path), inner.path.points[:, 0]).mean() > 0.5)


def _all_through(regions: Sequence[CutRegion]) -> bool:
    return all(region.kind is not CutKind.KISS for region in regions)


def _everything(job: Job) -> Path:
    """Return the sheet, and all art beyond it."""
    x0, y0, x1, y1 = job.bounds or (0.0, 0.0, 0.0, 0.0)
    x0, y0 = (side - _ROOM_MM if side < 0.0 else 0.0 for side in (x0, y0))
    x1 = x1 + _ROOM_MM if x1 > job.width_mm else job.width_mm
    y1 = y1 + _ROOM_MM if y1 > job.height_mm else job.height_mm
    return rectangle(x0, y0, max(x1 - x0, _RIM_MM), max(y1 - y0, _RIM_MM))
