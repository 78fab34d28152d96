"""Starting the window: the application, its theme, and the first job."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QLibraryInfo, QLocale, QSettings, QTimer, QTranslator
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication

from bladewise.window.language import dictionary

if TYPE_CHECKING:
    from pathlib import Path


def open_window(path: Path | None = None, settings: QSettings | None = None) -> int:
    """Open the window, on a file if one is given, and run until it is closed; return the exit code."""
    from bladewise.window.preferences import Preferences

    application = start_application(Preferences(settings).language)
    from bladewise.window.main_window import MainWindow

    window = MainWindow(settings=settings)
    window.show()
    QTimer.singleShot(0, window, window.greet)
    if path is not None:
        QTimer.singleShot(0, window, lambda: window.files.open(path))
    return application.exec()


def start_application(language: str = "") -> QApplication:
    """Return the application, dressed; made once a process. `language` is a code, empty for the system's."""
    running = QApplication.instance()
    if isinstance(running, QApplication):
        application = running
    else:
        if sys.platform.startswith("linux") and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
            os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
        application = QApplication(sys.argv[:1])
    QCoreApplication.setOrganizationName("Bladewise")
    QCoreApplication.setApplicationName("Bladewise")
    QGuiApplication.setApplicationDisplayName("Bladewise")
    QGuiApplication.setDesktopFileName("bladewise")
    application.setStyle("Fusion")
    _translate(application, language)
    from bladewise.window import icons, theme

    application.setWindowIcon(icons.icon("cut-line", "accent"))
    theme.keeper()
    return application


def _translate(application: QApplication, language: str) -> None:
    """Let our words and those of Qt's own dialogs be in the operator's language, as far as there are files for it."""
    for old in application.findChildren(QTranslator):
        application.removeTranslator(old)
        old.deleteLater()
    locale = QLocale(language) if language else QLocale.system()
    QLocale.setDefault(locale)
    theirs = QTranslator(application)
    if theirs.load(locale, "qtbase", "_", QLibraryInfo.path(QLibraryInfo.LibraryPath.TranslationsPath)):
        application.installTranslator(theirs)
    if (ours := dictionary(locale, application)) is not None:
        application.installTranslator(ours)
