"""What the canvas has to show, on the demo and with a huge job; light and dark; at 100 % here, at 200 % by the script.

With BLADEWISE_PICTURES=folder the pictures are kept there; `packaging/gallery.py` makes all of them. Without it every
screen is shown all the same, and held to be painted and of its theme.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, QRect, Qt
from PySide6.QtGui import QImage

from bladewise.document import Colour, Job, Layer, Shape, Stroke, Style
from bladewise.findings import Finding, Remedy, Severity
from bladewise.geometry.path import Path as Outline
from bladewise.geometry.path import SegmentKind, polygon
from bladewise.history import History
from bladewise.session import Session
from bladewise.window import theme
from bladewise.window.theme import Scheme
from window.conftest import DEMO, settle
from window.person import PICTURES, Key, Person, Shift

if TYPE_CHECKING:
    from collections.abc import Iterator

    from PySide6.QtWidgets import QWidget


@pytest.fixture(params=[Scheme.LIGHT, Scheme.DARK], ids=["light", "dark"])
def scheme(request) -> Iterator[Scheme]:
    """Return a theme, and put the one before back afterwards."""
    before = theme.keeper().scheme
    yield request.param
    theme.keeper().choose(before)


class Gallery:
    """Keeps pictures of a window, and looks at each."""

    def __init__(self, person: Person, scheme: Scheme) -> None:
        self.person, self.window, self._scheme = person, person.window, scheme

    def keep(self, name: str, widget: QWidget | None = None) -> None:
        """Take a picture; it must show something, on a ground of its theme."""
        self.window.canvas.finish_painting()
        image = (widget or self.window).grab().toImage()
        ratio = image.devicePixelRatioF()
        assert image.size() == (widget or self.window).size() * ratio
        pixels = _pixels(image)
        assert len(np.unique(pixels.reshape(-1, 3)[::7], axis=0)) > 20, f"{name} is blank"
        corner = self.window.bench.grab(QRect(QPoint(4, 4), QPoint(12, 12))).toImage().pixelColor(2, 2)
        assert (corner.lightness() < 128) == (self._scheme is Scheme.DARK), f"{name} is not of its theme"
        folder = os.environ.get(PICTURES)
        if folder:
            Path(folder).mkdir(parents=True, exist_ok=True)
            image.save(str(Path(folder) / f"{name}-{self._scheme.value}{'' if ratio == 1.0 else f'-{ratio:.0%}'}.png"))


@pytest.fixture
def gallery(window, qtbot, monkeypatch, scheme) -> Gallery:
    settle(window, qtbot)
    window.choose_theme(scheme)
    return Gallery(Person(window, qtbot, monkeypatch), scheme)


def _pixels(image: QImage) -> np.ndarray:
    """Return the colours of an image, shape (height, width, 3)."""
    flat = np.frombuffer(image.convertToFormat(QImage.Format.Format_RGB32).constBits(), np.uint8)
    return flat.reshape(image.height(), image.width(), 4)[:, :, :3]


def huge(rows: int = 40, columns: int = 50, each: int = 50) -> Job:
    """Return rows of wobbly stickers, 100,000 cubics in 2,000 shapes; some lines among them do not close."""
    random = np.random.default_rng(11)
    shapes = []
    for number in range(rows * columns):
        centre = np.array([14.0 + 22.0 * (number % columns), 14.0 + 22.0 * (number // columns)])
        angle = np.linspace(0.0, 2.0 * np.pi, each, endpoint=False)
        lobes = random.integers(3, 9)
        radius = 7.5 + 1.8 * np.cos(lobes * angle + random.uniform(0.0, 6.0))
        nodes = centre + radius[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        ahead = np.roll(nodes, -1, axis=0)
        slope = (ahead - np.roll(nodes, 1, axis=0)) / 6.0
        points = np.stack([nodes, nodes + slope, ahead - np.roll(slope, -1, axis=0), ahead], axis=1)
        kinds = np.full(each, SegmentKind.CUBIC, np.uint8)
        path = Outline(points, kinds, np.ones(each), np.zeros(1, np.int64), np.ones(1, np.bool_))
        colour = (Colour(27, 42, 65), Colour(232, 97, 60), Colour(31, 122, 122), Colour(242, 176, 62))[number % 4]
        if number % 25 == 7:
            ends = [(centre[0] - 7.0, centre[1]), (centre[0], centre[1] - 6.0), (centre[0] + 7.0, centre[1])]
            shapes.append(Shape(f"line-{number}", polygon(ends, closed=False), Style(stroke=Stroke(colour, 0.1))))
        else:
            shapes.append(Shape(f"sticker-{number}", path, Style(fill=colour)))
    return Job(
        "Two thousand stickers", 22.0 * columns + 6.0, 22.0 * rows + 6.0, (Layer("all", "Stickers", tuple(shapes)),)
    )


def findings_of(job: Job) -> list[Finding]:
    """Return findings as a check might give them, without the time that one takes."""
    random = np.random.default_rng(4)
    found = []
    for number, shape in enumerate(job.shapes()):
        box = shape.bounds
        if box is None or number % 9:
            continue
        rule = ("crossing", "duplicate", "overlap", "open-path", "small-piece")[number % 5]
        places = tuple(map(tuple, random.uniform(box[:2], box[2:], (3 if rule == "crossing" else 1, 2)).tolist()))
        remedy = Remedy("Untangle the outline", "untangle", {"on": {"id": shape.id}})
        message = f"“{shape.id}” would be cut where it should stay whole."
        found.append(Finding(rule, Severity.SPOILS, (shape.id,), *places[0], 1.0, "", message, remedy, places))
    return found


def test_the_demo_filled_as_outlines_with_its_trouble_and_with_a_ghost(gallery, qtbot):
    person, window = gallery.person, gallery.window
    person.opens(DEMO / "decal.svg")
    gallery.keep("demo")
    person.presses(Key.Key_F5)
    gallery.keep("demo-outlines")
    person.presses(Key.Key_F5, Shift)
    gallery.keep("demo-direction")
    person.presses(Key.Key_F5, Shift)
    for _ in range(3):
        person.presses(Key.Key_F8)
    gallery.keep("demo-trouble")
    person.presses(Key.Key_F4)
    person.presses(Key.Key_Escape)
    window.canvas.zoom_to_fit()
    person.selects_all()
    gallery.keep("demo-selected")
    person.takes("stepped-outline")
    person.waits_for_ghost()
    qtbot.waitUntil(lambda: window.canvas.grip is not None, timeout=20_000)
    canvas = window.canvas
    start = canvas.grip.place(canvas.view).toPoint()
    qtbot.mousePress(canvas, Qt.MouseButton.LeftButton, pos=start)
    way = QPoint(round(14 * canvas.grip.across), round(14 * canvas.grip.down))
    qtbot.mouseMove(canvas, start + way)
    qtbot.waitUntil(lambda: not window.desk.sketches.is_busy)
    gallery.keep("demo-pulled")
    qtbot.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=start + way)


def test_a_huge_job_filled_and_as_outlines_with_all_its_trouble(gallery, qtbot, monkeypatch):
    person, window = gallery.person, gallery.window
    job = huge()
    check = window.desk.check
    monkeypatch.setattr(check, "take", lambda *_what: None)  # the pictures do not wait for that
    window.files.take(Session(History(job)), None)
    check.findings, check.is_current = findings_of(job), True
    window.desk.checked.emit()
    gallery.keep("huge")
    person.presses(Key.Key_F5)
    gallery.keep("huge-outlines")
    window.canvas.zoom_by(7.0, window.canvas.window_box().center().toPoint())
    window.canvas.set_signs(direction=True, hidden=False)
    gallery.keep("huge-near")
    assert len(window.canvas.marks()) > 3
    person.selects_all()
    window.canvas.zoom_to_fit()
    assert len(window.canvas.selection) == len(job.shapes())
    gallery.keep("huge-selected")
    assert window.canvas.view.to_px(0.0, 0.0) != QPointF()
