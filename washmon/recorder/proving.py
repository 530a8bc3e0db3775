"""Whether what is exported or printed is as it was written: looked at each time, and said in it."""

import csv
import io
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from washmon.line.journal import SITE
from washmon.recorder.kept_parts import Proofs, kept_of
from washmon.recorder.summaries import AskStore
from washmon.reports.cells import Column
from washmon.reports.csv_export import CsvPart, rows_in_csv
from washmon.reports.tables import SUMMARIES, Table
from washmon.store.store import Store
from washmon.store.witness import Witness

WHOLE, NOT_WHOLE = "whole", "NOT WHOLE"

Wrong = Mapping[str, Sequence[str]]
"""By chain: what is wrong with it, in sentences."""


def wrong_with(
    ask: AskStore,
    chains: Sequence[str],
    table: Table[Any] | None = None,
    step: Callable[[int], None] = lambda _done: None,
) -> dict[str, list[str]]:
    """Return what is wrong with these shifts, those left out with which nothing is.

    ``table`` is the one that is exported of them, if it is not the record. ``step`` is told after
    each shift how many of :func:`steps_of` are done, and stops it all by what it raises.

    Raises:
        StoreUnavailable: the database can't be read.
    """
    found: dict[str, list[str]] = {}
    for done, chain in enumerate(chains, 1):
        if said := ask(_looking(chain)):
            found[chain] = said
        step(done)
    if table is SUMMARIES:
        sound = [chain for chain in chains if chain not in found]
        before = len(chains)
        found |= _not_summed_so(ask, sound, lambda done: step(before + done))
    if table is not None:  # of a whole time: a shift of it may be gone altogether
        found |= ask(_gone)
    return found


def steps_of(chains: int, table: Table[Any] | None = None) -> int:
    """Return up to where progress is told while so many shifts are looked through."""
    return chains * (2 if table is SUMMARIES else 1)


def first_of(wrong: Wrong) -> str:
    """Return the first sentence, and how many more there are."""
    sentences = [sentence for said in wrong.values() for sentence in said]
    more = f" And {len(sentences) - 1} more." if len(sentences) > 1 else ""
    return f"{sentences[0]}{more}" if sentences else ""


def marked(
    table: Table[Any], parts: Iterable[CsvPart], chains: Sequence[str], wrong: Wrong
) -> tuple[Table[Any], Iterable[CsvPart]]:
    """Return a table with a last column that says of each row whether its shift is whole.

    Where nothing is wrong there is no such column.
    """
    if not wrong:
        return table, parts
    said: Column[Any] = Column("journal_whole", "whether the journal of its shift is whole", str)
    return replace(table, columns=(*table.columns, said)), _with_marks(parts, chains, wrong)


def _with_marks(parts: Iterable[CsvPart], chains: Sequence[str], wrong: Wrong) -> Iterator[CsvPart]:
    for chain, part in zip(chains, parts, strict=True):
        mark = NOT_WHOLE if chain in wrong else WHOLE
        rows = csv.reader(io.StringIO(part.text, newline=""))
        yield rows_in_csv([*row, mark] for row in rows)


def _gone(store: Store) -> dict[str, list[str]]:
    """Return what is said of the shifts that the witness has seen, and that are not there."""
    if store.state_folder is None:
        return {}
    witness = Witness(store.state_folder, store.place)
    gone = [chain for chain in witness.ends() if chain != SITE and store.head(chain) is None]
    return {chain: [str(fault) for fault in witness.faults(store, chain)] for chain in gone}


def _not_summed_so(
    ask: AskStore, chains: Sequence[str], step: Callable[[int], None]
) -> dict[str, list[str]]:
    """Return the shifts whose kept summary is not what their journal sums up to."""
    found: dict[str, list[str]] = {}
    with kept_of(ask) as kept:
        proofs = Proofs(kept, chains)
        for done, chain in enumerate(chains, 1):
            if not proofs.hold(ask, chain):
                said = f"The summary that is kept of shift {chain} does not agree with its journal."
                found[chain] = [said]
            step(done)
    return found


def _looking(chain: str) -> Callable[[Store], list[str]]:
    def query(store: Store) -> list[str]:
        found = [str(fault) for fault in store.unsound(chain)]
        if store.state_folder is not None:
            witness = Witness(store.state_folder, store.place)
            found += [str(fault) for fault in witness.faults(store, chain)]
        return found

    return query
