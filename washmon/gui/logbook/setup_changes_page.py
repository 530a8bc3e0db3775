"""Who changed the set-up, when, and what: read from the site's chain, the newest first."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import foot_row, page_column
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.export_bar import trouble_words
from washmon.gui.logbook.table import Cell, ListedPage, Listing, Row
from washmon.gui.setup_guide.change_words import about, told
from washmon.line.journal import SITE
from washmon.line.setup import LineSetup
from washmon.line.setup_changes import Change, changes
from washmon.line.site_events import SetupSaved
from washmon.store.store import Store

Saves = tuple[SetupSaved, ...]


class SetupChanges(QWidget):
    """A list to read.

    Signals:
        left(): back to where it was opened from.
        loaded(): the changes, or the reason why there are none, are shown.
    """

    left = Signal()
    loaded = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._person: UserContext | None = None
        self.list = ListedPage(tr("No set-up was saved yet."))
        self.message = MessageLine()
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self.left)
        lead = tr("Each value that was changed. A shift keeps the set-up that it began with.")
        page_column(
            self,
            Text(tr("Changes of the set-up"), Size.LARGE, bold=True),
            Text(lead, tone=Tone.SOFT, wrapped=True),
            (self.list, 1),
            foot_row(self.back, self.message),
        )

    def open(self, person: UserContext) -> None:
        """Read the site's chain; :attr:`loaded` follows."""
        self._person = person
        self.message.clear()
        self._client.read(_saves, self._show)

    @Slot(object)
    def _show(self, result: object) -> None:
        if isinstance(result, tuple) and self._person is not None:
            self.list.show_listing(changes_listed(result, self._person))
        else:
            self.message.warn(trouble_words(result))
        self.loaded.emit()


def changes_listed(saves: Saves, person: UserContext) -> Listing:
    """List what each saving changed against the one of the same line before it."""
    heads = (tr("Saved"), tr("By"), tr("Line"), tr("What"), tr("Was"), tr("Now"))
    rows: list[list[Row]] = []
    known: dict[str, LineSetup] = {}
    newest: LineSetup | None = None
    for save in saves:
        setup = save.setup
        before = known.get(setup.line) or newest
        rows.append([_row(save, before, one, person) for one in changes(before, setup)])
        known[setup.line] = newest = setup
    return Listing(heads, tuple(row for group in reversed(rows) for row in group))


def _row(save: SetupSaved, before: LineSetup | None, change: Change, person: UserContext) -> Row:
    return (
        Cell(f"{save.at:%Y-%m-%d %H:%M}"),
        Cell(save.by),
        Cell(save.setup.line),
        Cell(about(change, before, save.setup)),
        Cell(told(change.was, person.show), Tone.SOFT),
        Cell(told(change.now, person.show)),
    )


def _saves(store: Store) -> Saves:
    return tuple(
        entry.event for entry in store.entries(SITE) if isinstance(entry.event, SetupSaved)
    )
