"""A server that does not answer: what is entered meanwhile is kept, and sent once, in order.

Here the server is somebody who says what the test wants; with a real one the same is tried in
``test_store_on_a_faulty_server``.
"""

import json
import threading
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any, cast

import pytest
from msgspec.structs import replace

from tests.store.shed import batch, ended, minutes, note, started
from washmon.line.events import (
    BatchWashed,
    Corrected,
    Decision,
    Event,
    HoldPlaced,
    HoldReleased,
    NoteWritten,
)
from washmon.line.flag_events import FlagsChanged
from washmon.line.journal import Entry, decode, extend
from washmon.store import CannotWrite, Unreachable, gap, postgres
from washmon.store.errors import NotKnown
from washmon.store.gap import SENT, Gap, Outbox
from washmon.store.place import Server, locate
from washmon.store.witness import Witness
from washmon.store.writing import Doubt, Writing

PLACE = cast("Server", locate("postgresql+psycopg://someone@nowhere/shed"))
SOON = 20.0


def chain_of(*events: Event) -> list[Entry]:
    return [entry for entry, _ in extend("a", None, events, minutes(0))]


class FakeServer:
    """Takes entries behind some that others wrote, unless it has trouble."""

    def __init__(self) -> None:
        self.doubt: Doubt | None = None
        self.trouble: list[Exception] = []
        self.asked = 0
        self.others = 0
        self.taken: list[Entry] = []

    def append(self, chain: str, events: Sequence[Event], at: datetime) -> tuple[Entry, ...]:
        return tuple(self.send(chain, event, at, 0) for event in events)

    def send(self, chain: str, event: Event, at: datetime, since: int) -> Entry:
        self.asked += 1
        assert chain == "a"
        assert since >= 0
        if self.trouble:
            raise self.trouble.pop(0)
        self.taken.append(Entry(self.others + len(self.taken), at, event, "0" * 64))
        return self.taken[-1]

    @property
    def writing(self) -> Writing:
        return cast("Writing", self)


@pytest.fixture
def server() -> FakeServer:
    return FakeServer()


@pytest.fixture
def answers(monkeypatch: pytest.MonkeyPatch) -> list[bool]:
    """What the server says each time it is asked whether it is there; nothing more: silence."""
    said: list[bool] = []
    monkeypatch.setattr(gap, "PROBE_EVERY_S", 0.001)
    monkeypatch.setattr(postgres, "answers", lambda _: said.pop(0) if said else False)
    return said


@pytest.fixture
def open_gap(tmp_path: Path) -> Iterator[Callable[[], Gap]]:
    """Makes gaps of one place and folder, each closed before the next is made."""
    made: list[Gap] = []

    def make() -> Gap:
        close()
        made.append(Gap(PLACE, tmp_path))
        return made[-1]

    def close() -> None:
        for one in made:
            one.close()
            if one._asking is not None:
                one._asking.join(SOON)
                assert not one._asking.is_alive()
        made.clear()

    yield make
    close()


def probes() -> list[threading.Thread]:
    return [one for one in threading.enumerate() if one.name == "probe"]


def waiting(folder: Path) -> list[str]:
    """The lines of entries that wait in a folder."""
    return [line for one in folder.glob("*.jsonl") for line in one.read_text("utf-8").splitlines()]


def keep(one: Gap, server: FakeServer, last: Entry, *events: Event) -> tuple[Entry, ...]:
    return one.append_or_keep(server.writing, "a", last, events, minutes(5))


@pytest.mark.usefixtures("answers")
def test_while_the_server_answers_nothing_is_kept(
    open_gap: Callable[[], Gap], server: FakeServer, tmp_path: Path
) -> None:
    one = open_gap()
    (first,) = chain_of(started())
    assert keep(one, server, first, note(1)) == tuple(server.taken)
    assert not one.is_open
    assert waiting(tmp_path) == []
    assert probes() == []


