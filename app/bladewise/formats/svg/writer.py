"""A job as a layered SVG that any reader shows correctly, and that reads back to the last bit.

One user unit is one millimetre, so every number in the file is the number in the job, as the shortest
text that reads back the same. What SVG has no words for (names, materials, locks, live lettering,
exact arcs, pens) stands beside it in our own namespace.
"""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

from bladewise.document import (
    DETAILS,
    Element,
    Gradient,
    GradientKind,
    Group,
    Job,
    JobDetails,
    Layer,
    Lettering,
    Material,
    Paint,
    Picture,
    Shape,
    Style,
)
from bladewise.document.profiles import VALUES
from bladewise.formats.svg import names
from bladewise.formats.svg.own import agree
from bladewise.formats.svg.path_data import decimal, read_path_data, write_exact_arcs, write_exact_path, write_path_data
from bladewise.formats.svg.pictures import data_uri
from bladewise.formats.svg.telling import told_of_job
from bladewise.geometry.affine import IDENTITY, Affine
from bladewise.geometry.regions import FillRule
from bladewise.geometry.strokes import LineCap, LineJoin

if TYPE_CHECKING:
    from collections.abc import Mapping

    from bladewise.geometry.path import Path

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_SPECIAL = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "\n": "&#10;", "\r": "&#13;", "\t": "&#9;"}
_ESCAPED = re.compile('[&<>"\n\r\t]')


def svg_text(job: Job, *, order: Mapping[str, int] | None = None) -> str:
    """Return a job as the text of an SVG file.

    Parameters
    ----------
    job
        The job.
    order
        For whoever makes it: in which turn each material, by its id, is put on, from 1. Then layers and what is cut
        say it as `data-order`, with `data-material`, `data-cut` and the lengths of a perforation, and layers have
        their name as a title.
    """
    return document(Markup(job, order=order).lines())


def document(lines: list[str]) -> str:
    """Return a whole file from the lines of its root element."""
    return "\n".join(['<?xml version="1.0" encoding="UTF-8"?>', *lines, ""])


def escaped(text: str) -> str:
    """Return text fit for an attribute or for the inside of an element."""
    text = _NOT_XML.sub("\ufffd", text)
    return _ESCAPED.sub(lambda match: _SPECIAL[match.group()], text)


def attributes(pairs: Mapping[str, str | None]) -> str:
    """Return attributes, each after a blank, those without a value left out."""
    return "".join(f' {name}="{escaped(value)}"' for name, value in pairs.items() if value is not None)


def matrix(affine: Affine) -> str:
    """Return a transform as SVG writes it, to the last bit."""
    return f"matrix({' '.join(decimal(value) for value in affine)})"


