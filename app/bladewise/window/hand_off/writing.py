"""Writes what was prepared, file after file; one that is refused stops none of the others."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from bladewise.errors import BladewiseError, CannotWrite
from bladewise.formats import Prepared

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence


@dataclass(frozen=True)
class Order:
    """Files that go into one folder for one destination."""

    name: str
    folder: Path
    files: tuple[Prepared, ...]


@dataclass(frozen=True)
class Result:
    """What became of one file: written, or why not."""

    to: str
    path: Path
    size: int
    refusal: BladewiseError | None = None


def write_orders(orders: Sequence[Order], results: list[Result], progress: Callable[[float], None]) -> None:
    """Write the files of all orders, and put down what became of each as it is known.

    Raises
    ------
    Cancelled
        If the operator stopped it; what was written by then is whole, and is in the results.
    """
    whole = sum(len(file.data) for order in orders for file in order.files) or 1
    done = 0
    for order in orders:
        for file in order.files:
            progress(done / whole)
            path = order.folder / file.name
            refusal: BladewiseError | None = None
            try:
                path = file.write(order.folder)
            except CannotWrite as error:
                refusal = error
            done += len(file.data)
            results.append(Result(order.name, path, len(file.data), refusal))


def not_written(orders: Sequence[Order], results: Sequence[Result]) -> list[Order]:
    """Return what is still to be written: what was refused, and what was not come to."""
    good = {(each.to, each.path.name) for each in results if each.refusal is None}
    rest = []
    for order in orders:
        files = tuple(file for file in order.files if (order.name, file.name) not in good)
        if files:
            rest.append(Order(order.name, order.folder, files))
    return rest
