"""How lettering is set is kept as plain values; what makes no sense among them is refused, not set."""

from __future__ import annotations

import json
from typing import Any

import pytest

from bladewise.document import Bending, BendKind, Fit, Height, Letters, Typesetting
from bladewise.geometry.path import circle


def test_what_is_kept_comes_back_the_same() -> None:
    path = circle((0.0, 0.0), 10.0)
    bending = Bending(kind=BendKind.PATH, start_mm=3.0, other_side=True, letters=Letters.TURNED, path=path)
    made = Typesetting(
        height=Height.CAPS, width_mm=80.0, fit=Fit.SPACE, features=("smcp",), axes=(("wght", 650.0),), bending=bending
    )
    assert Typesetting.from_plain(json.loads(json.dumps(made.plain())), path) == made
    assert Typesetting().plain() == {}


@pytest.mark.parametrize(
    "values",
    [
        {"bending": {"kind": "four-corners", "corners_mm": [1, 2, 3]}},
        {"bending": {"kind": "nothing of the sort"}},
        {"bending": {"kind": "along-an-arc", "radius_mm": float("nan")}},
        {"bending": []},
        {"unheard_of": 3},
        {"width_mm": 0},
        {"width_mm": -5},
        {"width_mm": 10**400},
        {"line_spacing": float("inf")},
        {"slant_deg": 90},
        {"axes": [["wght", float("nan")]]},
    ],
)
def test_damaged_values_are_refused(values: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match=r"set|lettering|valid"):
        Typesetting.from_plain(values)