class Markup:
    """Writes one job, either to be shown, or in our own namespace, to be kept and not shown.

    The kept form has the same structure; its elements carry our prefix, and so do its ids, so that
    no program can draw it or refer into it.
    """

    def __init__(self, job: Job, *, kept: bool = False, order: Mapping[str, int] | None = None) -> None:
        """Begin with a job."""
        self._job = job
        self._told = {} if order is None else told_of_job(job, order)
        self._titled = order is not None
        self._tag = f"{names.PREFIX}:" if kept else ""
        self._id = f"{names.PREFIX}:id" if kept else "id"
        self._kept = kept
        self._paints: dict[tuple[Gradient, Affine | None], str] = {}

    def lines(self, metadata: list[str] | None = None, *, indent: str = "") -> list[str]:
        """Return the lines of the whole `svg` element, with more metadata of our own if given."""
        job, tag = self._job, self._tag
        body = [line for layer in job.layers for line in self._layer(layer, f"{indent}  ")]
        size = {"width": f"{decimal(job.width_mm)}mm", "height": f"{decimal(job.height_mm)}mm"}
        box = {"viewBox": f"0 0 {decimal(job.width_mm)} {decimal(job.height_mm)}"}
        own = {
            f"{names.PREFIX}:version": names.VERSION,
            f"{names.PREFIX}:name": job.name,
            f"{names.PREFIX}:ordered-width": _told(job.ordered_width_mm),
            f"{names.PREFIX}:ordered-height": _told(job.ordered_height_mm),
        }
        spaces = {} if self._kept else {
            "xmlns": names.SVG, "xmlns:xlink": names.XLINK, f"xmlns:{names.PREFIX}": names.OURS,
        }  # fmt: skip
        lines = [f"{indent}<{tag}svg{attributes({**spaces, **size, **box, **own})}>"]
        if job.name and not self._kept:
            lines.append(f"{indent}  <title>{escaped(job.name)}</title>")
        if self._paints:
            lines.append(f"{indent}  <{tag}defs>")
            for (gradient, pen), identity in self._paints.items():
                lines += self._gradient(gradient, pen, identity, f"{indent}    ")
            lines.append(f"{indent}  </{tag}defs>")
        lines += body
        lines += self._metadata(metadata or [], indent)
        lines.append(f"{indent}</{tag}svg>")
        return lines

    def _metadata(self, more: list[str], indent: str) -> list[str]:
        job, tag, prefix = self._job, self._tag, names.PREFIX
        entries = [
            f"{indent}      <{prefix}:material"
            + attributes(
                {
                    "key": one.id,
                    "name": one.name,
                    "colour": one.colour.hex,
                    "kind": one.kind.value,
                    **_cut(one),
                    **_profile(one),
                }
            )
            + "/>"
            for one in job.materials
        ]
        if job.details != JobDetails():
            told = {name.replace("_", "-"): getattr(job.details, name) or None for name in DETAILS}
            entries.append(f"{indent}      <{prefix}:details{attributes(told)}/>")
        entries += [f"{indent}      <{prefix}:note>{escaped(note)}</{prefix}:note>" for note in job.notes]
        entries += more
        if not entries:
            return []
        return [
            f"{indent}  <{tag}metadata>",
            f"{indent}    <{prefix}:job>",
            *entries,
            f"{indent}    </{prefix}:job>",
            f"{indent}  </{tag}metadata>",
        ]

    def _layer(self, layer: Layer, indent: str) -> list[str]:
        head = attributes(
            {
                self._id: layer.id,
                f"{names.PREFIX}:layer": layer.name,
                **_own("", layer.material, locked=layer.locked),
                "display": None if layer.visible else "none",
                **self._told.get(layer.id, {}),
            }
        )
        return self._container(head, layer.children, indent, title=layer.name if self._titled else "")

    def _container(self, head: str, children: tuple[Element, ...], indent: str, *, title: str = "") -> list[str]:
        if not children:
            return [f"{indent}<{self._tag}g{head}/>"]
        inner = [f"{indent}  <title>{escaped(title)}</title>"] if title else []
        inner += [line for child in children for line in self._element(child, f"{indent}  ")]
        return [f"{indent}<{self._tag}g{head}>", *inner, f"{indent}</{self._tag}g>"]

    def _element(self, element: Element, indent: str) -> list[str]:
        base = {
            self._id: element.id,
            **_own(element.name, None if isinstance(element, Group) else element.material, locked=element.locked),
            "display": None if element.visible else "none",
            **self._told.get(element.id, {}),
        }
        match element:
            case Group():
                opacity = None if element.opacity == 1.0 else decimal(element.opacity)
                return self._container(attributes({**base, "opacity": opacity}), element.children, indent)
            case Shape():
                return [self._path(base, element.path, element.style, indent)]
            case Picture():
                return [self._picture(base, element, indent)]
            case Lettering():
                return self._lettering(base, element, indent)

    def _path(self, base: Mapping[str, str | None], path: Path, style: Style, indent: str) -> str:
        pen = style.stroke.pen if style.stroke is not None else None
        shown, own = path, {}
        if pen is not None:
            own = {f"{names.PREFIX}:pen": matrix(pen), f"{names.PREFIX}:d": write_exact_path(path)}
            if _is_usable(pen):
                shown = path.transformed(pen.inverse())
            else:
                pen = None
        data, arcs = write_path_data(shown), write_exact_arcs(shown)
        if arcs and pen is None and read_path_data(data, exact_arcs=arcs).path == path:
            own[f"{names.PREFIX}:arcs"] = arcs
        elif arcs:
            own[f"{names.PREFIX}:d"] = write_exact_path(path)
            if not agree(path, read_path_data(data).path.transformed(pen or IDENTITY)):
                data = write_path_data(shown, arcs_as_cubics=True)
        place = {"transform": matrix(pen) if pen is not None else None, "d": data}
        return f"{indent}<{self._tag}path{attributes({**base, **place, **self._style(style, pen), **own})}/>"

    def _style(self, style: Style, pen: Affine | None) -> dict[str, str | None]:
        result: dict[str, str | None] = {
            "fill": self._paint(style.fill, pen),
            "fill-rule": "evenodd" if style.fill_rule is FillRule.EVEN_ODD else None,
            "fill-opacity": _unless_one(style.fill_opacity),
            "opacity": _unless_one(style.opacity),
        }
        stroke = style.stroke
        if stroke is not None:
            result |= {
                "stroke": self._paint(stroke.paint, pen),
                "stroke-width": decimal(stroke.width_mm),
                "stroke-linecap": None if stroke.cap is LineCap.BUTT else stroke.cap.value,
                "stroke-linejoin": None if stroke.join is LineJoin.MITER else stroke.join.value,
                "stroke-miterlimit": None if stroke.miter_limit == 4.0 else decimal(stroke.miter_limit),
                "stroke-dasharray": " ".join(map(decimal, stroke.dash)) or None,
                "stroke-dashoffset": None if stroke.dash_offset == 0.0 else decimal(stroke.dash_offset),
                "stroke-opacity": _unless_one(stroke.opacity),
            }
        result["paint-order"] = "stroke" if style.stroke_first else None
        return result

    def _paint(self, paint: Paint | None, pen: Affine | None) -> str:
        if paint is None:
            return "none"
        if not isinstance(paint, Gradient):
            return paint.hex
        key = (paint, pen)
        if key not in self._paints:
            taken = set(self._paints.values())
            stem = "kept-paint" if self._kept else "paint"
            self._paints[key] = self._job.fresh_id(f"{stem}-{len(taken) + 1}", taken=taken)
        return f"url(#{self._paints[key]})"

    def _gradient(self, gradient: Gradient, pen: Affine | None, identity: str, indent: str) -> list[str]:
        moved = gradient.transform if pen is None else pen.inverse().after(gradient.transform)
        if gradient.kind is GradientKind.LINEAR:
            kind = "linearGradient"
            place = dict(zip(("x1", "y1", "x2", "y2"), (*gradient.start, *gradient.end), strict=True))
        else:
            kind = "radialGradient"
            values = (*gradient.end, gradient.radius, *gradient.start)
            place = dict(zip(("cx", "cy", "r", "fx", "fy"), values, strict=True))
        head = attributes(
            {
                self._id: identity,
                "gradientUnits": "userSpaceOnUse",
                **{name: decimal(value) for name, value in place.items()},
                "spreadMethod": None if gradient.spread.value == "pad" else gradient.spread.value,
                "gradientTransform": None if moved == IDENTITY else matrix(moved),
                f"{names.PREFIX}:transform": None if pen is None else matrix(gradient.transform),
            }
        )
        stops = [
            f"{indent}  <{self._tag}stop"
            + attributes(
                {
                    "offset": decimal(stop.offset),
                    "stop-color": stop.colour.hex,
                    "stop-opacity": _unless_one(stop.opacity),
                }
            )
            + "/>"
            for stop in gradient.stops
        ]
        return [f"{indent}<{self._tag}{kind}{head}>", *stops, f"{indent}</{self._tag}{kind}>"]

    def _picture(self, base: Mapping[str, str | None], picture: Picture, indent: str) -> str:
        return (
            f"{indent}<{self._tag}image"
            + attributes(
                {
                    **base,
                    "width": "1",
                    "height": "1",
                    "preserveAspectRatio": "none",
                    "transform": matrix(picture.transform),
                    "opacity": _unless_one(picture.opacity),
                    ("href" if self._kept else "xlink:href"): data_uri(picture.data, picture.media_type),
                }
            )
            + "/>"
        )

    def _lettering(self, base: Mapping[str, str | None], text: Lettering, indent: str) -> list[str]:
        """Return lettering as a group that shows its outlines; the words stand beside them."""
        prefix, tag = names.PREFIX, self._tag
        head = attributes(
            {
                **base,
                f"{prefix}:lettering": text.text,
                f"{prefix}:family": text.family,
                f"{prefix}:size": decimal(text.size_mm),
                f"{prefix}:align": None if text.align.value == "start" else text.align.value,
                f"{prefix}:weight": None if text.weight == 400 else str(text.weight),
                f"{prefix}:italic": "yes" if text.italic else None,
                f"{prefix}:letter-spacing": None if text.letter_spacing_mm == 0.0 else decimal(text.letter_spacing_mm),
                f"{prefix}:setting": json.dumps(setting, ensure_ascii=False)
                if (setting := text.setting.plain())
                else None,
                f"{prefix}:along": write_exact_path(bending.path) if (bending := text.setting.bending) else None,
                f"{prefix}:transform": None if text.transform == IDENTITY else matrix(text.transform),
            }
        )
        lines = [f"{indent}<{tag}g{head}>", self._path({}, text.outline, text.style, f"{indent}  ")]
        if not text.outline and not self._kept:  # the font was not at hand: let the reader find one
            style = self._style(text.style, None)
            look = {name: value for name, value in style.items() if not name.startswith("stroke")}
            shown = attributes(
                {
                    "transform": matrix(text.transform),
                    "font-family": text.family,
                    "font-size": decimal(text.size_mm),
                    "font-weight": str(text.weight),
                    "font-style": "italic" if text.italic else None,
                    "text-anchor": text.align.value,
                    "letter-spacing": decimal(text.letter_spacing_mm) if text.letter_spacing_mm else None,
                    **look,
                }
            )
            lines.append(f"{indent}  <text{shown}>{escaped(text.text)}</text>")
        return [*lines, f"{indent}</{tag}g>"]


