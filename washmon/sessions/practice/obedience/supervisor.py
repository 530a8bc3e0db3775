"""The obedient supervisor: does exactly what each tank's one next step says, and nothing else."""

import math

from msgspec import structs

from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    DoseAdded,
    HoldPlaced,
    ReadingTaken,
    SecondSwapped,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flags import Amount, Condition, Level
from washmon.planning.advice import Advice
from washmon.rules.in_question import since_last_good_check
from washmon.sessions.practice.obedience.adapter import BY_HAND, Deed, Todo, next_step, second_step
from washmon.sessions.practice.obedience.bench import error_mg_l
from washmon.sessions.practice.obedience.floor import Floor, Read, most_within
from washmon.sessions.practice.obedience.program import Program, Refused
from washmon.sessions.practice.obedience.sheds import WHO
from washmon.sessions.practice.obedience.tally import Tally
from washmon.sessions.practice.obedience.timeline import Timeline

LONGEST_MIN = 16 * 60.0
_WITHOUT_A_BATCH, _MORE_FOR_A_TANK = 25, 15
"""So many deeds in a row without a batch are a loop that a person would not go on with."""
_STUCK_MIN = 2.0
_BREATHER_MIN = 2.0
"""A person waits so much longer for a second tank, to check both in one round."""
_CLOUDINESS_EVERY = 3
"""Cloudiness is looked at with each so many-th check of a tank: a habit that everybody has."""
_FIRST = (Deed.LEAVE, Deed.HOLD, Deed.SWAP, Deed.CHANGE, Deed.EXCHANGE, Deed.ACID, Deed.DOSE)


