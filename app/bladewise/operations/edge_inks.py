"""What the art shows along its cut line: which ink ends there, where one gives way to another, where bare film begins.

The line is looked at every fifth of a millimetre, just inside, and where two neighbours show different inks the place
between them is halved until it is known to a micrometre. Ink that already runs on beyond the line is followed
outward: what ends last is what would show.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from bladewise.document import Colour, Gradient, GradientKind, Spread
from bladewise.geometry.measures import contains, point_at_length, segment_lengths
from bladewise.geometry.path import Floats, Path
from bladewise.geometry.regions import Region
from bladewise.operations.coats import Coat, Ink, Pile, is_opaque

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from bladewise.document import Box


Look: TypeAlias = "tuple[tuple[Ink, float], ...]"
"""What shows at a place: inks with their opacities, the lowest first; nothing where the film is bare."""

INSIDE_MM = 0.03
"""How far beside the line the art is looked up: outlines drawn along one another differ by less."""

_AT_TIPS_MM = (0.015, 0.007)
"""Where that is bare, nearer to the line: in the tip of a corner it is beyond the other side already."""

SPACING_MM = 0.2
"""How far apart the line is looked at: a band of colour narrower than this may be missed."""

MOST_SITES = 60_000
"""Long lines are looked at less closely."""

_BESIDE_MM = 0.02
"""Sites stand this near to a place where the ink changes, on both sides, so that the border runs squarely out of it."""

_HALVINGS = 9
"""A fifth of a millimetre halved so often is less than half a micrometre."""

_STEP_MM = 0.1
"""How finely ink is followed away from the line."""

_BEHIND_EDGE_MM = 0.1
"""So far behind the edge of art that ends before the line its ink is looked up: where two colours share the edge, a
hairline of the lower one peeps out beside the upper one now here, now there."""

_EDGE_HALVINGS = 6
"""A tenth of a millimetre halved so often is less than two micrometres."""


@dataclass(frozen=True)
class Edge:
    """A cut line as it is seen from the art.

    Parameters
    ----------
    path
        The line, resolved: outer rings clockwise on the screen, holes the other way.
    sites
        Places on it in mm, shape (n, 2).
    looks
        What shows beside each.
    flipped
        Whether the art lies outside the line: the line is that of a hole.
    run_on
        The part of the line beyond which the ink already runs on far enough, 0 to 1.
    bare
        The part of the line to which the art does not reach, 0 to 1.
    broken
        Whether there is bare film close behind the edge, which must stay bare.
    """

    path: Path
    sites: Floats
    looks: tuple[Look, ...]
    flipped: bool
    run_on: float
    bare: float
    broken: bool

    @cached_property
    def box(self) -> Box | None:
        """Extent of the line in mm."""
        return self.path.bounds()


class EdgeReader:
    """Looks up what art shows along lines.

    Parameters
    ----------
    coats
        What is painted, back to front.
    beyond_mm
        How far ink is to run on.
    reach_mm
        How far before the line art may end and still counts as reaching it.
    under_mm
        How far behind the line bare film is looked for.
    spacing_mm
        How far apart the line is looked at.
    """

    def __init__(
        self,
        coats: Sequence[Coat],
        beyond_mm: float,
        reach_mm: float,
        under_mm: float,
        spacing_mm: float = SPACING_MM,
    ) -> None:
        """Keep what is painted; looks that are seen again are the same value."""
        self._pile = Pile(coats)
        self._beyond, self._reach, self._under, self._spacing = beyond_mm, reach_mm, under_mm, spacing_mm
        self._looks: dict[tuple[int, ...], Look] = {(): ()}

    def read(self, path: Path) -> Edge:
        """Return a closed line as it is seen from the art; from outside only where nothing inside reaches it."""
        lengths = segment_lengths(path)
        ends = np.cumsum(lengths)[path.ends - 1]
        starts = np.concatenate([[0.0], ends[:-1]])
        counts = np.maximum(np.ceil((ends - starts) / self._spacing), 12).astype(np.int64)
        ring = np.repeat(np.arange(len(starts)), counts)
        step = ((ends - starts) / counts)[ring]
        number = np.arange(len(ring)) - np.repeat(np.cumsum(counts) - counts, counts)
        along = starts[ring] + (number + 0.5) * step
        flipped = False
        stacks, points, out = self._beside(path, along, flipped=False)
        if not any(stacks):
            stacks, points, out = self._beside(path, along, flipped=True)
            flipped = any(stacks)
        seen = np.array([bool(stack) for stack in stacks])
        run_on = np.zeros(len(seen), np.bool_)
        if seen.any():
            run_on[seen] = self._runs_on(points[seen], out[seen])
        looks = _without_pricks([self._look(stack) for stack in stacks], ring)
        sites, kept = self._settled(path, along, looks, ring, (starts, ends), flipped=flipped)
        return Edge(
            path,
            sites,
            tuple(kept),
            flipped,
            float(run_on.mean()),
            float(1.0 - seen.mean()),
            bool(seen.any()) and self._is_broken(points[seen], out[seen]),
        )

    def _beside(self, path: Path, along: Floats, *, flipped: bool) -> tuple[list[tuple[int, ...]], Floats, Floats]:
        """Return what shows beside places of the line, the places, and the way out of the art there."""
        places = point_at_length(path, along)
        out = np.stack([places.tangents[:, 1], -places.tangents[:, 0]], axis=1)  # left of the travel, y down
        if flipped:
            out = -out
        points = places.points
        stacks: list[tuple[int, ...]] = [()] * len(points)
        depths = [INSIDE_MM, *_AT_TIPS_MM, *np.arange(_STEP_MM, self._reach + INSIDE_MM + 1e-9, _STEP_MM)]
        if self._reach > INSIDE_MM:
            depths.append(self._reach + INSIDE_MM)
        before = 0.0
        for depth in depths:
            open_ = np.flatnonzero([not stack for stack in stacks])
            if not len(open_):
                break
            found = self._pile.stacks_at(points[open_] - depth * out[open_])
            if depth > INSIDE_MM:
                found = self._at_edge(points[open_], out[open_], found, before, depth)
                before = depth
            for place, stack in zip(open_.tolist(), found, strict=True):
                stacks[place] = stack
        step = max(_STEP_MM, self._beyond / 20.0)
        going = np.flatnonzero([bool(stack) for stack in stacks])
        for distance in np.arange(INSIDE_MM, self._beyond, step):
            if not len(going):
                break
            found = self._pile.stacks_at(points[going] + distance * out[going])
            for place, stack in zip(going.tolist(), found, strict=True):
                if stack:
                    stacks[place] = stack
            going = going[[bool(stack) for stack in found]]
        return stacks, points, out

    def _at_edge(
        self, points: Floats, out: Floats, found: Sequence[tuple[int, ...]], bare_mm: float, deep_mm: float
    ) -> list[tuple[int, ...]]:
        """Return what shows behind the edge of art that ends before the line, equally far behind it everywhere.

        Parameters
        ----------
        points, out
            Places of the line and the way out of the art there, shape (n, 2).
        found
            What shows at a depth.
        bare_mm, deep_mm
            A depth at which nothing showed, and that one: the edge lies between them.
        """
        kept = list(found)
        some = np.flatnonzero([bool(stack) for stack in found])
        if not len(some):
            return kept
        points, out = points[some], out[some]
        low, high = np.full(len(some), bare_mm), np.full(len(some), deep_mm)
        for _ in range(_EDGE_HALVINGS):
            middle = 0.5 * (low + high)
            covered = self._pile.covers(points - middle[:, None] * out)
            low, high = np.where(covered, low, middle), np.where(covered, middle, high)
        behind = self._pile.stacks_at(points - (high + _BEHIND_EDGE_MM)[:, None] * out)
        for place, stack in zip(some.tolist(), behind, strict=True):
            kept[place] = stack or kept[place]
        return kept

    def _runs_on(self, points: Floats, out: Floats) -> NDArray[np.bool_]:
        going = np.ones(len(points), np.bool_)
        for distance in np.linspace(INSIDE_MM, max(self._beyond - INSIDE_MM, INSIDE_MM), 9):
            open_ = np.flatnonzero(going)
            going[open_] = self._pile.covers(points[open_] + distance * out[open_])
        return going

    def _is_broken(self, points: Floats, out: Floats) -> bool:
        """Whether some place behind the edge, as far as bleed runs under it, is bare."""
        for depth in np.arange(INSIDE_MM, self._under + 1e-9, _STEP_MM):
            if not self._pile.covers(points - depth * out).all():
                return True
        return False

    def _settled(
        self,
        path: Path,
        along: Floats,
        looks: list[Look],
        ring: NDArray[np.int64],
        spans: tuple[Floats, Floats],
        *,
        flipped: bool,
    ) -> tuple[Floats, list[Look]]:
        """Return the sites with pairs of them close on either side of where the look changes."""
        starts, ends = spans
        following = np.arange(len(along)) + 1
        last = np.flatnonzero(np.append(ring[1:] != ring[:-1], True))
        first = np.concatenate([[0], last[:-1] + 1])
        following[last] = first
        change = np.array([here for here in range(len(along)) if looks[here] != looks[following[here]]], np.int64)
        sites = point_at_length(path, along).points
        if not len(change):
            return sites, looks
        low, high = along[change], along[following[change]]
        size = (ends - starts)[ring[change]]
        high = np.where(high <= low, high + size, high)

        def on_ring(at: Floats) -> Floats:
            start = starts[ring[change]]
            wrapped: Floats = start + np.mod(at - start, size)
            return wrapped

        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            stacks, _, _ = self._beside(path, on_ring(middle), flipped=flipped)
            same = np.array([self._look(stack) == looks[place] for stack, place in zip(stacks, change, strict=True)])
            low, high = np.where(same, middle, low), np.where(same, high, middle)
        at = (low + high) / 2.0
        near = np.zeros(len(along), np.bool_)
        for sites_beside in (change, following[change]):
            gap = np.abs(along[sites_beside] - on_ring(at))
            near[sites_beside[np.minimum(gap, size - gap) < 2.0 * _BESIDE_MM]] = True
        before, after = on_ring(at - _BESIDE_MM), on_ring(at + _BESIDE_MM)
        beside = point_at_length(path, np.concatenate([before, after])).points
        named = [looks[place] for place in change] + [looks[following[place]] for place in change]
        kept = [look for look, gone in zip(looks, near, strict=True) if not gone]
        return np.concatenate([sites[~near], beside]), kept + named

    def _look(self, stack: tuple[int, ...]) -> Look:
        if stack not in self._looks:
            self._looks[stack] = look_of([self._pile.coats[number] for number in stack])
        return self._looks[stack]


def _without_pricks(looks: list[Look], ring: NDArray[np.int64]) -> list[Look]:
    """Return the looks around rings, none of them bare between two that are not: there the line was missed."""
    out = list(looks)
    for number in np.unique(ring).tolist():
        around = np.flatnonzero(ring == number).tolist()
        for before, here, after in zip([around[-1], *around], around, [*around[1:], around[0]], strict=False):
            if not looks[here] and looks[before] and looks[after]:
                out[here] = looks[before]
    return out


def look_of(front_down: Sequence[Coat]) -> Look:
    """Return what coats show together: one flat colour where they are flat and the lowest hides what is under it."""
    layers = [(coat.ink, coat.opacity) for coat in reversed(front_down)]
    if layers and is_opaque(front_down[-1]) and all(isinstance(ink, Colour) for ink, _ in layers):
        mixed = np.zeros(3)
        for ink, opacity in layers:
            assert isinstance(ink, Colour)
            mixed = mixed * (1.0 - opacity) + np.array(ink, np.float64) * opacity
        if is_opaque(front_down[-1]):
            first = layers[0][0]
            assert isinstance(first, Colour)
            flat = first if len(layers) == 1 else Colour(*(int(value) for value in np.rint(mixed)))
            return ((flat, 1.0),)
    return tuple(layers)


def hides(look: Look) -> bool:
    """Whether nothing shows through what is seen at a place."""
    if not look:
        return False
    ink, opacity = look[0]
    return opacity >= 1.0 and (not isinstance(ink, Gradient) or all(stop.opacity >= 1.0 for stop in ink.stops))


def ending(gradient: Gradient, places: Floats) -> Gradient:
    """Return a gradient as it goes on beyond the art: one that runs once across it keeps its last colours.

    A gradient that reflects or repeats beyond its ends, and whose art lies between them, would begin anew just where
    the art ends; told to keep its end colours (`pad`, SVG 2) it goes on without a step.
    """
    if gradient.spread is Spread.PAD or abs(gradient.transform.determinant) < 1e-12:
        return gradient
    own = gradient.transform.inverse().apply(places)
    start, end = np.array(gradient.start), np.array(gradient.end)
    if gradient.kind is GradientKind.LINEAR:
        way = end - start
        at = (own - start) @ way / max(float(way @ way), 1e-12)
    else:
        at = np.hypot(*(own - end).T) / max(gradient.radius, 1e-12)
    once = bool((at > -0.02).all() and (at < 1.02).all())
    return replace(gradient, spread=Spread.PAD) if once else gradient


def lies_in(edge: Edge, other: Edge) -> bool:
    """Whether a line lies inside another."""
    step = max(len(edge.sites) // 32, 1)
    return bool(contains(Region(other.path), edge.sites[::step]).mean() > 0.5)
