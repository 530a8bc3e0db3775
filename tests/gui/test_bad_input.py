"""Nonsense at the window: one clear sentence beside its field, and nothing typed is lost."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import QLocale
from pytestqt.qtbot import QtBot

from tests.gui.stand import Key, Stand, begin_shift
from tests.shed import START, a_tank
from tests.store.shed import room_for
from washmon import data
from washmon.gui import session_files
from washmon.gui.rooms import Room
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    DoseAdded,
    NoteWritten,
    ReadingTaken,
    TankFilled,
)
from washmon.line.setup import TemperatureRule, TemperatureRuleKind
from washmon.recorder import Saved
from washmon.store.store import Store

GERMAN = QLocale(QLocale.Language.German, QLocale.Country.Germany)
NO_BREAK = "\N{NO-BREAK SPACE}"


@pytest.fixture
def stand(qtbot: QtBot, tmp_path: Path) -> Iterator[Stand]:
    """The Board of a running shift, ten minutes in; both temperatures are asked for."""
    yield from opened(qtbot, tmp_path)


@pytest.fixture
def comma(qtbot: QtBot, tmp_path: Path) -> Iterator[Stand]:
    """The same, on a machine that writes decimals with a comma."""
    before = QLocale()
    QLocale.setDefault(GERMAN)
    yield from opened(qtbot, tmp_path)
    QLocale.setDefault(before)


def opened(qtbot: QtBot, tmp_path: Path) -> Iterator[Stand]:
    made = Stand(qtbot, tmp_path)
    rule = TemperatureRule(kind=TemperatureRuleKind.NOT_COLDER, by_c=5.6)
    tanks = (a_tank(number, name, temperature_rule=rule) for number, name in enumerate("AB", 1))
    begin_shift(made.path, *tanks)
    made.now += timedelta(minutes=10)
    made.open()
    yield made
    made.leave()


def put(stand: Stand, texts: dict[str, str]) -> None:
    """Write into fields of the open sheet, each pressed first."""
    for key, text in texts.items():
        stand.click(stand.entries.sheet.field(key).input)
        stand.write(text)


def fault(stand: Stand, key: str) -> str:
    """The sentence that stands beside a field, in sight, with no-break spaces as plain ones."""
    line = stand.entries.sheet.field(key).fault
    stand.qtbot.waitUntil(lambda: bool(line.text))
    stand.qtbot.waitUntil(lambda: not line.visibleRegion().isEmpty())
    return line.text.replace(NO_BREAK, " ")


def assert_refused(stand: Stand, key: str, sentence: str) -> None:
    """Press Save: it is refused beside the field, all stays as typed, nothing is journaled."""
    typed, entries = stand.entries.sheet.values(), stand.shift.entries
    stand.click(stand.entries.sheet.save)
    assert sentence in fault(stand, key)
    assert stand.entries.sheet.values() == typed
    assert stand.entries.is_open
    assert stand.shift.entries == entries
    others = [one for name, one in stand.entries.sheet.grid.fields.items() if name != key]
    assert [one.fault.text for one in others if one.fault.text] == []


def save(stand: Stand) -> None:
    with stand.saving():
        stand.click(stand.entries.sheet.save)


GOOD = {"fac_mg_l": "48", "ph": "7.1", "turbidity_ntu": "20", "water_c": "12", "pulp_c": "10"}


@pytest.mark.parametrize(
    ("key", "text", "sentence"),
    [
        ("fac_mg_l", "-5", "-5 is less than nothing: write an amount above 0."),
        ("fac_mg_l", "5000", "5000 ppm is not a possible free chlorine"),
        ("fac_mg_l", "5,000", "without a mark for thousands"),
        ("fac_mg_l", "48,5", "decimals as in 1.5"),
        ("fac_mg_l", "12 kg", "12 kg is a weight; a concentration is needed here"),
        ("fac_mg_l", "much", "cannot be read as a concentration"),
        ("fac_mg_l", "1e400", "cannot be read as a concentration"),
        ("ph", "15", "is not a possible pH: it lies between 0.0 and 14.0"),
        ("ph", "nan", "cannot be read as a pH"),
        ("turbidity_ntu", "40000", "is not a possible cloudiness"),
        ("water_c", "900", "900 °C is not a possible water temperature"),
        ("pulp_c", "900 °F", "is not a possible pulp temperature"),
        ("water_c", "12 L", "is a volume; a temperature is needed here"),
    ],
)
def test_a_value_that_can_not_be_is_refused_beside_its_field(
    stand: Stand, key: str, text: str, sentence: str
) -> None:
    stand.type(Key.Key_F1, "1")
    put(stand, GOOD | {key: text})
    assert_refused(stand, key, sentence)
    put(stand, {key: GOOD[key]})
    assert stand.entries.sheet.field(key).fault.text == ""
    save(stand)
    reading = stand.last().event
    assert isinstance(reading, ReadingTaken)
    values = (reading.fac_mg_l, reading.ph, reading.turbidity_ntu, reading.water_c, reading.pulp_c)
    assert values == (48, 7.1, 20, 12, 10)


@pytest.mark.parametrize(
    ("key", "text", "sentence"),
    [
        ("amount", "3 kg", "3 kg is a weight; a volume is needed here"),
        ("amount", "0", "An amount is above 0"),
        ("amount", "-20", "is less than nothing"),
        ("amount", "90 L", "check the amount and its unit"),
        ("amount", "", "Needed: type a value"),
    ],
)
def test_an_amount_that_can_not_be_is_refused_beside_its_field(
    stand: Stand, key: str, text: str, sentence: str
) -> None:
    stand.type(Key.Key_F3, "1")
    put(stand, {key: text})
    assert_refused(stand, key, sentence)
    put(stand, {key: "90 mL"})
    save(stand)
    assert isinstance(stand.last().event, DoseAdded)


def test_an_empty_reading_is_refused_in_the_sheet(stand: Stand) -> None:
    stand.type(Key.Key_F1, "1")
    stand.click(stand.entries.sheet.save)
    words = stand.entries.sheet.message.words
    stand.qtbot.waitUntil(lambda: "Nothing was measured: enter at least one value." in words.text())
    put(stand, {"fac_mg_l": "48"})
    save(stand)


@pytest.mark.parametrize(
    ("key", "keys", "typed"),
    [
        ("volume_l", (Key.Key_F5, "1"), "570 kg"),
        ("weight_kg", (Key.Key_F2,), "-3"),
        ("contact_s", (Key.Key_F2,), "900 L"),
    ],
)
def test_the_other_sheets_refuse_beside_the_field_too(
    stand: Stand, key: str, keys: tuple[Key | str, ...], typed: str
) -> None:
    stand.type(Key.Key_F1, "1")  # water that is changed is measured before it goes
    put(stand, GOOD)
    save(stand)
    stand.type(*keys)
    put(stand, {key: typed})
    assert_refused(stand, key, typed)
    put(stand, {key: ""})
    save(stand)
    assert isinstance(stand.last().event, TankFilled | BatchWashed)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("23:59", "23:59 is in the future: check the time."),
        ("6:30", "06:30 is before the shift began at 07:00: check the time."),
        ("600", "is before the shift began at 07:00"),
        ("25:00", "There is no such time of day"),
        ("soon", "Write how many minutes ago"),
    ],
)
def test_a_time_in_the_future_or_before_the_shift_is_refused(
    stand: Stand, text: str, sentence: str
) -> None:
    stand.type(Key.Key_F1, "1")
    put(stand, GOOD)
    stand.click(stand.entries.sheet.more)
    put(stand, {"at": text})
    assert_refused(stand, "at", sentence)
    put(stand, {"at": "5"})
    save(stand)
    assert stand.last().event.at == START + timedelta(minutes=5)


# --- a decimal comma


def test_where_the_locale_writes_a_comma_a_comma_is_the_decimal_sign(comma: Stand) -> None:
    comma.type(Key.Key_F1, "1")
    put(comma, GOOD | {"fac_mg_l": "48,5", "ph": "7,1", "turbidity_ntu": "1,000"})
    save(comma)
    reading = comma.last().event
    assert isinstance(reading, ReadingTaken)
    assert (reading.fac_mg_l, reading.ph, reading.turbidity_ntu) == (48.5, 7.1, 1)
    assert "pH 7,1" in comma.board.message.words.text()


@pytest.mark.parametrize("text", ["48.5", "1.000"])
def test_where_the_locale_writes_a_comma_a_point_is_not_taken_for_thousands(
    comma: Stand, text: str
) -> None:
    comma.type(Key.Key_F1, "1")
    put(comma, GOOD | {"ph": "7,1", "fac_mg_l": text})
    assert_refused(comma, "fac_mg_l", "decimals as in 1,5")


# --- unlikely, but possible


@pytest.mark.parametrize(
    ("key", "text", "doubt"),
    [
        ("ph", "4", "4.0 is an unusual pH"),
        ("fac_mg_l", "90", "Free chlorine rose from 50 ppm to 90 ppm without a dose"),
    ],
)
def test_an_unlikely_value_is_asked_about_once_and_kept_with_its_doubt(
    stand: Stand, key: str, text: str, doubt: str
) -> None:
    stand.type(Key.Key_F1, "1")
    put(stand, GOOD | {key: text})
    stand.click(stand.entries.sheet.save)
    stand.qtbot.waitUntil(lambda: stand.entries.sheet.doubted)
    said = stand.entries.sheet.message.words.text().replace(NO_BREAK, " ")
    assert said.startswith(doubt)
    assert stand.entries.sheet.save.label == "Change it"
    with stand.saving():
        stand.click(stand.entries.sheet.anyway)
    reading = stand.last().event
    assert isinstance(reading, ReadingTaken)
    assert [one.replace(NO_BREAK, " ").startswith(doubt) for one in reading.doubts] == [True]


def test_a_doubt_can_be_taken_back_without_losing_what_was_typed(stand: Stand) -> None:
    stand.type(Key.Key_F1, "1")
    put(stand, GOOD | {"ph": "4"})
    typed = stand.entries.sheet.values()
    stand.click(stand.entries.sheet.save)
    stand.qtbot.waitUntil(lambda: stand.entries.sheet.doubted)
    stand.key(Key.Key_Escape)
    assert stand.entries.is_open
    assert stand.entries.sheet.values() == typed
    put(stand, {"ph": "7.4"})
    save(stand)
    reading = stand.last().event
    assert isinstance(reading, ReadingTaken)
    assert (reading.ph, reading.doubts) == (7.4, ())


def test_acid_right_after_hypochlorite_is_asked_about(stand: Stand) -> None:
    stand.type(Key.Key_F3, "1")
    put(stand, {"amount": "20 mL"})
    save(stand)
    stand.type(Key.Key_F4, "1")
    put(stand, {"amount": "20 mL"})
    stand.click(stand.entries.sheet.save)
    stand.qtbot.waitUntil(lambda: stand.entries.sheet.doubted)
    assert "make chlorine gas" in stand.entries.sheet.message.words.text()
    stand.key(Key.Key_Escape)
    stand.key(Key.Key_Escape)
    assert not stand.entries.is_open
    assert not any(isinstance(event, AcidAdded) for event in stand.events)


# --- session files


@pytest.mark.parametrize(
    ("spoil", "sentence"),
    [
        (lambda whole: whole[: len(whole) // 2], "is cut off after"),
        (
            lambda whole: whole.replace(b'"version":1', b'"version":9', 1),
            "was made by a later version of washmon: update this one to open it.",
        ),
        (lambda _: b"\x00\xff" * 3000, "is not a session file of washmon"),
        (lambda _: b"", "is empty: get the session file again."),
        (None, "can't be read"),
    ],
)
def test_a_session_file_that_can_not_be_replayed_is_told_above_the_room(
    stand: Stand, spoil: object, sentence: str
) -> None:
    file = stand.folder / "shift.washshift"
    if callable(spoil):
        file.write_bytes(spoil(data.demo_sessions()[0].read_bytes()))
    stand.type(Key.Key_F1, "1", "48")
    stand.window.sessions.open_file(file)
    notice = stand.window.notice
    assert sentence in notice.words.text()
    assert notice.isVisible()
    assert notice.mark.isVisible()
    assert stand.room is Room.BOARD
    assert stand.entries.sheet.values()["fac_mg_l"] == "48"


def test_the_sound_part_of_a_damaged_session_file_is_offered_and_opened(stand: Stand) -> None:
    file = stand.folder / "shift.washshift"
    whole = data.demo_sessions()[0].read_bytes()
    file.write_bytes(whole[: len(whole) // 2])
    sound = file.read_bytes().count(b"\n") - 1  # the first line is the header
    stand.window.sessions.open_file(file)
    offer = stand.window.notice.action
    assert offer.isVisible()
    assert offer.text().startswith(f"Open {sound} entries")
    stand.click(offer)
    stand.wait_for(Room.REPLAY)
    assert not stand.window.notice.isVisible()
    stand.window.sessions.open_file(stand.folder / "gone.washshift")
    assert not stand.window.notice.action.isVisible()


def test_a_large_session_file_is_read_beside_the_window(
    stand: Stand, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(session_files, "LARGE_BYTES", 0)
    (other := stand.folder / "other.washshift").write_bytes(b"no shift")
    stand.window.sessions.open_file(other)
    assert stand.window.notice.words.text().startswith("Opening other.washshift")
    said = "is not a session file of washmon"
    stand.qtbot.waitUntil(lambda: said in stand.window.notice.words.text())
    stand.window.sessions.open_file(data.demo_sessions()[0])
    stand.wait_for(Room.REPLAY)


# --- a full disk


def test_a_full_disk_keeps_the_sheet_and_all_that_was_typed(stand: Stand) -> None:
    recorder = stand.window.client.recorder
    recorder.read(lambda store: room_for(store, 0)).result()
    note = NoteWritten(at=stand.now, by="RM", text="x" * 480)
    while isinstance(recorder.enter(note).result(), Saved):
        pass
    stand.type(Key.Key_F7)
    put(stand, {"text": "y" * 490})
    stand.click(stand.entries.sheet.save)
    words = stand.entries.sheet.message.words
    stand.qtbot.waitUntil(lambda: "free some space, then try again" in words.text())
    assert stand.entries.sheet.values()["text"] == "y" * 490
    header = stand.window.header.saved
    stand.qtbot.waitUntil(lambda: "Trouble" in header.text())
    view = stand.board.board.view
    assert view is not None
    assert "is full" in view.banners[0].text

    recorder.read(lambda store: room_for(store, None)).result()
    save(stand)
    last = stand.last().event
    assert isinstance(last, NoteWritten)
    assert last.text == "y" * 490
    assert "all entries saved" in header.text()
    stand.close()
    with Store.open(stand.path) as store:
        assert store.verify() == []
