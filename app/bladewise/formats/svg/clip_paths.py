"""What clip paths and plain masks let through, read from a drawing onto the sheet.

A mask lets light through as it is bright (CSS Masking 1, "Masks"). Where all of it is opaque white and
black, as in most drawings, it is a clip in other words and is read as one; any other mask is left to
be noted.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from bladewise.document import Colour
from bladewise.formats.svg.cascade import INITIAL, Properties, geometry, properties
from bladewise.formats.svg.paint import reference
from bladewise.formats.svg.shapes import SHAPES, shape_path
from bladewise.formats.svg.values import Frame, colour, fraction, length, transform
from bladewise.geometry.affine import IDENTITY, Affine
from bladewise.geometry.booleans import cut_out, fit_inside, merge
from bladewise.geometry.path import EMPTY, rectangle
from bladewise.geometry.regions import FillRule, Region

if TYPE_CHECKING:
    from bladewise.document.elements import Box
    from bladewise.formats.svg.clips import Clip
    from bladewise.formats.svg.css import StyleSheet
    from bladewise.formats.svg.notes import Notes
    from bladewise.formats.svg.tree import Node, Tree

MAX_CLIPS = 20
"""Clip paths that refer to one another further than this are taken for a circle."""
WHITE, BLACK = Colour(255, 255, 255), Colour(0, 0, 0)


class _Scene(NamedTuple):
    """What an element of a clip path or a mask is met with."""

    found: Properties
    ctm: Affine
    frame: Frame
    chain: tuple[Node, ...]
    in_mask: bool = False


class _NotPlain(Exception):
    """A mask holds something other than opaque black and white."""


class ClipPaths:
    """Reads the clip paths and masks of one drawing."""

    def __init__(self, tree: Tree, sheet: StyleSheet, notes: Notes) -> None:
        """Begin with a drawing's elements and rules."""
        self._tree = tree
        self._sheet = sheet
        self._notes = notes

    def needs_box(self, found: Properties) -> bool:
        """Whether an element's clip path or mask is given in parts of its box."""
        for name, units in (("clip-path", "clipPathUnits"), ("mask", "maskContentUnits")):
            link = reference(found.own.get(name, ""))
            node = self._tree.by_id.get(link.id) if link is not None else None
            if node is not None and node.attributes.get(units) == "objectBoundingBox":
                return True
        return False

    def of(self, found: Properties, ctm: Affine, frame: Frame, box: Box | None, name: str) -> tuple[Clip, ...]:
        """Return the clips an element's clip-path and mask ask for, outermost first; () if none.

        `box` is the extent of what is clipped, in its user units, for what is given in parts of it.
        """
        clips = self._clipping(found, ctm, frame, box, (), name)
        if (node := self._target(found.own.get("mask", "none"), "mask", "mask", name)) is not None:
            try:
                clips += self._mask(node, ctm, frame, box)
            except _NotPlain:
                self._notes.add("mask", name)
        return clips

    def _clipping(
        self, found: Properties, ctm: Affine, frame: Frame, box: Box | None, chain: tuple[Node, ...], name: str
    ) -> tuple[Clip, ...]:
        """Return what an element's clip-path asks for; `chain` holds the clip paths it stands in."""
        node = self._target(found.own.get("clip-path", "none"), "clipPath", "clip left", name)
        return () if node is None else self._clips(node, ctm, frame, box, chain, name)

    def _target(self, value: str, kind: str, note: str, name: str) -> Node | None:
        if value == "none":
            return None
        link = reference(value)
        if link is None:
            self._notes.add(note, name)
            return None
        node = self._tree.by_id.get(link.id) if not link.external else None
        if node is None or node.name != kind:
            self._notes.add("external use" if link.external else "broken reference", value)
            return None
        return node

    def _clips(
        self, node: Node, ctm: Affine, frame: Frame, box: Box | None, chain: tuple[Node, ...], name: str
    ) -> tuple[Clip, ...]:
        if node in chain or len(chain) > MAX_CLIPS:
            self._notes.add("circle", node.id)
            return ()
        found = properties(node, self._inherited(node), self._sheet, frame)
        above: tuple[Clip, ...] = ()
        link = reference(found.get("clip-path"))
        if link is not None and (own := self._tree.by_id.get(link.id)) is not None and own.name == "clipPath":
            above = self._clips(own, ctm, frame, box, (*chain, node), name)
        if node.attributes.get("clipPathUnits") == "objectBoundingBox":
            if box is None:
                return (*above, ())
            ctm, frame = _in_parts_of(box, ctm, frame)
        ctm = ctm.after(transform(found.get("transform") or node.attributes.get("transform")) or IDENTITY)
        regions: list[Region] = []
        for child in node.children:
            scene = _Scene(properties(child, found, self._sheet, frame), ctm, frame, (*chain, node))
            regions += [region for region, _ in self._regions(child, scene)]
        return (*above, tuple(regions))

    def _mask(self, node: Node, ctm: Affine, frame: Frame, box: Box | None) -> tuple[Clip, ...]:
        found = properties(node, self._inherited(node), self._sheet, frame)
        if found.own.get("mask", "none") != "none" or found.own.get("clip-path", "none") != "none":
            raise _NotPlain
        clips: tuple[Clip, ...] = ()
        sides = [node.attributes.get(side) for side in ("x", "y", "width", "height")]
        if node.attributes.get("maskUnits") == "userSpaceOnUse":
            wholes = (frame.width, frame.height, frame.width, frame.height)
            values = [length(side, whole, frame) for side, whole in zip(sides, wholes, strict=True)]
            if all(value is not None for value in values):
                x, y, width, height = (value or 0.0 for value in values)
                clips = ((Region(rectangle(x, y, width, height).transformed(ctm)),),)
        elif any(side is not None and side not in usual for side, usual in zip(sides, _USUAL, strict=True)):
            raise _NotPlain
        if node.attributes.get("maskContentUnits") == "objectBoundingBox":
            if box is None:
                raise _NotPlain
            ctm, frame = _in_parts_of(box, ctm, frame)
        shown = Region(EMPTY)
        for child in node.children:
            scene = _Scene(properties(child, found, self._sheet, frame), ctm, frame, (node,), in_mask=True)
            for region, is_bright in self._regions(child, scene):
                if is_bright:
                    shown = Region(merge([shown, region])) if shown.path else region
                elif shown.path:
                    shown = Region(cut_out(shown, [region]))
        return (*clips, (shown,))

    def _regions(self, node: Node, scene: _Scene) -> list[tuple[Region, bool]]:
        """Return what an element lets through, or in a mask also (False) what it darkens."""
        found, frame = scene.found, scene.frame
        if not node.is_svg or found.get("display") == "none" or node in scene.chain:
            return []
        ctm = scene.ctm.after(transform(found.get("transform") or node.attributes.get("transform")) or IDENTITY)
        if node.name == "use":
            return self._used(node, scene._replace(ctm=ctm))
        if node.name == "g" and scene.in_mask:
            if _has_effects(found):
                raise _NotPlain
            return [
                one
                for child in node.children
                for one in self._regions(
                    child, scene._replace(found=properties(child, found, self._sheet, frame), ctm=ctm)
                )
            ]
        if node.name not in SHAPES or found.get("visibility") in ("hidden", "collapse"):
            if node.name in ("text", "image"):
                if scene.in_mask:
                    raise _NotPlain
                self._notes.add("clip left", node.id or node.name)
            return []
        is_bright = _brightness(found) if scene.in_mask else True
        path, _ = shape_path(node, geometry(node, found), replace(frame, font_size=found.font_size))
        rule = FillRule.EVEN_ODD if found.get("fill-rule" if scene.in_mask else "clip-rule") == "evenodd" else None
        region = Region(path.transformed(ctm) if path else EMPTY, rule or FillRule.NONZERO)
        if found.get("clip-path", "none") != "none":
            for clip in self._clipping(found, ctm, frame, path.bounds(), scene.chain, node.id):
                region = Region(fit_inside(region, clip))
        return [(region, is_bright)] if region.path else []

    def _used(self, node: Node, scene: _Scene) -> list[tuple[Region, bool]]:
        frame = scene.frame
        target = self._tree.by_id.get(node.href[1:]) if node.href.startswith("#") else None
        if target is None or (target.name not in SHAPES and not (scene.in_mask and target.name == "g")):
            return []
        if scene.in_mask and _has_effects(scene.found):
            raise _NotPlain
        x = length(node.attributes.get("x"), frame.width, frame) or 0.0
        y = length(node.attributes.get("y"), frame.height, frame) or 0.0
        inner = properties(target, scene.found, self._sheet, frame)
        moved = scene._replace(found=inner, ctm=scene.ctm.after(Affine.moved(x, y)), chain=(*scene.chain, node))
        return self._regions(target, moved)

    def inherited_by(self, node: Node) -> Properties:
        """Return the properties of an element that is not drawn where it stands: a marker."""
        return properties(node, self._inherited(node), self._sheet, Frame(0.0, 0.0))

    def _inherited(self, node: Node) -> Properties:
        chain: list[Node] = []
        above = node.parent
        while above is not None:
            chain.append(above)
            above = above.parent
        found = INITIAL
        for one in reversed(chain):
            found = properties(one, found, self._sheet, Frame(0.0, 0.0))
        return found


