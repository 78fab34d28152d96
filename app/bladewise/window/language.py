"""The operator's language: a dictionary of all texts, for those of the window and those the core makes.

Window texts go through Qt's `tr` and come here by way of the installed translator; texts the core made
(what a step is called, findings, errors) go through `say`, which puts their names and numbers into the other
language's sentence. What the dictionary lacks stays English.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QTranslator

from bladewise.phrases import in_words, phrase

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from PySide6.QtCore import QLocale, QObject

FOLDER = Path(__file__).parent / "languages"


class Dictionary(QTranslator):
    """All texts of one language; a text means the same wherever it stands."""

    def __init__(self, texts: Mapping[str, str], parent: QObject | None = None) -> None:
        """Keep the texts that are translated."""
        super().__init__(parent)
        self._texts = {text: other for text, other in texts.items() if other}

    def isEmpty(self) -> bool:
        """Whether it holds nothing."""
        return not self._texts

    def translate(self, _context: str, text: str, _disambiguation: str | None = None, _count: int = -1) -> str | None:
        """Return the other language's text, None where there is none."""
        return self._texts.get(text)


def dictionary(locale: QLocale, parent: QObject | None = None) -> Dictionary | None:
    """Return the dictionary of a language; None for English and for those there is none for."""
    path = FOLDER / f"{locale.name().split('_')[0]}.json"
    if not path.is_file():
        return None
    try:
        texts = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None  # a damaged dictionary is as good as none
    return Dictionary(texts, parent) if isinstance(texts, dict) else None


def say(text: str) -> str:
    """Return a text of the core in the operator's language."""
    return in_words(text, lambda template: QCoreApplication.translate("core", template))


def quoted(name: str) -> str:
    """Return a name in the quotation marks of the operator's language."""
    return say(phrase("“{name}”", name=name))


def say_all(texts: Iterable[str]) -> str:
    """Return sentences of the core one after the other, in the operator's language."""
    return " ".join(say(each) for each in texts)
