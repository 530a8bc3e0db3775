"""What a look at the readings found is kept for the next look: it must be what is found anew."""

import random
from collections.abc import Callable
from datetime import timedelta
from functools import partial

import pytest
from msgspec.structs import replace

from tests.shed import Shed, a_setup, a_tank
from washmon.line.events import Corrected, DoseAdded
from washmon.line.flags import Amount
from washmon.line.journal import Entry
from washmon.line.setup import LabelBasis, Tank
from washmon.line.state import Fill
from washmon.rules import in_question
from washmon.rules.in_question import limits_failed, since_last_good_check, windows


def a_reading(shed: Shed, chance: random.Random) -> Entry:
    level = chance.choice((None, 10.0, 30.0, 50.0))
    if chance.random() < 0.5:
        return shed.read(1, level, ph=7.0, total_mg_l=chance.choice((60.0, 120.0)))
    return shed.read(1, level, ph=7.0)


def an_earlier_dose(shed: Shed, chance: random.Random) -> Entry:
    at = shed.now - timedelta(minutes=chance.randrange(10))
    amount = Amount(60.0, "mL")
    return shed.tell(DoseAdded(at=at, by="RM", tank=1, product="bleach", amount=amount))


def a_withdrawal(shed: Shed, chance: random.Random) -> Entry:
    fill = shed.shift.tank(1).fill
    assert fill is not None
    placed = chance.choice((fill.readings or (fill.begun,), fill.doses or (fill.begun,)))[-1]
    if placed is fill.begun:
        return shed.fill(1)
    return shed.tell(Corrected(at=shed.now, by="RM", entry=placed.seq, reason="never so"))


def judged_anew(fill: Fill, spec: Tank) -> in_question.Judge:
    return partial(in_question._verdicts, fill=fill, spec=spec)


@pytest.mark.parametrize("basis", list(LabelBasis))
@pytest.mark.parametrize("seed", range(4))
def test_verdicts_that_are_kept_are_what_is_found_anew(
    seed: int, basis: LabelBasis, monkeypatch: pytest.MonkeyPatch
) -> None:
    chance = random.Random(seed)  # noqa: S311 - repeatable, not secret
    limits = replace(a_tank(1, "First").chlorine, label_basis=basis)
    shed = Shed(a_setup(a_tank(1, "First", chlorine=limits)))
    shed.fill()
    happens: tuple[Callable[[Shed, random.Random], object], ...] = (
        *(3 * (a_reading,)),
        an_earlier_dose,
        a_withdrawal,
        lambda shed, _: shed.acid(),
        lambda shed, _: shed.wash(2),
        lambda shed, _: shed.fill(1),
    )
    for _ in range(60):
        chance.choice(happens)(shed.wait(chance.randrange(4)), chance)
        tank = shed.shift.tank(1)
        kept = [(one, limits_failed(tank, one)) for one in windows(tank)]
        since = since_last_good_check(tank)
        with monkeypatch.context() as anew:
            anew.setattr(in_question, "_judge", judged_anew)
            found = tuple(in_question._found(tank))
            assert kept == [(one, limits_failed(tank, one)) for one in found]
            assert since == since_last_good_check(tank)
