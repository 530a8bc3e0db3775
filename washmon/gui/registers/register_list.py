"""All that is registered in one list, what presses first."""

from collections.abc import Sequence

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import foot_row, hbox, page_column
from washmon.gui.kit.buttons import ChoiceRow, PressButton, Rank
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.table import ListedPage
from washmon.gui.registers.forms import forms
from washmon.gui.registers.views import Standing, listed
from washmon.line.register_state import Stock
from washmon.line.registers import Device, Pack, Paper, Thing

ALL = "all"


class RegisterList(QWidget):
    """The list with what can be done to the row that is chosen.

    Signals:
        left(): back to where the page was opened from.
        add_asked(str): something of this kind is to be registered; empty: of any.
        change_asked(object): a thing is to be changed.
        retire_asked(object): a thing is to be retired.
        checks_asked(object): the checks of an instrument or pack are to be shown.
        open_asked(object): a paper is to be opened by another program.
        csv_asked(): all of it is to be saved as a CSV file.
        lacking_asked(): what is still lacking of the records that are asked for is to be shown.
    """

    left = Signal()
    add_asked = Signal(str)
    change_asked = Signal(object)
    retire_asked = Signal(object)
    checks_asked = Signal(object)
    open_asked = Signal(object)
    lacking_asked = Signal()
    csv_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._all: Sequence[Standing] = ()
        self._shown: list[Standing] = []
        self._stock: Stock | None = None
        self._person: UserContext | None = None
        self._may = True
        kinds = tuple((key, form.plural) for key, form in forms().items())
        self.kinds = ChoiceRow(((ALL, tr("All")), *kinds), ALL, self)
        self.list = ListedPage(tr("Nothing is registered here yet."))
        self.message = MessageLine()
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self.left)
        self.checks = PressButton(tr("Checks"), then=self._show_checks)
        self.open = PressButton(tr("Open"), then=self._open)
        self.lacking = PressButton(tr("What is lacking"), Rank.QUIET, then=self.lacking_asked)
        self.csv = PressButton(tr("Save as CSV"), Rank.QUIET, then=self.csv_asked)
        self.retire = PressButton(tr("Retire"), then=self._retire)
        self.change = PressButton(
            tr("Change"), Rank.SECONDARY, tr("Enter"), bound=False, then=self._change
        )
        self.add = PressButton(tr("Add"), Rank.PRIMARY, "Ins", then=self._add)
        head = hbox(
            Text(tr("Registers"), Size.LARGE, bold=True),
            (self.kinds, 1),
            self.lacking,
            self.csv,
            gap_px=16,
        )
        buttons = (self.open, self.checks, self.retire, self.change, self.add)
        page_column(self, head, (self.list, 1), foot_row(self.back, self.message, *buttons))
        self._connect()

    def _connect(self) -> None:
        self.kinds.chosen.connect(self._show_rows)
        self.list.table.opened.connect(self._change)
        self.list.table.selectionModel().selectionChanged.connect(self._follow)

    def show_things(
        self, things: Sequence[Standing], stock: Stock, person: UserContext, *, may: bool
    ) -> None:
        """Show what is registered; ``may`` says whether anything may be changed here."""
        self._all, self._stock, self._person, self._may = things, stock, person, may
        self._show_rows()

    def kind(self) -> str:
        """Return the kind that is looked at; empty for all."""
        return "" if self.kinds.selected == ALL else self.kinds.selected

    @Slot()
    def _show_rows(self) -> None:
        form, before = forms().get(self.kinds.selected), self.chosen
        self._shown = [one for one in self._all if form is None or isinstance(one[0], form.kind)]
        if self._stock is not None and self._person is not None:
            self.list.show_listing(listed(self._shown, self._stock, self._person))
        keys = [thing.key for thing, _ in self._shown]
        if keys:  # what was chosen stays so, wherever it stands now
            at = keys.index(before.key) if before is not None and before.key in keys else 0
            self.list.table.selectRow(at)
        self._follow()

    @property
    def chosen(self) -> Thing | None:
        """The thing in the row that is chosen."""
        at = self.list.table.currentIndex().row()
        return self._shown[at][0] if 0 <= at < len(self._shown) else None

    @Slot()
    def _follow(self) -> None:
        thing = self.chosen
        self.add.setEnabled(self._may)
        self.change.setEnabled(self._may and thing is not None)
        self.retire.setEnabled(self._may and thing is not None)
        back = thing is not None and thing.retired_on is not None
        self.retire.set_label(tr("Use again") if back else tr("Retire"))
        self.checks.setVisible(isinstance(thing, Device | Pack))
        self.open.setVisible(isinstance(thing, Paper))

    @Slot()
    def _add(self) -> None:
        self.add_asked.emit(self.kind())

    @Slot()
    def _change(self) -> None:
        if self.chosen is not None and self._may:
            self.change_asked.emit(self.chosen)

    @Slot()
    def _retire(self) -> None:
        if self.chosen is not None:
            self.retire_asked.emit(self.chosen)

    @Slot()
    def _show_checks(self) -> None:
        if self.chosen is not None:
            self.checks_asked.emit(self.chosen)

    @Slot()
    def _open(self) -> None:
        if self.chosen is not None:
            self.open_asked.emit(self.chosen)
