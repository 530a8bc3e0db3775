"""The check list before the first batch: big toggles, one to a line."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.line.events import Checked

_LINE_PX = 52


def items() -> tuple[tuple[str, str], ...]:
    """Return each thing to check: as it is recorded, and in the language of the window."""
    return (
        ("tanks and line cleaned", tr("Tanks and line cleaned")),
        ("water is fit to drink", tr("Water is fit to drink")),
        ("strips in date, meter checked", tr("Strips in date, meter checked")),
        ("goggles and gloves on", tr("Goggles and gloves on")),
        ("product label read", tr("Product label read")),
    )


class CheckList(QWidget):
    """A toggle for each thing; pressed means done."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        column = vbox(on=self, gap_px=8)
        self.buttons: dict[str, PressButton] = {}
        self._words = dict(items())
        for item, words in self._words.items():
            button = PressButton(words, Rank.TOGGLE, parent=self, then=self._change)
            button.setCheckable(True)
            button.setMinimumHeight(_LINE_PX)
            button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            self.buttons[item] = button
            column.addWidget(button)

    def clear(self) -> None:
        """Take all ticks away."""
        for button in self.buttons.values():
            button.setChecked(False)
        self._mark()

    def checked(self) -> tuple[Checked, ...]:
        """Return the list as it is recorded."""
        return tuple(
            Checked(item=item, done=button.isChecked()) for item, button in self.buttons.items()
        )

    def undone(self) -> tuple[str, ...]:
        """Return what was not done, in words."""
        done = {item for item, button in self.buttons.items() if button.isChecked()}
        return tuple(words.lower() for item, words in self._words.items() if item not in done)

    @Slot()
    def _change(self) -> None:
        self._mark()
        self.changed.emit()

    def _mark(self) -> None:
        for item, button in self.buttons.items():
            words = self._words[item]
            button.set_label(f"✓  {words}" if button.isChecked() else words)
