"""PINs: kept as hashes, changed by the right people, and not to be guessed in a hurry."""

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.shed import START, a_setup
from washmon.line.events import Event
from washmon.line.journal import SITE, Entry, encode, extend
from washmon.line.pins import (
    FIRST_WAIT,
    FREE_TRIES,
    LONGEST_WAIT,
    REMEMBERED,
    Pins,
    _hasher,
    asks,
    change_fault,
    hash_pin,
    is_pin,
    pins_of,
    role_fault,
    role_of,
    weak,
)
from washmon.line.setup import LineSetup, Person, Role
from washmon.line.site_events import PinMistaken, PinReset, PinSet

RM = PinSet(at=START, by="BO", who="RM", hash="h", role=Role.SUPERVISOR)
BO = replace(RM, who="BO", role=Role.MANAGER)


def shed() -> LineSetup:
    setup = a_setup()
    boss = Person(initials="BO", name="B. O.", role=Role.MANAGER)
    return replace(setup, people=(*setup.people, boss))


def told(*events: Event, apart: timedelta = timedelta(seconds=10)) -> list[Entry]:
    entries: list[Entry] = []
    for number, event in enumerate(events):
        last = entries[-1] if entries else None
        entries += [one for one, _ in extend(SITE, last, [event], START + apart * number)]
    return entries


def fault(pins: Pins, event: PinSet | PinReset) -> str:
    message = change_fault(pins, event, shed())
    return message.text if message else ""


def test_a_pin_is_kept_as_an_argon2id_hash_that_is_never_the_same_twice() -> None:
    kept = hash_pin("4711x")
    assert kept.startswith("$argon2id$")
    # The second recommended option of RFC 9106, section 4: 64 MiB, 3 passes, 4 lanes. This is the
    # program's own hasher; elsewhere a fixture lets tests hash cheaply.
    assert _hasher().hash("4711x").startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert kept != hash_pin("4711x")
    assert is_pin("4711x", kept)
    assert not is_pin("4711", kept)
    assert b"4711x" not in encode(replace(RM, hash=kept))


@pytest.mark.parametrize("kept", ["", "4711", "$argon2id$broken"])
def test_a_hash_that_is_none_lets_nobody_in(kept: str) -> None:
    assert not is_pin("4711", kept)


@pytest.mark.parametrize("pin", ["", "471", "0000", "1234", "8765", "9" * 40])
def test_what_is_soon_guessed_is_no_pin(pin: str) -> None:
    assert weak(pin) is not None


@pytest.mark.parametrize("pin", ["4711", "rake", "2580", "19 geese"])
def test_anything_else_is_one(pin: str) -> None:
    assert weak(pin) is None


def test_a_shed_that_never_set_a_pin_is_not_asked_for_one() -> None:
    assert not pins_of([]).in_use
    assert pins_of(told(BO)).in_use
    assert pins_of(told(BO, PinReset(at=START, by="BO", who="BO"))).in_use


def test_a_manager_sets_the_first_pins_own_first() -> None:
    nothing = pins_of([])
    assert fault(nothing, BO) == ""
    assert fault(nothing, replace(RM, by="RM")) == "A first PIN is set by a manager."
    assert fault(nothing, RM) == "Set your own PIN first."
    started = pins_of(told(BO))
    assert fault(started, RM) == ""
    assert fault(started, replace(RM, by="TK")) == "A first PIN is set by a manager."
    assert fault(started, replace(RM, who="XX")) == "{who} is not in the set-up."


def test_a_pin_is_changed_by_its_owner_with_the_old_one_and_by_nobody_else() -> None:
    pins = pins_of(told(BO, RM))
    own = replace(RM, by="RM")
    assert fault(pins, own) == ""
    assert asks(pins, own)
    assert fault(pins, RM) == "{who} has a PIN: reset it first."


def test_a_pin_is_reset_by_a_manager_and_then_chosen_without_an_old_one() -> None:
    pins = pins_of(told(BO, RM))
    reset = PinReset(at=START, by="BO", who="RM")
    assert fault(pins, replace(reset, by="TK")) == "Only a manager resets a PIN."
    assert fault(pins, replace(reset, who="TK")) == "{who} has no PIN."
    assert fault(pins, reset) == ""
    assert asks(pins, reset)
    freed = pins_of(told(BO, RM, replace(reset, role=Role.SUPERVISOR)))
    own = replace(RM, by="RM")
    assert fault(freed, own) == ""
    assert not asks(freed, own)


