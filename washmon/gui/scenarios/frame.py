"""What stands around each page of the editor: its pages, title, units, and the buttons below."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.page_rows import FrontStack
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.setup_guide.choices import ToggleField
from washmon.gui.setup_guide.layout import Page
from washmon.gui.setup_guide.rail import StepRail
from washmon.units import UnitSystem

_NARROW_PX = 1100


class EditorFrame(QWidget):
    """Shows one of its pages; what its buttons do is said elsewhere."""

    def __init__(self, pages: tuple[Page, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("paper")
        self.pages = pages
        self.title = Text("", Size.LARGE, bold=True, parent=self)
        self.lead = Text("", tone=Tone.SOFT, wrapped=True, parent=self)
        self.units = ToggleField("", ((UnitSystem.METRIC, tr("Metric")), (UnitSystem.US, tr("US"))))
        self.units.setAccessibleName(tr("Units"))
        nothing: frozenset[int] = frozenset()
        self.rail = StepRail(
            [page.title for page in pages], few=nothing, folded_only=nothing, parent=self
        )
        self.stack = FrontStack(self)
        for page in pages:
            self.stack.addWidget(page)
        self.message = MessageLine(self)
        self.leave = PressButton(tr("Leave"), Rank.SECONDARY, "Esc", bound=False)
        self.back = PressButton(tr("Back"))
        self.next = PressButton(tr("Next"))
        self.save = PressButton(tr("Save"), Rank.PRIMARY, "Ctrl+S")
        self._lay_out()

    @property
    def at(self) -> int:
        """The page that is shown, from 0."""
        return self.stack.currentIndex()

    @property
    def page(self) -> Page:
        """The page that is shown."""
        return self.pages[self.at]

    @property
    def last(self) -> int:
        """The place of the last page."""
        return len(self.pages) - 1

    def hasHeightForWidth(self) -> bool:
        """Return that it does not: its pages scroll by themselves."""
        return False

    def show_page(self, at: int) -> None:
        """Show a page and put the keyboard on its first field."""
        page = self.pages[at]
        self.stack.setCurrentWidget(page)
        self.rail.show_step(at)
        self.title.setText(page.title)
        self.lead.setText(page.lead)
        self.back.setEnabled(at > 0)
        self.next.setEnabled(at < self.last)
        first = next((field for _, field in page.fields() if field.focusable), None)
        if first is None:
            self.save.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            first.focus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc leaves, Enter goes on to the next field, and then to the next page."""
        if event.key() == Qt.Key.Key_Escape:
            self.leave.click()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if not self.page.enter_on(self.window().focusWidget()):
                self.next.click()
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give the width to the pages where there is little."""
        super().resizeEvent(event)
        self.rail.narrow(narrow=self.width() < _NARROW_PX)

    def _lay_out(self) -> None:
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(self.title)
        words.addWidget(self.lead)
        head = QHBoxLayout()
        head.addLayout(words, 1)
        head.addWidget(self.units)
        foot = QHBoxLayout()
        foot.setSpacing(8)
        foot.addWidget(self.leave)
        foot.addWidget(self.message, 1)
        for button in (self.back, self.next, self.save):
            foot.addWidget(button)
        right = QVBoxLayout()
        right.setSpacing(10)
        right.addLayout(head)
        right.addWidget(self.stack, 1)
        right.addLayout(foot)
        across = QHBoxLayout(self)
        across.setContentsMargins(12, 10, 12, 10)
        across.setSpacing(16)
        across.addWidget(self.rail)
        across.addLayout(right, 1)
