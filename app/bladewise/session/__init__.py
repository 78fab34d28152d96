"""The one door: open, apply a step, undo, check, save, export. Window and command line both go through it."""

from bladewise.session.session import Session

__all__ = ["Session"]
