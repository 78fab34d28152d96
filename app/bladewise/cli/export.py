"""`bladewise export`: the files for cutting and printing, as a format or for a destination of the operator's."""

from __future__ import annotations

import argparse
import json
import math
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bladewise.errors import CannotRead, CannotWrite
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from bladewise.formats import Destination

_FORMATS = ("svg", "dxf", "hpgl", "pdf")
_WITH_TOLERANCE = ("dxf", "hpgl")


def add_export(commands: Any) -> None:
    """Add the command to those of the command line."""
    export = commands.add_parser("export", help="write the files for cutting and printing")
    export.add_argument("file", type=Path)
    export.add_argument("--out", type=Path, required=True, metavar="DIR")
    kind = export.add_mutually_exclusive_group()
    kind.add_argument("--format", "--as", choices=_FORMATS, help="what to write (default svg)")
    kind.add_argument("--pdf", dest="format", action="store_const", const="pdf", help="the same as --format pdf")
    kind.add_argument(
        "--to", "--profile", type=Path, metavar="PROFILE.toml", help="a destination: what a machine wants"
    )
    export.add_argument(
        "--per-colour", action="store_true", help="one file per cut colour; svg: beside the layered one"
    )
    export.add_argument("--marks", choices=("cross", "square", "round"), help="registration marks in every file")
    export.add_argument("--marks-size", type=float, metavar="MM", help="default 6")
    export.add_argument("--marks-inset", type=float, metavar="MM", help="from the sheet's corners (default 5)")
    export.add_argument(
        "--tolerance", type=_tolerance, metavar="MM", help="dxf: curves become lines; hpgl: how near chords stay"
    )
    export.add_argument("--cut-name", metavar="NAME", help="pdf: the cut line's spot colour (default “Cut line”)")
    export.add_argument(
        "--cut-kind", choices=("through", "kiss"), help="pdf: how deep the knife goes (default through)"
    )
    export.add_argument("--despite-findings", action="store_true", help="write even where the knife would cut twice")
    export.add_argument("--json", action="store_true", help="print what was written as JSON")
    export.set_defaults(command=_export)


def _export(options: argparse.Namespace) -> int:
    from bladewise.formats import RegistrationMarks
    from bladewise.session import Session

    destination = _destination(options)
    session = Session.open(options.file)
    marks = None
    if options.marks and destination is None:
        marks = RegistrationMarks(options.marks, **_given(size_mm=options.marks_size, inset_mm=options.marks_inset))
    try:
        written = session.export(
            options.out,
            per_colour=options.per_colour,
            marks=marks,
            destination=destination,
            despite_findings=options.despite_findings,
        )
    except CannotWrite as error:
        sys.stderr.write(f"bladewise: {error}\n")
        return 1 if error.where == session.job.name else 2
    if options.json:
        summary = {
            "format": destination.format if destination else "svg",
            "destination": destination.name if destination else "",
            "mirrored": destination.mirrored if destination else "no",
            "files": [str(path) for path in written],
        }
        sys.stdout.write(json.dumps(summary, indent=2, ensure_ascii=False) + "\n")
    else:
        for path in written:
            sys.stdout.write(f"{path}\n")
    return 0


def _destination(options: argparse.Namespace) -> Destination | None:
    """Return where it goes, with what the command says besides; None for the layered drawing and its cut files."""
    from bladewise.formats import Destination, read_destination

    if options.to is not None:
        base = read_destination(options.to)
    elif options.format in (None, "svg"):
        base = None
    else:
        base = Destination(options.format)
    kind = base.format if base else "svg"
    if options.tolerance is not None and kind not in _WITH_TOLERANCE:
        raise CannotRead(
            phrase("“{key}” says nothing to {format}.", key="--tolerance", format=kind),
            hint=phrase("Known: {join}.", join=", ".join(_WITH_TOLERANCE)),
        )
    for key in ("cut_name", "cut_kind"):
        if getattr(options, key) is not None and kind != "pdf":
            raise CannotRead(
                phrase("“{key}” says nothing to {format}.", key=f"--{key.replace('_', '-')}", format=kind),
                hint=phrase("Known: {join}.", join="pdf"),
            )
    if base is None:
        return None
    said = _given(
        marks=options.marks,
        marks_size_mm=options.marks_size,
        marks_inset_mm=options.marks_inset,
        tolerance_mm=options.tolerance,
        cut_name=options.cut_name,
        cut_kind=options.cut_kind,
        per_colour=options.per_colour or None,
    )
    return replace(base, **said)


def _given(**values: Any) -> dict[str, Any]:
    return {name: value for name, value in values.items() if value is not None}


def _tolerance(text: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not 0.001 <= value <= 1.0:
        msg = "a tolerance from 0.001 to 1 mm is needed"
        raise argparse.ArgumentTypeError(msg)
    return value
