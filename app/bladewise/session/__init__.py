"""The one door: open, apply a step, undo, check, save, export. Window and command line both go through it."""

from bladewise.session.rosters import RosterDone, fill_roster
from bladewise.session.running import Run, StepDone, run_recipe
from bladewise.session.session import Session

__all__ = ["RosterDone", "Run", "Session", "StepDone", "fill_roster", "run_recipe"]
