"""What the content of a page names: graphics states, patterns, forms, pictures, spot colours, layers.

One dictionary serves the page and every form in it. Names are given in the order of first use, so the
same job gives the same bytes.
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, TypeAlias

from pikepdf import Array, Dictionary, Name, Stream, String

from bladewise.formats.pdf.pictures import image_object
from bladewise.formats.pdf.shadings import has_clear_stops, real, shading

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable

    from pikepdf import Object, Pdf

    from bladewise.document import Box, Colour, Gradient, Picture
    from bladewise.formats.pdf.space import Page
    from bladewise.formats.pdf.spots import Spot
    from bladewise.geometry.affine import Affine

Turns: TypeAlias = tuple[int, int]


class Resources:
    """Collects the resources of one page.

    `forms` tells how many operators each form holds.
    """

    def __init__(self, pdf: Pdf, page: Page) -> None:
        """Begin with none."""
        self._pdf, self._page = pdf, page
        x0, y0, x1, y1 = page.media_box
        room = max(x1 - x0, y1 - y0)  # a form is also shown elsewhere than where its content lies
        self._room = x0 - room, y0 - room, x1 + room, y1 + room
        self._names: dict[Hashable, str] = {}
        self._counts: dict[str, int] = {}
        self.dictionary = pdf.make_indirect(Dictionary())
        self.layers: list[Object] = []
        self.spots: dict[str, Spot] = {}
        self.forms: dict[str, int] = {}
        self.is_transparent = False

    def state(self, opacity: float, gradient: Gradient | None = None, turns: Turns = (0, 1)) -> str | None:
        """Return the graphics state for an opacity, with a gradient's own if it has some; None if all is opaque."""
        masked = gradient if gradient is not None and has_clear_stops(gradient) else None
        if opacity >= 1.0 and masked is None:
            return None
        self.is_transparent = True

        def make() -> Object:
            found = Dictionary(Type=Name.ExtGState, ca=real(opacity), CA=real(opacity))
            if masked is not None:
                found.SMask = Dictionary(Type=Name.Mask, S=Name.Luminosity, G=self._opacity_form(masked, turns))
            return found

        return self._named("ExtGState", "G", (opacity, masked, turns), make)

    def overprint(self, *, mode: int) -> str:
        """Return the graphics state that leaves other plates alone (ISO 32000-1, 8.6.7)."""
        return self._named(
            "ExtGState", "G", ("overprint", mode), lambda: Dictionary(Type=Name.ExtGState, OP=True, op=True, OPM=mode)
        )

    def pattern(self, gradient: Gradient, turns: Turns = (0, 1), *, opacity: bool = False) -> str:
        """Return the pattern that paints a gradient, its stops written from one turn to another."""

        def make() -> Object:
            place = self._page.from_sheet.after(gradient.transform)
            return Dictionary(
                Type=Name.Pattern,
                PatternType=2,
                Matrix=_matrix(place),
                Shading=shading(gradient, turns, opacity=opacity),
            )

        return self._named("Pattern", "P", (gradient, turns, opacity), make)

    def group(self, lines: list[str]) -> str:
        """Return the form that paints some content as one, so that its opacity applies to it as a whole."""
        self.is_transparent = True
        name = self._named("XObject", "X", ("group", len(self._names)), lambda: self._form(lines, Name.DeviceRGB))
        self.forms[name] = len(lines)
        return name

    def may_hold(self, box: Box) -> bool:
        """Whether a form can show all that lies in a box of the sheet, in mm."""
        x0, y0, x1, y1 = self._page.box(*box)
        left, low, right, high = self._room
        return left <= x0 and low <= y0 and x1 <= right and y1 <= high

    def form(self, lines: list[str]) -> str | None:
        """Return the form of some content that is put down several times; None if there is none."""
        if not lines:
            return None
        name = self._named("XObject", "X", ("form", len(self._names)), lambda: self._form(lines, None))
        self.forms[name] = len(lines)
        return name

    def picture(self, picture: Picture) -> str:
        """Return the image object of a placed picture; the same picture twice is one object."""

        def make() -> Object:
            made = image_object(self._pdf, picture)
            self.is_transparent |= "/SMask" in made
            return made

        return self._named("XObject", "X", hashlib.sha256(picture.data).digest(), make)

    def separation(self, spot: Spot, colour: Colour) -> str:
        """Return the colour space of a spot colour (ISO 32000-1, 8.6.6.4)."""
        self.spots.setdefault(spot.name, spot)

        def make() -> Object:
            tint = Dictionary(
                FunctionType=2,
                Domain=Array([0, 1]),
                C0=Array([1, 1, 1]),
                C1=Array([real(channel / 255.0) for channel in colour]),
                N=1,
            )
            return Array([Name.Separation, Name(f"/{spot.name}"), Name.DeviceRGB, self._pdf.make_indirect(tint)])

        return self._named("ColorSpace", "S", spot.name, make)

    def layer(self, key: str, title: str, spot: Spot | None = None) -> str:
        """Return the optional-content group of a layer (ISO 32000-1, 8.11), with the processing step if it has one."""

        def make() -> Object:
            group = Dictionary(Type=Name.OCG, Name=String(title), Intent=Name.View)
            if spot is not None:
                step = Dictionary(GTS_ProcStepsGroup=Name(f"/{spot.step.group}"))
                if not spot.step.is_area:
                    step.GTS_ProcStepsType = Name(f"/{spot.step.value}")
                group.GTS_Metadata = step
            group = self._pdf.make_indirect(group)
            self.layers.append(group)
            return group

        return self._named("Properties", "L", (key, spot), make)

    def _named(self, kind: str, letter: str, key: Hashable, make: Callable[[], Object]) -> str:
        full = (kind, key)
        if full not in self._names:
            made = self._pdf.make_indirect(make())
            self._counts[letter] = self._counts.get(letter, 0) + 1
            name = f"{letter}{self._counts[letter]}"
            entries = self.dictionary.get(f"/{kind}")
            if entries is None:
                entries = self.dictionary[f"/{kind}"] = Dictionary()
                entries = self.dictionary[f"/{kind}"]
            entries[f"/{name}"] = made
            self._names[full] = name
        return f"/{self._names[full]}"

    def _form(self, lines: list[str], space: Object | None) -> Stream:
        """Return a form; with a space of colours a group, which is painted as one (ISO 32000-1, 11.6.6)."""
        form = Stream(
            self._pdf,
            "\n".join(lines).encode("ascii"),
            Type=Name.XObject,
            Subtype=Name.Form,
            BBox=Array([real(value) for value in self._room]),
            Resources=self.dictionary,
        )
        if space is not None:
            form.Group = Dictionary(Type=Name.Group, S=Name.Transparency, CS=space, I=True)
        return form

    def _opacity_form(self, gradient: Gradient, turns: Turns) -> Object:
        pattern = self.pattern(gradient, turns, opacity=True)
        x0, y0, x1, y1 = (float(value) for value in self._page.media_box)
        lines = ["/Pattern cs", f"{pattern} scn", f"{x0:g} {y0:g} {x1 - x0:.6f} {y1 - y0:.6f} re", "f"]
        return self._pdf.make_indirect(self._form(lines, Name.DeviceGray))


def _matrix(affine: Affine) -> Array:
    return Array([real(value) for value in affine])
