"""Path data read straight into the arrays of a `Path`, and written from them.

Grammar and meaning: SVG 2, section 9.3 "Path data". An error ends the path where it stands; what came
before is drawn (section 9.5.4), and the reader tells the operator.

Arcs are written as the standard's A command. That command cannot say the control point of an arc to
the last bit, so the exact arcs may stand beside it (see `exact_arcs`); they are believed only where
they agree with the path data, so that a drawing changed elsewhere is what it looks like.
"""

from __future__ import annotations

import math
import re
from typing import NamedTuple

import numpy as np

from bladewise.formats.svg.values import LARGEST, NUMBER, numbers
from bladewise.geometry.path import EMPTY, Path, PathBuilder, Point, SegmentKind

ARC_AGREEMENT_MM = 1e-6
"""How far an exact arc may lie from what the path data says, in mm, and still be believed."""

_COMMANDS = "MmZzLlHhVvCcSsQqTtAaKk"
_GAP = r"[ \t\r\n\f]*+,?+[ \t\r\n\f]*+"
_UNAMBIGUOUS = r"[-+]?+(?:\d++\.?+\d*+|\.\d++)(?:[eE][-+]?+\d++)?+"
# Possessive throughout: a malformed path of a million digits must not cost more than one look at each.
_VALID = re.compile(rf"(?:[ \t\r\n\f]*+[{_COMMANDS}][ \t\r\n\f]*+(?:{_UNAMBIGUOUS}{_GAP})*+)*+[ \t\r\n\f]*+")
_TOKEN = re.compile(rf"[{_COMMANDS}]|{NUMBER}")
_ARC_RUN = re.compile(rf"([Aa])([^{_COMMANDS}]*)")
_ARC = re.compile(
    "".join(
        rf"({part}){_GAP}"
        for part in (_UNAMBIGUOUS, _UNAMBIGUOUS, _UNAMBIGUOUS, "[01]", "[01]", _UNAMBIGUOUS, _UNAMBIGUOUS)
    )
)
_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "K": 5, "Z": 0}

LINE, QUADRATIC, CUBIC, ARC = (
    int(kind) for kind in (SegmentKind.LINE, SegmentKind.QUADRATIC, SegmentKind.CUBIC, SegmentKind.ARC)
)


class PathData(NamedTuple):
    """A path as it was written, and whether it had to end early."""

    path: Path
    complete: bool


def read_path_data(text: str, *, exact_arcs: str | None = None, tolerance: float = ARC_AGREEMENT_MM) -> PathData:
    """Return the path that path data describes, in its own units.

    Parameters
    ----------
    text
        The attribute `d`.
    exact_arcs
        Control point and weight ("x y w") of each arc, as `write_exact_arcs` gives them; used only
        where every one of them agrees with the arc it belongs to.
    tolerance
        How far they may lie apart, in the units of the path.

    Notes
    -----
    Beside the standard's commands, K x1 y1 w x y draws an arc with a given control point and weight.
    It occurs only in our own attributes, never in `d`.
    """
    complete = True
    if (stop := _valid_until(text)) < len(text):
        text, complete = text[:stop], False
    if "A" in text or "a" in text:
        text, whole = _with_spaced_flags(text)
        complete = complete and whole
    tokens = _TOKEN.findall(text)
    if not tokens:
        return PathData(EMPTY, complete)
    if exact_arcs is not None:
        triples = numbers(exact_arcs)
        pen = _Pen(arcs=triples, tolerance=tolerance)
        if pen.draw(tokens) and pen.arc_place == len(triples):
            return PathData(pen.path(), complete)
    pen = _Pen()
    whole = pen.draw(tokens)
    return PathData(pen.path(), complete and whole)


