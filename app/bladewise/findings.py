"""What the readiness check found: rule, shape, place, measure, a sentence, and a remedy."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import IntEnum
from typing import Any


class Severity(IntEnum):
    """How much harm a finding does, worst first."""

    SPOILS = 0
    MAY_SPOIL = 1
    WASTES = 2

    @property
    def text(self) -> str:
        """The severity in the operator's words."""
        return ("will spoil the cut", "may spoil the cut", "wasteful")[self]


@dataclass(frozen=True, slots=True)
class Remedy:
    """What mends a finding: a step, or a plain word why a person must decide.

    `do` names an operation and `values` its parameters in plain form (as in a recipe); `do` is None
    where no step can decide. `safe` says that nothing changes that a customer would see: steps that are
    not are offered one by one, and never taken unasked.
    """

    text: str
    do: str | None = None
    values: Mapping[str, Any] = field(default_factory=dict)
    safe: bool = True

    @property
    def is_safe_step(self) -> bool:
        """Whether a step mends it and nobody has to be asked."""
        return self.do is not None and self.safe


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that stands between the job and a clean cut.

    Parameters
    ----------
    rule
        The rule's name in kebab-case.
    severity
        How much harm it does.
    shapes
        Ids of the shapes it concerns; the first is the one to go to.
    x_mm, y_mm
        The place, in mm from the sheet's top left corner.
    measure, unit
        How much (an area, a length, a count) and in which unit ("mm", "mm²", "").
    message
        One sentence in the operator's words.
    remedy
        What mends it.
    places
        Every place in mm where there are several: each crossing, each gap; the first need not be the worst.
    """

    rule: str
    severity: Severity
    shapes: tuple[str, ...]
    x_mm: float
    y_mm: float
    measure: float
    unit: str
    message: str
    remedy: Remedy
    places: tuple[tuple[float, float], ...] = ()

    @property
    def all_places(self) -> tuple[tuple[float, float], ...]:
        """Every place in mm, whether there are several or one."""
        return self.places or ((self.x_mm, self.y_mm),)

    def plain(self) -> dict[str, Any]:
        """Return the finding as the documented `check --json` entry."""
        return {
            "rule": self.rule,
            "severity": self.severity.text,
            "shape": self.shapes[0] if self.shapes else "",
            "shapes": list(self.shapes),
            "x_mm": round(self.x_mm, 4),
            "y_mm": round(self.y_mm, 4),
            "measure": round(self.measure, 6),
            "unit": self.unit,
            "message": self.message,
            "remedy": self.remedy.text,
            "step": {"do": self.remedy.do, **self.remedy.values} if self.remedy.do else None,
            "safe": self.remedy.is_safe_step,
        }


def is_ready(findings: Iterable[Finding]) -> bool:
    """Whether nothing that was found may spoil the cut; what is only wasteful is told, and does not hold it up."""
    return all(finding.severity is Severity.WASTES for finding in findings)
