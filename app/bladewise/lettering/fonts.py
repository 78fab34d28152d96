"""Finding font files: those shipped with the program, the system's, and folders named by a job.

A face is chosen by family, weight and italic as CSS Fonts 4 chooses (section 5.2, nearest weight first
on the heavier or lighter side); if the family is not to be had, the program's own sans stands in and
the face says so.
"""

from __future__ import annotations

import os
import struct
import sys
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path as FilePath
from typing import TYPE_CHECKING

from fontTools.ttLib import TTCollection, TTFont, TTLibError

if TYPE_CHECKING:
    from collections.abc import Iterator

_SUFFIXES = {".ttf", ".otf", ".ttc", ".otc", ".woff", ".woff2"}
BROKEN = (
    TTLibError,
    OSError,
    LookupError,
    AssertionError,
    ValueError,
    AttributeError,
    TypeError,
    struct.error,
)
"""What reading a damaged font file raises; it is as good as none."""

_SHIPPED = FilePath(__file__).parent / "shipped"
_folders: list[FilePath] = []


@dataclass(frozen=True, slots=True)
class Face:
    """One face of a font file; `substitute` when it stands in for a family that is not to be had."""

    file: FilePath
    index: int
    family: str
    weight: int
    italic: bool
    substitute: bool = False


def search_also(folder: FilePath) -> None:
    """Look for fonts in a job's own folder too."""
    folder = folder.resolve()
    if folder.is_dir() and folder not in _folders:
        _folders.append(folder)
        _own_faces.cache_clear()


def families() -> list[str]:
    """Return the names of all families to be had, sorted."""
    return sorted({face.family for face in _all_faces()}, key=str.casefold)


def faces_of(family: str) -> list[Face]:
    """Return the faces of a family, upright ones first, each from light to heavy; one for each weight."""
    found: dict[tuple[bool, int], Face] = {}
    for face in _all_faces():
        if face.family.casefold() == family.casefold():
            found.setdefault((face.italic, face.weight), face)
    return [found[key] for key in sorted(found)]


def find_face(family: str, weight: int = 400, *, italic: bool = False) -> Face | None:
    """Return the nearest face of a family, or one that stands in; None only where no font exists at all.

    `family` may be a CSS list ("Pacifico, cursive"); the first that exists is taken.
    """
    wanted = [name.strip().strip("\"'").casefold() for name in family.split(",") if name.strip()]
    for faces in (_own_faces(), _system_faces()) if wanted else ():
        for name in wanted:
            if matching := [face for face in faces if face.family.casefold() == name]:
                return min(matching, key=lambda face: _distance(face, weight, italic=italic))
    shipped = [face for face in _own_faces() if face.file.is_relative_to(_SHIPPED)]
    stand_ins = shipped or list(_own_faces()) or list(_system_faces())
    if not stand_ins:
        return None
    best = min(stand_ins, key=lambda face: _distance(face, weight, italic=italic))
    return Face(best.file, best.index, best.family, best.weight, best.italic, substitute=bool(wanted))


def _distance(face: Face, weight: int, *, italic: bool) -> tuple[bool, float]:
    gap = face.weight - weight
    wrong_side = (gap < 0) if weight > 450 else (gap > 0)
    return face.italic != italic, abs(gap) + (0.5 if wrong_side else 0.0)


def _all_faces() -> Iterator[Face]:
    yield from _own_faces()
    yield from _system_faces()


@lru_cache(maxsize=1)
def _own_faces() -> tuple[Face, ...]:
    return tuple(face for folder in (_SHIPPED, *_folders) for face in _faces_in(folder))


@lru_cache(maxsize=1)
def _system_faces() -> tuple[Face, ...]:
    return tuple(face for folder in _system_folders() for face in _faces_in(folder))


def _system_folders() -> list[FilePath]:
    home = FilePath.home()
    if sys.platform == "win32":
        windows = FilePath(os.environ.get("WINDIR", "C:/Windows"))
        return [windows / "Fonts", home / "AppData/Local/Microsoft/Windows/Fonts"]
    if sys.platform == "darwin":
        return [FilePath("/System/Library/Fonts"), FilePath("/Library/Fonts"), home / "Library/Fonts"]
    data = FilePath(os.environ.get("XDG_DATA_HOME", home / ".local/share"))
    return [FilePath("/usr/share/fonts"), FilePath("/usr/local/share/fonts"), data / "fonts", home / ".fonts"]


def _faces_in(folder: FilePath) -> Iterator[Face]:
    if not folder.is_dir():
        return
    for file in sorted(folder.rglob("*")):
        if file.suffix.lower() in _SUFFIXES and file.is_file():
            yield from _faces_of(file)


@lru_cache(maxsize=4096)
def _faces_of(file: FilePath) -> tuple[Face, ...]:
    try:
        with file.open("rb") as stream:
            if file.suffix.lower() in (".ttc", ".otc"):
                with TTCollection(stream, lazy=True) as collection:
                    return tuple(_described(file, index, font) for index, font in enumerate(collection.fonts))
            with TTFont(stream, lazy=True) as font:
                return (_described(file, 0, font),)
    except BROKEN:
        return ()  # a broken font file is as good as none


def _described(file: FilePath, index: int, font: TTFont) -> Face:
    names = font["name"]
    family = names.getDebugName(16) or names.getDebugName(1) or file.stem
    os2 = font.get("OS/2")
    weight = int(os2.usWeightClass) if os2 is not None else 400
    italic = bool(os2.fsSelection & 1) if os2 is not None else bool(font["head"].macStyle & 2)
    return Face(file, index, family, weight, italic)
