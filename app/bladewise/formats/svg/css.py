"""Style sheets inside a drawing: parsing, selectors, and which declaration wins.

What drawings use of CSS: type, class, id and attribute selectors, the descendant, child and sibling
combinators, a few structural pseudo-classes, specificity, order and ``!important`` (W3C, Selectors 4
and CSS Cascading 4). Rules with anything else apply to nothing, as CSS asks. Nothing is ever imported.
"""

from __future__ import annotations

import re
from collections import defaultdict
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Iterable

    from bladewise.formats.svg.tree import Node

Declarations: TypeAlias = list[tuple[str, str, bool]]
"""Property, value, and whether it is important."""

MAX_RULES = 20_000

_COMMENT = re.compile(r"/\*.*?\*/|<!--|-->", re.DOTALL)
_NAME = r"-?[A-Za-z_\u00a0-\uffff][\w\u00a0-\uffff-]*"
_SIMPLE = re.compile(
    rf"(?P<type>{_NAME}|\*)|#(?P<id>[\w\u00a0-\uffff-]+)|\.(?P<class>{_NAME})"
    rf"|\[\s*(?P<attribute>{_NAME})\s*(?:(?P<operator>[~|^$*]?=)\s*(?:\"(?P<double>[^\"]*)\"|'(?P<single>[^']*)'|(?P<bare>[\w.-]+))\s*)?\]"
    rf"|:(?P<pseudo>{_NAME})(?:\((?P<argument>[^()]*)\))?"
)


class _Compound(NamedTuple):
    """Everything one element must answer to, and how it stands to the one left of it."""

    tests: tuple[Callable[[Node], bool], ...]
    combinator: str


class _Rule(NamedTuple):
    specificity: tuple[int, int, int]
    order: int
    compounds: tuple[_Compound, ...]
    declarations: Declarations


class StyleSheet:
    """The rules of all style elements of a drawing."""

    def __init__(self) -> None:
        """Begin without rules."""
        self._by_key: defaultdict[str, list[_Rule]] = defaultdict(list)
        self._count = 0
        self.skipped: list[str] = []
        """At-rules left out, by name."""
        self.remembered: dict[Hashable, tuple[Any, Any]] = {}
        """What the cascade has worked out before, for elements that say the same."""

    def __bool__(self) -> bool:
        """Whether there is any rule."""
        return self._count > 0

    def add(self, text: str) -> None:
        """Add a style sheet's text; what cannot be parsed is passed over as CSS says."""
        text = _COMMENT.sub(" ", text)
        for selectors, body in self._blocks(text):
            declared = declarations(body)
            for selector in _split_list(selectors):
                if declared and self._count < MAX_RULES:
                    self._add_rule(selector.strip(), declared)

    def _blocks(self, text: str) -> Iterable[tuple[str, str]]:
        place = 0
        while place < len(text):
            head = re.compile(r"[^{};]*").match(text, place)
            end = head.end() if head else len(text)
            prelude = text[place:end].strip()
            if end >= len(text):
                return
            if text[end] != "{":  # an at-rule without a block, or a stray bracket
                if prelude.startswith("@"):
                    self.skipped.append(prelude.split()[0].lower())
                place = end + 1
                continue
            close = _closing(text, end)
            body = text[end + 1 : close]
            if prelude.lower().startswith("@media"):
                if re.fullmatch(r"@media\s+(only\s+)?(all|screen)\s*", prelude.lower()):
                    yield from self._blocks(body)
            elif prelude.startswith("@"):
                self.skipped.append(prelude.split()[0].lower())
            else:
                yield prelude, body
            place = close + 1

    def _add_rule(self, selector: str, declared: Declarations) -> None:
        parsed = _parse_selector(selector)
        if parsed is None:
            return
        compounds, specificity, key = parsed
        self._by_key[key].append(_Rule(specificity, self._count, compounds, declared))
        self._count += 1

    def declared(self, node: Node) -> Declarations:
        """Return what the rules say about an element, weakest first."""
        keys = ["*", node.name]
        if node.id:
            keys.append(f"#{node.id}")
        keys += [f".{name}" for name in node.attributes.get("class", "").split()]
        found = [
            rule
            for key in keys
            for rule in self._by_key.get(key, ())
            if _matches(node, rule.compounds, len(rule.compounds) - 1)
        ]
        if len(found) > 1:
            found.sort(key=lambda rule: (rule.specificity, rule.order))
        return [declaration for rule in found for declaration in rule.declarations]


def declarations(text: str) -> Declarations:
    """Return the declarations of a block or of a style attribute, in order."""
    result: Declarations = []
    if "/*" in text:
        text = _COMMENT.sub(" ", text)
    for part in _split(text):
        name, colon, value = part.partition(":")
        name, value = name.strip().lower(), value.strip()
        if not colon or not name or not value:
            continue
        important = False
        if "!" in value and (match := re.search(r"\s*!\s*important\s*$", value, re.IGNORECASE)):
            value, important = value[: match.start()], True
        result.append((name, value, important))
    return result


def _split(text: str) -> list[str]:
    """Split at semicolons that stand neither in quotes nor in brackets (data URIs hold them)."""
    if "(" not in text and '"' not in text and "'" not in text:
        return text.split(";")
    return re.findall(r"(?:[^;\"'(]|\"[^\"]*\"?|'[^']*'?|\([^)]*\)?)+", text)


def _closing(text: str, opening: int) -> int:
    depth = 0
    for match in re.compile(r"[{}]").finditer(text, opening):
        depth += 1 if match.group() == "{" else -1
        if depth == 0:
            return match.start()
    return len(text)


