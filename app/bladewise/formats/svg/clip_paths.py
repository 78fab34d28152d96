"""What clip paths, nested viewports and symbols let through, read from a drawing onto the sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.formats.svg.cascade import Properties, geometry, properties
from bladewise.formats.svg.paint import reference
from bladewise.formats.svg.shapes import SHAPES, shape_path
from bladewise.formats.svg.values import Frame, length, transform
from bladewise.geometry.affine import IDENTITY, Affine
from bladewise.geometry.path import EMPTY
from bladewise.geometry.regions import FillRule, Region

if TYPE_CHECKING:
    from bladewise.document.elements import Box
    from bladewise.formats.svg.clips import Clip
    from bladewise.formats.svg.css import StyleSheet
    from bladewise.formats.svg.notes import Notes
    from bladewise.formats.svg.tree import Node, Tree


class ClipPaths:
    """Reads the clip paths of one drawing."""

    def __init__(self, tree: Tree, sheet: StyleSheet, notes: Notes) -> None:
        """Begin with a drawing's elements and rules."""
        self._tree = tree
        self._sheet = sheet
        self._notes = notes

    def of(self, found: Properties, ctm: Affine, frame: Frame, box: Box | None, name: str) -> tuple[Clip, ...]:
        """Return the clips an element's clip-path property asks for, outermost first; () if none.

        `box` is the extent of what is clipped, in its user units, for clip paths given in parts of it.
        """
        value = found.get("clip-path")
        if not value or value == "none":
            return ()
        link = reference(value)
        if link is None:
            self._notes.add("clip left", name)
            return ()
        node = self._tree.by_id.get(link.id) if not link.external else None
        if node is None or node.name != "clipPath":
            self._notes.add("external use" if link.external else "broken reference", value)
            return ()
        return self._clips(node, ctm, frame, box, (), name)

    def _clips(
        self, node: Node, ctm: Affine, frame: Frame, box: Box | None, chain: tuple[Node, ...], name: str
    ) -> tuple[Clip, ...]:
        if node in chain:
            self._notes.add("circle", node.id)
            return ()
        found = properties(node, self._inherited(node), self._sheet, frame)
        above: tuple[Clip, ...] = ()
        link = reference(found.get("clip-path"))
        if link is not None and (own := self._tree.by_id.get(link.id)) is not None:
            above = self._clips(own, ctm, frame, box, (*chain, node), name)
        inner = ctm
        if node.attributes.get("clipPathUnits") == "objectBoundingBox":
            if box is None:
                return (*above, ())
            unit = Affine(box[2] - box[0], 0.0, 0.0, box[3] - box[1], box[0], box[1])
            inner, frame = ctm.after(unit), Frame(1.0, 1.0, frame.font_size)
        inner = inner.after(transform(found.get("transform") or node.attributes.get("transform")) or IDENTITY)
        regions: list[Region] = []
        for child in node.children:
            regions += self._regions(child, properties(child, found, self._sheet, frame), inner, frame, (*chain, node))
        return (*above, tuple(regions))

    def _regions(
        self, node: Node, found: Properties, ctm: Affine, frame: Frame, chain: tuple[Node, ...]
    ) -> list[Region]:
        if not node.is_svg or found.get("display") == "none" or node in chain:
            return []
        ctm = ctm.after(transform(found.get("transform") or node.attributes.get("transform")) or IDENTITY)
        if node.name == "use":
            target = self._tree.by_id.get(node.href[1:]) if node.href.startswith("#") else None
            if target is None or (target.name not in SHAPES and target.name != "text"):
                return []
            x = length(node.attributes.get("x"), frame.width, frame) or 0.0
            y = length(node.attributes.get("y"), frame.height, frame) or 0.0
            inner = properties(target, found, self._sheet, frame)
            return self._regions(target, inner, ctm.after(Affine.moved(x, y)), frame, (*chain, node))
        if found.get("visibility") in ("hidden", "collapse"):
            return []
        if node.name == "text":
            self._notes.add("clip left", node.id or "text")
            return []
        if node.name not in SHAPES:
            return []
        path, _ = shape_path(node, dict(geometry(node, found)), frame)
        rule = FillRule.EVEN_ODD if found.get("clip-rule") == "evenodd" else FillRule.NONZERO
        region = Region(path.transformed(ctm) if path else EMPTY, rule)
        if found.get("clip-path", "none") != "none":
            from bladewise.geometry.booleans import fit_inside

            for clip in self.of(found, ctm, frame, path.bounds(), node.id):
                region = Region(fit_inside(region, clip))
        return [region] if region.path else []

    def _inherited(self, node: Node) -> Properties:
        from bladewise.formats.svg.cascade import INITIAL

        chain: list[Node] = []
        above = node.parent
        while above is not None:
            chain.append(above)
            above = above.parent
        found = INITIAL
        for one in reversed(chain):
            found = properties(one, found, self._sheet, Frame(0.0, 0.0))
        return found
