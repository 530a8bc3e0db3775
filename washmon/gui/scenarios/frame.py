"""What stands around each page of the editor: its pages, title, units, and the buttons below."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.setup_guide.layout import Page
from washmon.gui.setup_guide.pages_frame import PagesFrame


class EditorFrame(PagesFrame):
    """Works its buttons by keys; what they do is said elsewhere."""

    def __init__(self, pages: tuple[Page, ...], parent: QWidget | None = None) -> None:
        self.back = PressButton(tr("Back"))
        self.next = PressButton(tr("Next"))
        self.save = PressButton(tr("Save"), Rank.PRIMARY, "Ctrl+S")
        leave = PressButton(tr("Leave"), Rank.SECONDARY, "Esc", bound=False)
        super().__init__(pages, leave, (self.back, self.next, self.save), parent=parent)
        self.setObjectName("paper")
        self.lay_out(edge_px=10)

    def show_page(self, at: int) -> None:
        """Show a page and put the keyboard on its first field."""
        self.back.setEnabled(at > 0)
        self.next.setEnabled(at < self.last)
        self.bring(at)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc leaves, Enter goes on to the next field, and then to the next page."""
        if event.key() == Qt.Key.Key_Escape:
            self.leave.click()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if not self.page.enter_on(self.window().focusWidget()):
                self.next.click()
        else:
            super().keyPressEvent(event)
