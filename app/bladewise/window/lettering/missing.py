"""Lettering whose font is not on this computer: it is told when a job opens, and its outlines stay as saved."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from bladewise.document import Lettering
from bladewise.lettering import find_face
from bladewise.window.desk import Message, Tone
from bladewise.window.language import quoted

if TYPE_CHECKING:
    from bladewise.document import Job
    from bladewise.window.desk import Desk

MOST_TOLD = 4


def missing_fonts(job: Job) -> dict[str, list[str]]:
    """Return the families that live lettering asks for and that are not to be had, each with what is set in it."""
    lacking: dict[str, list[str]] = {}
    for placed in job.walk():
        leaf = placed.leaf
        if isinstance(leaf, Lettering):
            face = find_face(leaf.family, leaf.weight, italic=leaf.italic)
            if face is None or face.substitute:
                lacking.setdefault(leaf.family, []).append(leaf.name or leaf.text)
    return lacking


class MissingFonts(QObject):
    """Looks through each job that is put on the desk."""

    def __init__(self, desk: Desk, parent: QObject) -> None:
        """Listen to the desk."""
        super().__init__(parent)
        self._desk = desk
        desk.opened.connect(self._look)
        self._look()

    def _look(self) -> None:
        job = self._desk.job
        if any(isinstance(placed.leaf, Lettering) for placed in job.walk()):
            self._desk.errands.start(lambda _progress: missing_fonts(job), lambda found: self._tell(job, found))

    def _tell(self, job: Job, found: dict[str, list[str]]) -> None:
        if job is not self._desk.session.history.base and job is not self._desk.job:
            return
        told = []
        notes = () if self._desk.session.history.entries else job.notes
        for family, names in found.items():
            if any("substitute" in note and family in note for note in notes):  # told by the notes on the artwork
                continue
            shown = ", ".join(quoted(name) for name in names[:MOST_TOLD])
            if len(names) > MOST_TOLD:
                shown += self.tr(" and {count} more").format(count=len(names) - MOST_TOLD)
            told.append(
                self.tr("The font “{family}” is not on this computer: {lettering}.").format(
                    family=family, lettering=shown
                )
            )
        if told:
            hint = self.tr("The outlines stay as they were saved; nothing is set anew until you choose a font.")
            self._desk.tell(Message(" ".join(told), Tone.TROUBLE, hint))
