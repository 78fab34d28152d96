"""A change of a material of the job, as steps: what it is by `set-material`, what it asks by `material-profile`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bladewise import operations
from bladewise.document.profiles import VALUES

if TYPE_CHECKING:
    from bladewise.document import Material
    from bladewise.operations import Step


def steps_for(before: Material, wanted: Material) -> list[Step]:
    """Return the steps that make one material of the job what is wanted."""
    said: dict[str, Any] = {}
    if wanted.kind is not before.kind:
        said["kind"] = str(wanted.kind)
    if wanted.colour != before.colour:
        said["display"] = wanted.colour.hex
    for name in ("cut", "perforation_cut_mm", "perforation_gap_mm"):
        if getattr(wanted, name) != getattr(before, name):
            said[name] = getattr(wanted, name) if name != "cut" else str(wanted.cut)
    steps = []
    if said:
        steps.append(operations.step("set-material", {"on": {"material": before.id}, "material": before.name, **said}))
    if wanted.profile != before.profile or wanted.name != before.name:
        steps.append(operations.step("material-profile", profile_values(before.name, wanted)))
    return steps


def profile_values(name: str, wanted: Material) -> dict[str, Any]:
    """Return all of a profile as the step takes it: what it does not say goes back to the default."""
    profile = wanted.profile
    values: dict[str, Any] = {each: value for each in VALUES if (value := getattr(profile, each)) is not None}
    if profile.like is not None:
        values["like"] = profile.like
    if profile.heat_transfer != (profile.common.heat_transfer if profile.like else False):
        values["heat_transfer"] = "yes" if profile.heat_transfer else "no"
    if wanted.name != name:
        values["name"] = wanted.name
    return {"material": name, **values}
