"""An SVG file as a tree of nodes, read so that a hostile file can do nothing but be refused.

The tokenising is done by expat, from the standard library. What makes it safe:

- nothing outside the file is ever opened: external entities and parameter entities are refused by
  name, an external DTD (every old SVG file names one) is left alone, stylesheets and links are not
  followed;
- entities declared in the file may not stand for one another, and what they add to the document is
  bounded, so that neither the nested nor the quadratic kind of bomb grows;
- bytes, elements and depth are bounded, a compressed file by what it unpacks to.

The vulnerabilities are those listed in the documentation of Python's ``xml`` package ("XML security").
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any, TypeAlias
from xml.parsers import expat

from bladewise.errors import CannotRead
from bladewise.formats.svg import names
from bladewise.phrases import phrase

if TYPE_CHECKING:
    from pathlib import Path as FilePath

MAX_BYTES = 200_000_000
"""Larger files are refused; a 10 m banner with every leaf drawn stays far below."""
MAX_ELEMENTS = 1_000_000
"""More elements than this would not fit a small computer's memory."""
MAX_DEPTH = 200
"""Deeper nesting is refused: no drawing needs it, and every reader that recurses can be toppled by it."""
MAX_ENTITIES = 500
MAX_ENTITY_CHARACTERS = 2_000
"""Entities stand for namespace names or short texts in honest files."""
MAX_ENTITY_GROWTH = 5_000_000
"""Characters that entities may add to a document in all."""
ELEMENT_CHARACTERS = 100
"""What an element counts for there: about what it costs to keep."""
CHUNK = 1 << 18
_UNBOUND_PREFIX = 27
"""Expat's number for a prefix without a namespace, which many programs leave in hand-cut files."""
_NESTED = re.compile(r"&(?!#)")

Progress: TypeAlias = Callable[[float], None]


class Node:
    """An element: its name without a prefix, the namespace, attributes, children, and the text between them.

    Attribute names are plain for attributes without a prefix, "namespace name" for the others. `texts`
    has one more entry than `children`: the text before each child and after the last.
    """

    __slots__ = ("attributes", "children", "line", "name", "namespace", "parent", "texts")

    def __init__(self, namespace: str, name: str, attributes: dict[str, str], parent: Node | None, line: int) -> None:
        """Make a node without children."""
        self.namespace: str = namespace
        self.name: str = name
        self.attributes = attributes
        self.parent: Node | None = parent
        self.line = line
        self.children: list[Node] = []
        self.texts: list[str] = [""]

    @property
    def is_svg(self) -> bool:
        """Whether the element belongs to SVG."""
        return self.namespace == names.SVG

    @property
    def id(self) -> str:
        """The element's id, or nothing."""
        return self.attributes.get("id", "")

    @property
    def href(self) -> str:
        """What the element refers to: `href`, or `xlink:href` where that is missing (SVG 2, section 16.1.2)."""
        found = self.attributes.get("href")
        return (self.attributes.get(f"{names.XLINK} href", "") if found is None else found).strip()

    @property
    def text(self) -> str:
        """The text directly inside the element."""
        return "".join(self.texts)

    def ours(self, name: str) -> str | None:
        """Return an attribute of our own namespace."""
        return self.attributes.get(f"{names.OURS} {name}")

    def walk(self) -> Iterator[Node]:
        """Yield the node and all below it, in document order."""
        stack = [self]
        while stack:
            node = stack.pop()
            yield node
            stack.extend(reversed(node.children))

    def __repr__(self) -> str:
        """Show name and id."""
        return f"<Node {self.name} {self.id!r}>"


class Tree:
    """A whole file: its root, elements by id, and what stands beside the root."""

    def __init__(self, root: Node, instructions: list[str]) -> None:
        """Index the elements by id; the first of several with one id counts."""
        self.root = root
        self.instructions = instructions
        self.count = 0
        self.by_id: dict[str, Node] = {}
        for node in root.walk():
            self.count += 1
            if node.id:
                self.by_id.setdefault(node.id, node)


def read_tree(path: FilePath, *, progress: Progress | None = None) -> Tree:
    """Return the tree of an SVG file, plain or gzip-compressed.

    Raises
    ------
    CannotRead
        If the file cannot be opened, is empty, too large, not XML, not SVG, or hostile.
    """
    return parse(load(path), where=path.name, progress=progress)


