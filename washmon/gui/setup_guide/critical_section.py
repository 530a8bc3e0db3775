"""What of a tank is a critical limit beside the level of its sanitizer."""

import msgspec
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.setup_guide.choices import ToggleField
from washmon.gui.setup_guide.fields import AmountField, Field
from washmon.gui.setup_guide.layout import Section
from washmon.gui.setup_guide.writing import Writing
from washmon.line.setup import Tank
from washmon.units import Kind

YES, NO = "yes", "no"


class CriticalSection(Section):
    """Contact, pH and temperature; ``limits`` holds their fields by the names in a tank."""

    def __init__(self, writing: Writing, parent: QWidget | None = None) -> None:
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
        self.temperature = ToggleField(
            tr("Hold what was washed too cold"),
            ((YES, tr("Yes")), (NO, tr("No"))),
        )
        self.limits: dict[str, Field] = {
            "critical_contact_s": self.contact,
            "critical_ph": self.ph,
            "critical_temperature": self.temperature,
        }
        self.row((self.contact, 4), (self.ph, 4), (self.temperature, 4))

    def show_tank(self, tank: Tank) -> None:
        """Show the limits of a tank."""
        self.contact.set_number(tank.critical_contact_s)
        self.ph.set_number(tank.critical_ph)
        self.temperature.choose(YES if tank.critical_temperature else NO)

    def suit(self, *, chlorine: bool, has_rule: bool) -> None:
        """Show the fields that mean something: pH with chlorine, temperature with a rule on it."""
        self.ph.setVisible(chlorine)
        self.temperature.setVisible(has_rule)

    def onto(self, tank: Tank) -> Tank:
        """Return a tank with these limits; what means nothing in it is no limit."""
        return msgspec.structs.replace(
            tank,
            critical_contact_s=self.contact.number,
            critical_ph=tank.critical_ph if tank.peracetic else self.ph.number,
            critical_temperature=self.temperature.key == YES and tank.temperature_rule is not None,
        )
