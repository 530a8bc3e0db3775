"""What the trainee was told before, and hints that are shown one by one when asked."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, vbox
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.sessions.practice.scenario import Scenario


class Briefing(QWidget):
    """Stands over the Board while it is wanted.

    Signals:
        hint_wanted(str): one more hint is shown.
    """

    hint_wanted = Signal(str)

    def __init__(self, scenario: Scenario, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._hints = scenario.hints
        self._shown = 0
        words = " ".join(scenario.briefing.split())
        told = tr("{goal} {briefing}", goal=scenario.goal, briefing=words)
        self.words = Text(told, Size.BODY, wrapped=True)
        self.hints = Text("", Size.BODY, tone=Tone.HAND, wrapped=True)
        self.more = PressButton("", then=self._show_next)
        vbox(
            self.words,
            hbox((self.hints, 1), self.more),
            on=self,
            gap_px=4,
            margins_px=(14, 2, 14, 6),
        )
        self._tell()

    @Slot()
    def _show_next(self) -> None:
        self.show_hints(self._shown + 1)
        self.hint_wanted.emit(self._hints[self._shown - 1])

    def show_hints(self, count: int) -> None:
        """Show so many hints, and none of them less than before."""
        self._shown = min(max(count, self._shown), len(self._hints))
        self._tell()

    def _tell(self) -> None:
        self.hints.setText("\n".join(self._hints[: self._shown]))
        self.hints.setVisible(bool(self._shown))
        left = len(self._hints) - self._shown
        self.more.set_label(tr("A hint ({left} left)", left=left))
        self.more.setVisible(left > 0)
