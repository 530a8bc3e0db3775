"""Session files forged with hashes that fit: opened, replayed and exported, or refused."""

import json
import os
import random
from collections.abc import Iterable, Iterator
from copy import deepcopy
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from washmon import data
from washmon.line.fold import fold
from washmon.line.journal import GENESIS, link
from washmon.reports.csv_export import in_csv
from washmon.reports.summing import summarize
from washmon.reports.tables import SUMMARIES, TABLES
from washmon.sessions.file import SessionFileError, compose, parse
from washmon.sessions.headless import lines

FILES = int(os.environ.get("WASHMON_FORGED", "60"))
"""How many are made; 10000 repeat what was asked for once."""
MOST_ENTRIES = 20
NUMBERS = (0, -1, 1, 99, 1e308, -1e308, 1e-308, 10**9, 10**30, -(10**18), 5e-324, 0.001)
TIMES = (
    "9999-12-31T23:59:59Z",
    "0001-01-01T00:00:00Z",
    "2199-12-31T23:59:59+14:00",
    "2000-01-01T00:00:00-12:00",
)
WORDS = ("", "x" * 3000, "\u202e", "\x00", "nan", "jug", "=1+1")
OTHERS: tuple[Any, ...] = (None, True, [], {}, [1, 1])

Way = tuple[str | int, ...]


def ways(node: Any, before: Way = ()) -> Iterator[Way]:
    """Yield the way to each value in an entry, those that hold others included."""
    if before:
        yield before
    inside: Iterable[tuple[str | int, Any]] = ()
    if isinstance(node, dict):
        inside = node.items()
    elif isinstance(node, list):
        inside = enumerate(node)
    for key, inner in inside:
        yield from ways(inner, (*before, key))


def other(chance: random.Random, value: Any) -> Any:
    if chance.random() < 0.1:
        return deepcopy(chance.choice(OTHERS))
    if isinstance(value, int | float) and not isinstance(value, bool):
        return chance.choice(NUMBERS)
    if isinstance(value, str):
        return chance.choice(TIMES if value.startswith("20") else WORDS)
    return deepcopy(chance.choice(OTHERS))


def forged(chance: random.Random, body: bytes) -> bytes:
    """Return a session whose values are hostile and whose hashes fit."""
    head, *rest = (json.loads(line) for line in body.splitlines())
    entries = rest[: chance.randrange(5, MOST_ENTRIES)]
    for _ in range(chance.choice((1, 1, 2, 4))):
        event = chance.choice(entries)["event"]
        *before, last = chance.choice(list(ways(event)))
        node = event
        for key in before:
            node = node[key]
        node[last] = other(chance, node[last])
    if chance.random() < 0.2:
        chance.shuffle(entries)
    rows, digest = [], GENESIS
    for seq, entry in enumerate(entries):
        event = json.dumps(entry["event"], separators=(",", ":"), ensure_ascii=False).encode()
        at = datetime.fromisoformat(entry["recorded_at"])
        digest = link(digest, head["chain"], seq, at, event)
        rows.append((seq, at, event, digest))
    return compose(head["chain"], rows, "forged")


@pytest.mark.filterwarnings("ignore::RuntimeWarning")
def test_no_forged_session_ends_in_a_traceback() -> None:
    chance = random.Random(20260509)  # noqa: S311 - repeatable, not secret
    bodies = [Path(one).read_bytes() for one in data.demo_sessions()]
    opened = 0
    for _ in range(FILES):
        body = forged(chance, chance.choice(bodies))
        try:
            session = parse(body, "forged.washshift")
        except SessionFileError:
            continue
        opened += 1
        assert list(lines(session, as_json=chance.random() < 0.5))
        shift = fold(session.header.chain, session.entries)
        in_csv(SUMMARIES, summarize(shift))
        for table in TABLES:
            in_csv(table, table.rows(shift))
    assert opened > FILES / 20