class _Pen:
    """Draws tokens into the lists that become a path."""

    def __init__(self, *, arcs: list[float] | None = None, tolerance: float = 0.0) -> None:
        self._arcs = arcs
        self._tolerance = tolerance
        self.arc_place = 0
        self._points: list[float] = []
        self._kinds: list[int] = []
        self._weights: dict[int, float] = {}
        self._starts: list[int] = []
        self._closed: list[bool] = []

    def path(self) -> Path:
        """Return what was drawn."""
        if not self._kinds:
            return EMPTY
        weights = np.ones(len(self._kinds))
        if self._weights:
            weights[list(self._weights)] = list(self._weights.values())
        return Path(
            np.array(self._points).reshape(-1, 4, 2),
            np.array(self._kinds, dtype=np.uint8),
            weights,
            np.array(self._starts, dtype=np.int64),
            np.array(self._closed, dtype=np.bool_),
        )

    def draw(self, tokens: list[str]) -> bool:
        """Draw the tokens; false when they had to be left off before the end."""
        points, kinds, starts, closed = self._points, self._kinds, self._starts, self._closed
        extend, append = points.extend, kinds.append
        x = y = start_x = start_y = control_x = control_y = 0.0
        is_open = False
        previous = ""
        place, total = 0, len(tokens)
        if tokens[0] not in "Mm":
            return False
        while place < total:
            command = tokens[place]
            place += 1
            letter = command.upper()
            if letter == "Z":
                if is_open:
                    if x != start_x or y != start_y:
                        extend((x, y, x, y, start_x, start_y, start_x, start_y))
                        append(LINE)
                    closed[-1] = True
                elif previous == "M":  # a dot, which round caps paint
                    starts.append(len(kinds))
                    closed.append(True)
                    extend((x, y, x, y, x, y, x, y))
                    append(LINE)
                x, y, is_open, previous = start_x, start_y, False, "Z"
                continue
            end = place
            while end < total and tokens[end] not in _COMMANDS:
                end += 1
            values = [*map(float, tokens[place:end])]
            place = end
            if values and not (min(values) >= -LARGEST and max(values) <= LARGEST):
                return False
            count = _COUNTS[letter]
            whole = len(values) // count
            relative = command != letter
            for at in range(0, whole * count, count):
                if letter == "M":
                    x, y = (x + values[at], y + values[at + 1]) if relative else (values[at], values[at + 1])
                    start_x, start_y, is_open, previous, letter = x, y, False, "M", "L"
                    continue
                if not is_open:
                    starts.append(len(kinds))
                    closed.append(False)
                    is_open = True
                if letter == "C":
                    x1, y1, x2, y2, x3, y3 = values[at : at + 6]
                    if relative:
                        x1, y1, x2, y2, x3, y3 = x + x1, y + y1, x + x2, y + y2, x + x3, y + y3
                    extend((x, y, x1, y1, x2, y2, x3, y3))
                    append(CUBIC)
                    control_x, control_y = x2, y2
                elif letter == "L":
                    x3, y3 = values[at : at + 2]
                    if relative:
                        x3, y3 = x + x3, y + y3
                    extend((x, y, x, y, x3, y3, x3, y3))
                    append(LINE)
                elif letter == "S":
                    x2, y2, x3, y3 = values[at : at + 4]
                    if relative:
                        x2, y2, x3, y3 = x + x2, y + y2, x + x3, y + y3
                    x1, y1 = (2.0 * x - control_x, 2.0 * y - control_y) if previous in ("C", "S") else (x, y)
                    extend((x, y, x1, y1, x2, y2, x3, y3))
                    append(CUBIC)
                    control_x, control_y = x2, y2
                elif letter == "H" or letter == "V":
                    x3, y3 = x, y
                    if letter == "H":
                        x3 = x + values[at] if relative else values[at]
                    else:
                        y3 = y + values[at] if relative else values[at]
                    extend((x, y, x, y, x3, y3, x3, y3))
                    append(LINE)
                elif letter == "Q" or letter == "T":
                    if letter == "Q":
                        x1, y1, x3, y3 = values[at : at + 4]
                        if relative:
                            x1, y1, x3, y3 = x + x1, y + y1, x + x3, y + y3
                    else:
                        x3, y3 = values[at : at + 2]
                        if relative:
                            x3, y3 = x + x3, y + y3
                        x1, y1 = (2.0 * x - control_x, 2.0 * y - control_y) if previous in ("Q", "T") else (x, y)
                    extend((x, y, x1, y1, x1, y1, x3, y3))
                    append(QUADRATIC)
                    control_x, control_y = x1, y1
                elif letter == "A":
                    rx, ry, angle, large, sweep, x3, y3 = values[at : at + 7]
                    if relative:
                        x3, y3 = x + x3, y + y3
                    if not self._arc((x, y), (rx, ry, angle, large, sweep), (x3, y3)):
                        return False
                else:
                    x1, y1, weight, x3, y3 = values[at : at + 5]
                    extend((x, y, x1, y1, x1, y1, x3, y3))
                    self._weights[len(kinds)] = weight
                    append(ARC)
                x, y, previous = x3, y3, letter
            if is_open and starts[-1] == len(kinds):  # an arc to where the pen was: nothing drawn
                starts.pop()
                closed.pop()
                is_open = False
            if whole * count != len(values) or not values:
                return False
        return True

    def _arc(self, here: Point, shape: tuple[float, float, float, float, float], point: Point) -> bool:
        """Draw an A command; false if an exact arc is at hand and does not agree with it."""
        rx, ry, angle, large, sweep = shape
        pen = PathBuilder()
        pen.move_to(here)
        pen.svg_arc_to(rx, ry, angle, large=bool(large), sweep=bool(sweep), point=point)
        drawn = pen.path()
        if self._arcs is not None:
            exact = self._arcs[self.arc_place : self.arc_place + 3]
            self.arc_place += 3
            if len(exact) < 3 or not _agrees(drawn, here, (exact[0], exact[1]), exact[2], point, self._tolerance):
                return False
            self._points.extend((*here, *exact[:2], *exact[:2], *point))
            self._weights[len(self._kinds)] = exact[2]
            self._kinds.append(ARC)
            return True
        self._points.extend(drawn.points.ravel().tolist())
        for kind, weight in zip(drawn.kinds.tolist(), drawn.weights.tolist(), strict=True):
            if kind == ARC:
                self._weights[len(self._kinds)] = weight
            self._kinds.append(kind)
        return True


