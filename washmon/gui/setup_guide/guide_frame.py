"""What stands around each page of the guide: steps, title, units, and the buttons below."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QHBoxLayout,
    QVBoxLayout,
    QWidget,
)

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.eye_order import EyeOrdered, step
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.page_rows import FrontStack
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.setup_guide.choices import ToggleField
from washmon.gui.setup_guide.layout import Page
from washmon.gui.setup_guide.rail import StepRail
from washmon.gui.setup_guide.saver import SaverBar
from washmon.units import UnitSystem

_NARROW_PX = 1100


class GuideFrame(QWidget, EyeOrdered):
    """Shows one of its pages, and works its buttons by keys; what they do is said elsewhere."""

    def __init__(self, pages: tuple[Page, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.pages = pages
        self.title = Text("", Size.LARGE, bold=True, parent=self)
        self.lead = Text("", tone=Tone.SOFT, wrapped=True, parent=self)
        self.units = ToggleField("", ((UnitSystem.METRIC, tr("Metric")), (UnitSystem.US, tr("US"))))
        self.units.setAccessibleName(tr("Units"))
        self.rail = StepRail(
            [page.title for page in pages],
            few=frozenset({0, 1, len(pages) - 1}),
            folded_only=frozenset({1}),
            parent=self,
        )
        self.stack = FrontStack(self)
        for page in pages:
            self.stack.addWidget(page)
        self.message = MessageLine(self)
        self.saver = SaverBar(self)
        self.leave = PressButton(tr("Leave without saving"), Rank.QUIET)
        self.back = PressButton(tr("Back"))
        self.next = PressButton(tr("Next"), Rank.PRIMARY, "Ctrl+Enter", bound=False)
        self.back.setMinimumWidth(140)
        self.next.setMinimumWidth(220)
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

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give the width to the pages where there is little."""
        super().resizeEvent(event)
        self.rail.narrow(narrow=self.width() < _NARROW_PX)

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
        page = self.pages[at]
        self.stack.setCurrentWidget(page)
        self.rail.show_step(at)
        self.title.setText(page.title)
        self.lead.setText(page.lead)
        self.units.setVisible(units)
        self.back.setEnabled(at > 0)
        self.next.set_label(tr("Save the set-up") if at == self.last else tr("Next"))
        first = next((field for _, field in page.fields() if field.focusable), None)
        if first is None:
            self.next.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            first.focus()

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
        foot.addWidget(self.back)
        foot.addWidget(self.next)
        right = QVBoxLayout()
        right.setSpacing(10)
        right.addLayout(head)
        right.addWidget(self.stack, 1)
        right.addWidget(self.saver)
        right.addLayout(foot)
        across = QHBoxLayout(self)
        across.setContentsMargins(12, 12, 12, 12)
        across.setSpacing(16)
        across.addWidget(self.rail)
        across.addLayout(right, 1)
