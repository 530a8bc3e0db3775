"""Scenarios: small files that say who is to learn what, on which line, in which hidden world."""

from datetime import date, time
from typing import Annotated

import msgspec
from msgspec import Meta, Struct
from msgspec.structs import replace

from washmon.line.events import Method
from washmon.line.practice_events import WorldChange
from washmon.line.setup import LineSetup, Lot, Person, Role
from washmon.sessions.practice.parameters import Dirtiness, parameters
from washmon.sessions.practice.practice_setup import practice_setup
from washmon.sessions.practice.world import World

COLLEAGUE = "TK"
LOTS = 3

Share = Annotated[float, Meta(ge=0.05, le=1.5)]
Factor = Annotated[float, Meta(ge=0.0, le=20.0)]
Words = Annotated[str, Meta(min_length=1, max_length=2000)]


class LineChoice(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which line is practised on: the practice set-up of a commodity, and some of its limits.

    ``setup`` is a line of the shed's own instead, as JSON; its produce is still the commodity's.
    """

    commodity: str
    tanks: Annotated[int, Meta(ge=0, le=8)]
    check_batches: Annotated[int, Meta(ge=1, le=100)] | None = None
    check_minutes: Annotated[float, Meta(ge=1, le=600)] | None = None
    batches_per_fill: Annotated[int, Meta(ge=1, le=1000)] | None = None
    setup: str | None = None

    def own(self) -> LineSetup | None:
        """Return the line of the shed's own, if there is one.

        Raises:
            msgspec.DecodeError: it is no set-up.
        """
        return None if self.setup is None else msgspec.json.decode(self.setup, type=LineSetup)


class Tap(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What comes out of the tap; see :class:`washmon.sessions.practice.world.Source`."""

    alkalinity_mg_l: Annotated[float, Meta(ge=0, le=600)] = 100.0
    ph: Annotated[float, Meta(ge=5, le=10)] = 7.4
    celsius: Annotated[float, Meta(ge=0.5, le=40)] = 12.0
    chloride_mg_l: Annotated[float, Meta(ge=0, le=2000)] = 20.0
    ntu: Annotated[float, Meta(ge=0, le=200)] = 1.0
    demand_mg_l: Annotated[float, Meta(ge=0, le=50)] = 1.0


class Hidden(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What is true at first; see :class:`washmon.sessions.practice.world.World`."""

    dirtiness: Dirtiness = Dirtiness.USUAL
    pulp_c: Annotated[float, Meta(ge=0, le=45)] = 14.0
    air_c: Annotated[float, Meta(ge=-5, le=45)] = 20.0
    strength_share: Share = 1.0
    volume_share: Annotated[float, Meta(ge=0.7, le=1.3)] = 1.0
    strip_share: Share = 1.0
    decay_share: Factor = 1.0
    demand_share: Factor = 1.0
    acid_share: Factor = 1.0
    makeup_l_min: Annotated[float, Meta(ge=0, le=100)] = 0.0


class Pace(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """When it begins, how long it lasts, and how the batches come (minutes)."""

    begins: time
    minutes: Annotated[float, Meta(ge=10, le=600)]
    first_batch: Annotated[float, Meta(ge=0, le=240)]
    batch_minutes: Annotated[float, Meta(ge=1, le=60)]
    batch_weight: Annotated[float, Meta(ge=0.2, le=5)] = 1.0
    """Against the usual weight of the commodity."""
    seed: Annotated[int, Meta(ge=0, le=2**31)]


class Kit(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What lies on the bench to measure chlorine with."""

    chlorine: Annotated[tuple[Method, ...], Meta(min_length=1)] = tuple(Method)
    strips_use_by: date | None = None


class Colleague(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What somebody did before the trainee takes over: made up the tanks, and washed on.

    ``first_check`` tells whether the water was measured before the first batch.
    """

    batches: Annotated[int, Meta(ge=0, le=100)]
    first_check: bool = True


class Happening(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What happens at a time of day: behind the scenes, said aloud, or both."""

    at: time
    dirtiness: Dirtiness | None = None
    strength_times: Annotated[float, Meta(gt=0, le=3)] | None = None
    strip_share: Share | None = None
    decay_share: Factor | None = None
    strength_share: Share | None = None
    """Of the strength at first; ``strength_times`` is of the strength at that moment."""
    say: str = ""

    @property
    def change(self) -> WorldChange:
        """What becomes different in the world."""
        return WorldChange(
            dirtiness=self.dirtiness,
            strength_times=self.strength_times,
            strip_share=self.strip_share,
            decay_share=self.decay_share,
            strength_share=self.strength_share,
        )


class Scenario(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One scenario; ``level`` 1 is the easiest, ``good`` tells what a good run looks like."""

    format: str
    version: int
    title: Words
    level: Annotated[int, Meta(ge=1, le=9)]
    goal: Words
    briefing: Words
    good: Annotated[tuple[Words, ...], Meta(min_length=1, max_length=12)]
    line: LineChoice
    tap: Tap = Tap()
    world: Hidden = Hidden()
    pace: Pace
    bench: Kit = Kit()
    before: Colleague | None = None
    happens: tuple[Happening, ...] = ()

    @property
    def lots(self) -> tuple[Lot, ...]:
        """The lots that come in, in order."""
        produce = parameters().commodity[self.line.commodity].line
        return tuple(Lot(code=f"P-{number}", produce=produce) for number in range(1, LOTS + 1))

    def setup(self, trainee: str, line: LineSetup | None = None) -> LineSetup:
        """Return the line, with the trainee (by initials) as its supervisor.

        ``line`` is one that the scenario was played on before: templates change with the program.
        """
        base = line or self.line.own() or practice_setup(self.line.commodity, self.line.tanks)
        chosen = {
            name: value
            for name in ("check_batches", "check_minutes", "batches_per_fill")
            if (value := getattr(self.line, name)) is not None
        }
        people = (
            Person(initials=trainee, name=trainee, role=Role.SUPERVISOR),
            Person(initials=COLLEAGUE, name="Colleague", role=Role.LINE_WORKER),
        )
        return replace(
            base,
            people=people if trainee != COLLEAGUE else people[:1],
            tanks=tuple(replace(tank, **chosen) for tank in base.tanks),
        )

    def hidden_world(self) -> World:
        """Return the world as it is at first."""
        from_file = {name: getattr(self.world, name) for name in Hidden.__struct_fields__}
        source = World().source
        tap = {name: getattr(self.tap, name) for name in Tap.__struct_fields__}
        return World(commodity=self.line.commodity, source=replace(source, **tap), **from_file)


def minute_of(scenario: Scenario, at: time) -> float:
    """Return how many minutes after the beginning a time of day is; a shift may pass midnight."""
    begins = scenario.pace.begins
    return (_minutes(at) - _minutes(begins)) % (24 * 60)


def _minutes(at: time) -> float:
    return at.hour * 60.0 + at.minute + at.second / 60.0 + at.microsecond / 60e6
