"""One thing to fill in: its caption, its editor, and beside it a hint or what is wrong."""

import math
from datetime import date

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QLineEdit, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import TOUCH_PX
from washmon.gui.kit.form_fields import FormField
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.units import Kind, UnitError, symbol


class GuideField(FormField):
    """A field of a page of many, with a quiet caption."""

    def __init__(self, caption: str = "", hint: str = "", parent: QWidget | None = None) -> None:
        super().__init__("", caption, hint=hint, parent=parent)


class AmountField(GuideField):
    """A number with its unit, read at each key press in the units of that moment.

    The exact value is kept apart from its text: showing it in other units never changes it.
    """

    def __init__(
        self,
        writing: WritingStyle,
        kind: Kind,
        caption: str,
        hint: str = "",
        *,
        optional: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(caption, hint, parent)
        self.editor = QLineEdit(self)
        self.editor.setMinimumHeight(TOUCH_PX)
        self.kind = kind
        self._writing = writing
        self._optional = optional
        self._value: float | None = None
        self._refusal: UnitError | None = None
        self._hold(self.editor, read=self.editor.text)
        self.editor.textEdited.connect(self._take)
        self.left.connect(self._tidy)
        writing.changed.connect(self.show_again)
        self.set_number(None)

    @property
    def empty(self) -> bool:
        """Whether nothing is written."""
        return not self.editor.text().strip()

    @property
    def number(self) -> float | None:
        """The value in the kind's base unit; NaN where it cannot be read or is missing."""
        missing = self._value is None and not self._optional
        return math.nan if self._refusal or missing else self._value

    @property
    def value(self) -> float:
        """The number where one is needed; NaN where there is none."""
        number = self.number
        return math.nan if number is None else number

    @property
    def count(self) -> int | None:
        """The value as a whole number; 1 stands in where it cannot be read."""
        number = self.number
        if number is None:
            return None
        return int(number) if math.isfinite(number) else 1

    def read(self) -> float | int | None:
        """Return the number; a count as a whole one."""
        return self.count if self.kind is Kind.COUNT else self.number

    def put(self, value: object) -> None:
        """Show a number, or none."""
        self.set_number(value if isinstance(value, int | float) else None)

    def set_number(self, value: float | None) -> None:
        """Show a value; NaN, which no set-up may hold, as an empty field."""
        self._value = value if value is not None and math.isfinite(value) else None
        self.editor.setText("" if self._value is None else self._write(self._value))
        self._refusal = None

    def problem(self) -> str:
        """Return the refusal of what is written."""
        if self._refusal is not None:
            return self._writing.refuse(self._refusal)
        if self._value is None and not self._optional:
            return tr("This is needed: write a number.")
        return ""

    def set_kind(self, kind: Kind) -> None:
        """Mean another kind by the same number."""
        if kind is self.kind:
            return
        self.kind = kind
        if self._refusal is not None:
            self._read_text(self.editor.text())
        elif self._value is not None:
            self.set_number(self._value)

    @Slot(str)
    def _take(self, text: str) -> None:
        self._read_text(text)
        self.changed.emit()

    def _read_text(self, text: str) -> None:
        self._value, self._refusal = None, None
        if text.strip():
            try:
                self._value = self._read(text)
            except UnitError as refusal:
                self._refusal = refusal

    def _read(self, text: str) -> float:
        return self._writing.parse(text, self.kind)

    def _write(self, value: float) -> str:
        return self._writing.show(value, self.kind).replace("\N{NO-BREAK SPACE}", " ")

    def _bare(self, text: str) -> bool:
        return bool(text.strip()) and text.strip()[-1].isdigit()

    @Slot()
    def _tidy(self) -> None:
        """Write the unit that was understood; digits that this would round stay as typed."""
        text, value = self.editor.text(), self._value
        if value is None:
            return
        shown = self._write(value)
        if math.isclose(self._read(shown), value, rel_tol=1e-9, abs_tol=1e-12):
            self.editor.setText(shown)
        elif self._bare(text):
            self.editor.setText(f"{text.strip()} {symbol(self.kind, self._writing.taste)}".strip())

    @Slot()
    def show_again(self) -> None:
        """Show the value in the other units; what cannot be read stays as it is."""
        if self._value is not None:
            self.editor.setText(self._write(self._value))


class HoursField(AmountField):
    """A time in hours: a bare number means hours; ``90 min`` is understood."""

    def _read(self, text: str) -> float:
        return self._writing.parse(f"{text} h" if self._bare(text) else text, Kind.TIME) / 60

    def _write(self, value: float) -> str:
        return f"{value:.10g} h".replace(".", self._writing.decimal_point)


class ShareField(AmountField):
    """A share of a whole, kept as a fraction and written in percent."""

    def _read(self, text: str) -> float:
        return self._writing.parse(text, Kind.PERCENT) / 100

    def _write(self, value: float) -> str:
        return self._writing.show(100 * value, Kind.PERCENT).replace("\N{NO-BREAK SPACE}", " ")


class DateField(GuideField):
    """A date, as ISO writes it or as the locale does; read back in words."""

    def __init__(self, writing: WritingStyle, caption: str, parent: QWidget | None = None) -> None:
        super().__init__(caption, "", parent)
        self.editor = QLineEdit(self)
        self.editor.setMinimumHeight(TOUCH_PX)
        self.editor.setPlaceholderText(tr("year-month-day"))
        self._writing = writing
        self._hold(self.editor, read=self.editor.text)
        self.editor.textEdited.connect(self.changed)
        self.left.connect(self._read_back)

    @property
    def day(self) -> date | None:
        """The date; ``None`` when there is none or it cannot be read."""
        return self._writing.read_date(self.editor.text())

    def read(self) -> date | None:
        """Return the date."""
        return self.day

    def put(self, value: object) -> None:
        """Show a date, or none."""
        self.set_day(value if isinstance(value, date) else None)

    def set_day(self, day: date | None) -> None:
        """Show a date."""
        self.editor.setText(day.isoformat() if day else "")
        self._read_back()

    def problem(self) -> str:
        """Return a sentence where the text is no date."""
        if not self.editor.text().strip() or self.day is not None:
            return ""
        return tr("This is no date: write year, month and day, such as 2026-05-31.")

    @Slot()
    def _read_back(self) -> None:
        day = self.day
        self.set_hint(self._writing.date_in_words(day) if day else "")
