"""Fields of the calendar of a site: days of the week that are worked, and days that are not."""

from datetime import date, timedelta

from PySide6.QtWidgets import QLineEdit, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import TOUCH_PX
from washmon.gui.kit.form_fields import ManyField
from washmon.gui.setup_guide.fields import GuideField
from washmon.gui.setup_guide.writing import Writing
from washmon.line.validate_watching import MOST_CLOSED
from washmon.line.working_days import WEEK, Weekday


def week_field(caption: str) -> ManyField:
    """Return a field of the days of the week, as toggles."""
    words = (
        tr("Monday"),
        tr("Tuesday"),
        tr("Wednesday"),
        tr("Thursday"),
        tr("Friday"),
        tr("Saturday"),
        tr("Sunday"),
    )
    days = tuple((day.value, said) for day, said in zip(WEEK, words, strict=True))
    return ManyField("", caption, days, of=Weekday, gap_px=8)


class ClosedField(GuideField):
    """Days and spans of days in one line, such as ``2026-12-24 to 2026-12-26, 2027-01-01``."""

    def __init__(self, writing: Writing, caption: str, parent: QWidget | None = None) -> None:
        super().__init__(caption, "", parent)
        self._writing = writing
        self.editor = QLineEdit(self)
        self.editor.setMinimumHeight(TOUCH_PX)
        self.editor.setPlaceholderText("2026-12-24 to 2026-12-26, 2027-01-01")
        self._hold(self.editor, read=self.editor.text)
        self.set_hint(tr("Days with a comma between; a span as from to."))
        self.editor.textEdited.connect(self.changed)
        self._kept: tuple[date, ...] = ()

    def read(self) -> tuple[date, ...]:
        """Return the days; those that were shown last where what is written can't be read."""
        found = self._days()
        return self._kept if found is None else found

    def put(self, value: object) -> None:
        """Show days, neighbours as a span."""
        self._kept = value if isinstance(value, tuple) else ()
        self.editor.setText(", ".join(_spans(self._kept)))

    def problem(self) -> str:
        """Return a sentence where the text is no list of days."""
        if self._days() is not None:
            return ""
        return tr("Write days, such as 2026-12-24 to 2026-12-26, 2027-01-01.")

    def _days(self) -> tuple[date, ...] | None:
        found: set[date] = set()
        for piece in self.editor.text().replace(";", ",").split(","):
            if not piece.strip():
                continue
            first, _, last = (one.strip() for one in piece.partition(" to "))
            begin = self._writing.read_date(first)
            end = self._writing.read_date(last) if last else begin
            if begin is None or end is None or not 0 <= (end - begin).days <= MOST_CLOSED:
                return None
            found |= {begin + timedelta(days=one) for one in range((end - begin).days + 1)}
        return tuple(sorted(found))


def _spans(days: tuple[date, ...]) -> list[str]:
    spans: list[list[date]] = []
    for day in sorted(set(days)):
        if spans and (day - spans[-1][-1]).days == 1:
            spans[-1].append(day)
        else:
            spans.append([day])
    return [f"{one[0]} to {one[-1]}" if len(one) > 1 else f"{one[0]}" for one in spans]