@pytest.mark.usefixtures("answers")
@pytest.mark.parametrize("in_doubt", [False, True])
def test_from_when_it_is_silent_on_all_is_kept_and_it_is_not_asked_to_save_again(
    open_gap: Callable[[], Gap], server: FakeServer, tmp_path: Path, *, in_doubt: bool
) -> None:
    one = open_gap()
    first, second, third = chain_of(started(), note(1), note(2))
    server.trouble = [NotKnown("was it saved?") if in_doubt else Unreachable("no answer")]
    if in_doubt:
        server.doubt = Doubt("a", (second,))
    kept = one.append_or_keep(server.writing, "a", first, [note(1)], minutes(0))
    assert kept == (second,)
    assert server.doubt is None
    assert one.is_open
    assert [probe.name for probe in probes()] == ["probe"]
    assert "One entry is kept on this computer" in one.said
    assert one.append_or_keep(server.writing, "a", second, [note(2)], minutes(0)) == (third,)
    assert server.asked == 1
    assert "2 entries are kept on this computer, not yet on the server." in one.said
    assert len(waiting(tmp_path)) == 2
    assert len(probes()) == 1


@pytest.mark.usefixtures("answers")
def test_what_has_no_place_yet_is_not_kept(
    open_gap: Callable[[], Gap], server: FakeServer, tmp_path: Path
) -> None:
    one = open_gap()
    server.trouble = [Unreachable("no answer")]
    with pytest.raises(Unreachable, match="so this was not saved"):
        one.append_or_keep(server.writing, "a", None, [started()], minutes(0))
    assert one.is_open  # the server is gone all the same
    assert "kept on this computer" not in one.said
    assert waiting(tmp_path) == []


def test_a_doubt_of_which_nothing_is_known_is_passed_on(
    open_gap: Callable[[], Gap], server: FakeServer
) -> None:
    one = open_gap()
    server.trouble = [NotKnown("was it saved?")]
    with pytest.raises(NotKnown):
        keep(one, server, chain_of(started())[0], note(1))
    assert not one.is_open


def test_it_is_asked_again_and_again_until_it_answers_and_no_longer(
    open_gap: Callable[[], Gap], server: FakeServer, answers: list[bool], tmp_path: Path
) -> None:
    answers += [False, False, False, True, True]
    one = open_gap()
    server.trouble = [Unreachable("no answer")]
    keep(one, server, chain_of(started())[0], note(1), ended(2))
    assert one._back.wait(SOON)
    for probe in probes():
        probe.join(SOON)
    assert answers == [True]
    assert one.is_open  # until what was kept is sent
    assert one.mend(server.writing) == SENT
    assert [type(entry.event) for entry in server.taken] == [type(note(1)), type(ended(2))]
    assert not one.is_open
    assert waiting(tmp_path) == []


def test_nothing_is_sent_before_it_answers(
    open_gap: Callable[[], Gap], server: FakeServer, answers: list[bool]
) -> None:
    one = open_gap()
    one.begin()
    assert one.mend(server.writing) == one.said
    assert one.is_open
    answers += [True]
    assert one._back.wait(SOON)
    assert one.mend(server.writing) == ""  # nothing was kept: there is nothing to tell
    assert not one.is_open


@pytest.mark.usefixtures("answers")
@pytest.mark.parametrize(
    ("trouble", "told"),
    [
        (Unreachable("gone again"), ""),
        (NotKnown("gone in the moment of saving"), ""),
        (CannotWrite("you may not."), " It refuses what was kept: you may not."),
    ],
)
def test_what_it_does_not_take_waits_for_the_next_time(
    open_gap: Callable[[], Gap],
    server: FakeServer,
    tmp_path: Path,
    trouble: Exception,
    told: str,
) -> None:
    server.trouble = [Unreachable("no answer")]
    keep(open_gap(), server, chain_of(started())[0], note(1), note(2))
    one = open_gap()  # the next program, to which the server answered a moment ago
    assert one.is_open
    server.trouble, server.doubt = [trouble], Doubt("a", ())
    assert one.mend(server.writing) == one.said + told
    assert server.doubt is None
    assert one.is_open
    assert not one._back.is_set()
    assert len(probes()) == 1
    assert len(waiting(tmp_path)) == 2


