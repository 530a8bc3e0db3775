"""The replay bar and its client: play, step, seek, flags, note and the way out. No test waits."""

import threading
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.replay.played import demo, play_once, session_of
from tests.some import some
from washmon import data
from washmon.gui.context import UserContext
from washmon.gui.kit import theme
from washmon.gui.kit.buttons import TOUCH_PX
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.replay.bar import ReplayBar
from washmon.gui.replay.replay_client import SPEEDS, ReplayClient
from washmon.gui.replay.replay_timeline import timeline_of
from washmon.gui.replay.replay_worker import ReplayShown
from washmon.gui.replay.track import Track
from washmon.line.events import AcidAdded, DoseAdded
from washmon.line.flag_events import FlagsChanged
from washmon.planning.snapshot import Mode, Snapshot
from washmon.sessions import player as player_module
from washmon.sessions.file import Session, parse
from washmon.sessions.player import Player
from washmon.units import UnitSystem


class Bench(QWidget):
    """A window with a bar, its client, and a clock that jumps a minute at each look."""

    def __init__(self) -> None:
        super().__init__()
        self.resize(1366, 200)
        self.seconds = 0.0
        self.snapshots: list[Snapshot] = []
        self.client = ReplayClient(self, clock=self._clock)
        self.bar = ReplayBar(self.client, self)
        self.bar.setGeometry(0, 0, 1366, 200)
        self.client.snapshot_changed.connect(self.snapshots.append)

    def _clock(self) -> float:
        self.seconds += 60.0
        return self.seconds

    @property
    def now(self) -> str:
        return f"{self.snapshots[-1].now:%H:%M:%S}"

    @property
    def rules_up(self) -> list[str]:
        return [flag.rule for flag in self.snapshots[-1].advice.flags]


END = "09:56:00"
"""When the first demo shift ends."""


RELEASED = Path(__file__).parents[2] / "sessions" / "released" / "4-mistakes-and-holds.washshift"
"""A shift of a time when each flag had a step of its own."""


@pytest.fixture
def session() -> Session:
    return demo(1)


