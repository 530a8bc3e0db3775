"""Scenarios: small files that say who is to learn what, on which line, in which hidden world."""

from datetime import date, time
from enum import StrEnum
from typing import Annotated

import msgspec
from msgspec import Meta, Struct
from msgspec.structs import replace

from washmon.line.events import Method
from washmon.line.practice_events import WorldChange
from washmon.line.setup import LineSetup, Lot, Person, Role
from washmon.sessions.practice.parameters import Dirtiness, parameters
from washmon.sessions.practice.practice_setup import practice_setup
from washmon.sessions.practice.world import SamplePlace, World
from washmon.units import Kind

COLLEAGUE = "mate"
"""Who washed before the trainee came: in small letters, as the initials of no trainee are."""
LOTS = 3

Words = Annotated[str, Meta(min_length=1, max_length=2000)]


def _told(
    caption: str,
    meaning: str = "",
    low: float | None = None,
    high: float | None = None,
    kind: Kind | None = None,
) -> Meta:
    """Declare a key once: reading, editor, Help and README go by what is said here.

    ``low`` and ``high`` are in the base unit of the kind; a share is kept as a fraction.
    """
    told = {"caption": caption, "meaning": meaning, "kind": kind}
    return Meta(ge=low, le=high, extra=told)


def _share(caption: str, meaning: str = "", low: float = 0.05, high: float = 1.5) -> Meta:
    told = {"caption": caption, "meaning": meaning, "kind": Kind.PERCENT, "is_share": True}
    return Meta(ge=low, le=high, extra=told)


class KeptWith(StrEnum):
    """What a practice line is kept with."""

    CHLORINE = "chlorine"
    PERACETIC = "peracetic acid"


