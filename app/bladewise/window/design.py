"""The measures of the window, in one place: spaces, sizes of type, radii, heights. Colours are the theme's.

All are Qt's device-independent pixels; type is a factor on the system's own font, so that it follows whatever the
operator has set for it. The steps are few on purpose: things are either near, apart, or far apart.
"""

from __future__ import annotations

TIGHT, SMALL, NEAR, APART, WIDE, FAR = 2, 4, 8, 12, 16, 24
"""Spaces: within a control, between its parts, between controls, between rows, between groups, around a page."""

INDENT = 36
"""Where words begin under a heading with a mark: the mark stands in the space."""

SPACES = frozenset({0, TIGHT, SMALL, 6, NEAR, APART, WIDE, FAR, INDENT})
"""Every space there is; six stands between verbs, which are many."""

FINE_TYPE = 0.9
"""Captions above fields, figures beside names."""

LEAD_TYPE = 1.15
"""What a card or an empty place says first."""

HEAD_TYPE = 1.25
"""The head of a page, the name of the job."""

TYPE_SIZES = frozenset({1.0, FINE_TYPE, LEAD_TYPE, HEAD_TYPE})

RADIUS_SMALL = 4
"""Rows, boxes, menu entries."""

RADIUS = 6
"""Controls."""

RADIUS_LARGE = 8
"""Cards and chips."""

FOCUS_PX = 2
"""The width of the ring around what has the focus."""

ICON = 16
"""Icons are drawn on a grid of so many pixels, and shown so or a whole number of times as large."""

ROW_HEIGHT = 26
"""A row of a list."""

PAGE_MARGINS = (FAR, FAR, FAR, WIDE)
"""Around the contents of a dialog: left, top, right, bottom."""
