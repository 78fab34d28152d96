"""A page of a paper on the screen, painted as a picture of it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize
from PySide6.QtGui import QColor, QPainter, QPen, QPixmap
from PySide6.QtWidgets import QWidget

from bladewise.window import theme
from bladewise.window.painting import paint_job
from bladewise.window.view import View

if TYPE_CHECKING:
    from PySide6.QtGui import QPaintEvent

    from bladewise.document import Job

_PAGE_WIDTH, _LEAST_WIDTH = 620, 320


class PaperPage(QWidget):
    """One page, painted as a picture of it is."""

    def __init__(self, job: Job, number: int, count: int) -> None:
        """Show a page."""
        super().__init__()
        self._job = job
        self._pixmap: QPixmap | None = None
        self.setAccessibleName(self.tr("Page {number} of {count}").format(number=number, count=count))
        self.fit(_PAGE_WIDTH)

    def fit(self, room: int) -> None:
        """Be as wide as reads well and as there is room for; the height follows from it."""
        wide = max(_LEAST_WIDTH, min(room, _PAGE_WIDTH))
        self.setFixedSize(QSize(wide, round(wide * self._job.height_mm / self._job.width_mm)))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the page on white paper."""
        ratio = self.devicePixelRatioF()
        if self._pixmap is None or self._pixmap.size() != self.size() * ratio:
            self._pixmap = QPixmap(self.size() * ratio)
            self._pixmap.fill(QColor(255, 255, 255))
            inner = QPainter(self._pixmap)
            paint_job(inner, self._job, View(self.width() * ratio / self._job.width_mm))
            inner.end()
            self._pixmap.setDevicePixelRatio(ratio)
        painter = QPainter(self)
        painter.drawPixmap(0, 0, self._pixmap)
        painter.setPen(QPen(theme.colour("border"), 1))
        painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()
