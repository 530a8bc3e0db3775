"""The trace of a lot: read shift by shift, looked through, and written as CSV or PDF."""

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from washmon.line.fold import fold
from washmon.line.state import ShiftState
from washmon.recorder.proving import marked, wrong_with
from washmon.recorder.summaries import AskStore
from washmon.reports.csv_export import ExportError, export_parts, in_csv
from washmon.reports.files import written_aside
from washmon.reports.lot_trace import TRACE, InShift, in_shift, trace_rows
from washmon.store.store import Store


class LotWish(NamedTuple):
    """What is asked of a trace; ``paper`` is a4 or letter, or empty for a CSV file."""

    code: str
    maker: str
    made_at: datetime
    paper: str = ""


def traced(ask: AskStore, chains: Sequence[str], code: str) -> Iterator[InShift]:
    """Yield what each of these shifts knows of a lot; those that know nothing are left out.

    Raises:
        StoreUnavailable: the database can't be read.
    """
    for chain in chains:
        if (found := in_shift(ask(_folded(chain)), code)) is not None:
            yield found


def write_trace(
    target: Path, ask: AskStore, chains: Sequence[str], wish: LotWish
) -> tuple[int, dict[str, list[str]]]:
    """Write the trace of a lot; return its rows, and by chain what is not as it was written.

    Raises:
        StoreUnavailable, ExportError: the target is as it was.
    """
    wrong = wrong_with(ask, chains)
    found = list(traced(ask, chains, wish.code))
    if not found:
        raise ExportError("No shift knows this lot: nothing was written.")
    if not wish.paper:
        parts = [in_csv(TRACE, rows) for rows in trace_rows(found)]
        names = [one.shift.chain for one in found]
        return export_parts(target, *marked(TRACE, parts, names, wrong)) or 0, wrong
    from washmon.reports.paper import PaperSize  # noqa: PLC0415 - slow to load, and seldom needed
    from washmon.reports.printed_lot import Trace, printed_lot  # noqa: PLC0415 - the same

    trace = Trace(wish.code, found, wish.maker, wish.made_at, wrong)
    body = printed_lot(trace, PaperSize(wish.paper))
    with written_aside(target) as file:
        file.write(body)
    return sum(len(one.lines) for one in found), wrong


def _folded(chain: str) -> Callable[[Store], ShiftState]:
    return lambda store: fold(chain, store.entries(chain))
