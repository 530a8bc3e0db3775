"""Scenario files: read and checked, and written with more that happens.

Scenarios written as the text of a file: TOML, only what is not as usual.
"""

import json
import re
import tomllib
from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta
from pathlib import Path

import msgspec
from msgspec import Struct

from washmon.data import resource
from washmon.line.message import say
from washmon.line.practice_events import WorldChange
from washmon.line.validate import faults
from washmon.sessions.practice.checking import world_faults
from washmon.sessions.practice.parameters import PracticeError, parameters
from washmon.sessions.practice.practice_setup import wash_tanks
from washmon.sessions.practice.scenario import LineChoice, Scenario, minute_of
from washmon.units import UnitSystem

FORMAT = "washmon practice scenario"
VERSION = 4
"""A line of the shed's own, and produce fitted to a shift, came with 2; hints with 3, from which on
no impossible world is taken; peracetic acid with 4."""
_STRICT = 3
MOST_BYTES = 64 * 1024


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


_CONTROLS = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]"
)
"""Signs that nobody sees and that turn text around or break it."""


def _shown(raw: object) -> object:
    """Return what was read without signs that would garble it on the screen."""
    match raw:
        case str():
            return _CONTROLS.sub("", raw)
        case list():
            return [_shown(one) for one in raw]
        case dict():
            return {key: _shown(one) for key, one in raw.items()}
    return raw


def _convert(raw: Mapping[str, object], name: str) -> Scenario:
    try:
        return msgspec.convert(_shown(raw), Scenario)
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
    has = len(wash_tanks(scenario.line.commodity))
    if scenario.line.setup is None and scenario.line.tanks > has:
        raise PracticeError(
            "The scenario {file} asks for {asked} tanks, and the practice line for {commodity} has "
            "{has}: ask for no more.",
            file=name,
            asked=str(scenario.line.tanks),
            commodity=scenario.line.commodity,
            has=str(has),
        )
    if found := faults(scenario.setup("AB")):
        raise PracticeError(
            "The line of the scenario {file} cannot be used: {reason}.",
            file=name,
            reason=found[0].message.text,
        )
    _check_times_and_world(scenario, name)


def _check_times_and_world(scenario: Scenario, name: str) -> None:
    moments = [minute_of(scenario, one.at) for one in scenario.happens]
    if any(not 0.0 <= moment <= scenario.pace.minutes for moment in moments):
        raise PracticeError(
            "In the scenario {file} something happens outside of its time: correct it.", file=name
        )
    impossible = world_faults(scenario) if scenario.version >= _STRICT else []
    if impossible:
        raise PracticeError(
            "The scenario {file} has a mistake at {key}: {reason}",
            file=name,
            key=impossible[0].path,
            reason=say(impossible[0].message, UnitSystem.METRIC),
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
    if any(tank.second_volume_l is not None for tank in own.tanks):
        raise PracticeError(
            "The scenario {file} has a second vessel, which the simulated water does not know: "
            "take it out.",
            file=name,
        )
    if len({tank.peracetic is not None for tank in own.tanks}) > 1:
        raise PracticeError(
            "The scenario {file} has tanks with chlorine and tanks with peracetic acid: the "
            "simulated water knows one kind at a time.",
            file=name,
        )


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


def scenario_text(scenario: Scenario) -> str:
    """Return a scenario as the text of its file.

    Raises:
        PracticeError: the text would be no usable scenario.
    """
    lines = [
        f"{name} = {_toml(getattr(scenario, name))}"
        for name in ("format", "version", "title", "level", "goal", "briefing", "good")
    ]
    lines += [f"hints = {_toml(scenario.hints)}"] if scenario.hints else []
    lines += [f"asks = {_toml(scenario.asks)}"] if scenario.asks else []
    for name in ("line", "tap", "world", "pace", "bench"):
        told = _fields(getattr(scenario, name))
        lines += ["", f"[{name}]", *told] if told else []
    if scenario.before is not None:
        lines += ["", "[before]", *_fields(scenario.before)]
    for one in scenario.happens:
        lines += ["", "[[happens]]", *_fields(one)]
    text = "\n".join(lines) + "\n"
    parse_scenario(text)
    return text


def _fields(part: Struct) -> list[str]:
    """Return a line for each field that differs from what is usual."""
    usual = {one.name: one.default for one in msgspec.structs.fields(part)}
    given = {name: getattr(part, name) for name in usual}
    return [
        f"{name} = {_toml(value)}"
        for name, value in given.items()
        if value is not None and value != usual[name]
    ]


def _toml(value: object) -> str:
    """Return a value of a scenario as TOML; a string of JSON is one of TOML, too."""
    match value:
        case time() | date():
            return value.isoformat()
        case tuple():
            return f"[{', '.join(_toml(one) for one in value)}]"
        case str():
            return json.dumps(str(value)).replace("\x7f", "\\u007f")
    return json.dumps(value)
