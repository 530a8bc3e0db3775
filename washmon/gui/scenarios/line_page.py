"""The page of the line: one of the practice lines, or the shed's own with products and units."""

import json

import msgspec
from msgspec.structs import replace
from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import begun, tr
from washmon.gui.kit.boxes import vbox
from washmon.gui.kit.form_fields import ListField
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.scenarios.fields import sanitizers
from washmon.gui.scenarios.pages import FieldCard, KeysPage
from washmon.gui.setup_guide.choices import ToggleField
from washmon.gui.setup_guide.layout import Section
from washmon.gui.setup_guide.setup_summary import summary
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import LineSetup
from washmon.sessions.making.own_line import commodity_of, own_line
from washmon.sessions.practice.parameters import PracticeError, parameters
from washmon.sessions.practice.practice_setup import practice_setup, wash_tanks
from washmon.sessions.practice.scenario import KeptWith, LineChoice, Scenario

TEMPLATE, KEPT, OWN = "template", "kept", "own"
_SHOWN = ("sanitizers", "tanks")


_HOW_OFTEN = (("line.check_batches", 4), ("line.check_minutes", 4), ("line.batches_per_fill", 4))


class LinePage(KeysPage):
    """What it shows under the choice is the line as the trainee will have it."""

    def __init__(self, writing: WritingStyle, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Line"),
            tr("The tanks, limits and products that are practised with."),
            (FieldCard(tr("How often to check"), "", (_HOW_OFTEN,)),),
            writing,
            parent,
        )
        self._writing = writing
        self._setups: dict[str, LineSetup] = {}
        self._kept: LineChoice | None = None
        self._commodity_of_shed: str | None = None
        self.source = ToggleField(
            tr("Which line"),
            (
                (TEMPLATE, tr("A practice line")),
                (KEPT, tr("As this scenario has it")),
                (OWN, tr("This shed's own line")),
            ),
            tr("The simulated water knows one kind of sanitizer at a time, and no rinses."),
        )
        known = parameters().commodity
        self.commodity = ListField(
            "",
            tr("Produce"),
            [(key, begun(one.line)) for key, one in known.items() if wash_tanks(key)],
            hint=tr("how it uses up the sanitizer"),
        )
        self.tanks = ToggleField(
            tr("Tanks"),
            tuple((str(count), str(count)) for count in range(1, _most_tanks() + 1)),
            of=int,
        )
        self.kept_with = ToggleField(tr("Kept with"), sanitizers(), of=KeptWith)
        self.facts = QWidget(self)
        self._lines = vbox(on=self.facts, gap_px=2)
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        section = Section(tr("The line"), "", self)
        section.row((self.source, 12))
        section.row((self.commodity, 6), (self.tanks, 6))
        section.row((self.kept_with, 12))
        section.row((self.facts, 12))
        self.column.insertWidget(0, section)
        rest = dict(self._fields)
        self._fields.clear()  # in the order in which they stand
        for name, field in (
            ("line.commodity", self.commodity),
            ("line.tanks", self.tanks),
            ("line.kept_with", self.kept_with),
        ):
            self.enter(name, field)
        self._fields.update(rest)

    def _connect(self) -> None:
        self.source.changed.connect(self._take_source)
        self.source.changed.connect(self.changed)
        for one in (self.commodity, self.tanks, self.kept_with):
            one.changed.connect(self._tell)
        self._writing.changed.connect(self._tell)

    def owns(self, path: str) -> bool:
        """Tell whether a fault at this path is mended here."""
        return path.startswith("line")

    def show_scenario(self, scenario: Scenario, shed: LineSetup | None) -> None:
        """Show the line of a scenario; ``shed`` is the shed's own, if it has one."""
        self._setups = {}
        line = scenario.line
        if line.setup is not None:
            self._setups[KEPT] = scenario.setup("AB")
        why_not = ""
        if shed is not None:
            try:
                self._setups[OWN] = own_line(shed)
            except PracticeError as trouble:
                why_not = str(trouble)
        for key in (KEPT, OWN):
            button = self.source.row.button(key)
            button.setVisible(key == OWN or key in self._setups)
            button.setEnabled(key in self._setups)
            button.setToolTip(why_not if key == OWN else "")
        self._commodity_of_shed = None if shed is None else commodity_of(shed)
        self.show_parts(scenario)
        self.source.put(TEMPLATE if line.setup is None else KEPT)
        self._kept = line
        self.tanks.put(str(min(line.tanks, _most_tanks())))
        self._tell()

    def onto_line(self, scenario: Scenario) -> Scenario:
        """Return a scenario with the line that is chosen."""
        rest = replace(self.onto(scenario).line, commodity=self.commodity.text)
        setup = self._setups.get(self.source.text)
        if self.source.text != TEMPLATE:
            rest = replace(rest, kept_with=KeptWith.CHLORINE)  # its set-up says it
        if self.source.text == KEPT and self._kept is not None:
            line = replace(rest, setup=self._kept.setup, tanks=self._kept.tanks)
        elif setup is not None:
            written = json.dumps(json.loads(msgspec.json.encode(setup)))
            line = replace(rest, setup=written, tanks=len(setup.tanks))
        else:
            line = replace(rest, setup=None, tanks=int(self.tanks.text or 1))
        return replace(scenario, line=line)

    @Slot()
    def _take_source(self) -> None:
        if self.source.text == OWN and self._commodity_of_shed is not None:
            self.commodity.put(self._commodity_of_shed)
            self._writing.set_taste(self._setups[OWN].taste)
        self._tell()

    @Slot()
    def _tell(self) -> None:
        """Say what the line is like."""
        own = self._setups.get(self.source.text)
        self.tanks.setVisible(own is None)
        self.kept_with.setVisible(own is None)
        has = len(wash_tanks(self.commodity.text)) if self.commodity.text else _most_tanks()
        for count in range(1, _most_tanks() + 1):
            self.tanks.row.button(str(count)).setVisible(count <= has)
        if own is None and int(self.tanks.text or 1) > has:
            self.tanks.put(str(has))
        while (item := self._lines.takeAt(0)) is not None:
            if (old := item.widget()) is not None:
                old.hide()
                old.deleteLater()
        setup = own or self._practice_line()
        for block in summary(setup, self._writing) if setup is not None else ():
            if block.path.startswith(_SHOWN):
                self._lines.addWidget(Text(block.heading, Size.SMALL, bold=True, wrapped=True))
                words = " \N{MIDDLE DOT} ".join(line for line in block.lines if line)
                self._lines.addWidget(Text(words, Size.SMALL, tone=Tone.SOFT, wrapped=True))

    @property
    def _peracetic(self) -> bool:
        return self.kept_with.read() is KeptWith.PERACETIC

    def _practice_line(self) -> LineSetup | None:
        try:
            count = int(self.tanks.text or 1)
            return practice_setup(self.commodity.text, count, peracetic=self._peracetic)
        except PracticeError:
            return None


def _most_tanks() -> int:
    """Return the most tanks that a practice line has."""
    return max(len(wash_tanks(key)) for key in parameters().commodity)
