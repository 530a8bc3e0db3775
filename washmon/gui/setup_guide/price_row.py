"""What something costs: a price, the amount that it is for, and what that amount counts."""

from PySide6.QtCore import Qt, Slot
from PySide6.QtWidgets import QGridLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.setup_guide import setup_words
from washmon.gui.setup_guide.choices import ToggleField
from washmon.gui.setup_guide.fields import AmountField
from washmon.gui.setup_guide.layout import FieldForm
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import Price, SoldBy
from washmon.units import Kind

_KINDS = {SoldBy.VOLUME: Kind.VOLUME, SoldBy.WEIGHT: Kind.PRODUCE_MASS}


class PriceRow(FieldForm):
    """As it stands on the bill; left empty, the price is not known. Water goes by volume only."""

    def __init__(
        self,
        writing: WritingStyle,
        caption: str,
        *,
        only: SoldBy | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._only = only
        self.cost = self.enter("cost", AmountField(writing, Kind.MONEY, caption, optional=True))
        self.amount = self.enter(
            "amount", AmountField(writing, Kind.VOLUME, tr("That is for"), optional=True)
        )
        writing.currency_changed.connect(self.cost.show_again)
        self.sold_by = self.enter("sold_by", ToggleField(tr("Sold by"), setup_words.sold_by()))
        row = QGridLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setHorizontalSpacing(12)
        for column, (field, stretch) in enumerate(
            ((self.cost, 3), (self.amount, 3), (self.sold_by, 4))
        ):
            row.addWidget(field, 0, column, Qt.AlignmentFlag.AlignTop)
            row.setColumnStretch(column, stretch)
        self.sold_by.put(SoldBy.VOLUME)
        self.sold_by.changed.connect(self._suit)
        self.go_by(only)

    def go_by(self, only: SoldBy | None) -> None:
        """Let the price go by this only, or ask what it goes by."""
        self._only = only
        self.sold_by.setVisible(only is None)
        self._suit()

    @property
    def by_weight(self) -> bool:
        """Whether the amount is a weight."""
        return (self._only or SoldBy(self.sold_by.text)) is SoldBy.WEIGHT

    @Slot()
    def _suit(self) -> None:
        self.amount.set_kind(_KINDS[SoldBy.WEIGHT if self.by_weight else SoldBy.VOLUME])

    def show_price(self, price: Price | None) -> None:
        """Show a price, or that none is known."""
        self.sold_by.put(price.sold_by if price else SoldBy.VOLUME)
        self._suit()
        self.cost.set_number(price.cost if price else None)
        self.amount.set_number(price.amount if price else None)

    def price(self) -> Price | None:
        """Return the price as it is written; NaN stands for what is missing or not a number."""
        if self.cost.empty and self.amount.empty:
            return None
        by = SoldBy.WEIGHT if self.by_weight else SoldBy.VOLUME
        return Price(cost=self.cost.value, amount=self.amount.value, sold_by=by)
