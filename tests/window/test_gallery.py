"""The window in pictures: empty, demo and huge, light and dark, at 100, 150 and 200 %.

With a folder named in BLADEWISE_PICTURES the pictures are kept there, for the README and for one's own eyes.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QPixmap
from PySide6.QtWidgets import QPushButton

from bladewise.document import Colour, Job, Layer, Shape, Style
from bladewise.geometry.path import circle
from bladewise.history import History
from bladewise.session import Session
from bladewise.window import theme
from bladewise.window.theme import Scheme, contrast
from window.conftest import DEMO, settle
from window.person import PICTURES

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from bladewise.window.main_window import MainWindow

HUGE = 2_000


def picture(widget: QWidget, ratio: float = 1.0) -> QImage:
    """Return what a widget looks like on a screen of so many pixels a point."""
    pixels = QPixmap(widget.size() * ratio)
    pixels.setDevicePixelRatio(ratio)
    widget.render(pixels)
    return pixels.toImage().convertToFormat(QImage.Format.Format_RGB32)


def keep(image: QImage, name: str) -> None:
    folder = os.environ.get(PICTURES)
    if folder:
        Path(folder).mkdir(parents=True, exist_ok=True)
        image.save(str(Path(folder) / f"{name}.png"))


def values(image: QImage) -> np.ndarray:
    raw = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine() // 4, 4)
    return raw[:, : image.width(), :3].astype(float)


def huge() -> Session:
    shapes = tuple(
        Shape(f"s{n}", circle((10.0 + n % 50 * 20, 10.0 + n // 50 * 20), 8.0), Style(fill=Colour(n % 200, 90, 160)))
        for n in range(HUGE)
    )
    return Session(History(Job("Dots", 1000.0, 820.0, (Layer("dots", "Dots", shapes),))))


SESSIONS = {
    "empty": Session.new,
    "demo": lambda: Session.open(DEMO / "mascot.svg"),
    "huge": huge,
}


@pytest.fixture(params=SESSIONS)
def shown(request, make_window, qtbot) -> tuple[str, MainWindow]:
    window = make_window(SESSIONS[request.param]())
    settle(window, qtbot)
    qtbot.waitUntil(lambda: not window.layers.tree.thumbnails.is_busy)
    window.canvas.finish_painting()
    yield request.param, window
    window.choose_theme(Scheme.SYSTEM)


@pytest.mark.parametrize("scheme", [Scheme.LIGHT, Scheme.DARK])
def test_the_window_looks_the_same_at_any_scale_only_finer(shown, scheme, qtbot):
    name, window = shown
    window.choose_theme(scheme)
    qtbot.waitUntil(lambda: not window.layers.tree.thumbnails.is_busy)
    window.canvas.finish_painting()
    plain = picture(window)
    keep(plain, f"{name}-{scheme}-100")
    for ratio in (1.5, 2.0):
        picture(window, ratio)  # thumbnails for this ratio are asked for by being painted
        qtbot.waitUntil(lambda: not window.layers.tree.thumbnails.is_busy)
        fine = picture(window, ratio)
        keep(fine, f"{name}-{scheme}-{ratio * 100:.0f}")
        assert fine.size() == window.size() * ratio
        back = fine.scaled(
            plain.size(), Qt.AspectRatioMode.IgnoreAspectRatio, Qt.TransformationMode.SmoothTransformation
        )
        off = np.abs(values(back) - values(plain))
        for part in (window.strip, window.layers, window.right, window.bench):
            corner = part.mapTo(window, part.rect().topLeft())
            area = off[corner.y() : corner.y() + part.height(), corner.x() : corner.x() + part.width()]
            assert area.mean() < 8.0, f"{type(part).__name__} at {ratio}"
    ground = plain.pixelColor(4, window.strip.mapTo(window, window.strip.rect().center()).y())
    assert contrast(ground.name(), theme.current().text) >= 4.5


def test_nothing_is_cut_off_at_the_least_size(squares, qtbot):
    """Buttons have room for their words in the smallest window there may be."""
    squares.resize(squares.minimumSize())
    squares.desk.select_all()
    qtbot.waitUntil(lambda: squares.width() == squares.minimumSize().width())
    assert squares.bench.entry("merge") is not None
    verbs = [button for button in squares.bench.findChildren(QPushButton) if button.isVisible()]
    for button in (squares.pane.modes.button("outline"), *verbs, squares.strip.sheet):
        assert button.width() >= button.sizeHint().width() - 1, button.text()
    qtbot.waitUntil(lambda: squares.bench.extent.width() >= squares.bench.extent.sizeHint().width())
    squares.canvas.finish_painting()
    keep(picture(squares), "least")
