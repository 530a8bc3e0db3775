"""Each kind of event, walked through all that shows or keeps one: none is forgotten anywhere."""

import ast
import io
from collections.abc import Iterator
from datetime import date, datetime
from enum import EnumMeta
from pathlib import Path
from typing import Any, get_args, get_type_hints

import pytest
from msgspec import NODEFAULT
from msgspec.structs import fields
from pypdf import PdfReader

from tests.shed import CHAIN, Shed, a_setup, in_a_line
from washmon.gui.board_page import ENTRIES
from washmon.gui.context import UserContext
from washmon.gui.entry.ask import Ask
from washmon.gui.entry.entry_list import correctable
from washmon.gui.entry.forms import FORMS, build, sheet_for
from washmon.gui.kit.sheet_spec import TypedEntry as Typed
from washmon.gui.logbook.shift_tables import listing
from washmon.line import events, flag_events
from washmon.line.check import check
from washmon.line.events import Correctable, Corrected, Event
from washmon.line.flags import Amount, StepKind
from washmon.line.fold import fold, step
from washmon.line.journal import Entry, encode
from washmon.line.kinds import (
    KINDS,
    EntryKind,
    EventKind,
    entry_for,
    entry_kind,
    menu_words,
    phrases,
)
from washmon.line.learned import UsualLearned
from washmon.line.message import Message, Phrase, say
from washmon.line.practice_events import BehindTheScenes
from washmon.line.setup import LineSetup
from washmon.line.state import ShiftState
from washmon.reports.cells import written
from washmon.reports.printed import printed
from washmon.reports.record_lists import LISTS
from washmon.reports.tables import ACTIONS, BATCHES, READINGS
from washmon.rules.event_text import event_text
from washmon.sessions.file import compose, parse
from washmon.sessions.telling import tell
from washmon.units import UnitSystem

PERSON = UserContext("TK", UnitSystem.METRIC)
OF_A_SHIFT = [
    kind for kind in KINDS.values() if not (kind.of_site or kind.event is events.ShiftStarted)
]
"""All but the event that every shift here begins with."""
ENTERED = [kind for kind in OF_A_SHIFT if kind.event in get_args(Correctable)]
NAMES = [kind.name for kind in OF_A_SHIFT]


def a_shed() -> Shed:
    """Both tanks filled, one with a second fill, and a batch to hold."""
    shed = Shed()
    for tank in (1, 2):
        shed.fill(tank)
    shed.wash(1)
    return shed


def example(kind: EventKind, shed: Shed) -> Any:
    """An event with something in each field that has to be there."""
    needed = [one.name for one in fields(kind.event) if one.default is NODEFAULT]
    hints = get_type_hints(kind.event)
    values: dict[str, Any] = {name: _value(name, hints[name], shed) for name in needed}
    if kind.event is Corrected:
        return Corrected(at=shed.now, by="RM", entry=1, reason="reason", instead=None)
    make: Any = kind.event
    return make(**values)


def _value(name: str, of: Any, shed: Shed) -> object:
    special: dict[Any, object] = {
        datetime: shed.now,
        date: shed.now.date(),
        Amount: Amount(60.0, "mL"),
        LineSetup: a_setup(),
        float: 12.0,
        int: shed.shift.entries[-1].seq if name in {"hold", "entry"} else 1,
        str: {"by": "RM", "product": "bleach", "lot": "L-1", "to": "TK"}.get(name, f"my {name}"),
    }
    if isinstance(of, EnumMeta):
        return next(iter(of))
    return special.get(of, (1,) if name == "tanks" else ())


def plain(text: str) -> str:
    return " ".join(text.replace("\N{NO-BREAK SPACE}", " ").split())


def test_every_event_is_a_kind_and_every_sheet_has_a_form() -> None:
    assert set(KINDS) == set(get_args(Event))
    assert set(FORMS) == set(EntryKind) - {EntryKind.CORRECTION}
    assert {kind.sheet for kind in KINDS.values()} - {None} == set(EntryKind)
    assert set(get_args(Correctable)) <= {kind.event for kind in KINDS.values() if kind.sheet}


def test_every_sheet_is_reached_by_a_button_the_menu_or_what_it_is_about() -> None:
    beside_a_flag, toggled = {EntryKind.SHELVE}, {EntryKind.RESUME}
    offered = {kind for kind in EntryKind if menu_words(kind)} | set(ENTRIES.values())
    assert offered | beside_a_flag | toggled == set(EntryKind)


