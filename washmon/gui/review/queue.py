"""The list of what waits for a review, the longest first."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import NamedTuple

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import foot_row, page_column
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.export_bar import trouble_words
from washmon.gui.logbook.logbook_words import clock, day
from washmon.gui.logbook.record_parts import ReadShift, read_record
from washmon.gui.logbook.table import Cell, FactsModel, FactsTable, Row
from washmon.gui.review.together import SignableShift, TogetherBar
from washmon.gui.review.words import days_words, deviating_words, look_of
from washmon.line.deviating import Deviations, deviations
from washmon.line.signing import SigningStage
from washmon.line.working_days import REVIEW_WITHIN
from washmon.recorder.reviewing import Waiting, waiting
from washmon.store.store import Store

_LOOKED_INTO = 200
"""Of so many shifts, the longest waiting, the list says what deviates; of any, its own page."""


class Looked(NamedTuple):
    """What reading a shift told: empty words where all of it is as it was written."""

    head: str
    found: Deviations
    alarm: str


class ReviewQueue(QWidget):
    """Lists what waits, reads shift by shift what deviates, and signs those in which nothing does.

    Signals:
        left(): back to where it was opened from.
        opened(str): the shift with this chain is to be read.
        loaded(): the list, or why there is none, is shown.
        looked(): it is shown of each what deviates.
    """

    left = Signal()
    opened = Signal(str)
    loaded = Signal()
    looked = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._person: UserContext | None = None
        self._record: ReadShift | None = None
        self._to_look: list[str] = []
        self.waiting: tuple[Waiting, ...] = ()
        self.known: dict[str, Looked | str] = {}
        self.lead = Text("", tone=Tone.SOFT, wrapped=True)
        heads = (tr("Shift"), tr("Line"), tr("Led by"), tr("Waits"), tr("Deviates"), tr("State"))
        self.model = FactsModel(heads, self)
        self.table = FactsTable(self.model, wraps=False, stretched=4)
        self.table.setAccessibleName(tr("Waits for review"))
        self.nothing = Text(tr("Nothing waits for a review."), tone=Tone.SOFT)
        self.nothing.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.together = TogetherBar(client, self)
        self.message = MessageLine()
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self.left)
        self.sign_all = PressButton("", Rank.SECONDARY, then=self._sign_together)
        self.read = PressButton(
            tr("Read"), Rank.PRIMARY, tr("Enter"), bound=False, then=self._open_current
        )
        page_column(
            self,
            Text(tr("Review of shifts"), Size.LARGE, bold=True),
            self.lead,
            (self.table, 1),
            (self.nothing, 1),
            self.together,
            foot_row(self.back, self.message, self.sign_all, self.read),
        )
        self.table.opened.connect(self._open_row)
        self.together.done.connect(self._signed)
        self.together.left.connect(self._offer)
        self._show_rows()

    def open(self, person: UserContext) -> None:
        """Show what waits to a person; :attr:`loaded` follows."""
        self._person = person
        self.message.clear()
        self.load()

    def load(self) -> None:
        """Read the list anew."""
        self.together.shut()
        self._client.read(_asking(self._client.clock()), self._show)

    def step(self, chain: str, by: int) -> str:
        """Return the chain that stands so many rows after another one, or an empty text."""
        chains = [one.row.chain for one in self.waiting]
        at = chains.index(chain) + by if chain in chains else -1
        return chains[at] if 0 <= at < len(chains) else ""

    def place(self, chain: str) -> tuple[int, int]:
        """Return the place of a chain, from 1, and how many there are; 0 where it is not there."""
        chains = [one.row.chain for one in self.waiting]
        return (chains.index(chain) + 1 if chain in chains else 0), len(chains)

    def _show(self, result: object) -> None:
        if isinstance(result, tuple):
            self.waiting = result
            heads = {one.row.chain: one.row.head for one in result}
            self.known = {
                chain: one
                for chain, one in self.known.items()
                if isinstance(one, Looked) and heads.get(chain) == one.head
            }
            self._to_look = [one for one in heads if one not in self.known][:_LOOKED_INTO]
        else:
            self.message.warn(trouble_words(result))
        self._show_rows()
        if self.isVisible():
            (self.table if self.waiting else self.back).setFocus()
        self.loaded.emit()
        self._look()

    def _look(self) -> None:
        """Read the next shift: one at a time, so that entries get in between."""
        if self._to_look:
            self._client.read(read_record(self._to_look[0]), self._note)
        else:
            self.looked.emit()

    def _note(self, result: object) -> None:
        if not self._to_look:
            return  # the list was read anew since
        chain = self._to_look[0]
        if isinstance(result, ReadShift) and result.shift.chain != chain:
            return
        self._to_look.pop(0)
        if isinstance(result, ReadShift):
            self._record = result
            head = result.shift.entries[-1].hash
            self.known[chain] = Looked(head, deviations(result.shift), result.alarm())
        else:
            self.known[chain] = trouble_words(result)
        self._show_rows()
        self._look()

    def _show_rows(self) -> None:
        at = max(self.table.currentIndex().row(), 0)
        self.model.show_rows([_row(one, self.known.get(one.row.chain)) for one in self.waiting])
        if self.waiting:
            self.table.selectRow(min(at, len(self.waiting) - 1))
        self.table.setVisible(bool(self.waiting))
        self.nothing.setVisible(not self.waiting)
        self.read.setEnabled(bool(self.waiting))
        self.lead.setText(_lead(self.waiting))
        self._offer()

    @Slot()
    def _offer(self) -> None:
        ready = self.ready()
        self.sign_all.set_label(
            tr("Sign the one in which nothing deviates")
            if len(ready) == 1
            else tr("Sign {count} in which nothing deviates", count=len(ready))
        )
        self.sign_all.setVisible(bool(ready) and not self.together.isVisibleTo(self))

    def ready(self) -> tuple[SignableShift, ...]:
        """Return the shifts that may be signed together."""
        found = []
        for one in self.waiting:
            known = self.known.get(one.row.chain)
            whole = isinstance(known, Looked) and not known.found and not known.alarm
            if one.row.stage is SigningStage.SIGNED and isinstance(known, Looked) and whole:
                found.append(SignableShift(one.row.chain, known.head, _title(one)))
        return tuple(found)

    @Slot()
    def _sign_together(self) -> None:
        if self._record is not None and self._person is not None:
            self.together.open(self.ready(), self._record, self._person)
            self.sign_all.hide()

    @Slot(int, object)
    def _signed(self, count: int, left_out: Sequence[str]) -> None:
        said = (
            tr("1 shift is signed.")
            if count == 1
            else tr("{count} shifts are signed.").format(count=count)
        )
        if left_out:
            self.message.warn(" ".join((said, *left_out)))
        else:
            self.message.say(said)
        self.load()

    @Slot(int)
    def _open_row(self, at: int) -> None:
        self.opened.emit(self.waiting[at].row.chain)

    @Slot()
    def _open_current(self) -> None:
        at = self.table.currentIndex().row()
        if 0 <= at < len(self.waiting):
            self._open_row(at)


def _asking(now: datetime) -> Callable[[Store], tuple[Waiting, ...]]:
    return lambda store: waiting(store, now)


def _title(one: Waiting) -> str:
    return f"{day(one.row.started_at)} {clock(one.row.started_at)}, {one.row.line}"


def _row(one: Waiting, known: Looked | str | None) -> Row:
    look = look_of(one.days)
    return (
        Cell(f"{day(one.row.started_at)}  {clock(one.row.started_at)}"),
        Cell(one.row.line),
        Cell(one.row.supervisor),
        Cell(days_words(one.days), Tone.PLAIN if look is None else look.tone, look),
        _deviating(known),
        Cell(_state(one.row.stage)),
    )


def _deviating(known: Looked | str | None) -> Cell:
    match known:
        case None:
            return Cell("…", Tone.SOFT)
        case str():
            return Cell(known, Tone.STOP, MarkState.STOP)
    if known.alarm:
        return Cell(tr("Not as it was written"), Tone.STOP, MarkState.STOP)
    if known.found:
        return Cell(deviating_words(known.found), Tone.ACT, MarkState.ACT)
    return Cell(deviating_words(known.found), Tone.SOFT, MarkState.IN_LIMITS)


def _state(stage: SigningStage) -> str:
    return {
        SigningStage.UNSIGNED: tr("Not signed by who led it"),
        SigningStage.CHANGED: tr("Changed since signed"),
    }.get(stage, tr("Signed"))


def _lead(found: Sequence[Waiting]) -> str:
    rule = tr(
        "A record is reviewed within {most} working days after the shift (21 CFR 117.165); the "
        "set-up tells the days that are worked.",
        most=REVIEW_WITHIN,
    )
    late = sum(one.days > REVIEW_WITHIN for one in found)
    if not late:
        return rule
    said = tr("1 is late.") if late == 1 else tr("{count} are late.", count=late)
    return f"{said} {rule}"
