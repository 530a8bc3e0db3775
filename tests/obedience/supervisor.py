"""The obedient supervisor: does exactly what each tank's one next step says, and nothing else."""

import math

from tests.obedience.adapter import BY_HAND, Deed, Todo, next_step, second_step
from tests.obedience.floor import Floor, most_within
from tests.obedience.hands import Hands
from tests.obedience.pen import SlippingPen, pen_for
from tests.obedience.program import Program, Refused
from tests.obedience.tally import Tally
from tests.obedience.timeline import Timeline
from tests.obedience.twins import Twins
from tests.obedience.watching import Watch
from washmon.planning.advice import Advice

_WITHOUT_A_BATCH, _MORE_FOR_A_TANK = 25, 15
"""So many deeds in a row without a batch are a loop that a person would not go on with."""
_STUCK_MIN, _STUCK_COUNTS = 2.0, 5
_LOOK_IN_BREAK_MIN = 5.0
_TOGETHER_MIN = 2.0
"""A person waits so much longer for a second tank, to check both in one round."""
_FIRST = (Deed.LEAVE, Deed.HOLD, Deed.SWAP, Deed.CHANGE, Deed.EXCHANGE, Deed.ACID, Deed.DOSE)


class Supervisor:
    """One person before one Board for one shift."""

    def __init__(self, floor: Floor, timeline: Timeline, twins: Twins | None = None) -> None:
        self._floor, self._lines, self._twins = floor, timeline, twins
        self._program = Program(floor.setup, twins)
        self._pen = pen_for(self._program, floor.world.seed, slips=floor.world.slips)
        self._watch = Watch(floor)
        self._hands = Hands(floor, self._pen, self._watch, timeline)
        self._since_batch = 0
        self._breaks = dict(floor.world.breaks)

    def work(self) -> Tally:
        """Work through the shift; return its count."""
        floor = self._floor
        while floor.coming is not None and floor.minutes < floor.world.longest_min:
            try:
                advice, todos = self._look()
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
        stopped = self._watch.stopped
        try:
            for tank in stopped:
                self._hands.fill(tank)
            if not stopped:
                self._wash()
        except Refused as refused:
            self._refused(str(refused))

    def _look(self) -> tuple[Advice, list[Todo]]:
        floor = self._floor
        self._pen.catch_up(floor.minutes)
        advice = self._program.look(floor.minutes)
        self._lines.told(floor, advice, floor.setup.taste)
        todos = [next_step(advice, number, floor.setup.taste) for number in floor.tanks]
        self._watch.told(advice, todos)
        return advice, todos

    # -- acting ---------------------------------------------------------------------------------

    def _act(self, todos: list[Todo], advice: Advice) -> None:
        by_hand = [todo for todo in todos if todo.deed in BY_HAND]
        checks = [todo for todo in by_hand if todo.deed is Deed.CHECK]
        urgent = sorted(
            (todo for todo in by_hand if todo.deed in _FIRST),
            key=lambda todo: (todo.may_wash, _FIRST.index(todo.deed)),
        )
        self._since_batch += 1
        if urgent:
            self._hands.do(urgent[0])
        elif checks and not self._soon_mixed(todos):
            for place, todo in enumerate(checks):
                self._hands.check(todo, place)
        elif any(todo.deed is Deed.WAIT for todo in todos):
            self._wait(todos)
        elif any(todo.deed is Deed.STAND for todo in todos):
            self._stand(todos)
        elif not self._ready_second(advice):
            self._wash()

    def _soon_mixed(self, todos: list[Todo]) -> bool:
        """Tell whether a tank that is mixing can join the round if it waits a moment."""
        return any(0.0 < left <= _TOGETHER_MIN for left in self._left(todos))

    def _left(self, todos: list[Todo]) -> list[float]:
        """Return the minutes until tanks have mixed, the soonest first."""
        now = Program.at(self._floor.minutes)
        return sorted(
            max(0.0, (todo.until - now).total_seconds() / 60.0) if todo.until else 1.0
            for todo in todos
            if todo.deed is Deed.WAIT
        )

    def _wait(self, todos: list[Todo]) -> None:
        """Stand until what mixes first has mixed in, and what follows it closely."""
        left = self._left(todos)
        span = max(one for one in left if one <= left[0] + _TOGETHER_MIN)
        self._floor.spend(max(span, 1.0 / 60.0))
        self._lines.did(self._floor, f"waited {span:.1f} min")

    def _stand(self, todos: list[Todo]) -> None:
        self._floor.spend(_STUCK_MIN)
        self._floor.tally.stuck += 1
        self._since_batch += _STUCK_COUNTS
        told = "; ".join(todo.said for todo in todos if todo.deed is Deed.STAND)
        self._lines.did(self._floor, f"STANDS: may not wash, is told nothing to do ({told})")

    def _ready_second(self, advice: Advice) -> bool:
        """Do what a second fill needs, if anything; tell whether there was something."""
        known = {Deed.FILL, Deed.CHECK, Deed.DOSE, Deed.ACID}
        for number in self._floor.tanks:
            todo = second_step(advice, number, self._floor.setup.taste)
            if todo is None or todo.deed not in known:
                continue
            if todo.deed is Deed.CHECK:
                self._hands.check(todo, 0)
            else:
                self._hands.do(todo)
            return True
        return False

    def _wash(self) -> None:
        floor = self._floor
        pause = self._breaks.pop(floor.washed, None)
        if pause is not None:
            self._take_break(pause)
            return
        self._since_batch = 0
        try:
            self._hands.wash()
        except Refused as refused:
            self._refused(str(refused))
        self._look()
        floor.run_through()

    def _take_break(self, minutes: float) -> None:
        """Pause the line; the Board goes on, and nobody does what it says."""
        floor, left = self._floor, minutes
        self._lines.did(floor, f"break of {minutes:.0f} min")
        self._hands.pause()
        while left > 0.0:
            floor.rest(min(left, _LOOK_IN_BREAK_MIN))
            left -= _LOOK_IN_BREAK_MIN
            self._look()
        self._hands.resume()

    # -- counting -------------------------------------------------------------------------------

    def _refused(self, why: str) -> None:
        refused = self._floor.tally.refused
        refused[why] = refused.get(why, 0) + 1
        self._since_batch += _STUCK_COUNTS
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
        for _, _, rule in program.raised:
            tally.flagged[rule] = tally.flagged.get(rule, 0) + 1
        if self._twins is not None:
            self._twins.end()
            tally.twinned, tally.changed_now = self._twins.told, self._twins.changed
            tally.idle = self._twins.idle
        if isinstance(self._pen, SlippingPen):
            tally.slipped = self._pen.slips
        return tally
