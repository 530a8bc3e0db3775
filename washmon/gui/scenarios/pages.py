"""Pages of the editor that are fields alone: words, water and produce, product, instruments."""

from typing import NamedTuple

from msgspec.structs import replace
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.scenarios.fields import field_of
from washmon.gui.setup_guide.choices import ToggleField
from washmon.gui.setup_guide.fields import AmountField
from washmon.gui.setup_guide.layout import FormPage, Scroller, Section
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.sessions.practice.keys import key_of
from washmon.sessions.practice.scenario import Colleague, Scenario
from washmon.units import Kind


class FieldCard(NamedTuple):
    """A card of a page: its heading, a sentence under it, and rows of (path, columns of twelve)."""

    heading: str
    lead: str
    rows: tuple[tuple[tuple[str, int], ...], ...]


class KeysPage(FormPage):
    """A page whose fields are made from the keys that they are named by."""

    def __init__(
        self,
        title: str,
        lead: str,
        parts: tuple[FieldCard, ...],
        writing: WritingStyle,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(title, lead, parent)
        paths = [path for part in parts for row in part.rows for path, _ in row]
        self.paths = frozenset(paths)
        scroller = Scroller(self)
        self.outer.addWidget(scroller)
        self.column = scroller.column
        for part in parts:
            section = Section(part.heading, part.lead, self)
            for row in part.rows:
                section.row(
                    *((self.enter(path, field_of(path, writing)), wide) for path, wide in row)
                )
            self.column.addWidget(section)
        self.column.addStretch(1)

    def owns(self, path: str) -> bool:
        """Tell whether a fault at this path is mended here."""
        return path in self.paths

    def problem_at(self, path: str) -> str:
        """Return why what is written in a field cannot be read; empty when it can."""
        return self._fields[path].problem()


def words_page(writing: WritingStyle) -> KeysPage:
    """Return the page of what is told."""
    return KeysPage(
        tr("What it teaches"),
        tr("Give it a name, say what is to be learnt, and how a good run looks."),
        (
            FieldCard("", "", ((("title", 9), ("level", 3)), (("goal", 12),), (("briefing", 12),))),
            FieldCard(tr("For the trainee"), "", ((("good", 6), ("hints", 6)),)),
            FieldCard(tr("For a lesson"), "", ((("asks", 12),),)),
        ),
        writing,
    )


def water_page(writing: WritingStyle) -> KeysPage:
    """Return the page of water and produce."""
    return KeysPage(
        tr("Water and produce"),
        tr("What is true, and nobody on the line is told."),
        (
            FieldCard(
                tr("Tap water"),
                "",
                (
                    (("tap.ph", 4), ("tap.alkalinity_mg_l", 4), ("tap.celsius", 4)),
                    (("tap.chloride_mg_l", 4), ("tap.ntu", 4), ("tap.demand_mg_l", 4)),
                ),
            ),
            FieldCard(
                tr("Produce"),
                "",
                (
                    (("world.dirtiness", 8), ("world.pulp_c", 4)),
                    (("world.demand_share", 6), ("world.acid_share", 6)),
                ),
            ),
            FieldCard(
                tr("Tanks"),
                "",
                (
                    (("world.volume_share", 6), ("world.makeup_l_min", 6)),
                    (("world.air_c", 6), ("world.decay_share", 6)),
                    (("world.mixing_share", 6), ("world.samples_at", 6)),
                ),
            ),
        ),
        writing,
    )


def bench_page(writing: WritingStyle) -> KeysPage:
    """Return the page of product and instruments."""
    return KeysPage(
        tr("Product and bench"),
        tr("How far the label and the readings are to be trusted."),
        (
            FieldCard(tr("Product"), "", ((("world.strength_share", 6),),)),
            FieldCard(
                tr("Instruments"),
                "",
                (
                    (("bench.chlorine", 12),),
                    (("world.strip_share", 6), ("bench.strips_use_by", 6)),
                ),
            ),
        ),
        writing,
    )


NOBODY, CHECKED, UNCHECKED = "nobody", "checked", "unchecked"


class PacePage(KeysPage):
    """When it begins, how the batches come, and what a colleague did before."""

    def __init__(self, writing: WritingStyle, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Time and batches"),
            tr("How long the shift lasts, and what comes when."),
            (
                FieldCard(
                    tr("The shift"),
                    "",
                    (
                        (("pace.begins", 4), ("pace.minutes", 4), ("pace.first_batch", 4)),
                        (("pace.batch_minutes", 4), ("pace.batch_weight", 4), ("pace.seed", 4)),
                    ),
                ),
            ),
            writing,
            parent,
        )
        told = key_of("before.batches")
        self.colleague = ToggleField(
            tr("Who made up the tanks"),
            (
                (NOBODY, tr("The trainee does")),
                (CHECKED, tr("A colleague, who measured once")),
                (UNCHECKED, tr("A colleague, unmeasured")),
            ),
        )
        self.batches = AmountField(writing, Kind.COUNT, tr(told.caption), tr(told.meaning))
        section = Section(tr("Before the trainee comes"), "", self)
        section.row((self.colleague, 9), (self.batches, 3))
        self.column.insertWidget(1, section)
        for one in (self.colleague, self.batches):
            one.left.connect(self.left)
            one.changed.connect(self.changed)
        self.colleague.changed.connect(self._allow)

    def owns(self, path: str) -> bool:
        """Tell whether a fault at this path is mended here."""
        return super().owns(path) or path.startswith("before")

    def show_scenario(self, scenario: Scenario) -> None:
        """Show the pace of a scenario."""
        self.show_parts(scenario)
        before = scenario.before
        measured = CHECKED if before is not None and before.first_check else UNCHECKED
        self.colleague.put(NOBODY if before is None else measured)
        self.batches.set_number(0 if before is None else before.batches)
        self._allow()

    def with_colleague(self, scenario: Scenario) -> Scenario:
        """Return a scenario with what the colleague did."""
        if self.colleague.text == NOBODY:
            return replace(scenario, before=None)
        return replace(
            scenario,
            before=Colleague(
                batches=self.batches.count or 0, first_check=self.colleague.text == CHECKED
            ),
        )

    def _allow(self) -> None:
        has = self.colleague.text != NOBODY
        self.batches.setVisible(has)
        if has:
            self._fields["before.batches"] = self.batches
        else:
            self._fields.pop("before.batches", None)
