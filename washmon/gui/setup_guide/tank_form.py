"""All that is wanted of one tank."""

import math
from typing import NamedTuple

import msgspec
from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import vbox
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.form_fields import ListField
from washmon.gui.setup_guide import setup_words
from washmon.gui.setup_guide.choices import ToggleField
from washmon.gui.setup_guide.fields import AmountField, HoursField
from washmon.gui.setup_guide.layout import Scroller, Section
from washmon.gui.setup_guide.limit_sections import CriticalSection, PeraceticSection
from washmon.gui.setup_guide.roster import RosterForm
from washmon.gui.setup_guide.volume_panel import VolumePanel
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import (
    ChlorineLimits,
    InsideMeasurements,
    LabelBasis,
    Look,
    Stage,
    Tank,
    TemperatureRule,
    TemperatureRuleKind,
)
from washmon.units import Kind

Choices = list[tuple[str, str]]
_NOT_USED = ChlorineLimits(
    critical_low_mg_l=30.0, low_mg_l=40.0, target_mg_l=55.0, high_mg_l=80.0, label_max_mg_l=120.0
)
"""Stands in a tank of peracetic acid that never had limits of chlorine: nothing reads it."""


class Offered(NamedTuple):
    """The products that tanks can choose from, and which of them are peracetic acid."""

    sanitizers: Choices
    acids: Choices
    peracetic: frozenset[str]


