"""One attempt's view of the database: it reads by itself, and writes through the recorder.

The shed's recorder is the only writer; the recorder of a practice shift lends its pen. What this
store knows is one attempt: a running shift of the shed is never taken for practice, nor the other
way about.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import TimeoutError as TooLong
from datetime import datetime
from pathlib import Path
from typing import Self, TypeVar

from washmon.line.events import Event
from washmon.line.journal import Entry
from washmon.line.setup import LineSetup
from washmon.recorder.recorder import Recorder
from washmon.store.errors import CannotWrite, Place
from washmon.store.place import Server
from washmon.store.searching import SummaryRows
from washmon.store.store import Store

T = TypeVar("T")
_PATIENCE_S = 30.0


class LentStore(Store):
    """Knows the attempt ``chain`` and no other shift."""

    _pen: Recorder
    _chain: str

    @classmethod
    def lend(cls, pen: Recorder, store: Store, chain: str) -> Self:
        """Open the database of ``store`` once more; called where ``store`` is used.

        Raises:
            StoreUnavailable: it can't be opened, or nothing may be written.
        """
        if store.read_only:
            raise CannotWrite("This window only reads: practise in the one that writes.")
        lent = cls.open(_where(store.place), read_only=True)
        lent.bind(pen, chain)
        return lent

    def bind(self, pen: Recorder, chain: str) -> None:
        """Say through whom, and to which attempt, it writes."""
        self._pen, self._chain = pen, chain

    @property
    def read_only(self) -> bool:
        """An attempt can be written."""
        return False

    def append(
        self, chain: str, events: Sequence[Event], recorded_at: datetime
    ) -> tuple[Entry, ...]:
        """Add events to the attempt; see :meth:`Store.append`."""
        if chain != self._chain:
            raise CannotWrite("A practice shift writes to its own attempt only.")
        return self._ask(lambda store: store.append(chain, events, recorded_at))

    def save_summaries(
        self, chain: str, summaries: Sequence[tuple[int, str]], rows: SummaryRows | None = None
    ) -> None:
        """Keep the summaries of the attempt; see :meth:`Store.save_summaries`."""
        self._ask(lambda store: store.save_summaries(chain, summaries, rows))

    def running_shift(self, _line: str | None = None) -> str | None:
        """Return the attempt."""
        return self._chain

    def shifts_without_summary(self) -> list[str]:
        """Return nothing: other shifts are no business of an attempt."""
        return []

    def latest_setup(self) -> LineSetup | None:
        """Return nothing: an attempt brings its own line."""
        return None

    def last_shift_head(self, _line: str | None = None) -> tuple[str, str] | None:
        """Return nothing: practice follows on no shift."""
        return None

    def _ask(self, query: Callable[[Store], T]) -> T:
        try:
            return self._pen.read(query).result(timeout=_PATIENCE_S)
        except TooLong as error:
            raise CannotWrite("The database does not answer: wait, then try again.") from error


def _where(place: Place) -> Path | str:
    if isinstance(place, Path):
        return place
    if isinstance(place, Server):
        return place.url.render_as_string(hide_password=False)
    raise CannotWrite(f"{place.name} can't be opened twice: practise on a database file.")
