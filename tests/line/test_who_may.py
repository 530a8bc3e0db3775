"""Who may do what: whatever decides about good water is a manager's to change, the rest is not.

The table is common practice, no published source; 21 CFR 112.161(b) leaves the roles to the farm.
"""

from datetime import date

import pytest
from msgspec.structs import fields, replace

from tests.shed import START, Shed, a_setup
from washmon.line.events import Corrected, NoteWritten
from washmon.line.gate import Act, act_of, act_of_registering, acts_of_set_up, not_allowed
from washmon.line.message import say
from washmon.line.registers import Container, Device, Pack, Paper, PaperKind, Thing
from washmon.line.setup import LineSetup, Margins, Person, Role, RuleOff, Tank
from washmon.line.working_days import WorkCalendar
from washmon.units import UnitSystem

PLAIN = {"name", "volume_l", "measured", "acid", "second_volume_l"}
"""Of a tank, what is measured at it and what it is called."""


@pytest.mark.parametrize("field", [field.name for field in fields(Tank)])
def test_of_a_tank_all_but_its_name_its_volumes_and_its_acid_is_a_limit(field: str) -> None:
    before = a_setup()
    first, *rest = before.tanks
    after = replace(before, tanks=(replace(first, **{field: "another"}), *rest))
    assert (Act.LIMITS in acts_of_set_up(before, after)) is (field not in PLAIN)


OFF = RuleOff(rule="rinse-carry", reason="fed from the wash")


@pytest.mark.parametrize(
    ("before", "after", "acts"),
    [
        ({}, {"meter_check_days": 14}, [Act.SET_UP, Act.LIMITS]),
        ({}, {"margins": Margins(act_ph=7.8)}, [Act.SET_UP, Act.LIMITS]),
        (
            {},
            {"calendar": WorkCalendar(closed=(date(2026, 5, 1),))},
            [Act.SET_UP, Act.LIMITS],
        ),
        ({}, {"rules_off": (OFF,)}, [Act.SET_UP, Act.LIMITS]),
        (
            {"rules_off": (OFF,)},
            {"rules_off": (replace(OFF, rule="cloudy"),)},
            [Act.SET_UP, Act.LIMITS],
        ),
        (
            {"rules_off": (OFF,)},
            {"rules_off": (replace(OFF, reason="it is new"),)},
            [Act.SET_UP, Act.LIMITS],
        ),
        ({"rules_off": (OFF,)}, {"rules_off": (replace(OFF, by="RM"),)}, [Act.SET_UP]),
        ({}, {"line": "Another"}, [Act.SET_UP, Act.LIMITS]),
        ({}, {"site": "Another"}, [Act.SET_UP]),
        (
            {},
            {"people": (Person(initials="RM", name="R. M.", role=Role.MANAGER),)},
            [Act.SET_UP, Act.PEOPLE],
        ),
    ],
)
def test_what_saving_a_set_up_comes_to(
    before: dict[str, object], after: dict[str, object], acts: list[Act]
) -> None:
    def made(changes: dict[str, object]) -> LineSetup:
        return replace(a_setup(), **changes)

    assert list(acts_of_set_up(made(before), made({**before, **after}))) == acts


def corrected(shed: Shed, seq: int, by: str = "RM", instead: NoteWritten | None = None) -> Act:
    event = Corrected(at=shed.now, by=by, entry=seq, reason="slip", instead=instead)
    return act_of(event, shed.shift, shed.now)


def test_only_what_is_ones_own_newest_and_fresh_is_undone() -> None:
    shed = Shed()
    note = NoteWritten(at=shed.now, by="RM", text="a")
    seq = shed.tell(note).seq
    assert corrected(shed, seq) is Act.UNDO
    assert corrected(shed, seq, instead=replace(note, text="b")) is Act.CORRECT_OWN
    assert corrected(shed, seq, by="TK") is Act.CORRECT
    assert corrected(shed, seq + 1) is Act.CORRECT  # there is no such entry
    shed.tell(NoteWritten(at=shed.now, by="TK", text="b"))
    assert corrected(shed, seq) is Act.UNDO  # somebody else's does not count
    shed.wait(2)
    assert corrected(shed, seq) is Act.UNDO
    shed.wait(0.1)
    assert corrected(shed, seq) is Act.CORRECT_OWN
    shed.wait(-2.2)  # a clock that was set back tells nothing of how fresh it is
    assert corrected(shed, seq) is Act.CORRECT_OWN
    shed.wait(0.5).tell(NoteWritten(at=shed.now, by="RM", text="c"))
    assert corrected(shed, seq) is Act.CORRECT_OWN


def test_a_batch_on_hold_is_let_go_by_who_may_decide_about_it() -> None:
    shed = Shed()
    shed.fill()
    first, second = (entry.seq for entry in shed.wash(2))
    shed.hold(first)
    assert corrected(shed, first) is Act.RELEASE
    assert corrected(shed, second) is Act.CORRECT_OWN


@pytest.mark.parametrize(
    ("thing", "first"),
    [
        (Pack(key="p", name="Strips", lot="1", measures=("fac_mg_l",)), Act.OPEN),
        (Container(key="c", name="Drum", product="bleach", opened_on=START.date()), Act.OPEN),
        (Device(key="d", name="Meter", measures=("ph",)), Act.REGISTER),
        (Paper(key="l", name="Label", kind=PaperKind.LABEL, sha256="0", size=1), Act.REGISTER),
    ],
)
def test_anybody_registers_what_was_opened_and_who_leads_the_rest(thing: Thing, first: Act) -> None:
    assert act_of_registering(None, thing) is first
    assert act_of_registering(thing, thing) is Act.REGISTER


LEADERS = {Act.CORRECT, Act.RELEASE, Act.HAND_OVER, Act.SIGN, Act.REGISTER, Act.TRAIN, Act.SET_UP}
MANAGERS = {Act.REVIEW, Act.LIMITS, Act.PEOPLE}


@pytest.mark.parametrize("act", Act)
def test_who_may_not_is_told_who_may(act: Act) -> None:
    said = {role: not_allowed(act, role) for role in Role}
    refused = {role for role, why in said.items() if why is not None}
    others = {Role.LINE_WORKER, Role.TRAINER}
    others |= {Role.SUPERVISOR} if act in MANAGERS else set()
    assert refused == (others if act in MANAGERS | LEADERS else set())
    who = "Only a manager" if act in MANAGERS else "Only a supervisor or a manager"
    for why in said.values():
        assert why is None or say(why, UnitSystem.METRIC).startswith(who)
