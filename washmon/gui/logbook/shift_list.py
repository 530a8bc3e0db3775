"""The list of past shifts with its filters.

Which shifts know a lot, initials or a customer: asked of the index, by the name as a whole.
"""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any, NamedTuple

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import (
    QWidget,
)

from washmon.gui.client import RecorderClient
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import foot_row, hbox, page_column
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.export_bar import ExportBar, trouble_words
from washmon.gui.logbook.shift_filters import ShiftFilters
from washmon.gui.logbook.shift_rows import FlagsUp, Only, ShiftsModel, matching
from washmon.gui.logbook.table import FactsTable
from washmon.line.fold import fold
from washmon.recorder.binding import Wish
from washmon.reports.csv_export import suggested_name
from washmon.reports.summary import read_batches
from washmon.reports.tables import SUMMARIES, WEEK, Table
from washmon.store.shift import NameKind, ShiftRow
from washmon.store.store import Store

_HINTS = 4


class NamedShifts(NamedTuple):
    """For which asking, the chains that know what was typed, and lots that only begin so."""

    asked: int
    chains: frozenset[str]
    beginning: tuple[str, ...]


def named(
    asked: int, words: str, since: datetime, until: datetime
) -> Callable[[Store], NamedShifts]:
    """Return a query for the shifts in which these initials, this lot or customer comes up.

    Whoever entered, led, took over or signed counts. Several words must each come up, unless all
    of them together are one lot.
    """

    def query(store: Store) -> NamedShifts:
        def known(name: str) -> set[str]:
            rows = store.shifts(lot=name, since=since, until=until, practice=False)
            rows += store.shifts(person=name, since=since, until=until, practice=False)
            rows += store.shifts(recipient=name, since=since, until=until, practice=False)
            return {row.chain for row in rows}

        found = known(words)
        if not found and len(words.split()) > 1:
            found = set.intersection(*(known(word) for word in words.split()))
        lots = [] if found else store.names(NameKind.LOT, words, limit=_HINTS)
        return NamedShifts(asked, frozenset(found), tuple(lots))

    return query


_DAYS = 90
_WORDS_PX = 170
_AT_ONCE = 100
"""Shifts whose summaries are read in one go, so that entries get in between."""


class Found(NamedTuple):
    """What the store found, and for which asking."""

    asked: int
    shifts: list[ShiftRow]


