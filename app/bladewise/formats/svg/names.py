"""Names in SVG files: the namespaces we know, and our own.

Everything Bladewise adds to a drawing (names, materials, locks, live lettering, exact arcs, steps)
stands in one namespace of its own, so that any other program may ignore it and any person can read it.
"""

from __future__ import annotations

SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
XML = "http://www.w3.org/XML/1998/namespace"
XHTML = "http://www.w3.org/1999/xhtml"

OURS = "https://bladewise.example/ns/job"
PREFIX = "bw"
VERSION = "1"
"""Version of our own part of the file."""
