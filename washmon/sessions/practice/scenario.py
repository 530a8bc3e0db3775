"""Scenarios: small files that say who is to learn what, on which line, in which hidden world."""

import hashlib
import json
import tomllib
from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta, Struct
from msgspec.structs import replace

from washmon.chemistry.acid import AcidKind
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.data import resource
from washmon.line.events import Method, WorldChange
from washmon.line.setup import Acid, LabelBasis, LineSetup, Lot, Person, Role, Stage, Tank
from washmon.line.templates import Template, templates
from washmon.line.validate import faults
from washmon.sessions.practice.parameters import Dirtiness, PracticeError, parameters
from washmon.sessions.practice.world import World

FORMAT = "washmon practice scenario"
VERSION = 2
"""A line of the shed's own, and produce fitted to a shift, came with 2."""
COLLEAGUE = "TK"
LOTS = 3
MOST_BYTES = 64 * 1024

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


class _Kind(Struct, frozen=True):
    format: str = ""
    version: int = 0


def scenarios(folder: Path | None = None) -> list[tuple[Scenario, str]]:
    """Return the scenarios that come with the program, each with its file's text, easiest first.

    Raises:
        PracticeError: one of them can't be used.
    """
    files = sorted((folder or resource("practice", "scenarios")).glob("*.toml"))
    texts = [(path.name, _text(path)) for path in files]
    found = [(parse_scenario(text, name), text) for name, text in texts]
    return sorted(found, key=lambda pair: (pair[0].level, pair[0].title))


def kept_scenarios(shelf: Path) -> list[tuple[Scenario, str]]:
    """Return the scenarios that were kept in a folder; one that can't be used is passed over."""
    found = []
    for path in sorted(shelf.glob("*.toml")):
        with suppress(PracticeError):
            found.append(read_scenario(path))
    return found


def keep_scenario(shelf: Path, text: str) -> bool:
    """Keep a scenario in a folder, under the name of what it says; tell whether it could be."""
    name = hashlib.sha256(text.encode()).hexdigest()[:16]
    try:
        shelf.mkdir(parents=True, exist_ok=True)
        aside = shelf / f"{name}.new"
        aside.write_text(text, encoding="utf-8", newline="")
        aside.replace(shelf / f"{name}.toml")
    except OSError:
        return False
    return True


def read_scenario(path: Path) -> tuple[Scenario, str]:
    """Return a scenario with the text of its file.

    Raises:
        PracticeError: it can't be used; the sentence says why.
    """
    text = _text(path)
    return parse_scenario(text, path.name), text


def _text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            body = file.read(MOST_BYTES + 1)
        if len(body) > MOST_BYTES:
            raise PracticeError("{file} is too long for a scenario.", file=path.name)
        return body.decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise PracticeError(
            "The scenario {file} cannot be read ({reason}): choose another.",
            file=path.name,
            reason=str(error),
        ) from error


def parse_scenario(text: str, name: str = "scenario") -> Scenario:
    """Return the scenario in a text.

    Raises:
        PracticeError: with one clear sentence.
    """
    try:
        raw = tomllib.loads(text)
        kind = msgspec.convert(raw, _Kind)
    except (tomllib.TOMLDecodeError, msgspec.ValidationError, RecursionError) as error:
        raise PracticeError(
            "The scenario {file} cannot be read ({reason}): choose another.",
            file=name,
            reason=str(error),
        ) from error
    if kind.format != FORMAT or kind.version < 1:
        raise PracticeError("{file} is no practice scenario: choose another file.", file=name)
    if kind.version > VERSION:
        raise PracticeError(
            "{file} was made for a later version of washmon: update this one to use it.", file=name
        )
    scenario = _convert(raw, name)
    _check(scenario, name)
    return scenario


def _convert(raw: Mapping[str, object], name: str) -> Scenario:
    try:
        return msgspec.convert(raw, Scenario)
    except msgspec.ValidationError as error:
        raise PracticeError(
            "The scenario {file} has a mistake: {reason}. Correct it, or choose another.",
            file=name,
            reason=str(error),
        ) from error


