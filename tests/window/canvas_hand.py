"""A hand at the canvas, which points in millimetres, and the small sheet it works on."""

import math

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import (
    QImage,
    QMouseEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QApplication

from bladewise.document import Colour, Group, Job, Layer, Shape, Style
from bladewise.geometry.path import circle, joined, polygon, rectangle
from bladewise.geometry.regions import FillRule

RED, BLUE = Colour(220, 30, 30), Colour(30, 30, 220)
SHIFT, ALT, CTRL = (
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.AltModifier,
    Qt.KeyboardModifier.ControlModifier,
)
NONE = Qt.KeyboardModifier.NoModifier
LEFT, MIDDLE = Qt.MouseButton.LeftButton, Qt.MouseButton.MiddleButton


def shape(key, path, colour=RED, **options):
    return Shape(key, path, Style(fill=colour), name=key.title(), **options)


def sheet(*elements):
    return Job("Job", 200.0, 100.0, (Layer("layer", "Layer", tuple(elements)),))


SQUARE = shape("square", rectangle(10, 10, 30, 30))
BLOB = shape("blob", circle((100, 50), 20), BLUE)
RING = Shape(
    "ring", joined([circle((160, 50), 20), circle((160, 50), 10)]), Style(fill=RED, fill_rule=FillRule.EVEN_ODD)
)


class Hand:
    """A person at the canvas, who points in millimetres."""

    def __init__(self, qtbot, canvas):
        self.qtbot, self.canvas = qtbot, canvas

    def at(self, x_mm, y_mm):
        return self.canvas.view.to_px(x_mm, y_mm)

    def send(self, kind, pixel, button=LEFT, modifiers=NONE):
        held = Qt.MouseButton.NoButton if kind is QEvent.Type.MouseButtonRelease else button
        if kind is QEvent.Type.MouseMove:
            button = Qt.MouseButton.NoButton
        event = QMouseEvent(kind, pixel, QPointF(self.canvas.mapToGlobal(pixel)), button, held, modifiers)
        QApplication.sendEvent(self.canvas, event)

    def click(self, x_mm, y_mm, modifiers=NONE):
        pixel = self.at(x_mm, y_mm)
        self.send(QEvent.Type.MouseButtonPress, pixel, modifiers=modifiers)
        self.send(QEvent.Type.MouseButtonRelease, pixel, modifiers=modifiers)

    def double_click(self, x_mm, y_mm):
        self.click(x_mm, y_mm)
        pixel = self.at(x_mm, y_mm)
        self.send(QEvent.Type.MouseButtonDblClick, pixel)
        self.send(QEvent.Type.MouseButtonRelease, pixel)

    def press(self, x_mm, y_mm, modifiers=NONE, button=LEFT):
        self.send(QEvent.Type.MouseButtonPress, self.at(x_mm, y_mm), button, modifiers)

    def drag_to(self, x_mm, y_mm, modifiers=NONE, button=LEFT):
        for _ in range(2):
            self.send(QEvent.Type.MouseMove, self.at(x_mm, y_mm), button, modifiers)

    def release(self, x_mm, y_mm, modifiers=NONE, button=LEFT):
        self.send(QEvent.Type.MouseButtonRelease, self.at(x_mm, y_mm), button, modifiers)

    def drag(self, start, end, modifiers=NONE):
        self.press(*start, modifiers=modifiers)
        self.drag_to(*end, modifiers=modifiers)
        self.release(*end, modifiers=modifiers)

    def wheel(self, x_mm, y_mm, notches, modifiers=NONE):
        pixel = self.at(x_mm, y_mm)
        event = QWheelEvent(
            pixel,
            QPointF(self.canvas.mapToGlobal(pixel)),
            QPoint(),
            QPoint(0, 120 * notches),
            Qt.MouseButton.NoButton,
            modifiers,
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(self.canvas, event)

    def key(self, key, modifiers=NONE):
        self.qtbot.keyClick(self.canvas, key, modifiers)

    def colour(self, x_mm, y_mm):
        self.canvas.finish_painting()
        image = self.canvas.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
        pixel = self.at(x_mm, y_mm).toPoint()
        return image.pixelColor(pixel)


def art(canvas):
    """Return what is shown, without the rulers, the ring of the focus and the pointer's mark."""
    return canvas.grab().toImage().copy(30, 30, canvas.width() - 60, canvas.height() - 60)


def near(box, expected, tolerance=0.3):
    return all(math.isclose(a, b, abs_tol=tolerance) for a, b in zip(box, expected, strict=True))


def crowd(count):
    """Return a job of many small shapes in rows, over a long wavy outline of some thousand segments."""
    wave = polygon([(index * 0.16, 50.0 + 30.0 * math.sin(index / 40.0)) for index in range(1200)], closed=False)
    places = [(2.0 + index % 60 * 3.2, 2.0 + index // 60 * 3.2) for index in range(count)]
    dots = [shape(f"dot-{index}", circle(place, 1.2)) for index, place in enumerate(places)]
    pair = shape("a", rectangle(20, 20, 40, 30), BLUE), shape("b", rectangle(40, 30, 40, 30))
    veil = Group("veil", pair, opacity=0.5)
    return sheet(Shape("wave", wave), *dots, veil)
