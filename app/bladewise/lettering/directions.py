"""Which way each stretch of a line is read, and in which script, for shaping and for placing.

The implicit part of the Unicode Bidirectional Algorithm (UAX #9, revision 50: rules P2–P3, W1–W7, N0 for
the brackets of ASCII, N1–N2, I1–I2, L1, L2). Explicit embeddings and isolates, which nobody types on a
sign, count as blanks. A stretch for HarfBuzz has one direction and one script.
"""

from __future__ import annotations

import itertools
import unicodedata
from typing import NamedTuple

from fontTools import unicodedata as scripts

_PAIRS = {")": "(", "]": "[", "}": "{"}
_NEUTRAL = frozenset({"B", "S", "WS", "ON", "BN", "LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"})
_UNSETTLED = frozenset({"Zyyy", "Zinh", "Zzzz"})


class Stretch(NamedTuple):
    """Letters that are shaped at once: from `start` up to `end` of the line, read leftward if so."""

    start: int
    end: int
    script: str
    leftward: bool


def stretches(text: str) -> list[Stretch]:
    """Return the stretches of a line in the order in which they stand from left to right."""
    if not text:
        return []
    level, script = levels(text), _scripts(text)
    cuts = [0, *(k for k in range(1, len(text)) if level[k] != level[k - 1] or script[k] != script[k - 1]), len(text)]
    found = [
        (level[start], Stretch(start, end, script[start], level[start] % 2 == 1))
        for start, end in itertools.pairwise(cuts)
    ]
    for least in range(max(depth for depth, _ in found), 0, -1):  # L2
        place = 0
        while place < len(found):
            stop = place
            while stop < len(found) and found[stop][0] >= least:
                stop += 1
            found[place:stop] = found[place:stop][::-1]
            place = max(stop, place + 1)
    return [stretch for _, stretch in found]


def is_leftward(text: str) -> bool:
    """Whether a line as a whole is read from right to left: by its first letter that has a direction (P2, P3)."""
    for letter in text:
        kind = unicodedata.bidirectional(letter)
        if kind in ("L", "R", "AL"):
            return kind != "L"
    return False


def levels(text: str) -> list[int]:
    """Return the embedding level of each character of a line; odd ones are read leftward."""
    base = int(is_leftward(text))
    edge = "R" if base else "L"
    kinds = [unicodedata.bidirectional(letter) or "L" for letter in text]
    _weak(kinds, edge)
    _brackets(text, kinds, edge)
    _neutral(kinds, edge)
    result = []
    for kind in kinds:  # I1, I2
        if base == 0:
            result.append({"L": 0, "R": 1}.get(kind, 2))
        else:
            result.append(1 if kind == "R" else 2)
    place = len(text)  # L1: blanks at the end lie on the line's own level
    while place and unicodedata.bidirectional(text[place - 1]) in ("WS", "B", "S", "BN"):
        place -= 1
        result[place] = base
    return result


def _weak(kinds: list[str], edge: str) -> None:
    """Rules W1 to W7, in place."""
    strong, before = edge, edge
    for k, kind in enumerate(kinds):
        if kind == "NSM":
            kinds[k] = kind = before
        if kind == "EN" and strong == "AL":
            kinds[k] = "AN"
        if kind in ("L", "R", "AL"):
            strong = kind
        before = kinds[k]
    kinds[:] = ["R" if kind == "AL" else kind for kind in kinds]
    for k in range(1, len(kinds) - 1):
        one, other = kinds[k - 1], kinds[k + 1]
        if one == other and ((kinds[k] == "ES" and one == "EN") or (kinds[k] == "CS" and one in ("EN", "AN"))):
            kinds[k] = one
    for k, kind in enumerate(kinds):
        if kind == "EN":
            for way in (-1, 1):
                at = k + way
                while 0 <= at < len(kinds) and kinds[at] in ("ET", "BN"):
                    kinds[at] = "EN"
                    at += way
    strong = edge
    for k, kind in enumerate(kinds):
        if kind in ("ES", "ET", "CS"):
            kinds[k] = "ON"
        elif kind == "EN" and strong == "L":
            kinds[k] = "L"
        elif kind in ("L", "R"):
            strong = kind


def _brackets(text: str, kinds: list[str], edge: str) -> None:
    """Rule N0 for pairs of ( ), [ ], { }, in place."""
    opened: list[tuple[str, int]] = []
    pairs = []
    for k, letter in enumerate(text):
        if kinds[k] != "ON":
            continue
        if letter in _PAIRS.values():
            opened.append((letter, k))
        elif letter in _PAIRS:
            match = next((n for n in range(len(opened) - 1, -1, -1) if opened[n][0] == _PAIRS[letter]), None)
            if match is not None:
                pairs.append((opened[match][1], k))
                del opened[match:]
    for start, end in sorted(pairs):
        inside = {_strong(kind) for kind in kinds[start + 1 : end]} - {""}
        if edge in inside:
            kinds[start] = kinds[end] = edge
        elif inside:
            before = next((_strong(kind) for kind in reversed(kinds[:start]) if _strong(kind)), edge)
            kinds[start] = kinds[end] = before if before in inside else edge


def _neutral(kinds: list[str], edge: str) -> None:
    """Rules N1 and N2, in place."""
    k = 0
    while k < len(kinds):
        if kinds[k] not in _NEUTRAL:
            k += 1
            continue
        stop = k
        while stop < len(kinds) and kinds[stop] in _NEUTRAL:
            stop += 1
        before = _strong(kinds[k - 1]) if k else edge
        after = _strong(kinds[stop]) if stop < len(kinds) else edge
        kinds[k:stop] = [before if before == after else edge] * (stop - k)
        k = stop


def _strong(kind: str) -> str:
    """Return the direction a resolved kind stands for among neutrals; numbers count as leftward."""
    if kind == "L":
        return "L"
    return "R" if kind in ("R", "EN", "AN") else ""


def _scripts(text: str) -> list[str]:
    """Return the script of each character; what has none of its own takes that of the letter before, or after."""
    found = [scripts.script(letter) for letter in text]
    for order in (range(len(found)), range(len(found) - 1, -1, -1)):
        near = ""
        for k in order:
            if found[k] in _UNSETTLED:
                found[k] = near or found[k]
            else:
                near = found[k]
    return [script if script not in _UNSETTLED else "Latn" for script in found]