class TankForm(RosterForm):
    """Builds a tank from its fields; what has no field stays as it came.

    ``same_label`` asks to give this answer on the label to the other tanks of the same product.
    """

    same_label = Signal(object)

    def __init__(self, writing: WritingStyle, tank: Tank, parent: QWidget | None = None) -> None:
        super().__init__(tr("Name"), parent)
        self._writing = writing
        self._tank = tank
        self._measured: InsideMeasurements | None = tank.measured
        self._peracetic_keys = frozenset({tank.sanitizer} if tank.peracetic else ())
        self.scroller = Scroller(self)
        vbox(self.scroller, on=self)
        self._build_vessel()
        self._build_chlorine()
        self._build_peracetic()
        self._build_ph_and_cloudiness()
        self._build_fill_and_checks()
        self._build_contact_and_temperature()
        self._build_critical()
        self.scroller.column.addStretch(1)
        self._show(tank)

    def _section(self, heading: str, lead: str = "") -> Section:
        section = Section(heading, lead, self)
        self.scroller.column.addWidget(section)
        return section

    def _amount(
        self, name: str, kind: Kind, caption: str, hint: str = "", *, optional: bool = False
    ) -> AmountField:
        field = AmountField(self._writing, kind, caption, hint, optional=optional)
        return self.enter(name, field)

    def _build_vessel(self) -> None:
        section = self._section(tr("Tank"))
        self.stage = self.enter(
            "stage", ToggleField(tr("What it does"), setup_words.stages(), of=Stage)
        )
        self.volume = self._amount("volume_l", Kind.VOLUME, tr("Working volume"))
        self.work_out = PressButton(tr("Work out the volume"))
        self.work_out.setCheckable(True)
        self.panel = VolumePanel(self._writing, self)
        self.panel.hide()
        self.sanitizer = self.enter("sanitizer", ListField("", tr("Sanitizer"), ()))
        self.acid = self.enter("acid", ListField("", tr("Acid to lower its pH"), ()))
        section.row((self.name, 4), (self.stage, 8))
        section.row((self.volume, 4), (_beside(self.work_out), 8))
        section.row((self.panel, 12))
        section.row((self.sanitizer, 6), (self.acid, 6))
        self.sanitizer.changed.connect(self._suit_sanitizer)
        self.volume.changed.connect(self._forget_measured)
        self.work_out.toggled.connect(self.panel.setVisible)
        self.panel.used.connect(self._take_volume)

    def _build_chlorine(self) -> None:
        self.chlorine_section = section = self._section(
            tr("Free chlorine"),
            tr("Under the critical low, product is held. Low and high say when to act."),
        )
        ppm = Kind.CONCENTRATION
        self.critical = self._amount("chlorine.critical_low_mg_l", ppm, tr("Critical low"))
        self.low = self._amount("chlorine.low_mg_l", ppm, tr("Low"))
        self.target = self._amount("chlorine.target_mg_l", ppm, tr("Target"))
        self.high = self._amount("chlorine.high_mg_l", ppm, tr("High"))
        self.label_max = self._amount(
            "chlorine.label_max_mg_l",
            ppm,
            tr("Most that the label allows"),
            tr("As your label says."),
        )
        self.label_basis = self.enter(
            "chlorine.label_basis",
            ToggleField(
                tr("The label means"),
                setup_words.label_bases(),
                tr("Free is what still works; total counts what is bound, too."),
                of=LabelBasis,
            ),
        )
        section.row((self.critical, 3), (self.low, 3), (self.target, 3), (self.high, 3))
        self.spread = PressButton(tr("Same on all tanks"))
        self.spread.clicked.connect(lambda: self.same_label.emit(self))
        section.row((self.label_max, 3), (self.label_basis, 5), (_beside(self.spread), 4))

    def _build_peracetic(self) -> None:
        self.peracetic = PeraceticSection(self._writing, self)
        self.scroller.column.addWidget(self.peracetic)
        for name, field in self.peracetic.levels.items():
            self.enter(f"peracetic.{name}", field)

    def _build_ph_and_cloudiness(self) -> None:
        section = self._section(tr("pH and cloudiness"))
        self.ph = {
            name: self._amount(f"ph.{name}", Kind.PH, caption)
            for name, caption in (
                ("low", tr("pH low")),
                ("target", tr("pH target")),
                ("high", tr("pH high")),
            )
        }
        self.ntu = self._amount(
            "turbidity_max_ntu", Kind.TURBIDITY, tr("Cloudiness at most"), optional=True
        )
        self.look = self.enter(
            "look_limit",
            ToggleField(tr("By eye: change the water when the"), setup_words.looks(), of=Look),
        )
        section.row(*((field, 4) for field in self.ph.values()))
        section.row((self.ntu, 4), (self.look, 8))

    def _build_fill_and_checks(self) -> None:
        section = self._section(
            tr("Fresh water and checks"), tr("Each may stay empty, but one check is needed.")
        )
        count, after = Kind.COUNT, tr("New water after batches")
        batches = self._amount("batches_per_fill", count, after, optional=True)
        hours = HoursField(self._writing, Kind.TIME, tr("New water after hours"), optional=True)
        self.enter("hours_per_fill", hours)
        after = tr("Check after batches")
        self.check_batches = self._amount("check_batches", count, after, optional=True)
        after = tr("Check after minutes")
        self.check_minutes = self._amount("check_minutes", Kind.TIME, after, optional=True)
        second = self._amount(
            "second_volume_l",
            Kind.VOLUME,
            tr("Second vessel"),
            tr("In which fresh water is made ready beside the tank, if there is one."),
            optional=True,
        )
        section.row(
            *((field, 3) for field in (batches, hours, self.check_batches, self.check_minutes))
        )
        section.row((second, 6))

    def _build_contact_and_temperature(self) -> None:
        section = self._section(tr("Contact, mixing and temperature"))
        self.contact = self._amount(
            "contact_s", Kind.CONTACT_TIME, tr("Contact at least"), optional=True
        )
        self.mix = self._amount("mix_minutes", Kind.TIME, tr("Mixed after a dose in"))
        self.rule = self.enter(
            "temperature_rule.kind",
            ListField("", tr("Water against pulp"), setup_words.temperature_rules()),
        )
        self.by = self._amount(
            "temperature_rule.by_c", Kind.TEMPERATURE_DIFFERENCE, tr("Difference"), optional=True
        )
        section.row((self.contact, 3), (self.mix, 3))
        section.row((self.rule, 6), (self.by, 3))
        self.rule.changed.connect(self._show_rule)

    def _build_critical(self) -> None:
        self.more_critical = CriticalSection(self._writing, self)
        self.scroller.column.addWidget(self.more_critical)
        for name, field in self.more_critical.limits.items():
            self.enter(name, field)

    # --- showing and reading

    def offer(self, offered: Offered) -> None:
        """Offer the products that the set-up has now."""
        self.sanitizer.offer(offered.sanitizers, self.sanitizer.text)
        self.acid.offer([("", tr("None")), *offered.acids], self.acid.text)
        self._peracetic_keys = offered.peracetic
        self._suit_sanitizer()

    @property
    def is_peracetic(self) -> bool:
        """Whether the tank is kept with peracetic acid."""
        return self.sanitizer.text in self._peracetic_keys

    @Slot()
    def _suit_sanitizer(self) -> None:
        """Show the limits of the sanitizer that is chosen, and only those."""
        chlorine = not self.is_peracetic
        of_chlorine = (self.critical, self.low, self.target, self.high, self.label_max)
        for field in (*of_chlorine, self.label_basis, *self.ph.values(), self.acid):
            field.setVisible(chlorine)
        self.chlorine_section.setVisible(chlorine)
        self.peracetic.show_fields(shown=not chlorine)
        self._show_rule()

    def _show(self, tank: Tank) -> None:
        self.offer(
            Offered(
                [(tank.sanitizer, tank.sanitizer)],
                [(tank.acid, tank.acid)] if tank.acid else [],
                self._peracetic_keys,
            )
        )
        self.show_parts(tank)
        self.panel.set_measured(tank.measured)
        self._suit_sanitizer()

    def tank(self, number: int) -> Tank:
        """Return the tank as it is written; NaN stands for what cannot be read."""
        rule = self._temperature_rule()
        written = msgspec.structs.replace(
            self.onto(self._tank),
            number=number,
            measured=self._measured,
            sanitizer=self.sanitizer.text,
            temperature_rule=rule,
            critical_temperature=self.more_critical.temperature.read() and rule is not None,
        )
        if not self.is_peracetic:
            return msgspec.structs.replace(written, peracetic=None)
        return msgspec.structs.replace(
            written,
            acid=None,
            chlorine=self._kept_chlorine(),
            ph=self._tank.ph,
            critical_ph=self._tank.critical_ph,
            peracetic=self.peracetic.limits(self._tank.peracetic),
        )

    def _kept_chlorine(self) -> ChlorineLimits:
        """Return limits that nothing reads, as they came; a new tank has none that can be kept."""
        kept = self._tank.chlorine
        return kept if math.isfinite(kept.target_mg_l) else _NOT_USED

    def _temperature_rule(self) -> TemperatureRule | None:
        if not self.rule.text:
            return None
        return TemperatureRule(kind=TemperatureRuleKind(self.rule.text), by_c=self.by.value)

    @Slot()
    def _show_rule(self) -> None:
        self.by.setVisible(bool(self.rule.text))
        self.more_critical.suit(chlorine=not self.is_peracetic, has_rule=bool(self.rule.text))

    @Slot()
    def _forget_measured(self) -> None:
        """A volume that was typed is no longer the one that was measured."""
        self._measured = None

    @Slot(float)
    def _take_volume(self, volume_l: float) -> None:
        self._measured = self.panel.measured
        self.volume.set_number(volume_l)
        self.volume.show_fault("")
        self.work_out.setChecked(False)
        self.volume.focus()
        self.changed.emit()
        self.left.emit()


def _beside(button: PressButton) -> QWidget:
    """Return a holder that sets a button level with the editor of the field before it."""
    holder = QWidget()
    vbox(button, on=holder, margins_px=(0, 19, 0, 0))
    button.setSizePolicy(button.sizePolicy().Policy.Maximum, button.sizePolicy().Policy.Fixed)
    return holder
