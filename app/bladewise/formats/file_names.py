"""File names from the names people give to jobs and materials, safe on every system, each used once."""

from __future__ import annotations

import re
import unicodedata

LONGEST = 80
"""Characters; systems allow 255 bytes for name and ending together."""
LONGEST_BYTES = 110
"""In UTF-8, where a letter may take four: the names of job and material stand side by side in one file's name."""
_FORBIDDEN = re.compile(r'[<>:"/\\|?*#%\x00-\x1f\x7f]+')
_RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)  # device names on Windows


def file_name(text: str, *, fallback: str = "job") -> str:
    """Return a name as the stem of a file name.

    Examples
    --------
    >>> file_name("Puddlewick: cart / left side?")
    'Puddlewick cart left side'
    """
    text = unicodedata.normalize("NFC", text)
    text = "".join(" " if unicodedata.category(letter) in ("Cc", "Cf", "Cs", "Co", "Cn") else letter for letter in text)
    text = " ".join(_FORBIDDEN.sub(" ", text).split())[:LONGEST]
    text = text.encode("utf-8")[:LONGEST_BYTES].decode("utf-8", errors="ignore").strip(" .-")
    if not text:
        return fallback
    return f"{text}_" if _RESERVED.fullmatch(text) else text


def unique(stem: str, taken: set[str]) -> str:
    """Return the stem, numbered if a name that differs only in case is taken; it is taken from then on."""
    made, number = stem, 2
    while made.casefold() in taken:
        made, number = f"{stem} {number}", number + 1
    taken.add(made.casefold())
    return made
