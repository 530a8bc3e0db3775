"""What stands around pages to fill in: a rail of them, title, units, and the buttons below."""

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import FrontStack, hbox, vbox
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.confirm import ask
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.setup_guide.choices import ToggleField
from washmon.gui.setup_guide.layout import FormPage
from washmon.gui.setup_guide.rail import StepRail
from washmon.units import UnitSystem

_NARROW_PX = 1100


class PagesFrame(QWidget):
    """Shows one of its pages, and asks before what was written there is left unsaved.

    Whoever derives from it knows what is ``unsaved``, and what is kept once it is ``settle``d.

    Signals:
        left(): nothing is wanted here any more.
    """

    left = Signal()

    def __init__(
        self,
        pages: tuple[FormPage, ...],
        leave: PressButton,
        buttons: tuple[PressButton, ...],
        *,
        few: frozenset[int] = frozenset(),
        folded_only: frozenset[int] = frozenset(),
        parent: QWidget | None = None,
    ) -> None:
        """Put the frame around pages.

        Args:
            pages: in their order.
            leave: leads away from them; stands first at the foot.
            buttons: stand last at the foot; the keyboard is put on the last where a page has
                nothing to fill in.
            few: the places of those that are gone through at first.
            folded_only: the places of those that the rail shows only when it is folded.
            parent: what the frame is laid in.
        """
        super().__init__(parent)
        self.pages, self.leave = pages, leave
        self._buttons = buttons
        self.title = Text("", Size.LARGE, bold=True, parent=self)
        self.lead = Text("", tone=Tone.SOFT, wrapped=True, parent=self)
        self.units = ToggleField("", ((UnitSystem.METRIC, tr("Metric")), (UnitSystem.US, tr("US"))))
        self.units.setAccessibleName(tr("Units"))
        names = [page.title for page in pages]
        self.rail = StepRail(names, few=few, folded_only=folded_only, parent=self)
        self.stack = FrontStack(*pages, parent=self)
        self.message = MessageLine(self)

    @property
    def at(self) -> int:
        """The page that is shown, from 0."""
        return self.stack.currentIndex()

    @property
    def page(self) -> FormPage:
        """The page that is shown."""
        return self.pages[self.at]

    @property
    def last(self) -> int:
        """The place of the last page."""
        return len(self.pages) - 1

    @property
    def unsaved(self) -> bool:
        """Whether something is written here that is kept nowhere."""
        raise NotImplementedError

    @Slot()
    def settle(self) -> None:
        """Take what is written as kept, or as given up."""
        raise NotImplementedError

    def hasHeightForWidth(self) -> bool:
        """Return that it does not: its pages scroll by themselves."""
        return False

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give the width to the pages where there is little."""
        super().resizeEvent(event)
        self.rail.narrow(narrow=self.width() < _NARROW_PX)

    def bring(self, at: int) -> None:
        """Show a page and put the keyboard on its first field."""
        page = self.pages[at]
        self.stack.setCurrentWidget(page)
        self.rail.show_step(at)
        self.title.setText(page.title)
        self.lead.setText(page.lead)
        first = next((field for _, field in page.fields() if field.focusable), None)
        if first is None:
            self._buttons[-1].setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            first.focus()

    @Slot()
    def ask_to_leave(self) -> None:
        """Leave; ask first where something would be lost."""
        if not self.unsaved:
            self.left.emit()
            return
        words = tr("Leave and forget what you wrote here?")
        ask(self, words, tr("Leave"), tr("Stay here")).answered.connect(self._answer_leave)

    @Slot(bool)
    def _answer_leave(self, yes: bool) -> None:  # noqa: FBT001 - Qt's signal
        if yes:
            self.settle()
            self.left.emit()

    def lay_out(self, *above_foot: QWidget, edge_px: int) -> None:
        """Put everything in its place; ``above_foot`` stand between the page and the buttons."""
        right = vbox(
            hbox((vbox(self.title, self.lead, gap_px=0), 1), self.units),
            (self.stack, 1),
            *above_foot,
            hbox(self.leave, (self.message, 1), *self._buttons, gap_px=8),
            gap_px=10,
        )
        hbox(self.rail, (right, 1), on=self, gap_px=16, margins_px=(12, edge_px, 12, edge_px))
