"""What is shown when a shift has ended: its record, the summary first."""

from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.i18n import tr
from washmon.gui.logbook.shift_page import ShiftPage


class ShiftSummaryPage(ShiftPage):
    """The record of the shift that just ended, with its ways out; its open holds can be decided."""

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(client, parent)
        self.back.set_label(tr("Done"))
        self.replay.hide()
