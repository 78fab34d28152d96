"""What could not be taken in from a drawing, counted, and said in sentences the operator understands."""

from __future__ import annotations

from collections import Counter

from bladewise.phrases import phrase

_SENTENCES = {
    # kind: (one, several). {n} is the count, {which} names the first few.
    "filter": (
        "1 filter effect was left out; the art is shown without it.",
        "{n} filter effects were left out; the art is shown without them.",
    ),
    "mask": (
        "1 mask was left out; what it hid is shown{which}.",
        "{n} masks were left out; what they hid is shown{which}.",
    ),
    "pattern": (
        "1 pattern fill is shown in plain grey{which}.",
        "{n} pattern fills are shown in plain grey{which}.",
    ),
    "foreignObject": (
        "1 block of web content (foreignObject) was left out.",
        "{n} blocks of web content (foreignObject) were left out.",
    ),
    "animation": (
        "1 animation was left out; the art is shown as it stands at rest.",
        "{n} animations were left out; the art is shown as it stands at rest.",
    ),
    "script": ("1 script was left out; nothing in it is run.", "{n} scripts were left out; nothing in them is run."),
    "font": ("1 font kept inside the drawing was left out.", "{n} fonts kept inside the drawing were left out."),
    "external image": (
        "1 picture lies outside the file and was not fetched{which}.",
        "{n} pictures lie outside the file and were not fetched{which}.",
    ),
    "external use": (
        "1 reference leads outside the file and was not followed{which}.",
        "{n} references lead outside the file and were not followed{which}.",
    ),
    "broken reference": (
        "1 reference leads nowhere{which}.",
        "{n} references lead nowhere{which}.",
    ),
    "circle": (
        "1 reference leads back to itself and was left out{which}.",
        "{n} references lead back to themselves and were left out{which}.",
    ),
    "image kind": (
        "1 picture is of a kind that is not read{which}.",
        "{n} pictures are of a kind that is not read{which}.",
    ),
    "style sheet": (
        "1 part of the style sheet was left out{which}.",
        "{n} parts of the style sheets were left out{which}.",
    ),
    "clip": (
        "1 clipped shape was cut to its clip path{which}.",
        "{n} clipped shapes were cut to their clip paths{which}.",
    ),
    "clip left": (
        "1 clip path was left out; what it hid is shown{which}.",
        "{n} clip paths were left out; what they hid is shown{which}.",
    ),
    "picture uncut": (
        "1 picture is shown whole; the clip on it was left out{which}.",
        "{n} pictures are shown whole; the clips on them were left out{which}.",
    ),
    "blend": (
        "1 blend mode was left out; colours may look different.",
        "{n} blend modes were left out; colours may look different.",
    ),
    "path data": (
        "1 path is broken in its data and was read up to there{which}.",
        "{n} paths are broken in their data and were read up to there{which}.",
    ),
    "transform": (
        "1 transform could not be understood and was left out{which}.",
        "{n} transforms could not be understood and were left out{which}.",
    ),
    "place": (
        "1 shape lies beyond all measure and was left out{which}.",
        "{n} shapes lie beyond all measure and were left out{which}.",
    ),
    "font missing": (
        "1 text is set in a substitute, because its font is not on this computer{which}.",
        "{n} texts are set in a substitute, because their fonts are not on this computer{which}.",
    ),
    "text path": (
        "1 text along a path is shown on a straight line{which}.",
        "{n} texts along a path are shown on a straight line{which}.",
    ),
    "text places": (
        "1 text places its letters one by one; only the first place was kept{which}.",
        "{n} texts place their letters one by one; only the first place was kept{which}.",
    ),
    "unknown": (
        "1 element is not known to SVG and was left out{which}.",
        "{n} elements are not known to SVG and were left out{which}.",
    ),
    "size": (
        "The drawing does not say how large it is; it was read at 96 px an inch. Check its size.",
        "The drawing does not say how large it is; it was read at 96 px an inch. Check its size.",
    ),
}
_NAMED = 5


class Notes:
    """A tally of what was left out."""

    def __init__(self) -> None:
        """Begin with nothing."""
        self._counts: Counter[str] = Counter()
        self._names: dict[str, list[str]] = {}

    def add(self, kind: str, name: str = "") -> None:
        """Count one more of a kind, with the name of what it happened to."""
        self._counts[kind] += 1
        known = self._names.setdefault(kind, [])
        if name and name not in known and len(known) <= _NAMED:
            known.append(name if len(name) <= 60 else name[:57] + "…")

    def sentences(self) -> tuple[str, ...]:
        """Return one sentence a kind."""
        result = []
        for kind, (one, several) in _SENTENCES.items():
            if count := self._counts[kind]:
                known = self._names.get(kind, [])
                listed = ", ".join(known[:_NAMED]) + (" …" if len(known) > _NAMED else "")
                which = f": {listed}" if listed else ""
                result.append(phrase(one if count == 1 else several, n=count, which=which))
        return tuple(result)
