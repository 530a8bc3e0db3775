"""A PIN asked for over the window, where an entry turns out to need one."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.confirm import Question
from washmon.gui.kit.form_fields import TextField


class SecretQuestion(Question):
    """Asks for a PIN; Enter goes on with it, Esc gives it up. ``fault`` says what the last was."""

    def __init__(self, parent: QWidget, question: str, fault: str = "") -> None:
        super().__init__(parent, question, tr("Go on"), tr("Not now"))
        self.secret = TextField("pin", tr("PIN"), secret=True, parent=self)
        self.secret.show_fault(fault)
        self.card.body.insertWidget(1, self.secret)
        self.secret.editor.returnPressed.connect(self.yes.click)
        self.secret.setFocus()

    def focusNextPrevChild(self, forward: bool) -> bool:  # noqa: FBT001 (Qt's signature)
        """Keep the focus in the question: the PIN, then its two answers."""
        ring = [self.secret.editor, self.yes, self.no]
        at = next((at for at, one in enumerate(ring) if one.hasFocus()), -1)
        ring[(at + (1 if forward else -1)) % len(ring)].setFocus(Qt.FocusReason.TabFocusReason)
        return True
