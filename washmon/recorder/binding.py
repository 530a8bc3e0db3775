"""The making of a binder: what goes in as it was at a moment, looked through, and written."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from itertools import takewhile
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from washmon.line.fold import NotAShift, fold
from washmon.line.journal import SITE, Entry
from washmon.line.register_state import Stock
from washmon.line.registers import Paper
from washmon.line.registry import registers_of, training_of
from washmon.line.site_events import SetupSaved
from washmon.line.state import ShiftState
from washmon.recorder.proving import marked, steps_of, wrong_with
from washmon.recorder.summaries import AskStore
from washmon.reports.csv_export import CsvPart, ExportError, in_csv
from washmon.reports.files import written_aside
from washmon.reports.tables import SUMMARIES, TABLES
from washmon.store.errors import StoreUnavailable, Unreachable
from washmon.store.papers import amiss
from washmon.store.store import Store

if TYPE_CHECKING:
    from washmon.reports.binder import Binding
    from washmon.reports.binder_leaves import Leaf

Progress = Callable[[int], None]


class Wish(NamedTuple):
    """What is asked of a binder; ``first`` and ``last`` are days, ``paper`` is a4 or letter."""

    first: date
    last: date
    maker: str
    made_at: datetime
    paper: str
    as_it_was: bool = False
    """What was written after ``made_at`` is left out."""
    lists_only: bool = False
    as_zip: bool = False

    def steps(self, shifts: int) -> int:
        """Return up to where progress is told for so many shifts."""
        return self.looked(shifts) + shifts * (2 + self.as_zip - self.lists_only)

    def looked(self, shifts: int) -> int:
        """Return how many of these steps are done once all is looked through, and the site."""
        return steps_of(1 + shifts, SUMMARIES)


class BinderSource:
    """The shifts of a binder, each read and folded when it is asked for."""

    def __init__(
        self, ask: AskStore, chains: Sequence[str], wish: Wish, progress: Progress
    ) -> None:
        self._ask, self._wish = ask, wish
        self.asked = len(chains)
        """Of so many shifts; the leaves are fewer where one had not begun, or can't be read."""
        self.wrong: dict[str, list[str]] = wrong_with(ask, [SITE, *chains], SUMMARIES, progress)
        """By chain: what is not as it was written; a shift that can't be read is only told of."""
        self.leaves = tuple(self._leaves(chains, progress))

    def _leaves(self, chains: Sequence[str], progress: Progress) -> "Iterator[Leaf]":
        from washmon.reports.binder_leaves import leaf_of  # noqa: PLC0415 - slow, seldom needed

        saves = (one.event for one in self.site() if isinstance(one.event, SetupSaved))
        calendars = {one.setup.line: one.setup.calendar for one in saves}
        for done, chain in enumerate(chains, 1):
            try:
                if entries := self._entries(chain):  # else it began later
                    shift = fold(chain, entries)
                    yield leaf_of(shift, self._wish.made_at, calendars.get(shift.setup.line))
            except Unreachable:
                raise
            except (StoreUnavailable, NotAShift) as fault:
                left_out = f"Shift {chain} can't be read, so its record is left out: {fault}"
                self.wrong[chain] = [left_out, *self.wrong.get(chain, ())]
            progress(self._wish.looked(len(chains)) + done)

    def shifts(self) -> Iterator[ShiftState]:
        """Yield the shifts as they begin, each as its leaf has it: one may run on meanwhile."""
        for leaf in self.leaves:
            yield fold(leaf.chain, self._entries(leaf.chain)[: leaf.entries])

    def site(self) -> list[Entry]:
        """Return the site's chain; nothing where it can't be read, which is told of."""
        try:
            return self._entries(SITE)
        except Unreachable:
            raise
        except StoreUnavailable:
            return []

    def stock(self, site: list[Entry]) -> Stock:
        """Return what was registered, and the papers whose content is not as it was filed."""
        saves = [one.event for one in site if isinstance(one.event, SetupSaved)]
        known = registers_of(site)
        gone = self._ask(_gone(known.of(Paper))) if known.of(Paper) else frozenset()
        setup = saves[-1].setup if saves else None
        return Stock(registers=known, setup=setup, missing=gone)

    def papers(self) -> Path | None:
        """Return where the content of papers lies."""
        return self._ask(lambda store: store.papers_folder)

    def _entries(self, chain: str) -> list[Entry]:
        found = self._ask(_entries_of(chain))
        if not self._wish.as_it_was:
            return found
        end = self._wish.made_at + timedelta(seconds=1)
        return list(takewhile(lambda one: one.recorded_at < end, found))