def _agrees(drawn: Path, start: Point, control: Point, weight: float, end: Point, tolerance: float) -> bool:
    """Whether an exact arc runs where the A command runs, judged at its middle, where arcs differ most."""
    if not drawn or weight <= 0.0:
        return False
    half = 1.0 + weight
    middle = tuple((s + 2.0 * weight * c + e) / (2.0 * half) for s, c, e in zip(start, control, end, strict=True))
    if len(drawn) == 2:  # a hair more than a quarter turn: the middle is a joint
        seen = tuple(drawn.points[1, 0].tolist())
    elif len(drawn) == 1:
        p0, p1, _, p3 = drawn.points[0].tolist()
        w = float(drawn.weights[0])
        seen = tuple((s + 2.0 * w * c + e) / (2.0 + 2.0 * w) for s, c, e in zip(p0, p1, p3, strict=True))
        if int(drawn.kinds[0]) == LINE:
            seen = tuple((s + e) / 2.0 for s, e in zip(p0, p3, strict=True))
    else:
        return False
    return math.hypot(seen[0] - middle[0], seen[1] - middle[1]) <= tolerance


def _valid_until(text: str) -> int:
    match = _VALID.match(text)
    return match.end() if match else 0


def _with_spaced_flags(text: str) -> tuple[str, bool]:
    """Return path data with the arcs' numbers apart ("a1 1 0 0110 0" may run its flags together)."""
    pieces: list[str] = []
    place = 0
    for run in _ARC_RUN.finditer(text):
        pieces.append(text[place : run.start()])
        place = run.end()
        body, at = run.group(2).strip(), 0
        found = []
        while at < len(body) and (arc := _ARC.match(body, at)):
            found.append(" ".join(arc.groups()))
            at = arc.end()
        pieces.append(run.group(1) + " ".join(found))
        if at < len(body) or not found:
            return "".join(pieces) if found else "".join(pieces[:-1]), False
    pieces.append(text[place:])
    return "".join(pieces), True


def decimal(value: float) -> str:
    """Return the shortest text that reads back as the same number: "12", "0.1", "1e-07"."""
    text = repr(value + 0.0)
    return text.removesuffix(".0")


def write_path_data(path: Path, *, arcs_as_cubics: bool = False) -> str:
    """Return the attribute `d` of a path; every control point of lines and curves reads back to the same bits.

    Arcs of ellipses millions of times longer than wide are beyond the A command; `arcs_as_cubics` shows
    them as curves, at most 3 parts in 10,000 off (the usual cubic of a conic, factor 4w / 3(1 + w)).
    """
    parts: list[str] = []
    points, kinds, weights = path.points.tolist(), path.kinds.tolist(), path.weights.tolist()
    for start, end, closed in zip(path.starts.tolist(), path.ends.tolist(), path.closed.tolist(), strict=True):
        parts.append(f"M{_pair(points[start][0])}")
        for index in range(start, end):
            p0, p1, p2, p3 = points[index]
            kind = kinds[index]
            if kind == LINE:
                if not (closed and index == end - 1 and index > start and p0 != p3):  # Z draws that line
                    parts.append(f"L{_pair(p3)}")
            elif kind == CUBIC:
                parts.append(f"C{_pair(p1)} {_pair(p2)} {_pair(p3)}")
            elif kind == QUADRATIC:
                parts.append(f"Q{_pair(p1)} {_pair(p3)}")
            elif arcs_as_cubics:
                pull = 4.0 * weights[index] / (3.0 * (1.0 + weights[index]))
                inner = [[end + pull * (c - end) for end, c in zip(at, p1, strict=True)] for at in (p0, p3)]
                parts.append(f"C{_pair(inner[0])} {_pair(inner[1])} {_pair(p3)}")
            else:
                parts.append(f"A{_arc_arguments(p0, p1, p3, weights[index])} {_pair(p3)}")
        if closed:
            parts.append("Z")
    return "".join(parts)


