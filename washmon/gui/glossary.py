"""The odd words, each explained once: in Help, and where it is met."""

import re
from collections.abc import Sequence

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import FlowLayout, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size

WORDS = (
    ("Critical low", "Under it, washing must stop and what was washed is held."),
    ("Operating low and high", "The band to stay in, so that there is time to act."),
    ("Fill", "One charge of water in a tank, from a water change to the next."),
    (
        "Second fill",
        (
            "Fresh water made ready in a vessel beside a tank: filled, dosed, checked, and swapped "
            "in. A check of it says nothing of what was washed in the old water."
        ),
    ),
    ("Flag", "What a rule says of a tank now: stop, act, or watch."),
    ("Free chlorine", "Chlorine that still works; total is free and used-up (combined) together."),
    ("Combined chlorine", "Chlorine that is used up: total less free. Much of it smells."),
    ("Alkalinity", "What in the water holds its pH up: the more, the more acid it takes."),
    (
        "Shelve",
        (
            "Put a flag aside for a stated time, with a reason. It stays in the record, comes back "
            "by itself, and at once where it gets worse, its tank has to stop or gets new water."
        ),
    ),
    ("NTU", "How cloudy the water is, by a meter: light that soil scatters."),
    ("CT", "HOCl times the time in the water, mg min/L: what a batch met in its tanks."),
    ("HOCl", "The active part of free chlorine; a lower pH means more of it."),
)
_PLAIN = frozenset({"Fill", "Flag", "Operating low and high"})
"""Words that are explained in Help only: they are met everywhere."""


def odd_words(text: str) -> tuple[str, ...]:
    """Return the words of the glossary that a text uses, in its order; none of everyday ones."""
    found = []
    for word, _ in WORDS:
        if word not in _PLAIN:
            case = re.NOFLAG if word.isupper() or word == "HOCl" else re.IGNORECASE
            hit = re.search(rf"\b{re.escape(tr(word))}\b", text, case)
            found += [(hit.start(), word)] if hit else []
    return tuple(word for _, word in sorted(found))


class WordLinks(QWidget):
    """The odd words of what stands above; a press explains one right here, another closes it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._words: tuple[str, ...] = ()
        self.buttons: dict[str, PressButton] = {}
        self.meaning = Text("", Size.BODY, tone=Tone.SOFT, wrapped=True, parent=self)
        self.meaning.setMinimumWidth(1)
        self.meaning.hide()
        self._line = FlowLayout(gap_px=8)
        vbox(self._line, self.meaning, on=self, gap_px=4)

    def link(self, texts: Sequence[str]) -> None:
        """Offer the odd words of these texts."""
        words = odd_words("\n".join(texts))
        if words == self._words:
            return
        self._words = words
        for old in self.buttons.values():
            self._line.removeWidget(old)
            old.hide()
            old.deleteLater()
        self.buttons = {}
        for word in words:
            button = PressButton(
                tr("{word}?", word=tr(word)), Rank.QUIET, parent=self, then=self._explain
            )
            button.setObjectName(word)
            button.setAccessibleName(tr("What is {word}?", word=tr(word)))
            button.setCheckable(True)
            self._line.addWidget(button)
            button.show()
            self.buttons[word] = button
        self.meaning.hide()
        self.setVisible(bool(words))

    @Slot()
    def _explain(self) -> None:
        chosen = self.sender().objectName()
        on = self.buttons[chosen].isChecked()
        for word, button in self.buttons.items():
            button.setChecked(on and word == chosen)
        self.meaning.setText(tr(dict(WORDS)[chosen]))
        self.meaning.setVisible(on)