def bind(output: Path, wish: Wish, source: BinderSource, progress: Progress) -> list[Path]:
    """Write the PDF and, where it is wished, the ZIP; return what was written.

    Raises:
        StoreUnavailable, ExportError: the file that was being written is as it was before.
    """
    from washmon.reports import binder  # noqa: PLC0415 - slow to load, and seldom needed
    from washmon.reports.paper import PaperSize  # noqa: PLC0415 - the same

    if not source.leaves:
        raise ExportError(
            "No shift of these days could be read: nothing was written."
            if source.wrong
            else f"No shift of these days had begun at {wish.made_at}: nothing was written."
        )
    site = source.site()
    binding = binder.Binding(
        first=wish.first,
        last=wish.last,
        maker=wish.maker,
        made_at=wish.made_at,
        site_chain=(len(site), site[-1].hash if site else ""),
        leaves=source.leaves,
        saves=tuple(one.event for one in site if isinstance(one.event, SetupSaved)),
        training=training_of(site),
        wrong=source.wrong,
        stock=source.stock(site),
    )
    done = wish.looked(source.asked) + source.asked
    records = () if wish.lists_only else source.shifts()
    paper = PaperSize(wish.paper)
    body = binder.bound(binding, records, paper, progress=lambda more: progress(done + more))
    with written_aside(output) as file:
        file.write(body)
    if not wish.as_zip:
        return [output]
    done = wish.steps(source.asked) - source.asked
    beside = output.with_suffix(".zip")
    _zip(beside, binding, source, lambda more: progress(done + more))
    return [output, beside]


def _zip(target: Path, binding: "Binding", source: BinderSource, progress: Progress) -> None:
    from washmon.reports.binder_zip import papers_inside, write_zip  # noqa: PLC0415 - seldom needed
    from washmon.reports.register_table import REGISTERS, registers_csv  # noqa: PLC0415 - the same
    from washmon.reports.training import (  # noqa: PLC0415 - the same
        TRAINING,
        training_csv,
        training_lines,
    )

    wrong = source.wrong

    def rows(shift: ShiftState) -> Mapping[str, CsvPart]:
        found = {}
        for table in TABLES:
            part = in_csv(table, table.rows(shift))
            (found[table.key],) = marked(table, [part], [shift.chain], wrong)[1]
        return found

    said = [one for some in wrong.values() for one in some]
    about = [
        f"Period: {binding.first} to {binding.last}",
        f"Made by: {binding.maker}",
        f"Made at: {binding.made_at.isoformat(timespec='seconds')}",
        f"Hash of the binder: {binding.seal}",
        *(["NOT WHOLE", *said] if wrong else ["WHOLE"]),
    ]
    tables = [*(marked(table, (), (), wrong)[0] for table in TABLES), REGISTERS, TRAINING]
    trained = training_lines(binding.training, binding.first, binding.last)
    more = {
        "about.txt": "".join(f"{one}\n" for one in about),
        "registers.csv": registers_csv(binding.stock, binding.made_at.date()).text,
        "training.csv": training_csv(trained).text,
    }
    inside = papers_inside(binding.stock, source.papers())
    write_zip(target, tables, map(rows, source.shifts()), more, progress, papers=inside)


def _gone(papers: list[Paper]) -> Callable[[Store], frozenset[str]]:
    def ask(store: Store) -> frozenset[str]:
        return frozenset(one.sha256 for one, _ in amiss(papers, store.papers_folder))

    return ask


def _entries_of(chain: str) -> Callable[[Store], list[Entry]]:
    return lambda store: store.entries(chain)
