"""Short questions: save before it is lost; and who we are."""

from __future__ import annotations

from enum import Enum

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QMessageBox, QWidget


class Answer(Enum):
    """What to do with changes not saved."""

    SAVE = "save"
    DISCARD = "discard"
    CANCEL = "cancel"


def tr(text: str) -> str:
    """Return a text in the operator's language."""
    return QCoreApplication.translate("Questions", text)


def ask_unsaved(parent: QWidget, name: str) -> Answer:
    """Ask what to do with changes not saved."""
    box = QMessageBox(parent)
    box.setObjectName("unsaved")
    box.setWindowTitle(tr("Unsaved changes"))
    box.setText(tr("“{name}” has changes that are not saved.").format(name=name))
    box.setInformativeText(tr("Without saving, the steps done since are lost."))
    buttons = QMessageBox.StandardButton
    box.setStandardButtons(buttons.Save | buttons.Discard | buttons.Cancel)
    box.setDefaultButton(buttons.Save)
    answer = box.exec()
    return {buttons.Save.value: Answer.SAVE, buttons.Discard.value: Answer.DISCARD}.get(answer, Answer.CANCEL)


def show_about(parent: QWidget) -> QMessageBox:
    """Return the box that says who we are."""
    from bladewise import __version__

    box = QMessageBox(parent)
    box.setWindowTitle(tr("About Bladewise"))
    box.setText(f"Bladewise {__version__}")
    box.setInformativeText(
        tr("Turns artwork into files a knife can follow: outlines checked, colours separated, true to size.")
    )
    box.setStandardButtons(QMessageBox.StandardButton.Close)
    return box
