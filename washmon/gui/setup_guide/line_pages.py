"""The pages that describe a line together: shown from a set-up, and read into one."""

import msgspec

from washmon.chemistry.measures import METRIC_SET, US_SET
from washmon.gui.setup_guide.layout import FormPage
from washmon.gui.setup_guide.margins_page import MarginsPage
from washmon.gui.setup_guide.measures_page import MeasuresPage
from washmon.gui.setup_guide.place_page import PlacePage
from washmon.gui.setup_guide.products_page import ProductsPage
from washmon.gui.setup_guide.rules_page import RulesPage
from washmon.gui.setup_guide.tanks_page import TanksPage
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import LineSetup
from washmon.units import UnitSystem

EMPTY = LineSetup(site="", location="", line="", commodity="", people=(), tanks=(), sanitizers=())


class LinePages:
    """Place, products, tanks, measures, margins and rules."""

    def __init__(self, writing: WritingStyle) -> None:
        self._writing = writing
        self.place = PlacePage(writing)
        self.products = ProductsPage(writing)
        self.tanks = TanksPage(writing)
        self.measures = MeasuresPage(writing)
        self.margins = MarginsPage(writing)
        self.rules = RulesPage(writing)

    @property
    def all(self) -> tuple[FormPage, ...]:
        """The pages in their order."""
        about_line = (self.place, self.products, self.tanks, self.measures)
        return (*about_line, self.margins, self.rules)

    def show_setup(self, setup: LineSetup) -> None:
        """Show a set-up on all pages."""
        self.place.show_setup(setup)
        self.show_water(setup)
        self.measures.show_setup(setup)
        self.measures.show_instruments(setup)
        self.margins.show_setup(setup)
        self.rules.show_setup(setup)

    def show_water(self, setup: LineSetup) -> None:
        """Show the products and tanks of a set-up."""
        self.products.show_setup(setup)
        self.tanks.show_setup(setup)
        self.tanks.offer(self.products.choices())

    def onto(self, start: LineSetup) -> LineSetup:
        """Return a set-up with what is written; NaN stands for a number that cannot be read."""
        draft = msgspec.structs.replace(
            self.place.onto(start),
            people=self.place.people(),
            tanks=self.tanks.tanks(),
            sanitizers=self.products.sanitizers(),
            acids=self.products.acids(),
            margins=self.margins.written(),
            rules_off=self.rules.rules_off(),
            taste=self._writing.taste,
            currency=self.place.currency.text.upper(),
            water_price=self.place.water_price.price(),
        )
        return self.measures.written_onto(draft)

    def follow_taste(self) -> None:
        """Let measures that nobody touched change with the units."""
        if self.measures.owned() in (US_SET, METRIC_SET):
            self.measures.show_setup(fresh(self._writing.taste))


def fresh(taste: UnitSystem) -> LineSetup:
    """Return what a new line begins with."""
    usual = US_SET if taste is UnitSystem.US else METRIC_SET
    return msgspec.structs.replace(EMPTY, taste=taste, measures=usual)


def same(one: object, other: object) -> bool:
    """Compare as written down, where NaN is equal to NaN."""
    return msgspec.json.encode(one) == msgspec.json.encode(other)
