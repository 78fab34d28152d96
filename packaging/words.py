"""Gather every text the operator can see, and keep the dictionaries of other languages in step with it.

    python packaging/words.py            update app/bladewise/window/languages/*.json: what is new stands
                                         there without a translation, what is gone is dropped
    python packaging/words.py --check    change nothing; exit 1 if a text lacks a translation

Texts of the window are the literals given to `tr` and `translate`; those of the core are the literals given to
`phrase`, to errors and remedies, and what operations declare: titles, help, names and choices of parameters.
"""

from __future__ import annotations

import argparse
import ast
import json
import string
import sys
from pathlib import Path
from typing import TYPE_CHECKING

PACKAGE = Path(__file__).resolve().parents[1] / "app" / "bladewise"
LANGUAGES = PACKAGE / "window" / "languages"

_CALLS = {"phrase", "CannotRead", "CannotApply", "CannotWrite", "BladewiseError", "Remedy"}
_NAMES = {"what", "hint", "msg", "message", "title", "help"}
_PAPER_CALLS = {"_say", "_heading", "text", "Fact", "Shown"}
_PAPER_NAMES = {"_CUTS", "_PRINTS"}

if TYPE_CHECKING:
    from collections.abc import Iterator


def literals(node: ast.expr | None) -> Iterator[str]:
    """Yield the strings an expression may stand for: a literal, or a choice between literals."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from literals(node.body)
        yield from literals(node.orelse)
    elif isinstance(node, (ast.Tuple, ast.List)):
        for each in node.elts:
            yield from literals(each)
    elif isinstance(node, ast.Dict):
        for each in node.values:
            yield from literals(each)


def _called(node: ast.Call) -> str:
    return node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")


def texts_of_window(tree: ast.AST) -> Iterator[str]:
    """Yield the texts of a module of the window."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            name = _called(node)
            if name in ("tr", "_tr") and node.args:
                yield from literals(node.args[0])
            elif name in ("translate", "QT_TRANSLATE_NOOP") and len(node.args) > 1:
                yield from literals(node.args[1])


def sentences(tree: ast.AST) -> Iterator[str]:
    """Yield the literals that are sentences: reports of operations and hints that stand by themselves."""
    remarks = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    mixed = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in ast.walk(node)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in remarks | mixed:
            text = node.value
            if text[:1].isupper() and text.endswith(".") and " " in text:
                yield text


def texts_of_core(tree: ast.AST) -> Iterator[str]:
    """Yield the texts of a module of the core."""
    yield from sentences(tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            if _called(node) in _CALLS and node.args:
                yield from literals(node.args[0])
            if _called(node) in ("counted", "describe"):
                yield from ("{count} " + text for each in node.args[-2:] for text in literals(each))
            for keyword in node.keywords:
                if keyword.arg in _NAMES:
                    yield from literals(keyword.value)
        elif isinstance(node, ast.Assign) and any(
            isinstance(target, ast.Name) and (target.id in _NAMES or target.id.isupper()) for target in node.targets
        ):
            yield from (text for text in literals(node.value) if " " in text)


TWOFOLD = ("joint: line", "sweep (deg)", "bridge (mm)", "line (mm)", "spread (count)")
"""Words of operations that mean one thing here and another there: a choice with its parameter, a name with its unit
or, where it has none, with its first choice."""


def texts_of_papers(tree: ast.AST) -> Iterator[str]:
    """Yield the words printed on job ticket and proof: headings, labels, heads of columns, lines to sign."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and _called(node) in _PAPER_CALLS and node.args:
            yield from literals(node.args[0])
        elif isinstance(node, ast.Call) and _called(node) == "Ticket":
            yield from (text for each in node.args for text in literals(each))
        elif isinstance(node, ast.Assign) and any(
            isinstance(target, ast.Name) and target.id in _PAPER_NAMES for target in node.targets
        ):
            yield from literals(node.value)
        elif isinstance(node, ast.Tuple):  # a label and what stands beside it
            yield from (text for each in node.elts for text in literals(each) if text[:1].isupper())


def texts_of_operations() -> Iterator[str]:
    """Yield what operations, the check and registration marks declare."""
    from bladewise import checks, formats, operations
    from bladewise.findings import Severity

    for operation in operations.OPERATIONS:
        yield operation.title
        yield operation.help
        for parameter in operation.parameters:
            yield parameter.title
            yield parameter.help
            yield from parameter.choices
    yield from TWOFOLD
    yield from (severity.text for severity in Severity)
    yield from (rule.replace("-", " ") for rule, _ in checks.RULES)
    yield from (kind.capitalize() for kind in formats.MARK_KINDS)


def all_texts() -> list[str]:
    """Return every text, each once, in the order of the modules."""
    found: dict[str, None] = {}
    for module in sorted(PACKAGE.rglob("*.py")):
        tree = ast.parse(module.read_text(encoding="utf-8"))
        room = module.relative_to(PACKAGE).parts[0]
        if room == "cli":
            continue
        gather = texts_of_window if room == "window" else texts_of_core
        found.update(dict.fromkeys(gather(tree)))
        if room == "layout" or "papers" in module.parts:
            found.update(dict.fromkeys(texts_of_papers(tree)))
        if room == "window" and any(isinstance(node, ast.Call) and _called(node) in _CALLS for node in ast.walk(tree)):
            found.update(dict.fromkeys(texts_of_core(tree)))  # it raises errors of its own
    found.update(dict.fromkeys(texts_of_operations()))
    return [text for text in found if any(letter.isalpha() for letter in text) and not text.startswith("\n")]


def places(text: str) -> set[str]:
    """Return the names in braces."""
    return {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}


def faults(language: dict[str, str], wanted: list[str]) -> list[str]:
    """Return what is wrong with a dictionary."""
    wrong = [f"no translation: {text!r}" for text in wanted if not language.get(text)]
    for text, other in language.items():
        if other and places(text) != places(other):
            wrong.append(f"other places in braces: {text!r} → {other!r}")
    return wrong


def main() -> int:
    """Update or check the dictionaries."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--check", action="store_true", help="change nothing, only say what is missing")
    chosen = options.parse_args()
    sys.path.insert(0, str(PACKAGE.parent))
    wanted = all_texts()
    wrong = 0
    for path in sorted(LANGUAGES.glob("*.json")):
        language = json.loads(path.read_text(encoding="utf-8"))
        updated = {text: language.get(text, "") for text in wanted}
        if not chosen.check:
            path.write_text(json.dumps(updated, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
        found = faults(updated, wanted)
        wrong += len(found)
        print(f"{path.name}: {len(wanted)} texts, {len(found)} to do")
        for line in found[:20]:
            print(f"  {line}")
    return 1 if wrong and chosen.check else 0


if __name__ == "__main__":
    sys.exit(main())
