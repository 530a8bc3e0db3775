"""Who signs, with which PIN, and what they note: the fields of a signature, in one row."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, keep_width
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.form_fields import ListField, TextField
from washmon.line.setup import Person

_FIELD_PX = 230


class SignatureFields(QWidget):
    """Asks for a signature; sends nothing.

    Signals:
        given(): it was given, by the button or by Enter.
        put_off(): not now.
    """

    given = Signal()
    put_off = Signal()

    def __init__(self, words: str, *, indent_px: int = 0, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.who = ListField("by", tr("Who signs"), ())
        self.pin = TextField("pin", tr("PIN"), secret=True)
        self.note = TextField("note", tr("Note on the review"))
        self.save = PressButton(words, Rank.PRIMARY, then=self.given)
        self.cancel = PressButton(tr("Not now"), Rank.QUIET, then=self.put_off)
        fields = hbox(on=self, gap_px=12, margins_px=(indent_px, 0, 0, 0))
        for field in (self.who, self.pin):
            keep_width(field, _FIELD_PX)
            fields.addWidget(field)
        fields.addWidget(self.note, 1)
        buttons = hbox(self.save, self.cancel, margins_px=(0, 20, 0, 0))
        fields.addLayout(buttons)
        fields.setAlignment(buttons, Qt.AlignmentFlag.AlignTop)
        fields.addStretch()
        self.pin.editor.returnPressed.connect(self.given)
        self.note.editor.returnPressed.connect(self.given)

    def ask(self, people: Sequence[Person], mine: str, *, asks_pin: bool) -> None:
        """Ask one of these people; whoever stands there, or is the only one, is chosen."""
        known = [one.initials for one in people]
        chosen = mine if mine in known else known[0] if len(known) == 1 else ""
        names = tuple((one.initials, f"{one.initials}  {one.name}") for one in people)
        self.who.offer(names, chosen)
        for field in (self.who, self.pin, self.note):
            field.show_fault("")
        self.pin.put("")
        self.note.put("")
        self.pin.setVisible(asks_pin)

    def take_keyboard(self) -> None:
        """Put the keyboard where something is missing."""
        (self.pin if self.who.text and not self.pin.isHidden() else self.who).setFocus()