class Supervisor:
    """One person before one Board for one shift."""

    def __init__(self, floor: Floor, timeline: Timeline) -> None:
        self._floor, self._lines = floor, timeline
        self._program = Program(floor.setup)
        self._taste = floor.setup.taste
        self._checks = dict.fromkeys(floor.tanks, 0)
        self._since_batch = 0
        self._hands: dict[int, tuple[str, str, bool] | None] = {}
        self._stops: dict[int, tuple[float, bool]] = {}
        self._after_stop: set[int] = set()
        self._breaks = dict(floor.world.breaks)

    def work(self) -> Tally:
        """Work through the shift; return its count."""
        floor = self._floor
        while floor.coming is not None and floor.minutes < LONGEST_MIN:
            advice = self._look()
            todos = [next_step(advice, number, self._taste) for number in floor.tanks]
            try:
                self._act(todos, advice)
            except Refused as refused:
                self._refused(str(refused))
            if self._since_batch > _WITHOUT_A_BATCH + _MORE_FOR_A_TANK * len(floor.tanks):
                self._break_out()
        return self._end()

    def _break_out(self) -> None:
        """Do what a person does where nothing comes of what is asked: fresh water, or wash on."""
        self._floor.tally.loops += 1
        self._lines.did(self._floor, "LOOP: nothing comes of this")
        self._since_batch = 0
        for tank in list(self._stops):
            self._change(tank)
        if not self._stops:
            self._wash()

    # -- looking --------------------------------------------------------------------------------

    def _look(self) -> Advice:
        advice = self._program.look(self._floor.minutes)
        self._lines.told(self._floor, advice, self._taste)
        for one in advice.tanks:
            todo = next_step(advice, one.tank, self._taste)
            hand = todo.hand
            if hand is not None and hand != self._hands.get(one.tank):
                self._floor.tally.hands += 1
            self._hands[one.tank] = hand
            self._stopped(one.tank, advice)
        return advice

    def _stopped(self, tank: int, advice: Advice) -> None:
        """Follow the stops of a tank, but those that only wait for a hold."""
        told = advice.tank(tank)
        stopped = told.condition is Condition.STOP and any(
            flag.level is Level.STOP and flag.rule != "hold" for flag in told.flags
        )
        tally, now = self._floor.tally, self._floor.minutes
        if stopped and tank not in self._stops:
            tally.stops += 1
            self._stops[tank] = (now, False)
        elif told.condition is not Condition.STOP and tank in self._stops:
            if told.condition is Condition.UNKNOWN:
                return  # fresh water that nobody has found good yet
            begun, changed = self._stops.pop(tank)
            (tally.stops_changed if changed else tally.stops_dosed).append(now - begun)
            self._after_stop.add(tank)

    # -- acting ---------------------------------------------------------------------------------

    def _act(self, todos: list[Todo], advice: Advice) -> None:
        by_hand = [todo for todo in todos if todo.deed in BY_HAND]
        checks = [todo for todo in by_hand if todo.deed is Deed.CHECK]
        urgent = sorted(
            (todo for todo in by_hand if todo.deed in _FIRST),
            key=lambda todo: (todo.may_wash, _FIRST.index(todo.deed)),
        )
        if urgent:
            self._do(urgent[0])
        elif checks and not self._soon_mixed(todos):
            self._round(checks)
        elif any(todo.deed is Deed.WAIT for todo in todos):
            self._wait(todos)
        elif any(todo.deed is Deed.STAND for todo in todos):
            self._stand(todos)
        elif not self._ready_second(advice):
            self._wash()

    def _soon_mixed(self, todos: list[Todo]) -> bool:
        """Tell whether a tank that is mixing can join the round if it waits a moment."""
        now = Program.at(self._floor.minutes)
        waits = [todo.until for todo in todos if todo.deed is Deed.WAIT and todo.until is not None]
        return any(0.0 < (one - now).total_seconds() / 60.0 <= _BREATHER_MIN for one in waits)

    def _wait(self, todos: list[Todo]) -> None:
        """Stand until what mixes first has mixed in, and what follows it closely."""
        now = Program.at(self._floor.minutes)
        left = sorted(
            max(0.0, (todo.until - now).total_seconds() / 60.0) if todo.until else 1.0
            for todo in todos
            if todo.deed is Deed.WAIT
        )
        span = max([one for one in left if one <= left[0] + _BREATHER_MIN])
        self._floor.spend(max(span, 1.0 / 60.0))
        self._since_batch += 1
        self._lines.did(self._floor, f"waited {span:.1f} min")

    def _stand(self, todos: list[Todo]) -> None:
        self._floor.spend(_STUCK_MIN)
        self._floor.tally.stuck += 1
        self._since_batch += 5
        told = "; ".join(todo.said for todo in todos if todo.deed is Deed.STAND)
        self._lines.did(self._floor, f"STANDS: may not wash, is told nothing to do ({told})")

    def _do(self, todo: Todo) -> None:
        self._since_batch += 1
        tally = self._floor.tally
        key = f"{todo.deed}: {todo.why}"
        tally.causes[key] = tally.causes.get(key, 0) + 1
        match todo.deed:
            case Deed.LEAVE:
                self._floor.spend(self._floor.costs.airing)
                self._lines.did(self._floor, "left the tank, aired the room")
                self._change(todo.tank)
            case Deed.HOLD:
                self._hold(todo)
            case Deed.SWAP:
                self._swap(todo.tank)
            case Deed.CHANGE:
                self._change(todo.tank, second=todo.second)
            case Deed.EXCHANGE:
                self._exchange(todo)
            case _:
                self._add(todo)

    def _add(self, todo: Todo) -> None:
        floor, program = self._floor, self._program
        amount = todo.amount or 0.0
        kind: type[DoseAdded | AcidAdded] = DoseAdded if todo.deed is Deed.DOSE else AcidAdded
        event = kind(
            at=Program.at(floor.minutes + floor.costs.addition),
            by=WHO,
            tank=todo.tank,
            product=todo.product,
            amount=Amount(amount, todo.unit),
            second=todo.second,
        )
        pour = floor.dose if todo.deed is Deed.DOSE else floor.acid
        pour(todo.tank, amount, second=todo.second)
        self._hands[todo.tank] = None
        self._lines.did(floor, f"{todo.deed} T{todo.tank}: {amount:.4g} {todo.unit}")
        program.enter(structs.replace(event, at=Program.at(floor.minutes)), floor.minutes)
        floor.spend(floor.costs.entry)

    def _hold(self, todo: Todo) -> None:
        floor = self._floor
        batches = todo.batches or since_last_good_check(self._program.state.tank(todo.tank))
        floor.spend(floor.costs.hold)
        self._lines.did(floor, f"hold T{todo.tank}: {len(batches)} batches")
        self._program.enter(
            HoldPlaced(
                at=Program.at(floor.minutes),
                by=WHO,
                tank=todo.tank,
                batches=batches,
                reason="as the Board asks",
            ),
            floor.minutes,
        )

    def _change(self, tank: int, *, second: bool = False) -> None:
        floor = self._floor
        litres = floor.fill(tank, second=second)
        self._checks[tank] = 0
        self._lines.did(floor, f"filled T{tank}{' beside' if second else ''}")
        self._program.enter(
            TankFilled(
                at=Program.at(floor.minutes), by=WHO, tank=tank, volume_l=litres, second=second
            ),
            floor.minutes,
        )
        self._hands[tank] = None
        if not second and tank in self._stops:
            self._stops[tank] = (floor.minutes, True)

    def _swap(self, tank: int) -> None:
        floor = self._floor
        floor.swap(tank)
        self._hands[tank] = None
        self._lines.did(floor, f"swapped T{tank}")
        self._program.enter(
            SecondSwapped(at=Program.at(floor.minutes), by=WHO, tank=tank), floor.minutes
        )
        if tank in self._stops:
            self._stops[tank] = (floor.minutes, True)

    def _exchange(self, todo: Todo) -> None:
        floor = self._floor
        whole = floor.setup.tank(todo.tank).volume_l
        litres = min(todo.litres or whole / 3.0, whole)
        floor.exchange(todo.tank, litres)
        self._hands[todo.tank] = None
        self._lines.did(floor, f"exchanged {litres:.0f} L of T{todo.tank}")
        self._program.enter(
            WaterExchanged(at=Program.at(floor.minutes), by=WHO, tank=todo.tank, volume_l=litres),
            floor.minutes,
        )

    # -- measuring ------------------------------------------------------------------------------

    def _round(self, checks: list[Todo]) -> None:
        """Check all tanks that are asked for, one after the other on one walk."""
        self._since_batch += 1
        for place, todo in enumerate(checks):
            key = f"{todo.deed}: {todo.why}"
            self._floor.tally.causes[key] = self._floor.tally.causes.get(key, 0) + 1
            self._check(todo, place)

    def _check(self, todo: Todo, place: int) -> None:
        floor = self._floor
        cloudiness = todo.cloudiness or (
            not todo.second and self._checks[todo.tank] % _CLOUDINESS_EVERY == 0
        )
        self._checks[todo.tank] += not todo.second
        found = floor.check(
            todo.tank,
            level=not todo.ph_only,
            ph=True,
            cloudiness=cloudiness,
            place=place,
            second=todo.second,
        )
        self._after_stop.discard(todo.tank)
        self._hands[todo.tank] = None
        self._lines.did(floor, f"read T{todo.tank}: {_read(found)}")
        self._program.enter(self._reading(found, second=todo.second), floor.minutes)

    def _reading(self, found: Read, *, second: bool) -> ReadingTaken:
        gauges = self._floor.world.gauges
        peracetic = self._floor.setup.tank(found.tank).peracetic is not None
        return ReadingTaken(
            at=Program.at(found.minute),
            by=WHO,
            tank=found.tank,
            fac_mg_l=None if peracetic else found.level,
            fac_method=gauges.level_by,
            paa_mg_l=found.level if peracetic else None,
            paa_method=gauges.level_by,
            ph=found.ph,
            ph_method=gauges.ph_by,
            turbidity_ntu=found.ntu,
            look=found.look,
            second=second,
        )

    # -- washing --------------------------------------------------------------------------------

    def _ready_second(self, advice: Advice) -> bool:
        """Do what a second fill needs, if anything; tell whether there was something."""
        for number in self._floor.tanks:
            todo = second_step(advice, number, self._taste)
            if todo is None or todo.deed not in BY_HAND:
                continue
            if todo.deed is Deed.FILL:
                self._change(number, second=True)
            elif todo.deed is Deed.CHECK:
                self._check(todo, 0)
            elif todo.deed in {Deed.DOSE, Deed.ACID}:
                self._add(todo)
            else:
                continue
            self._since_batch += 1
            return True
        return False

    def _wash(self) -> None:
        floor, tally = self._floor, self._floor.tally
        pause = self._breaks.pop(floor.washed, None)
        if pause is not None:
            floor.rest(pause)
            self._lines.did(floor, f"break of {pause:.0f} min")
            return
        self._count_stops()
        under = tally.under_critical
        batch = floor.wash()
        self._since_batch = 0
        mark = "  << UNDER CRITICAL" if tally.under_critical > under else ""
        self._lines.did(floor, f"washed {batch.lot} {batch.kg:g} kg{mark}")
        event = BatchWashed(
            at=Program.at(floor.minutes),
            by=WHO,
            tanks=tuple(floor.tanks),
            lot=batch.lot,
            weight_kg=batch.told_kg,
        )
        try:
            self._program.enter(event, floor.minutes)
        except Refused as refused:
            self._refused(str(refused))
        self._look()
        floor.run_through()

    def _count_stops(self) -> None:
        floor, tally = self._floor, self._floor.tally
        under_stop = under_after = False
        for number, vessel in floor.tanks.items():
            critical = vessel.spec.limits.critical_low_mg_l
            below = error_mg_l(floor.world.gauges, vessel.spec, critical)[0]
            if number in self._stops and vessel.basin.free < critical:
                under_stop = True
            if number in self._after_stop and vessel.basin.free < critical - below:
                under_after = True
        tally.under_in_stop += under_stop
        tally.under_after_stop += under_after

    # -- counting -------------------------------------------------------------------------------

    def _refused(self, why: str) -> None:
        refused = self._floor.tally.refused
        refused[why] = refused.get(why, 0) + 1
        self._since_batch += 5
        self._lines.did(self._floor, f"REFUSED: {why}")
        self._floor.spend(1.0)

    def _end(self) -> Tally:
        tally, program = self._floor.end(), self._program
        tally.doubted = program.doubts
        tally.flags = len(program.raised)
        tally.most_flags_10 = most_within([one[0] for one in program.raised], 10.0)
        tally.looks = program.looks
        tally.advise_ms = math.fsum(program.advise_ms)
        tally.worst_advise_ms = max(program.advise_ms, default=0.0)
        tally.forecast_ms = program.forecast_ms
        return tally


def _read(found: Read) -> str:
    parts = (("", found.level), ("pH ", found.ph), ("NTU ", found.ntu), ("card ", found.look))
    return ", ".join(f"{name}{value}" for name, value in parts if value is not None)
