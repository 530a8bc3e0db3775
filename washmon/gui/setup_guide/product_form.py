"""What the forms of all containers have in common: a name, and what the container cost."""

from collections.abc import Iterator
from typing import Generic, NamedTuple, TypeVar

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.form_fields import FormField
from washmon.gui.setup_guide.fields import AmountField
from washmon.gui.setup_guide.layout import More, Section
from washmon.gui.setup_guide.price_row import PriceRow
from washmon.gui.setup_guide.roster import RosterForm
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import Acid, Sanitizer, SoldBy

ProductT = TypeVar("ProductT", bound=Sanitizer | Acid)


class WrittenOfKind(NamedTuple):
    """What a container says that holds of one kind only."""

    name: str = ""
    strength: float | None = None


class ProductForm(RosterForm, Generic[ProductT]):
    """Shows a product; what has no field stays as it came."""

    def __init__(
        self, writing: WritingStyle, product: ProductT, parent: QWidget | None = None
    ) -> None:
        super().__init__(tr("Name on the container"), parent)
        self._writing = writing
        self._of_kind: dict[str, WrittenOfKind] = {}
        """Name and strength that were written while a kind was chosen, by that kind."""
        self._kind_before = str(product.kind)
        self._product = product
        self.price = PriceRow(writing, tr("Price of a container"), parent=self)
        self.price.left.connect(self.left)
        self.price.changed.connect(self.changed)
        self.price.changed.connect(self._suit_price)

    @property
    def key(self) -> str:
        """What tanks call this product by."""
        return self._product.key

    def fields(self, path: str = "") -> Iterator[tuple[str, FormField]]:
        """Yield each field with its whole path, those of the price last."""
        yield from super().fields(path)
        yield from self.price.fields(f"{path}.price".lstrip("."))

    def _change_kind(self, kind: str, written: WrittenOfKind) -> WrittenOfKind:
        """Return the name and strength for a kind that was chosen, and keep those of the last one.

        What a container of another kind was called, and how strong it was, holds of this one no
        more: unless it was written for this kind before, it is what such a container usually says.
        """
        self._of_kind[self._kind_before] = written
        self._kind_before = kind
        return self._of_kind.get(kind, self._usual(kind))

    def _usual(self, _kind: str) -> WrittenOfKind:
        """Return the name and strength that a container of a kind usually has."""
        return WrittenOfKind()

    def _price_section(self, *beside: AmountField) -> More:
        """Return the section of the price, with fields that belong beside it."""
        section = Section(
            tr("What it costs"),
            tr(
                "For the trend of what a week costs; nothing else reads it. Left empty, the cost "
                "is not known. Past shifts keep the price that they began with."
            ),
            self,
        )
        section.row((self.price, 9), *((field, 3) for field in beside))
        return More(tr("the price"), section, self)

    def _go_by(self, *, solid: bool) -> None:
        """Let a solid have a price by weight only."""
        self.price.go_by(SoldBy.WEIGHT if solid else None)
        self._suit_price()

    @Slot()
    def _suit_price(self) -> None:
        """Ask for what the price needs beside it."""
