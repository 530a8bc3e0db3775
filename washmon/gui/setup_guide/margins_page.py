"""Margins and delays: what keeps flags from fluttering, and when they look ahead."""

import msgspec
from PySide6.QtCore import Slot
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, add, hbox
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.setup_guide import setup_words
from washmon.gui.setup_guide.fields import AmountField, ShareField
from washmon.gui.setup_guide.layout import FormPage, Scroller, Section
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import LineSetup, Margins
from washmon.line.validate_watching import SPANS

_ACROSS = 3


class MarginsPage(FormPage):
    """Few lines need other values than the usual ones, which one press brings back."""

    roots = frozenset({"margins"})

    def __init__(self, writing: WritingStyle, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Margins and delays"),
            tr("How the flags behave. The usual values suit most lines."),
            parent,
        )
        self._margins = Margins()
        self.margins: dict[str, AmountField] = {}
        scroller = Scroller(self)
        self.outer.addWidget(scroller)
        self.usual = PressButton(tr("Usual values"), then=self._bring_usual)
        self.usual.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.state = Text("", Size.SMALL, tone=Tone.SOFT)
        add(
            scroller.column,
            hbox(self.usual, (self.state, 1), gap_px=12),
            *(
                self._section(writing, heading, lead, names)
                for heading, lead, names in setup_words.margins()
            ),
            STRETCH,
        )
        self.changed.connect(self._say_state)

    def show_setup(self, setup: LineSetup) -> None:
        """Show the margins of a set-up."""
        self._margins = setup.margins
        self._show(setup.margins)

    def written(self) -> Margins:
        """Return the margins as written; what has no field stays as it came."""
        values = {name: field.value for name, field in self.margins.items()}
        return msgspec.structs.replace(self._margins, **values)

    def _section(
        self,
        writing: WritingStyle,
        heading: str,
        lead: str,
        names: tuple[tuple[str, str, str], ...],
    ) -> Section:
        section = Section(heading, lead, self)
        fields = [self._field(writing, name, caption, meaning) for name, caption, meaning in names]
        for at in range(0, len(fields), _ACROSS):
            section.row(*((field, 12 // _ACROSS) for field in fields[at : at + _ACROSS]))
        return section

    def _field(self, writing: WritingStyle, name: str, caption: str, meaning: str) -> AmountField:
        span = SPANS[name]
        make = ShareField if span.is_share else AmountField
        field = make(writing, span.kind, caption, meaning)
        self.margins[name] = self.enter(f"margins.{name}", field)
        return field

    def _show(self, margins: Margins) -> None:
        for name, field in self.margins.items():
            field.set_number(float(getattr(margins, name)))
        self._say_state()

    @Slot()
    def _say_state(self) -> None:
        usual = self.written() == Margins()
        self.usual.setEnabled(not usual)
        self.state.setText(tr("These are the usual values.") if usual else "")

    @Slot()
    def _bring_usual(self) -> None:
        self._show(Margins())
        self.changed.emit()
        self.left.emit()
