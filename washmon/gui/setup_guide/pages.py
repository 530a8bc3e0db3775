"""The pages before the last: place and people, products, tanks, measures and units."""

from collections.abc import Iterator

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from washmon.chemistry import measures
from washmon.chemistry.acid import ACIDS, AcidKind
from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.text import Text
from washmon.gui.setup_guide import words
from washmon.gui.setup_guide.choices import ToggleField
from washmon.gui.setup_guide.fields import ComboField, Field, TextField
from washmon.gui.setup_guide.layout import Form, Page, Scroller, Section
from washmon.gui.setup_guide.product_forms import AcidForm, SanitizerForm
from washmon.gui.setup_guide.roster import Roster
from washmon.gui.setup_guide.tank_form import Choices, TankForm
from washmon.gui.setup_guide.writing import Writing
from washmon.line.setup import (
    Acid,
    ChlorineLimits,
    Hypochlorite,
    LineSetup,
    Person,
    Role,
    Sanitizer,
    Stage,
    Tank,
)
from washmon.units import Taste


def fresh_key(stem: str, taken: set[str]) -> str:
    """Return a key that no product has yet."""
    number = 1
    while f"{stem}-{number}" in taken:
        number += 1
    return f"{stem}-{number}"


class PersonRow(Form):
    """Initials, name and role of one person."""

    removed = Signal(object)

    def __init__(self, person: Person, *, first: bool, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.initials = self.enter("initials", TextField(tr("Initials") if first else ""))
        self.name = self.enter("name", TextField(tr("Name") if first else ""))
        self.role = self.enter("role", ComboField(tr("Role") if first else ""))
        self.role.offer(list(words.roles()))
        self.initials.set_text(person.initials)
        self.name.set_text(person.name)
        self.role.choose(person.role)
        for field, called in ((self.initials, tr("Initials")), (self.name, tr("Name"))):
            field.editor.setAccessibleName(called)
        self.remove = PressButton(tr("Remove"), Rank.QUIET)
        row = QGridLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setHorizontalSpacing(12)
        self.initials.setFixedWidth(110)
        for column, (widget, stretch) in enumerate(
            ((self.initials, 0), (self.name, 3), (self.role, 2))
        ):
            row.addWidget(widget, 0, column)
            row.setColumnStretch(column, stretch)
        side = QVBoxLayout()
        side.setContentsMargins(0, 19 if first else 0, 0, 0)
        side.addWidget(self.remove)
        side.addStretch(1)
        row.addLayout(side, 0, 3)
        self.remove.clicked.connect(self._remove)

    def person(self) -> Person:
        """Return the person as written."""
        return Person(
            initials=self.initials.text, name=self.name.text, role=Role(self.role.key)
        )

    @Slot()
    def _remove(self) -> None:
        self.removed.emit(self)


class PlacePage(Page):
    """The site, the line, and who works on it."""

    roots = frozenset({"site", "location", "line", "commodity", "people"})

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Place and people"), tr("As it should stand on the record of each shift."), parent
        )
        scroller = Scroller(self)
        self.outer.addWidget(scroller)
        place = Section(tr("Place"), "", self)
        self.site = self.enter("site", TextField(tr("Site")))
        self.location = self.enter("location", TextField(tr("Location")))
        self.line = self.enter("line", TextField(tr("Line")))
        self.commodity = self.enter("commodity", TextField(tr("What is washed")))
        place.row((self.site, 6), (self.location, 6))
        place.row((self.line, 6), (self.commodity, 6))
        people = Section(
            tr("People"), tr("Initials sign each entry. A shift starts with a supervisor."), self
        )
        self.rows: list[PersonRow] = []
        self._column = QVBoxLayout()
        self._column.setSpacing(8)
        people.body.addLayout(self._column)
        self.together = self.enter("people", Field())
        people.body.addWidget(self.together)
        self.add = PressButton(tr("Add a person"))
        self.add.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        people.body.addWidget(self.add)
        scroller.column.addWidget(place)
        scroller.column.addWidget(people)
        scroller.column.addStretch(1)
        self.add.clicked.connect(self._add_person)

    def show_setup(self, setup: LineSetup) -> None:
        """Show the place and the people of a set-up."""
        self.site.set_text(setup.site)
        self.location.set_text(setup.location)
        self.show_line(setup)
        self.show_people(setup.people or (Person(initials="", name="", role=Role.SUPERVISOR),))

    def show_line(self, setup: LineSetup) -> None:
        """Show the name of the line and what it washes."""
        self.line.set_text(setup.line)
        self.commodity.set_text(setup.commodity)

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
        """Return the people as written; a row left quite empty is nobody."""
        return tuple(row.person() for row in self.rows)

    def fields(self, path: str = "") -> Iterator[tuple[str, Field]]:
        """Yield the place's fields, then each person's."""
        yield from super().fields(path)
        for at, row in enumerate(self.rows):
            yield from row.fields(f"people.{at}")

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


