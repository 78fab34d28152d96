"""`bladewise`: open the window, render, check, run a recipe, export, write papers, fill in a list of names, list steps.

Exit codes: 0 done (and, for `check`, ready); 1 findings, or files refused because of them; 2 something
could not be read, applied or written, or the command was wrong.
"""

from __future__ import annotations

import argparse
import difflib
import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from bladewise import __version__
from bladewise.cli.destinations import add_destinations
from bladewise.cli.export import add_export, paint_picture
from bladewise.cli.ticket import add_ticket
from bladewise.errors import BladewiseError, CannotRead, CannotWrite

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bladewise.document import Job, Profile

_COMMANDS = ("render", "check", "run", "export", "ticket", "proof", "destinations", "roster", "steps", "open")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    if not words or (words[0] not in _COMMANDS and not words[0].startswith("-")):
        near = difflib.get_close_matches(words[0], _COMMANDS, n=1) if words else []
        if near and not Path(words[0]).exists():
            _say(f"bladewise: There is no command or file “{words[0]}”. Did you mean “{near[0]}”?")
            return 2
        words.insert(0, "open")
    try:
        options = _parser().parse_args(words)
        return int(options.command(options))
    except BladewiseError as error:
        _say(f"bladewise: {error}")
        return 2
    except BrokenPipeError:
        return 2
    except KeyboardInterrupt:
        _say("bladewise: stopped")
        return 2


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        """Say what is wrong with the command, and exit with 2."""
        self.exit(2, f"bladewise: {message}\nTry `{self.prog} --help`.\n")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="bladewise",
        description="Make artwork ready for the vinyl cutter. With a file or nothing: opens the window.",
        epilog="Before you cut: check the blade's depth on a test piece, keep fingers off the moving carriage.",
    )
    parser.add_argument("--version", action="version", version=f"bladewise {__version__}")
    commands = parser.add_subparsers(required=True, parser_class=_Parser, metavar="COMMAND")

    window = commands.add_parser("open", help="open the window (the same as giving just the file)")
    window.add_argument("file", nargs="?", type=Path)
    window.set_defaults(command=_open)

    render = commands.add_parser("render", help="make a picture of a job or artwork")
    render.add_argument("file", type=Path)
    render.add_argument(
        "--view",
        choices=("fill", "outline", "printed", "cut"),
        default="fill",
        help="all of it, as the knife sees it, as the sheet leaves the printer, or as it is once it is cut",
    )
    render.add_argument(
        "--film", choices=("white", "clear", "dark"), help="printed, cut: what it is printed on (default white)"
    )
    render.add_argument("--out", type=Path, required=True, metavar="PNG")
    render.add_argument("--width", type=_pixels, default=1600, metavar="PX", help="width in pixels (default 1600)")
    render.set_defaults(command=_render)

    check = commands.add_parser("check", help="is it ready to cut? exit 0 ready, 1 findings, 2 could not read")
    check.add_argument("file", type=Path)
    check.add_argument("--json", action="store_true", help="print the findings as JSON")
    check.add_argument(
        "--material", metavar="NAME", help="hold all of it to one material of the job, or to a kind such as reflective"
    )
    check.set_defaults(command=_check)

    run = commands.add_parser("run", help="run a recipe: steps, check, files")
    run.add_argument("recipe", type=Path)
    run.add_argument("file", nargs="?", type=Path, help="artwork; left out: the one the recipe names")
    run.add_argument("--out", type=Path, required=True, metavar="DIR")
    run.add_argument("--json", action="store_true", help="print a summary as JSON")
    run.add_argument("--despite-findings", action="store_true", help="write files even where the knife would cut twice")
    run.set_defaults(command=_run)

    add_export(commands)
    add_ticket(commands)
    add_destinations(commands)

    roster = commands.add_parser("roster", help="fill a design with a list of names: exit 1 if rows were left out")
    roster.add_argument("design", type=Path, help="a job whose lettering says {name}, {number} or any column")
    roster.add_argument("list", type=Path, help="CSV; its first line names the columns")
    roster.add_argument("--out", type=Path, required=True, metavar="DIR")
    roster.add_argument("--each", action="store_true", help="also write a drawing for each piece")
    roster.add_argument("--width", metavar="LENGTH", help="room for each lettering; longer words shrink to fit")
    roster.add_argument("--across", type=int, default=4, metavar="N", help="pieces side by side (default 4)")
    roster.add_argument("--gap", default="10mm", metavar="LENGTH", help="space between pieces (default 10mm)")
    roster.add_argument("--live", action="store_true", help="leave the lettering live instead of merging it")
    roster.add_argument("--json", action="store_true", help="print a summary as JSON")
    roster.set_defaults(command=_roster)

    steps = commands.add_parser("steps", help="list every operation, or show one with its parameters")
    steps.add_argument("name", nargs="?")
    steps.add_argument("--json", action="store_true", help="print as JSON")
    steps.set_defaults(command=_steps)
    return parser


def _open(options: argparse.Namespace) -> int:
    if sys.platform.startswith("linux") and not any(
        os.environ.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    ):
        _say("bladewise: There is no display to open a window on. Use check, run, export or render instead.")
        return 2
    from bladewise.window.app import open_window

    return int(open_window(options.file))


