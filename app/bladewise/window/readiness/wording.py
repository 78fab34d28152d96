"""What a rule's findings are called, one and many, in the operator's words."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication

from bladewise.window.bench.fields import words


def tr(text: str) -> str:
    """Return a text in the operator's language."""
    return QCoreApplication.translate("Readiness", text)


def called(rule: str, count: int) -> str:
    """Return what so many findings of a rule are called, with their number where there are several."""
    one, many = _names().get(rule, (words(rule.replace("-", " ")), "{n} × " + words(rule.replace("-", " "))))
    return one if count == 1 else many.format(n=count)


def _names() -> dict[str, tuple[str, str]]:
    return {
        "overlap": (tr("Overlap"), tr("{n} overlaps")),
        "duplicate": (tr("Outline twice"), tr("{n} outlines twice")),
        "crossing": (tr("Crossing"), tr("{n} crossings")),
        "shared-edge": (tr("Shared edge"), tr("{n} shared edges")),
        "butted-edge": (tr("Edge to edge"), tr("{n} × edge to edge")),
        "open-path": (tr("Open outline"), tr("{n} open outlines")),
        "live-lettering": (tr("Live lettering"), tr("{n} × live lettering")),
        "stroke": (tr("Stroke"), tr("{n} strokes")),
        "thin-stroke": (tr("Thin strokes"), tr("{n} × thin strokes")),
        "small-piece": (tr("Small piece"), tr("{n} small pieces")),
        "narrow-bridge": (tr("Narrow bridge"), tr("{n} narrow bridges")),
        "narrow-gap": (tr("Narrow gap"), tr("{n} narrow gaps")),
        "sharp-corner": (tr("Sharp corner"), tr("{n} sharp corners")),
        "stray-point": (tr("Stray point"), tr("{n} stray points")),
        "many-nodes": (tr("Many nodes"), tr("{n} × many nodes")),
        "fill-rule": (tr("Fill rule"), tr("{n} × fill rule")),
        "hidden-art": (tr("Hidden art"), tr("{n} × hidden art")),
        "off-sheet": (tr("Off the sheet"), tr("{n} × off the sheet")),
        "over-roll": (tr("Wider than the roll"), tr("{n} × wider than the roll")),
        "ordered-size": (tr("Not as ordered"), tr("{n} × not as ordered")),
        "short-bleed": (tr("Short bleed"), tr("{n} × short bleed")),
        "gradient": (tr("Gradient"), tr("{n} gradients")),
        "see-through": (tr("See-through"), tr("{n} × see-through")),
        "bitmap": (tr("Picture to cut"), tr("{n} pictures to cut")),
        "near-colours": (tr("Near colours"), tr("{n} × near colours")),
        "mirrored-words": (tr("Mirrored words"), tr("{n} × mirrored words")),
        "nothing-to-cut": (tr("Nothing to cut"), tr("{n} × nothing to cut")),
    }
