"""The last page: the whole set-up to look over, what is still to mend, and cautions."""

from collections.abc import Sequence
from typing import NamedTuple

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, add, hbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.state_mark import MarkState, StateMark
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.setup_guide.change_words import about, told
from washmon.gui.setup_guide.layout import FormPage, Scroller, Section
from washmon.gui.setup_guide.setup_summary import Block
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import LineSetup
from washmon.line.setup_changes import changes

_ACROSS = 3
_WIDEST_PX = 1680


class ToMend(NamedTuple):
    """A sentence, where it is mended, and what that place is called."""

    path: str
    sentence: str
    place: str


class ChangeShown(NamedTuple):
    """What saving would change: what it is about, what it was, what it will be."""

    about: str
    was: str
    now: str


class GoButton(PressButton):
    """Leads to the field of a path."""

    asked = Signal(str)

    def __init__(self, text: str, path: str, parent: QWidget | None = None) -> None:
        super().__init__(text, Rank.QUIET, parent=parent)
        self.path = path
        self.clicked.connect(self._ask)

    @Slot()
    def _ask(self) -> None:
        self.asked.emit(self.path)


class LookPage(FormPage):
    """Built anew at each look; it has nothing to fill in."""

    wanted = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Look over and save"), tr("Read it once as a stranger would, then save."), parent
        )
        self._scroller = Scroller(self, widest_px=_WIDEST_PX)
        self.outer.addWidget(self._scroller)
        self._shown: QWidget | None = None
        self.sentences: list[str] = []
        self.what_changes: list[ChangeShown] = []

    def show_summary(
        self,
        blocks: list[Block],
        to_mend: list[ToMend],
        cautions: list[ToMend],
        changed: Sequence[ChangeShown] = (),
    ) -> None:
        """Show a set-up with what stands in its way and what is only said."""
        to_mend = list({(one.place, one.sentence): one for one in reversed(to_mend)}.values())[::-1]
        self.sentences = [one.sentence for one in (*to_mend, *cautions)]
        if self._shown is not None:
            self._scroller.column.removeWidget(self._shown)
            self._shown.hide()
            self._shown.deleteLater()
        self._shown = QWidget(self)
        grid = QGridLayout(self._shown)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(10)
        for column in range(_ACROSS):
            grid.setColumnStretch(column, 1)
        row = 0
        for heading, found, look in (
            (tr("Still to mend"), to_mend, MarkState.STOP),
            (tr("Worth knowing"), cautions, MarkState.WATCH),
        ):
            if found:
                grid.addWidget(self._findings(heading, found, look), row, 0, 1, _ACROSS)
                row += 1
        self.what_changes = list(changed)
        if changed:
            grid.addWidget(self._changes(changed), row, 0, 1, _ACROSS)
            row += 1
        self._add_blocks(grid, blocks, row)
        self._scroller.column.insertWidget(0, self._shown)
        if self._scroller.column.count() == 1:
            self._scroller.column.addStretch(1)
        self._scroller.verticalScrollBar().setValue(0)

    def _add_blocks(self, grid: QGridLayout, blocks: list[Block], row: int) -> None:
        """Set the line's own blocks first, then its tanks, each kind from the left."""
        for tanks in (False, True):
            chosen = [block for block in blocks if block.path.startswith("tanks") is tanks]
            for at, block in enumerate(chosen):
                # The last of the line's own blocks takes the rest of its row.
                alone = not tanks and at + 1 == len(chosen)
                span = _ACROSS - at % _ACROSS if alone else 1
                grid.addWidget(self._block(block), row + at // _ACROSS, at % _ACROSS, 1, span)
            row += (len(chosen) + _ACROSS - 1) // _ACROSS

    def _block(self, block: Block) -> Section:
        section = Section("", "", self)
        change = GoButton(tr("Change"), block.path)
        change.setAccessibleName(tr("Change {what}", what=block.heading))
        change.asked.connect(self.wanted)
        add(
            section.body,
            hbox((Text(block.heading, Size.LEAD, bold=True, wrapped=True), 1), change),
            *(Text(line, wrapped=True) for line in block.lines),
            STRETCH,
        )
        section.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        return section

    def _changes(self, changed: Sequence[ChangeShown]) -> Section:
        section = Section(
            tr("What changes"),
            tr("From the next shift on. The journal keeps each change with who made it, and when."),
            self,
        )
        grid = QGridLayout()
        grid.setVerticalSpacing(2)
        grid.setHorizontalSpacing(16)
        for column, stretch in enumerate((2, 1, 1)):
            grid.setColumnStretch(column, stretch)
        for row, one in enumerate(changed):
            was = tr("was {value}", value=one.was)
            grid.addWidget(Text(one.about, wrapped=True), row, 0)
            grid.addWidget(Text(was, tone=Tone.SOFT, wrapped=True), row, 1)
            grid.addWidget(Text(tr("now {value}", value=one.now), bold=True, wrapped=True), row, 2)
        section.body.addLayout(grid)
        return section

    def _findings(self, heading: str, found: list[ToMend], look: MarkState) -> Section:
        section = Section(heading, "", self)
        grid = QGridLayout()
        grid.setVerticalSpacing(0)
        grid.setHorizontalSpacing(10)
        grid.setColumnStretch(2, 1)
        for row, one in enumerate(found):
            go = GoButton(tr("Go there"), one.path)
            go.setAccessibleDescription(one.sentence)
            go.asked.connect(self.wanted)
            grid.addWidget(StateMark(look, 18), row, 0, Qt.AlignmentFlag.AlignVCenter)
            grid.addWidget(Text(one.place, tone=Tone.SOFT), row, 1)
            grid.addWidget(Text(one.sentence, wrapped=True), row, 2)
            grid.addWidget(go, row, 3)
        section.body.addLayout(grid)
        return section


def changed(before: LineSetup, draft: LineSetup, writing: WritingStyle) -> list[ChangeShown]:
    """Return what would change, in the words and units of who reads it."""
    return [
        ChangeShown(
            about(one, before, draft), told(one.was, writing.show), told(one.now, writing.show)
        )
        for one in changes(before, draft)
    ]
