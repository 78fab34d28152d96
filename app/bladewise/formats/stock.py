"""The shop's own stock of vinyls and prints: a TOML file kept between jobs, one table a material.

    [[material]]
    name = "Signal red"
    colour = "#cc3311"
    roll_width_mm = 630
    price_a_m2 = 8.4

Format: TOML 1.0; keys in `document.stock`. Written whole or not at all.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.document.stock import KEYS, material_of, values_of
from bladewise.errors import CannotRead
from bladewise.formats.atomic import make_folder, write_atomically
from bladewise.formats.toml_words import as_toml, line_of, nearest, read_table
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path as FilePath

    from bladewise.document import Material

_HINT = "A stock is a list of [[material]], each with a name and a colour."
_MOST = 5_000


def read_stock(path: FilePath) -> tuple[Material, ...]:
    """Return the materials of a stock file, in the order in which they stand.

    Raises
    ------
    CannotRead
        If it is missing, no TOML, or says something that cannot be; with the line.
    """
    table, text = read_table(path, _HINT)
    for key in table:
        if key != "material":
            raise CannotRead(
                phrase("A stock has no “{key}”. {nearest}", key=key, nearest=nearest(key, ("material",))),
                where=line_of(path, text, key),
                hint=_HINT,
            )
    entries = table.get("material", [])
    if not isinstance(entries, list) or not all(isinstance(each, dict) for each in entries):
        raise CannotRead("“material” is no list of materials here.", where=path.name, hint=_HINT)
    if len(entries) > _MOST:
        raise CannotRead(phrase("More than {most} materials.", most=_MOST), where=path.name, hint=_HINT)
    heads = [number for number, line in enumerate(text.splitlines(), 1) if line.strip().startswith("[[material")]
    found: dict[str, Material] = {}
    for number, entry in enumerate(entries):
        where = f"{path.name}, line {heads[number]}" if number < len(heads) else path.name
        wrong = next((key for key in entry if key not in KEYS), None)
        if wrong is not None:
            what = phrase("A material has no “{key}”. {nearest}", key=wrong, nearest=nearest(wrong, KEYS))
            raise CannotRead(what, where=where, hint=_HINT)
        try:
            material = material_of(entry)
        except ValueError as error:
            raise CannotRead(error.args[0] if error.args else "", where=where, hint=_HINT) from None
        if material.name in found:
            raise CannotRead(
                phrase("“{name}” stands there twice.", name=material.name), where=where, hint="Give one another name."
            )
        found[material.name] = material
    return tuple(found.values())


def write_stock(path: FilePath, materials: Iterable[Material]) -> None:
    """Write a stock file, whole or not at all.

    Raises
    ------
    CannotWrite
        If the folder cannot be written to.
    """
    blocks = ["# The shop's stock of vinyls and prints, kept by Bladewise.\n"]
    for material in materials:
        lines = [f"{key} = {as_toml(value)}" for key, value in values_of(material).items()]
        blocks.append("\n".join(["[[material]]", *lines]) + "\n")
    make_folder(path.parent)
    write_atomically(path, "\n".join(blocks).encode("utf-8"))
