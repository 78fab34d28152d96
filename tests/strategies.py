"""Jobs, paths and styles made up by hypothesis, for every test that must hold for all of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import strategies as st

from bladewise.document import (
    Align,
    Bending,
    BendKind,
    Colour,
    Element,
    Fit,
    Gradient,
    GradientKind,
    Group,
    Height,
    Job,
    Layer,
    Lettering,
    Letters,
    Material,
    MaterialKind,
    Picture,
    Profile,
    Shape,
    Spread,
    Stop,
    Stroke,
    Style,
    Typesetting,
)
from bladewise.document.profiles import VALUES
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import Path, PathBuilder, ellipse, joined
from bladewise.geometry.regions import FillRule
from bladewise.geometry.strokes import LineCap, LineJoin

if TYPE_CHECKING:
    from collections.abc import Callable

places = st.floats(-1e4, 1e4, allow_nan=False, width=64)
sizes = st.floats(0.01, 500.0)
shares = st.floats(0.0, 1.0).map(lambda value: value + 0.0)
points = st.tuples(places, places)
colours = st.builds(Colour, *[st.integers(0, 255)] * 3)

# What XML 1.0 can hold: no control characters but tab and line ends, no surrogates, no U+FFFE and U+FFFF.
words = st.text(
    st.characters(exclude_categories=("Cs", "Cc"), exclude_characters="\ufffe\uffff", include_characters="\t\n\r"),
    max_size=12,
)
keys = st.from_regex(r"[A-Za-z_][\w.-]{0,8}", fullmatch=True)


@st.composite
def affines(draw: st.DrawFn) -> Affine:
    """Return a transform that can be undone: turned, scaled unevenly, slanted and moved."""
    turn = draw(st.floats(0.0, 360.0))
    across, down = draw(st.floats(0.05, 20.0)), draw(st.floats(0.05, 20.0))
    slant = draw(st.floats(-1.0, 1.0))
    mirror = -1.0 if draw(st.booleans()) else 1.0
    linear = Affine.rotated(turn).after(Affine(across, 0.0, slant * down, mirror * down))
    return Affine.moved(*draw(points)).after(linear)


@st.composite
def paths(draw: st.DrawFn) -> Path:
    """Return a path of up to three subpaths of every kind of segment, some of them ellipses turned and slanted."""
    pen = PathBuilder()
    for _ in range(draw(st.integers(0, 2))):
        pen.move_to(draw(points))
        for _ in range(draw(st.integers(1, 4))):
            kind = draw(st.sampled_from("LLQCA"))
            end = draw(points)
            if kind == "L":
                pen.line_to(end)
            elif kind == "Q":
                pen.quadratic_to(draw(points), end)
            elif kind == "C":
                pen.cubic_to(draw(points), draw(points), end)
            else:
                large, sweep = draw(st.booleans()), draw(st.booleans())
                angle = draw(st.floats(-180.0, 180.0))
                pen.svg_arc_to(draw(sizes), draw(sizes), angle, large=large, sweep=sweep, point=end)
        if draw(st.booleans()):
            pen.close()
    result = pen.path()
    if draw(st.booleans()):
        round_one = ellipse(draw(points), draw(sizes), draw(sizes)).transformed(draw(affines()))
        result = joined([result, round_one])
    return result


@st.composite
def gradients(draw: st.DrawFn) -> Gradient:
    """Return a linear or radial gradient of two stops and more."""
    offsets = sorted(draw(st.lists(shares, min_size=2, max_size=4)))
    stops = tuple(Stop(offset, draw(colours), draw(shares)) for offset in offsets)
    kind, spread, place = draw(st.sampled_from(GradientKind)), draw(st.sampled_from(Spread)), draw(affines())
    start = draw(points)
    end = draw(points.filter(lambda point: point != start))
    radius = draw(sizes) if kind is GradientKind.RADIAL else 0.0
    return Gradient(kind, start, end, stops, radius, spread, place)


@st.composite
def strokes(draw: st.DrawFn) -> Stroke:
    """Return a stroke, plain, dashed or with a pen of its own."""
    half = draw(st.lists(sizes, max_size=2))
    return Stroke(
        draw(st.one_of(colours, gradients())),
        draw(sizes),
        draw(st.sampled_from(LineCap)),
        draw(st.sampled_from(LineJoin)),
        draw(st.floats(1.0, 20.0)),
        tuple(half * 2),
        draw(st.floats(-50.0, 50.0)) if half else 0.0,
        draw(shares),
        draw(st.none() | affines()),
    )


styles = st.builds(
    Style,
    fill=st.none() | colours | gradients(),
    fill_rule=st.sampled_from(FillRule),
    fill_opacity=shares,
    stroke=st.none() | strokes(),
    opacity=shares,
    stroke_first=st.booleans(),
)


bendings = st.builds(
    Bending, kind=st.sampled_from(BendKind), radius_mm=places, angle_deg=places, rise_mm=places, wave_mm=sizes,
    shift_mm=places, start_mm=places, other_side=st.booleans(), share=shares, eased=st.booleans(),
    corners_mm=st.tuples(*[places] * 8), letters=st.sampled_from(Letters), even_spaces=st.booleans(), path=paths(),
)  # fmt: skip

settings_of_type = st.builds(
    Typesetting, height=st.sampled_from(Height), word_spacing_mm=places, line_spacing=shares,
    width_mm=st.none() | sizes, fit=st.sampled_from(Fit), slant_deg=st.floats(-45.0, 45.0),
    features=st.lists(st.sampled_from(["smcp", "ss02", "salt[3]=2", "-kern"]), max_size=2).map(tuple),
    axes=st.lists(st.tuples(st.sampled_from(["wght", "wdth"]), sizes), max_size=2).map(tuple),
    bending=st.none() | bendings,
)  # fmt: skip


profiles = st.builds(
    Profile, heat_transfer=st.booleans(),
    **{name: st.none() | st.floats(bounds.least, bounds.most) for name, bounds in VALUES.items()},
)  # fmt: skip


@st.composite
def jobs(draw: st.DrawFn, *, lettering: bool = True) -> Job:
    """Return a job with layers, nested groups, shapes, pictures and lettering, each with an id of its own."""
    taken: set[str] = set()
    materials = draw(
        st.lists(
            st.builds(Material, keys, words, colours, st.sampled_from(MaterialKind), profiles),
            max_size=2,
            unique_by=lambda one: one.id,
        )
    )
    chosen = st.none() | st.sampled_from([*[one.id for one in materials], "nowhere"])

    def fresh() -> str:
        key = draw(keys.filter(lambda one: one not in taken))
        taken.add(key)
        return key

    def leaf() -> Element:
        common = {
            "id": fresh(), "name": draw(words), "material": draw(chosen), "visible": draw(st.booleans()),
            "locked": draw(st.booleans()),
        }  # fmt: skip
        kind = draw(st.sampled_from("SSSPL" if lettering else "SSSP"))
        if kind == "S":
            return Shape(path=draw(paths()), style=draw(styles), **common)
        if kind == "P":
            data = b"\x89PNG\r\n\x1a\n" + draw(st.binary(max_size=20))
            return Picture(data=data, media_type="image/png", transform=draw(affines()), opacity=draw(shares), **common)
        return Lettering(
            text=draw(words), family=draw(words), size_mm=draw(sizes), style=draw(styles),
            align=draw(st.sampled_from(Align)), weight=draw(st.integers(1, 1000)), italic=draw(st.booleans()),
            letter_spacing_mm=draw(st.floats(-5.0, 5.0)), setting=draw(settings_of_type), transform=draw(affines()),
            outline=draw(paths()), **common,
        )  # fmt: skip

    def element(depth: int) -> Element:
        if depth and draw(st.integers(0, 3)) == 0:
            children = tuple(element(depth - 1) for _ in range(draw(st.integers(0, 2))))
            return Group(fresh(), children, draw(words), draw(shares), draw(st.booleans()), draw(st.booleans()))
        return leaf()

    layers = tuple(
        Layer(
            fresh(), draw(words), tuple(element(2) for _ in range(draw(st.integers(0, 3)))), draw(chosen),
            draw(st.booleans()), draw(st.booleans()),
        )
        for _ in range(draw(st.integers(0, 2)))
    )  # fmt: skip
    notes = tuple(draw(st.lists(words, max_size=2)))
    ordered = draw(st.tuples(st.none() | sizes, st.none() | sizes))
    return Job(draw(words), draw(sizes), draw(sizes), layers, tuple(materials), notes, *ordered)


_numbers = st.integers(-(2**40), 2**40) | st.floats(allow_nan=False, allow_infinity=False)
_scalars = st.none() | st.booleans() | _numbers | words
_values: Callable[..., st.SearchStrategy[object]] = lambda inner: (  # noqa: E731 - recursive() asks for a function
    st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=3)
)
steps = st.lists(
    st.fixed_dictionaries({
        "do": keys,
        "off": st.booleans(),
        "values": st.dictionaries(keys, st.recursive(_scalars, _values, max_leaves=5), max_size=3),
    }),
    max_size=3,
).map(tuple)  # fmt: skip
"""The steps of a job file in plain form."""
