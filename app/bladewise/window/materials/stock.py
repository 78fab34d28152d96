"""The shop's own stock, kept between jobs in a file beside the operator's preferences."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from bladewise.errors import BladewiseError
from bladewise.formats.stock import read_stock, write_stock

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from bladewise.document import Material

FILE = "stock.toml"


class Stock(QObject):
    """The materials on hand; every change is written at once, whole or not at all."""

    changed = Signal()

    def __init__(self, path: Path, parent: QObject | None = None) -> None:
        """Read the file, if there is one; one that is wrong is left as it is and nothing is written over it."""
        super().__init__(parent)
        self.path = path
        self.materials: tuple[Material, ...] = ()
        self.trouble: BladewiseError | None = None
        self.read()

    def read(self) -> None:
        """Read the file again."""
        self.trouble = None
        try:
            found = read_stock(self.path) if self.path.exists() else ()
            self.materials = tuple(self._named(each) for each in found)
        except BladewiseError as error:
            self.materials, self.trouble = (), error
        self.changed.emit()

    def material(self, name: str) -> Material | None:
        """Return a material by name."""
        return next((each for each in self.materials if each.name == name), None)

    def put(self, material: Material, *, instead_of: str | None = None) -> None:
        """Put a material in, in place of one of the same name or of another.

        Raises
        ------
        BladewiseError
            If it cannot be written; the stock is then as it was.
        """
        names = (instead_of or material.name, material.name)
        kept = self._named(material)
        result: list[Material] = []
        for each in self.materials:
            if each.name not in names:
                result.append(each)
            elif kept not in result:
                result.append(kept)
        self._write(result if kept in result else [*result, kept])

    def put_all(self, materials: Iterable[Material]) -> None:
        """Put several in, in place of those of the same names."""
        found = {each.name: each for each in self.materials}
        found |= {each.name: self._named(each) for each in materials}
        self._write(found.values())

    def drop(self, name: str) -> None:
        """Take a material out."""
        self._write(each for each in self.materials if each.name != name)

    def fresh_name(self, stem: str) -> str:
        """Return a name that is free."""
        number, name = 1, stem
        while self.material(name) is not None:
            number += 1
            name = f"{stem} {number}"
        return name

    @staticmethod
    def _named(material: Material) -> Material:
        """Return a material with its name for an id: names stand once in a stock, and a job gives ids of its own."""
        return replace(material, id=material.name)

    def _write(self, materials: Iterable[Material]) -> None:
        if self.trouble is not None:
            raise self.trouble
        result = tuple(materials)
        write_stock(self.path, result)
        self.materials = result
        self.changed.emit()
