"""Starting the window: the application, its theme, and the first job."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QLibraryInfo, QLocale, QSettings, QTimer, QTranslator
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication

if TYPE_CHECKING:
    from pathlib import Path


def open_window(path: Path | None = None, settings: QSettings | None = None) -> int:
    """Open the window, on a file if one is given, and run until it is closed; return the exit code."""
    application = start_application()
    from bladewise.window.main_window import MainWindow

    window = MainWindow(settings=settings)
    window.show()
    QTimer.singleShot(0, window, window.offer_lost_work)
    if path is not None:
        QTimer.singleShot(0, window, lambda: window.files.open(path))
    return application.exec()


def start_application() -> QApplication:
    """Return the application, dressed; made once a process."""
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
    _translate(application)
    from bladewise.window import icons, theme

    application.setWindowIcon(icons.icon("cut-line", "accent"))
    theme.keeper()
    return application


def _translate(application: QApplication) -> None:
    """Let Qt's own words (of its dialogs) be in the operator's language."""
    translator = QTranslator(application)
    folder = QLibraryInfo.path(QLibraryInfo.LibraryPath.TranslationsPath)
    if translator.load(QLocale.system(), "qtbase", "_", folder):
        application.installTranslator(translator)
