"""Scripted trainees: a good one who follows the rules, and a careless one. Tests and yardsticks.

The good one is also the best simple strategy that an attempt's use of chemicals and water is held
against: the same scenario, the same seed.
"""

from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from washmon.chemistry.acid import small_step
from washmon.line.events import AcidAdded, Event, HoldPlaced, Method, ShiftEnded, WaterExchanged
from washmon.line.events import DoseAdded as Dosed
from washmon.line.flags import Amount, Level, Step, StepKind
from washmon.line.message import Figure
from washmon.line.practice_events import Attempt
from washmon.line.reading import level_of
from washmon.line.setup import LineSetup, Tank
from washmon.planning.context import PlanContext
from washmon.planning.options import advised_amounts
from washmon.rules.base import RuleContext
from washmon.rules.in_question import since_last_good_check
from washmon.sessions.practice.attempt import Run
from washmon.sessions.practice.scenario_files import parse_scenario
from washmon.sessions.practice.stage import beginning

CHAIN = "practice"
_AIRING_MIN = 15.0
_PROOFS = 3
_ZONE = timezone(timedelta(hours=-4))
_DAY = datetime(2026, 5, 7, tzinfo=_ZONE)


class Manner(Struct, frozen=True, kw_only=True):
    """How a scripted trainee works.

    ``every`` is how many batches lie between two checks, ``times`` how much of the right dose goes
    in, ``follows`` whether the rules' steps are done at all. The others are bad habits, and ways to
    look good without being so.
    """

    who: str
    follows: bool
    every: int
    method: Method
    times: float = 1.0
    pours_acid: bool = False
    acts: bool = True
    """Whether a low reading is answered by a dose, where the rules' steps are not done."""
    dumps_every: int = 0
    """After so many batches all water is changed, whatever it is like."""
    holds_all: bool = False
    """At the end, whatever it met."""
    stops_after: int = 0
    """Goes home after so many batches."""
    over_plan: float = 0.0
    """So many times the most that the plan would give goes in, whatever ``times`` says."""
    proves: bool = False
    """Measures what it put in once that has mixed, and puts in what still lacks."""


GOOD = Manner(who="GD", follows=True, every=6, method=Method.KIT)
CARELESS = Manner(
    who="CL", follows=False, every=14, method=Method.STRIP, times=1.5, pours_acid=True
)
HASTY = Manner(who="HS", follows=False, every=8, method=Method.KIT, proves=True)
"""Honest, and careless: right amounts, each proved once mixed, checks when there is time, no
thought of the pH, nothing held."""
GAMES = {
    "hold everything": replace(GOOD, who="G1", holds_all=True),
    "never test": Manner(who="G2", follows=False, every=10_000, method=Method.STRIP),
    "dump every five batches": replace(GOOD, who="G3", dumps_every=5),
    "overdose 1.6 times": Manner(
        who="G4", follows=False, every=6, method=Method.KIT, over_plan=1.6
    ),
    "strip each batch and act on none": Manner(
        who="G5", follows=False, every=1, method=Method.STRIP, acts=False
    ),
    "never test and hold everything": Manner(
        who="G7", follows=False, every=10_000, method=Method.STRIP, holds_all=True
    ),
    "go home early": replace(GOOD, who="G6", stops_after=3),
}
"""Ways to look good by the parts of the score: none of them may pay."""


def scripted(
    text: str,
    manner: Manner,
    seed: int | None = None,
    line: LineSetup | None = None,
    watch: Callable[[float], None] | None = None,
) -> Run:
    """Return the whole attempt of a scripted trainee at the scenario in ``text``.

    ``line`` is one that it was played on before, if not that of today. ``watch`` is told again and
    again which share of the time is over; what it raises ends the attempt.

    Raises:
        PracticeError: the scenario can't be played.
    """
    scenario = parse_scenario(text)
    attempt = Attempt(
        trainee=manner.who,
        scenario=text,
        seed=scenario.pace.seed if seed is None else seed,
        advice="on",
        begun_at=_DAY,
    )
    begins = beginning(scenario, _DAY.date(), _ZONE)
    run = Run(attempt, begins, CHAIN, line)
    _Trainee(run, manner, watch).work()
    return run


