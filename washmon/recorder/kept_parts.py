"""The rows of CSV files that are made from whole journals: kept once they were made."""

import hashlib
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import washmon
from washmon.line.fold import fold
from washmon.line.state import ShiftState
from washmon.recorder.summaries import FORM, AskStore, summary_agrees
from washmon.reports.cells import is_harmless
from washmon.reports.csv_export import CsvPart, form_of, in_csv
from washmon.reports.summary import VERSION
from washmon.reports.tables import Table
from washmon.store.errors import Place
from washmon.store.kept import Kept, KeptText
from washmon.store.store import Store

_AT_ONCE = 100


def table_parts(ask: AskStore, chains: Sequence[str], table: Table[Any]) -> Iterator[CsvPart]:
    """Yield the rows of these shifts, in this order; an ended shift's are kept for the next time.

    Raises:
        StoreUnavailable: the database can't be read.
        NotAShift: one of them is none.
    """
    what = f"{table.key} {form_of(table, VERSION)}"
    with kept_of(ask) as kept:
        for begin in range(0, len(chains), _AT_ONCE):
            some = chains[begin : begin + _AT_ONCE]
            heads = ask(_heads(some))
            known = kept.texts(what, some)
            for chain in some:
                made = known.get(chain)
                if made is not None and made.head == heads[chain] and is_harmless(made.text):
                    yield CsvPart(made.text, made.rows)
                else:
                    yield _anew(ask, chain, table, what, kept)


class Proofs:
    """Which kept summaries were found to agree with their journals, and need not be summed anew.

    What was proven is remembered by all that went into it: the end of the journal, the summary, and
    the program.
    """

    _WHAT = "summaries that agree"

    def __init__(self, kept: Kept, chains: Sequence[str]) -> None:
        self._kept = kept
        self._known = kept.texts(self._WHAT, chains)

    def hold(self, ask: AskStore, chain: str) -> bool:
        """Tell whether the summary of a shift agrees with its journal.

        Raises:
            StoreUnavailable: the database can't be read.
        """
        proof = ask(_proof_of(chain))
        known = self._known.get(chain)
        if known is not None and known.head == proof:
            return True
        agrees = ask(lambda store: summary_agrees(store, chain))
        if agrees:
            self._kept.put(self._WHAT, chain, KeptText(proof, 0, ""))
        return agrees


def _proof_of(chain: str) -> Callable[[Store], str]:
    """Return a query for the hash of all that a comparison would look at."""

    def query(store: Store) -> str:
        told = (store.head(chain), store.summary_rows([chain], FORM), store.summaries([chain]))
        return hashlib.sha256(repr(told).encode("utf-8", "surrogatepass")).hexdigest()

    return query


def kept_of(ask: AskStore) -> Kept:
    """Return what this computer has kept of a database."""
    return Kept(*ask(_home), program_mark())


@cache
def program_mark() -> str:
    """Return what tells this program from one that may write other rows: its version and files."""
    root = Path(washmon.__file__).parent
    digest = hashlib.sha256(washmon.__version__.encode())
    for path in sorted(root.rglob("*.py")):
        told = path.stat()
        digest.update(f"{path.relative_to(root)} {told.st_size} {told.st_mtime_ns}\n".encode())
    return digest.hexdigest()[:16]


def _anew(ask: AskStore, chain: str, table: Table[Any], what: str, kept: Kept) -> CsvPart:
    shift = ask(_folded(chain))
    part = in_csv(table, table.rows(shift))
    if shift.ended is not None:
        kept.put(what, chain, KeptText(shift.entries[-1].hash, part.rows, part.text))
    return part


def _home(store: Store) -> tuple[Path | None, Place]:
    return store.state_folder, store.place


def _heads(chains: Sequence[str]) -> Callable[[Store], dict[str, str | None]]:
    return lambda store: {chain: store.head(chain) for chain in chains}


def _folded(chain: str) -> Callable[[Store], ShiftState]:
    return lambda store: fold(chain, store.entries(chain))
