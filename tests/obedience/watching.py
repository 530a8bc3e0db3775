"""What is counted of the Board as it speaks: stops, how long they last, what needs a hand."""

from tests.obedience.adapter import Todo
from tests.obedience.bench import error_mg_l
from tests.obedience.floor import Floor
from washmon.line.flags import Condition, Level
from washmon.planning.advice import Advice


class Watch:
    """Follows what the Board says of each tank."""

    def __init__(self, floor: Floor) -> None:
        self._floor = floor
        self._hands: dict[int, tuple[str, str, bool] | None] = {}
        self._stops: dict[int, tuple[float, bool]] = {}
        self._good_since_stop: set[int] = set()
        self._repeats: dict[tuple[int, str], int] = {}

    @property
    def stopped(self) -> tuple[int, ...]:
        """The tanks under a stop."""
        return tuple(self._stops)

    def told(self, advice: Advice, todos: list[Todo]) -> None:
        """Take in what the Board says now."""
        for todo in todos:
            hand = todo.hand
            if hand is not None and hand != self._hands.get(todo.tank):
                self._floor.tally.hands += 1
            self._hands[todo.tank] = hand
            self._follow_stop(todo.tank, advice)

    def done(self, todo: Todo) -> None:
        """Take in that a tank's step was done: asked for again, it is a new one."""
        self._hands[todo.tank] = None
        key = (todo.tank, todo.deed.value)
        self._repeats[key] = self._repeats.get(key, 0) + 1
        tally = self._floor.tally
        tally.most_repeats = max(tally.most_repeats, self._repeats[key])
        name = f"{todo.deed}: {todo.why}"
        tally.causes[name] = tally.causes.get(name, 0) + 1

    def read(self, tank: int) -> None:
        """Take in that a tank was measured."""
        self._good_since_stop.discard(tank)

    def filled(self, tank: int) -> None:
        """Take in that a tank has new water: a stop is counted from here."""
        if tank in self._stops:
            self._stops[tank] = (self._floor.minutes, True)

    def _follow_stop(self, tank: int, advice: Advice) -> None:
        """Follow the stops of a tank, but those that only wait for a hold."""
        told, tally, now = advice.tank(tank), self._floor.tally, self._floor.minutes
        stopped = told.condition is Condition.STOP and any(
            flag.level is Level.STOP and flag.rule != "hold" for flag in told.flags
        )
        if stopped and tank not in self._stops:
            tally.stops += 1
            self._stops[tank] = (now, False)
        elif tank in self._stops and told.condition not in {Condition.STOP, Condition.UNKNOWN}:
            begun, changed = self._stops.pop(tank)
            (tally.stops_changed if changed else tally.stops_dosed).append(now - begun)
            self._good_since_stop.add(tank)

    def fed(self) -> None:
        """Count where a batch goes in while a stop stands, or right after one, in bad water."""
        floor, tally = self._floor, self._floor.tally
        in_stop = after = False
        for number, vessel in floor.tanks.items():
            critical = vessel.spec.limits.critical_low_mg_l
            below = error_mg_l(floor.world.gauges, vessel.spec, critical)[0]
            in_stop |= number in self._stops and vessel.basin.free < critical
            after |= number in self._good_since_stop and vessel.basin.free < critical - below
        tally.under_in_stop += in_stop
        tally.under_after_stop += after
        self._repeats.clear()
