"""One glossary: all of it in Help, and each odd word explained where it is met."""

import pytest
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from tests.gui.stand import Stand, begin_shift
from washmon.gui.glossary import WORDS, WordLinks, odd_words
from washmon.gui.help_page import HelpPage
from washmon.line.events import ReadingTaken


@pytest.fixture
def stand(stand: Stand) -> Stand:
    """Before a window of a shift that has begun."""
    begin_shift(stand.path)
    stand.open()
    return stand


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("20 ppm is under the critical low of 25.", ("Critical low",)),
        ("Free chlorine fell; the CT is short", ("Free chlorine", "CT")),
        ("What a direct act of the fill does", ()),  # "ct" within words, and everyday ones
        ("HOCl at pH 7; 41 NTU", ("HOCl", "NTU")),
    ],
)
def test_the_odd_words_of_a_text_are_found(text: str, words: tuple[str, ...]) -> None:
    assert odd_words(text) == words


def test_help_has_all_of_it(qtbot: QtBot) -> None:
    page = HelpPage()
    qtbot.addWidget(page)
    shown = {label.text() for label in page.findChildren(QLabel)}
    assert {part for entry in WORDS for part in entry} <= shown


def test_a_press_explains_a_word_and_another_closes_it(qtbot: QtBot) -> None:
    links = WordLinks()
    qtbot.addWidget(links)
    links.link(["The CT is short: more HOCl"])
    links.show()
    assert list(links.buttons) == ["CT", "HOCl"]
    links.buttons["CT"].click()
    assert links.meaning.text() == dict(WORDS)["CT"]
    links.buttons["HOCl"].click()
    assert links.meaning.text() == dict(WORDS)["HOCl"]
    assert not links.buttons["CT"].isChecked()
    links.buttons["HOCl"].click()
    assert not links.meaning.isVisible()
    links.link(["Nothing odd"])
    assert not links.isVisible()


def test_behind_a_plan_its_odd_words_are_linked(stand: Stand) -> None:
    reading = ReadingTaken(at=stand.now, by="RM", tank=1, fac_mg_l=18.0, ph=7.0)
    stand.window.client.enter(reading, sure=True)
    stand.qtbot.waitUntil(lambda: (1, "chlorine-critical") in stand.rules_up())
    why = stand.why(1)
    stand.click(why.words.buttons["Critical low"])
    assert why.words.meaning.isVisible()