@lru_cache(maxsize=32)
def yardstick(text: str, seed: int, line: LineSetup) -> Run:
    """Return the good trainee's attempt on the same line; kept, for it never changes."""
    return scripted(text, GOOD, seed, line)


class _Trainee:
    """Does the work."""

    def __init__(self, run: Run, manner: Manner, watch: Callable[[float], None] | None) -> None:
        self._run, self._manner, self._watch = run, manner, watch
        self._tanks = run.state.setup.tanks
        self._checked_at = 0
        self._washed = 0
        self._heard = 0
        self._checks = self._since_dump = 0

    def work(self) -> None:
        run = self._run
        for tank in self._tanks:
            if run.state.tank(tank.number).fill is None:
                self._make_up(tank)
        while not run.stage.over and not self._goes_home():
            if self._watch is not None:
                self._watch(run.stage.minutes / run.scenario.pace.minutes)
            run.look()
            if self._manner.dumps_every and self._since_dump >= self._manner.dumps_every:
                self._dump()
                continue
            if self._presses() and self._tend():
                continue
            if self._washed - self._checked_at >= self._due():
                self._check()
            elif run.stage.waiting is not None:
                run.wash(self._manner.who)
                self._washed += 1
                self._since_dump += 1
            elif not (self._manner.follows and self._tend()):
                self._pass_to_next_batch()
        self._end()

    def _goes_home(self) -> bool:
        return 0 < self._manner.stops_after <= self._washed

    def _dump(self) -> None:
        self._since_dump = 0
        for tank in self._tanks:
            self._make_up(tank)

    def _presses(self) -> bool:
        """Tell whether something must be done before the next batch."""
        if not self._manner.follows:
            return False
        return any(self._presses_in(tank) for tank in self._tanks)

    def _presses_in(self, tank: Tank) -> bool:
        fill = self._run.state.tank(tank.number).fill
        if fill is None or fill.latest(tank.level_field) is None:
            return True
        seen = fill.latest(tank.level_field)
        if fill.doses and seen is not None and seen.event.at < fill.doses[-1].event.at:
            return True
        flags = self._run.advice.tank(tank.number).flags
        return any(flag.level is not Level.WATCH for flag in flags)

    def _pass_to_next_batch(self) -> None:
        stage = self._run.stage
        until = min(stage.coming.due_min, stage.scenario.pace.minutes)
        self._pass(max(until - stage.minutes, 0.1))

    def _due(self) -> int:
        """Return after how many batches to check: sooner when something was said aloud."""
        spoken = len(self._run.stage.spoken)
        if self._manner.follows and spoken > self._heard:
            self._heard = spoken
            return 2
        return self._manner.every

    def _pass(self, minutes: float) -> None:
        self._run.stage.advance(minutes)
        self._run.look()

    def _make_up(self, tank: Tank) -> None:
        self._run.fill(tank, self._manner.who)
        self._dose(tank, 0.0)
        if self._manner.pours_acid:
            self._pour_acid(tank)
        if self._manner.proves:
            self._prove(tank)

    def _dose(self, tank: Tank, level_mg_l: float) -> None:
        """Dose by the label, or more than the plan ever would."""
        most = self._most(tank) if self._manner.over_plan else None
        if most is None:
            self._run.dose_from(tank, level_mg_l, self._manner.who, self._manner.times)
        else:
            much = Amount(self._manner.over_plan * most.value, most.unit)
            self._add(tank, tank.sanitizer, much)

    def _most(self, tank: Tank) -> Amount | None:
        state = self._run.state
        at_tank = state.tank(tank.number)
        if at_tank.fill is None:
            return None
        context = RuleContext(state, at_tank, at_tank.fill, self._run.now, frozenset())
        found = advised_amounts(StepKind.DOSE, PlanContext(context, {}))
        return found[1] if found is not None else None

    def _prove(self, tank: Tank) -> None:
        """Wait until a dose has mixed, measure, and dose by the reading while it is still low."""
        for _ in range(_PROOFS):
            self._pass(tank.mix_minutes)
            seen = self._run.read(tank, self._manner.who, self._manner.method, ph=False)
            level = level_of(tank, seen) or 0.0
            if level >= tank.limits.low_mg_l or self._run.stage.over:
                return
            self._run.dose_from(tank, level, self._manner.who)

    def _pour_acid(self, tank: Tank) -> None:
        """Put acid after bleach at once, much of it and unmeasured, as nobody should."""
        acid = self._run.state.setup.acid(tank.acid)
        if acid is not None:
            much = 3 * small_step(tank.volume_l, 8.0, acid.kind, acid.strength_pct)
            self._add(tank, acid.key, Amount(float(round(much)), "mL"))

    def _check(self) -> None:
        self._checked_at = self._washed
        self._checks += 1
        follows = self._manner.follows
        for tank in self._tanks:
            seen = self._run.read(
                tank,
                self._manner.who,
                self._manner.method,
                ph=follows,
                cloudiness=follows and self._checks % 3 == 1,
            )
            acts = self._manner.acts and not follows
            level = level_of(tank, seen) or 0.0
            if acts and level < tank.limits.low_mg_l:
                self._dose(tank, level)
                if self._manner.proves:
                    self._prove(tank)

    # -- by the rules ---------------------------------------------------------------------------

    def _tend(self) -> bool:
        """Do the next step of each tank; tell whether there was anything to do."""
        done = False
        for tank in self._tanks:
            step = self._run.look().tank(tank.number).step
            done = self._follow(tank, step) or done
        return done

    def _follow(self, tank: Tank, step: Step) -> bool:
        """Do a step; tell whether there was anything to do."""
        match step.kind:
            case StepKind.HOLD:
                self._hold(tank, step.batches)
            case StepKind.CHANGE_WATER:
                self._run.fill(tank, self._manner.who)
            case StepKind.LEAVE:
                self._pass(_AIRING_MIN)
                self._run.fill(tank, self._manner.who)
            case StepKind.LOWER:
                self._lower(tank, step)
            case StepKind.DOSE | StepKind.ACID if step.amount is not None:
                self._add(tank, step.product or tank.sanitizer, step.amount)
            case StepKind.WAIT:
                self._pass(1.0)
            case StepKind.CHECK:
                self._recheck(tank)
            case _:
                return False
        return True

    def _recheck(self, tank: Tank) -> None:
        """Measure what is asked for: after acid alone, the pH alone."""
        fill = self._run.state.tank(tank.number).fill
        last = fill.last_addition() if fill is not None else None
        rules = {flag.rule for flag in self._run.advice.tank(tank.number).flags}
        by_acid = last is not None and isinstance(last.event, AcidAdded)
        if by_acid and not rules & {"overdue", "first-reading"}:
            self._run.read_ph(tank, self._manner.who)
        else:
            self._run.read(tank, self._manner.who, self._manner.method)

    def _hold(self, tank: Tank, batches: tuple[int, ...]) -> None:
        run = self._run
        which = batches or since_last_good_check(run.state.tank(tank.number))
        run.enter(
            HoldPlaced(
                at=run.now,
                by=self._manner.who,
                tank=tank.number,
                batches=which,
                reason="washed since the last good check",
            )
        )

    def _lower(self, tank: Tank, step: Step) -> None:
        drain = step.say.values.get("drain")
        litres = drain.value if isinstance(drain, Figure) else tank.volume_l / 3
        run = self._run
        run.enter(
            WaterExchanged(at=run.now, by=self._manner.who, tank=tank.number, volume_l=litres)
        )

    def _add(self, tank: Tank, product: str, amount: Amount) -> None:
        run = self._run
        kind: type[Dosed | AcidAdded] = Dosed if run.state.setup.sanitizer(product) else AcidAdded
        times = self._manner.times if kind is Dosed else 1.0
        exact = Amount(max(1.0, float(round(times * amount.value))), amount.unit)
        event: Event = kind(
            at=run.now, by=self._manner.who, tank=tank.number, product=product, amount=exact
        )
        run.enter(event)

    def _end(self) -> None:
        run = self._run
        if self._manner.holds_all:
            for tank in run.state.tanks:
                self._hold(tank.spec, tuple(batch.seq for batch in tank.washed))
        open_holds = bool(run.state.open_holds)
        run.enter(
            ShiftEnded(
                at=run.now,
                by=self._manner.who,
                holds_to=self._manner.who if open_holds else None,
            )
        )
