"""What comes to the canvas from outside its picture: files dropped on it, and the question what a mark means."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QRectF
from PySide6.QtWidgets import QToolTip

from bladewise.window.canvas.holding import Holding
from bladewise.window.language import say

if TYPE_CHECKING:
    from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDropEvent, QHelpEvent

_REACH_PX = 11.0
_MOST_LINES = 4


class Receiving(Holding):
    """A canvas that takes files and explains its marks."""

    def explain(self, event: QHelpEvent) -> None:
        """Tell what the mark under the pointer means."""
        x, y = event.pos().x() - _REACH_PX, event.pos().y() - _REACH_PX
        spot = QRectF(x, y, 2.0 * _REACH_PX, 2.0 * _REACH_PX)
        for mark in reversed(self.marks()):
            if spot.contains(mark.place):
                lines = [say(self._findings[index].message) for index in mark.findings[:_MOST_LINES]]
                if len(mark.findings) > len(lines):
                    more = QCoreApplication.translate("Canvas", "… {count} more")
                    lines.append(more.format(count=len(mark.findings) - len(lines)))
                QToolTip.showText(event.globalPos(), "\n".join(lines), self)
                return
        QToolTip.hideText()
        event.ignore()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files from the disk, and show that they are taken."""
        if any(url.isLocalFile() for url in event.mimeData().urls()):
            event.acceptProposedAction()
            self._dropping = True
            self.update()

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        """Show that nothing will be taken any more."""
        self._dropping = False
        self.update()

    def dropEvent(self, event: QDropEvent) -> None:
        """Hand on the files."""
        self._dropping = False
        self.update()
        paths = [url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()]
        if paths:
            event.acceptProposedAction()
            self.files_dropped.emit(paths)