def promoted() -> LineSetup:
    """The set-up after TK, a line worker, was made a manager in it by whoever was at the bench."""
    setup = shed()
    people = (setup.people[0], replace(setup.people[1], role=Role.MANAGER), setup.people[2])
    return replace(setup, people=people)


def test_a_role_that_was_only_changed_in_the_set_up_manages_and_signs_nothing() -> None:
    mine = PinSet(at=START, by="TK", who="TK", hash="h")
    without = pins_of(told(BO))
    assert change_fault(without, mine, promoted()) is not None
    pins = pins_of(told(BO, replace(mine, by="BO", role=Role.LINE_WORKER)))
    assert change_fault(pins, PinReset(at=START, by="TK", who="BO"), promoted()) is not None
    assert role_fault(pins, "TK", Role.MANAGER) is not None
    assert role_fault(pins, "BO", Role.MANAGER) is None


def test_whoever_changes_their_own_pin_keeps_the_role_that_a_manager_gave() -> None:
    mine = PinSet(at=START, by="TK", who="TK", hash="h")
    pins = pins_of(told(BO, replace(mine, by="BO", role=Role.LINE_WORKER)))
    assert role_of(pins, mine, promoted()) is Role.LINE_WORKER
    reset = PinReset(at=START, by="BO", who="TK")
    assert role_of(pins, reset, promoted()) is Role.MANAGER
    freed = pins_of(told(BO, mine, replace(reset, role=Role.MANAGER)))
    assert role_of(freed, mine, promoted()) is Role.MANAGER


def test_a_reset_manager_does_nothing_before_a_new_pin_is_chosen() -> None:
    freed = pins_of(told(BO, RM, PinReset(at=START, by="BO", who="BO", role=Role.MANAGER)))
    assert fault(freed, PinReset(at=START, by="BO", who="RM")) == "Only a manager resets a PIN."
    assert fault(freed, replace(BO, role=None)) == ""


def wrong(times: int) -> Pins:
    return pins_of(told(RM, *[PinMistaken(at=START, by="RM")] * times))


def wait(times: int) -> timedelta:
    last = START + timedelta(seconds=10 * times)
    until = wrong(times).open_again("RM", last)
    return until - last if until else timedelta()


def test_guessing_gets_slower_with_each_wrong_try_up_to_a_bound() -> None:
    minutes = [wait(times) / timedelta(minutes=1) for times in range(9)]
    assert minutes == [0, 0, 0, 1, 2, 4, 8, 15, 15]


def test_others_are_not_slowed_down() -> None:
    assert wrong(9).open_again("BO", START + timedelta(seconds=90)) is None


def test_a_new_pin_or_an_hour_forgets_wrong_tries() -> None:
    mistakes = [PinMistaken(at=START, by="RM")] * 5
    later = START + timedelta(minutes=2)
    reset = PinReset(at=START, by="BO", who="RM")
    assert pins_of(told(*mistakes)).open_again("RM", later)
    assert pins_of(told(*mistakes, reset)).open_again("RM", later) is None
    assert pins_of(told(*mistakes)).open_again("RM", later + REMEMBERED) is None


@given(
    st.lists(st.floats(0, 24 * 3600), max_size=12),
    st.floats(0, 24 * 3600),
)
def test_nobody_waits_longer_than_the_longest_wait(tries: list[float], now_s: float) -> None:
    moments = tuple(START + timedelta(seconds=at) for at in sorted(tries))
    now: datetime = START + timedelta(seconds=now_s)
    until = Pins(mistakes={"RM": moments}).open_again("RM", now)
    recent = [at for at in moments if now - REMEMBERED < at <= now]
    if len(recent) < FREE_TRIES:
        assert until is None
    elif until is not None:
        assert now < until <= recent[-1] + LONGEST_WAIT
    else:
        assert now >= recent[-1] + FIRST_WAIT


def test_a_clock_that_was_wrong_locks_nobody_out() -> None:
    assert wrong(9).open_again("RM", START - timedelta(days=1)) is None