def _split_list(text: str) -> list[str]:
    """Split a list of selectors at the commas that stand outside brackets."""
    return re.findall(r"(?:[^,(\[]|\([^)]*\)|\[[^\]]*\])+", text)


def _parse_selector(text: str) -> tuple[tuple[_Compound, ...], tuple[int, int, int], str] | None:
    ids, classes, types = 0, 0, 0
    compounds: list[_Compound] = []
    combinator, place = "", 0
    key = "*"
    while place < len(text):
        tests: list[Callable[[Node], bool]] = []
        key = "*"
        start = place
        while match := _SIMPLE.match(text, place):
            if match["type"] and place != start:
                return None
            test = _test(match)
            if test is None:
                return None
            if match["pseudo"] == "not":  # counts as what it holds
                held = match["argument"].strip()
                ids, classes, types = (
                    ids + held.startswith("#"),
                    classes + held.startswith((".", "[", ":")),
                    types + held[:1].isalpha(),
                )
            elif match["id"]:
                ids, key = ids + 1, f"#{match['id']}"
            elif match["type"]:
                types += match["type"] != "*"
                key = match["type"]
            else:
                classes += 1
                if match["class"] and not key.startswith("#"):
                    key = f".{match['class']}"
            tests.append(test)
            place = match.end()
        if not tests:
            return None
        compounds.append(_Compound(tuple(tests), combinator))
        if place >= len(text):
            break
        gap = re.compile(r"\s*([>+~])\s*|\s+").match(text, place)
        if gap is None:
            return None
        combinator, place = gap.group(1) or " ", gap.end()
    return (tuple(compounds), (ids, classes, types), key) if compounds else None


def _test(match: re.Match[str]) -> Callable[[Node], bool] | None:
    if name := match["type"]:
        return (lambda _: True) if name == "*" else (lambda node: node.name == name)
    if name := match["id"]:
        return lambda node: node.id == name
    if name := match["class"]:
        return lambda node: name in node.attributes.get("class", "").split()
    if name := match["attribute"]:
        value = next((match[group] for group in ("double", "single", "bare") if match[group] is not None), "")
        return _attribute_test(name, match["operator"], value)
    pseudo, argument = match["pseudo"].lower(), match["argument"]
    return _PSEUDO.get(pseudo) if argument is None else _functional_test(pseudo, argument.strip())


def _functional_test(pseudo: str, argument: str) -> Callable[[Node], bool] | None:
    """Return the test of :not() around one simple selector, or of :nth-child() and :nth-of-type()."""
    if pseudo == "not":
        inner = _SIMPLE.fullmatch(argument)
        negated = _test(inner) if inner is not None else None
        return None if negated is None else lambda node: not negated(node)
    if pseudo not in ("nth-child", "nth-of-type"):
        return None
    text = {"odd": "2n+1", "even": "2n"}.get(argument.lower(), argument.lower())
    parsed = re.fullmatch(r"(?:([+-]?\d*)n)?\s*([+-]?\s*\d+)?", text)
    if parsed is None or not text:
        return None
    each = parsed.group(1)
    step = 0 if each is None else int(f"{each}1" if each in ("", "+", "-") else each)
    first = int((parsed.group(2) or "0").replace(" ", ""))

    def test(node: Node) -> bool:
        among = [one for one in _siblings(node) if pseudo == "nth-child" or one.name == node.name]
        place = next(index for index, one in enumerate(among, start=1) if one is node) - first
        return place == 0 if step == 0 else place % step == 0 and place // step >= 0

    return test


def _attribute_test(name: str, operator: str | None, value: str) -> Callable[[Node], bool]:
    def test(node: Node) -> bool:
        actual = node.attributes.get(name)
        if actual is None:
            return False
        match operator:
            case None:
                return True
            case "=":
                return actual == value
            case "~=":
                return value in actual.split()
            case "|=":
                return actual == value or actual.startswith(f"{value}-")
            case "^=":
                return bool(value) and actual.startswith(value)
            case "$=":
                return bool(value) and actual.endswith(value)
            case _:
                return bool(value) and value in actual

    return test


def _is_first_of_type(node: Node) -> bool:
    return next(other for other in _siblings(node) if other.name == node.name) is node


def _siblings(node: Node) -> list[Node]:
    return node.parent.children if node.parent is not None else [node]


_PSEUDO: dict[str, Callable[[Node], bool]] = {
    "first-child": lambda node: _siblings(node)[0] is node,
    "last-child": lambda node: _siblings(node)[-1] is node,
    "only-of-type": lambda node: sum(other.name == node.name for other in _siblings(node)) == 1,
    "only-child": lambda node: len(_siblings(node)) == 1,
    "first-of-type": _is_first_of_type,
    "root": lambda node: bool(node.parent is None),
    "link": lambda node: bool(node.name == "a"),
}


def _matches(node: Node, compounds: tuple[_Compound, ...], last: int) -> bool:
    compound = compounds[last]
    if not all(test(node) for test in compound.tests):
        return False
    if last == 0:
        return True
    match compound.combinator:
        case ">":
            return node.parent is not None and _matches(node.parent, compounds, last - 1)
        case " ":
            above = node.parent
            while above is not None:
                if _matches(above, compounds, last - 1):
                    return True
                above = above.parent
            return False
        case combinator:
            before = _siblings(node)
            before = before[: next(place for place, other in enumerate(before) if other is node)]
            near = before[-1:] if combinator == "+" else before
            return any(_matches(other, compounds, last - 1) for other in near)
