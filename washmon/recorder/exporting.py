"""Writing CSV and PDF while the shift goes on: the recorder reads shift by shift for it."""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import wait
from pathlib import Path
from threading import Event
from typing import Any, NamedTuple, TypeVar

from washmon.line.fold import fold
from washmon.line.state import ShiftState
from washmon.recorder.binding import BinderSource, Wish, bind
from washmon.recorder.kept_parts import table_parts
from washmon.recorder.proving import marked, steps_of, wrong_with
from washmon.recorder.recorder import Recorder
from washmon.recorder.summaries import summary_parts
from washmon.recorder.tracing import LotWish, write_trace
from washmon.reports.csv_export import CsvPart, export_parts
from washmon.reports.tables import SUMMARIES, Table
from washmon.store.store import Store

T = TypeVar("T")
_PATIENCE_S = 0.2


class PrintOn(NamedTuple):
    """The printable record of one shift, on a size of paper (``a4`` or ``letter``)."""

    paper: str


Asked = Table[Any] | PrintOn | Wish | LotWish
"""A table, the record of a shift, a binder of all shifts, or the trace of a lot."""


class _Stopped(Exception):  # noqa: N818 - no error
    """The export was cancelled while it waited for the recorder."""


class ExportJob:
    """One file in the making.

    The recorder reads one shift at a time, so that entries of a running shift go in between; the
    file is written by whoever calls :meth:`write`, so that a slow disk holds up no entries.
    """

    def __init__(
        self,
        recorder: Recorder,
        what: Asked,
        chains: Sequence[str],
        target: Path,
    ) -> None:
        self._recorder = recorder
        self._what = what
        self._chains = tuple(chains)
        self._target = target
        self._stop = Event()
        self.wrong: dict[str, list[str]] = {}
        """By chain: what is not as it was written; the file says so, too."""

    @property
    def steps(self) -> int:
        """Up to where progress is told; 0 where nobody can say."""
        what, shifts = self._what, len(self._chains)
        if isinstance(what, PrintOn | LotWish):
            return 0
        if isinstance(what, Wish):
            return what.steps(shifts)
        return steps_of(shifts, what) + shifts

    def cancel(self) -> None:
        """Stop at the next shift; no file is left."""
        self._stop.set()

    def write(self, progress: Callable[[int], None]) -> int | None:
        """Write the file; ``progress`` is told how many of :attr:`steps` are done.

        Returns:
            The number of rows, or None if it was cancelled.

        Raises:
            ExportError: the file can't be written.
            StoreUnavailable: the database can't be read.
            NotAShift: one of the chains is none.
        """
        try:
            return self._written(progress)
        except _Stopped:
            return None

    def _written(self, progress: Callable[[int], None]) -> int | None:
        def step(done: int) -> None:
            if self._stop.is_set():
                raise _Stopped
            progress(done)

        what = self._what
        if isinstance(what, Wish):
            source = BinderSource(self._ask, self._chains, what, step)
            self.wrong = source.wrong
            return len(bind(self._target, what, source, step))
        if isinstance(what, LotWish):
            rows, self.wrong = write_trace(self._target, self._ask, self._chains, what)
            return rows
        if isinstance(what, PrintOn):
            self.wrong = wrong_with(self._ask, self._chains)
            said = self.wrong.get(self._chains[0], [])
            return _printed(self._target, self._ask(_folded(self._chains[0])), what, said)
        self.wrong = wrong_with(self._ask, self._chains, what, step)
        looked = steps_of(len(self._chains), what)
        return export_parts(
            self._target,
            *marked(what, self._parts(what), self._chains, self.wrong),
            progress=lambda written: progress(looked + written),
            cancelled=self._stop.is_set,
        )

    def _parts(self, table: Table[Any]) -> Iterator[CsvPart]:
        if table is SUMMARIES:
            return summary_parts(self._ask, self._chains)
        return table_parts(self._ask, self._chains, table)

    def _ask(self, query: Callable[[Store], T]) -> T:
        future = self._recorder.read(query)
        while not wait([future], _PATIENCE_S).done:
            if self._stop.is_set():
                raise _Stopped
        return future.result()


def _printed(target: Path, shift: ShiftState, record: PrintOn, wrong: Sequence[str]) -> int:
    from washmon.reports.paper import PaperSize  # noqa: PLC0415 - slow to load, and seldom needed
    from washmon.reports.printed import write_record  # noqa: PLC0415 - the same

    write_record(target, shift, PaperSize(record.paper), wrong=wrong)
    return 1


def _folded(chain: str) -> Callable[[Store], ShiftState]:
    def query(store: Store) -> ShiftState:
        return fold(chain, store.entries(chain))

    return query
