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
    from bladewise.document import Job
    from bladewise.formats import Destination

_FORMATS = ("svg", "pdf", "dxf", "hpgl", "png")
_ONLY = {
    "tolerance": ("svg", "pdf", "dxf", "hpgl"),
    "cut_name": ("pdf",),
    "cut_kind": ("pdf",),
    "perforation": ("svg", "pdf", "dxf", "hpgl"),
    "dpi": ("png",),
    "transparent": ("png",),
    "scale_bar": ("png",),
}
"""What says something to some formats alone."""
_EXACT = ("svg", "pdf")
"""Formats whose curves stay curves: a tolerance turns none into lines, it is only seen that it is kept."""


def add_export(commands: Any) -> None:
    """Add the command to those of the command line."""
    export = commands.add_parser("export", help="write the files for cutting and printing")
    export.add_argument("file", type=Path)
    export.add_argument("--out", type=Path, required=True, metavar="DIR")
    kind = export.add_mutually_exclusive_group()
    kind.add_argument("--as", "--format", dest="format", choices=_FORMATS, help="what to write (default svg)")
    kind.add_argument("--pdf", dest="format", action="store_const", const="pdf", help="the same as --as pdf")
    export.add_argument(
        "--profile", "--to", metavar="NAME", help="a kept destination, or the path of one: what a machine wants"
    )
    export.add_argument(
        "--per-colour", action="store_true", help="one file per cut colour; svg: beside the layered one"
    )
    export.add_argument(
        "--marks", choices=("cross", "square", "round", "corner"), help="registration marks in every file"
    )
    export.add_argument("--marks-size", type=float, metavar="MM", help="default 6")
    export.add_argument("--marks-inset", type=float, metavar="MM", help="from the sheet's corners (default 5)")
    export.add_argument(
        "--tolerance",
        type=_tolerance,
        metavar="MM",
        help="how near the file stays to the art. dxf: curves become lines; hpgl: chords; svg, pdf: they stay curves",
    )
    export.add_argument(
        "--perforation", choices=("dashes", "line"), help="the cuts themselves (default), or a line: the machine lifts"
    )
    export.add_argument("--cut-name", metavar="NAME", help="pdf: the cut line's spot colour (default “Cut line”)")
    export.add_argument(
        "--cut-kind",
        choices=("kiss", "through", "perforation", "crease"),
        help="pdf: how deep the knife goes (default: what the material says)",
    )
    export.add_argument("--dpi", type=_dpi, metavar="DPI", help="png: dots an inch (default 150)")
    export.add_argument("--transparent", action="store_true", default=None, help="png: nothing behind the art")
    export.add_argument("--scale-bar", action="store_true", default=None, help="png: a bar under it, to be measured")
    export.add_argument("--despite-findings", action="store_true", help="write even where the knife would cut twice")
    export.add_argument("--json", action="store_true", help="print what was written as JSON")
    export.set_defaults(command=_export)


def paint_picture(job: Job, dpi: float, transparent: bool) -> bytes:  # noqa: FBT001 - a `PicturePainter`
    """Return a PNG of a job, painted as the window does; what paints is loaded only when a picture is asked for."""
    from bladewise.window import picture

    return picture.paint_picture(job, dpi, transparent)


def _export(options: argparse.Namespace) -> int:
    from bladewise.formats import RegistrationMarks, write_files
    from bladewise.session import Session

    destination = _destination(options)
    session = Session.open(options.file)
    marks = None
    if options.marks and destination is None:
        marks = RegistrationMarks(options.marks, **_given(size_mm=options.marks_size, inset_mm=options.marks_inset))
    is_picture = destination is not None and destination.format == "png"  # no knife follows one
    try:
        if not options.despite_findings and not is_picture:
            session.refuse_double_cuts()
    except CannotWrite as error:
        sys.stderr.write(f"bladewise: {error}\n`--despite-findings` writes them all the same.\n")
        return 1
    files = session.prepared(
        per_colour=options.per_colour,
        marks=marks,
        destination=destination,
        painter=paint_picture,
        despite_findings=True,
    )
    written = write_files(files, options.out)
    if options.json:
        summary = {
            "format": destination.format if destination else "svg",
            "destination": destination.name if destination else "",
            "mirrored": destination.mirrored if destination else "no",
            "files": [str(path) for path in written],
            "written": [{"path": str(path), **file.plain()} for path, file in zip(written, files, strict=True)],
        }
        sys.stdout.write(json.dumps(summary, indent=2, ensure_ascii=False) + "\n")
    else:
        for path in written:
            sys.stdout.write(f"{path}\n")
    return 0


def _destination(options: argparse.Namespace) -> Destination | None:
    """Return where it goes, with what the command says besides; None for the layered drawing and its cut files."""
    from bladewise.formats import Destination, find_destination

    base = None if options.profile is None else find_destination(options.profile)
    kind = options.format or (base.format if base else "svg")
    if base is not None and base.format != kind:
        what = phrase(
            "The destination “{name}” takes {format}, not {kind}.", name=base.name, format=base.format, kind=kind
        )
        raise CannotRead(what, hint="Leave the format out, or choose another destination.")
    for key, kinds in _ONLY.items():
        if getattr(options, key) is not None and kind not in kinds:
            raise CannotRead(
                phrase("“{key}” says nothing to {format}.", key=f"--{key.replace('_', '-')}", format=kind),
                hint=phrase("Known: {join}.", join=", ".join(kinds)),
            )
    said = _given(
        marks=options.marks,
        marks_size_mm=options.marks_size,
        marks_inset_mm=options.marks_inset,
        tolerance_mm=options.tolerance if kind not in _EXACT else None,
        perforation=options.perforation,
        cut_name=options.cut_name,
        cut_kind=options.cut_kind,
        dpi=options.dpi,
        transparent=options.transparent,
        scale_bar=options.scale_bar,
        per_colour=options.per_colour or None,
    )
    if base is None:
        if kind == "svg" and options.perforation is None:
            return None
        base = Destination(kind)
    return replace(base, **said)


def _given(**values: Any) -> dict[str, Any]:
    return {name: value for name, value in values.items() if value is not None}


def _number(text: str, least: float, most: float, what: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not least <= value <= most:
        msg = f"{what} is needed"
        raise argparse.ArgumentTypeError(msg)
    return value


def _tolerance(text: str) -> float:
    return _number(text, 0.001, 1.0, "a tolerance from 0.001 to 1 mm")


def _dpi(text: str) -> float:
    return _number(text, 1.0, 2400.0, "a resolution from 1 to 2400 dots an inch")
