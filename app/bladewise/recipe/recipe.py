"""Reading and writing recipes.

A recipe is TOML 1.0::

    name = "Cup decal"
    art = "decal.svg"              # optional: the artwork, beside the recipe

    [[step]]
    do = "merge"
    on = { fill = "#0072b2" }      # "all", a list of ids, or id, name, layer, fill, stroke, material, above
    survivor = "topmost"

    [output]                       # optional
    per_colour = true
    marks = "cross"                # cross, square, round or corner
    marks_size_mm = 6.0

or, in place of these, ``destination = "Front table"``: the name of a destination that is kept, or a file of one,
beside the recipe.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bladewise import formats, operations
from bladewise.errors import CannotRead
from bladewise.formats.toml_words import nearest
from bladewise.operations import Step
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from collections.abc import Mapping


_LARGEST = 4_000_000
_TOP = ("name", "art", "step", "output")


@dataclass(frozen=True, slots=True)
class Output:
    """How the files are to be written: for a destination, by its name or the path of its file, or as is said here."""

    destination: str = ""
    per_colour: bool = True
    marks: str = ""
    marks_size_mm: float = 6.0
    marks_inset_mm: float = 5.0
    despite_findings: bool = False


@dataclass(frozen=True, slots=True)
class Recipe:
    """Steps in order, the artwork they were made for, and how to write the files."""

    name: str
    steps: tuple[Step, ...]
    art: Path | None = None
    output: Output = Output()


def read_recipe(path: Path) -> Recipe:
    """Read a recipe.

    Raises
    ------
    CannotRead
        With file, line, and the nearest right word.
    """
    text = _text(path)
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        line = re.search(r"line (\d+)", str(error))
        where = f"{path.name}, line {line.group(1)}" if line else path.name
        what = phrase("This is not TOML: {sub}.", sub=re.sub(r" [(]at .*[)]$", "", str(error)))
        raise CannotRead(what, where=where, hint="See the README for what a recipe looks like.") from error
    for key in table:
        if key not in _TOP:
            raise CannotRead(
                phrase("A recipe has no “{key}”. {nearest}", key=key, nearest=nearest(key, _TOP)),
                where=_at(path, text, key, 0),
            )
    raw_steps = table.get("step", [])
    if not isinstance(raw_steps, list) or not all(isinstance(each, dict) for each in raw_steps):
        what = "Steps are written as [[step]], one block each."
        raise CannotRead(what, where=_at(path, text, "step", 0))
    steps = tuple(_step(path, text, number, raw) for number, raw in enumerate(raw_steps))
    art = table.get("art")
    if art is not None and not isinstance(art, str):
        raise CannotRead("“art” takes the name of a file.", where=_at(path, text, "art", 0))
    return Recipe(
        str(table.get("name", path.stem)),
        steps,
        path.parent / art if art else None,
        _output(path, text, table.get("output", {})),
    )


def write_recipe(recipe: Recipe, path: Path) -> None:
    """Write a recipe, all or nothing.

    Raises
    ------
    CannotWrite
        If the file could not be written.
    """
    formats.write_text(recipe_text(recipe), path)


def recipe_text(recipe: Recipe) -> str:
    """Return a recipe as TOML."""
    lines = [f"name = {_toml(recipe.name)}"]
    if recipe.art is not None:
        lines.append(f"art = {_toml(recipe.art.name)}")
    for step in recipe.steps:
        lines += ["", "[[step]]", *(f"{key} = {_toml(value)}" for key, value in operations.plain(step).items())]
    output = {
        field.name: value for field in fields(Output) if (value := getattr(recipe.output, field.name)) != field.default
    }
    if output:
        lines += ["", "[output]", *(f"{key} = {_toml(value)}" for key, value in output.items())]
    return "\n".join(lines) + "\n"


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > _LARGEST:
            what = "This file is far too large for a recipe."
            raise CannotRead(what, where=path.name, hint="Choose a recipe, not artwork.")
        return path.read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise CannotRead("There is no such file.", where=str(path), hint="Check the name.") from error
    except (OSError, UnicodeDecodeError) as error:
        what = "The recipe could not be read: it is no text file, or not open to you."
        raise CannotRead(what, where=path.name, hint="Check the file.") from error


def _step(path: Path, text: str, number: int, raw: Mapping[str, Any]) -> Step:
    values = dict(raw)
    do = values.pop("do", None)
    if not isinstance(do, str):
        what = "This step does not say what to do."
        raise CannotRead(what, where=_at(path, text, "", number), hint='Write do = "merge", for example.')
    try:
        operations.operation(do)
    except ValueError as error:
        raise CannotRead(str(error), where=_at(path, text, "do", number)) from error
    try:
        return operations.step(do, values)
    except ValueError as error:
        named, why = _at_fault(do, values) or ("do", str(error))
        what = why if f"“{named}”" in why or named == "do" else f"“{named}”: {why}"
        raise CannotRead(what, where=_at(path, text, named, number)) from error


def _at_fault(do: str, values: Mapping[str, Any]) -> tuple[str, str] | None:
    """Return the first value that an operation refuses even alone, and why."""
    for key, value in values.items():
        try:
            operations.step(do, {key: value})
        except ValueError as error:
            return key, str(error)
    return None


def _output(path: Path, text: str, raw: object) -> Output:
    if not isinstance(raw, dict):
        what = "“output” is a table: [output]."
        raise CannotRead(what, where=_at(path, text, "output", 0))
    known = {field.name: field for field in fields(Output)}
    for key, value in raw.items():
        where = _at(path, text, key, 0)
        if key not in known:
            raise CannotRead(
                phrase("“output” has no “{key}”. {nearest}", key=key, nearest=nearest(key, tuple(known))), where=where
            )
        default = known[key].default
        right = isinstance(value, (int, float)) and not isinstance(value, bool)
        if not (right if isinstance(default, float) else isinstance(value, type(default))):
            kind = {bool: phrase("true or false"), float: phrase("a number"), str: phrase("a text")}[type(default)]
            raise CannotRead(phrase("“{key}” takes {kind}.", key=key, kind=kind), where=where)
    if raw.get("marks", "") not in ("", *formats.MARK_KINDS):
        what = phrase(
            "“marks” is one of {join}. {nearest}",
            join=", ".join(formats.MARK_KINDS),
            nearest=nearest(str(raw["marks"]), formats.MARK_KINDS),
        )
        raise CannotRead(what, where=_at(path, text, "marks", 0))
    named = raw.get("destination", "")
    beside = next((key for key in raw if named and key not in ("destination", "despite_findings")), None)
    if beside is not None:
        what = phrase("“{key}” and “destination” cannot both be said: the destination tells it already.", key=beside)
        raise CannotRead(what, where=_at(path, text, beside, 0), hint="Take one of the two out.")
    if named.lower().endswith(".toml"):
        return Output(**{**raw, "destination": str(path.parent / named)})
    return Output(**raw)


def _at(path: Path, text: str, key: str, number: int) -> str:
    """Return file and line: of a key within the step of that number, or of the step's head."""
    lines = text.splitlines()
    heads = [index for index, line in enumerate(lines) if re.match(r"\s*\[\[\s*step\s*\]\]", line)]
    begin = heads[number] if number < len(heads) else 0
    stop = next((head for head in heads if head > begin), len(lines))
    if not key:
        return f"{path.name}, line {begin + 1}"
    pattern = re.compile(rf"(^|[\s{{,\[\"']){re.escape(key)}[\"']?\s*[=\]]")
    for first, last in ((begin, stop), (0, len(lines))):
        for index in range(first, last):
            if pattern.search(lines[index]):
                return f"{path.name}, line {index + 1}"
    return f"{path.name}, line {begin + 1}"


def _toml(value: object) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case int() | float():
            return repr(value)
        case list() | tuple():
            return f"[{', '.join(_toml(each) for each in value)}]"
        case dict():
            return f"{{ {', '.join(f'{_key(key)} = {_toml(each)}' for key, each in value.items())} }}"
        case _:
            escaped = str(value).replace("\\", "\\\\").replace('"', '\\"')
            for raw, code in (("\n", "\\n"), ("\t", "\\t"), ("\r", "\\r")):
                escaped = escaped.replace(raw, code)
            return f'"{escaped}"'


def _key(key: str) -> str:
    """Return a table's key, in quotes unless TOML 1.0 allows it bare: letters, digits, dashes and underscores."""
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _toml(key)
