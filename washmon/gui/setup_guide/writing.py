"""The units and the decimal sign that a person writes, and sentences shown in them."""

import math
from datetime import date
from decimal import Decimal

from PySide6.QtCore import QDate, QLocale, QObject, Signal

from washmon.gui.i18n import tr
from washmon.line.message import Message, say
from washmon.reports.costs import decimals_of
from washmon.units import Kind, PlainError, UnitSystem, parse, show

UNREADABLE = "?"
"""Stands for what was written and is no amount."""
_MOST_DECIMALS = 6
"""Of money, such as the price of a litre."""


class WritingStyle(QObject):
    """Shared by all fields of a guide.

    Signals:
        changed(): the taste did.
        currency_changed(): prices are in another currency.
    """

    changed = Signal()
    currency_changed = Signal()

    def __init__(self, locale: QLocale | None = None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.locale = locale or QLocale()
        self.decimal_point = "," if self.locale.decimalPoint() == "," else "."
        us = self.locale.measurementSystem() is QLocale.MeasurementSystem.ImperialUSSystem
        self.taste = UnitSystem.US if us else UnitSystem.METRIC
        self._currency = ""

    def set_taste(self, taste: UnitSystem) -> None:
        """Change the units; does nothing when they are the same."""
        if taste is not self.taste:
            self.taste = taste
            self.changed.emit()

    def set_currency(self, currency: str) -> None:
        """Change the currency of prices, by its three letters; does nothing for the same one."""
        if currency != self._currency:
            self._currency = currency
            self.currency_changed.emit()

    def show(self, value: float, kind: Kind) -> str:
        """Return a value in this person's units; money with the decimals of its currency.

        What was written and can't be read as an amount is NaN, and shown as one.
        """
        if not math.isfinite(value):
            return UNREADABLE
        decimals = self._decimals(value) if kind is Kind.MONEY else None
        return show(value, kind, self.taste, self.decimal_point, decimals=decimals)

    def _decimals(self, money: float) -> int:
        """Return the decimals of the currency, or those that an amount has where these are more."""
        exponent = Decimal(str(money)).normalize().as_tuple().exponent
        own = -exponent if isinstance(exponent, int) else 0
        return max(decimals_of(self._currency), min(own, _MOST_DECIMALS))

    def parse(self, text: str, kind: Kind) -> float:
        """Return what was written, in the base unit of the kind.

        Raises:
            UnitError: it is no such amount.
        """
        return parse(text, kind, self.taste, self.decimal_point)

    def say(self, message: Message) -> str:
        """Return a sentence in this person's language and units."""
        return say(message, self.taste, decimal_point=self.decimal_point, translate=tr)

    def refuse(self, refusal: PlainError) -> str:
        """Return a refusal in this person's language."""
        return tr(refusal.template, **refusal.values)

    def date_in_words(self, day: date) -> str:
        """Return a date that nobody can misread, such as Thursday, May 7, 2026."""
        return self.locale.toString(
            QDate(day.year, day.month, day.day), self.locale.FormatType.LongFormat
        )

    def read_date(self, text: str) -> date | None:
        """Return an ISO date, or one as the locale writes it; ``None`` for anything else."""
        tidy = text.strip()
        short = self.locale.dateFormat(self.locale.FormatType.ShortFormat)
        whole_year = short if "yyyy" in short else short.replace("yy", "yyyy")
        for form in ("yyyy-MM-dd", whole_year, whole_year.replace("MM", "M").replace("dd", "d")):
            day = self.locale.toDate(tidy, form)
            if day.isValid() and day.year() >= 1000:
                return date(day.year(), day.month(), day.day())
        long = self.locale.dateFormat(self.locale.FormatType.LongFormat)
        for form in (short, short.replace("yyyy", "yy"), long):
            day = self.locale.toDate(tidy, form)
            if day.isValid():
                # A year of two digits is one of this century: no container is older.
                year = day.year() + 100 if day.year() < 2000 else day.year()
                return date(year, day.month(), day.day())
        return None
