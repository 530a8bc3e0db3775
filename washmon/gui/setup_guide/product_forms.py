"""A container of sanitizer, with the meaning of its strength.

What the strength on a container comes to, said while it is written.
"""

import math
from typing import NamedTuple

import msgspec
from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.hypochlorite import (
    StrengthBasis,
    available_chlorine_g_l,
    solid_available_chlorine_g_kg,
    typical_density_kg_l,
)
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, add
from washmon.gui.kit.form_fields import FormField, TextField
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.setup_guide import setup_words
from washmon.gui.setup_guide.choices import AnswerField, ToggleField
from washmon.gui.setup_guide.fields import AmountField, DateField
from washmon.gui.setup_guide.layout import More, Scroller, Section, fill
from washmon.gui.setup_guide.product_form import ProductForm, WrittenOfKind
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import Sanitizer, SanitizerKind
from washmon.line.strength import USUAL_STORAGE_C
from washmon.units import Kind


class WrittenStrength(NamedTuple):
    """A number that was written, NaN where none was, and what it counts, if that is known."""

    number: float
    basis: StrengthBasis | None
    writing: WritingStyle

    def usual_density(self) -> str:
        """Say where the density stands, and what it usually is."""
        if self.basis is None:
            return tr("On the container or its data sheet.")
        try:
            usual = typical_density_kg_l(self.number, self.basis)
        except ChemistryError:
            return tr("On the container or its data sheet.")
        return tr(
            "On the container or its data sheet; usually about {usual}.",
            usual=self.writing.show(round(usual, 2), Kind.DENSITY),
        )

    def as_peracetic(self, density_kg_l: float) -> str:
        """Say how much peracetic acid a litre holds; nothing while that is not known."""
        held = 10 * self.number * density_kg_l
        if not math.isfinite(held):
            return ""
        return tr("= {level} peracetic acid", level=self.writing.show(held, Kind.STRENGTH))

    def as_solid(self) -> str:
        """Say how much available chlorine a kilogram holds; nothing while that is not known."""
        if not math.isfinite(self.number):
            return ""
        try:
            held = solid_available_chlorine_g_kg(self.number)
        except ChemistryError:
            return ""
        return tr("= {level} available chlorine", level=f"{held:.0f} g/kg")

    def as_liquid(self, density_kg_l: float) -> str:
        """Say how much available chlorine a litre holds, or how far apart two readings of it are.

        Args:
            density_kg_l: that of the product; NaN where it is needed and not written.
        """
        if not math.isfinite(self.number):
            return ""
        try:
            if self.basis is None:
                return self._two_readings()
            if not math.isfinite(density_kg_l):
                return ""
            held = available_chlorine_g_l(self.number, self.basis, density_kg_l)
        except ChemistryError:
            return ""
        return tr("= {level} available chlorine", level=self.writing.show(held, Kind.STRENGTH))

    def _two_readings(self) -> str:
        by_weight = StrengthBasis.WEIGHT_PCT_NAOCL
        heavy = available_chlorine_g_l(
            self.number, by_weight, typical_density_kg_l(self.number, by_weight)
        )
        trade = available_chlorine_g_l(self.number, StrengthBasis.TRADE_PCT, 1.0)
        low, high = sorted((heavy, trade))
        return tr(
            "{low} or {high}: which one?",
            low=self.writing.show(low, Kind.STRENGTH),
            high=self.writing.show(high, Kind.STRENGTH),
        )


BY_WEIGHT = {StrengthBasis.WEIGHT_PCT_NAOCL, StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE}


