"""Saving the set-up. Where PINs are in use who saves it is asked above the button that saves."""

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.entry.sending import Sending
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, keep_width
from washmon.gui.kit.card import Card
from washmon.gui.kit.form_fields import ListField, TextField
from washmon.gui.kit.text import Text
from washmon.gui.page import Window
from washmon.line.event_base import RULES
from washmon.line.setup import LineSetup, Person, Role
from washmon.line.site_events import SetupSaved

_FIELD_PX = 260


class SaverBar(Card):
    """Hidden until a PIN is asked for; the button below saves with what stands here."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent, margin_px=12)
        self.who = ListField("by", tr("Who saves it"), ())
        self.pin = TextField("pin", tr("PIN"), secret=True)
        words = tr("Limits decide what is held: a change of the set-up is signed with a PIN.")
        row = hbox((Text(words, wrapped=True), 1), gap_px=12)
        for field in (self.who, self.pin):
            keep_width(field, _FIELD_PX)
            row.addWidget(field)
        self.body.addLayout(row)
        self.hide()

    @property
    def by(self) -> str:
        """The initials of who was chosen, empty while nobody is asked."""
        return "" if self.isHidden() else self.who.text

    def ask(self, people: tuple[Person, ...], by: str, faults: dict[str, str]) -> None:
        """Ask for the PIN of somebody, or say what was wrong with the last."""
        first = self.isHidden()
        if first:
            named = tuple((one.initials, f"{one.initials}  {one.name}") for one in people)
            self.who.offer(named, by)
        self.pin.put("")
        self.show()
        self.who.show_fault(faults.get("by", ""))
        self.pin.show_fault("" if first else faults.get("pin", ""))
        self.pin.setFocus()

    def close_up(self) -> None:
        """Forget the PIN and hide."""
        self.pin.put("")
        self.hide()


class SetupSaving(QObject):
    """Sends what the guide describes to the journal, and says what became of it.

    Signals:
        saved(): it is on the disk.
    """

    saved = Signal()

    def __init__(self, bar: SaverBar, window: Window) -> None:
        super().__init__(bar)
        self._bar = bar
        self._window = window
        self._people: tuple[Person, ...] = ()
        self._by = ""
        self._sending = Sending(window.client, self)
        self._sending.saved.connect(self._saved)
        self._sending.refused.connect(self._refused)

    @Slot(object)
    def save(self, setup: LineSetup) -> None:
        """Save a set-up in the name of who was chosen, or stands before the window."""
        by = self._bar.by or self._window.person.initials
        if setup.person(by) is None:
            leads = (one.initials for one in setup.people if one.role is not Role.LINE_WORKER)
            by = next(leads, RULES)
        self._by, self._people = by, setup.people
        self._window.settings.line = setup.line
        saved = SetupSaved(at=self._window.client.clock(), by=by, setup=setup)
        self._sending.send(saved, self._window.person, pin=self._bar.pin.text)

    @Slot(object)
    def _refused(self, said: dict[str, str]) -> None:
        if said.keys() <= {"by", "pin"}:
            self._bar.ask(self._people, self._by, said)
        else:
            self._window.warn(" ".join(said.values()))

    @Slot(object)
    def _saved(self, _saved: object) -> None:
        self._bar.close_up()
        self.saved.emit()
        self._window.go_home()
        self._window.tell(
            tr("The set-up is saved. The running shift keeps the one it has.")
            if self._window.is_running
            else tr("The set-up is saved.")
        )
