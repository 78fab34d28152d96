"""The destinations an operator keeps: one file each, in one folder that window and command line share."""

from __future__ import annotations

import os
import sys
from pathlib import Path as FilePath

from bladewise.errors import CannotRead, CannotWrite
from bladewise.formats.atomic import make_folder, write_atomically
from bladewise.formats.destinations import Destination, destination_text, read_destination
from bladewise.formats.file_names import file_name
from bladewise.formats.toml_words import nearest
from bladewise.phrases import phrase

FOLDER_VARIABLE = "BLADEWISE_DESTINATIONS"
"""The environment's word for where the kept destinations lie, in place of the system's usual folder."""


def keep_destination(destination: Destination, folder: FilePath) -> FilePath:
    """Write a destination into a folder under its own name, in place of one of that name; return its path.

    Raises
    ------
    CannotWrite
        If the file could not be written; what stood there before still stands.
    """
    make_folder(folder)
    path = folder / f"{file_name(destination.name, fallback='destination')}.toml"
    write_atomically(path, destination_text(destination).encode("utf-8"))
    return path


def kept_destinations(folder: FilePath) -> tuple[list[Destination], list[CannotRead]]:
    """Return the destinations kept in a folder by name, and what is wrong with those that could not be read."""
    found, troubles = [], []
    for path in sorted(folder.glob("*.toml")):
        try:
            found.append(read_destination(path))
        except CannotRead as trouble:
            troubles.append(trouble)
    return sorted(found, key=lambda each: each.name.casefold()), troubles


def destinations_folder() -> FilePath:
    """Return the folder of the operator's destinations; it need not be there yet.

    The system's folder for the settings of programs: XDG Base Directory on Linux and others, Application Support
    on macOS, the roaming application data on Windows; or the one that the environment names (`FOLDER_VARIABLE`).
    """
    if told := os.environ.get(FOLDER_VARIABLE):
        return FilePath(told)
    if sys.platform == "win32":
        base = FilePath(os.environ.get("APPDATA") or FilePath.home() / "AppData" / "Roaming")
    elif sys.platform == "darwin":
        base = FilePath.home() / "Library" / "Application Support"
    else:
        base = FilePath(os.environ.get("XDG_CONFIG_HOME") or FilePath.home() / ".config")
    return base / "Bladewise" / "destinations"


def find_destination(word: str, folder: FilePath | None = None) -> Destination:
    """Return a destination by the name it is kept under, or by the path of its file.

    Parameters
    ----------
    word
        A name, whatever its case, or a path that ends in .toml or is there.
    folder
        Where the kept ones lie; the operator's own folder if left out.

    Raises
    ------
    CannotRead
        If there is none of that name, or it cannot be read.
    """
    path = FilePath(word)
    if path.suffix.lower() == ".toml" or path.is_file():
        return read_destination(path)
    kept, troubles = kept_destinations(folder if folder is not None else destinations_folder())
    found = next((one for one in kept if one.name == word), None)
    found = found or next((one for one in kept if one.name.casefold() == word.casefold()), None)
    if found is not None:
        return found
    for trouble in troubles:
        if trouble.where.casefold().startswith(f"{word.casefold()}.toml"):
            raise trouble
    if not kept:
        hint = "None are kept yet: give the path of a destination's file."
    else:
        hint = nearest(word, [one.name for one in kept])
    raise CannotRead(phrase("There is no destination “{name}”.", name=word), hint=hint)


def drop_destination(name: str, folder: FilePath) -> None:
    """Take the destinations of a name out of a folder; none of that name is none to take out.

    Raises
    ------
    CannotWrite
        If a file could not be removed.
    """
    for path in sorted(folder.glob("*.toml")):
        try:
            if read_destination(path).name != name:
                continue
            path.unlink()
        except CannotRead:
            continue
        except OSError as error:
            raise CannotWrite(
                phrase("The destination could not be removed: {strerror}.", strerror=error.strerror or error),
                where=path.name,
                hint="Check that its folder may be written to.",
            ) from None
