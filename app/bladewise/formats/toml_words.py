"""What the files of a few settings share: values as TOML, the line a word stands in, the nearest right word."""

from __future__ import annotations

import difflib
import re
import tomllib
from typing import TYPE_CHECKING, Any

from bladewise.errors import CannotRead
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path as FilePath

_LARGEST = 1_000_000


def read_table(path: FilePath, hint: str) -> tuple[dict[str, Any], str]:
    """Return a TOML file as a table, and its text.

    Parameters
    ----------
    path
        The file.
    hint
        Where to find what such a file looks like.

    Raises
    ------
    CannotRead
        If there is no such file, it is no text, too large, or no TOML; then with its line.
    """
    try:
        if path.stat().st_size > _LARGEST:
            raise CannotRead("This file is far too large for settings.", where=path.name, hint=hint)
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise CannotRead("There is no such file.", where=str(path), hint="Check the name.") from None
    except (OSError, UnicodeDecodeError):
        what = "The file could not be read: it is no text file, or not open to you."
        raise CannotRead(what, where=path.name, hint="Check the file.") from None
    try:
        return tomllib.loads(text), text
    except tomllib.TOMLDecodeError as error:
        line = re.search(r"line (\d+)", str(error))
        where = f"{path.name}, line {line.group(1)}" if line else path.name
        what = phrase("This is not TOML: {sub}.", sub=re.sub(r" [(]at .*[)]$", "", str(error)))
        raise CannotRead(what, where=where, hint=hint) from None


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the nearest right word as a question, or all there are."""
    known = tuple(known)
    near = difflib.get_close_matches(word, known, n=3, cutoff=0.5)
    near.sort(key=lambda each: each[:1] != word[:1])  # of words as near, the one that begins alike
    if near:
        return phrase("Did you mean “{word}”?", word=near[0])
    return phrase("It takes: {words}.", words=", ".join(known))


def line_of(path: FilePath, text: str, key: str) -> str:
    """Return file and line of a key, or of a table's head; the file's first line if it is nowhere."""
    word = rf"[\"']?{re.escape(key)}[\"']?"
    pattern = re.compile(rf"^\s*(\[\s*)?{word}\s*[=\]]")
    for number, line in enumerate(text.splitlines(), start=1):
        if pattern.search(line):
            return f"{path.name}, line {number}"
    return f"{path.name}, line 1"


def as_toml(value: object) -> str:
    """Return a text, a number, or true or false as TOML."""
    match value:
        case bool():
            return "true" if value else "false"
        case int() | float():
            return repr(value)
        case _:
            escaped = str(value).replace("\\", "\\\\").replace('"', '\\"')
            return '"' + "".join(each if each.isprintable() else f"\\U{ord(each):08x}" for each in escaped) + '"'
