"""What Bladewise itself has put into a drawing, read back: exact geometry, lettering, layers, materials.

None of it is believed against what the drawing shows: exact geometry counts only where it agrees with
the path data within `ARC_AGREEMENT_MM`.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bladewise.document import (
    BLACK,
    DETAILS,
    PERFORATION,
    Align,
    Colour,
    CutKind,
    Element,
    Group,
    JobDetails,
    Layer,
    Lettering,
    Material,
    MaterialKind,
    Profile,
    Shape,
    Style,
    Typesetting,
)
from bladewise.document.profiles import KNOWN_PROFILES, VALUES
from bladewise.formats.svg.path_data import ARC_AGREEMENT_MM, PathData, read_path_data
from bladewise.formats.svg.values import number, transform
from bladewise.geometry.affine import IDENTITY, Affine
from bladewise.geometry.path import EMPTY, Path, SegmentKind

if TYPE_CHECKING:
    from bladewise.formats.svg.tree import Node


class Exact(NamedTuple):
    """A path on the sheet to the last bit, the same in user units, and the pen of its stroke."""

    on_sheet: Path
    user: Path
    pen: Affine | None


def exact_path(node: Node, outer: Affine, ctm: Affine) -> Exact | None:
    """Return the exact path saved beside the path data, if the two agree.

    `outer` maps the parent's user units to the sheet, `ctm` the element's own; the exact path is in
    the parent's.
    """
    text = node.ours("d")
    if text is None:
        return None
    exact, complete = read_path_data(text)
    user, _ = path_with_arcs(node.attributes.get("d", ""), node.ours("arcs"), ctm)
    on_sheet = exact if outer == IDENTITY else exact.transformed(outer)
    if not complete or not agree(on_sheet, user.transformed(ctm)):
        return None
    pen = node.ours("pen")
    return Exact(on_sheet, user, transform(pen) if pen is not None else None)


def path_with_arcs(data: str, arcs: str | None, ctm: Affine) -> PathData:
    """Return path data with the exact arcs that stand beside it."""
    scale = ctm.mean_scale
    return read_path_data(data, exact_arcs=arcs, tolerance=ARC_AGREEMENT_MM / scale if scale > 0.0 else 0.0)


def agree(one: Path, other: Path) -> bool:
    """Whether an exact path runs where the path data says; an arc written as a cubic is judged by its ends."""
    if len(one) != len(other) or not np.array_equal(one.starts, other.starts):
        return False
    if not np.array_equal(one.closed, other.closed):
        return False
    if len(one) == 0:
        return True
    # The A command of a slender ellipse is less sharp than its ends, the more so the longer it is.
    reach = np.abs(one.points - one.points[:, :1]).max(axis=(1, 2))
    allowed = ARC_AGREEMENT_MM * np.where(one.kinds == SegmentKind.ARC, np.maximum(1.0, reach), 1.0)
    near = np.abs(one.points - other.points).max(axis=2) <= allowed[:, None]
    same = one.kinds == other.kinds
    return bool(near[:, [0, 3]].all() and near[same].all())


def lettering(node: Node, text: str, ctm: Affine, held: Shape | None) -> Lettering:
    """Return live lettering from the group that shows it; `held` is the outline inside it."""

    def told(name: str, default: float) -> float:
        return number(node.ours(name), default) or 0.0

    align = node.ours("align") or "start"
    stored = transform(node.ours("transform")) or IDENTITY
    return Lettering(
        id="",
        text=text,
        family=node.ours("family") or "",
        size_mm=told("size", 0.0),
        style=held.style if held is not None else Style(),
        align=Align(align) if align in ("start", "middle", "end") else Align.START,
        weight=int(told("weight", 400.0)),
        italic=node.ours("italic") == "yes",
        letter_spacing_mm=told("letter-spacing", 0.0),
        setting=_setting(node),
        transform=stored if ctm == IDENTITY else ctm.after(stored),
        outline=held.path if held is not None else EMPTY,
        material=node.ours("material"),
        locked=node.ours("locked") == "yes",
    )


def _setting(node: Node) -> Typesetting:
    """Return how lettering is set; plainly where that cannot be read, for its outlines are there all the same."""
    text = node.ours("setting")
    if text is None:
        return Typesetting()
    along = node.ours("along")
    try:
        return Typesetting.from_plain(json.loads(text), read_path_data(along)[0] if along else EMPTY)
    except (ValueError, RecursionError):
        return Typesetting()


def layers(tops: list[tuple[Node, Element]]) -> tuple[Layer, ...]:
    """Return the layers of our own file; what another program has put beside them makes a layer too."""
    result: list[Layer] = []
    loose: list[Element] = []

    def gather() -> None:
        if loose:
            result.append(Layer(f"{loose[0].id}-layer", "Art", tuple(loose)))
            loose.clear()

    for node, element in tops:
        name = node.ours("layer")
        if name is None or not isinstance(element, Group):
            loose.append(element)
            continue
        gather()
        material = node.ours("material")
        result.append(Layer(element.id, name, element.children, material, element.visible, element.locked))
    gather()
    return tuple(result)


def data(root: Node) -> list[Node]:
    """Return the elements of our own part of a drawing: materials, notes, steps, base."""
    return [
        entry
        for child in root.children
        if child.name == "metadata"
        for part in child.children
        if part.name == "job"
        for entry in part.children
    ]


def materials(root: Node) -> tuple[Material, ...]:
    """Return the materials listed in our own file."""
    result = []
    for entry in data(root):
        if entry.name == "material":
            kind = entry.attributes.get("kind", "cut")
            try:
                colour = Colour.from_hex(entry.attributes.get("colour", ""))
                known = MaterialKind(kind)
                cut = CutKind(entry.attributes.get("cut", CutKind.KISS))
            except ValueError:
                continue
            named = (entry.attributes.get("key", ""), entry.attributes.get("name", ""))
            result.append(Material(*named, colour, known, _profile(entry), cut, *_perforation(entry)))
    return tuple(result)


def _perforation(entry: Node) -> tuple[float, float]:
    """Return how long the cuts and gaps of a perforation are; what makes no sense is the default."""
    usual = Material("", "", BLACK)
    cut, gap = (
        value if value is not None and PERFORATION.least <= value <= PERFORATION.most else default
        for value, default in (
            (number(entry.attributes.get("perforation-cut-mm"), None), usual.perforation_cut_mm),
            (number(entry.attributes.get("perforation-gap-mm"), None), usual.perforation_gap_mm),
        )
    )
    return cut, gap


def _profile(entry: Node) -> Profile:
    """Return what was said of a material; what makes no sense is the default."""
    told: dict[str, float | None] = {}
    for name, bounds in VALUES.items():
        value = number(entry.attributes.get(name.replace("_", "-")), None)
        told[name] = value if value is not None and bounds.least <= value <= bounds.most else None
    like = entry.attributes.get("like")
    kind = like if like in KNOWN_PROFILES else None
    return Profile(**told, heat_transfer=entry.attributes.get("heat-transfer") == "yes", like=kind)


def ordered(root: Node, name: str) -> float | None:
    """Return the width or height that was ordered, in mm; None where none was."""
    value = number(root.ours(f"ordered-{name}"), None)
    return value if value is not None and value > 0.0 else None


def details(root: Node) -> JobDetails:
    """Return what is said of the order: customer, number, due date, revision."""
    entry = next((each for each in data(root) if each.name == "details"), None)
    if entry is None:
        return JobDetails()
    return JobDetails(**{name: entry.attributes.get(name.replace("_", "-"), "") for name in DETAILS})


def notes(root: Node) -> tuple[str, ...]:
    """Return the notes kept with the job."""
    return tuple(entry.text for entry in data(root) if entry.name == "note")
