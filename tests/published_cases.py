"""Polygon-clipping cases that others published, read into regions, an operation and what they say comes out.

Three sets (packaging/outside_data.py): the test cases of GEOS and JTS, those of Clipper2, and those of a
library after F. Martinez, A. Rueda and F. Feito, "A new algorithm for computing Boolean operations on
polygons", 2009. Their lengths have units of their own; here they are taken for millimetres.
"""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any, NamedTuple
from xml.etree import ElementTree

import numpy as np
import shapely

from bladewise.geometry.booleans import cut_out, keep_common, merge, split_at_overlaps
from bladewise.geometry.path import EMPTY, joined, polygon
from bladewise.geometry.regions import FillRule, Region

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path as File

    from bladewise.geometry.path import Path


class Case(NamedTuple):
    """Regions, the operation on them, and the published result: a geometry, or area and number of rings."""

    name: str
    operation: str
    regions: list[Region]
    expected: Any


def carried_out(operation: str, regions: Sequence[Region]) -> Path:
    """Return our result of a published operation; the first region is the subject."""
    match operation:
        case "union":
            return merge(regions)
        case "intersection":
            return keep_common(regions)
        case "difference":
            return cut_out(regions[0], regions[1:])
        case "xor":
            return merge([Region(part.path) for part in split_at_overlaps(regions) if len(part.members) % 2])
    raise ValueError(operation)


# ------------------------------------------------------------------------------------- GEOS and JTS

_OPERATIONS = {"union": "union", "intersection": "intersection", "difference": "difference", "symdifference": "xor"}


def geos_cases(file: File, skipped: list[str]) -> Iterator[Case]:
    """Yield the overlays of areas in one file; the reasons for leaving others out go to `skipped`."""
    run = ElementTree.parse(file).getroot()
    precision = run.find("precisionModel")
    fixed = precision is not None and precision.get("scale") is not None
    for number, case in enumerate(run.iter("case"), 1):
        shapes: dict[str, Any] = {}
        for key in "ab":
            text = case.findtext(key)
            if text and text.strip():
                shapes[key] = _geometry(text)
        for test in case.iter("test"):
            op = test.find("op")
            name = (op.get("name") or "").lower().removesuffix("ng")
            if name not in _OPERATIONS:
                continue
            if fixed or op.get("arg3"):
                skipped.append("rounded to a grid of the case's own")
                continue
            named = [(op.get(key) or "").lower() for key in ("arg1", "arg2") if op.get(key)]
            operands = [shapes.get(key) for key in named]
            try:
                expected = _geometry(op.text or "")
            except shapely.GEOSException:
                skipped.append("the published result is no geometry")
                continue
            if any(one is None or not _areal(one) for one in operands) or not _areal(expected):
                skipped.append("points, lines or mixed collections")
                continue
            if not all(shapely.is_valid(one) for one in [*operands, expected]):
                skipped.append("not simple, and the case asks what a library does with that")
                continue
            regions = [Region(path_of(one), FillRule.EVEN_ODD) for one in operands]
            if name == "union" and len(operands) == 1:
                regions = [Region(path_of(part), FillRule.EVEN_ODD) for part in shapely.get_parts(operands[0])]
            yield Case(f"{file.stem} {number}", _OPERATIONS[name], regions, expected)


def geos_identities(file: File) -> Iterator[tuple[str, Region, Region]]:
    """Yield the pairs of areas that one file says must fulfil the identities of areas ("overlayAreaTest")."""
    run = ElementTree.parse(file).getroot()
    for number, case in enumerate(run.iter("case"), 1):
        if not any((op.get("name") or "").lower() == "overlayareatest" for op in case.iter("op")):
            continue
        texts = [case.findtext(key) for key in "ab"]
        if not all(texts):
            continue
        shapes = [_geometry(text or "") for text in texts]
        if all(_areal(one) and shapely.is_valid(one) for one in shapes):
            first, second = (Region(path_of(one), FillRule.EVEN_ODD) for one in shapes)
            yield f"{file.stem} {number}", first, second


def _geometry(text: str) -> Any:
    text = " ".join(text.split())
    packed = text.replace(" ", "")
    return shapely.from_wkb(packed) if re.fullmatch(r"[0-9A-Fa-f]+", packed) else shapely.from_wkt(text)


def _areal(shape: Any) -> bool:
    return shapely.get_type_id(shape) in {3, 6} or shapely.is_empty(shape)


def path_of(shape: Any) -> Path:
    """Return a polygon or several as rings of lines."""
    rings = shapely.get_rings(shapely.get_parts(shape))
    return joined(polygon(shapely.get_coordinates(ring)[:-1].tolist()) for ring in rings)


