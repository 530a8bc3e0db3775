"""Place and people: as they stand on the record.

Fields of the calendar of a site: days of the week that are worked, and days that are not.
"""

from collections.abc import Iterator
from datetime import date, timedelta

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QGridLayout, QLineEdit, QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, add, keep_width, vbox
from washmon.gui.kit.buttons import TOUCH_PX, PressButton, Rank
from washmon.gui.kit.form_fields import FormField, ListField, ManyField, TextField
from washmon.gui.setup_guide import setup_words
from washmon.gui.setup_guide.fields import AmountField, GuideField
from washmon.gui.setup_guide.layout import FieldForm, FormPage, More, Scroller, Section
from washmon.gui.setup_guide.price_row import PriceRow
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import (
    LineSetup,
    Person,
    Role,
    SoldBy,
)
from washmon.line.validate_watching import MOST_CLOSED
from washmon.line.working_days import USUAL, WEEK, Weekday
from washmon.units import Kind


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

    def __init__(self, writing: WritingStyle, caption: str, parent: QWidget | None = None) -> None:
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


class PersonRow(FieldForm):
    """Initials, name and role of one person."""

    removed = Signal(object)

    def __init__(self, person: Person, *, first: bool, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.initials = self.enter("initials", TextField("", tr("Initials") if first else ""))
        self.name = self.enter("name", TextField("", tr("Name") if first else ""))
        self.role = self.enter(
            "role", ListField("", tr("Role") if first else "", setup_words.roles())
        )
        self.initials.put(person.initials)
        self.name.put(person.name)
        self.role.put(person.role)
        for field, called in ((self.initials, tr("Initials")), (self.name, tr("Name"))):
            field.editor.setAccessibleName(called)
        self.remove = PressButton(tr("Remove"), Rank.QUIET, then=self._remove)
        row = QGridLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setHorizontalSpacing(12)
        keep_width(self.initials, 110)
        for column, (widget, stretch) in enumerate(
            ((self.initials, 0), (self.name, 3), (self.role, 2))
        ):
            row.addWidget(widget, 0, column)
            row.setColumnStretch(column, stretch)
        side = vbox(self.remove, STRETCH, margins_px=(0, 19 if first else 0, 0, 0))
        row.addLayout(side, 0, 3)

    def person(self) -> Person:
        """Return the person as written."""
        return Person(initials=self.initials.text, name=self.name.text, role=Role(self.role.text))

    @Slot()
    def _remove(self) -> None:
        self.removed.emit(self)


_MONEY = frozenset({"currency", "water_price"})


class PlacePage(FormPage):
    """The site, the line, and who works on it."""

    roots = (
        frozenset({"site", "location", "line", "commodity", "people", "source", "calendar"})
        | _MONEY
    )

    def __init__(self, writing: WritingStyle, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Place and people"), tr("As it should stand on the record of each shift."), parent
        )
        self._writing = writing
        scroller = Scroller(self)
        self.outer.addWidget(scroller)
        place = Section(tr("Place"), "", self)
        self.site = self.enter("site", TextField("", tr("Site")))
        self.location = self.enter("location", TextField("", tr("Location")))
        self.line = self.enter("line", TextField("", tr("Line")))
        self.commodity = self.enter("commodity", TextField("", tr("What is washed")))
        place.row((self.site, 6), (self.location, 6))
        place.row((self.line, 6), (self.commodity, 6))
        people = Section(
            tr("People"), tr("Initials sign each entry. A shift starts with a supervisor."), self
        )
        self.rows: list[PersonRow] = []
        self._column = vbox(gap_px=8)
        people.body.addLayout(self._column)
        self.together = self.enter("people", FormField("", ""))
        people.body.addWidget(self.together)
        self.add = PressButton(tr("Add a person"), then=self._add_person)
        self.add.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        people.body.addWidget(self.add)
        add(scroller.column, place, people)
        self.more = More(tr("the fresh water"), self._source_section(writing), self)
        scroller.column.addWidget(self.more)
        self.costs = More(tr("prices"), self._price_section(writing), self)
        scroller.column.addWidget(self.costs)
        self.days = More(tr("the days that are worked"), self._calendar_section(writing), self)
        add(scroller.column, self.days, STRETCH)

    def _source_section(self, writing: WritingStyle) -> Section:
        section = Section(
            tr("The water that fills the tanks"),
            tr(
                "From the water report, or a kit for pools. Left empty it is not known: acid then "
                "goes in small steps, and what the pH does to them tells the rest."
            ),
            self,
        )
        ppm, ph = Kind.CONCENTRATION, Kind.PH
        captions = (
            ("alkalinity_mg_l", ppm, tr("Alkalinity"), tr("As CaCO₃ (mg/L is the same as ppm).")),
            ("alkalinity_error_mg_l", ppm, tr("Give or take"), tr("Empty: a fifth of it.")),
            ("ph", ph, tr("pH"), ""),
            ("ph_error", ph, tr("Give or take"), tr("Empty: as a meter may be off.")),
            ("chloride_mg_l", ppm, tr("Chloride"), ""),
        )
        self.water = {
            name: self.enter(
                f"source.{name}", AmountField(writing, kind, caption, hint, optional=True)
            )
            for name, kind, caption, hint in captions
        }
        *pairs, chloride = self.water.values()
        section.row(*((field, 3) for field in pairs))
        section.row((chloride, 3))
        return section

    def _price_section(self, writing: WritingStyle) -> Section:
        section = Section(
            tr("Prices"),
            tr(
                "For the trend of what a week costs. Left empty, the cost of water is not known; "
                "prices of products are written beside each product."
            ),
            self,
        )
        self.currency = self.enter(
            "currency", TextField("", tr("Currency"), hint=tr("Three letters, such as EUR or USD."))
        )
        self.currency.changed.connect(self._suit_currency)
        self.water_price = PriceRow(writing, tr("Price of water"), only=SoldBy.VOLUME, parent=self)
        self.water_price.left.connect(self.left)
        self.water_price.changed.connect(self.changed)
        section.row((self.currency, 3), (self.water_price, 6))
        return section

    def _calendar_section(self, writing: WritingStyle) -> Section:
        section = Section(
            tr("Days that are worked"),
            tr(
                "A record is to be reviewed within seven working days (21 CFR 117.165): by these "
                "days they are counted."
            ),
            self,
        )
        self.worked = self.enter("calendar.worked", week_field(tr("Worked on")))
        self.closed = self.enter("calendar.closed", ClosedField(writing, tr("Closed on")))
        section.row((self.worked, 12))
        section.row((self.closed, 12))
        return section

    def show_setup(self, setup: LineSetup) -> None:
        """Show the place and the people of a set-up."""
        self.show_parts(setup)
        self.more.open(filled=any(field.number is not None for field in self.water.values()))
        self._suit_currency()
        self.water_price.show_price(setup.water_price)
        self.costs.open(filled=bool(setup.currency or setup.water_price))
        self.days.open(filled=setup.calendar != USUAL)
        self.show_people(setup.people or (Person(initials="", name="", role=Role.SUPERVISOR),))

    @Slot()
    def _suit_currency(self) -> None:
        self._writing.set_currency(self.currency.text.upper())

    def show_line(self, setup: LineSetup) -> None:
        """Show the name of the line and what it washes."""
        self.line.put(setup.line)
        self.commodity.put(setup.commodity)

    def show_people(self, people: tuple[Person, ...]) -> None:
        """Show these people in place of those before."""
        for row in self.rows:
            self._column.removeWidget(row)
            row.hide()
            row.deleteLater()
        self.rows = []
        for person in people:
            self._append(person)

    def people(self) -> tuple[Person, ...]:
        """Return the people as written."""
        return tuple(row.person() for row in self.rows)

    def fields(self, path: str = "") -> Iterator[tuple[str, FormField]]:
        """Yield the place's fields, then each person's."""
        yield from super().fields(path)
        yield from self.water_price.fields("water_price")
        for at, row in enumerate(self.rows):
            yield from row.fields(f"people.{at}")

    def show_field(self, path: str) -> None:
        """Open the section that a path leads into."""
        root = path.partition(".")[0]
        if root in _MONEY:
            self.costs.open(filled=True)
        elif root == "calendar":
            self.days.open(filled=True)

    def _append(self, person: Person) -> PersonRow:
        row = PersonRow(person, first=not self.rows, parent=self)
        row.left.connect(self.left)
        row.changed.connect(self.changed)
        row.removed.connect(self._remove_person)
        self.rows.append(row)
        self._column.addWidget(row)
        return row

    @Slot()
    def _add_person(self) -> None:
        row = self._append(Person(initials="", name="", role=Role.LINE_WORKER))
        row.initials.focus()
        self.changed.emit()

    @Slot(object)
    def _remove_person(self, row: PersonRow) -> None:
        kept = tuple(one.person() for one in self.rows if one is not row)
        visited = [one for one in self.rows if one is not row]
        seen = [[field.visited for _, field in one.fields()] for one in visited]
        self.show_people(kept)
        for one, marks in zip(self.rows, seen, strict=True):
            for (_, field), mark in zip(one.fields(), marks, strict=True):
                field.visited = mark
        self.together.reveal()
        self.changed.emit()
        self.left.emit()
