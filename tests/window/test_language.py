"""The window in the operator's language: the dictionary is whole, and what is shown is said in it.

A dictionary cannot be proved well worded here; it can be proved complete, with the same places in braces, and used.
"""

from __future__ import annotations

import json
import re
from datetime import date

import pytest
from PySide6.QtCore import QLocale, QTranslator
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QAbstractButton, QLabel

import words
from bladewise.layout.ticket import ticket_of
from bladewise.operations import OPERATIONS
from bladewise.window.app import start_application
from bladewise.window.bench import fields as bench_fields
from bladewise.window.bench.fields import ChoiceField
from bladewise.window.dialogs.preferences import PreferencesDialog
from bladewise.window.language import FOLDER, quoted, say
from bladewise.window.palette import Palette
from bladewise.window.readiness.row import FindingRow, RuleHeading
from window.conftest import settle, take_away
from window.person import Ctrl, Key, Person

GERMAN = json.loads((FOLDER / "de.json").read_text(encoding="utf-8"))


@pytest.fixture
def german():
    """Speak German, and English again afterwards."""
    before = QLocale()
    application = start_application("de")
    yield
    for translator in application.findChildren(QTranslator):
        application.removeTranslator(translator)
        translator.deleteLater()
    QLocale.setDefault(before)


@pytest.fixture
def person(make_window, german, two_squares, qtbot, monkeypatch) -> Person:
    window = make_window(two_squares)
    settle(window, qtbot)
    return Person(window, qtbot, monkeypatch)


# --- the dictionary -------------------------------------------------------------------------------------------------


def test_every_text_has_a_translation_with_the_same_places():
    wanted = words.all_texts()
    assert not words.faults({text: GERMAN.get(text, "") for text in wanted}, wanted)


def test_what_stands_in_the_places_is_formatted_alike():
    def formats(text: str) -> list[str]:
        return sorted(re.findall(r"\{[a-z_0-9]+[:!][^}]*\}", text))

    assert [text for text, other in GERMAN.items() if formats(text) != formats(other)] == []


def test_translations_keep_ellipsis_mnemonic_and_the_spaces_they_are_joined_with():
    for text, other in GERMAN.items():
        assert text.endswith("…") == other.endswith("…"), text
        assert text.startswith(" ") == other.startswith(" "), text
        assert text.endswith(" ") == other.endswith(" "), text
        assert text.count("&") == other.count("&"), text
        assert "”" not in other, text


def test_no_two_entries_of_a_menu_have_the_same_letter(person):
    bar = person.window.menuBar()
    menus_ = [bar.actions(), *(action.menu().actions() for action in bar.actions())]
    for entries in menus_:
        letters = [entry.text().split("&", 1)[1][:1].casefold() for entry in entries if "&" in entry.text()]
        assert len(letters) == len(set(letters)), [entry.text() for entry in entries]


# --- the window -----------------------------------------------------------------------------------------------------


def test_the_menus_are_german(person):
    titles = [action.text().replace("&", "") for action in person.window.menuBar().actions()]
    assert titles == ["Datei", "Bearbeiten", "Ansicht", "Hilfe"]
    assert person.window.actions_["save"].text().replace("&", "") == "Speichern"
    assert person.window.actions_["save"].toolTip().startswith(GERMAN["Save the job with its command stack"])


def test_the_bench_offers_german_verbs_with_german_numbers(person):
    person.selects_all()
    shown = {button.text() for button in person.window.bench.findChildren(QAbstractButton) if button.isVisible()}
    assert {"Verschmelzen", "Ausschneiden", "Schnitt und Druck …"} <= shown
    folded = {action.text() for action in person.window.bench.findChildren(QAction)}
    assert {"Gestufte Kontur", "Aufkleberschnitte", "Druckmarken"} <= folded
    person.window.open_verb("stepped-outline")
    fields = person.window.bench.form.fields
    assert [fields[name].title for name in ("steps", "distance_mm", "side")] == ["Stufen", "Abstand", "Seite"]
    side = fields["side"]
    assert isinstance(side, ChoiceField)
    assert side.segments is not None
    assert [side.segments.button(each).text() for each in ("outside", "inside")] == ["Außen", "Innen"]


@pytest.mark.usefixtures("german")
def test_a_word_that_means_two_things_is_put_by_its_place():
    assert bench_fields.words("line", "per: line") == "Zeile"
    assert bench_fields.words("line", "joint: line") == "Linie"
    assert bench_fields.words("sweep", "sweep (deg)") == "Spannweite"
    assert bench_fields.words("sweep", "style: sweep") == "Schwung"


def test_a_wrong_number_is_refused_in_german_and_names_the_field(person):
    person.selects_all()
    person.window.open_verb("stepped-outline")
    field = person.window.bench.form.fields["distance_mm"]
    field.line.setText("-3")
    with pytest.raises(ValueError, match=r"„Abstand“ muss zwischen 0\.01 und 500 mm sein"):
        field.read()
    field.line.setText("3 ells")
    with pytest.raises(ValueError, match="ist keine Zahl"):
        field.read()


