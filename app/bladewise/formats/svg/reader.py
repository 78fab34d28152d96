"""From the tree of an SVG file to a job: the walk through a drawing.

Every element is met with the map from its user units to the sheet, its properties, its viewport and
the clips it stands in; what comes out are elements of a job, in mm on the sheet. What has no place in
a job is counted and told (`notes.py`), never dropped in silence.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from bladewise.document import Element, Group, Job, Lettering, Picture, Shape
from bladewise.document.elements import bounds_of
from bladewise.errors import CannotRead
from bladewise.formats.svg import own
from bladewise.formats.svg.cascade import INITIAL, Properties, geometry, properties
from bladewise.formats.svg.clip_paths import ClipPaths
from bladewise.formats.svg.clips import Clip, clipped
from bladewise.formats.svg.layers import Ids, layers_of, title_of
from bladewise.formats.svg.markers import MARKED, MARKERS, marker_place, vertices
from bladewise.formats.svg.notes import Notes
from bladewise.formats.svg.paint import Painter, reference
from bladewise.formats.svg.pictures import picture_data, picture_place
from bladewise.formats.svg.shapes import SHAPES, shape_path
from bladewise.formats.svg.survey import NOT_DRAWN, is_above, is_wanted, survey
from bladewise.formats.svg.text import TextReader
from bladewise.formats.svg.tree import MAX_DEPTH, Node, Progress, Tree
from bladewise.formats.svg.values import LARGEST, Frame, length, transform
from bladewise.formats.svg.viewport import Size, nested, sheet_of
from bladewise.geometry.affine import IDENTITY, Affine
from bladewise.geometry.path import Path, rectangle
from bladewise.geometry.regions import Region
from bladewise.phrases import phrase

MAX_REPEATED = 100_000
"""Elements drawn more than once through `use`; a few dozen nested uses could make thousands of millions."""
_GROUPS = frozenset({"g", "a", "svg", "switch", "symbol"})


class Place(NamedTuple):
    """Where an element is met."""

    ctm: Affine
    found: Properties
    frame: Frame
    clips: tuple[Clip, ...] = ()
    chain: tuple[Node, ...] = ()
    depth: int = 0


class Reader:
    """Reads one tree."""

    def __init__(self, tree: Tree, *, where: str, progress: Progress | None = None) -> None:
        """Gather the style sheets and the ids of a tree."""
        self.tree = tree
        self.where = where
        self.notes = Notes()
        self.sheet = survey(tree, self.notes)
        self._progress = progress
        self._drawn = 0
        self.is_ours = tree.root.ours("version") is not None
        self.ids = Ids(tree)
        self._painter = Painter(tree, self.sheet, self.notes)
        self._clip_paths = ClipPaths(tree, self.sheet, self.notes)
        self._texts = TextReader(self._painter, self.sheet, self.notes)

    def job(self, name: str) -> Job:
        """Return the drawing as a job; its name is the title it states, else `name`.

        Raises
        ------
        CannotRead
            If it nests or repeats its parts beyond measure.
        """
        try:
            return self._job(name)
        except RecursionError:  # references inside references, each within its own limit
            raise CannotRead(
                "The drawing nests its parts too deep.", where=self.where, hint="Ungroup it where it comes from."
            ) from None

    def _job(self, name: str) -> Job:
        root = self.tree.root
        found = properties(root, INITIAL, self.sheet, Frame(100.0, 100.0))
        sheet = sheet_of(root, found.own, self.notes)
        place = Place(sheet.ctm, found, sheet.frame)
        placed = self._transformed(root, place) if "transform" in root.attributes else place
        placed = placed._replace(clips=self._clip_paths.of(found, placed.ctm, sheet.frame, None, "drawing"))
        tops: list[tuple[Node, Element]] = []
        for child in root.children:
            tops += [(child, element) for element in self._element(child, placed)]
        self._note_effects(root, found)
        layers = own.layers(tops) if self.is_ours else layers_of(self._faded(tops, root, found), self.ids)
        stated = root.ours("name")
        return Job(
            name=(title_of(root) or name) if stated is None else stated,
            width_mm=sheet.width_mm,
            height_mm=sheet.height_mm,
            layers=layers,
            materials=own.materials(root),
            notes=(*own.notes(root), *self.notes.sentences()),
            ordered_width_mm=own.ordered(root, "width"),
            ordered_height_mm=own.ordered(root, "height"),
            details=own.details(root),
        )

    def _faded(self, tops: list[tuple[Node, Element]], root: Node, found: Properties) -> list[tuple[Node, Element]]:
        """Return what the root holds in one group, where the drawing as a whole is translucent."""
        opacity = self._painter.style(found, IDENTITY, Frame(1.0, 1.0), None).opacity
        if opacity == 1.0 or not tops:
            return tops
        return [(root, Group(self.ids.of(root), tuple(element for _, element in tops), opacity=opacity))]

    def _element(self, node: Node, outer: Place) -> list[Element]:
        """Return what an element draws: nothing, one element, or for a text several."""
        if not node.is_svg:
            return []
        name = node.name
        if name in NOT_DRAWN:
            return []
        if outer.depth > MAX_DEPTH:
            raise CannotRead(
                phrase("The drawing repeats parts inside one another more than {max_depth} deep.", max_depth=MAX_DEPTH),
                where=self.where,
            )
        if not is_wanted(node):
            return []
        self._count()
        if (lettering := node.ours("lettering")) is not None:
            return [self._own_lettering(node, lettering, outer)]
        place = self._met(node, outer)
        self._note_effects(node, place.found)
        place = self._transformed(node, place)
        if name in SHAPES:
            return self._shape(node, outer, place)
        if name in _GROUPS:
            return self._group(node, place)
        if name == "use":
            return self._use(node, place)
        if name == "image":
            return self._image(node, place)
        if name == "text":
            return self._text(node, place)
        self.notes.add("unknown", name)
        return []

    def _met(self, node: Node, outer: Place) -> Place:
        found = properties(node, outer.found, self.sheet, outer.frame)
        return outer._replace(found=found, depth=outer.depth + 1)

    def _transformed(self, node: Node, place: Place) -> Place:
        text = place.found.own.get("transform") or node.attributes.get("transform")
        if text is None:
            return place
        step = transform(text)
        if step is None:
            self.notes.add("transform", node.id or node.name)
            return place
        if (origin := place.found.own.get("transform-origin")) and step != IDENTITY:
            words = {"left": "0", "top": "0", "center": "50%", "right": "100%", "bottom": "100%"}
            parts = [words.get(part, part) for part in origin.split()] + ["50%"]
            x = length(parts[0], place.frame.width, place.frame) or 0.0
            y = length(parts[1], place.frame.height, place.frame) or 0.0
            step = Affine.moved(x, y).after(step).after(Affine.moved(-x, -y))
        return place._replace(ctm=step if place.ctm == IDENTITY else place.ctm.after(step))

    def _note_effects(self, node: Node, found: Properties) -> None:
        own_properties = found.own
        if not own_properties:
            return
        if own_properties.get("filter", "none") != "none":
            self.notes.add("filter", node.id)
        if own_properties.get("mix-blend-mode", "normal") != "normal":
            self.notes.add("blend")

    def _shape(self, node: Node, outer: Place, place: Place) -> list[Element]:
        found = place.found
        exact = own.exact_path(node, outer.ctm, place.ctm)
        if exact is not None:
            on_sheet, user, complete = exact.on_sheet, exact.user, True
        else:
            if node.name == "path" and (arcs := node.ours("arcs")) is not None:
                user, complete = own.path_with_arcs(node.attributes.get("d", ""), arcs, place.ctm)
            else:
                frame = place.frame if node.name == "path" else replace(place.frame, font_size=found.font_size)
                user, complete = shape_path(node, geometry(node, found), frame)
            on_sheet = user if place.ctm == IDENTITY else user.transformed(place.ctm)
        if not complete:
            self.notes.add("path data", node.id)
        if not user and not self.is_ours:
            return []
        if user and not np.abs(on_sheet.points).max() <= LARGEST:  # not "> LARGEST", which NaN would pass
            self.notes.add("place", node.id)
            return []
        needs_box = "url" in found.get("fill") or "url" in found.get("stroke") or self._clip_paths.needs_box(found)
        user_box = user.bounds() if needs_box else None
        pen = exact.pen if exact is not None else None
        ctm = place.ctm if pen is None else outer.ctm
        style = self._painter.style(found, ctm, place.frame, user_box, name=node.id or node.name, pen=pen)
        shape = Shape(
            id=self.ids.of(node),
            path=on_sheet,
            style=style,
            name=self._name(node),
            material=node.ours("material"),
            visible=_is_shown(found),
            locked=node.ours("locked") == "yes",
        )
        clips = place.clips + self._clip_paths.of(found, place.ctm, place.frame, user_box, shape.id)
        elements: list[Element] = self._clipped(shape, clips) if clips else [shape]
        if node.name in MARKED and any(found.inherited.get(end, "none") != "none" for end in MARKERS):
            return self._with_markers(node, elements, user, place._replace(clips=clips))
        return elements

    def _with_markers(self, node: Node, elements: list[Element], user: Path, place: Place) -> list[Element]:
        """Return a line grouped with its markers (SVG 2, "Markers")."""
        found = place.found
        frame = replace(place.frame, font_size=found.font_size)
        stroke_width = length(found.get("stroke-width", "1"), frame.diagonal, frame)
        drawn: list[Element] = []
        for vertex in vertices(user):
            link = reference(found.get(f"marker-{vertex.kind}"))
            marker = self.tree.by_id.get(link.id) if link is not None and not link.external else None
            if marker is None or marker.name != "marker" or marker in place.chain:
                continue
            at = marker_place(marker, vertex, 1.0 if stroke_width is None else stroke_width, frame)
            if at is None:
                continue
            own_found = self._clip_paths.inherited_by(marker)
            inner = Place(
                place.ctm.after(at.affine), own_found, at.frame, place.clips, (*place.chain, marker), place.depth + 1
            )
            if _is_cut(own_found):
                inner = inner._replace(clips=(*inner.clips, (Region(rectangle(*at.clip).transformed(inner.ctm)),)))
            drawn += [element for child in marker.children for element in self._element(child, inner)]
        if not drawn:
            return elements
        stem = node.id or node.name
        return [Group(self.ids.fresh(f"{stem}-with-markers"), (*elements, *drawn), visible=_is_shown(found))]

    def _clipped(self, shape: Shape, clips: tuple[Clip, ...]) -> list[Element]:
        left, changed = clipped(shape, clips)
        if changed:
            self.notes.add("clip", shape.id)
        return left

    def _group(self, node: Node, place: Place, *, size: Size | None = None) -> list[Element]:
        if node.name in ("svg", "symbol"):
            place = self._viewport(node, place, size)
        ctm_outer, found = place.ctm, place.found
        children = node.children
        if node.name == "switch":
            children = [
                child for child in children if child.is_svg and child.name not in NOT_DRAWN and is_wanted(child)
            ][:1]
        asks_clip = self._clip_paths.needs_box(found)
        if not asks_clip:
            more = self._clip_paths.of(found, ctm_outer, place.frame, None, node.id)
            place = place._replace(clips=place.clips + more)
        identity = self.ids.of(node)
        elements: list[Element] = [element for child in children for element in self._element(child, place)]
        if asks_clip and elements:
            box = bounds_of([element.transformed(ctm_outer.inverse()) for element in elements])
            clips = self._clip_paths.of(found, ctm_outer, place.frame, box, node.id)
            elements = [left for element in elements for left in self._clip_all(element, clips)]
        if not elements and not self.is_ours:
            return []
        opacity = self._painter.style(found, IDENTITY, place.frame, None).opacity if "opacity" in found.own else 1.0
        return [
            Group(
                id=identity,
                children=tuple(elements),
                name=self._name(node),
                opacity=opacity,
                visible=found.own.get("display") != "none",
                locked=node.ours("locked") == "yes",
            )
        ]

    def _clip_all(self, element: Element, clips: tuple[Clip, ...]) -> list[Element]:
        if isinstance(element, Group):
            children = [left for child in element.children for left in self._clip_all(child, clips)]
            return [replace(element, children=tuple(children))] if children else []
        return self._clipped(element, clips) if isinstance(element, Shape) else [element]

    def _viewport(self, node: Node, place: Place, size: Size | None) -> Place:
        """Enter a nested viewport: its own viewBox, and a clip to its edge unless its overflow is shown."""
        frame = replace(place.frame, font_size=place.found.font_size)
        inner = nested(node, geometry(node, place.found), frame, size)
        clips = place.clips
        if inner.width > 0.0 and inner.height > 0.0 and _is_cut(place.found):
            edge = rectangle(0.0, 0.0, inner.width, inner.height).transformed(place.ctm.after(inner.moved))
            clips = (*clips, (Region(edge),))
        return place._replace(ctm=place.ctm.after(inner.moved).after(inner.fit), clips=clips, frame=inner.frame)

    def _use(self, node: Node, place: Place) -> list[Element]:
        link = node.href
        if not link.startswith("#"):
            self.notes.add("external use" if link else "broken reference", link)
            return []
        target = self.tree.by_id.get(link[1:])
        if target is None:
            self.notes.add("broken reference", link)
            return []
        if target in place.chain or is_above(target, node):
            self.notes.add("circle", link)
            return []
        frame = place.frame
        values = geometry(node, place.found)
        x, y = length(values.get("x"), frame.width, frame) or 0.0, length(values.get("y"), frame.height, frame) or 0.0
        moved = place._replace(
            ctm=place.ctm.after(Affine.moved(x, y)),
            chain=(*place.chain, target),
            clips=place.clips + self._clip_paths.of(place.found, place.ctm, frame, None, node.id),
        )
        if target.name in ("svg", "symbol"):
            size = length(values.get("width"), frame.width, frame), length(values.get("height"), frame.height, frame)
            inner = self._transformed(target, self._met(target, moved))
            elements = self._group(target, inner, size=size) if is_wanted(target) else []
        else:
            elements = self._element(target, moved)
        return self._as_one(node, target, place.found, elements)

    def _as_one(self, node: Node, target: Node, found: Properties, elements: list[Element]) -> list[Element]:
        """Return what a use draws under the use's own name, opacity and visibility."""
        if not elements:
            return []
        opacity = self._painter.style(found, IDENTITY, Frame(1.0, 1.0), None).opacity if "opacity" in found.own else 1.0
        hidden = found.own.get("display") == "none"
        if len(elements) > 1 or (opacity < 1.0 and not isinstance(elements[0], Group)):
            return [Group(self.ids.of(node), tuple(elements), self._name(node), opacity, not hidden)]
        element = elements[0]
        if isinstance(element, Group):
            element = replace(element, opacity=element.opacity * opacity)
        if node.id:
            element = replace(element, id=self.ids.of(node))
        name = self._name(node) or self._name(target)
        return [replace(element, name=name, visible=element.visible and not hidden)]

    def _image(self, node: Node, place: Place) -> list[Element]:
        link = node.href
        if not link.startswith("data:"):
            self.notes.add("external image" if link else "broken reference", link)
            return []
        picture = picture_data(link)
        if picture is None:
            self.notes.add("image kind", node.id or link.partition(",")[0])
            return []
        rule = node.attributes.get("preserveAspectRatio", "")
        fit = picture_place(geometry(node, place.found), rule, picture.pixels, place.frame)
        if fit is None:
            return []
        own_properties = place.found.own
        sliced = "slice" in rule and picture.pixels is not None
        if sliced or place.clips or any(own_properties.get(name, "none") != "none" for name in ("clip-path", "mask")):
            self.notes.add("picture uncut", node.id)
        style = self._painter.style(place.found, IDENTITY, place.frame, None)
        return [
            Picture(
                id=self.ids.of(node),
                data=picture.data,
                media_type=picture.media_type,
                transform=fit if place.ctm == IDENTITY else place.ctm.after(fit),
                name=self._name(node),
                opacity=style.opacity,
                material=node.ours("material"),
                visible=_is_shown(place.found),
                locked=node.ours("locked") == "yes",
            )
        ]

    def _text(self, node: Node, place: Place) -> list[Element]:
        texts = self._texts.read(node, place.found, place.ctm, place.frame)
        if not texts:
            return []
        if place.found.own.get("clip-path", "none") != "none":
            self.notes.add("clip left", node.id or "text")
        hidden = place.found.own.get("display") == "none"
        found = [replace(text, id=self.ids.of(node), visible=text.visible and not hidden) for text in texts]
        if len(found) == 1:
            return [replace(found[0], name=self._name(node))]
        return [Group(self.ids.of(node), tuple(found), self._name(node))]

    def _own_lettering(self, node: Node, text: str, outer: Place) -> Lettering:
        """Return lettering saved by ourselves, with the outline and the look of the path inside."""
        place = self._transformed(node, self._met(node, outer))
        held: Shape | None = None
        for child in node.children:
            if child.is_svg and child.name == "path":
                inner = self._transformed(child, self._met(child, place))
                found = self._shape(child, place, inner)
                held = next((one for one in found if isinstance(one, Shape)), None)
                break
        lettering = own.lettering(node, text, place.ctm, held)
        visible = place.found.own.get("display") != "none"
        return replace(lettering, id=self.ids.of(node), name=node.ours("name") or "", visible=visible)

    def _name(self, node: Node) -> str:
        if self.is_ours:
            return node.ours("name") or ""
        return title_of(node) or node.id

    def _count(self) -> None:
        self._drawn += 1
        if self._drawn > self.tree.count + MAX_REPEATED:
            raise CannotRead(
                phrase(
                    "The drawing repeats its parts more than {max_repeated:,} times; it was left alone.",
                    max_repeated=MAX_REPEATED,
                ),
                where=self.where,
                hint="Ask for the artwork with fewer repetitions.",
            )
        if self._progress is not None and self._drawn % 500 == 0:
            self._progress(min(1.0, self._drawn / max(1, self.tree.count)))


def _is_shown(found: Properties) -> bool:
    return found.own.get("display") != "none" and found.get("visibility") not in ("hidden", "collapse")


def _is_cut(found: Properties) -> bool:
    """Whether a viewport hides what lies outside it (SVG 2: all but the outermost do, unless told otherwise)."""
    return found.own.get("overflow", "hidden") in ("hidden", "scroll")
