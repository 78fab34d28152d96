"""`bladewise destinations`: the destinations that are kept, one kept from a file, one taken out."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bladewise.errors import CannotRead
from bladewise.phrases import phrase

if TYPE_CHECKING:
    import argparse


def add_destinations(commands: Any) -> None:
    """Add the command to those of the command line."""
    command = commands.add_parser("destinations", help="list the kept destinations, keep one, take one out")
    doing = command.add_mutually_exclusive_group()
    doing.add_argument("--keep", type=Path, metavar="FILE.toml", help="keep this one under its name")
    doing.add_argument("--drop", metavar="NAME", help="take the one of this name out")
    command.add_argument("--json", action="store_true", help="print the list as JSON")
    command.set_defaults(command=_destinations)


def _destinations(options: argparse.Namespace) -> int:
    from bladewise import formats

    folder = formats.destinations_folder()
    if options.keep is not None:
        formats.keep_destination(formats.read_destination(options.keep), folder)
    if options.drop is not None:
        if not any(one.name == options.drop for one in formats.kept_destinations(folder)[0]):
            raise CannotRead(phrase("There is no destination “{name}”.", name=options.drop), hint="See the list.")
        formats.drop_destination(options.drop, folder)
    kept, troubles = formats.kept_destinations(folder)
    for trouble in troubles:
        sys.stderr.write(f"bladewise: {trouble}\n")
    if options.json:
        rows = [{**asdict(one), "pens": dict(one.pens), "spots": dict(one.spots)} for one in kept]
        sys.stdout.write(json.dumps({"folder": str(folder), "destinations": rows}, indent=2, ensure_ascii=False) + "\n")
    else:
        for one in kept:
            sys.stdout.write(f"{one.name}  ({one.format})\n")
    return 2 if troubles else 0
