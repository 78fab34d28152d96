"""Bladewise turns artwork into files a knife can follow."""

__version__ = "0.1.0"
