"""What each setting of a destination is called, and one sentence on what it does; in the order they are asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from PySide6.QtCore import QCoreApplication


class Kind(StrEnum):
    """How a setting is asked for."""

    TEXT = "text"
    SWITCH = "switch"
    CHOICE = "choice"
    LENGTH = "length"
    NUMBER = "number"
    PENS = "pens"
    SPOTS = "spots"


@dataclass(frozen=True)
class Setting:
    """One setting.

    Parameters
    ----------
    key
        The name it has in a destination.
    called
        What the operator reads.
    says
        A sentence.
    words
        Of a choice, a word for each value.
    is_optional
        Whether it may be left out; `left_out` is what then holds.
    only_with
        Another setting that must not be at its "none" for this one to mean anything.
    """

    key: str
    called: str
    kind: Kind
    says: str
    words: Mapping[object, str] = field(default_factory=dict)
    is_optional: bool = False
    left_out: str = ""
    only_with: str = ""


def tr(text: str) -> str:
    """Return a text in the operator's language."""
    return QCoreApplication.translate("HandOff", text)


def format_words() -> dict[str, tuple[str, str]]:
    """Return each format's name and what it is for."""
    return {
        "svg": ("SVG", tr("A drawing to real size. For machines and programs that read drawings.")),
        "pdf": ("PDF", tr("Print and cut in one file, the cut line as a spot colour. For print shops.")),
        "dxf": ("DXF", tr("Lines alone, a layer a material. For tables, routers and lasers.")),
        "hpgl": ("HP-GL/2", tr("Plain plotter language. For cutters and plotters that are sent to directly.")),
        "png": ("PNG", tr("A picture, true to size by its resolution. To look at and to send.")),
    }


def settings() -> tuple[Setting, ...]:
    """Return every setting but name and format, in the order they are asked for."""
    return (
        Setting(
            "per_colour", tr("Files"), Kind.SWITCH, tr("A file for each material, on one origin."),
        ),
        Setting(
            "mirrored", tr("Mirrored"), Kind.CHOICE,
            tr("Left and right exchanged on the same sheet: for what is pressed on from the back."),
            {"no": tr("Never"), "yes": tr("Always"), "heat-transfer": tr("Heat transfer only")},
        ),
        Setting(
            "marks", tr("Registration marks"), Kind.CHOICE,
            tr("In the sheet's corners, alike in every file, so that colours line up."),
            {"": tr("None"), "cross": tr("Cross"), "square": tr("Square"), "round": tr("Round"),
             "corner": tr("Corner")},
        ),
        Setting("marks_size_mm", tr("Size of the marks"), Kind.LENGTH, tr("Across and down."), only_with="marks"),
        Setting(
            "marks_inset_mm", tr("Distance of the marks"), Kind.LENGTH, tr("From the sheet's corners."),
            only_with="marks",
        ),
        Setting(
            "origin", tr("Origin"), Kind.CHOICE, tr("What lies at 0, 0: the place where the head starts."),
            {"lower-left": tr("Sheet, lower left"), "centre": tr("Sheet, centre"), "art": tr("Art, lower left")},
        ),
        Setting(
            "rotation_deg", tr("Turned"), Kind.CHOICE, tr("Anticlockwise, if the roll runs the other way."),
            {0: "0°", 90: "90°", 180: "180°", 270: "270°"},
        ),
        Setting(
            "perforation", tr("Perforations"), Kind.CHOICE,
            tr("As the cuts they are made of, or as one line that the machine lifts its knife from."),
            {"dashes": tr("Cut by cut"), "line": tr("One line")},
        ),
        Setting("units", tr("Units"), Kind.CHOICE, tr("What one unit of the file is."), {"mm": "mm", "in": "in"}),
        Setting("version", tr("Version"), Kind.CHOICE, tr("Older programs read only older versions.")),
        Setting(
            "curves", tr("Curves"), Kind.CHOICE, tr("Many devices know straight moves only."),
            {"chords": tr("Straight moves"), "beziers": tr("True curves")},
        ),
        Setting(
            "tolerance_mm", tr("Tolerance"), Kind.LENGTH, tr("How far a line may lie from the curve it stands for."),
            is_optional=True, left_out=tr("as fine as the format allows"),
        ),
        Setting(
            "unit_mm", tr("Smallest step"), Kind.CHOICE,
            tr("0.025 mm is the language's own; not every device takes finer ones."),
            {0.025: "0.025 mm", 0.01: "0.01 mm", 0.005: "0.005 mm"},
        ),
        Setting(
            "takes_negative", tr("Below zero"), Kind.SWITCH,
            tr("The device takes numbers below 0."),
        ),
        Setting("pen", tr("Pen"), Kind.NUMBER, tr("The pen or tool of every material not named below.")),
        Setting(
            "pens", tr("Pens by name"), Kind.PENS,
            tr("By material, else by how it is cut. Left empty: the pen above."),
        ),
        Setting(
            "force", tr("Force"), Kind.NUMBER, tr("As the device counts it; see its papers."),
            is_optional=True, left_out=tr("left to the device"),
        ),
        Setting(
            "speed", tr("Speed"), Kind.NUMBER, tr("As the device counts it; see its papers."),
            is_optional=True, left_out=tr("left to the device"),
        ),
        Setting(
            "cut_name", tr("Name of the cut line"), Kind.TEXT,
            tr("The spot colour by which the print shop or the cutter finds it."),
        ),
        Setting(
            "cut_kind", tr("Depth of the cut line"), Kind.CHOICE, tr("What the file says of every cut line."),
            {
                "": tr("As the material says"), "kiss": tr("Kiss cut"), "through": tr("Through cut"),
                "perforation": tr("Perforation"), "crease": tr("Crease"),
            },
        ),
        Setting(
            "spots", tr("Spot colours"), Kind.SPOTS, tr("Materials whose plate is for something else."),
        ),
        Setting("dpi", tr("Resolution"), Kind.NUMBER, tr("Dots an inch.")),
        Setting("transparent", tr("Ground"), Kind.SWITCH, tr("Nothing behind the art, not even white.")),
        Setting("scale_bar", tr("Scale bar"), Kind.SWITCH, tr("A bar of a round length under it, to be measured.")),
    )  # fmt: skip


def pen_words() -> dict[str, str]:
    """Return the kinds of cut that can have a pen, by the name they have in a destination."""
    return {each: word for each, word in spot_words().items() if each in ("kiss", "through", "perforation", "crease")}


def spot_words() -> dict[str, str]:
    """Return what a spot colour can be for."""
    return {
        "through": tr("through cut"),
        "kiss": tr("kiss cut"),
        "perforation": tr("perforation"),
        "crease": tr("crease"),
        "bleed": tr("bleed"),
        "white": tr("white ink"),
        "varnish": tr("varnish"),
    }
