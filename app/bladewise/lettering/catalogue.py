"""What there is to know of a face before it is chosen: axes, instances, features, permission, and whether it joins.

Axes and instances come from the table fvar, features from GSUB, the embedding permission from OS/2
(OpenType 1.9, "OS/2 fsType"). Whether letters join, as in handwriting, is measured: small letters are set
and merged, and if nearly all come out joined the face is a connected script.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from fontTools.ttLib import TTFont

from bladewise.geometry.affine import Affine
from bladewise.geometry.booleans import merge
from bladewise.geometry.measures import ring_areas
from bladewise.geometry.regions import Region
from bladewise.lettering.fonts import BROKEN
from bladewise.lettering.loaded import loaded
from bladewise.lettering.shaping import shape_line, without_glyph

if TYPE_CHECKING:
    from bladewise.lettering.fonts import Face

_SAMPLES = ("numerous", "camoes", "mansarum")
"""Words of small letters without dots, descenders or stems that stand apart by design."""

_MOST_MEET = 0.8
"""Of the pairs of neighbours at least so many meet in a connected script; an s or an r may end a stroke."""

_EM = 100.0
"""In mm, for measuring."""


class Embedding(StrEnum):
    """What the font's maker permits of files that carry the font itself; outlines are not the font."""

    INSTALLABLE = "may be embedded and installed"
    EDITABLE = "may be embedded for editing"
    PREVIEW = "may be embedded for viewing and printing"
    RESTRICTED = "must not be embedded without permission"


class Axis(NamedTuple):
    """One axis of a variable font."""

    tag: str
    name: str
    least: float
    default: float
    most: float


class Instance(NamedTuple):
    """A named place on the axes."""

    name: str
    axes: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class Facts:
    """What there is to know of a face."""

    axes: tuple[Axis, ...] = ()
    instances: tuple[Instance, ...] = ()
    features: tuple[str, ...] = ()
    embedding: Embedding = Embedding.INSTALLABLE
    joins: bool = False


@lru_cache(maxsize=512)
def facts(face: Face) -> Facts:
    """Return what there is to know of a face; nothing much of a file that cannot be read."""
    try:
        with face.file.open("rb") as stream, TTFont(stream, fontNumber=face.index, lazy=True) as font:
            axes, instances = _variations(font)
            return Facts(axes, instances, _features(font), _embedding(font), joins(face))
    except BROKEN:
        return Facts()


@lru_cache(maxsize=512)
def joins(face: Face) -> bool:
    """Whether the small letters of a face overlap their neighbours, as in a connected script."""
    font = loaded(face, face.weight)
    if not all(font.has(letter) for text in _SAMPLES for letter in text):
        return False
    met = 0
    for text in _SAMPLES:
        line = shape_line(font, text)
        letters = [
            Region(font.outline(glyph).transformed(Affine(_EM, 0.0, 0.0, _EM, float(x) * _EM, float(y) * _EM)))
            for glyph, (x, y) in zip(line.glyphs.tolist(), line.places.tolist(), strict=True)
        ]
        word = merge([letter for letter in letters if letter.path])
        met += len(text) - int((ring_areas(word) > 0.0).sum())
    return met >= _MOST_MEET * sum(len(text) - 1 for text in _SAMPLES)


@lru_cache(maxsize=512)
def substitutions(face: Face) -> tuple[str, ...]:
    """Return the tags of the features by which a face takes other glyphs, sorted; none of a file without any."""
    try:
        with face.file.open("rb") as stream, TTFont(stream, fontNumber=face.index, lazy=True) as font:
            return _features(font)
    except BROKEN:
        return ()


def lacking(face: Face, text: str) -> str:
    """Return the characters of a text that a face has no glyph for, each once."""
    return without_glyph(loaded(face, face.weight), text)


def _variations(font: TTFont) -> tuple[tuple[Axis, ...], tuple[Instance, ...]]:
    if "fvar" not in font:
        return (), ()
    names, table = font["name"], font["fvar"]
    axes = tuple(
        Axis(
            axis.axisTag,
            names.getDebugName(axis.axisNameID) or axis.axisTag,
            float(axis.minValue),
            float(axis.defaultValue),
            float(axis.maxValue),
        )
        for axis in table.axes
    )
    instances = tuple(
        Instance(
            names.getDebugName(instance.subfamilyNameID) or "",
            tuple((tag, float(place)) for tag, place in instance.coordinates.items()),
        )
        for instance in table.instances
    )
    return axes, instances


def _features(font: TTFont) -> tuple[str, ...]:
    if "GSUB" not in font or font["GSUB"].table.FeatureList is None:
        return ()
    return tuple(sorted({record.FeatureTag for record in font["GSUB"].table.FeatureList.FeatureRecord}))


def _embedding(font: TTFont) -> Embedding:
    """Return the least restrictive of the permissions that are set, as the specification reads them."""
    if "OS/2" not in font:
        return Embedding.INSTALLABLE
    bits = int(font["OS/2"].fsType)
    if bits & 0x8:
        return Embedding.EDITABLE
    if bits & 0x4:
        return Embedding.PREVIEW
    return Embedding.RESTRICTED if bits & 0x2 else Embedding.INSTALLABLE