class ShiftList(QWidget):
    """Finds shifts by day, line and words.

    Signals:
        left(): back to where the Logbook was opened from.
        opened(str): the shift with this chain is to be read.
        lot_asked(str): all that touched the lot with this number is to be shown.
        loaded(): the list is shown, or why it can't be.
    """

    left = Signal()
    opened = Signal(str)
    lot_asked = Signal(str)
    loaded = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._found: tuple[ShiftRow, ...] = ()
        self._asked = self._asked_names = 0
        self._named: NamedShifts | None = None
        self.title = Text(tr("Logbook"), Size.LARGE, bold=True)
        self.checked = Text("", Size.SMALL, tone=Tone.SOFT)
        self.review = PressButton(tr("Waits for review"), Rank.QUIET)
        self.filters = ShiftFilters(client.clock().date())
        self.model = ShiftsModel(self)
        self.table = FactsTable(self.model, wraps=False, stretched=3)  # the lots
        self.table.setAccessibleName(tr("Shifts"))
        self.nothing = Text("", tone=Tone.SOFT, wrapped=True)
        self.trouble = MessageLine()
        self.bar = ExportBar(client, self)
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self.left)
        self.open_button = PressButton(
            tr("Open"), Rank.PRIMARY, tr("Enter"), bound=False, then=self._open_current
        )
        self.export_button = PressButton(
            tr("Export summaries"), Rank.SECONDARY, "Ctrl+E", then=self._export
        )
        self.week_button = PressButton(tr("Week report"), Rank.SECONDARY, then=self._export_week)
        self.binder_button = PressButton(tr("Binder"), Rank.SECONDARY, then=self._bind)
        self.binder_button.setToolTip(
            tr("All shifts of these days in one PDF, with an index, lists and a ZIP of tables")
        )
        self.maker = ""
        """The initials that stand on a binder."""
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        self.nothing.setAlignment(Qt.AlignmentFlag.AlignCenter)
        page_column(
            self,
            hbox((self.title, 1), self.checked, self.review),
            self.filters,
            self.trouble,
            (self.table, 1),
            (self.nothing, 1),
            foot_row(
                self.back,
                self.bar,
                self.binder_button,
                self.week_button,
                self.export_button,
                self.open_button,
            ),
        )
        self.nothing.hide()
        self.trouble.hide()
        for button in (self.open_button, self.export_button, self.week_button, self.binder_button):
            button.setEnabled(False)  # until there is something to open, export or bind

    def _connect(self) -> None:
        self.filters.days_changed.connect(self.load)
        self.filters.choice_changed.connect(self._filter)
        self.filters.words_changed.connect(self._find)
        self.filters.words.editor.returnPressed.connect(self._to_table)
        self.filters.lot_asked.connect(self.lot_asked)
        self.table.opened.connect(self._open_row)

    def say_checked(self, words: str) -> None:
        """Say what a check of the whole journal found, quietly."""
        self.checked.setText(words)

    @Slot()
    def load(self) -> None:
        """Read the shifts of the chosen days; :attr:`loaded` follows."""
        since, until = self.filters.days()
        self._asked += 1
        self._client.read(_shifts(self._asked, since, until), self._receive)

    def _receive(self, result: object) -> None:
        if not isinstance(result, Found):
            self._show(result)
        elif result.asked == self._asked:  # else other days have been chosen since
            self._show(result.shifts)

    def _show(self, result: object) -> None:
        self.trouble.setVisible(not isinstance(result, list))
        if isinstance(result, list):
            self._found = tuple(result)
            self.filters.offer_lines({shift.line for shift in self._found})
            self._find()
            self._count_batches()
        else:
            self._found = ()
            self._filter()
            self.trouble.warn(trouble_words(result))
        self.loaded.emit()

    @Slot()
    def _find(self) -> None:
        """Ask which shifts know what is typed; the list follows."""
        self._asked_names += 1
        if words := self.filters.words.text:
            since, until = self.filters.days()
            self._client.read(named(self._asked_names, words, since, until), self._receive_named)
        else:
            self._named = None
            self._filter()

    def _receive_named(self, result: object) -> None:
        if not isinstance(result, NamedShifts):
            self.trouble.show()
            self.trouble.warn(trouble_words(result))
        elif result.asked == self._asked_names:  # else something else was typed since
            self._named = result
            self._filter()

    @Slot()
    def _filter(self) -> None:
        current = self.current()
        chains = None if self._named is None else self._named.chains
        shown = matching(self._found, self.filters.line.text, chains, Only(self.filters.only.text))
        self.model.show_shifts(shown)
        if shown:
            of = [shift.chain for shift in shown]
            at = of.index(current.chain) if current and current.chain in of else 0
            self.table.selectRow(at)
        self.table.setVisible(bool(shown))
        self.nothing.setVisible(not shown)
        self.nothing.setText(self._why_empty())
        self.open_button.setEnabled(bool(shown))
        self.export_button.setEnabled(bool(shown))
        self.week_button.setEnabled(bool(shown))
        self.binder_button.setEnabled(bool(self._found))
        many = len(shown) != 1
        self.export_button.set_label(
            tr("Export {count} summaries", count=len(shown)) if many else tr("Export summary")
        )

    def _why_empty(self) -> str:
        if self._named is not None and self._named.beginning:
            lots = ", ".join(self._named.beginning)
            return tr(
                "No shift of these days has exactly this. Lots that begin so: {lots}.", lots=lots
            )
        if self._named is not None and not self._named.chains:
            return tr(
                "No shift of these days has this lot or customer, or an entry of such initials."
            )
        if self._found:
            return tr("No shift of these days is so: choose others.")
        return tr("No shift began in these days. Choose other days, or All days.")

    def _count_batches(self) -> None:
        chains = [shift.chain for shift in self._found if shift.ended_at]
        for start in range(0, len(chains), _AT_ONCE):
            self._client.read(_batches(chains[start : start + _AT_ONCE]), self._put_batches)

        for shift in self._found:
            if shift.ended_at is None:  # one at a time, so that entries get in between
                self._client.read(_flags(shift.chain), self._put_flags)

    def _put_flags(self, result: object) -> None:
        if isinstance(result, FlagsUp):
            self.model.put_flags(result)

    def _put_batches(self, result: object) -> None:
        if isinstance(result, dict):
            self.model.put_batches(result)

    def current(self) -> ShiftRow | None:
        """Return the shift that is chosen."""
        at = self.table.currentIndex().row()
        return self.model.shifts[at] if 0 <= at < len(self.model.shifts) else None

    @Slot()
    def _to_table(self) -> None:
        self.table.setFocus()

    @Slot(int)
    def _open_row(self, at: int) -> None:
        self.opened.emit(self.model.shifts[at].chain)

    @Slot()
    def _open_current(self) -> None:
        if (shift := self.current()) is not None:
            self.opened.emit(shift.chain)

    @Slot()
    def _export(self) -> None:
        self._write(SUMMARIES)

    @Slot()
    def _export_week(self) -> None:
        self._write(WEEK)

    @Slot()
    def _bind(self) -> None:
        """Offer a binder of all shifts of these days: one that left some out would mislead."""
        chains = [shift.chain for shift in reversed(self._found)]
        days = (self._found[-1].started_at.date(), self._found[0].started_at.date())
        made_at = self._client.clock().replace(microsecond=0)
        wish = Wish(*days, self.maker, made_at, "a4", as_zip=True)
        self.bar.ask(wish, chains, suggested_name("binder", "", *days, suffix=".pdf"))

    def _write(self, table: Table[Any]) -> None:
        shown = self.model.shifts
        if not shown:
            return
        chains = [shift.chain for shift in reversed(shown)]  # oldest first, as a record reads
        lines = {shift.line for shift in shown}
        first, last = shown[-1].started_at.date(), shown[0].started_at.date()
        line = lines.pop() if len(lines) == 1 else ""
        self.bar.ask(table, chains, suggested_name(table, line, first, last))


def _shifts(asked: int, since: datetime, until: datetime) -> Callable[[Store], Found]:
    def query(store: Store) -> Found:
        return Found(asked, store.shifts(since=since, until=until, practice=False))

    return query


def _flags(chain: str) -> Callable[[Store], FlagsUp]:
    """Return a query for the flags that are up in a running shift, as its journal says."""

    def query(store: Store) -> FlagsUp:
        up = [one.flag.level for one in fold(chain, store.entries(chain)).open_flags]
        return FlagsUp(chain, len(up), max(up, key=lambda level: level.rank, default=None))

    return query


def _batches(chains: Sequence[str]) -> Callable[[Store], dict[str, int]]:
    """Return a query for how many batches these shifts washed, from their kept summaries."""

    def query(store: Store) -> dict[str, int]:
        kept = [(row.chain, read_batches(row.body)) for row in store.summaries(chains)]
        return {chain: batches for chain, batches in kept if batches is not None}

    return query