def _check(scenario: Scenario, name: str) -> None:
    if scenario.line.tanks < 1:
        raise PracticeError(
            "The scenario {file} has no tanks: give its line at least one.", file=name
        )
    known = parameters().commodity
    if scenario.line.commodity not in known:
        raise PracticeError(
            "The scenario {file} washes {commodity}, which the practice model does not know: "
            "choose one of {known}.",
            file=name,
            commodity=scenario.line.commodity,
            known=", ".join(sorted(known)),
        )
    _check_own_line(scenario.line, name)
    has = len(_wash_tanks(scenario.line.commodity))
    if scenario.line.setup is None and scenario.line.tanks > has:
        raise PracticeError(
            "The scenario {file} asks for {asked} tanks, and the practice line for {commodity} has "
            "{has}: ask for no more.",
            file=name,
            asked=str(scenario.line.tanks),
            commodity=scenario.line.commodity,
            has=str(has),
        )
    found = faults(scenario.setup("AB"))
    if found:
        raise PracticeError(
            "The line of the scenario {file} cannot be used: {reason}.",
            file=name,
            reason=found[0].message.text,
        )
    moments = [minute_of(scenario, one.at) for one in scenario.happens]
    if any(not 0.0 <= moment <= scenario.pace.minutes for moment in moments):
        raise PracticeError(
            "In the scenario {file} something happens outside of its time: correct it.", file=name
        )


def _check_own_line(line: LineChoice, name: str) -> None:
    try:
        own = line.own()
    except (msgspec.DecodeError, RecursionError) as error:
        raise PracticeError(
            "The line of the scenario {file} cannot be used: {reason}.",
            file=name,
            reason=str(error),
        ) from error
    if own is None:
        return
    if len(own.tanks) != line.tanks:
        raise PracticeError(
            "In the scenario {file} the line has {has} tanks and its set-up {own}: make them the "
            "same.",
            file=name,
            has=str(line.tanks),
            own=str(len(own.tanks)),
        )
    second = any(tank.second_volume_l is not None for tank in own.tanks)
    if second or any(tank.peracetic is not None for tank in own.tanks):
        raise PracticeError(
            "The scenario {file} has peracetic acid or a second vessel, which the simulated water "
            "does not know: take them out.",
            file=name,
        )


def minute_of(scenario: Scenario, at: time) -> float:
    """Return how many minutes after the beginning a time of day is; a shift may pass midnight."""
    begins = scenario.pace.begins
    return (_minutes(at) - _minutes(begins)) % (24 * 60)


def _minutes(at: time) -> float:
    return at.hour * 60.0 + at.minute + at.second / 60.0 + at.microsecond / 60e6


def with_changes(text: str, changes: Sequence[tuple[float, WorldChange]]) -> str:
    """Return a scenario's text in which more happens, each so many minutes after the beginning.

    Where nothing can be added to the text, because of the way it is written, it stays as it is.
    """
    begins = datetime.combine(date.min, parse_scenario(text).pace.begins)
    more = [text.rstrip()]
    for minutes, change in changes:
        at = (begins + timedelta(minutes=minutes)).time()
        named = {name: getattr(change, name) for name in WorldChange.__struct_fields__}
        lines = [f"{name} = {json.dumps(one)}" for name, one in named.items() if one is not None]
        more.append("\n".join(["", "[[happens]]", f"at = {at.isoformat()}", *lines]))
    changed = "\n".join(more) + "\n"
    try:
        parse_scenario(changed)
    except PracticeError:
        return text
    return changed


def _draft(commodity: str) -> Template | None:
    usual = parameters().commodity.get(commodity)
    return next((one for one in templates() if usual and one.commodity == usual.line), None)


def _wash_tanks(commodity: str) -> list[Tank]:
    draft = _draft(commodity)
    return [] if draft is None else [one for one in draft.tanks if one.stage is not Stage.RINSE]


def practice_setup(commodity: str, tanks: int = 2) -> LineSetup:
    """Return an invented shed's line for a commodity of the model, without its rinses.

    Raises:
        PracticeError: the model does not know the commodity, or there is no such line.
    """
    draft = _draft(commodity)
    if draft is None or tanks < 1:
        raise PracticeError("There is no practice line for {name}.", name=commodity)
    wash = _wash_tanks(commodity)[:tanks]
    bleach = replace(
        draft.sanitizers[0], strength=12.5, basis=StrengthBasis.TRADE_PCT, density_kg_l=1.17
    )
    vinegar = Acid(key="vinegar", name="white vinegar", kind=AcidKind.VINEGAR, strength_pct=5.0)
    return replace(
        draft.draft(),
        site="Practice shed",
        location="Nowhere",
        people=(
            Person(initials="RM", name="Supervisor", role=Role.SUPERVISOR),
            Person(initials="TK", name="Line worker", role=Role.LINE_WORKER),
        ),
        sanitizers=(bleach,),
        acids=(vinegar,),
        tanks=tuple(
            replace(
                tank,
                acid=vinegar.key,
                chlorine=replace(tank.chlorine, label_basis=LabelBasis.FREE),
            )
            for tank in wash
        ),
    )
