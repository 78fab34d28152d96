"""Samples: the operator's own words in each font, made in a worker as the rows come into view, and kept."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QPainterPath

from bladewise.document import Lettering
from bladewise.lettering import find_face, set_outline
from bladewise.lettering.catalogue import joins, lacking
from bladewise.window.paths import curves
from bladewise.window.worker import Worker

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from bladewise.errors import BladewiseError
    from bladewise.geometry.path import Path

LONGEST = 40
"""So many letters are enough to judge a font by."""


@dataclass(frozen=True)
class Sample:
    """Words in one font.

    Parameters
    ----------
    path
        Their outline; the em is one unit, the baseline begins at the origin, y downward.
    lacks
        The letters the font has no glyph for.
    joins
        Whether its letters join as in handwriting; None until it has been measured.
    """

    path: QPainterPath
    lacks: str
    joins: bool | None = None


class Sampler(QObject):
    """Makes samples one after the other, those that are looked at first."""

    sampled = Signal(str)

    def __init__(self, parent: QObject) -> None:
        """Begin with nothing."""
        super().__init__(parent)
        self.text = ""
        self.samples: dict[str, Sample] = {}
        self._joins: dict[str, bool] = {}
        self._wanted: tuple[str, ...] = ()
        self._measured: tuple[str, ...] = ()
        self._worker = Worker(self)

    @property
    def is_busy(self) -> bool:
        """Whether samples are being made."""
        return self._worker.is_busy

    def set_text(self, text: str) -> None:
        """Take other words; what was made of the old ones goes."""
        line = next((line.strip() for line in text.split("\n") if line.strip()), "")[:LONGEST]
        if line != self.text:
            self.text = line
            self.samples = {}

    def want(self, families: Sequence[str], measured: Collection[str] = ()) -> None:
        """Ask for the samples of families, and, after them, whether the letters of others join."""
        self._wanted, self._measured = tuple(families), tuple(measured)
        self._next()

    def joins(self, family: str) -> bool | None:
        """Return whether a family's letters join; None until it has been measured."""
        return self._joins.get(family)

    def close(self) -> None:
        """Stop for good."""
        self._worker.close()

    def _next(self) -> None:
        if self._worker.is_busy:
            return
        text = self.text
        lacking_one = next((each for each in self._wanted if each not in self.samples), None)
        if lacking_one is not None:
            family = lacking_one
            self._worker.start(
                lambda _progress: _sample(family, text), lambda found: self._made(family, text, *found), self._failed
            )
            return
        unmeasured = (each for each in (*self._wanted, *self._measured) if each not in self._joins)
        other = next(unmeasured, None)
        if other is not None:
            self._worker.start(lambda _progress: _joins(other), lambda joined: self._known(other, joined), self._failed)

    def _made(self, family: str, text: str, path: Path, lacks: str) -> None:
        if text == self.text:
            self.samples[family] = Sample(curves(path), lacks, self._joins.get(family))
            self.sampled.emit(family)
        self._next()

    def _known(self, family: str, joined: bool) -> None:  # noqa: FBT001 - what the worker hands over
        self._joins[family] = joined
        if family in self.samples:
            self.samples[family] = replace(self.samples[family], joins=joined)
        self.sampled.emit(family)
        self._next()

    def _failed(self, _error: BladewiseError) -> None:
        self._wanted = self._measured = ()


def _sample(family: str, text: str) -> tuple[Path, str]:
    face = find_face(family)
    weight = face.weight if face is not None else 400
    words = Lettering("sample", text, family, 1.0, weight=weight, italic=face is not None and face.italic)
    return set_outline(words).outline, lacking(face, text) if face is not None else text


def _joins(family: str) -> bool:
    face = find_face(family)
    return face is not None and joins(face)
