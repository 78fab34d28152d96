"""Text in a drawing stands where another text engine sets it (resvg, with the very same fonts)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from bladewise.formats import read_svg, svg_text
from bladewise.lettering import search_also
from outside.pictures import ROOT, Difference, difference, picture

if TYPE_CHECKING:
    from pathlib import Path

FONTS = ROOT / "demo_art" / "fonts"
FILES = (FONTS / "Pacifico-Regular.ttf", FONTS / "JosefinSans-Bold.ttf")
BOUND = Difference(mean=0.6, off=0.004)
"""Outlines and text are softened at their edges in different ways."""

TEXTS = {
    "plain": '<text x="20" y="60" font-family="Pacifico" font-size="40">Puddlewick</text>',
    "runs": (
        '<text x="20" y="60" font-family="Josefin Sans" font-weight="bold" font-size="30">Fresh '
        '<tspan fill="red" font-family="Pacifico" font-weight="normal">coffee</tspan> daily</text>'
    ),
    "middle": (
        '<text x="150" y="60" text-anchor="middle" font-family="Josefin Sans" font-weight="bold" font-size="30">Tea '
        '<tspan fill="red" font-size="50">and</tspan> cake</text>'
    ),
    "end": '<text x="280" y="60" text-anchor="end" font-family="Pacifico" font-size="40">since 1987</text>',
    "lines": (
        '<text font-family="Josefin Sans" font-weight="bold" font-size="24"><tspan x="20" y="30">One</tspan>'
        '<tspan x="20" dy="30">and two</tspan><tspan x="40" dy="30" fill="blue">and three</tspan></text>'
    ),
    "turned": (
        '<g transform="translate(150 50) rotate(-12) scale(1.4 .8)"><text text-anchor="middle" font-family="Pacifico" '
        'font-size="40" letter-spacing="3" fill="#0072b2" stroke="#000" stroke-width="1">Sip slowly</text></g>'
    ),
    "kept spaces": (
        '<text x="20" y="60" xml:space="preserve" font-family="Josefin Sans" font-weight="bold" font-size="24">a   b  '
        "<tspan>c</tspan>\n d</text>"
    ),
    "shifted": (
        '<text x="20" y="40" dx="10" dy="20" font-family="Josefin Sans" font-weight="bold" font-size="24">Up'
        '<tspan dy="-10">and</tspan><tspan dx="5" fill="red">away</tspan></text>'
    ),
}


@pytest.mark.parametrize("name", TEXTS)
def test_text_stands_where_another_text_engine_sets_it(tmp_path: Path, name: str) -> None:
    search_also(FONTS)
    path = tmp_path / "text.svg"
    path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 300 100">{TEXTS[name]}</svg>')
    job = read_svg(path)
    assert not any("substitute" in note for note in job.notes)
    theirs, ours = picture(path, 900, 300, fonts=FILES), picture(svg_text(job), 900, 300)
    assert difference(theirs, picture(path, 900, 300)).off > 0.01, "the fonts were not found"
    apart = difference(theirs, ours)
    assert apart.within(BOUND), apart
