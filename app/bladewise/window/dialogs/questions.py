"""Short questions: save before it is lost, which colour; and who we are."""

from __future__ import annotations

from enum import Enum

from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QAbstractButton, QAbstractSpinBox, QColorDialog, QLineEdit, QMessageBox, QWidget

from bladewise.document import Colour


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


def colour_dialog(colour: Colour | None, parent: QWidget | None, title: str) -> QColorDialog:
    """Return the page on which any colour can be mixed: Qt's own.

    Its areas for the pointer take no focus: they have no name and show none, and the numbers beside them do the same.
    """
    dialog = QColorDialog(QColor(*colour) if colour is not None else QColor(), parent)
    dialog.setOption(QColorDialog.ColorDialogOption.DontUseNativeDialog)
    dialog.setWindowTitle(title)
    for part in dialog.findChildren(QWidget):
        if not isinstance(part, (QAbstractButton, QAbstractSpinBox, QLineEdit)):
            part.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    return dialog


def ask_colour(colour: Colour | None, parent: QWidget | None, title: str) -> Colour | None:
    """Ask for any colour; None if it was left."""
    dialog = colour_dialog(colour, parent, title)
    if not dialog.exec():
        return None
    chosen = dialog.selectedColor()
    return Colour(chosen.red(), chosen.green(), chosen.blue())
