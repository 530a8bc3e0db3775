"""The shed's own line for practice: its tanks, limits, products and units, nobody's name."""

from msgspec.structs import replace

from washmon.line.setup import Acid, LineSetup, RuleOff, Sanitizer, Stage, Tank
from washmon.line.working_days import WorkCalendar
from washmon.sessions.practice.parameters import PracticeError, parameters

_OFF = "Switched off on the line."
FALLBACK = "mixed"
"""The commodity of the model for produce that it does not know by name."""


def practice_tanks(setup: LineSetup) -> tuple[Tank, ...]:
    """Return the tanks of a line that practice can simulate, numbered as in the set-up.

    The simulated water knows one kind of sanitizer at a time: those with chlorine go first.

    Raises:
        PracticeError: there is none: all are rinses.
    """
    tanks = tuple(tank for tank in setup.tanks if tank.stage is not Stage.RINSE)
    if not tanks:
        raise PracticeError("This line has no tank in which something is washed.")
    return tuple(tank for tank in tanks if tank.peracetic is None) or tanks


def own_line(setup: LineSetup) -> LineSetup:
    """Return a line as a scenario carries it.

    People, site, lots of products, prices and days are taken out: the scenario is played on another
    day, on which a container of then would be out of date. Rinses and second vessels are left away,
    and where there are both kinds, tanks of peracetic acid.

    Raises:
        PracticeError: the line has no tank that practice can simulate.
    """
    tanks = practice_tanks(setup)
    return replace(
        setup,
        site="Practice shed",
        location="Nowhere",
        line="Practice line",
        people=(),
        tanks=tuple(
            replace(tank, number=number, second_volume_l=None)
            for number, tank in enumerate(tanks, 1)
        ),
        sanitizers=tuple(_undated(one) for one in setup.sanitizers),
        acids=tuple(_plain_acid(one) for one in setup.acids),
        strips_use_by=None,
        meter_checked_on=None,
        instruments_unfit=(),
        learned_since=None,
        rules_off=tuple(RuleOff(rule=one.rule, reason=_OFF) for one in setup.rules_off),
        currency="",
        water_price=None,
        calendar=WorkCalendar(),
    )


def _undated(product: Sanitizer) -> Sanitizer:
    """Return a product by its label alone; what a test or its age left is the world's share."""
    return replace(
        product,
        lot="",
        made_on=None,
        opened_on=None,
        use_by=None,
        storage_c=None,
        tested_g_l=None,
        tested_on=None,
        price=None,
    )


def _plain_acid(acid: Acid) -> Acid:
    return replace(acid, lot="", use_by=None, price=None)


def commodity_of(setup: LineSetup) -> str:
    """Return which produce of the practice model is washed here, by name; else mixed produce."""
    washed = setup.commodity.strip().casefold()
    for key, one in parameters().commodity.items():
        if washed in {key, one.line.casefold()}:
            return key
    return FALLBACK
