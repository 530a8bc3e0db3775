"""The first minute: three ways to begin, and from the first screen to a started shift."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from tests.gui.stand import Key, Stand
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.text import Text
from washmon.gui.practice.room import PracticeRoom
from washmon.gui.ready_page import FirstPage
from washmon.gui.replay_room import ReplayRoom
from washmon.gui.rooms import Room
from washmon.gui.setup_guide import SetupGuide
from washmon.gui.setup_guide.look_page import GoButton
from washmon.gui.setup_guide.product_forms import SanitizerForm
from washmon.gui.shift.start import ShiftStart
from washmon.line.events import ShiftStarted
from washmon.line.setup import LabelBasis, Role

SMALL_STAND = "3"
# The keystroke-level model's times: Card, Moran and Newell, Comm. ACM 1980, 23(7):396-410, with a
# key at 0.28 s, the rate of an average non-secretary typist (values from memory).
KEY_S, POINT_S, HOME_S, THINK_S = 0.28, 1.1, 0.4, 1.35
MOST_PRESSES, MOST_S = 40, 120.0


class Hand:
    """Counts what a person does: every key, every press of the mouse, and the time they take."""

    def __init__(self, stand: Stand) -> None:
        self.stand = stand
        self.presses = 0
        self.seconds = 0.0
        self._at_mouse = False

    def click(self, widget: QWidget) -> None:
        """Think, reach for the mouse, point, press."""
        self._go_to(mouse=True)
        self.presses += 1
        self.seconds += POINT_S
        self.stand.click(widget)

    def keys(self, *what: Qt.Key | str) -> None:
        """Think, reach for the keyboard, and type; each letter is a press."""
        self._go_to(mouse=False)
        count = sum(1 if isinstance(one, Qt.Key) else len(one) for one in what)
        self.presses += count
        self.seconds += count * KEY_S
        self.stand.type(*what)

    def _go_to(self, *, mouse: bool) -> None:
        self.seconds += THINK_S + (HOME_S if mouse is not self._at_mouse else 0.0)
        self._at_mouse = mouse


@pytest.fixture
def stand(stand: Stand) -> Stand:
    stand.open()
    return stand


def test_the_first_screen_offers_three_ways_and_each_leads_back_to_it(stand: Stand) -> None:
    page = stand.page(FirstPage)
    offered = [one.text() for one in page.findChildren(PressButton)]
    assert offered == ["Watch a demo shift", "Practise on simulated water", "Set up my line"]
    stand.key(Key.Key_F2)
    stand.wait_for(Room.PRACTICE)
    stand.click(stand.page(PracticeRoom).choose.back)
    stand.wait_for(Room.FIRST)
    stand.key(Key.Key_F3)
    stand.wait_for(Room.GUIDE)
    stand.key(Key.Key_Escape)
    stand.wait_for(Room.FIRST)


def test_the_demo_plays_on_the_board_at_once(stand: Stand) -> None:
    stand.key(Key.Key_F1)
    stand.wait_for(Room.REPLAY)
    room = stand.page(ReplayRoom)
    stand.qtbot.waitUntil(lambda: room.client.playing)
    assert room.client.speed == 60
    assert not room.bar.unfold.isChecked()  # the note would take the room of the plots
    with stand.qtbot.waitSignal(room.client.snapshot_changed):
        pass
    stand.qtbot.waitUntil(lambda: room.board.view is not None)
    stand.key(Key.Key_Escape)
    stand.wait_for(Room.FIRST)
    assert not room.client.playing


def set_up(hand: Hand) -> SetupGuide:
    """Describe the small stand with what only the shed can know, up to the look-over."""
    hand.keys(Key.Key_F3)
    guide = hand.stand.page(SetupGuide)
    hand.click(guide.template.answers.cards[SMALL_STAND].radio)
    hand.keys(Key.Key_Return)
    assert guide.at == 1
    hand.keys("AF", Key.Key_Return, "Ada Fern")
    (product,) = (one for one in guide.products.roster.forms if isinstance(one, SanitizerForm))
    hand.click(product.strength.editor)
    hand.keys("8.25")
    # A household label counts sodium hypochlorite by weight, which needs the density, too.
    hand.click(product.basis.cards[StrengthBasis.WEIGHT_PCT_NAOCL].radio)
    hand.click(product.density.editor)
    hand.keys("1.1")
    hand.click(guide.tanks.roster.forms[0].label_basis.row.button(LabelBasis.FREE))
    for owned in ("teaspoon", "cup"):
        hand.click(guide.measures.toggles[owned])
    hand.click(guide.next)
    assert guide.at == guide.last
    return guide


def test_from_the_first_screen_to_a_started_shift(stand: Stand) -> None:
    hand = Hand(stand)
    set_up(hand)
    hand.keys(Key.Key_Return)
    stand.wait_for(Room.READY)
    hand.keys(Key.Key_F1)
    page = stand.page(ShiftStart)
    hand.keys("A1")
    for button in page.checks.buttons.values():
        hand.click(button)
    hand.click(page.start)
    stand.wait_for(Room.FILLING)
    assert stand.window.header.facts.text().startswith("shift of ")  # site and place came later
    assert hand.presses <= MOST_PRESSES
    assert hand.seconds <= MOST_S
    (begun,) = stand.events
    assert isinstance(begun, ShiftStarted)
    setup = begun.setup
    assert [(one.initials, one.name, one.role) for one in setup.people] == [
        ("AF", "Ada Fern", Role.SUPERVISOR)
    ]
    assert {one.chlorine.label_basis for one in setup.tanks} == {LabelBasis.FREE}
    assert (setup.sanitizers[0].strength, setup.sanitizers[0].density_kg_l) == (8.25, 1.1)
    assert {"teaspoon", "cup"} <= set(setup.measures)


def test_what_was_left_out_is_named_in_the_look_over_and_one_press_away(stand: Stand) -> None:
    guide = set_up(Hand(stand))
    said = guide.look.sentences
    assert "The records of shifts lack the name of the site until it is written." in said
    assert "The records of shifts lack the location until it is written." in said
    lines = read(guide.look)
    for left_out in (
        "Site and location: not written yet",
        "Fresh water: not known",
        "Prices: not written",
        "The usual values",
        "All are on",
        "New water:",
        "Check after",
    ):
        assert left_out in lines
    ways = [one for one in guide.look.findChildren(GoButton) if one.accessibleName()]
    roots = {one.path.partition(".")[0] for one in ways if one.text() == "Change"}
    assert roots == {"site", "people", "sanitizers", "measures", "margins", "rules_off", "tanks"}
    stand.click(next(one for one in ways if one.path == "margins"))
    assert guide.page is guide.margins
    assert [one.isVisible() for one in guide.rail.steps] == [True, False, *[True] * 7]


def test_the_essentials_say_the_rest_and_open_it(stand: Stand) -> None:
    stand.key(Key.Key_F3)
    guide = stand.page(SetupGuide)
    stand.click(guide.template.answers.cards[SMALL_STAND].radio)
    stand.click(guide.next)
    words = read(guide.essentials)
    assert "Margins and delays: the usual values" in words
    assert "Rules: all are on" in words
    scrolled = guide.essentials._scroller.widget()
    assert scrolled is not None
    assert scrolled.height() == scrolled.heightForWidth(scrolled.width())  # nothing empty below
    first = guide.place.rows[0].initials
    stand.type("AF")
    stand.click(guide.essentials.more)
    assert guide.at == 2
    assert guide.place.isAncestorOf(first)
    assert first.text == "AF"
    stand.click(guide.rail.more)
    assert guide.at == 1
    assert guide.essentials.isAncestorOf(first)


def test_on_a_scaled_screen_the_buttons_stay_in_sight_while_the_pages_scroll(stand: Stand) -> None:
    stand.window.resize(910, 512)  # what 1366×768 leaves at 150 %
    stand.key(Key.Key_F3)
    guide = stand.page(SetupGuide)
    stand.click(guide.template.answers.cards[SMALL_STAND].radio)
    stand.click(guide.next)
    stand.click(guide.rail.more)
    for at in range(guide.last + 1):
        guide.go_to(at)
        stand.qtbot.waitUntil(lambda: guide.height() < 480)
        for button in (guide.leave, guide.back, guide.next):
            assert button.visibleRegion().boundingRect() == button.rect(), (at, button)


def read(page: QWidget) -> str:
    return " ".join(one.text() for one in page.findChildren(Text))
