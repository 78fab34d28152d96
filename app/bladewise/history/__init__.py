"""The command stack: every change as a step that can be undone, changed and recomputed."""

from bladewise.history.stack import Entry, History, Row

__all__ = ["Entry", "History", "Row"]
