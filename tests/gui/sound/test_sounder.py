"""The real window is heard: which file is asked for and how loud, and a key that hushes."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from tests.gui.stand import Key, Stand, begin_shift
from tests.shed import START
from washmon.gui.action_bar import Action
from washmon.gui.sound.alarm import RISE_DB, Cue, Sound, Volume
from washmon.gui.sound.sound_out import SoundOut
from washmon.line.events import DoseAdded, ReadingTaken
from washmon.line.flags import Amount

SOFTEST = RISE_DB[0]


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Cue, Volume]]:
    """What a player was asked for."""
    asked: list[tuple[Cue, Volume]] = []
    monkeypatch.setattr(SoundOut, "play", lambda _self, *what: asked.append(what))
    return asked


@pytest.fixture
def stand(stand: Stand, asked: list[object]) -> Stand:
    begin_shift(stand.path)
    stand.open()
    assert asked == []
    return stand


def enter(stand: Stand, event: ReadingTaken | DoseAdded) -> None:
    """Enter something behind the window's back, all doubts waved through."""
    seq = stand.shift.last_seq
    stand.window.client.enter(event, sure=True)
    stand.qtbot.waitUntil(lambda: stand.shift.last_seq > seq)


def look(stand: Stand, seconds: float) -> None:
    """Let time pass without a snapshot."""
    stand.now += (stand.now - stand.now).resolution * round(seconds * 1e6)
    stand.window.sounder.listen()


def test_a_check_long_overdue_rings_until_a_key_that_does_nothing_else(
    stand: Stand, asked: list[tuple[Cue, Volume]]
) -> None:
    stand.wait(45)  # late, but not yet twice the half hour
    assert asked == []
    stand.wait(20)
    header = stand.window.header
    assert asked == [(Cue(Sound.OVERDUE, SOFTEST), Volume.MEDIUM)]  # both tanks at once
    assert (header.sound.label, header.sound.isVisible()) == ("Silence: any key", True)
    look(stand, 12)
    look(stand, 12)
    assert [cue.gain_db for cue, _ in asked] == list(RISE_DB[:3])
    before = len(stand.events)
    stand.type(Key.Key_F2, Key.Key_Space)  # a batch, and the first step
    assert not stand.entries.is_open
    assert len(stand.events) == before
    assert not stand.window.sounder.rings
    assert not header.sound.isVisible()
    look(stand, 60)
    assert len(asked) == 3
    stand.qtbot.waitUntil(lambda: not stand.window.sounder._burst.isActive())
    stand.type(Key.Key_F2)  # the next key acts again
    assert stand.entries.is_open


def test_a_number_is_swallowed_whole_or_not_at_all(
    stand: Stand, asked: list[tuple[Cue, Volume]]
) -> None:
    stand.type(Key.Key_F1, "1")
    stand.wait(65)
    assert asked
    field = next(iter(stand.entries.sheet.grid.fields.values()))
    QTest.keyClicks(field.input, "48")
    assert field.text == ""
    stand.qtbot.waitUntil(lambda: not stand.window.sounder._burst.isActive())
    QTest.keyClicks(field.input, "48")
    assert field.text == "48"


def test_a_press_of_the_hand_hushes_and_does_what_it_is_aimed_at(
    stand: Stand, asked: list[tuple[Cue, Volume]]
) -> None:
    stand.wait(65)
    assert len(asked) == 1
    stand.click(stand.board.bar.buttons[Action.BATCH])
    assert stand.entries.is_open
    assert not stand.window.sounder.rings
    look(stand, 60)
    assert len(asked) == 1


def test_a_stop_that_follows_an_entry_sounds_once_for_who_goes_on_typing(
    stand: Stand, asked: list[tuple[Cue, Volume]]
) -> None:
    enter(stand, ReadingTaken(at=START, by="RM", tank=1, fac_mg_l=30.0))
    assert asked == []  # act now, but no stop
    enter(stand, ReadingTaken(at=START, by="RM", tank=1, fac_mg_l=20.0))
    assert asked == [(Cue(Sound.STOP, SOFTEST), Volume.MEDIUM)]
    assert not stand.window.header.sound.isVisible()
    stand.type(Key.Key_F7)  # whoever entered it goes on
    assert stand.entries.is_open
    look(stand, 60)
    assert len(asked) == 1


def test_a_stop_that_follows_an_entry_rings_once_nobody_is_there_any_more(
    stand: Stand, asked: list[tuple[Cue, Volume]]
) -> None:
    enter(stand, ReadingTaken(at=START, by="RM", tank=1, fac_mg_l=20.0))
    look(stand, 12)
    assert [cue.gain_db for cue, _ in asked] == list(RISE_DB[:2])
    stand.type(Key.Key_Space)
    assert not stand.entries.is_open
    assert not any(isinstance(event, DoseAdded) for event in stand.events)


def test_the_end_of_a_wait_is_heard_softly_once(
    stand: Stand, asked: list[tuple[Cue, Volume]]
) -> None:
    enter(stand, ReadingTaken(at=START, by="RM", tank=1, fac_mg_l=31.0, ph=7.0))
    enter(stand, DoseAdded(at=START, by="RM", tank=1, product="bleach", amount=Amount(90.0, "mL")))
    stand.qtbot.waitUntil(lambda: stand.window.sounder._alarm.is_pending)
    assert asked == []
    stand.wait(15)
    assert asked == [(Cue(Sound.WAIT_OVER), Volume.MEDIUM)]
    assert not stand.window.header.sound.isVisible()


def test_muted_it_says_so_and_is_not_heard(stand: Stand, asked: list[tuple[Cue, Volume]]) -> None:
    header = stand.window.header
    assert not header.sound.isVisible()
    stand.key(Key.Key_S, Qt.KeyboardModifier.AltModifier)
    assert (header.sound.label, header.sound.isVisible()) == ("Sound is off", True)
    stand.wait(65)
    assert asked == []
    stand.type(Key.Key_F2)  # nothing sounds: the key acts
    assert stand.entries.is_open
    stand.click(header.sound)
    assert not header.sound.isVisible() or header.sound.label == "Silence: any key"
    assert stand.window.settings.sound


def test_the_volume_is_chosen_in_the_menu_heard_at_once_and_remembered(
    stand: Stand, asked: list[tuple[Cue, Volume]]
) -> None:
    lines = {line.text(): line for line in stand.window.menu.volumes.actions()}
    assert [name for name, line in lines.items() if line.isChecked()] == ["Medium"]
    lines["Loud"].trigger()
    assert asked == [(Cue(Sound.WAIT_OVER), Volume.LOUD)]
    assert stand.window.settings.volume is Volume.LOUD
    stand.wait(65)
    assert asked[-1] == (Cue(Sound.OVERDUE, SOFTEST), Volume.LOUD)