def load(path: FilePath) -> bytes:
    """Return a file's bytes, unpacked if they are gzip-compressed.

    Raises
    ------
    CannotRead
        If the file cannot be opened, is empty, or holds or unpacks to more than `MAX_BYTES`.
    """
    where = path.name
    try:
        if path.is_dir():
            raise CannotRead("This is a folder, not a drawing.", where=where, hint="Open a file in it.")
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise CannotRead("There is no such file.", where=where, hint="Check the name and the folder.") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise CannotRead(phrase("The file could not be opened: {reason}.", reason=reason), where=where) from None
    if len(data) > MAX_BYTES:
        raise _too_large(where)
    if data[:2] == b"\x1f\x8b":
        data = _unpacked(data, where)
    if not data.strip(b" \t\r\n\0\xef\xbb\xbf\xfe\xff"):
        raise CannotRead("The file is empty.", where=where, hint="Ask for the artwork again.")
    return data


def parse(data: bytes, *, where: str, progress: Progress | None = None) -> Tree:
    """Return the tree of an SVG document.

    Raises
    ------
    CannotRead
        If it is not XML, not SVG, or hostile.
    """
    builder = _Builder(where, len(data))
    try:
        builder.feed(data, progress)
    except expat.ExpatError as error:
        if error.code != _UNBOUND_PREFIX:
            raise _not_xml(error, data, where) from None
        builder = _Builder(where, len(data), lenient=True)
        try:
            builder.feed(data, progress)
        except expat.ExpatError as other:
            raise _not_xml(other, data, where) from None
    except (UnicodeError, LookupError):
        raise CannotRead("The file's character encoding is not known.", where=where, hint="Save it as UTF-8.") from None
    root = builder.root
    if root is None or root.name != "svg" or root.namespace not in (names.SVG, ""):
        kind = (
            phrase("its root element is “{name}”", name=root.name)
            if root is not None
            else phrase("it holds no element")
        )
        raise CannotRead(
            phrase("This is not an SVG drawing: {kind}.", kind=kind),
            where=where,
            hint="Ask for the artwork as SVG, or export it again.",
        )
    if root.namespace == "":  # files from before namespaces, or with the declaration lost
        for node in root.walk():
            node.namespace = node.namespace or names.SVG
    return Tree(root, builder.instructions)


