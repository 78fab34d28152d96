"""Words can be read in either theme, and the theme follows what was chosen."""

from __future__ import annotations

import re

import pytest
from PySide6.QtGui import QPalette

from bladewise.operations import OPERATIONS
from bladewise.window import icons, theme
from bladewise.window.stylesheet import stylesheet
from bladewise.window.theme import DARK, LIGHT, MARK_PAIRS, TEXT_PAIRS, Scheme, contrast, palette


@pytest.mark.parametrize("which", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("pair", TEXT_PAIRS, ids=lambda pair: f"{pair[0]}-on-{pair[1]}")
def test_text_has_the_contrast_wcag_asks_for(which, pair):
    """WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1."""
    text, ground = (getattr(which, name) for name in pair)
    assert contrast(text, ground) >= 4.5


@pytest.mark.parametrize("which", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("pair", MARK_PAIRS, ids=lambda pair: f"{pair[0]}-on-{pair[1]}")
def test_edges_and_focus_have_the_contrast_wcag_asks_for(which, pair):
    """WCAG 2.2, success criterion 1.4.11: at least 3 to 1."""
    mark, ground = (getattr(which, name) for name in pair)
    assert contrast(mark, ground) >= 3.0


def _rules(sheet):
    """Return the rules of a style sheet as (selector, colour of words, ground)."""
    for selector, body in re.findall(r"([^{}]+)\{([^{}]*)\}", sheet):
        values = dict(re.findall(r"(?:^|;|\s)(color|background): (#[0-9a-f]{6})", body))
        if len(values) == 2:
            yield selector.strip(), values["color"], values["background"]


@pytest.mark.parametrize("which", [LIGHT, DARK], ids=["light", "dark"])
def test_every_rule_of_the_style_sheet_keeps_the_contrast(which):
    """WCAG 2.2, 1.4.3; for controls that cannot be used it asks nothing, we ask 3 to 1."""
    rules = list(_rules(stylesheet(which)))
    assert len(rules) > 15
    for selector, words, ground in rules:
        least = 3.0 if ":disabled" in selector else 4.5
        assert contrast(words, ground) >= least, selector


@pytest.mark.parametrize("which", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("ground", ["panel", "raised", "hover", "window"])
def test_what_cannot_be_used_now_can_still_be_read(which, ground):
    """WCAG 2.2, 1.4.3 leaves inactive controls out; our own bar is that of 1.4.11."""
    assert contrast(which.border, getattr(which, ground)) >= 3.0


@pytest.mark.parametrize("which", [LIGHT, DARK], ids=["light", "dark"])
def test_qts_own_palette_keeps_the_contrast(which):
    role, group = QPalette.ColorRole, QPalette.ColorGroup
    made = palette(which)
    for words, ground in (
        (role.WindowText, role.Window),
        (role.Text, role.Base),
        (role.Text, role.AlternateBase),
        (role.ButtonText, role.Button),
        (role.HighlightedText, role.Highlight),
        (role.ToolTipText, role.ToolTipBase),
        (role.PlaceholderText, role.Base),
        (role.Link, role.Base),
        (role.LinkVisited, role.Base),
    ):
        assert contrast(made.color(words).name(), made.color(ground).name()) >= 4.5, words
        dimmed = (made.color(group.Disabled, each).name() for each in (words, ground))
        assert contrast(*dimmed) >= 3.0, words


def test_contrast_is_that_of_wcag():
    """Black on white is 21 to 1; #767676 on white is 4.54 to 1 (WCAG 2.2, understanding 1.4.3)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


def test_the_theme_can_be_switched_in_the_view_menu(window):
    window.actions_["theme-dark"].trigger()
    assert theme.current() is DARK
    assert window.preferences.scheme is Scheme.DARK
    assert window.palette().window().color().name() == DARK.panel
    window.actions_["theme-light"].trigger()
    assert theme.current() is LIGHT
    window.actions_["theme-system"].trigger()
    assert window.preferences.scheme is Scheme.SYSTEM


def test_every_operation_has_an_icon():
    assert [operation.name for operation in OPERATIONS if not icons.exists(operation.name)] == []


def test_icons_take_the_colour_of_the_theme(qapp):
    picture = icons.icon("merge").pixmap(32, 32).toImage()
    inks = {
        picture.pixelColor(x, y).name() for x in range(32) for y in range(32) if picture.pixelColor(x, y).alpha() == 255
    }
    assert theme.current().text in inks
