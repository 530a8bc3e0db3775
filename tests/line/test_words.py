"""Every event can be said in one line, whatever is missing in it."""

from typing import get_args

import pytest
from hypothesis import assume, given
from msgspec.structs import replace

from tests import strategies
from tests.shed import START, a_setup, in_a_line
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    Corrected,
    DoseAdded,
    Event,
    HoldPlaced,
    Instrument,
    InstrumentChecked,
    NoteWritten,
    ReadingTaken,
)
from washmon.line.flag_events import FlagsChanged
from washmon.line.flags import Amount, Flag, Level, Step, StepKind
from washmon.line.kinds import KINDS
from washmon.line.message import Message, say
from washmon.line.setup import Look
from washmon.units import UnitSystem


def said(event: Event, taste: UnitSystem = UnitSystem.METRIC) -> str:
    return in_a_line(event, a_setup(), taste).replace("\N{NO-BREAK SPACE}", " ")


@given(strategies.events())
def test_any_event_is_said_in_one_line(event: Event) -> None:
    if isinstance(event, FlagsChanged):  # a rule's title is a template; random text may be none
        assume(not any({"{", "}"} & set(flag.title.text) for flag in event.raised))
    text = said(event)
    assert text
    assert text[0].isupper()


def test_every_kind_of_event_has_a_name() -> None:
    assert set(KINDS) == set(get_args(Event))


def test_a_reading_is_said_with_what_was_measured() -> None:
    reading = ReadingTaken(at=START, by="RM", tank=1, fac_mg_l=48, ph=7.1)
    assert said(reading) == "Reading tank 1: 48 ppm, pH 7.1"
    more = replace(reading, fac_mg_l=None, ph=None, water_c=9.0, look=Look.FAINT)
    assert said(more) == "Reading tank 1: water 9 °C, card faint"
    assert said(more, UnitSystem.US) == "Reading tank 1: water 48.2 °F, card faint"


def test_a_dose_is_said_as_it_was_entered() -> None:
    dose = DoseAdded(at=START, by="RM", tank=2, product="bleach", amount=Amount(11.3, "mL"))
    assert said(dose) == "Dose tank 2: 11 mL hypochlorite"
    assert said(replace(dose, as_entered="2.3 tsp")) == "Dose tank 2: 2.3 tsp hypochlorite"
    acid = AcidAdded(at=START, by="RM", tank=2, product="vinegar", amount=Amount(60.0, "mL"))
    assert said(acid) == "Acid tank 2: 60 mL vinegar"
    assert said(replace(acid, container="Jug 4")) == "Acid tank 2: 60 mL vinegar, from Jug 4"


def test_a_check_of_an_instrument_is_said_in_its_own_unit() -> None:
    check = InstrumentChecked(
        at=START, by="RM", instrument=Instrument.PH_METER, standard=7.0, found=7.3, adjusted=True
    )
    assert said(check) == "Check of pH meter: it showed 7.3 in 7.0, set right, fit for use"
    probe = replace(check, instrument=Instrument.ORP_PROBE, standard=475, found=520, fit=False)
    assert "it showed 520 mV in 475 mV" in said(probe)
    assert said(probe).endswith("not fit for use")


def test_batches_are_counted_as_people_count() -> None:
    hold = HoldPlaced(at=START, by="RM", tank=1, batches=(4,), reason="low")
    hold = replace(hold, chances=(0.4,))
    assert said(hold) == "Hold from tank 1: 1 batch, chance under the critical low 40 %, low"
    two = replace(hold, batches=(4, 5), chances=(0.4, 0.8))
    assert said(two) == "Hold from tank 1: 2 batches, about 1 of 2 under the critical low, low"
    batch = BatchWashed(at=START, by="RM", tanks=(1, 2), lot="L-1", weight_kg=12.0)
    assert said(batch) == "Batch of L-1 in tanks 1, 2: 12 kg"


@pytest.mark.parametrize("text", ["{tank}", "{0}", "a } b {", "{tank!r:>{width}}"])
def test_braces_in_a_persons_words_stay_as_they_are(text: str) -> None:
    assert said(NoteWritten(at=START, by="RM", text=text, tank=3)) == f"Note on tank 3: {text}"


def test_a_correction_says_what_is_right_and_why() -> None:
    right = ReadingTaken(at=START, by="RM", tank=1, fac_mg_l=40)
    wrong = Corrected(at=START, by="TK", entry=7, reason="misread", instead=right)
    assert said(wrong) == "Correction of entry 7: Reading tank 1: 40 ppm, misread"
    withdrawn = replace(wrong, instead=None)
    assert said(withdrawn) == "Correction of entry 7: it never happened, misread"


def test_two_flags_keep_their_own_tanks() -> None:
    def flag(tank: int, title: str) -> Flag:
        step = Step(kind=StepKind.LOOK, say=Message("look"))
        return Flag(
            tank=tank,
            rule="r",
            level=Level.ACT,
            title=Message(title),
            why=Message(""),
            step=step,
            since=START,
        )

    changed = FlagsChanged(at=START, by="rules", upto=3, raised=(flag(1, "re-dose"), flag(2, "pH")))
    assert said(changed) == "Flags: tank 1 act, re-dose, tank 2 act, pH"


@pytest.mark.parametrize("text", ["at {time}", "{", "{0}", "{tank.name}", "{tank[x]}"])
def test_a_template_of_a_forged_journal_is_said_as_it_stands(text: str) -> None:
    assert say(Message(text, {"tank": "1"}), UnitSystem.METRIC) == text
