"""Files written whole or not at all.

The new contents go into a file beside the old one, are pushed to the disk, and then take its name in
one move of the file system. Until that move the old file is untouched.
"""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path as FilePath

from bladewise.errors import CannotWrite
from bladewise.phrases import phrase


def write_atomically(path: FilePath, data: bytes) -> None:
    """Write a file so that either all of it is there or the old one still is.

    Raises
    ------
    CannotWrite
        If the folder is missing, full or not writable.
    """
    path = FilePath(path)
    if path.is_symlink():  # keep the link, replace what it points to
        path = path.resolve()
    temporary: str | None = None
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{path.name[:40]}.", suffix=".part", dir=path.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        FilePath(temporary).chmod(_mode(path))
        FilePath(temporary).replace(path)
    except OSError as error:
        if temporary is not None:
            with contextlib.suppress(OSError):
                FilePath(temporary).unlink()
        raise CannotWrite(
            phrase("The file could not be written: {strerror}.", strerror=error.strerror or error),
            where=path.name,
            hint=_hint(path),
        ) from None
    _push_folder(path.parent)


def _mode(path: FilePath) -> int:
    """Return the rights the file shall have: those of the old one, else what the system gives new files."""
    try:
        return path.stat().st_mode & 0o7777
    except OSError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask


def _hint(path: FilePath) -> str:
    if not path.parent.is_dir():
        return "The folder is not there; choose another or make it first."
    if path.is_dir():
        return "There is a folder of that name; choose another name."
    return "Check that the folder may be written to and that the disk is not full; the old file is as it was."


def _push_folder(folder: FilePath) -> None:
    """Make the new name last through a power cut, where the system allows it."""
    if os.name != "posix":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def make_folder(folder: FilePath) -> None:
    """Make a folder, and those above it, if it is not there.

    Raises
    ------
    CannotWrite
        If it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CannotWrite(
            phrase("The folder could not be made: {strerror}.", strerror=error.strerror or error),
            where=folder.name,
            hint="Choose another folder.",
        ) from None