def _profile(material: Material) -> dict[str, str | None]:
    """Return what the operator has said of a material; nothing of what is left at its default."""
    profile = material.profile
    told = {name.replace("_", "-"): _told(getattr(profile, name)) for name in VALUES}
    return {**told, "heat-transfer": "yes" if profile.heat_transfer else None, "like": profile.like}


def _cut(material: Material) -> dict[str, str | None]:
    """Return how a material is cut; nothing of what is left at its default."""
    plain = Material(material.id, material.name, material.colour)
    told: dict[str, str | None] = {} if material.cut is plain.cut else {"cut": material.cut.value}
    for name in ("perforation_cut_mm", "perforation_gap_mm"):
        if (value := getattr(material, name)) != getattr(plain, name):
            told[name.replace("_", "-")] = decimal(value)
    return told


def _told(value: float | None) -> str | None:
    return None if value is None else decimal(value)


def _own(name: str, material: str | None, *, locked: bool) -> dict[str, str | None]:
    prefix = names.PREFIX
    return {
        f"{prefix}:name": name or None,
        f"{prefix}:material": material,
        f"{prefix}:locked": "yes" if locked else None,
    }


def _unless_one(value: float) -> str | None:
    return None if value == 1.0 else decimal(value)


def _is_usable(pen: Affine) -> bool:
    size = max(abs(pen.a), abs(pen.b), abs(pen.c), abs(pen.d))
    return abs(pen.determinant) > 1e-9 * size * size > 0.0
