"""A page for people: words, boxes and pictures at places in millimetres, y down; whoever draws it needs no more.

Pages are made once and drawn by several: as PDF with real text (`formats.papers`), and as a job whose words are
outlines, which the one painter of the window turns into a picture.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import NamedTuple, TypeAlias

from bladewise.document import BLACK, Colour, Element, Group, Job, Layer, Shape, Stroke, Style
from bladewise.geometry.affine import Affine
from bladewise.geometry.path import rectangle
from bladewise.lettering.text_faces import text_face

POINT_MM = 25.4 / 72.0
"""Sizes of type are thought of in points."""

GREY = Colour(0x59, 0x59, 0x59)
"""For what is said by the way; 7:1 on white."""
PALE = Colour(0xB8, 0xB8, 0xB8)
"""For rules between rows."""
MAT = Colour(0xE4, 0xE4, 0xE4)
"""Behind pictures of pale art."""


class Paper(StrEnum):
    """Paper to print on: ISO 216 A4, and Letter (ANSI/ASME Y14.1 size A)."""

    A4 = "a4"
    LETTER = "letter"

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height, upright."""
        return (210.0, 297.0) if self is Paper.A4 else (215.9, 279.4)


class Words(NamedTuple):
    """A line of text, beginning at a place on its baseline; the size is that of the em."""

    x_mm: float
    y_mm: float
    text: str
    size_mm: float
    bold: bool = False
    colour: Colour = BLACK

    @property
    def width_mm(self) -> float:
        """How wide it is."""
        return width_of(self.text, self.size_mm, bold=self.bold)


class Box(NamedTuple):
    """A rectangle, filled, framed, or both."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    fill: Colour | None = None
    line: Colour | None = None
    line_mm: float = 0.2


class Art(NamedTuple):
    """A job drawn whole, its sheet's upper left corner at a place, so many times as large as it is."""

    x_mm: float
    y_mm: float
    scale: float
    job: Job


Item: TypeAlias = Words | Box | Art


@dataclass(frozen=True)
class Page:
    """A page and what stands on it, what comes later over what came before."""

    width_mm: float
    height_mm: float
    items: tuple[Item, ...]


def width_of(text: str, size_mm: float, *, bold: bool = False) -> float:
    """Return how wide a line of text is, in mm."""
    return text_face(bold=bold).width(text, size_mm)


def ended_at(words: Words) -> Words:
    """Return words that end where they were to begin."""
    return words._replace(x_mm=words.x_mm - words.width_mm)


def wrapped(text: str, size_mm: float, width_mm: float, *, bold: bool = False) -> list[str]:
    """Return a text in lines that fit a width; words too long for a line are broken."""
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        for word in paragraph.split():
            longer = f"{line} {word}" if line else word
            if width_of(longer, size_mm, bold=bold) <= width_mm:
                line = longer
                continue
            if line:
                lines.append(line)
            line = word
            while width_of(line, size_mm, bold=bold) > width_mm and len(line) > 1:
                cut = next(
                    (n for n in range(len(line) - 1, 0, -1) if width_of(line[:n], size_mm, bold=bold) <= width_mm), 1
                )
                lines.append(line[:cut])
                line = line[cut:]
        lines.append(line)
    return lines


def shortened(text: str, size_mm: float, width_mm: float, *, bold: bool = False) -> str:
    """Return a text that fits a width, its end left off where it does not."""
    if width_of(text, size_mm, bold=bold) <= width_mm:
        return text
    while text and width_of(f"{text}…", size_mm, bold=bold) > width_mm:
        text = text[:-1]
    return f"{text.rstrip()}…"


def fitted(job: Job, x_mm: float, y_mm: float, width_mm: float, height_mm: float, *, most: float = 1e9) -> Art:
    """Return a job drawn in the middle of a box, as large as it fits and at most so many times its size."""
    scale = min(width_mm / job.width_mm, height_mm / job.height_mm, most)
    wide, high = job.width_mm * scale, job.height_mm * scale
    return Art(x_mm + (width_mm - wide) / 2.0, y_mm + (height_mm - high) / 2.0, scale, job)


def page_as_job(page: Page, name: str) -> Job:
    """Return a page as a job, words as outlines, for whoever draws jobs."""
    children: list[Element] = []
    for number, item in enumerate(page.items):
        key = f"item-{number}"
        match item:
            case Words():
                path = text_face(bold=item.bold).outline(item.text, item.size_mm, item.x_mm, item.y_mm)
                children.append(Shape(key, path, Style(fill=item.colour), name=item.text))
            case Box():
                path = rectangle(item.x_mm, item.y_mm, item.width_mm, item.height_mm)
                stroke = None if item.line is None else Stroke(item.line, item.line_mm)
                children.append(Shape(key, path, Style(fill=item.fill, stroke=stroke)))
            case Art():
                place = Affine(item.scale, 0.0, 0.0, item.scale, item.x_mm, item.y_mm)
                held = [
                    _numbered(child.transformed(place), key)
                    for layer in item.job.layers
                    if layer.visible
                    for child in layer.children
                ]
                children.append(Group(key, tuple(held)))
    return Job(name, page.width_mm, page.height_mm, (Layer("page", "Page", tuple(children)),))


def _numbered(element: Element, stem: str) -> Element:
    """Return an element whose ids cannot meet those of another picture on the page."""
    if isinstance(element, Group):
        children = tuple(_numbered(child, stem) for child in element.children)
        return replace(element, id=f"{stem}-{element.id}", children=children)
    return replace(element, id=f"{stem}-{element.id}", material=None)