class ProductsPage(Page):
    """The containers: hypochlorite with its strength, and acids."""

    roots = frozenset({"sanitizers", "acids"})

    def __init__(self, writing: Writing, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Products"), tr("Have the containers at hand: their labels come first."), parent
        )
        self._writing = writing
        self.roster: Roster[SanitizerForm | AcidForm] = Roster(in_order=False, parent=self)
        self.add_sanitizer = PressButton(tr("Add hypochlorite"))
        self.add_acid = PressButton(tr("Add an acid"))
        self.roster.adders.addWidget(self.add_sanitizer)
        self.roster.adders.addWidget(self.add_acid)
        self.together = self.enter("sanitizers", Field())
        self.outer.addWidget(self.roster, 1)
        self.outer.addWidget(self.together)
        self.roster.left.connect(self.left)
        self.roster.changed.connect(self.changed)
        self.add_sanitizer.clicked.connect(self._add_sanitizer)
        self.add_acid.clicked.connect(self._add_acid)

    @property
    def _sanitizer_forms(self) -> list[SanitizerForm]:
        return [form for form in self.roster.forms if isinstance(form, SanitizerForm)]

    @property
    def _acid_forms(self) -> list[AcidForm]:
        return [form for form in self.roster.forms if isinstance(form, AcidForm)]

    def show_setup(self, setup: LineSetup) -> None:
        """Show the products of a set-up."""
        self.roster.clear()
        for product in setup.sanitizers:
            self.roster.add(SanitizerForm(self._writing, product))
        for acid in setup.acids:
            self.roster.add(AcidForm(self._writing, acid))
        self.roster.turn_to(0)

    def sanitizers(self) -> tuple[Sanitizer, ...]:
        """Return the sanitizers as written."""
        return tuple(form.product() for form in self._sanitizer_forms)

    def acids(self) -> tuple[Acid, ...]:
        """Return the acids as written."""
        return tuple(form.product() for form in self._acid_forms)

    def choices(self) -> tuple[Choices, Choices]:
        """Return what tanks can choose from: sanitizers and acids."""
        return (
            [(form.key, form.label()) for form in self._sanitizer_forms],
            [(form.key, form.label()) for form in self._acid_forms],
        )

    def fields(self, path: str = "") -> Iterator[tuple[str, Field]]:
        """Yield the fields of all products."""
        yield from super().fields(path)
        for at, form in enumerate(self._sanitizer_forms):
            yield from form.fields(f"sanitizers.{at}")
        for at, acid in enumerate(self._acid_forms):
            yield from acid.fields(f"acids.{at}")

    def show_field(self, path: str) -> None:
        """Show the product that a path is about."""
        wanted = dict(self.fields()).get(path)
        for at, form in enumerate(self.roster.forms):
            if wanted is not None and form.isAncestorOf(wanted):
                self.roster.turn_to(at)

    def turn_on(self) -> bool:
        """Show the next product."""
        return self.roster.turn_on()

    def _taken(self) -> set[str]:
        return {form.key for form in self.roster.forms}

    @Slot()
    def _add_sanitizer(self) -> None:
        key = fresh_key("hypochlorite", self._taken())
        product = Sanitizer(key=key, name="", kind=Hypochlorite.SODIUM)
        at = len(self._sanitizer_forms)
        self.roster.add(SanitizerForm(self._writing, product), at)
        self.roster.forms[at].name.focus()
        self.changed.emit()

    @Slot()
    def _add_acid(self) -> None:
        kind = AcidKind.VINEGAR
        acid = Acid(
            key=fresh_key("acid", self._taken()),
            name=words.word(words.acids(), kind),
            kind=kind,
            strength_pct=ACIDS[kind].strength_pct,
        )
        self.roster.add(AcidForm(self._writing, acid))
        self.roster.forms[-1].name.focus()
        self.changed.emit()