class _Builder:
    """Collects nodes from expat and refuses what honest drawings do not hold."""

    def __init__(self, where: str, size: int, *, lenient: bool = False) -> None:
        self.where = where
        self._lenient = lenient
        self.root: Node | None = None
        self.instructions: list[str] = []
        self._node: Node | None = None
        self._depth = 0
        self._count = 0
        self._entities = 0
        self._characters = 0
        self._room = size + MAX_ENTITY_GROWTH
        parser = expat.ParserCreate() if lenient else expat.ParserCreate(namespace_separator=" ")
        parser.buffer_text = True
        parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._text
        parser.ProcessingInstructionHandler = self._instruction
        parser.EntityDeclHandler = self._entity
        parser.ExternalEntityRefHandler = self._external
        self.parser: Any = parser

    def feed(self, data: bytes, progress: Progress | None) -> None:
        """Parse the data piece by piece."""
        for start in range(0, len(data), CHUNK):
            self.parser.Parse(data[start : start + CHUNK], False)  # noqa: FBT003 - expat's own signature
            if progress is not None:
                progress(start / len(data))
        self.parser.Parse(b"", True)  # noqa: FBT003

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        self._count += 1
        if self._depth > MAX_DEPTH:
            raise CannotRead(
                phrase("The drawing nests more than {max_depth} elements inside one another.", max_depth=MAX_DEPTH),
                where=self.where,
                hint="Ungroup it in the program it comes from.",
            )
        if self._count > MAX_ELEMENTS:
            raise CannotRead(
                phrase("The drawing holds more than {max_elements:,} elements.", max_elements=MAX_ELEMENTS),
                where=self.where,
            )
        if self._lenient:
            tag = _known(tag, names.SVG)
            attributes = {_known(key, ""): value for key, value in attributes.items() if key.split(":")[0] != "xmlns"}
        namespace, _, name = tag.rpartition(" ")
        node = Node(namespace, name, attributes, self._node, self.parser.CurrentLineNumber)
        if self._entities:
            self._count_characters(ELEMENT_CHARACTERS + sum(map(len, attributes.values())))
        if self._node is not None:
            self._node.children.append(node)
            self._node.texts.append("")
        else:
            self.root = node
        self._node = node

    def _end(self, _tag: str) -> None:
        self._depth -= 1
        if self._node is not None:
            self._node = self._node.parent

    def _text(self, text: str) -> None:
        if self._entities:
            self._count_characters(len(text))
        if self._node is not None:
            self._node.texts[-1] += text

    def _instruction(self, target: str, data: str) -> None:
        self.instructions.append(f"{target} {data}")

    def _entity(
        self,
        name: str,
        is_parameter: int,
        value: str | None,
        _base: str | None,
        system_id: str | None,
        public_id: str | None,
        notation: str | None,
    ) -> None:
        if is_parameter or value is None or system_id or public_id or notation:
            raise CannotRead(
                phrase(
                    "The drawing wants to pull in something from outside itself (entity “{name}”); that is never done.",
                    name=name,
                ),
                where=self.where,
                hint="Ask for the artwork as a plain SVG file.",
            )
        self._entities += 1
        if self._entities > MAX_ENTITIES or len(value) > MAX_ENTITY_CHARACTERS or _NESTED.search(value):
            raise self._bomb()

    def _external(self, *_: str | None) -> int:
        raise CannotRead(
            "The drawing wants to pull in another file; that is never done.",
            where=self.where,
            hint="Ask for the artwork as a plain SVG file.",
        )

    def _count_characters(self, count: int) -> None:
        self._characters += count
        if self._characters > self._room:
            raise self._bomb()

    def _bomb(self) -> CannotRead:
        return CannotRead(
            "The file is built to swell when it is opened (an entity bomb); it was left alone.",
            where=self.where,
            hint="Do not use it; ask for the artwork again.",
        )


def _known(name: str, default: str) -> str:
    """Return a name with a prefix as "namespace name", by what the prefix commonly stands for."""
    prefix, colon, local = name.rpartition(":")
    if not colon:
        return f"{default} {local}" if default else local
    common = {"svg": names.SVG, "xlink": names.XLINK, "xml": names.XML, names.PREFIX: names.OURS}
    return f"{common.get(prefix, prefix)} {local}"


def _not_xml(error: expat.ExpatError, data: bytes, where: str) -> CannotRead:
    if "amplification" in str(error):
        return CannotRead(
            "The file is built to swell when it is opened (an entity bomb); it was left alone.",
            where=where,
            hint="Do not use it; ask for the artwork again.",
        )
    start = data[:512].lstrip(b"\xef\xbb\xbf \t\r\n")
    if start[:1] != b"<" and b"<\0" not in start[:4] and b"\0<" not in start[:4]:
        return CannotRead(
            "This is not an SVG drawing.", where=where, hint="Ask for the artwork as SVG, or export it again."
        )
    reason = expat.ErrorString(error.code) or "it is not well formed"
    return CannotRead(
        phrase("The drawing is broken in line {lineno}: {reason}.", lineno=error.lineno, reason=reason),
        where=where,
        hint="Save it again in the program it comes from, or ask for the artwork again.",
    )


def _unpacked(data: bytes, where: str) -> bytes:
    unpacker = zlib.decompressobj(zlib.MAX_WBITS | 16)
    try:
        result = unpacker.decompress(data, MAX_BYTES + 1)
    except zlib.error:
        raise CannotRead("The compressed drawing is broken.", where=where, hint="Ask for the artwork again.") from None
    if len(result) > MAX_BYTES or unpacker.unconsumed_tail:
        raise _too_large(where)
    if not unpacker.eof:
        raise CannotRead("The compressed drawing is cut short.", where=where, hint="Ask for the artwork again.")
    return result


def _too_large(where: str) -> CannotRead:
    return CannotRead(
        phrase("The drawing is larger than {max_bytes} MB.", max_bytes=MAX_BYTES // 1_000_000),
        where=where,
        hint="Thin it out in the program it comes from: fewer points, no embedded photographs.",
    )
