"""What shows when the cut does not lie quite where the print has it: bare film inside the line, and how soon.

Every machine cuts a little beside the line: the sheet has moved, the marks were read a little off. The line moved by
that error encloses film that was beyond it before; where nothing is printed there, white shows. Film that is bare by
design, inside the line or straight out from a stretch of it that no art reaches, is no fault and is not counted.

Areas are those of true curves; only the search for the worst direction goes by fine chords.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, partial
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import shapely
from shapely import affinity

from bladewise.geometry import measures
from bladewise.geometry.affine import Affine
from bladewise.geometry.kernel import curve_true
from bladewise.geometry.path import Point, joined
from bladewise.geometry.regions import Region
from bladewise.geometry.rough import straight_outlines
from bladewise.operations.coats import areas_of, covering, is_print
from bladewise.operations.cut_regions import cut_regions
from bladewise.operations.declaration import quiet

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from bladewise.document import Job
    from bladewise.geometry.path import Path
    from bladewise.geometry.regions import FillRule
    from bladewise.operations.declaration import Progress

FARTHEST_MM = 20.0
"""No machine is farther off than this; print that runs on so far is never cut into."""

REACHED_MM = 0.25
"""Art that ends nearer than this to the line is meant to reach it."""

_SLIVER_MM = 0.01
"""Bare strips narrower than twice this are the noise of outlines drawn along one another."""

_HARDLY, _MOSTLY = 0.02, 0.5
"""The shares of the strips inside and outside a line that are printed where the line is that of a hole."""

_LOOKS_MM = (0.3, 1.0, 2.5, 6.0)
"""It is looked for bare film so near to a line first: most is found there, and a wide band costs many times as much."""

_STRIP_MM = 0.3
"""How far beside a line it is looked which side of it the art is on."""


@dataclass(frozen=True)
class WhiteShowing:
    """Bare film inside the cut line moved by a registration error.

    Parameters
    ----------
    area_mm2
        How much.
    shift_mm
        How far the cut lies from where it should, to the right and down.
    place
        Where on the print most of it is, in mm; None where there is none.
    """

    area_mm2: float
    shift_mm: Point
    place: Point | None = None


class Clearance(NamedTuple):
    """How far a line may lie off before film shows that is not meant to, in mm, and where on it that begins."""

    up_to_mm: float
    place: Point | None = None


class _Line:
    """One cut line, what it encloses, and the film beside it that is bare on purpose."""

    def __init__(self, path: Path, inside: Any, printed: Any, farthest_mm: float = FARTHEST_MM) -> None:
        self.path, self.inside, self.farthest_mm = path, inside, farthest_mm
        strip = _STRIP_MM
        near = shapely.intersection(printed, shapely.box(*_grown(inside.bounds, farthest_mm + 1.0)))
        self.near = near
        within = shapely.difference(inside, inside.buffer(-strip))
        beyond = shapely.difference(inside.buffer(strip), inside)
        self.flipped = _share(near, within) < _HARDLY and _share(near, beyond) > _MOSTLY
        rim = shapely.boundary(inside)
        apart = shapely.get_parts(shapely.line_merge(shapely.difference(rim, near.buffer(_SLIVER_MM))))
        missed = shapely.union_all(apart[~shapely.is_empty(shapely.difference(apart, near.buffer(REACHED_MM)))])
        self.meant_bare = missed.buffer(farthest_mm, cap_style="flat") if not missed.is_empty else shapely.Polygon()

    def showing(self, dx: float, dy: float) -> Any:
        """Return the bare film as a polygon."""
        return self._bare_to(affinity.translate(self.inside, dx, dy))

    @cached_property
    def _settled(self) -> Any:
        """What no error changes: film that can show within the line of a hole, all else that cannot beyond others."""
        if self.flipped:
            return shapely.difference(shapely.difference(self.inside, self.near), self.meant_bare)
        return shapely.union_all([self.inside, self.near, self.meant_bare])

    def _bare_to(self, outline: Any) -> Any:
        """Return the bare film between the line and where it lies now."""
        settled = self._settled
        return shapely.difference(settled, outline) if self.flipped else shapely.difference(outline, settled)

    def clearance(self, pause: Callable[[], None]) -> Clearance:
        """Return how far the line may lie off, whichever way, before white shows; `pause` may break it off."""
        rim = shapely.boundary(self.inside)
        shapely.prepare(rim)
        for reach in (*(each for each in _LOOKS_MM if each < self.farthest_mm), self.farthest_mm):
            pause()
            bare = self._bare_within(reach)
            if not bare.is_empty:
                nearest = shapely.shortest_line(rim, bare)
                x, y = shapely.get_coordinates(nearest)[0].tolist()
                return Clearance(max(0.0, float(nearest.length) - _SLIVER_MM), (x, y))
        return Clearance(self.farthest_mm)

    def _bare_within(self, reach_mm: float) -> Any:
        """Return the film within reach of the line that is bare and not meant to be; what is nearest is the same."""
        return self._bare_to(self.inside.buffer(-reach_mm if self.flipped else reach_mm)).buffer(-_SLIVER_MM)


class Registration:
    """A job's cut lines over its print, to be asked for one error after another.

    Parameters
    ----------
    job
        The job.
    """

    def __init__(self, job: Job) -> None:
        """Put the print together; the lines are measured when first asked for."""
        self.regions = cut_regions(job)
        self.printed: Path = covering(each for each in job.walk() if each.visible and is_print(job, each)).area()

    @property
    def is_print_and_cut(self) -> bool:
        """Whether there is both: without a print or a line nothing can be out of register."""
        return bool(self.regions) and bool(self.printed)

    @cached_property
    def _lines(self) -> list[_Line]:
        return list(self._measured(quiet))

    def _measured(self, progress: Progress) -> Iterator[_Line]:
        if not self.is_print_and_cut:
            return
        printed, *insides = areas_of([Region(self.printed), *(Region(each.path) for each in self.regions)])
        for number, (each, inside) in enumerate(zip(self.regions, insides, strict=True)):
            progress(number / len(self.regions))
            yield _Line(each.path, inside, printed)

    def clear(self, progress: Progress = quiet) -> float:
        """Return how far the cut may be off, whichever way, before white shows; at most `FARTHEST_MM`.

        Parameters
        ----------
        progress
            Told from 0 to 1 between portions of the work; it may raise `Cancelled`.
        """
        if "_lines" not in self.__dict__:
            self._lines = list(self._measured(lambda done: progress(0.5 * done)))
        least = FARTHEST_MM
        for number, line in enumerate(self._lines):
            done = 0.5 + 0.5 * number / len(self._lines)
            least = min(least, line.clearance(partial(progress, done)).up_to_mm)
        progress(1.0)
        return least

    @cached_property
    def clear_up_to_mm(self) -> float:
        """How far the cut may be off, whichever way, before white shows; at most `FARTHEST_MM`."""
        return self.clear()

    def about(self, shift_mm: Point) -> WhiteShowing:
        """Return what shows for one error by fine chords, at once."""
        parts = [shapely.get_parts(line.showing(*shift_mm)) for line in self._lines]
        pieces = np.concatenate(parts) if parts else np.zeros(0, object)
        sizes = shapely.area(pieces)
        if not len(pieces) or float(sizes.sum()) <= 0.0:
            return WhiteShowing(0.0, shift_mm)
        most = shapely.point_on_surface(pieces[int(np.argmax(sizes))])
        return WhiteShowing(float(sizes.sum()), shift_mm, (float(most.x), float(most.y)))

    def exactly(self, shift_mm: Point) -> WhiteShowing:
        """Return what shows for one error by true curves."""
        found = self.about(shift_mm)
        if not self._lines:
            return found
        move = Affine.moved(*shift_mm)
        regions = [Region(self.printed)]
        for line in self._lines:
            regions += [
                Region(line.path), Region(line.path.transformed(move)), Region(straight_outlines(line.meant_bare))
            ]  # fmt: skip

        def operation(polygons: Any) -> list[Any]:
            out = []
            for number, line in enumerate(self._lines):
                here, moved, bare = polygons[1 + 3 * number : 4 + 3 * number]
                added = shapely.difference(here, moved) if line.flipped else shapely.difference(moved, here)
                out.append(shapely.difference(shapely.difference(added, polygons[0]), bare))
            return out

        size = sum(measures.area(path) for path in curve_true(regions, operation))
        return WhiteShowing(max(size, 0.0), shift_mm, found.place if size > 0.0 else None)

    def worst(self, error_mm: float, directions: int = 16) -> WhiteShowing:
        """Return what shows at worst for an error of a size, of so many directions evenly around."""
        turns = (2.0 * math.pi * number / directions for number in range(directions))
        shifts = [(error_mm * math.cos(turn), error_mm * math.sin(turn)) for turn in turns]
        worst = max((self.about(shift) for shift in shifts), key=lambda each: each.area_mm2)
        return self.exactly(worst.shift_mm)


def clearance(line: Path, rule: FillRule, printed: Any, farthest_mm: float = FARTHEST_MM) -> Clearance | None:
    """Return how far one cut line may lie off over a print; None for a line that is closed nowhere.

    Stretches of the line that no art reaches are bare on purpose: they do not count, as they do for the plain distance
    of the line from the print's edge.

    Parameters
    ----------
    line, rule
        The cut line, and the rule by which its rings enclose.
    printed
        All that is printed, as a polygon of fine chords (`coats.areas_of`).
    farthest_mm
        It is not looked farther than this; what is clear up to there is told to be so.
    """
    rings = [ring for ring, shut in zip(line.subpaths(), line.closed.tolist(), strict=True) if shut]
    if not rings:
        return None
    (inside,) = areas_of([Region(joined(rings), rule)])
    return None if inside.is_empty else _Line(line, inside, printed, farthest_mm).clearance(lambda: None)


def white_showing(job: Job, shift_mm: Point) -> WhiteShowing:
    """Return the bare film inside a job's cut lines moved by a registration error (right, down) in mm."""
    return Registration(job).exactly(shift_mm)


def worst_white(job: Job, error_mm: float) -> WhiteShowing:
    """Return the bare film that shows at worst where the cut is off by so much in any direction."""
    return Registration(job).worst(error_mm)


def clear_up_to(job: Job) -> float | None:
    """Return how far the cut may be off before white shows, in mm; None for a job without print or cut line."""
    registration = Registration(job)
    return registration.clear_up_to_mm if registration.is_print_and_cut else None


def _share(printed: Any, strip: Any) -> float:
    size = float(shapely.area(strip))
    return float(shapely.area(shapely.intersection(printed, strip))) / size if size > 0.0 else 0.0


def _grown(box: tuple[float, float, float, float], room: float) -> tuple[float, float, float, float]:
    return box[0] - room, box[1] - room, box[2] + room, box[3] + room
