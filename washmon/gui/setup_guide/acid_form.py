"""A container of acid."""

import math

import msgspec
from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from washmon.chemistry.acid import ACIDS, AcidKind
from washmon.gui.i18n import tr
from washmon.gui.kit.form_fields import ListField, TextField
from washmon.gui.setup_guide import setup_words
from washmon.gui.setup_guide.fields import AmountField, DateField
from washmon.gui.setup_guide.layout import Scroller, Section, fill
from washmon.gui.setup_guide.product_form import ProductForm, WrittenOfKind
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import Acid
from washmon.units import Kind


class AcidForm(ProductForm[Acid]):
    """An acid that lowers the pH."""

    def __init__(self, writing: WritingStyle, acid: Acid, parent: QWidget | None = None) -> None:
        super().__init__(writing, acid, parent)
        self.kind = self.enter("kind", ListField("", tr("Kind"), setup_words.acids(), of=AcidKind))
        self.strength = self.enter(
            "strength_pct", AmountField(writing, Kind.PERCENT, tr("Strength"))
        )
        self.lot = self.enter("lot", TextField("", tr("Lot")))
        self.use_by = self.enter("use_by", DateField(writing, tr("Use by")))
        self.density = self.enter(
            "density_kg_l", AmountField(writing, Kind.DENSITY, tr("Density"), optional=True)
        )
        section = Section(
            tr("Acid"),
            tr(
                "Use only what the label allows in wash water. Keep acid and hypochlorite apart: "
                "mixed, they give off chlorine gas."
            ),
            self,
        )
        section.row((self.name, 5), (self.kind, 7))
        section.row((self.strength, 3), (self.density, 3), (self.lot, 3), (self.use_by, 3))
        self.more = self._price_section()
        scroller = Scroller(self)
        for widget in (section, self.more):
            scroller.column.addWidget(widget)
        scroller.column.addStretch(1)
        fill(self, scroller)
        self._show(acid)
        self.kind.changed.connect(self._suit_kind)
        self.strength.changed.connect(self._suit_price)
        self._tell_usual()

    def _show(self, acid: Acid) -> None:
        self.show_parts(acid)
        self.price.show_price(acid.price)
        self.more.open(filled=acid.price is not None)

    def product(self) -> Acid:
        """Return the acid as it is written."""
        return msgspec.structs.replace(
            self.onto(self._product),
            price=self.price.price(),
            density_kg_l=None if self.density.isHidden() else self.density.number,
        )

    @Slot()
    def _suit_kind(self) -> None:
        """Begin with what a container of the chosen kind says."""
        if self.kind.text != self._kind_before:
            written = WrittenOfKind(self.name.text, self.strength.number)
            name, strength = self._change_kind(self.kind.text, written)
            self.name.put(name)
            self.strength.set_number(strength)
        self._tell_usual()

    def _usual(self, kind: str) -> WrittenOfKind:
        name = setup_words.word(setup_words.acids(), kind)
        return WrittenOfKind(name, ACIDS[AcidKind(kind)].strength_pct)

    def _tell_usual(self) -> None:
        facts = ACIDS[AcidKind(self.kind.text)]
        hint = tr(
            "Usually sold as {usual}.", usual=self._writing.show(facts.strength_pct, Kind.PERCENT)
        )
        if facts.uses_up_chlorine:
            hint = f"{hint} {tr('Citric acid uses up free chlorine.')}"
        self.strength.set_hint(hint)
        self._go_by(solid=facts.solid)

    @Slot()
    def _suit_price(self) -> None:
        """Ask for the density where a percent by weight is poured, or a price goes by weight."""
        facts = ACIDS[AcidKind(self.kind.text)]
        needed = bool(facts.densities) or (self.price.by_weight and not facts.solid)
        self.density.setVisible(needed)
        strength = self.strength.value
        usual = facts.density_at(strength) if math.isfinite(strength) else facts.density_kg_l
        said = tr("Usually about {usual}.", usual=self._writing.show(usual, Kind.DENSITY))
        self.density.set_hint(said if usual else tr("On the container or its data sheet."))