class LineChoice(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which line is practised on: the practice set-up of a commodity, and some of its limits.

    ``setup`` is a line of the shed's own instead, as JSON; its produce is still the commodity's.
    """

    commodity: Annotated[str, _told("Produce", "as the practice model knows it")]
    tanks: Annotated[int, _told("Tanks", "that wash; rinses are left out", 0, 8, Kind.COUNT)]
    check_batches: (
        Annotated[int, _told("Batches to a check", "empty: as the line has it", 1, 100, Kind.COUNT)]
        | None
    ) = None
    check_minutes: (
        Annotated[float, _told("Time to a check", "empty: as the line has it", 1, 600, Kind.TIME)]
        | None
    ) = None
    batches_per_fill: (
        Annotated[int, _told("Batches to a fill", "empty: as the line has it", 1, 1000, Kind.COUNT)]
        | None
    ) = None
    kept_with: Annotated[KeptWith, _told("Kept with", "a set-up of its own says so itself")] = (
        KeptWith.CHLORINE
    )
    setup: Annotated[str, _told("Set-up", "of the shed's own line, as JSON")] | None = None

    @property
    def peracetic(self) -> bool:
        """Whether the practice line is kept with peracetic acid."""
        return self.kept_with is KeptWith.PERACETIC

    def own(self) -> LineSetup | None:
        """Return the line of the shed's own, if there is one.

        Raises:
            msgspec.DecodeError: it is no set-up.
        """
        return None if self.setup is None else msgspec.json.decode(self.setup, type=LineSetup)


class Tap(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What comes out of the tap; see :class:`washmon.sessions.practice.world.Source`."""

    alkalinity_mg_l: Annotated[
        float, _told("Alkalinity", "as CaCO3", 0, 600, Kind.CONCENTRATION)
    ] = 100.0
    ph: Annotated[float, _told("pH", "of the tap water", 5, 10, Kind.PH)] = 7.4
    celsius: Annotated[
        float, _told("Temperature", "of the tap water", 0.5, 40, Kind.TEMPERATURE)
    ] = 12.0
    chloride_mg_l: Annotated[
        float, _told("Chloride", "in the tap water", 0, 2000, Kind.CONCENTRATION)
    ] = 20.0
    ntu: Annotated[float, _told("Cloudiness", "of the tap water", 0, 200, Kind.TURBIDITY)] = 1.0
    demand_mg_l: Annotated[
        float, _told("Chlorine demand", "of the tap water by itself", 0, 50, Kind.CONCENTRATION)
    ] = 1.0


class Hidden(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What is true at first; see :class:`washmon.sessions.practice.world.World`."""

    dirtiness: Annotated[Dirtiness, _told("Load", "how dirty the produce comes in at first")] = (
        Dirtiness.USUAL
    )
    pulp_c: Annotated[
        float, _told("Temperature of the produce", "as it comes in", 0, 45, Kind.TEMPERATURE)
    ] = 14.0
    air_c: Annotated[
        float, _told("Temperature of the air", "over the tanks", -5, 45, Kind.TEMPERATURE)
    ] = 20.0
    strength_share: Annotated[
        float, _share("Strength of the product", "against its label; 50 % is half as strong")
    ] = 1.0
    volume_share: Annotated[
        float, _share("Water in a tank", "against the volume in the set-up", 0.7, 1.3)
    ] = 1.0
    strip_share: Annotated[
        float, _share("What strips show", "against fresh ones; old strips show less")
    ] = 1.0
    decay_share: Annotated[
        float, _share("Loss to light and air", "against the usual; 400 % is full sun", 0, 20)
    ] = 1.0
    demand_share: Annotated[
        float, _share("Sanitizer that the produce uses up", "against the usual", 0, 20)
    ] = 1.0
    acid_share: Annotated[
        float, _share("Acid that the produce brings", "against the usual; drifts the pH", 0, 20)
    ] = 1.0
    mixing_share: Annotated[
        float, _share("How fast a dose mixes in", "against the usual", 0.1, 3)
    ] = 1.0
    samples_at: Annotated[
        SamplePlace,
        _told("Samples are taken", "a fresh dose shows first at the inlet"),
    ] = SamplePlace.ANYWHERE
    makeup_l_min: Annotated[
        float, _told("Fresh water a minute", "runs in and over all the time", 0, 100, Kind.VOLUME)
    ] = 0.0


class BatchPace(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """When it begins, how long it lasts, and how the batches come (minutes)."""

    begins: Annotated[time, _told("Begins at")]
    minutes: Annotated[float, _told("Lasts", "", 10, 600, Kind.TIME)]
    first_batch: Annotated[
        float, _told("First batch after", "from the beginning", 0, 240, Kind.TIME)
    ]
    batch_minutes: Annotated[float, _told("A batch comes every", "on average", 1, 60, Kind.TIME)]
    batch_weight: Annotated[
        float, _share("Weight of a batch", "against the usual of the produce", 0.2, 5)
    ] = 1.0
    seed: Annotated[
        int, _told("Luck", "the same number brings the same loads", 0, 2**31, Kind.COUNT)
    ]


class Kit(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What lies on the bench to measure the sanitizer with."""

    chlorine: Annotated[
        tuple[Method, ...],
        Meta(min_length=1, extra={"caption": "The sanitizer is measured with", "meaning": ""}),
    ] = tuple(Method)
    strips_use_by: Annotated[date, _told("Date on the strips", "empty: they are fresh")] | None = (
        None
    )


class Colleague(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What somebody did before the trainee takes over: made up the tanks, and washed on.

    ``first_check`` tells whether the water was measured before the first batch.
    """

    batches: Annotated[
        int, _told("Batches before", "that a colleague washed, unmeasured", 0, 100, Kind.COUNT)
    ]
    first_check: Annotated[bool, _told("Measured first", "whether the colleague did")] = True


class Happening(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What happens at a time of day: behind the scenes, said aloud, or both."""

    at: Annotated[time, _told("At")]
    dirtiness: Annotated[Dirtiness, _told("Load from then on")] | None = None
    strength_times: (
        Annotated[
            float,
            Meta(
                gt=0,
                le=3,
                extra={
                    "caption": "Strength, times what it is then",
                    "meaning": "as older files say it",
                    "kind": Kind.PERCENT,
                    "is_share": True,
                },
            ),
        ]
        | None
    ) = None
    strip_share: Annotated[float, _share("What strips show", "empty: no change")] | None = None
    decay_share: (
        Annotated[float, _share("Loss to light and air", "empty: no change", 0, 20)] | None
    ) = None
    strength_share: (
        Annotated[float, _share("Strength of the product", "empty: no change")] | None
    ) = None
    """Of the strength at first; ``strength_times`` is of the strength at that moment."""
    say: Annotated[str, _told("Said aloud", "what the trainee hears; empty: nothing")] = ""

    @property
    def changes(self) -> bool:
        """Whether anything becomes different in the world."""
        return self.change != WorldChange()

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
    title: Annotated[Words, _told("Name")]
    level: Annotated[int, _told("Level", "1 is the easiest", 1, 9, Kind.COUNT)]
    goal: Annotated[Words, _told("What it teaches", "one sentence")]
    briefing: Annotated[Words, _told("Briefing", "what the trainee is told before")]
    good: Annotated[
        tuple[Words, ...],
        Meta(
            min_length=1,
            max_length=12,
            extra={"caption": "A good run", "meaning": "what it looks like, a line for each"},
        ),
    ]
    hints: Annotated[
        tuple[Words, ...],
        Meta(max_length=12, extra={"caption": "Hints", "meaning": "shown one by one, when asked"}),
    ] = ()
    asks: Annotated[
        tuple[Words, ...],
        Meta(
            max_length=12,
            extra={
                "caption": "Questions of the trainer",
                "meaning": "a line for each: question | right answer | wrong one | wrong one",
            },
        ),
    ] = ()
    line: LineChoice
    tap: Tap = Tap()
    world: Hidden = Hidden()
    pace: BatchPace
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
        base = (
            line
            or self.line.own()
            or practice_setup(self.line.commodity, self.line.tanks, peracetic=self.line.peracetic)
        )
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
            people=people,
            tanks=tuple(replace(tank, **chosen) for tank in base.tanks),
        )

    def hidden_world(self) -> World:
        """Return the world as it is at first."""
        from_file = {name: getattr(self.world, name) for name in Hidden.__struct_fields__}
        source = World().source
        tap = {name: getattr(self.tap, name) for name in Tap.__struct_fields__}
        return World(commodity=self.line.commodity, source=replace(source, **tap), **from_file)


def parts_of(line: str) -> tuple[str, ...]:
    """Return a question of the trainer and its answers, the right one first."""
    return tuple(part.strip() for part in line.split("|") if part.strip())


def minute_of(scenario: Scenario, at: time) -> float:
    """Return how many minutes after the beginning a time of day is; a shift may pass midnight."""
    begins = scenario.pace.begins
    return (_minutes(at) - _minutes(begins)) % (24 * 60)


def _minutes(at: time) -> float:
    return at.hour * 60.0 + at.minute + at.second / 60.0 + at.microsecond / 60e6
