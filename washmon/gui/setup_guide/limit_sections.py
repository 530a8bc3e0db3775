"""Sections of a tank's limits: those of peracetic acid, and what else is critical."""

import msgspec
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.form_fields import FormField
from washmon.gui.setup_guide.choices import YesNoField
from washmon.gui.setup_guide.fields import AmountField
from washmon.gui.setup_guide.layout import Section
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import PeraceticLimits
from washmon.units import Kind


class CriticalSection(Section):
    """Contact, pH and temperature; ``limits`` holds their fields by the names in a tank."""

    def __init__(self, writing: WritingStyle, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("More critical limits"),
            tr(
                "What was washed beyond one of these is held, as it is under the critical low. "
                "Left empty, it is no critical limit here."
            ),
            parent,
        )
        self.contact = AmountField(
            writing, Kind.CONTACT_TIME, tr("Hold what stayed shorter than"), optional=True
        )
        self.ph = AmountField(writing, Kind.PH, tr("Hold what was washed over pH"), optional=True)
        self.temperature = YesNoField(tr("Hold what was washed too cold"))
        self.limits: dict[str, FormField] = {
            "critical_contact_s": self.contact,
            "critical_ph": self.ph,
            "critical_temperature": self.temperature,
        }
        self.row((self.contact, 4), (self.ph, 4), (self.temperature, 4))

    def suit(self, *, chlorine: bool, has_rule: bool) -> None:
        """Show the fields that mean something: pH with chlorine, temperature with a rule on it."""
        self.ph.setVisible(chlorine)
        self.temperature.setVisible(has_rule)


class PeraceticSection(Section):
    """Five levels; ``levels`` holds their fields by the names of the limits."""

    def __init__(self, writing: WritingStyle, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Peracetic acid"),
            tr(
                "Under the critical low, product is held. Low and high say when to act. Beside "
                "these, the limits of 21 CFR 173.315 for acid, peroxide and HEDP are watched."
            ),
            parent,
        )
        captions = (
            ("critical_low_mg_l", tr("Critical low"), ""),
            ("low_mg_l", tr("Low"), ""),
            ("target_mg_l", tr("Target"), ""),
            ("high_mg_l", tr("High"), ""),
            ("label_max_mg_l", tr("Most that the label allows"), tr("As your label says.")),
        )
        self.levels = {
            name: AmountField(writing, Kind.CONCENTRATION, caption, hint)
            for name, caption, hint in captions
        }
        *levels, most = self.levels.values()
        self.row(*((field, 3) for field in levels))
        self.row((most, 3))

    def show_fields(self, *, shown: bool) -> None:
        """Show or hide the section and each field, so that none is asked for out of sight."""
        self.setVisible(shown)
        for field in self.levels.values():
            field.setVisible(shown)

    def limits(self, before: PeraceticLimits | None) -> PeraceticLimits:
        """Return the limits as written; what has no field stays as it was before."""
        values = {name: field.value for name, field in self.levels.items()}
        if before is None:
            return PeraceticLimits(**values)
        return msgspec.structs.replace(before, **values)
