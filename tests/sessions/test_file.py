"""Session files: what is written comes back, and nothing that was changed passes."""

import functools
import os
from datetime import timedelta
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.shed import CHAIN, START, Shed, a_setup
from tests.strategies import events
from washmon.line.events import Event, NoteWritten, ReadingTaken, ShiftStarted, TankFilled
from washmon.line.flag_events import FlagShelved
from washmon.line.flags import Level
from washmon.line.journal import GENESIS, encode, extend, link
from washmon.line.practice_events import Attempt, BehindTheScenes
from washmon.sessions import file as file_module
from washmon.sessions.file import (
    MOST_BYTES,
    Row,
    SessionFileError,
    SessionHeader,
    compose,
    parse,
    read,
    write,
)

NAME = "shift.washshift"
STARTED = Shed().shift.started
NOTE = NoteWritten(at=START + timedelta(minutes=3), by="RM", text="Säcke naß, «12 %»\n\u2028")


def rows_of(*events: Event) -> list[Row]:
    made = extend(CHAIN, None, [STARTED, *events], START)
    return [(entry.seq, entry.recorded_at, body, entry.hash) for entry, body in made]


@functools.cache
def a_file() -> bytes:
    reading = ReadingTaken(at=START, by="RM", tank=1, fac_mg_l=48.0)
    return compose(CHAIN, rows_of(NOTE, reading, NOTE), "A title", "Note\nin two lines")


def refused(data: bytes, **how: bool) -> SessionFileError:
    with pytest.raises(SessionFileError) as caught:
        parse(data, NAME, **how)
    sentence = str(caught.value)
    assert sentence.endswith(".")
    assert "{" not in sentence
    return caught.value


def test_what_was_written_comes_back_with_its_title_and_its_note(tmp_path: Path) -> None:
    rows = rows_of(NOTE)
    write(tmp_path / NAME, CHAIN, rows, "A title", "A note")
    session = read(tmp_path / NAME)
    assert (session.header.title, session.header.teaching_note) == ("A title", "A note")
    assert session.complete
    assert [entry.event for entry in session.entries] == [STARTED, NOTE]
    assert [(e.seq, e.recorded_at, e.hash) for e in session.entries] == [
        (seq, at, digest) for seq, at, _, digest in rows
    ]
    assert list(tmp_path.iterdir()) == [tmp_path / NAME]
    assert session.setup == a_setup()


def test_a_body_keeps_the_bytes_that_were_hashed_even_if_they_would_be_written_otherwise_now() -> (
    None
):
    body = encode(STARTED).replace(b'"practice":false', b'"practice": false')
    assert b": false" in body
    digest = link(GENESIS, CHAIN, 0, START, body)
    data = compose(CHAIN, [(0, START, body, digest)], "t")
    assert parse(data, NAME).entries[0].event == STARTED


@given(st.data())
def test_any_changed_byte_is_refused_with_a_sentence(data: st.DataObject) -> None:
    good = a_file()
    place = data.draw(st.integers(0, len(good) - 1))
    byte = data.draw(st.integers(0, 255).filter(lambda value: value != good[place]))
    refused(good[:place] + bytes([byte]) + good[place + 1 :])


@given(st.data())
def test_any_cut_is_refused_with_a_sentence(data: st.DataObject) -> None:
    refused(a_file()[: data.draw(st.integers(0, len(a_file()) - 1))])


@given(st.data(), st.binary(min_size=1, max_size=8))
def test_anything_put_in_or_taken_out_is_refused(data: st.DataObject, extra: bytes) -> None:
    good = a_file()
    start = data.draw(st.integers(0, len(good)))
    stop = data.draw(st.integers(start, min(start + 12, len(good))))
    changed = good[:start] + extra + good[stop:]
    if changed != good:
        refused(changed)


@given(st.binary(max_size=300))
def test_garbage_is_refused_with_a_sentence(garbage: bytes) -> None:
    refused(garbage)


@given(st.data())
def test_lines_in_another_order_are_refused(data: st.DataObject) -> None:
    first, *lines = a_file().splitlines(keepends=True)
    mixed = data.draw(st.permutations(lines).filter(lambda order: list(order) != lines))
    refused(first + b"".join(mixed))


def test_a_file_cut_in_the_middle_tells_how_much_is_left_and_opens_that(tmp_path: Path) -> None:
    whole = a_file()
    cut = whole[: whole.rindex(b'{"seq":3') + 20]
    defect = refused(cut)
    assert str(defect) == (
        "shift.washshift is cut off after 3 of its 4 entries: get the whole file again, or open "
        "the part that is left."
    )
    assert defect.readable == 3
    (tmp_path / NAME).write_bytes(cut)
    left = read(tmp_path / NAME, salvage=True)
    assert [entry.seq for entry in left.entries] == [0, 1, 2]
    assert not left.complete


def test_changed_content_names_the_entry_and_what_stands_before_it_can_be_opened() -> None:
    changed = a_file().replace(b'"fac_mg_l":48.0', b'"fac_mg_l":84.0')
    defect = refused(changed)
    assert "from entry 2 on" in str(defect)
    assert [entry.seq for entry in parse(changed, NAME, salvage=True).entries] == [0, 1]


def test_where_nothing_is_sound_salvage_is_refused_too() -> None:
    refused(a_file()[: a_file().index(b"\n") + 30], salvage=True)


def test_a_changed_title_is_found_too() -> None:
    assert "first line" in str(refused(a_file().replace(b"A title", b"B title")))


def test_a_later_version_says_to_update() -> None:
    assert "update" in str(refused(a_file().replace(b'"version":1', b'"version":4')))


def sealed(header: SessionHeader, rest: bytes) -> bytes:
    return msgspec.json.encode(header.sealed()) + b"\n" + rest


