"""From the tree of an SVG file to a job: the walk through a drawing.

Every element is met with the map from its user units to the sheet, its properties, its viewport and
the clips it stands in; what comes out are elements of a job, in mm on the sheet. What has no place in
a job is counted and told (`notes.py`), never dropped in silence.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple, TypeAlias

from bladewise.document import Element, Group, Job, Lettering, Picture, Shape
from bladewise.document.elements import bounds_of
from bladewise.errors import CannotRead
from bladewise.formats.svg import own
from bladewise.formats.svg.cascade import INITIAL, Properties, geometry, properties
from bladewise.formats.svg.clip_paths import ClipPaths
from bladewise.formats.svg.clips import Clip, clipped, rectangle_clip
from bladewise.formats.svg.css import StyleSheet
from bladewise.formats.svg.layers import Ids, layers_of, title_of
from bladewise.formats.svg.notes import Notes
from bladewise.formats.svg.paint import Painter
from bladewise.formats.svg.pictures import picture_data
from bladewise.formats.svg.shapes import SHAPES, shape_path
from bladewise.formats.svg.text import TextReader, outlined, plain_style
from bladewise.formats.svg.tree import MAX_DEPTH, Node, Progress, Tree
from bladewise.formats.svg.values import LARGEST, Frame, length, transform
from bladewise.formats.svg.viewport import fitted, sheet_of, view_box
from bladewise.geometry.affine import IDENTITY, Affine
from bladewise.geometry.regions import Region

MAX_DRAWN = 500_000
"""Elements drawn, counting each repetition by `use`; a few dozen nested uses could make thousands of millions."""
LANGUAGE = "en"
"""The language chosen among alternatives (`switch`)."""

_DEFINITIONS = frozenset({
    "clipPath", "color-profile", "cursor", "defs", "desc", "filter", "linearGradient", "marker", "mask", "metadata",
    "pattern", "radialGradient", "style", "symbol", "title", "view", "hatch", "solidColor", "stop",
})  # fmt: skip
_ANIMATIONS = frozenset({"animate", "animateColor", "animateMotion", "animateTransform", "set", "discard"})
_NOTED = {"script": "script", "foreignObject": "foreignObject", "font": "font", "font-face": "font"}
_GROUPS = frozenset({"g", "a", "svg", "switch", "symbol"})


Size: TypeAlias = tuple[float | None, float | None]


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
        self.sheet = StyleSheet()
        self._progress = progress
        self._drawn = 0
        self.is_ours = tree.root.ours("version") is not None
        self.ids = Ids(tree)
        self._gather()
        self._painter = Painter(tree, self.sheet, self.notes)
        self._clip_paths = ClipPaths(tree, self.sheet, self.notes)
        self._texts = TextReader(self._painter, self.sheet, self.notes)

    def job(self, name: str) -> Job:
        """Return the drawing as a job; its name is the title it states, else `name`."""
        root = self.tree.root
        found = properties(root, INITIAL, self.sheet, Frame(100.0, 100.0))
        sheet = sheet_of(root, found.own, self.notes)
        place = Place(sheet.ctm, found, sheet.frame)
        placed = self._transformed(root, place) if "transform" in root.attributes else place
        if found.get("display") == "none":
            found.own.pop("display")  # on the outermost element it would hide the whole drawing from its operator
        tops: list[tuple[Node, Element]] = []
        for child in root.children:
            tops += [(child, element) for element in self._element(child, placed)]
        layers = own.layers(tops) if self.is_ours else layers_of(tops, self.ids)
        self._note_effects(root, found)
        stated = root.ours("name")
        return Job(
            name=(title_of(root) or name) if stated is None else stated,
            width_mm=sheet.width_mm,
            height_mm=sheet.height_mm,
            layers=layers,
            materials=own.materials(root),
            notes=(*own.notes(root), *self.notes.sentences()),
        )

    def _gather(self) -> None:
        for node in self.tree.root.walk():
            if not node.is_svg:
                if node.namespace == "http://www.w3.org/2001/XInclude":
                    self.notes.add("external use", node.attributes.get("href", ""))
                continue
            name = node.name
            if name == "style" and node.attributes.get("type", "text/css") in ("", "text/css"):
                self.sheet.add(node.text)
            elif name in _ANIMATIONS:
                self.notes.add("animation")
            elif name in _NOTED:
                self.notes.add(_NOTED[name])
        for skipped in self.sheet.skipped:
            if skipped == "@font-face":
                self.notes.add("font")
            else:
                self.notes.add("style sheet", skipped)
        for instruction in self.tree.instructions:
            if instruction.startswith("xml-stylesheet"):
                self.notes.add("external use", "style sheet")

    def _element(self, node: Node, outer: Place) -> list[Element]:
        """Return what an element draws: nothing, one element, or for a text several."""
        if not node.is_svg:
            return []
        name = node.name
        if name in _DEFINITIONS or name in _ANIMATIONS or name in _NOTED:
            return []
        if outer.depth > MAX_DEPTH:
            raise CannotRead(
                f"The drawing repeats parts inside one another more than {MAX_DEPTH} deep.", where=self.where
            )
        if not _is_wanted(node):
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
        for kind in ("filter", "mask"):
            if own_properties.get(kind, "none") != "none":
                self.notes.add(kind, node.id)
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
                user, complete = shape_path(node, dict(geometry(node, found)), place.frame)
            on_sheet = user if place.ctm == IDENTITY else user.transformed(place.ctm)
        if not complete:
            self.notes.add("path data", node.id)
        if not user and not self.is_ours:
            return []
        box = on_sheet.bounds()
        if box is not None and not all(-LARGEST <= value <= LARGEST for value in box):
            self.notes.add("place", node.id)
            return []
        for end in ("marker-start", "marker-mid", "marker-end"):
            if found.inherited.get(end, "none") != "none":
                self.notes.add("marker", node.id)
                break
        needs_box = "url" in found.get("fill") or "url" in found.get("stroke") or "clip-path" in found.own
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
        return self._clipped(shape, clips) if clips else [shape]

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
                child for child in children if child.is_svg and child.name not in _DEFINITIONS and _is_wanted(child)
            ][:1]
        asks_clip = found.own.get("clip-path", "none") != "none"
        if asks_clip and "objectBoundingBox" not in self._units_of(found):
            more = self._clip_paths.of(found, ctm_outer, place.frame, None, node.id)
            place = place._replace(clips=place.clips + more)
            asks_clip = False
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

    def _units_of(self, found: Properties) -> str:
        from bladewise.formats.svg.paint import reference

        link = reference(found.get("clip-path"))
        node = self.tree.by_id.get(link.id) if link is not None else None
        return node.attributes.get("clipPathUnits", "") if node is not None else ""

    def _clip_all(self, element: Element, clips: tuple[Clip, ...]) -> list[Element]:
        if isinstance(element, Group):
            children = [left for child in element.children for left in self._clip_all(child, clips)]
            return [replace(element, children=tuple(children))] if children else []
        return self._clipped(element, clips) if isinstance(element, Shape) else [element]

    def _viewport(self, node: Node, place: Place, size: Size | None) -> Place:
        """Enter a nested viewport: its own viewBox, and a clip to its edge unless its overflow is shown."""
        frame = replace(place.frame, font_size=place.found.font_size)
        values = geometry(node, place.found)

        def measure(name: str, whole: float, default: float) -> float:
            value = length(values.get(name), whole, frame)
            return default if value is None else value

        nested = node.name == "svg"
        x, y = (measure("x", frame.width, 0.0), measure("y", frame.height, 0.0)) if nested else (0.0, 0.0)
        width, height = measure("width", frame.width, frame.width), measure("height", frame.height, frame.height)
        if size is not None:
            width, height = size[0] if size[0] is not None else width, size[1] if size[1] is not None else height
        ctm = place.ctm.after(Affine.moved(x, y))
        clips = place.clips
        if place.found.own.get("overflow", "hidden") in ("hidden", "scroll") and width > 0.0 and height > 0.0:
            clips = (*clips, (Region(rectangle_clip(0.0, 0.0, width, height).transformed(ctm)),))
        box = view_box(node)
        if box is not None and width > 0.0 and height > 0.0:
            ctm = ctm.after(fitted(box, width, height, node.attributes.get("preserveAspectRatio", "")))
            return place._replace(ctm=ctm, clips=clips, frame=Frame(box[2], box[3]))
        return place._replace(ctm=ctm, clips=clips, frame=Frame(max(width, 0.0), max(height, 0.0)))

    def _use(self, node: Node, place: Place) -> list[Element]:
        link = node.href
        if not link.startswith("#"):
            self.notes.add("external use" if link else "broken reference", link)
            return []
        target = self.tree.by_id.get(link[1:])
        if target is None:
            self.notes.add("broken reference", link)
            return []
        if target in place.chain or _is_above(target, node):
            self.notes.add("circle", link)
            return []
        frame = place.frame
        values = geometry(node, place.found)
        x, y = length(values.get("x"), frame.width, frame) or 0.0, length(values.get("y"), frame.height, frame) or 0.0
        moved = place._replace(
            ctm=place.ctm.after(Affine.moved(x, y)), chain=(*place.chain, target),
            clips=place.clips + self._clip_paths.of(place.found, place.ctm, frame, None, node.id),
        )
        if target.name in ("svg", "symbol"):
            size = length(values.get("width"), frame.width, frame), length(values.get("height"), frame.height, frame)
            inner = self._transformed(target, self._met(target, moved))
            elements = self._group(target, inner, size=size) if _is_wanted(target) else []
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
        frame, values = place.frame, geometry(node, place.found)
        x, y = length(values.get("x"), frame.width, frame) or 0.0, length(values.get("y"), frame.height, frame) or 0.0
        pixels = picture.pixels
        width = length(values.get("width"), frame.width, frame)
        height = length(values.get("height"), frame.height, frame)
        if width is None and height is None:
            width, height = pixels or (0, 0)
        elif width is None and height is not None:
            width = height * pixels[0] / pixels[1] if pixels else height
        elif height is None and width is not None:
            height = width * pixels[1] / pixels[0] if pixels else width
        if not width or not height or width < 0.0 or height < 0.0:
            return []
        rule = node.attributes.get("preserveAspectRatio", "")
        if rule.split()[:1] == ["none"] or pixels is None:
            fit = Affine(width, 0.0, 0.0, height, x, y)
        else:
            across, down = map(float, pixels)
            inner = fitted((0.0, 0.0, across, down), width, height, rule.replace("slice", "meet"))
            fit = Affine.moved(x, y).after(inner).after(Affine.scaled(across, down))
        if place.clips or place.found.own.get("clip-path", "none") != "none":
            self.notes.add("clip left", node.id or "picture")
        style = self._painter.style(place.found, IDENTITY, frame, None)
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
        found: list[Element] = []
        for text in texts:
            style = plain_style(text.style, self.notes, node.id or text.text[:30])
            text = replace(text, id=self.ids.of(node), style=style, visible=text.visible and not hidden)
            found.append(outlined(text, self.notes))
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
        if self._drawn > MAX_DRAWN:
            raise CannotRead(
                f"The drawing repeats its parts more than {MAX_DRAWN:,} times; it was left alone.",
                where=self.where,
                hint="Ask for the artwork with fewer repetitions.",
            )
        if self._progress is not None and self._drawn % 500 == 0:
            self._progress(min(1.0, self._drawn / max(1, self.tree.count)))


def _is_shown(found: Properties) -> bool:
    return found.own.get("display") != "none" and found.get("visibility") not in ("hidden", "collapse")


def _is_wanted(node: Node) -> bool:
    """Whether an element's conditions hold: it asks for no extension, and for our language if for any."""
    if node.attributes.get("requiredExtensions", "").strip():
        return False
    languages = node.attributes.get("systemLanguage")
    if languages is None:
        return True
    return any(part.strip().lower().split("-")[0] == LANGUAGE for part in languages.split(","))


def _is_above(target: Node, node: Node) -> bool:
    above: Node | None = node
    while above is not None:
        if above is target:
            return True
        above = above.parent
    return False
