"""PINs: whose, who gives it, and the new one; a manager takes a forgotten one away."""

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.entry.sending import Sending
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, keep_width, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.form import Form
from washmon.gui.kit.form_fields import ListField, TextField
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.shift.start import FORM_PX
from washmon.line.journal import SITE
from washmon.line.pins import Pins, hash_pin, pins_of, weak
from washmon.line.setup import Person as Somebody
from washmon.line.site_events import PinReset, PinSet
from washmon.recorder import Saved
from washmon.store.store import Store

Known = tuple[tuple[Somebody, ...], Pins]


class PinsPage(QWidget):
    """Sets one PIN at a time.

    Signals:
        left(): back to where it was opened from.
        loaded(): people and what they have are shown.
    """

    left = Signal()
    loaded = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._person: UserContext | None = None
        self._pins = Pins()
        self._sending = Sending(client, self)
        self.state = Text("", tone=Tone.SOFT, wrapped=True)
        self.form = Form()
        keep_width(self.form, FORM_PX, most=True)
        self.who = ListField("who", tr("Whose PIN"), ())
        self.by = ListField("by", tr("Who sets it"), ())
        self.pin = TextField("pin", tr("PIN of who sets it"), secret=True)
        hint = tr("At least 4 characters, of any kind. Nobody can read it afterwards.")
        self.new = TextField("new", tr("New PIN"), hint=hint, secret=True)
        self.again = TextField("again", tr("New PIN once more"), secret=True)
        self.message = MessageLine()
        self.save = PressButton(tr("Set PIN"), Rank.PRIMARY, then=self._save)
        self.reset = PressButton(tr("Reset"), then=self._reset)
        self.leave = PressButton(tr("Back"), Rank.SECONDARY, "Esc", bound=False, then=self.left)
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        self.form.add(self.state)
        self.form.add_row(self.who, self.by)
        self.form.add(self.pin)
        self.form.add_row(self.new, self.again)
        foot = hbox((self.message, 1), gap_px=8)
        for button in (self.reset, self.save, self.leave):
            button.setMinimumHeight(56)
            foot.addWidget(button)
        vbox(
            Text(tr("PINs"), Size.LARGE, bold=True),
            (self.form, 1),
            foot,
            on=self,
            gap_px=16,
            margins_px=(24, 20, 24, 20),
        )

    def _connect(self) -> None:
        self.who.changed.connect(self._follow)
        self.by.changed.connect(self._follow)
        self._sending.saved.connect(self._saved)
        self._sending.refused.connect(self._refused)

    def open(self, person: UserContext) -> None:
        """Show who has a PIN; :attr:`loaded` follows."""
        self._person = person
        self.message.clear()
        self._empty()
        self._read()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take Esc as going back, Enter as setting."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._save()
        else:
            super().keyPressEvent(event)

    def _read(self) -> None:
        self._client.read(_known, self._show)

    def _show(self, result: object) -> None:
        if not isinstance(result, tuple):
            self.message.warn(str(result))
            return
        people, self._pins = result
        mine = self._person.initials if self._person else ""
        for field in (self.who, self.by):
            chosen = field.text or mine
            field.offer(tuple((one.initials, f"{one.initials}  {one.name}") for one in people))
            field.put(chosen)
        self._follow()
        self.loaded.emit()

    @Slot()
    def _follow(self) -> None:
        """Ask only for what is needed of this person for that PIN."""
        who, by = self.who.text, self.by.text
        self.state.setText(self._state(who))
        self.pin.setVisible(by in self._pins.hashes)
        self.reset.setVisible(who in self._pins.hashes)

    def _state(self, who: str) -> str:
        if not self._pins.in_use:
            return tr(
                "No PIN is set: signing takes initials only. Once a manager sets a PIN of their "
                "own, signing asks everybody for one."
            )
        if who in self._pins.hashes:
            return tr("{who} has a PIN. It is changed with the old one, or reset.", who=who)
        if who in self._pins.freed:
            return tr("The PIN of {who} was reset: a new one can be chosen.", who=who)
        return tr("{who} has no PIN yet: a manager sets the first.", who=who) if who else ""

    @Slot()
    def _save(self) -> None:
        faults = {}
        if (why := weak(self.new.text)) and self._person is not None:
            faults["new"] = self._person.say(why)
        elif self.new.text != self.again.text:
            faults["again"] = tr("The two are not the same: type both again.")
        if self._ready(faults):
            event = PinSet(
                at=self._client.clock(),
                by=self.by.text,
                who=self.who.text,
                hash=hash_pin(self.new.text),
            )
            self._send(event)

    @Slot()
    def _reset(self) -> None:
        if self._ready({}):
            self._send(PinReset(at=self._client.clock(), by=self.by.text, who=self.who.text))

    def _ready(self, faults: dict[str, str]) -> bool:
        for field, words in (
            (self.who, tr("Say whose PIN.")),
            (self.by, tr("Say who sets it.")),
        ):
            if not field.text:
                faults[field.key] = words
        self.form.show_faults(faults)
        return not faults and not self._sending.busy

    def _send(self, event: PinSet | PinReset) -> None:
        if self._person is not None:
            self._sending.send(event, self._person, pin=self.pin.text)

    @Slot(object)
    def _saved(self, answer: Saved) -> None:
        self._empty()
        reset = isinstance(answer.entry.event, PinReset)
        self.message.say(tr("The PIN is taken away.") if reset else tr("The new PIN is set."))
        self._read()

    @Slot(object)
    def _refused(self, faults: dict[str, str]) -> None:
        self.pin.put("")
        known = self.form.fields()
        self.form.show_faults(faults)
        rest = [said for key, said in faults.items() if key not in known]
        self.message.warn(" ".join(rest)) if rest else self.message.clear()

    def _empty(self) -> None:
        for field in (self.pin, self.new, self.again):
            field.put("")
        self.form.show_faults({})


def _known(store: Store) -> Known:
    setup = store.latest_setup()
    return (setup.people if setup else (), pins_of(store.entries(SITE)))
