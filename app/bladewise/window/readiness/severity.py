"""How the severities are told apart: by the shape of a mark and a colour of the theme, never by colour alone."""

from __future__ import annotations

from bladewise.findings import Severity

SEVERITY_ICONS = {
    Severity.SPOILS: "mark-spoils",
    Severity.MAY_SPOIL: "mark-may-spoil",
    Severity.WASTES: "mark-wastes",
}
SEVERITY_COLOURS = {Severity.SPOILS: "spoils", Severity.MAY_SPOIL: "may_spoil", Severity.WASTES: "wastes"}
