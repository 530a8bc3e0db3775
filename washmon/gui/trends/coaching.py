"""The switch of the trend that names people: off until a manager switches it on."""

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, keep_width, vbox
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.form_fields import ListField, TextField
from washmon.gui.kit.text import Text
from washmon.gui.settings import Settings
from washmon.line.check import Fault
from washmon.line.journal import SITE
from washmon.line.pins import pins_of
from washmon.line.setup import Person as Somebody
from washmon.line.setup import Role
from washmon.store.store import Store

_FIELD_PX = 230
Known = tuple[tuple[Somebody, ...], bool]


class CoachingSwitch(QWidget):
    """``switched()``: it went on or off, on this computer."""

    switched = Signal()

    def __init__(
        self, client: RecorderClient, settings: Settings, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._client, self._settings = client, settings
        self._person: UserContext | None = None
        self._in_use = False
        self.words = Text("", wrapped=True, parent=self)
        self.who = ListField("by", tr("Manager"), (), parent=self)
        self.pin = TextField("pin", tr("PIN"), secret=True, parent=self)
        self.switch = PressButton("", parent=self, then=self._press)
        for field in (self.who, self.pin):
            keep_width(field, _FIELD_PX)
        beside = vbox(self.switch, margins_px=(0, 20, 0, 0))
        row = hbox((self.words, 1), self.who, self.pin, beside, on=self, gap_px=12)
        row.setAlignment(beside, Qt.AlignmentFlag.AlignTop)
        self.pin.editor.returnPressed.connect(self._press)
        self._suit()

    @property
    def on(self) -> bool:
        """Whether people may be named."""
        return self._settings.coaching

    def open(self, person: UserContext) -> None:
        """Ask anew who are managers, and show the switch as it stands."""
        self._person = person
        self._client.read(_managers, self._show)

    def _show(self, result: object) -> None:
        if not isinstance(result, tuple):
            return
        people, self._in_use = result
        mine = self._person.initials if self._person else ""
        known = [one.initials for one in people]
        chosen = mine if mine in known else next(iter(known), "")
        self.who.offer(
            tuple((one.initials, f"{one.initials}  {one.name}") for one in people), chosen
        )
        self._suit()

    def _suit(self) -> None:
        for field in (self.who, self.pin):
            field.show_fault("")
            field.setVisible(not self.on)
        self.pin.put("")
        self.pin.setVisible(not self.on and self._in_use)
        self.switch.set_label(tr("Switch off") if self.on else tr("Switch on"))
        self.words.setText(_sentence() if self.on else f"{_sentence()} {_off()}")

    @Slot()
    def _press(self) -> None:
        if self.on:
            self._turn(on=False)
        elif self.who.text:
            self._client.vouch(self.who.text, self.pin.text, self._vouched)
        else:
            self.who.show_fault(tr("The set-up names no manager: add one there first."))

    def _vouched(self, result: object) -> None:
        if result is None:
            self._turn(on=True)
            return
        said = str(result)
        if isinstance(result, Fault) and self._person is not None:
            said = self._person.say(result.message)
        at_pin = isinstance(result, Fault) and result.field == "pin"
        self.pin.put("")
        (self.pin if at_pin else self.who).show_fault(said)

    def _turn(self, *, on: bool) -> None:
        self._settings.coaching = on
        self._suit()
        self.switched.emit()


def _sentence() -> str:
    return tr(
        "For coaching, not for blame: a late check stands with who took it, not with who let it "
        "wait. It is part of no record and no export."
    )


def _off() -> str:
    return tr("It is off: a manager switches it on, for this computer.")


def _managers(store: Store) -> Known:
    setup = store.latest_setup()
    people = setup.people if setup else ()
    managers = tuple(one for one in people if one.role is Role.MANAGER)
    return managers, pins_of(store.entries(SITE)).in_use