@pytest.fixture
def bench(qtbot: QtBot, session: Session, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    play_once(monkeypatch)
    made = Bench()
    qtbot.addWidget(made)
    made.show()
    qtbot.waitExposed(made)
    with qtbot.waitSignal(made.client.moved):
        made.client.open(session)
    yield made
    made.client.close()


def press(bench: Bench, qtbot: QtBot, button: QPushButton) -> None:
    with qtbot.waitSignal(bench.client.moved):
        QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def key(bench: Bench, qtbot: QtBot, pressed: Qt.Key) -> None:
    with qtbot.waitSignal(bench.client.moved):
        QTest.keyClick(bench.bar, pressed)


def test_it_opens_at_the_start_as_a_replay_with_its_note_folded_out(bench: Bench) -> None:
    assert bench.snapshots[-1].mode is Mode.REPLAY
    assert bench.now == "06:00:00"
    assert bench.bar.time.text() == "06:00:00"
    assert bench.bar.tag.text() == "Replay"
    assert bench.bar.title.text() == "A clean leaf shift"
    assert bench.bar.note.isVisible()
    assert bench.bar.note.words.text().startswith("A calm morning")
    assert "Shift on Leaf line started" in bench.bar.news.text()
    assert not bench.client.playing


def test_playing_goes_on_to_the_end_and_stops_there(bench: Bench, qtbot: QtBot) -> None:
    bench.client.set_speed(300)
    QTest.keyClick(bench.bar, Qt.Key.Key_Space)
    assert bench.client.playing
    assert bench.bar.play.label == "Pause"
    assert not bench.bar.note.isVisible()
    qtbot.waitUntil(lambda: not bench.client.playing)
    assert bench.now == END
    assert bench.bar.play.label == "Play"
    times = [snapshot.now for snapshot in bench.snapshots]
    assert times == sorted(times)
    shift = bench.snapshots[-1].shift
    assert shift is not None
    assert shift.ended is not None


def test_playing_again_from_the_end_begins_at_the_start(bench: Bench, qtbot: QtBot) -> None:
    with qtbot.waitSignal(bench.client.moved):
        bench.client.seek(1.0)
    bench.client.set_speed(1)
    press(bench, qtbot, bench.bar.play)
    assert bench.now == "06:00:00"
    assert bench.client.playing


def test_a_pause_stops_time(bench: Bench, qtbot: QtBot) -> None:
    with qtbot.waitSignals([bench.client.moved, bench.client.moved]):
        QTest.mouseClick(bench.bar.play, Qt.MouseButton.LeftButton)
    QTest.mouseClick(bench.bar.play, Qt.MouseButton.LeftButton)
    assert not bench.client.playing
    assert bench.snapshots[-1].now > bench.snapshots[0].now


def test_speed_is_chosen_by_its_button(bench: Bench, qtbot: QtBot) -> None:
    assert [bench.bar.speeds.button(str(speed)).text() for speed in SPEEDS] == [
        "1×",
        "10×",
        "60×",
        "300×",
    ]
    QTest.mouseClick(bench.bar.speeds.button("60"), Qt.MouseButton.LeftButton)
    assert bench.client.speed == 60
    with qtbot.waitSignal(bench.client.moved):
        bench.client.play()
    # One look of the clock takes a minute here, and at 60 times that is an hour of the shift.
    assert bench.now == "07:00:00"


def test_the_arrows_step_from_entry_to_entry_and_back(bench: Bench, qtbot: QtBot) -> None:
    key(bench, qtbot, Qt.Key.Key_Right)
    assert bench.now == "06:08:00"
    assert bench.bar.news.text() == "06:08  RM  Tank 1 First dunk filled: 640\N{NO-BREAK SPACE}L"
    press(bench, qtbot, bench.bar.next_entry)
    assert "Dose tank 1 First dunk" in bench.bar.news.text()
    key(bench, qtbot, Qt.Key.Key_Left)
    assert bench.now == "06:08:00"
    press(bench, qtbot, bench.bar.last_entry)
    assert bench.now == "06:00:00"


def test_the_next_flag_is_where_one_comes_up_by_arrow_or_page_key(
    bench: Bench, qtbot: QtBot
) -> None:
    with qtbot.waitSignal(bench.client.moved):
        bench.client.open(demo(4))
    key(bench, qtbot, Qt.Key.Key_Down)
    assert (bench.now, bench.rules_up) == ("07:01:15", ["overdue", "overdue"])
    key(bench, qtbot, Qt.Key.Key_PageDown)
    press(bench, qtbot, bench.bar.next_flag)
    assert (bench.now, bench.rules_up[:2]) == ("07:26:45", ["chlorine-critical", "hold"])
    key(bench, qtbot, Qt.Key.Key_PageUp)
    press(bench, qtbot, bench.bar.last_flag)
    assert bench.now == "07:01:15"


def test_what_only_time_brought_is_told_as_having_come_up(bench: Bench, qtbot: QtBot) -> None:
    with qtbot.waitSignal(bench.client.moved):
        bench.client.open(session_of(RELEASED))
    with qtbot.waitSignal(bench.client.moved):
        bench.client.seek(0.7)
    while bench.now < "09:46:30":
        press(bench, qtbot, bench.bar.next_flag)
    assert bench.bar.news.text() == "09:46  Came up: check what was added on tank 1 First tub"


def test_stepping_stops_the_play(bench: Bench, qtbot: QtBot) -> None:
    bench.client.play()
    key(bench, qtbot, Qt.Key.Key_Right)
    assert not bench.client.playing


def test_a_press_on_the_timeline_goes_there(bench: Bench, qtbot: QtBot) -> None:
    track = bench.bar.track
    x = round(track.place_of(3 * 3600))
    with qtbot.waitSignal(bench.client.moved):
        QTest.mouseClick(track, Qt.MouseButton.LeftButton, pos=QPoint(x, track.height() // 2))
    away_s = abs((bench.snapshots[-1].now - bench.snapshots[0].now).total_seconds() - 3 * 3600)
    assert away_s < 4 * 3600 / track.width() * 2


def test_pulling_along_the_timeline_ends_where_the_hand_ends(bench: Bench, qtbot: QtBot) -> None:
    for step in range(50):
        bench.client.seek(step / 49)
    qtbot.waitUntil(lambda: bench.now == END)
    assert len(bench.snapshots) < 50


def test_the_note_folds_in_and_out(bench: Bench, qtbot: QtBot) -> None:
    QTest.keyClick(bench.bar, Qt.Key.Key_N)
    qtbot.waitUntil(lambda: not bench.bar.note.isVisible())
    QTest.mouseClick(bench.bar.unfold, Qt.MouseButton.LeftButton)
    assert bench.bar.note.isVisible()


def test_leaving_stops_and_tells(bench: Bench, qtbot: QtBot) -> None:
    bench.client.play()
    with qtbot.waitSignal(bench.bar.left):
        QTest.keyClick(bench.bar, Qt.Key.Key_Escape)
    assert not bench.client.playing


def test_another_session_can_follow_also_after_the_desk_was_closed(
    bench: Bench, qtbot: QtBot
) -> None:
    for number in (4, 2):
        with qtbot.waitSignal(bench.client.moved):
            bench.client.open(demo(number))
        shift = bench.snapshots[-1].shift
        assert shift is not None
        assert bench.bar.title.text() == demo(number).header.title
        bench.client.close()
    bench.client.next_entry()
    assert bench.now == "07:00:00"


def test_what_is_judged_today_is_shown_at_the_same_place_and_what_was_told_then_again(
    bench: Bench, qtbot: QtBot
) -> None:
    session = session_of(RELEASED)
    with qtbot.waitSignal(bench.client.moved):
        bench.client.open(replace(session, entries=session.entries[:30], complete=False))
    bar = bench.bar
    assert (bar.today.isEnabled(), bar.today.isChecked()) == (True, False)
    key(bench, qtbot, Qt.Key.Key_Down)
    then = bench.snapshots[-1]
    assert all(flag.step is not None for flag in some(then.advice.flags))
    with qtbot.waitSignals([bench.client.rejudged, bench.client.moved], timeout=60_000):
        QTest.keyClick(bar, Qt.Key.Key_J)
    assert (bar.today.isEnabled(), bar.today.isChecked()) == (True, True)
    today = bench.snapshots[-1]
    assert today.now == then.now
    assert today.advice != then.advice
    assert today.advice.flags == ()  # what was a flag with a step of its own is a plan today
    with qtbot.waitSignals([bench.client.rejudged, bench.client.moved]):
        QTest.mouseClick(bar.today, Qt.MouseButton.LeftButton)
    assert not bar.today.isChecked()
    assert bench.snapshots[-1] == then


def test_a_shift_of_which_nothing_was_told_is_judged_today_and_says_so(
    bench: Bench, qtbot: QtBot, session: Session
) -> None:
    people = tuple(one for one in session.entries if not isinstance(one.event, FlagsChanged))
    with qtbot.waitSignal(bench.client.moved):
        bench.client.open(replace(session, entries=people[:8], complete=False))
    assert (bench.bar.today.isEnabled(), bench.bar.today.isChecked()) == (False, True)


def test_words_on_an_earlier_session_that_are_still_on_their_way_are_passed_over(
    bench: Bench, qtbot: QtBot
) -> None:
    bench.snapshots.clear()
    bench.client.next_entry()
    bench.client.open(demo(4))
    with qtbot.waitSignal(bench.client.moved, timeout=30_000):  # each is looked at once
        bench.client.open(demo(2))
    assert [f"{snapshot.now:%m-%d %H:%M}" for snapshot in bench.snapshots] == ["05-12 07:00"]


def test_a_part_of_a_shift_says_that_it_is_one(bench: Bench, qtbot: QtBot) -> None:
    whole = data.demo_sessions()[0].read_bytes()
    part = parse(whole[: len(whole) // 2], "cut", salvage=True)
    with qtbot.waitSignal(bench.client.moved):
        bench.client.open(part)
    assert bench.bar.title.text() == "A clean leaf shift (only a part)"


def test_a_session_that_can_not_be_looked_at_is_told_in_a_sentence(
    bench: Bench, qtbot: QtBot, session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_args: object, **_more: object) -> None:
        raise OverflowError("no such time")

    monkeypatch.setattr(player_module, "as_told", broken)
    with qtbot.waitSignal(bench.client.failed) as told:
        bench.client.open(replace(session, complete=False))  # another, not played through yet
    assert told.args == [
        "This session can't be played (OverflowError: no such time): choose another session file."
    ]


def test_looking_happens_off_the_window_thread(
    bench: Bench, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    threads: list[int] = []
    real = Player.next_flag

    def noted(self: Player) -> bool:
        threads.append(threading.get_ident())
        return real(self)

    monkeypatch.setattr(Player, "next_flag", noted)
    key(bench, qtbot, Qt.Key.Key_Down)
    assert threads
    assert threading.get_ident() not in threads


def test_while_the_worker_is_busy_passing_time_adds_up(bench: Bench, qtbot: QtBot) -> None:
    shown: list[ReplayShown] = []
    bench.client.moved.connect(shown.append)
    bench.client.set_speed(1)
    bench.client.play()
    for _ in range(20):
        bench.client._play_on()
    bench.client.pause()
    qtbot.waitUntil(lambda: bool(shown) and shown[-1].position_s == 20 * 60.0)
    assert len(shown) == 2


def test_marks_are_shaped_by_the_worst_flag_and_tell_their_flags(qtbot: QtBot) -> None:
    session = demo(4)
    timeline = timeline_of(Player(session))
    stops = [mark for mark in timeline.marks if mark.look is MarkState.STOP]
    assert [f"{mark.at:%H:%M}" for mark in stops] == ["07:26", "07:55", "08:07", "08:13", "10:48"]
    events = [entry.event for entry in session.entries]
    assert len(timeline.doses) == sum(isinstance(event, DoseAdded) for event in events)
    assert len(timeline.acids) == sum(isinstance(event, AcidAdded) for event in events)
    assert timeline.hours[0] == (0.0, "06:30")
    track = Track()
    qtbot.addWidget(track)
    track.resize(1342, track.sizeHint().height())
    track.show_timeline(timeline, UserContext("", UnitSystem.US))
    assert all(mark in track.shown_marks() for mark in some(stops))
    tip = track.tip_at(track.place_of(stops[1].offset_s))
    assert "07:55  tank 1: hold what was washed" in tip.splitlines()
    assert track.tip_at(-100.0) == ""


def test_marks_do_not_lie_upon_each_other(qtbot: QtBot) -> None:
    track = Track()
    qtbot.addWidget(track)
    track.resize(400, 58)
    track.show_timeline(timeline_of(Player(demo(4))), UserContext("", UnitSystem.US))
    places = sorted(track.place_of(mark.offset_s) for mark in track.shown_marks())
    assert min(right - left for left, right in pairwise(places)) >= 13
    assert not track.grab().isNull()


def test_the_bar_fits_a_small_window_and_every_button_a_thumb(bench: Bench) -> None:
    assert bench.bar.minimumSizeHint().width() <= 1024
    for button in bench.bar.findChildren(QPushButton):
        assert button.height() >= TOUCH_PX


@pytest.mark.parametrize("name", sorted(theme.THEMES))
def test_the_bar_is_drawn_in_every_theme(bench: Bench, qtbot: QtBot, name: str) -> None:
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    theme.apply(app, theme.THEMES[name])
    with qtbot.waitSignal(bench.client.moved):
        bench.client.open(demo(2))
    with qtbot.waitSignal(bench.client.moved):
        bench.client.seek(0.5)
    picture = bench.bar.track.grab().toImage()
    colours = {picture.pixelColor(x, 12).name() for x in range(picture.width())}
    assert theme.THEMES[name].watch.lower() in colours