def test_no_step_is_answered_on_two_sheets() -> None:
    for one in StepKind:
        sheets = {kind.sheet for kind in KINDS.values() if one in kind.answers}
        assert len(sheets) <= 1
        assert entry_for(one) in (sheets or {None})


@pytest.mark.parametrize("kind", OF_A_SHIFT, ids=NAMES)
def test_a_kind_is_told_folded_listed_exported_printed_replayed_and_kept(kind: EventKind) -> None:
    shed = a_shed()
    event, before = example(kind, shed), shed.shift.entries
    entry = shed.tell(event)
    setup = shed.shift.setup
    said = plain(event_text(event, setup, PERSON.say))
    assert said
    assert "{" not in said
    listed = [
        plain(cell.text)
        for key in ("actions", "readings", "batches", "corrections")
        for row in listing(LISTS[key], shed.shift, PERSON).rows
        for cell in row
    ]
    assert (said in listed) is bool(kind.action and kind.in_actions)
    tables = (ACTIONS, READINGS, BATCHES)
    found = {
        table.key for table in tables for row in table.rows(shed.shift) if row.seq == entry.seq
    }
    own = {events.ReadingTaken: "readings", events.BatchWashed: "batches"}.get(kind.event)
    nowhere = kind.event in {flag_events.FlagsChanged, UsualLearned, BehindTheScenes}
    assert found == (set() if nowhere else {own or "actions"})
    if kind.action:
        names = [column.name for column in ACTIONS.columns]
        row = next(row for row in ACTIONS.rows(shed.shift) if row.seq == entry.seq)
        cells = dict(zip(names, (written(one.cell(row)) for one in ACTIONS.columns), strict=True))
        assert (cells["action"], cells["words"]) == (kind.action, plain(in_a_line(event, setup)))
        pages = PdfReader(io.BytesIO(printed(shed.shift))).pages
        assert said[:40] in plain(" ".join(page.extract_text() for page in pages))
    _kept([*before, entry], shed.shift)


def _kept(entries: list[Entry], shift: ShiftState) -> None:
    """Write a shift into a session file, and fold and tell what comes back."""
    rows = [(one.seq, one.recorded_at, encode(one.event), one.hash) for one in entries]
    session = parse(compose(CHAIN, rows, "A title", ""), "shift.washshift")
    again = fold(CHAIN, session.entries)
    assert again == shift
    assert step(fold(CHAIN, session.entries[:-1]), session.entries[-1]) == again
    for one in session.entries:
        assert tell(one.event, again.setup).said(lambda part: say(part, UnitSystem.METRIC))


@pytest.mark.parametrize("kind", ENTERED, ids=[kind.name for kind in ENTERED])
def test_what_can_be_corrected_is_offered_and_comes_back_from_its_own_sheet(
    kind: EventKind,
) -> None:
    shed = a_shed()
    entry = shed.tell(example(kind, shed))
    assert entry in [one for one, _ in correctable(shed.shift)]
    sheet = entry_kind(entry.event)
    ask = Ask(shed.shift, PERSON, shed.now, correcting=entry)
    spec = sheet_for(sheet, ask)
    values = {
        one.key: one.value or (one.last if one.choices else "") for one in spec.fields_of(spec.tank)
    }
    never = build(sheet, Typed(spec.tank, values | {"never": "never", "why": "a slip"}), ask)
    assert never == Corrected(at=shed.now, by="TK", entry=entry.seq, reason="a slip")
    faults = [fault.message.text for fault in check(shed.shift, never, shed.now).faults]
    assert "This entry can't be corrected." not in faults
    right = build(sheet, Typed(spec.tank, values | {"why": "a slip"}), ask)
    assert isinstance(right, Corrected)
    assert type(right.instead) is kind.event


def _texts(found: tuple[Phrase, ...]) -> Iterator[str]:
    for one in found:
        if isinstance(one, Message):
            yield one.text
        else:
            yield from _texts(one)


def test_no_phrase_is_put_together_where_no_catalogue_can_hold_it() -> None:
    folder = Path(events.__file__).parent
    literals = {
        node.value
        for path in folder.glob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    shed = a_shed()
    told = {
        text
        for kind in OF_A_SHIFT
        for text in _texts(phrases(example(kind, shed), shed.shift.setup))
    }
    assert len(told) > len(OF_A_SHIFT)
    assert told <= literals
