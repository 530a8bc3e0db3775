"""What past shifts taught, in the record of the shift that began with it."""

from collections.abc import Callable
from datetime import timedelta

from msgspec.structs import replace
from pytestqt.qtbot import QtBot

from tests.forecast.days import a_day, two_eyes, two_lots
from tests.gui.logbook.conftest import READER
from tests.gui.logbook.past import days_ago, keep, troubled_shift
from tests.shed import START, Shed
from washmon.forecast.learning import kept_of, prior_from
from washmon.gui.client import RecorderClient
from washmon.gui.logbook.shift_page import ShiftPage
from washmon.line.event_base import RULES
from washmon.line.learned import UsualLearned
from washmon.recorder.past import past_shifts
from washmon.store.store import Store


def two_shifts(store: Store) -> None:
    keep(store, troubled_shift(days_ago(2)).shift, "before")
    keep(store, troubled_shift(days_ago(1)).shift, "after")


def asked(qtbot: QtBot, client: RecorderClient, chain: str) -> str:
    page = ShiftPage(client)
    qtbot.addWidget(page)
    page.show()
    with qtbot.waitSignal(page.loaded):
        page.open(chain, READER)
    assert page.head.ask_learned.isVisible()
    assert not page.head.learned.isVisible()
    with qtbot.waitSignal(page.learned.working.came, timeout=20_000):
        page.head.ask_learned.click()
    assert page.head.learned.isVisible()
    return page.head.learned.text().replace("\N{NO-BREAK SPACE}", " ")


def test_the_record_tells_what_the_shift_before_it_taught(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    said = asked(qtbot, open_client(two_shifts), "after")
    assert "First dunk: A batch of 11.5 kg uses up about " in said
    assert "strips" not in said  # all was read by kit and meter
    assert "under Measures" in said  # where a manager lets it be forgotten


def test_what_the_journal_keeps_is_told_whatever_came_into_the_logbook_since(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    past = [*(a_day(two_eyes, days) for days in (3, 2)), a_day(two_lots, 1)]
    shed = Shed(past[0].setup)
    shed.tell(UsualLearned(at=START, by=RULES, taught=kept_of(prior_from(past))))
    shed.fill()
    said = asked(qtbot, open_client(lambda store: keep(store, shed.shift, "alone")), "alone")
    assert "Only: A batch of 12 kg " in said
    assert "Of lot L-1 it is about " in said
    assert "RM reads the strips about " in said
    assert "TK reads the strips about " in said
    assert "under Measures" in said


def test_the_first_shift_of_all_began_with_what_is_usual(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    assert "No shift before this one" in asked(qtbot, open_client(two_shifts), "before")


def test_what_a_manager_lets_be_forgotten_teaches_nothing(
    open_client: Callable[..., RecorderClient],
) -> None:
    client = open_client(two_shifts)
    started = Shed(start=START).shift.started
    day = days_ago(1).date()

    def before(setup_day: object) -> list[str]:
        forgetful = replace(started, setup=replace(started.setup, learned_since=setup_day))
        read = client.recorder.read(lambda store: past_shifts(store, "next", forgetful))
        return [chain for chain, _ in read.result(timeout=20)]

    assert before(None) == ["before", "after"]
    assert before(day) == ["after"]
    assert before(day + timedelta(days=1)) == []
