"""What the rows of a log come to, held against what was imported before."""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import wait
from datetime import datetime, timedelta
from typing import NamedTuple, TypeVar

from washmon.gui.kit.working import Step
from washmon.line.events import Event
from washmon.line.journal import IMPORTED, Entry
from washmon.recorder import Recorder
from washmon.sessions.imported.choices import Choices
from washmon.sessions.imported.log import Log
from washmon.sessions.imported.log_rows import Found, Left, Taken, hold_against, take
from washmon.sessions.imported.shifts import ImportedShift, shifts
from washmon.store.store import Store

T = TypeVar("T")
_PATIENCE_S = 0.2
_A_DAY = timedelta(days=1)
"""An imported shift begins with the first row of its day."""


class LogPreview(NamedTuple):
    """What the rows of a log come to, and the shifts that the new ones make."""

    found: Sequence[Found]
    shifts: list[ImportedShift]


def preview(
    recorder: Recorder, log: Log, choices: Choices, tell: Step, *, now: datetime, importer: str
) -> LogPreview:
    """Read all rows. The recorder reads one past shift at a time, so that entries get in between.

    Raises:
        StoreUnavailable: the journal can't be read.
    """
    found = take(log, choices, now, tell)
    there = list(_imported(recorder, found, choices.setup.line, tell))
    held = hold_against(found, there)
    return LogPreview(held, shifts(log, held, choices, importer))


def _imported(
    recorder: Recorder, found: Sequence[Taken | Left], line: str, tell: Step
) -> Iterator[Event]:
    """Yield what earlier imports of the line wrote down about the days of these rows."""
    moments = [row.events[0].at for row in found if isinstance(row, Taken)]
    if not moments:
        return
    since, until = min(moments) - _A_DAY, max(moments) + _A_DAY
    rows = _ask(recorder, lambda store: store.shifts(line=line, since=since, until=until), tell)
    chains = [row.chain for row in rows if row.chain.startswith(IMPORTED)]
    for at, chain in enumerate(chains):
        tell(at, len(chains))
        yield from (entry.event for entry in _ask(recorder, _entries(chain), tell))


def _entries(chain: str) -> Callable[[Store], list[Entry]]:
    return lambda store: store.entries(chain)


def _ask(recorder: Recorder, query: Callable[[Store], T], tell: Step) -> T:
    future = recorder.read(query)
    while not wait([future], _PATIENCE_S).done:
        tell(0, 0)
    return future.result()
