"""The text of a list that somebody saved: UTF-8, UTF-16 or the old encoding of Windows, found out by looking."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.errors import CannotRead
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from pathlib import Path as FilePath

_LARGEST = 50_000_000
_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
_BOXES = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF")


def read_list(path: FilePath) -> str:
    """Return the text of a list.

    Raises
    ------
    CannotRead
        If the file is missing, too large, or no text.
    """
    try:
        size = path.stat().st_size
        data = path.read_bytes() if size <= _LARGEST else b""
    except OSError as error:
        what = phrase("The list cannot be read: {reason}.", reason=error.strerror or str(error))
        raise CannotRead(what, where=path.name, hint="Check the name and the folder.") from error
    if size > _LARGEST:
        raise CannotRead("The list is larger than 50 MB.", where=path.name, hint="Take it in parts.")
    if data.startswith(_BOXES):
        what = "This is a spreadsheet or a document, not a list as text."
        raise CannotRead(what, where=path.name, hint="Save it as CSV, or copy the cells and paste them.")
    return decoded(data)


def decoded(data: bytes) -> str:
    """Return the text of bytes: by their mark, as UTF-16 if every other byte is nothing, as UTF-8, as Windows-1252."""
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return data.decode(encoding, errors="replace")
    head = data[:2000]
    if len(head) >= 4 and not len(head) % 2:
        even, odd = head[::2].count(0), head[1::2].count(0)
        if max(even, odd) > 0.3 * len(head) / 2:
            return data.decode("utf-16-le" if odd > even else "utf-16-be", errors="replace")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")