def test_the_palette_finds_by_german_words(person, qtbot):
    person.presses(Key.Key_K, Ctrl)
    palette = next(each for each in person.window.findChildren(Palette) if each.isVisible())
    titles = [palette.model.index(row).data() for row in range(palette.model.rowCount())]
    assert {GERMAN[operation.title] for operation in OPERATIONS if not operation.by_hand} <= set(titles)
    qtbot.keyClicks(palette.line, "kontur")
    assert palette.model.index(0).data() == "Gestufte Kontur"
    palette.line.clear()
    qtbot.keyClicks(palette.line, "entgittern")
    assert palette.model.index(0).data() == "Krümel weglassen"
    palette.line.clear()
    qtbot.keyClicks(palette.line, "dunkel")
    assert palette.model.index(0).data() == "Farbschema: Dunkel"


def test_a_step_stands_in_the_stack_in_german(person, qtbot):
    person.selects_all()
    person.window.desk.do_plain("stepped-outline", on="all", steps=2, distance_mm=3)
    settle(person.window, qtbot)
    model = person.window.stack.model
    rows = [model.index(row).data() for row in range(model.rowCount())]
    assert rows[0] == "Motiv, wie es kam"
    assert rows[1] == "Rechteck, 60 × 60 mm"
    assert rows[-1] == "Gestufte Kontur, 2 × 3 mm außen, rund"


def test_findings_and_their_remedies_are_german(person):
    panel = person.window.readiness
    row = panel.findChild(FindingRow)
    finding = row.finding
    assert "überlappen sich um 800 mm²" in say(finding.message)
    assert row.accessibleName() == f"Verdirbt den Schnitt: {say(finding.message)}"
    assert row.remedy.text() == "Beide zu einem Teil verschmelzen"
    assert panel.findChild(RuleHeading).fold.text() == "Überlappung"


def test_the_message_strip_tells_errors_and_reports_in_german(person, qtbot):
    person.window.desk.do_plain("close-outlines", on="all")
    settle(person.window, qtbot)
    assert person.window.bench.strip.text.text() == "Keiner dieser Umrisse ist offen. Diesen Schritt weglassen."
    person.window.desk.do_plain("no-such-step")
    assert "Es gibt keinen Schritt „no-such-step“." in person.window.bench.strip.text.text()


def test_names_the_operator_gave_are_never_translated(person, qtbot):
    window = person.window
    window.desk.do_plain("set-lettering", text="Open", x_mm=20, y_mm=90, size_mm=20)
    settle(window, qtbot)
    model = window.stack.model
    assert model.index(model.rowCount() - 1).data() == "Schriftzug „Open“, 20 mm"
    assert GERMAN["Open"] == "Öffnen"
    assert quoted("Star") == "„Star“"


@pytest.mark.usefixtures("german")
def test_every_step_says_itself_in_german():
    """Of each operation made with its defaults no word of the English sentence is left."""
    left = []
    for operation in OPERATIONS:
        try:
            record = operation.make({"on": "all"} if any(p.name == "on" for p in operation.parameters) else {})
        except ValueError:
            continue
        text = operation.summary(record)
        if say(text) == text and operation.title != "Ellipse":
            left.append((operation.name, text))
    assert left == []


@pytest.mark.usefixtures("german")
def test_the_job_ticket_is_german(two_squares):
    ticket = ticket_of(two_squares.job, (), date(2026, 3, 2))
    labels = (*ticket.head, *ticket.signatures, *(fact.label for fact in (*ticket.facts, *ticket.cautions)))
    assert [each for each in labels if each not in GERMAN] == []
    assert say(ticket.totals).startswith("Insgesamt: 2 Teile")
    assert say(ticket.order[0]) == f"„{ticket.figures[0].material.name}“ schneiden, entgittern, aufkleben."


@pytest.mark.usefixtures("german")
def test_names_stay_on_the_job_ticket_whatever_they_mean_elsewhere(two_squares):
    two_squares.do("set-material", on="all", material="Print", kind="cut")
    two_squares.do("job-details", customer="Round")
    ticket = ticket_of(two_squares.job, (), date(2026, 3, 2))
    assert (GERMAN["Round"], GERMAN["Print"]) == ("Rund", "Druck")
    assert "Round" in {say(fact.value) for fact in ticket.facts}
    assert [say(row.cells[0]) for row in ticket.rows] == [say(each.caption) for each in ticket.layers] == ["Print"]


def test_the_preferences_say_when_the_language_changes(person):
    dialog = PreferencesDialog(person.window.preferences, lambda _scheme: None, person.window)
    assert "ab dem nächsten Start" in {each.text() for each in dialog.findChildren(QLabel)}
    take_away(dialog)


def test_english_is_spoken_where_nothing_else_is_asked_for(window):
    assert window.menuBar().actions()[0].text().replace("&", "") == "File"
    assert say("all") == "all"
