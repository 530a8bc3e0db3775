"""What owns a sheet, and what sends by one what was typed: the wiring that all have in common."""

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtWidgets import QWidget
from shiboken6 import isValid

from washmon.gui.client import RecorderClient
from washmon.gui.entry.sending import Sending
from washmon.gui.i18n import tr
from washmon.gui.kit.entry_sheet import EntrySheet
from washmon.gui.kit.sheet_spec import TypedEntry as Typed
from washmon.recorder import Saved


class SheetOwner(QObject):
    """Opens a sheet over ``parent``, and puts the keyboard back where it was before."""

    def __init__(self, client: RecorderClient, parent: QWidget, sheet: EntrySheet) -> None:
        super().__init__(parent)
        self._client = client
        self._parent = parent
        self._focus_before: QWidget | None = None
        self._sheet = sheet

    @property
    def is_open(self) -> bool:
        """Whether the sheet is open."""
        return self._sheet.isVisible()

    def shut(self) -> None:
        """Close what is open, without telling."""
        self._sheet.shut()

    def _note_focus(self) -> None:
        """Remember where the keyboard is."""
        if not self.is_open:
            self._focus_before = self._parent.window().focusWidget()

    @Slot()
    def _give_focus_back(self) -> None:
        """Put the keyboard where it was, lest Enter press whatever Qt finds next."""
        before = self._focus_before
        if before is not None and isValid(before) and before.isVisible():
            before.setFocus()
        else:
            self._parent.setFocus()


class SheetAsker(SheetOwner):
    """Sends what is typed into its sheet, one entry at a time.

    Whoever derives from it says what becomes of what was typed (``_submit``) and of each answer
    (``_close``, ``_refuse``, ``_doubt``).

    Signals:
        saved(Entry, str): it is on the disk; the sentence says what was saved.
        left(): the sheet was left without an entry.
    """

    saved = Signal(object, str)
    left = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget, sheet: EntrySheet) -> None:
        super().__init__(client, parent, sheet)
        self._sending = Sending(client, self)
        sheet.submitted.connect(self._submit)
        sheet.left.connect(self._leave)
        self._sending.saved.connect(self._close)
        self._sending.refused.connect(self._refuse)
        self._sending.doubted.connect(self._doubt)

    @property
    def busy(self) -> bool:
        """Whether an entry is on its way to the disk."""
        return self._sending.busy

    def keeps(self) -> bool:
        """Tell whether something typed is open here; then say that it is to be saved or left."""
        if not self._sheet.isVisible() or not self._sheet.is_typed:
            return False
        self._sheet.message.warn(tr("Save this or leave it first."))
        return True

    @Slot(object)
    def _submit(self, typed: Typed) -> None:
        raise NotImplementedError

    @Slot(object)
    def _close(self, answer: Saved) -> None:
        raise NotImplementedError

    @Slot(object)
    def _refuse(self, faults: dict[str, str]) -> None:
        raise NotImplementedError

    @Slot(object)
    def _doubt(self, sentences: tuple[str, ...]) -> None:
        self._sheet.ask_doubt(sentences)

    @Slot()
    def _leave(self) -> None:
        self._give_focus_back()
        self.left.emit()