def _render(options: argparse.Namespace) -> int:
    if options.out.suffix.lower() != ".png":
        what = "Pictures are written as PNG."
        raise CannotWrite(what, where=options.out.name, hint="Let the name end in .png.")
    from bladewise.session import Session
    from bladewise.window.picture import write_png

    if options.film is not None and options.view not in ("printed", "cut"):
        raise CannotRead("Film shows only where print is shown.", hint="Say --view printed or --view cut.")
    job, view = Session.open(options.file).job, options.view
    if view in ("printed", "cut"):
        from bladewise.layout.films import GROUNDS, Film
        from bladewise.layout.results import cut_result, printed_result

        ground = GROUNDS[Film(options.film or "white")]
        job = printed_result(job, ground=ground) if view == "printed" else cut_result(job, ground=ground)
        view = "fill"
    write_png(job, options.out, view=view, width_px=options.width)
    _print(f"{options.out}")
    return 0


def _check(options: argparse.Namespace) -> int:
    from bladewise.checks import is_ready, verdict
    from bladewise.session import Session

    session = Session.open(options.file)
    profile = None if options.material is None else _profile(session.job, options.material)
    findings = session.check(profile=profile)
    ready = is_ready(findings)
    if options.json:
        _print_json({"ready": ready, "findings": [finding.plain() for finding in findings]})
    else:
        for note in session.job.notes:
            _say(f"note: {note}")
        for finding in findings:
            _print(f"{finding.severity.text}: {finding.message}")
            _print(f"    at {finding.x_mm:.2f}, {finding.y_mm:.2f} mm. {finding.remedy.text}.")
        _print(verdict(findings))
    return 0 if ready else 1


def _profile(job: Job, name: str) -> Profile:
    """Return the profile of a material of the job, or of a kind of material."""
    from bladewise.document import KNOWN_PROFILES
    from bladewise.errors import CannotRead

    for material in (*job.materials, *job.materials_in_use()):
        if name in (material.id, material.name):
            return material.profile
    if name in KNOWN_PROFILES:
        return KNOWN_PROFILES[name]
    words = [*dict.fromkeys(material.name for material in (*job.materials, *job.materials_in_use())), *KNOWN_PROFILES]
    what = f"There is no material “{name}”."
    raise CannotRead(what, where=job.name, hint=f"Use one of: {', '.join(words)}.")


def _run(options: argparse.Namespace) -> int:
    from bladewise.errors import CannotRead
    from bladewise.recipe import read_recipe
    from bladewise.session import Session, run_recipe

    recipe = read_recipe(options.recipe)
    art = options.file or recipe.art
    if art is None:
        what = "The recipe names no artwork."
        raise CannotRead(what, where=options.recipe.name, hint="Give the artwork's file after the recipe.")
    session = Session.open(art)
    done = run_recipe(session, recipe, options.out, painter=paint_picture, despite_findings=options.despite_findings)
    if options.json:
        _print_json(done.plain())
    else:
        for note in session.job.notes:
            _say(f"note: {note}")
        for line in done.lines():
            _print(line)
    return done.exit_code


def _roster(options: argparse.Namespace) -> int:
    from bladewise.errors import CannotApply
    from bladewise.formats.list_file import read_list
    from bladewise.session import Session, fill_roster

    rows = read_list(options.list)
    session = Session.open(options.design)
    values = {"across": options.across, "gap_mm": options.gap, "merge": not options.live}
    if options.width is not None:
        values["width_mm"] = options.width
    try:
        done = fill_roster(session, rows, options.out, each=options.each, **values)
    except ValueError as error:
        raise CannotApply(str(error), where=options.design.name) from error
    if options.json:
        _print_json(done.plain())
    else:
        for line in done.lines():
            _print(line)
    return done.exit_code


def _steps(options: argparse.Namespace) -> int:
    from bladewise import operations

    try:
        chosen = [operations.operation(options.name)] if options.name else list(operations.OPERATIONS)
    except ValueError as error:
        _say(f"bladewise: {error}")
        return 2
    if options.json:
        _print_json([operation.describe() for operation in chosen])
        return 0
    for operation in chosen:
        _print(f"{operation.name:20}  {operation.help}")
        for parameter in operation.parameters if options.name else ():
            entry = parameter.describe()
            limits = " to ".join(f"{each:g}" for each in (parameter.minimum, parameter.maximum) if each is not None)
            kind = "|".join(parameter.choices) or " ".join(each for each in (entry["type"], parameter.unit) if each)
            _print(f"    {parameter.name:18} {kind} ({limits})" if limits else f"    {parameter.name:18} {kind}")
            _print(f"    {'':18} {parameter.help}. Default: {json.dumps(entry['default'], ensure_ascii=False)}")
            if parameter.only_with:
                beside = ", ".join(f"{name} = {' or '.join(allowed)}" for name, allowed in parameter.only_with)
                _print(f"    {'':18} Only with {beside}.")
    return 0


def _pixels(text: str) -> int:
    value = int(text) if text.isdigit() else 0
    if not 16 <= value <= 20000:
        msg = "a width between 16 and 20000 pixels is needed"
        raise argparse.ArgumentTypeError(msg)
    return value


def _print(line: str) -> None:
    sys.stdout.write(f"{line}\n")


def _print_json(value: Any) -> None:
    _print(json.dumps(value, indent=2, ensure_ascii=False))


def _say(line: str) -> None:
    sys.stderr.write(f"{line}\n")