def write_exact_arcs(path: Path) -> str:
    """Return control point and weight of each arc, for `read_path_data`; nothing where there is no arc."""
    arcs = np.flatnonzero(path.kinds == SegmentKind.ARC)
    return " ".join(
        f"{_pair(control)} {decimal(weight)}"
        for control, weight in zip(path.points[arcs, 1].tolist(), path.weights[arcs].tolist(), strict=True)
    )


def write_exact_path(path: Path) -> str:
    """Return a path in our own form, arcs as K commands; for our own attributes, where `d` cannot be exact."""
    parts: list[str] = []
    points, kinds, weights = path.points.tolist(), path.kinds.tolist(), path.weights.tolist()
    letters = {LINE: "L", CUBIC: "C", QUADRATIC: "Q", ARC: "K"}
    for start, end, closed in zip(path.starts.tolist(), path.ends.tolist(), path.closed.tolist(), strict=True):
        parts.append(f"M{_pair(points[start][0])}")
        for index in range(start, end):
            _, p1, p2, p3 = points[index]
            kind = kinds[index]
            between = [p1, p2] if kind == CUBIC else [] if kind == LINE else [p1]
            words = [_pair(point) for point in between]
            if kind == ARC:
                words.append(decimal(weights[index]))
            parts.append(letters[kind] + " ".join([*words, _pair(p3)]))
        if closed:
            parts.append("Z")
    return "".join(parts)


def _pair(point: list[float]) -> str:
    return f"{decimal(point[0])} {decimal(point[1])}"


def _arc_arguments(start: list[float], control: list[float], end: list[float], weight: float) -> str:
    """Return "rx ry rotation 0 sweep" of the ellipse a rational quadratic lies on.

    With p = (start + end)/2 the curve is centre + u·cos + v·sin for two conjugate half-diameters u, v:
    v = (end − start)/(2·sin h) and u = (control − p)·cos h/sin²h, where cos h is the weight. The
    half-axes are the singular values of the matrix [u v] (C. F. Gauss's normal form of an ellipse).
    """
    sin_squared = 1.0 - weight * weight
    degenerate = "0 0 0 0 0"
    if not 0.0 < sin_squared < 1.0:
        return degenerate
    sin = math.sqrt(sin_squared)
    vx, vy = (end[0] - start[0]) / (2.0 * sin), (end[1] - start[1]) / (2.0 * sin)
    lift = weight / sin_squared
    ux, uy = (control[0] - (start[0] + end[0]) / 2.0) * lift, (control[1] - (start[1] + end[1]) / 2.0) * lift
    turn = ux * vy - uy * vx
    size = max(abs(ux), abs(uy), abs(vx), abs(vy))
    if size == 0.0 or abs(turn) < 1e-12 * size * size:
        return degenerate
    # Eigenvalues of [u v][u v]ᵀ: the squares of the half-axes.
    xx, xy, yy = ux * ux + vx * vx, ux * uy + vx * vy, uy * uy + vy * vy
    mean, spread = (xx + yy) / 2.0, math.hypot((xx - yy) / 2.0, xy)
    major = math.sqrt(mean + spread)
    minor = abs(turn) / major
    if spread < 1e-12 * mean:
        radius = math.sqrt(abs(turn))
        return f"{decimal(radius)} {decimal(radius)} 0 0 {int(turn > 0.0)}"
    angle = math.degrees(0.5 * math.atan2(2.0 * xy, xx - yy))
    return f"{decimal(major)} {decimal(minor)} {decimal(angle)} 0 {int(turn > 0.0)}"