_USUAL = (("-10%", "-.1", "-0.1", "0", "0%"), ("-10%", "-.1", "-0.1", "0", "0%"), *[("120%", "1.2", "1", "100%")] * 2)
"""Extents of a mask that hold all that is masked, but for strokes at its edge."""


def _in_parts_of(box: Box, ctm: Affine, frame: Frame) -> tuple[Affine, Frame]:
    unit = Affine(box[2] - box[0], 0.0, 0.0, box[3] - box[1], box[0], box[1])
    return ctm.after(unit), Frame(1.0, 1.0, frame.font_size)


def _has_effects(found: Properties) -> bool:
    own = found.own
    return fraction(own.get("opacity", "1")) < 1.0 or any(
        own.get(name, "none") != "none" for name in ("filter", "mask", "clip-path")
    )


def _brightness(found: Properties) -> bool:
    """Return whether a shape in a mask is opaque white, or else opaque black.

    Raises
    ------
    _NotPlain
        If it is neither.
    """
    own = found.own
    if found.get("stroke", "none") != "none" or any(own.get(name, "none") != "none" for name in ("filter", "mask")):
        raise _NotPlain
    text = found.get("fill", "black")
    if text.lower() == "currentcolor":
        text = found.get("color", "black")
    flat = colour(text)
    opacity = fraction(own.get("opacity", "1")) * fraction(found.get("fill-opacity", "1"))
    if flat is None or flat[1] * opacity < 1.0 or flat[0] not in (WHITE, BLACK):
        raise _NotPlain
    return flat[0] == WHITE