class TanksPage(Page):
    """The tanks in line order with their limits."""

    roots = frozenset({"tanks"})

    def __init__(self, writing: Writing, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Tanks"), tr("In the order in which the produce travels, with their limits."), parent
        )
        self._writing = writing
        self._choices: tuple[Choices, Choices] = ([], [])
        self.roster: Roster[TankForm] = Roster(in_order=True, parent=self)
        self.add = PressButton(tr("Add a tank"))
        self.roster.adders.addWidget(self.add)
        self.together = self.enter("tanks", Field())
        self.outer.addWidget(self.roster, 1)
        self.outer.addWidget(self.together)
        self.roster.left.connect(self.left)
        self.roster.changed.connect(self.changed)
        self.add.clicked.connect(self._add_tank)

    def show_setup(self, setup: LineSetup) -> None:
        """Show the tanks of a set-up."""
        self.roster.clear()
        for tank in setup.tanks:
            self.roster.add(TankForm(self._writing, tank))
        self.roster.turn_to(0)

    def offer(self, choices: tuple[Choices, Choices]) -> None:
        """Let the tanks choose from these products."""
        self._choices = choices
        for form in self.roster.forms:
            form.offer(*choices)

    def tanks(self) -> tuple[Tank, ...]:
        """Return the tanks as written."""
        return tuple(form.tank(at + 1) for at, form in enumerate(self.roster.forms))

    def fields(self, path: str = "") -> Iterator[tuple[str, Field]]:
        """Yield the fields of all tanks."""
        yield from super().fields(path)
        yield from self.roster.fields("tanks")

    def show_field(self, path: str) -> None:
        """Show the tank that a path is about."""
        at = path.split(".")[1] if "." in path else ""
        if at.isdigit():
            self.roster.turn_to(int(at))

    def turn_on(self) -> bool:
        """Show the next tank."""
        return self.roster.turn_on()

    @Slot()
    def _add_tank(self) -> None:
        sanitizers, _ = self._choices
        nan = float("nan")
        tank = Tank(
            number=len(self.roster.forms) + 1,
            name="",
            stage=Stage.WASH,
            volume_l=nan,
            sanitizer=sanitizers[0][0] if sanitizers else "",
            chlorine=ChlorineLimits(
                critical_low_mg_l=nan,
                low_mg_l=nan,
                target_mg_l=nan,
                high_mg_l=nan,
                label_max_mg_l=nan,
            ),
        )
        form = TankForm(self._writing, tank)
        form.offer(*self._choices)
        self.roster.add(form)
        form.name.focus()
        self.changed.emit()


class MeasuresPage(Page):
    """What the shed measures with, and in which units it speaks."""

    roots = frozenset({"measures", "taste"})

    def __init__(self, writing: Writing, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Measures and units"),
            tr("Doses are told in what you own, rounded to what it can measure."),
            parent,
        )
        self._writing = writing
        self._origin: tuple[str, ...] = ()
        scroller = Scroller(self)
        self.outer.addWidget(scroller)
        units = Section(tr("Units"), tr("Either can be typed anywhere: 150 gal or 570 L."), self)
        self.taste = self.enter(
            "taste", ToggleField("", ((Taste.METRIC, tr("Metric")), (Taste.US, tr("US customary"))))
        )
        units.row((self.taste, 12))
        owned = Section(tr("Measures in the shed"), tr("Press each that is there."), self)
        self.toggles: dict[str, PressButton] = {}
        grid = QGridLayout()
        grid.setSpacing(8)
        for at, name in enumerate(measures.MEASURES):
            button = PressButton(words.measure(name), Rank.TOGGLE)
            button.setCheckable(True)
            button.clicked.connect(self._tell)
            grid.addWidget(button, at // 4, at % 4)
            self.toggles[name] = button
        owned.body.addLayout(grid)
        self.together = self.enter("measures", Field())
        owned.body.addWidget(self.together)
        for section in (units, owned, _cautions(self)):
            scroller.column.addWidget(section)
        scroller.column.addStretch(1)
        self.taste.changed.connect(self._set_taste)
        writing.changed.connect(self.show_taste)
        self.show_taste()

    def show_setup(self, setup: LineSetup) -> None:
        """Show what the shed owns."""
        self._origin = setup.measures
        for name, button in self.toggles.items():
            button.setChecked(name in setup.measures)

    def owned(self) -> tuple[str, ...]:
        """Return the chosen measures; those that came with the set-up keep their order."""
        chosen = [name for name, button in self.toggles.items() if button.isChecked()]
        kept = [name for name in self._origin if name in chosen]
        return (*kept, *(name for name in chosen if name not in kept))

    @Slot()
    def show_taste(self) -> None:
        """Show the units in use."""
        self.taste.choose(self._writing.taste)

    @Slot()
    def _set_taste(self) -> None:
        self._writing.set_taste(Taste(self.taste.key))

    @Slot()
    def _tell(self) -> None:
        self.changed.emit()
        self.left.emit()


def _cautions(parent: QWidget) -> Section:
    section = Section(tr("Before anything is dosed"), "", parent)
    for sentence in (
        tr("The product label comes first, then local rules and licensed practice; then this program."),
        tr("Acid and hypochlorite together give off chlorine gas. One at a time, into the full tank."),
        tr("Goggles and gloves for both. Measures for acid stay apart from those for hypochlorite."),
    ):
        section.body.addWidget(Text(sentence, wrapped=True))
    return section


def columns(*widgets: QWidget) -> QHBoxLayout:
    """Return widgets side by side, each as wide as the others."""
    row = QHBoxLayout()
    row.setSpacing(12)
    for widget in widgets:
        row.addWidget(widget, 1)
    return row