# ----------------------------------------------------------------------------------------- Clipper2


class Published(NamedTuple):
    """Area and number of rings."""

    area_mm2: float
    rings: int


def clipper_cases(file: File) -> Iterator[Case]:
    """Yield the cases of Clipper2's Polygons.txt whose fill rule SVG knows."""
    for block in re.split(r"(?m)^CAPTION:", file.read_text(encoding="utf-8").replace("\r", ""))[1:]:
        head, _, rest = block.partition("SUBJECTS")
        fields = dict(re.findall(r"(?m)^(\w+): *(\S+)", head))
        number = head.split(".")[0].strip()
        subjects, _, clips = rest.partition("CLIPS")
        rules = {"EVENODD": FillRule.EVEN_ODD, "NONZERO": FillRule.NONZERO}
        if fields["FILLRULE"] not in rules:
            continue
        regions = [Region(_rings(text), rules[fields["FILLRULE"]]) for text in (subjects, clips) if text.strip()]
        if fields["CLIPTYPE"] == "INTERSECTION" and len(regions) == 1:
            continue
        published = Published(float(fields["SOL_AREA"]), int(fields["SOL_COUNT"]))
        yield Case(number, fields["CLIPTYPE"].lower(), regions, published)


def _rings(text: str) -> Path:
    rings = []
    for line in text.splitlines():
        numbers = np.array(re.findall(r"-?\d+(?:\.\d+)?", line), dtype=np.float64)
        if len(numbers) >= 6:
            rings.append(polygon(numbers[: len(numbers) // 2 * 2].reshape(-1, 2).tolist()))
    return joined(rings) if rings else EMPTY


# ------------------------------------------------------------------- after Martinez, Rueda and Feito


def sweep_case(file: File) -> Case:
    """Return the case one result file holds; its arguments lie beside it."""
    features = json.loads((file.parent / "args.geojson").read_text(encoding="utf-8"))["features"]
    result = json.loads(file.read_text(encoding="utf-8"))["geometry"]
    regions = [Region(_painted(feature["geometry"])) for feature in features]
    return Case(file.parent.name, file.stem, regions, shapely.from_geojson(json.dumps(result)))


def _painted(geometry: dict[str, Any]) -> Path:
    """Return the area of a GeoJSON polygon or several: each outer ring less its holes, whatever they cross."""
    several = geometry["coordinates"] if geometry["type"] == "MultiPolygon" else [geometry["coordinates"]]
    parts = []
    for outer, *holes in several:
        cutters = [Region(polygon(map(tuple, ring)), FillRule.EVEN_ODD) for ring in holes]
        parts.append(Region(cut_out(Region(polygon(map(tuple, outer)), FillRule.EVEN_ODD), cutters)))
    return merge(parts)


def by_faces(case: Case) -> Any:
    """Return a case's result reckoned face by face: all lines noded, each face asked for its winding numbers."""
    noded = shapely.union_all([shapely.multilinestrings(_lines(region.path)) for region in case.regions])
    faces = shapely.get_parts(shapely.polygonize([noded]))
    if not len(faces):
        return shapely.from_wkt("POLYGON EMPTY")
    spots = shapely.get_coordinates(shapely.point_on_surface(faces))
    inside = np.array([_painted_at(region, spots) for region in case.regions])
    chosen = {
        "union": inside.any(axis=0),
        "intersection": inside.all(axis=0),
        "difference": inside[0] & ~inside[1:].any(axis=0),
        "xor": inside.sum(axis=0) % 2 == 1,
    }[case.operation]
    return shapely.union_all(faces[chosen])


def _lines(path: Path) -> Any:
    return shapely.linestrings(path.points[:, [0, 3]])


def _painted_at(region: Region, spots: Any) -> Any:
    """Return whether each spot is painted, by counting the edges that a ray to the right crosses."""
    start, end = region.path.points[:, 0], region.path.points[:, 3]
    x, y = spots[:, :1], spots[:, 1:]
    up, down = (start[:, 1] <= y) & (end[:, 1] > y), (start[:, 1] > y) & (end[:, 1] <= y)
    side = (end[:, 0] - start[:, 0]) * (y - start[:, 1]) - (end[:, 1] - start[:, 1]) * (x - start[:, 0])
    turns = (up & (side > 0)).sum(axis=1) - (down & (side < 0)).sum(axis=1)
    return turns % 2 != 0 if region.rule is FillRule.EVEN_ODD else turns != 0
