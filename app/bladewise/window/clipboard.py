"""Copy, cut, paste, duplicate. Art travels as itself between our own windows, as SVG to and from everything else."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QMimeData, QObject
from PySide6.QtGui import QGuiApplication

from bladewise import formats, operations
from bladewise.errors import BladewiseError
from bladewise.operations import Selection
from bladewise.operations.duplicating import copied, holds_art
from bladewise.window.desk import Message

if TYPE_CHECKING:
    from collections.abc import Callable

    from bladewise.document import Job
    from bladewise.window.desk import Desk
    from bladewise.window.handling import Handling

ART = "application/x-bladewise-art"
SVG = "image/svg+xml"
STEP_MM = 5.0
"""What is pasted or duplicated lies this far right and down of where it came from, each further one as far again."""


class Clipboard(QObject):
    """The operator's clipboard."""

    def __init__(self, desk: Desk, handling: Handling, parent: QObject) -> None:
        """Work on a desk."""
        super().__init__(parent)
        self._desk, self._handling = desk, handling
        self.elsewhere: Callable[[], bool] = lambda: False
        """Takes what is pasted if a page is open that is about something else than art."""
        self._text = ""
        self._pasted = 0

    def copy(self) -> bool:
        """Copy what is selected, or what was measured while the hand is about measuring."""
        if self._handling.copy_text():
            return True
        desk = self._desk
        if not desk.selection:
            desk.tell(Message(self.tr("Select something to copy.")))
            return False
        try:
            text = copied(desk.job, Selection.from_plain(sorted(desk.selection)))
        except BladewiseError as error:
            desk.tell_error(error)
            return False
        data = QMimeData()
        data.setData(ART, text.encode("utf-8"))
        drawing = formats.svg_text(_only_selected(desk))
        data.setData(SVG, drawing.encode("utf-8"))
        data.setText(drawing)
        QGuiApplication.clipboard().setMimeData(data)
        self._text, self._pasted = text, 0
        count = len(desk.selected_leaves())
        desk.tell(Message(self.tr("1 shape copied.") if count == 1 else self.tr("{n} shapes copied.").format(n=count)))
        return True

    def cut(self) -> None:
        """Copy what is selected and remove it; pasted, it comes back where it was."""
        desk = self._desk
        if any(placed.locked for placed in desk.selected_leaves()):
            desk.tell(Message(self.tr("Some of this is locked; free it first.")))
        elif desk.selection and self.copy():
            self._pasted = -1
            desk.do(operations.step("delete", {"on": desk.on_selection()}))

    def paste(self, *, in_place: bool = False) -> None:
        """Put what was copied into the job, a little beside where it came from or just there."""
        desk = self._desk
        if self.elsewhere():
            return
        text = self._art()
        if not text:
            desk.tell(Message(self.tr("There is no art on the clipboard.")))
            return
        if text != self._text:
            self._text, self._pasted = text, 0
        self._pasted += 1
        shift = 0.0 if in_place else self._pasted * STEP_MM
        desk.do(operations.step("paste", {"art": text, "dx_mm": shift, "dy_mm": shift}))

    def duplicate(self) -> None:
        """Put a copy of what is selected a little beside it."""
        desk = self._desk
        if not desk.selection:
            desk.tell(Message(self.tr("Select something to duplicate.")))
            return
        values: dict[str, Any] = {"on": desk.on_selection(), "dx_mm": STEP_MM, "dy_mm": STEP_MM}
        desk.do(operations.step("duplicate-here", values))

    def _art(self) -> str:
        """Return the art on the clipboard as a step takes it; SVG from elsewhere is read first."""
        data = QGuiApplication.clipboard().mimeData()
        if data is None:
            return ""
        if data.hasFormat(ART):
            text = bytes(data.data(ART).data()).decode("utf-8", "replace")
            return text if holds_art(text) else ""
        drawing = bytes(data.data(SVG).data()) if data.hasFormat(SVG) else data.text().encode("utf-8")
        head = drawing[:2000].lstrip()
        if not (head.startswith(b"<") and b"<svg" in drawing[:20_000]):
            return ""
        try:
            with tempfile.TemporaryDirectory() as folder:
                path = Path(folder) / self.tr("clipboard.svg")
                path.write_bytes(drawing)
                job = formats.read(path).current
            return copied(job, Selection())
        except BladewiseError as error:
            self._desk.tell_error(error)
            return ""


def _only_selected(desk: Desk) -> Job:
    """Return the job with nothing but what is selected."""
    kept = {placed.leaf.id for placed in desk.selected_leaves()}
    return desk.job.without({placed.leaf.id for placed in desk.job.walk() if placed.leaf.id not in kept})
