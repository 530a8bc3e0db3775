"""The sheets that open over the Board: one at a time, made when the first frame is drawn."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.board.board import Board
from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.quiet_entries import Undoing
from washmon.line.flags import Flag
from washmon.line.journal import Entry
from washmon.line.kinds import EntryKind
from washmon.planning.snapshot import Snapshot

if TYPE_CHECKING:
    from washmon.gui.entry.entry_client import EntryClient
    from washmon.gui.entry.round import Round
    from washmon.gui.sheet_plot import SheetPlot
    from washmon.gui.what_if_asker import WhatIfAsker

WARM_UP_MS = 500
"""After the first snapshot, as the plots come first; a key that comes sooner makes them at once."""
LEARN_MS = 2000
"""So long after a snapshot nothing came: the recorder has time for what nobody waits for."""


class BoardSheets(QObject):
    """Opens the sheets of a Board, and knows whether one is open.

    Signals:
        saved(Entry, str): an entry is on the disk; the sentence says what was saved.
        opening(): one is about to open.
    """

    saved = Signal(object, str)
    opening = Signal()

    def __init__(self, client: RecorderClient, board: Board, parent: QWidget) -> None:
        super().__init__(parent)
        self._client = client
        self._board = board
        self._over = parent
        self._shown: tuple[Snapshot, UserContext] | None = None
        self._entries: EntryClient | None = None
        self.plot: SheetPlot | None = None
        self.undoing: Undoing | None = None
        self.round: Round | None = None
        self.what_if: WhatIfAsker | None = None
        self._warm_up = QTimer(self, singleShot=True, interval=WARM_UP_MS)
        self._warm_up.timeout.connect(self._make_entries)
        self._learn_words = QTimer(self, singleShot=True, interval=LEARN_MS)
        self._learn_words.timeout.connect(self._let_learn)

    @property
    def entries(self) -> "EntryClient":
        """The sheets of entries; made after the first frame, or when one is asked for before."""
        return self._entries or self._make_entries()

    def make_entries(self) -> "EntryClient":
        """Return what asks for entries; practice has its own."""
        from washmon.gui.entry.entry_client import EntryClient  # noqa: PLC0415 - start-up is measured

        return EntryClient(self._client, self._over)

    @Slot()
    def _make_entries(self) -> "EntryClient":
        if self._entries is None:
            from washmon.gui.sheet_plot import SheetPlot  # noqa: PLC0415 - start-up is measured

            self._entries = self.make_entries()
            self._entries.saved.connect(self.saved)
            self.plot = SheetPlot(self._entries.sheet, self._board, self._over)
            if self._shown is not None:
                self.plot.show_snapshot(*self._shown)
        return self._entries

    @Slot()
    def _let_learn(self) -> None:
        """Let the sheets of entries know the words that this shed is used to."""
        shift = None if self._shown is None else self._shown[0].shift
        if self._entries is not None and shift is not None:
            self._entries.learn_words(shift)

    @property
    def is_open(self) -> bool:
        """Whether any sheet is open."""
        sheets = (self._entries, self.undoing, self.round, self.what_if)
        return any(one is not None and one.is_open for one in sheets)

    def show_snapshot(self, snapshot: Snapshot, person: UserContext) -> None:
        """Know how the line is, and who stands here."""
        if self._shown is None:
            self._warm_up.start()
        self._shown = (snapshot, person)
        if self.plot is not None:
            self.plot.show_snapshot(snapshot, person)
        if self.what_if is not None:
            self.what_if.show_snapshot(snapshot, person)
        self._learn_words.start()

    def open(
        self,
        kind: EntryKind,
        *,
        tank: int | None = None,
        flag: Flag | None = None,
        correcting: Entry | None = None,
        done: bool = False,
    ) -> None:
        """Open the sheet of an entry, if a shift is there to take it; see ``EntryClient.open``."""
        if self._clear() and self._shown is not None:
            snapshot, person = self._shown
            self.entries.open(
                kind, snapshot, person, tank=tank, flag=flag, correcting=correcting, done=done
            )

    def repeat(self, kind: EntryKind) -> None:
        """Enter once more what was entered last, without a sheet unless there is a doubt."""
        if self._clear() and self._shown is not None:
            self.entries.repeat(kind, *self._shown)

    def open_round(self) -> None:
        """Ask for a reading of each tank."""
        if self._clear() and self._shown is not None:
            if self.round is None:
                from washmon.gui.entry.round import Round  # noqa: PLC0415 - start-up is measured

                self.round = Round(self._client, self._over)
                self.round.saved.connect(self.saved)
            self.round.open(*self._shown)

    def ask_what_if(self, tank: int | None) -> None:
        """Ask what would come of something, in this tank first."""
        if self._clear() and self._shown is not None:
            if self.what_if is None:
                from washmon.gui.what_if_asker import WhatIfAsker  # noqa: PLC0415 - start-up is measured

                self.what_if = WhatIfAsker(self._client, self._board, self._over)
            self.what_if.open(*self._shown, tank)

    def undo(self, entry: Entry) -> None:
        """Ask why an entry is taken back."""
        if self._clear() and self._shown is not None:
            if self.undoing is None:
                self.undoing = Undoing(self._client, self._over)
                self.undoing.saved.connect(self.saved)
            self.undoing.open(entry, *self._shown)

    def _clear(self) -> bool:
        """Let no two sheets lie over each other; tell whether one may open now.

        A glove that presses two keys loses nothing that was typed: what is open stays.
        """
        if self._shown is None or self._shown[0].shift is None:
            return False
        askers = (self._entries, self.undoing, self.round)
        if any(one is not None and one.keeps() for one in askers):
            return False
        self.opening.emit()
        for one in (self._entries, self.undoing, self.round, self.what_if):
            if one is not None and one.is_open:
                one.shut()
                self._over.setFocus()  # else Qt gives the keyboard to whatever it finds next
        return True