def test_what_was_taken_before_it_fell_silent_is_not_sent_again(
    server: FakeServer, tmp_path: Path
) -> None:
    box = Outbox(tmp_path, PLACE)
    box.keep("a", chain_of(note(0), note(1), note(2)))
    answered = server.send

    def send(chain: str, event: Event, at: datetime, since: int) -> Entry:
        if len(server.taken) == 2:
            raise Unreachable("gone")
        return answered(chain, event, at, since)

    with pytest.raises(Unreachable):
        box.send(send)
    assert len(box) == 1
    assert len(waiting(tmp_path)) == 1
    box.send(answered)
    assert [entry.event for entry in server.taken] == [note(0), note(1), note(2)]
    assert (len(box), waiting(tmp_path)) == (0, [])
    box.close()
    assert not box.path.exists()


def test_an_entry_that_names_others_names_them_by_the_places_that_they_got(
    server: FakeServer, tmp_path: Path
) -> None:
    """Others wrote ten entries meanwhile; what came before the silence keeps its place."""
    before = 2
    hold = HoldPlaced(at=minutes(1), by="RM", tank=1, batches=(before, 4), reason="low")
    events: list[Event] = [
        batch(1),
        hold,
        HoldReleased(
            at=minutes(2), by="RM", hold=5, decision=Decision.WASH_AGAIN, reason="washed again"
        ),
        FlagsChanged(at=minutes(2), by="RM", upto=6),
        Corrected(at=minutes(3), by="RM", entry=5, reason="typed wrong", instead=hold),
        Corrected(at=minutes(3), by="RM", entry=before, reason="typed wrong"),
    ]
    entries = [replace(one, seq=seq) for seq, one in enumerate(chain_of(*events), start=before + 2)]
    server.others = 14
    box = Outbox(tmp_path, PLACE)
    box.keep("a", entries)
    box.send(server.send)
    box.close()
    washed, placed, released, flags, corrected, old = (one.event for one in server.taken)
    assert isinstance(washed, BatchWashed)
    assert cast("HoldPlaced", placed).batches == (before, 14)
    assert cast("HoldReleased", released).hold == 15
    assert cast("FlagsChanged", flags).upto == 16
    assert cast("Corrected", corrected).entry == 15
    assert cast("Any", corrected).instead.batches == (before, 14)
    assert (cast("Corrected", old).entry, cast("Corrected", old).instead) == (before, None)


def test_what_ended_programs_left_is_taken_up_and_is_on_the_disk_at_once(tmp_path: Path) -> None:
    boxes = [Outbox(tmp_path, PLACE) for _ in range(3)]
    for number, box in enumerate(boxes):
        box.keep("a", chain_of(note(number, f"of box {number}")))
    assert len(list(tmp_path.glob("*.jsonl"))) == 3
    other = locate("postgresql+psycopg://someone@nowhere/barn")
    assert isinstance(other, Server)
    barn = Outbox(tmp_path, other)
    assert len(barn) == 0  # what waits for another database is none of its business
    barn.close()
    boxes[0].close()
    boxes[2].close()
    heir = Outbox(tmp_path, PLACE)
    texts = [
        event.text for event in map(read_back, waiting(tmp_path)) if isinstance(event, NoteWritten)
    ]
    assert sorted(texts) == ["of box 0", "of box 1", "of box 2"]
    assert (len(heir), len(list(tmp_path.glob("*.jsonl")))) == (2, 2)  # the second still runs
    heir.close()
    boxes[1].close()


def test_what_an_earlier_version_kept_is_found_by_its_name(tmp_path: Path) -> None:
    digest = sha256(b"postgresql+psycopg://someone@nowhere/shed").hexdigest()[:16]
    box = Outbox(tmp_path, PLACE)
    assert box.path.name == f"outbox-{digest}-1.jsonl"
    box.close()
    assert Witness(tmp_path, PLACE).path.name == f"witness-{digest}.json"


def read_back(line: str) -> Event:
    return decode(json.dumps(json.loads(line)["body"]).encode())


def test_a_file_that_can_not_be_read_is_left_and_told(tmp_path: Path) -> None:
    box = Outbox(tmp_path, PLACE)
    box.keep("a", chain_of(note(0)))
    box.close()
    box.path.write_bytes(box.path.read_bytes() + b"no entry\n")
    with pytest.raises(CannotWrite, match="what waits in it can't be read"):
        Outbox(tmp_path, PLACE)
    assert len(box.path.read_bytes().splitlines()) == 2
