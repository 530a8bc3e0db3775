"""What shifts tell of a person's eye, of a lot and of a kind of produce, and what goes on from it.

The measures are of ours: no published source says how far one person's reading of strips differs
from another's (common practice).
"""

from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.forecast.days import a_day, batch, setup, strip, two_eyes, two_lots
from tests.forecast.washing import forecast
from tests.shed import START, Shed
from washmon.forecast.estimate import Estimate
from washmon.forecast.learning import kept_in, kept_of, prior_from
from washmon.forecast.memory import MOST, Row, Subject
from washmon.forecast.prior import Prior, Trait, prior_for
from washmon.forecast.shift import follow_tank, forecaster_of
from washmon.line.events import BatchWashed
from washmon.line.journal import decode, encode
from washmon.line.learned import UsualLearned
from washmon.line.state import ShiftState


def estimate(shift: ShiftState, prior: Prior | None = None) -> Estimate:
    tank = shift.tank(1)
    begins = prior or prior_for(shift.setup.commodity)
    return follow_tank(forecaster_of(shift, tank.spec, begins), tank)[-1].estimate


def begun(prior: Prior, lot: str, days_later: int = 0) -> float:
    """Return what a batch of a lot is taken to use up (mg/L), in a shift that begins with it."""
    shed = Shed(setup(), start=START + timedelta(days=days_later))
    shed.fill()
    shed.dose(ml=220)
    shed.wait(8).read(fac=55.0)
    batch(shed, lot)
    known = estimate(shed.shift, prior)
    demand = np.exp(known.traits[Trait.DEMAND]) @ known.weights
    return float(demand) * 12.0 * 1000 / 500


# -- people --------------------------------------------------------------------------------------


def test_each_person_is_learned_to_read_the_strips_their_own_way() -> None:
    known = estimate(a_day(two_eyes))
    eyes = {
        who: float((known.traits[known.row_of(Row(Subject.PERSON, who)) or 0]) @ known.weights)
        for who in ("RM", "TK")
    }
    assert eyes["RM"] > 0.04
    assert eyes["TK"] < -0.04
    assert abs(float(known.traits[Trait.STRIP] @ known.weights)) < 0.06  # the pack itself is right


def test_the_next_shift_takes_a_strip_for_what_its_reader_means_by_it() -> None:
    prior = prior_from([a_day(two_eyes, days) for days in (3, 2, 1)])[1]
    levels = {}
    for who in ("RM", "TK", "JO"):
        shed = Shed(setup())
        shed.fill()
        shed.dose(ml=200)
        strip(shed.wait(8), 50.0, who)
        found = estimate(shed.shift, prior)
        levels[who] = float(found.weights @ found.water.level)
    assert levels["RM"] < levels["JO"] < levels["TK"]  # nobody knows JO yet
    assert levels["TK"] - levels["RM"] > 2


def test_a_new_pack_keeps_the_people_and_forgets_the_pack() -> None:
    prior = prior_from([a_day(two_eyes, days) for days in (3, 2, 1)])[1]
    other = setup(strips_use_by=START.date())
    assert prior.with_pack(other).spread[Trait.STRIP] > prior.spread[Trait.STRIP]
    assert prior.with_pack(other).kept == prior.kept


# -- lots and produce ----------------------------------------------------------------------------


def test_a_lot_that_returns_begins_with_its_own_demand() -> None:
    prior = prior_from([a_day(two_lots)])[1]
    clean, dirty, new = (begun(prior, lot) for lot in ("L-1", "L-2", "L-3"))
    assert dirty > 2 * clean
    assert clean < new < dirty  # as the produce of both
    usual = begun(prior_for(setup().commodity), "L-1")
    assert abs(begun(prior, "L-1", days_later=1) - clean) < 0.5 * clean
    assert abs(clean - 1.0) < abs(usual - 1.0) + 0.3


def test_within_a_shift_too_and_its_doubt_does_not_grow() -> None:
    shift = a_day(two_lots)
    shed = Shed(setup(), start=START - timedelta(days=1))
    shed.shift = shift
    before = estimate(shift)
    row = before.row_of(Row(Subject.LOT, "L-1"))
    assert row is not None
    now = START + timedelta(hours=1)
    event = BatchWashed(at=now, by="RM", tanks=(1,), lot="L-1", weight_kg=12.0)
    tank = shift.tank(1)
    after = forecaster_of(shift, tank.spec, prior_for("chard")).after(before, event)
    demand = after.traits[Trait.DEMAND]
    assert np.median(demand) == pytest.approx(np.median(before.traits[row]), abs=0.1)


def test_what_is_kept_does_not_grow_with_the_shift() -> None:
    def story(shed: Shed) -> None:
        for number in range(14):
            batch(shed, f"L-{number}")
            strip(shed, 50.0, f"P{number}")

    kept = estimate(a_day(story)).kept
    for about in (Subject.PERSON, Subject.LOT):
        names = [row.name for row in kept if row.about is about]
        assert len(names) == MOST[about]
        assert names[-1][-2:] in {"12", "13"}  # the newest; the lot in hand is not left yet


# -- kept in the journal -------------------------------------------------------------------------


def test_what_the_journal_keeps_is_the_very_prior_it_was_made_of() -> None:
    past = [a_day(two_lots, 2), a_day(two_eyes, 1)]
    priors = prior_from(past)
    event = UsualLearned(at=START, by="rules", taught=kept_of(priors), shifts=("a", "b"))
    again = decode(encode(event))
    assert again == event
    shed = Shed(setup())
    shed.tell(event)
    (told,) = kept_in(shed.shift).values()
    assert told == priors[1]
    one, other = (prior.draw(np.random.default_rng(5), 300) for prior in (told, priors[1]))
    np.testing.assert_array_equal(one, other)
    assert len(encode(event)) < 8000  # bytes: a journal stays small


def test_what_was_learned_first_stays() -> None:
    shed = Shed(setup())
    first = UsualLearned(at=START, by="rules", taught=kept_of(prior_from([a_day(two_lots)])))
    shed.tell(first)
    shed.tell(replace(first, taught=()))
    assert shed.shift.learned == first.taught


@settings(max_examples=40)
@given(
    weights=st.lists(st.floats(0.01, 900), max_size=6),
    lots=st.lists(st.sampled_from(["", "L-1", "L-2", "lot with  spaces"]), min_size=6, max_size=6),
    readers=st.lists(st.sampled_from(["", "RM", "TK"]), min_size=6, max_size=6),
)
def test_any_lots_people_and_weights_give_finite_numbers(
    weights: list[float], lots: list[str], readers: list[str]
) -> None:
    def story(shed: Shed) -> None:
        for kg, lot, who in zip(weights, lots, readers, strict=False):
            batch(shed, lot, kg)
            strip(shed, 40.0, who)

    shift = a_day(story)
    (prior,) = prior_from([shift]).values()
    assert np.isfinite(prior.draw(np.random.default_rng(1), 50)).all()
    shed = Shed(setup())
    shed.tell(UsualLearned(at=START, by="rules", taught=kept_of({1: prior})))
    shed.fill()
    shed.read(fac=50.0)
    level = forecast(shed).level
    assert np.isfinite([level.low, level.mid, level.high]).all()
