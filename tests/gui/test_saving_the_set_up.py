"""Who saves a set-up, what it changes, and where that is read later; in the real window."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.gui.stand import Key, Stand
from tests.shed import START, a_setup
from washmon.gui.logbook.setup_changes_page import SetupChanges
from washmon.gui.rooms import Room
from washmon.gui.setup_guide import SetupGuide
from washmon.line.journal import SITE
from washmon.line.pins import hash_pin
from washmon.line.setup import LineSetup, Person, Role, RuleOff
from washmon.line.site_events import PinSet, SetupSaved
from washmon.store.store import Store

BO = Person(initials="BO", name="B. O.", role=Role.MANAGER)
PIN = "4711"
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)


def a_managed_setup() -> LineSetup:
    plain = a_setup()
    sanitizer = replace(plain.sanitizers[0], density_kg_l=None)  # a trade percent needs none
    people = (*plain.people, BO)
    return replace(plain, people=people, sanitizers=(sanitizer,), measures=("cup",))


@pytest.fixture
def stand(stand: Stand) -> Stand:
    saved = SetupSaved(at=START, by="BO", setup=a_managed_setup())
    with Store.open(stand.path) as store:
        store.append(SITE, [saved], START)
    return stand


def with_pins(stand: Stand) -> None:
    """Give the manager a PIN."""
    event = PinSet(at=START, by="BO", who="BO", hash=hash_pin(PIN), role=Role.MANAGER)
    with Store.open(stand.path) as store:
        store.append(SITE, [event], START)


def changed_guide(stand: Stand) -> SetupGuide:
    """Open the guide and switch a rule off in it."""
    stand.open()
    stand.window.settings.initials = "BO"
    stand.choose_in_menu(stand.menu_line(Room.GUIDE))
    guide = stand.page(SetupGuide)
    guide.go_to(guide.pages.index(guide.rules))
    row = guide.rules.rows["rinse-carry"]
    stand.click(row.switch.row.button("off"))
    stand.type("Fed from the wash.")
    guide.go_to(guide.last)
    return guide


def saves(stand: Stand) -> list[SetupSaved]:
    with Store.open(stand.path, read_only=True) as store:
        return [one.event for one in store.entries(SITE) if isinstance(one.event, SetupSaved)]


def test_what_changes_is_shown_before_it_is_saved(stand: Stand) -> None:
    guide = changed_guide(stand)
    (change,) = guide.look.what_changes
    assert change.about == "Rule switched off: dirt carried into the rinse"
    assert (change.was, change.now) == ("–", "Fed from the wash.")


def test_without_pins_a_set_up_is_saved_at_once_and_says_who_switched_a_rule_off(
    stand: Stand,
) -> None:
    guide = changed_guide(stand)
    stand.click(guide.next)
    stand.wait_for(Room.READY)
    assert guide.saver.isHidden()
    (off,) = saves(stand)[-1].setup.rules_off
    assert off == RuleOff(
        rule="rinse-carry", reason="Fed from the wash.", by="BO", since=START.date()
    )


def test_once_there_are_pins_who_saves_a_set_up_gives_theirs(stand: Stand) -> None:
    with_pins(stand)
    guide = changed_guide(stand)
    stand.click(guide.next)
    stand.qtbot.waitUntil(guide.saver.isVisible)
    assert guide.saver.who.text == "BO"
    stand.type("1234", Key.Key_Return)
    stand.qtbot.waitUntil(lambda: "not the PIN" in guide.saver.pin.fault.text)
    assert len(saves(stand)) == 1
    stand.type(PIN, Key.Key_Return)
    stand.wait_for(Room.READY)
    assert (saves(stand)[-1].by, len(saves(stand))) == ("BO", 2)
    assert guide.saver.pin.text == ""


def test_who_has_no_pin_saves_no_set_up_once_there_are_pins(stand: Stand) -> None:
    with_pins(stand)
    guide = changed_guide(stand)
    stand.click(guide.next)
    stand.qtbot.waitUntil(guide.saver.isVisible)
    guide.saver.who.put("RM")
    stand.type(PIN, Key.Key_Return)
    stand.qtbot.waitUntil(lambda: "has no PIN yet" in guide.saver.who.fault.text)
    assert len(saves(stand)) == 1


def test_every_change_is_read_later_with_who_and_when(stand: Stand) -> None:
    tank = a_managed_setup().tanks[0]
    higher = replace(tank, chlorine=replace(tank.chlorine, critical_low_mg_l=28.0))
    second = replace(a_managed_setup(), tanks=(higher, a_managed_setup().tanks[1]))
    later = START + timedelta(hours=2)
    with Store.open(stand.path) as store:
        store.append(SITE, [SetupSaved(at=later, by="RM", setup=second)], later)
    stand.now = later
    stand.open()
    stand.choose_in_menu(stand.menu_line(Room.CHANGES))
    page = stand.page(SetupChanges)
    stand.qtbot.waitUntil(lambda: len(page.list.model.rows) == 2)
    newest, first = [[cell.text for cell in row] for row in page.list.model.rows]
    assert newest[:4] == [
        f"{later:%Y-%m-%d %H:%M}",
        "RM",
        "Leaf line",
        "Tank 1 First dunk: free chlorine, critical low",
    ]
    assert [text.replace("\N{NO-BREAK SPACE}", " ") for text in newest[4:]] == ["25 ppm", "28 ppm"]
    assert first[3] == "First set-up of the line"
    stand.key(Key.Key_Escape)
    stand.wait_for(Room.READY)
