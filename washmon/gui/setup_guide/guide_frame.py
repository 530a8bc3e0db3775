"""What stands around each page of the guide: steps, title, units, and the buttons below."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.eye_order import EyeOrdered, step
from washmon.gui.setup_guide.layout import Page
from washmon.gui.setup_guide.pages_frame import PagesFrame
from washmon.gui.setup_guide.saver import SaverBar


class GuideFrame(PagesFrame, EyeOrdered):
    """Works its buttons by keys; what they do is said elsewhere."""

    def __init__(self, pages: tuple[Page, ...], parent: QWidget | None = None) -> None:
        self.back = PressButton(tr("Back"))
        self.next = PressButton(tr("Next"), Rank.PRIMARY, "Ctrl+Enter", bound=False)
        super().__init__(
            pages,
            PressButton(tr("Leave without saving"), Rank.QUIET),
            (self.back, self.next),
            few=frozenset({0, 1, len(pages) - 1}),
            folded_only=frozenset({1}),
            parent=parent,
        )
        self.saver = SaverBar(self)
        self.back.setMinimumWidth(140)
        self.next.setMinimumWidth(220)
        self.lay_out(self.saver, edge_px=12)

    def focusNextPrevChild(self, next: bool) -> bool:  # noqa: A002, FBT001 - Qt's name
        """Let Tab follow the eye, whatever was made or lent when."""
        return step(self.window(), forward=next) or super().focusNextPrevChild(next)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter goes on, field by field and then page by page; Ctrl+Enter turns the page."""
        if event.key() == Qt.Key.Key_Escape:
            self.leave.click()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
                self.next.click()
            else:
                self._enter()
        else:
            super().keyPressEvent(event)

    def _enter(self) -> None:
        focus = QApplication.focusWidget()
        if isinstance(focus, QAbstractButton) and not focus.isCheckable():
            focus.click()
            return
        if not self.page.enter_on(focus):
            self.next.click()

    def show_page(self, at: int, *, units: bool) -> None:
        """Show a page and put the keyboard on its first field; ``units`` shows their switch."""
        self.units.setVisible(units)
        self.back.setEnabled(at > 0)
        self.next.set_label(tr("Save the set-up") if at == self.last else tr("Next"))
        self.bring(at)
