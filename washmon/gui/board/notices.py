"""What stands over the columns, and what stands there where there are none.

What the Board says once the recorder has been silent for too long.
"""

from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QVBoxLayout, QWidget

from washmon.gui.board.panel_views import BannerView, BoardView, Phase
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import Stretch, add, hbox, keep_width, vbox
from washmon.gui.kit.card import Card
from washmon.gui.kit.state_mark import MarkState, StateMark
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.recorder import TICK_S


class Banner(Card):
    """One line over the columns; with a mark where it is trouble."""

    def __init__(self, view: BannerView, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.body.setContentsMargins(12, 7, 12, 6)
        row = hbox(gap_px=10)
        if view.look is not MarkState.IN_LIMITS:
            row.addWidget(StateMark(view.look, 20), 0, Qt.AlignmentFlag.AlignTop)
        self.words = Text(view.text, Size.BODY, bold=view.look is MarkState.STOP, wrapped=True)
        row.addWidget(self.words, 1)
        self.body.addLayout(row)
        self.show_look(view.look)
        self.setAccessibleName(view.text)


class Banners(QWidget):
    """All banners, one under the other."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._views: tuple[BannerView, ...] = ()
        self._stack = vbox(on=self, gap_px=6)
        self.hide()

    @property
    def views(self) -> tuple[BannerView, ...]:
        """What is shown."""
        return self._views

    def show_banners(self, views: tuple[BannerView, ...]) -> None:
        """Show these; does nothing when they are the same."""
        if views == self._views:
            return
        self._views = views
        while (item := self._stack.takeAt(0)) is not None:
            if (old := item.widget()) is not None:
                old.hide()
                old.deleteLater()
        for view in views:
            self._stack.addWidget(Banner(view, self))
        self.setVisible(bool(views))


class EmptyBoard(QWidget):
    """Says in the middle of the Board why it is empty and what comes next."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = Text("", Size.LARGE, bold=True)
        self.words = Text("", Size.LEAD, tone=Tone.SOFT, wrapped=True)
        keep_width(self.words, 520)
        for label in (self.title, self.words):
            label.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        column = QVBoxLayout(self)
        column.setSpacing(10)
        add(
            column,
            Stretch(2),
            (StateMark(MarkState.UNKNOWN, 44), 0, Qt.AlignmentFlag.AlignHCenter),
            6,
            self.title,
            (self.words, 0, Qt.AlignmentFlag.AlignHCenter),
            Stretch(3),
        )

    def show_phase(self, phase: Phase) -> None:
        """Say what is missing."""
        if phase is Phase.NO_SETUP:
            self.title.setText(tr("This line is not described yet"))
            self.words.setText(
                tr("Describe its tanks, products and limits once; then a shift can start.")
            )
        else:
            self.title.setText(tr("No shift is running"))
            self.words.setText(
                tr("Start a shift: each tank then has its column here, with what to do next.")
            )


SILENT_S = 3 * TICK_S
"""Three looks of the recorder at the clock were missed."""


def not_current(view: BoardView, silent_s: float) -> BoardView:
    """Return the Board as it is shown when nothing new has come for a while, in every panel."""
    if silent_s <= SILENT_S or not view.panels:
        return view
    said = tr(
        "Not current: nothing new for {seconds} s. The program waits for its records. Go by your "
        "own readings, and by the limits of the tanks.",
        seconds=round(silent_s),
    )
    panels = tuple(
        replace(one, look=MarkState.UNKNOWN, state=tr("Not current")) for one in view.panels
    )
    return replace(view, panels=panels, banners=(BannerView(said, MarkState.STOP), *view.banners))
