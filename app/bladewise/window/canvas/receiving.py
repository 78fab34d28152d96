"""What comes to the canvas from outside its picture: files dropped on it, and the question what a mark means."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QPointF
from PySide6.QtWidgets import QToolTip

from bladewise.window.canvas import marks
from bladewise.window.canvas.holding import Holding
from bladewise.window.language import say

if TYPE_CHECKING:
    from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDropEvent, QHelpEvent

_MOST_LINES = 4


class Receiving(Holding):
    """A canvas that takes files and explains its marks."""

    def explain(self, event: QHelpEvent) -> None:
        """Tell what the mark under the pointer means, and what mends it."""
        mark = marks.mark_at(self.marks(), QPointF(event.pos()))
        if mark is not None:
            lines = []
            for index in mark.findings[:_MOST_LINES]:
                finding = self._findings[index]
                lines += [say(finding.message), f"    → {say(finding.remedy.text)}"]
            if len(mark.findings) > _MOST_LINES:
                more = QCoreApplication.translate("Canvas", "… {count} more")
                lines.append(more.format(count=len(mark.findings) - _MOST_LINES))
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