def parts() -> tuple[SessionHeader, bytes]:
    first, _, rest = a_file().partition(b"\n")
    return msgspec.json.decode(first, type=SessionHeader), rest


def test_a_header_that_counts_one_entry_less_than_there_is_is_refused() -> None:
    header, rest = parts()
    refused(sealed(replace(header, entries=header.entries - 1), rest))
    refused(sealed(replace(header, head="0" * 64), rest))


def test_an_unknown_name_in_the_first_line_is_refused() -> None:
    refused(a_file().replace(b'{"format"', b'{"extra":1,"format"', 1))


def forged(body: bytes) -> bytes:
    first = rows_of()[0]
    digest = link(first[3], CHAIN, 1, START, body)
    return compose(CHAIN, [first, (1, START, body, digest)], "t")


def test_a_name_that_this_version_does_not_know_is_refused_at_any_depth_even_if_hashed() -> None:
    assert "update" in str(refused(forged(encode(NOTE)[:-1] + b',"mood":"good"}')))
    setup = encode(STARTED).replace(b'"margins":{', b'"margins":{"new_margin":1.0,')
    assert "new_margin" in str(refused(forged(setup)))


def test_an_event_of_a_later_version_is_refused_but_what_stands_before_it_opens() -> None:
    data = forged(encode(NOTE).replace(b"note written", b"song sung"))
    assert "update" in str(refused(data))
    assert len(parse(data, NAME, salvage=True).entries) == 1


def test_a_time_without_a_zone_is_refused() -> None:
    no_zone = encode(replace(NOTE, at=NOTE.at.replace(tzinfo=None)))
    assert "time" in str(refused(forged(no_zone)))


def test_a_file_that_starts_no_shift_or_two_is_refused() -> None:
    made = extend(CHAIN, None, [NOTE], START)
    rows = [(entry.seq, entry.recorded_at, body, entry.hash) for entry, body in made]
    refused(compose(CHAIN, rows, "t"))
    refused(compose(CHAIN, rows_of(STARTED), "t"))
    refused(compose(CHAIN, [], "t"))


def test_deep_nesting_is_refused() -> None:
    refused(b"[" * 100_000)
    header, _ = parts()
    refused(sealed(header, b'{"seq":0,"recorded_at":"x","event":' + b"[" * 100_000 + b"\n"))


def test_empty_missing_and_huge_files_each_get_their_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "empty" in str(refused(b""))
    with pytest.raises(SessionFileError, match="can't be read"):
        read(tmp_path / "none.washshift")
    with pytest.raises(SessionFileError, match="can't be read"):
        read(tmp_path)
    monkeypatch.setattr(file_module, "MOST_BYTES", 1024 * 1024)
    (tmp_path / NAME).write_bytes(a_file() + b" " * 1024 * 1024)
    with pytest.raises(SessionFileError, match="larger than 1 MB"):
        read(tmp_path / NAME)
    assert MOST_BYTES == 32 * 1024 * 1024


def test_a_pipe_is_no_session_and_nobody_waits_for_it(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / NAME)
    with pytest.raises(SessionFileError, match="it is no file"):
        read(tmp_path / NAME)


def test_numbers_and_times_that_no_shift_has_are_refused_though_the_chain_is_whole() -> None:
    at = START.replace(year=2199)
    key: dict[str, Any] = {"at": START, "by": "RM", "tank": 1, "rule": "x"}
    shelved = {**key, "reason": "", "level": Level.ACT}
    for event, said in (
        (ReadingTaken(at=START, by="RM", tank=1, fac_mg_l=1e308), "beyond all measure"),
        (TankFilled(at=START, by="RM", tank=1, volume_l=-(10.0**12)), "beyond all measure"),
        (NoteWritten(at=at.replace(year=9999), by="RM", text="?"), "the year 9999"),
        (FlagShelved(**shelved, until=at.replace(year=2200)), "the year 2200"),
    ):
        trouble = refused(compose(CHAIN, rows_of(NOTE, event, NOTE), "t"))
        assert said in str(trouble)
        assert trouble.readable == 2
    late = START.replace(year=9999)
    made = extend(CHAIN, None, [STARTED, NOTE], late)
    rows = [(entry.seq, entry.recorded_at, body, entry.hash) for entry, body in made]
    assert "was changed" in str(refused(compose(CHAIN, rows, "t")))


def test_what_chance_is_drawn_from_is_no_amount_however_large(tmp_path: Path) -> None:
    attempt = Attempt(trainee="TK", scenario="", seed=2**31, advice="on", begun_at=START)
    behind = BehindTheScenes(at=START, by="trainer", attempt=attempt)
    write(tmp_path / NAME, CHAIN, rows_of(behind), "t")
    assert read(tmp_path / NAME).entries[1].event == behind


def test_a_place_that_cannot_be_written_says_so_and_leaves_the_old_file(tmp_path: Path) -> None:
    with pytest.raises(SessionFileError, match="can't be written"):
        write(tmp_path / "no folder" / NAME, CHAIN, rows_of(), "t")
    (tmp_path / NAME).mkdir()
    with pytest.raises(SessionFileError, match="can't be written"):
        write(tmp_path / NAME, CHAIN, rows_of(), "t")
    assert [path.name for path in tmp_path.iterdir()] == [NAME]


@settings(max_examples=40)
@given(st.lists(events().filter(lambda event: not isinstance(event, ShiftStarted)), max_size=3))
def test_every_kind_of_event_survives_the_file(happened: list[Event]) -> None:
    session = parse(compose(CHAIN, rows_of(*happened), "t"), NAME)
    assert [entry.event for entry in session.entries] == [STARTED, *happened]
