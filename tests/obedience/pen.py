"""What is written down of what was done: at once and right, or with slips as people make them."""

import numpy as np
from msgspec import structs

from tests.obedience.program import Program
from washmon.line.events import AcidAdded, BatchWashed, DoseAdded, Event, ReadingTaken, TankFilled
from washmon.line.flags import Amount

_MISTYPED, _WRONG_TANK, _FORGOTTEN, _BATCH_FORGOTTEN, _LATE = 0.015, 0.01, 0.015, 0.03, 0.03
_LOOKS_AGAIN, _REMEMBERS = 0.8, 0.8
_LATE_MIN = (3.0, 12.0)
_FRESH_MIN = 10.0
"""What was poured so short a time ago nobody pours again."""
_TENFOLD = 10.0


class Pen:
    """Writes every entry at once and right; a doubt is answered with yes, for it is so."""

    def __init__(self, program: Program) -> None:
        self.program = program

    def write(self, event: Event, minutes: float) -> None:
        """Enter it.

        Raises:
            Refused: the program would not take it.
        """
        self.program.enter(event, minutes)

    def catch_up(self, minutes: float) -> None:
        """Write down what was put off until now."""

    def already(self, event: DoseAdded | AcidAdded, minutes: float) -> bool:
        """Tell whether this was done before and only not written down; then write it down."""
        del event, minutes
        return False


class SlippingPen(Pen):
    """Now and then mistypes, takes the wrong tank, forgets an entry, or writes it down late."""

    def __init__(self, program: Program, seed: int, tanks: tuple[int, ...]) -> None:
        super().__init__(program)
        self._random = np.random.default_rng([seed, 19])
        self._tanks = tanks
        self._late: list[tuple[float, Event]] = []
        self._forgot: dict[tuple[int, str], tuple[float, Event]] = {}
        self.slips: dict[str, int] = {}

    def write(self, event: Event, minutes: float) -> None:
        """Enter it, or something else, or later, or never.

        Raises:
            Refused: the program would not take it, nor what was meant.
        """
        if self._chance(_BATCH_FORGOTTEN if isinstance(event, BatchWashed) else _FORGOTTEN):
            self._count("forgotten")
            if isinstance(event, DoseAdded | AcidAdded):
                self._forgot[(event.tank, event.product)] = (minutes, event)
            return
        if self._chance(_LATE):
            self._count("late")
            low, high = _LATE_MIN
            self._late.append((minutes + float(self._random.uniform(low, high)), event))
            return
        slipped = self._slipped(event)
        if slipped is not event and self._is_doubted(slipped, minutes):
            self._count("asked about")
            slipped = event if self._chance(_LOOKS_AGAIN) else slipped
        if slipped is not event and self._is_refused(slipped, minutes):
            slipped = event
        self.program.enter(slipped, minutes)

    def catch_up(self, minutes: float) -> None:
        """Write down what was put off until now.

        Raises:
            Refused: the program would not take it any more.
        """
        due = [event for at, event in self._late if at <= minutes]
        self._late = [one for one in self._late if one[0] > minutes]
        for event in due:
            self.program.enter(event, minutes)

    def already(self, event: DoseAdded | AcidAdded, minutes: float) -> bool:
        """Remember, where the same is asked for again, what was done and not written down."""
        late = next((one for one in self._late if _same(one[1], event)), None)
        if late is not None:
            self._late.remove(late)
            self.program.enter(late[1], minutes)
            return True
        at, forgot = self._forgot.pop((event.tank, event.product), (minutes, None))
        fresh = minutes - at <= _FRESH_MIN
        if forgot is None or not (fresh or self._chance(_REMEMBERS)):
            return False
        self.program.enter(forgot, minutes)
        return True

    # -- slips ----------------------------------------------------------------------------------

    def _slipped(self, event: Event) -> Event:
        tank = getattr(event, "tank", None)
        if tank is not None and len(self._tanks) > 1 and self._chance(_WRONG_TANK):
            others = [one for one in self._tanks if one != tank]
            self._count("wrong tank")
            other = others[int(self._random.integers(len(others)))]
            return event if isinstance(event, TankFilled) else structs.replace(event, tank=other)
        if not self._chance(_MISTYPED):
            return event
        factor = _TENFOLD if self._chance(0.5) else 1.0 / _TENFOLD
        match event:
            case DoseAdded() | AcidAdded():
                self._count("mistyped amount")
                amount = Amount(event.amount.value * factor, event.amount.unit)
                return structs.replace(event, amount=amount)
            case ReadingTaken(fac_mg_l=float(level)):
                self._count("mistyped level")
                return structs.replace(event, fac_mg_l=level * factor)
            case ReadingTaken(ph=float(ph)):
                self._count("mistyped pH")
                return structs.replace(event, ph=round(ph % 1 * _TENFOLD + ph // 1 / _TENFOLD, 1))
        return event

    def _is_doubted(self, event: Event, minutes: float) -> bool:
        return bool(self.program.asked(event, minutes).doubts)

    def _is_refused(self, event: Event, minutes: float) -> bool:
        return bool(self.program.asked(event, minutes).faults)

    def _chance(self, share: float) -> bool:
        return float(self._random.random()) < share

    def _count(self, what: str) -> None:
        self.slips[what] = self.slips.get(what, 0) + 1


def _same(event: Event, other: DoseAdded | AcidAdded) -> bool:
    """Tell whether two additions are of one product into one tank."""
    if not isinstance(event, DoseAdded | AcidAdded):
        return False
    return (event.tank, event.product) == (other.tank, other.product)


def pen_for(program: Program, seed: int, *, slips: bool) -> Pen:
    """Return a pen, for a world with or without slips."""
    tanks = tuple(tank.number for tank in program.state.setup.tanks)
    return SlippingPen(program, seed, tanks) if slips else Pen(program)
