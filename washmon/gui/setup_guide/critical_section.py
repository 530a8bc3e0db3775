"""What of a tank is a critical limit beside the level of its sanitizer."""

from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.form_fields import FormField
from washmon.gui.setup_guide.choices import YesNoField
from washmon.gui.setup_guide.fields import AmountField
from washmon.gui.setup_guide.layout import Section
from washmon.gui.setup_guide.writing import Writing
from washmon.units import Kind


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
