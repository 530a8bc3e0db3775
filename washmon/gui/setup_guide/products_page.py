"""Products: containers of sanitizer and of acid."""

from collections.abc import Iterator

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from washmon.chemistry.acid import ACIDS, AcidKind
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import add
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.form_fields import FormField
from washmon.gui.setup_guide import setup_words
from washmon.gui.setup_guide.acid_form import AcidForm
from washmon.gui.setup_guide.layout import FormPage
from washmon.gui.setup_guide.product_forms import SanitizerForm
from washmon.gui.setup_guide.roster import Roster
from washmon.gui.setup_guide.tank_form import Offered
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import (
    Acid,
    LineSetup,
    Sanitizer,
    SanitizerKind,
)


def _fresh_key(stem: str, taken: set[str]) -> str:
    """Return a key that no product has yet."""
    number = 1
    while f"{stem}-{number}" in taken:
        number += 1
    return f"{stem}-{number}"


class ProductsPage(FormPage):
    """The containers: sanitizers with their strength, and acids."""

    roots = frozenset({"sanitizers", "acids"})

    def __init__(self, writing: WritingStyle, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Products"), tr("Have the containers at hand: their labels come first."), parent
        )
        self._writing = writing
        self.roster: Roster[SanitizerForm | AcidForm] = Roster(in_order=False, parent=self)
        self.add_sanitizer = PressButton(tr("Add a sanitizer"), then=self._add_sanitizer)
        self.add_acid = PressButton(tr("Add an acid"), then=self._add_acid)
        self.roster.adders.addWidget(self.add_sanitizer)
        self.roster.adders.addWidget(self.add_acid)
        self.together = self.enter("sanitizers", FormField("", ""))
        add(self.outer, (self.roster, 1), self.together)
        self.roster.left.connect(self.left)
        self.roster.changed.connect(self.changed)

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

    def choices(self) -> Offered:
        """Return what tanks can choose from."""
        return Offered(
            [(form.key, form.label) for form in self._sanitizer_forms],
            [(form.key, form.label) for form in self._acid_forms],
            frozenset(form.key for form in self._sanitizer_forms if form.peracetic),
        )

    def fields(self, path: str = "") -> Iterator[tuple[str, FormField]]:
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
        key = _fresh_key("sanitizer", self._taken())
        product = Sanitizer(key=key, name="", kind=SanitizerKind.SODIUM)
        at = len(self._sanitizer_forms)
        self.roster.add(SanitizerForm(self._writing, product), at)
        self.roster.forms[at].name.focus()
        self.changed.emit()

    @Slot()
    def _add_acid(self) -> None:
        kind = AcidKind.VINEGAR
        acid = Acid(
            key=_fresh_key("acid", self._taken()),
            name=setup_words.word(setup_words.acids(), kind),
            kind=kind,
            strength_pct=ACIDS[kind].strength_pct,
        )
        self.roster.add(AcidForm(self._writing, acid))
        self.roster.forms[-1].name.focus()
        self.changed.emit()
