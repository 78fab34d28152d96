"""Files written whole or not at all.

The new contents go into a file beside the old one, are pushed to the disk, and then take its name in
one move of the file system. Until that move the old file is untouched.
"""

from __future__ import annotations

import contextlib
import errno
import os
import tempfile
from pathlib import Path as FilePath
from typing import TYPE_CHECKING

from bladewise.errors import CannotWrite
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Sequence

_HELD_OPEN = (32, 33)
"""Windows' words for a file that is in use: sharing violation, lock violation (System Error Codes; from memory)."""


def write_atomically(path: FilePath, data: bytes) -> None:
    """Write a file so that either all of it is there or the old one still is.

    Raises
    ------
    CannotWrite
        If the folder is missing, full or not writable.
    """
    write_together([(FilePath(path), data)])


def write_together(files: Sequence[tuple[FilePath, bytes]]) -> None:
    """Write several files so that none takes its name before all of them are on the disk.

    Raises
    ------
    CannotWrite
        If one of them cannot be written; then no old file is changed, but where the system refuses to let go
        of a name at the very last (a file that another program holds open).
    """
    waiting: list[tuple[str, FilePath]] = []
    path = FilePath()
    try:
        for path, data in files:
            target = path.resolve() if path.is_symlink() else path  # keep the link, replace what it points to
            if target.is_dir():  # said before anything is written: the move would fail, the others be done
                raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
            handle, temporary = tempfile.mkstemp(prefix=f".{target.name[:40]}.", suffix=".part", dir=target.parent)
            waiting.append((temporary, target))
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            FilePath(temporary).chmod(_mode(target))
        while waiting:
            temporary, path = waiting[0]
            FilePath(temporary).replace(path)
            waiting.pop(0)
    except OSError as error:
        raise CannotWrite(
            phrase("The file could not be written: {strerror}.", strerror=error.strerror or error),
            where=path.name,
            hint=_hint(path, error),
        ) from None
    finally:
        for temporary, _ in waiting:
            with contextlib.suppress(OSError):
                FilePath(temporary).unlink()
    for folder in {path.parent for path, _ in files}:
        _push_folder(folder)


def _mode(path: FilePath) -> int:
    """Return the rights the file shall have: those of the old one, else what the system gives new files."""
    try:
        return path.stat().st_mode & 0o7777
    except OSError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask


def _hint(path: FilePath, error: OSError) -> str:
    if error.errno in (errno.ENAMETOOLONG, errno.EINVAL, errno.EILSEQ):
        return "Give it a shorter name without special signs; the old file is as it was."
    if not path.parent.is_dir():
        return "The folder is not there; choose another or make it first."
    if path.is_dir():
        return "There is a folder of that name; choose another name."
    if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return "Make room on the disk, or choose another; the old file is as it was."
    if error.errno in (errno.EBUSY, errno.ETXTBSY) or getattr(error, "winerror", None) in _HELD_OPEN:
        return "Another program holds the file open: close it there; the old file is as it was."
    if error.errno == errno.EROFS:
        return "This disk can only be read; choose another folder."
    if error.errno in (errno.EACCES, errno.EPERM):
        return (
            "You may not write there, or another program holds the file open: choose another folder, or close it; "
            "the old file is as it was."
        )
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


def _file_in_the_way(folder: FilePath) -> FilePath | None:
    """Return the file that has the name of a folder, or of one above it; None where there is none."""
    return next((each for each in (folder, *folder.parents) if each.exists() and not each.is_dir()), None)


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
        if (file := _file_in_the_way(folder)) is not None:
            raise CannotWrite(
                phrase("There is a file named “{name}”, so no folder can have that name.", name=file.name),
                where=folder.name,
                hint="Choose another folder.",
            ) from None
        raise CannotWrite(
            phrase("The folder could not be made: {strerror}.", strerror=error.strerror or error),
            where=folder.name,
            hint="Choose another folder.",
        ) from None
