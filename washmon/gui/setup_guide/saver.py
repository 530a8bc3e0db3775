"""Who saves the set-up, where PINs are in use: asked in place, above the button that saves."""

from PySide6.QtWidgets import QHBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.card import Card
from washmon.gui.kit.form_fields import ListField, TextField
from washmon.gui.kit.text import Text
from washmon.line.setup import Person

_FIELD_PX = 260


class SaverBar(Card):
    """Hidden until a PIN is asked for; the button below saves with what stands here."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent, margin_px=12)
        self.who = ListField("by", tr("Who saves it"), ())
        self.pin = TextField("pin", tr("PIN"), secret=True)
        row = QHBoxLayout()
        row.setSpacing(12)
        words = tr("Limits decide what is held: a change of the set-up is signed with a PIN.")
        row.addWidget(Text(words, wrapped=True), 1)
        for field in (self.who, self.pin):
            field.setFixedWidth(_FIELD_PX)
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
