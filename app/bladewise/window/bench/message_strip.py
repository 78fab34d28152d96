"""The line in which the program speaks: what a step reported, why a number is refused, how far long work is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt, QTimer
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QFontMetrics
from PySide6.QtWidgets import QApplication, QHBoxLayout, QLabel, QProgressBar, QSizePolicy, QWidget

from bladewise.window.controls import ElidedLabel, IconLabel, label, push_button, restyle
from bladewise.window.design import FINE_TYPE
from bladewise.window.desk import Message, Tone

if TYPE_CHECKING:
    from bladewise.window.desk import Desk

SHOW_WORK_AFTER_MS = 150
"""Shorter work shows no bar: a bar that only flashes says nothing."""

_MARKS = {Tone.PLAIN: ("mark-note", "muted"), Tone.GOOD: ("mark-good", "good"), Tone.TROUBLE: ("mark-spoils", "spoils")}


class _Said(ElidedLabel):
    """A message: on one line, or finer on two if it is longer; only what is longer still is shortened."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def minimumSizeHint(self) -> QSize:
        """Ask for the height of what is shown."""
        lines = QLabel.text(self).count("\n") + 1
        return QSize(1, QFontMetrics(self.font()).lineSpacing() * lines)

    def sizeHint(self) -> QSize:
        """Ask for no width: the strip gives what there is."""
        return self.minimumSizeHint()

    def _fit(self) -> None:
        room, whole = max(0, self.width()), self.text()
        font = QApplication.font(self)
        on_one = QFontMetrics(font).horizontalAdvance(whole) <= room
        if not on_one:
            font.setPointSizeF(font.pointSizeF() * FINE_TYPE)
        if self.font().pointSizeF() != font.pointSizeF():
            self.setFont(font)
        if on_one:
            self._show(whole)
            return
        metrics = QFontMetrics(font)
        first = ""
        for word in whole.split(" "):
            longer = f"{first} {word}" if first else word
            if metrics.horizontalAdvance(longer) > room:
                break
            first = longer
        second = metrics.elidedText(whole[len(first) :].strip(), Qt.TextElideMode.ElideRight, room)
        self._show("\n".join(filter(None, (first, second))))

    def _show(self, shown: str) -> None:
        QLabel.setText(self, shown)
        self.setToolTip(self.text() if shown.replace("\n", " ") != self.text() else "")
        self.updateGeometry()


class MessageStrip(QWidget):
    """Shows the last message, and a slim bar with a way out while work is under way."""

    def __init__(self, desk: Desk) -> None:
        """Listen to the desk."""
        super().__init__()
        self._desk = desk
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        self.mark = IconLabel("mark-note", "muted", 15)
        self.text = _Said()
        self.work = label("", "muted")
        self.bar = QProgressBar()
        self.bar.setRange(0, 1000)
        self.bar.setTextVisible(False)
        self.bar.setFixedWidth(180)
        self.bar.setAccessibleName(self.tr("Progress"))
        self.stop = push_button(self.tr("Stop"), desk.steps.cancel)
        self.stop.setToolTip(self.tr("Stop; nothing will be changed"))
        row.addWidget(self.mark)
        row.addWidget(self.text, 1)
        row.addWidget(self.work)
        row.addWidget(self.bar)
        row.addWidget(self.stop)
        self._late = QTimer(self)
        self._late.setSingleShot(True)
        self._late.setInterval(SHOW_WORK_AFTER_MS)
        self._late.timeout.connect(lambda: self._show_work(on=True))
        desk.said.connect(self.say)
        desk.work_started.connect(self._work_started)
        desk.work_progressed.connect(lambda fraction: self.bar.setValue(int(fraction * 1000)))
        desk.work_ended.connect(self._work_ended)
        self.say(Message(""))
        self._show_work(on=False)

    def say(self, message: Message) -> None:
        """Show a message; an empty one clears the line."""
        icon, colour = _MARKS[message.tone]
        self.mark.show_icon(icon, colour)
        self.mark.setVisible(bool(message.text))
        restyle(self.text, "role", {Tone.GOOD: "good", Tone.TROUBLE: "trouble"}.get(message.tone, ""))
        self.text.setText(f"{message.text} {message.hint}".strip())
        if message.text and QAccessible.isActive():
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self.text, self.text.text()))

    def _work_started(self, title: str) -> None:
        self.work.setText(self.tr("{what}…").format(what=title) if title else self.tr("Working…"))
        self.bar.setValue(0)
        if not self._late.isActive() and self.bar.isHidden():
            self._late.start()

    def _work_ended(self) -> None:
        self._late.stop()
        self._show_work(on=False)

    def _show_work(self, *, on: bool) -> None:
        for widget in (self.work, self.bar, self.stop):
            widget.setVisible(on)
