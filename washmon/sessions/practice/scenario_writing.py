"""Scenarios written as the text of a file: TOML, only what is not as usual."""

import json
from datetime import date, time

import msgspec
from msgspec import Struct

from washmon.sessions.practice.scenario import Scenario
from washmon.sessions.practice.scenario_files import parse_scenario


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