class SanitizerForm(ProductForm[Sanitizer]):
    """A sanitizer: the percent of a hypochlorite means nothing before its basis is chosen."""

    def __init__(
        self, writing: WritingStyle, product: Sanitizer, parent: QWidget | None = None
    ) -> None:
        super().__init__(writing, product, parent)
        scroller = Scroller(self)
        fill(self, scroller)
        add(scroller.column, self._strength_section(), self._container_section())
        self.more = More(tr("storage and test"), self._storage_section(), self)
        self.costs = self._price_section()
        add(scroller.column, self.more, self.costs, STRETCH)
        self._show(product)

    def _strength_section(self) -> Section:
        self.says = section = Section(
            tr("What the container says"),
            tr("Two percents that look alike can differ by 14 %: the dose depends on which it is."),
            self,
        )
        self.kind = self.enter(
            "kind", ToggleField(tr("Kind"), setup_words.sanitizers(), of=SanitizerKind)
        )
        self.strength = self.enter(
            "strength", AmountField(self._writing, Kind.PERCENT, tr("Strength"))
        )
        self.density = self.enter(
            "density_kg_l",
            AmountField(self._writing, Kind.DENSITY, tr("Density"), optional=True),
        )
        self.basis = self.enter(
            "basis", AnswerField(tr("What does the strength count?"), columns=2)
        )
        for key, title, meaning in setup_words.bases():
            self.basis.add(key, title, meaning)
        self.meaning = Text("", Size.TITLE, bold=True, wrapped=True, parent=self)
        self.meaning.setContentsMargins(0, 26, 0, 0)
        self._peracetic_fields()
        section.row((self.name, 12))
        section.row((self.kind, 12))
        section.row((self.strength, 3), (self.density, 4), (self.meaning, 5))
        section.row((self.peroxide, 5), (self.hedp, 5))
        section.row((self.basis, 12))
        self.kind.changed.connect(self._begin_anew)
        self.basis.changed.connect(self._suit_basis)
        for field in (self.strength, self.density):
            field.changed.connect(self._tell_meaning)
        return section

    @property
    def said(self) -> tuple[FormField, ...]:
        """The fields that the container itself answers, in their order."""
        named = (self.name, self.kind, self.strength, self.density)
        return (*named, self.peroxide, self.hedp, self.basis)

    def _amount(self, key: str, kind: Kind, title: str, note: str) -> AmountField:
        """Make a field that may stay empty."""
        return self.enter(key, AmountField(self._writing, kind, title, note, optional=True))

    def _peracetic_fields(self) -> None:
        """Make what only a label of peracetic acid says."""
        self.peroxide = self._amount(
            "peroxide_pct",
            Kind.PERCENT,
            tr("Hydrogen peroxide"),
            tr("It comes with the acid and has a limit of its own."),
        )
        self.hedp = self._amount(
            "hedp_pct",
            Kind.PERCENT,
            tr("HEDP, the stabiliser"),
            tr("Leave empty if the label names none."),
        )

    def _container_section(self) -> Section:
        section = Section(tr("This container"), "", self)
        self.lot = self.enter("lot", TextField("", tr("Lot")))
        self.made_on = self.enter("made_on", DateField(self._writing, tr("Made on")))
        self.opened_on = self.enter("opened_on", DateField(self._writing, tr("Opened on")))
        self.use_by = self.enter("use_by", DateField(self._writing, tr("Use by")))
        section.row((self.lot, 3), (self.made_on, 3), (self.opened_on, 3), (self.use_by, 3))
        return section

    def _storage_section(self) -> Section:
        section = Section(
            tr("Storage, test, caustic"),
            tr(
                "Liquid hypochlorite loses strength as it stands. From the day it was made and its "
                "storage temperature the dose is worked out with what is left; a test counts more."
            ),
            self,
        )
        self.storage = self._amount(
            "storage_c",
            Kind.TEMPERATURE,
            tr("Stands at"),
            tr("As it is most of the day. Empty: not known, {usual} is taken.").format(
                usual=self._writing.show(USUAL_STORAGE_C, Kind.TEMPERATURE)
            ),
        )
        self.tested = self._amount(
            "tested_g_l",
            Kind.STRENGTH,
            tr("Tested strength"),
            tr("Available chlorine by a kit on a diluted sample; the calculator helps."),
        )
        self.tested_on = self.enter("tested_on", DateField(self._writing, tr("Tested on")))
        self.caustic = self._amount(
            "caustic_pct",
            Kind.PERCENT,
            tr("Sodium hydroxide in it"),
            tr("By weight, on the data sheet, often 0.2 to 1: it lifts the pH. Empty: learned."),
        )
        section.row((self.storage, 4), (self.tested, 4), (self.tested_on, 4))
        section.row((self.caustic, 12))
        return section

    def _show(self, product: Sanitizer) -> None:
        self.show_parts(product)
        stored = (
            product.storage_c,
            product.tested_g_l,
            product.tested_on,
            product.caustic_pct,
        )
        self.more.open(filled=any(one is not None for one in stored))
        self.price.show_price(product.price)
        self.costs.open(filled=product.price is not None)
        self._suit_kind()

    def product(self) -> Sanitizer:
        """Return the product as it is written."""
        return msgspec.structs.replace(
            self.onto(self._product),
            strength=None if self.strength.empty else self.strength.number,
            basis=self._basis,
            density_kg_l=self._density(),
            peroxide_pct=self.peroxide.number if self.peracetic else None,
            hedp_pct=self.hedp.number if self.peracetic else None,
            price=self.price.price(),
        )

    def _density(self) -> float | None:
        """Return the density; the one that was known, where nothing here goes by it."""
        if self.density.isHidden():
            return None if self._solid else self._product.density_kg_l
        return self.density.number

    @property
    def _solid(self) -> bool:
        return self.kind.text == SanitizerKind.CALCIUM

    @property
    def peracetic(self) -> bool:
        """Whether it is peracetic acid."""
        return self.kind.text == SanitizerKind.PERACETIC

    @property
    def _basis(self) -> StrengthBasis | None:
        key = "" if self.peracetic else self.basis.text
        return StrengthBasis(key) if key and not self.basis.cards[key].isHidden() else None

    @Slot()
    def _begin_anew(self) -> None:
        """Ask anew for what the container says where it is of another kind."""
        if self.kind.text != self._kind_before:
            written = WrittenOfKind(
                self.name.text, None if self.strength.empty else self.strength.number
            )
            name, strength = self._change_kind(self.kind.text, written)
            self.name.put(name)
            self.strength.set_number(strength)
        self._suit_kind()

    def _suit_kind(self) -> None:
        """A solid has one percent only and no density; peracetic acid has its own contents."""
        self.says.lead.setVisible(not self.peracetic)
        self.basis.setVisible(not self.peracetic)
        self.peroxide.setVisible(self.peracetic)
        self.hedp.setVisible(self.peracetic)
        self.more.setVisible(self.kind.text == SanitizerKind.SODIUM)
        only = StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE
        for key, card in self.basis.cards.items():
            card.setVisible(not self._solid or key == only)
        self._go_by(solid=self._solid)
        self._suit_basis()

    @Slot()
    def _suit_price(self) -> None:
        self._suit_basis()

    @Slot()
    def _suit_basis(self) -> None:
        in_g_l = self._basis is StrengthBasis.G_PER_L_AVAILABLE_CHLORINE
        self.strength.set_kind(Kind.STRENGTH if in_g_l else Kind.PERCENT)
        needs_density = self.peracetic or (
            not self._solid and (self._basis in BY_WEIGHT or self.price.by_weight)
        )
        self.density.setVisible(needs_density)
        self._tell_meaning()

    @Slot()
    def _tell_meaning(self) -> None:
        """Say at once what the strength comes to, and offer a usual density."""
        self.meaning.set_tone(Tone.PLAIN)
        strength = WrittenStrength(self.strength.value, self._basis, self._writing)
        self.density.set_hint(strength.usual_density())
        density = 1.0 if self.density.isHidden() else self.density.value
        self.meaning.setText(
            strength.as_peracetic(self.density.value)
            if self.peracetic
            else strength.as_solid()
            if self._solid
            else strength.as_liquid(density)
        )
