"""Working out a tank's volume from what was measured inside it, in place."""

import math

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.text import Text
from washmon.gui.kit.theme import Size
from washmon.gui.setup_guide import setup_words
from washmon.gui.setup_guide.choices import ToggleField
from washmon.gui.setup_guide.fields import AmountField
from washmon.gui.setup_guide.layout import Section
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import InsideMeasurements, Shape
from washmon.line.volume import MeasurementError, working_volume_l
from washmon.units import Kind


class VolumePanel(Section):
    """Shape, width, length and depth of the water; ``used`` gives litres that the person took."""

    used = Signal(float)

    def __init__(self, writing: WritingStyle, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Work out the volume"),
            tr("Measure inside the tank, and the depth of the water as it stands when you wash."),
            parent,
        )
        self._writing = writing
        self.shape = ToggleField(tr("Shape"), setup_words.shapes())
        self.width_cm = AmountField(writing, Kind.LENGTH, tr("Width"), optional=True)
        self.length_cm = AmountField(writing, Kind.LENGTH, tr("Length"), optional=True)
        self.depth_cm = AmountField(writing, Kind.LENGTH, tr("Depth of the water"), optional=True)
        self.result = Text("", Size.TITLE, bold=True, wrapped=True)
        self.use = PressButton(tr("Use this volume"), then=self._use)
        ends = QWidget(self)
        hbox((self.result, 1), self.use, on=ends)
        self.row((self.shape, 12))
        self.row((self.width_cm, 4), (self.length_cm, 4), (self.depth_cm, 4))
        self.row((ends, 12))
        self.shape.put(Shape.RECTANGULAR)
        for field in self.lengths.values():
            field.changed.connect(self.work_out)
            field.left.connect(self.work_out)
        self.shape.changed.connect(self.work_out)
        writing.changed.connect(self.work_out)
        self.work_out()

    @property
    def lengths(self) -> dict[str, AmountField]:
        """The fields by the names that a refusal uses."""
        return {
            "width_cm": self.width_cm,
            "length_cm": self.length_cm,
            "depth_cm": self.depth_cm,
        }

    @property
    def measured(self) -> InsideMeasurements:
        """What is written; NaN for what is missing."""
        shape = Shape(self.shape.text)
        return InsideMeasurements(
            shape=shape,
            width_cm=self.width_cm.value,
            depth_cm=self.depth_cm.value,
            length_cm=None if shape is Shape.ROUND else self.length_cm.number,
        )

    def set_measured(self, measured: InsideMeasurements | None) -> None:
        """Show measurements."""
        if measured is not None:
            self.shape.put(measured.shape)
            self.width_cm.set_number(measured.width_cm)
            self.length_cm.set_number(measured.length_cm)
            self.depth_cm.set_number(measured.depth_cm)
        self.work_out()

    @Slot()
    def work_out(self) -> None:
        """Show the volume, or what is wrong beside its field."""
        round_tank = self.shape.text == Shape.ROUND
        self.length_cm.setVisible(not round_tank)
        flat = self.shape.text == Shape.RECTANGULAR
        self.width_cm.label.setText(tr("Width") if flat else tr("Straight across the top"))
        faults = {name: field.problem() for name, field in self.lengths.items()}
        volume = math.nan
        filled = [field for field in self.lengths.values() if field.editor.text().strip()]
        if len(filled) >= (2 if round_tank else 3) and not any(faults.values()):
            try:
                volume = working_volume_l(self.measured)
            except MeasurementError as refusal:
                faults[refusal.field] = self._writing.refuse(refusal)
        for name, field in self.lengths.items():
            field.show_fault(faults[name] if field.visited else "")
        known = math.isfinite(volume)
        self.use.setEnabled(known)
        self.result.setText(f"= {self._writing.show(volume, Kind.VOLUME)}" if known else "")

    @Slot()
    def _use(self) -> None:
        self.used.emit(working_volume_l(self.measured))
