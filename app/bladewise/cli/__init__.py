"""The command line: the same operations, checks and files as the window, without it."""

from bladewise.cli.main import main

__all__ = ["main"]
