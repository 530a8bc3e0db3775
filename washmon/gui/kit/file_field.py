"""A field that names a file, chosen in the system's own dialog or written as a path."""

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QLineEdit, QWidget

from washmon.gui.kit import theme
from washmon.gui.kit.boxes import hbox
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.file_asking import FileOpener
from washmon.gui.kit.form_fields import FormField
from washmon.gui.kit.theme import Size

_LONGEST_PATH = 4000


class FileField(FormField):
    """A path, and the button that chooses one."""

    def __init__(
        self, key: str, label: str, choose: str, *, hint: str = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(key, label, hint=hint, parent=parent)
        self.line = QLineEdit(self)
        self.line.setFont(theme.font(Size.BODY))
        self.line.setMaxLength(_LONGEST_PATH)
        self.button = PressButton(choose, parent=self, then=self._ask)
        self.opener = FileOpener(choose, self)
        both = QWidget(self)
        hbox((self.line, 1), self.button, on=both, gap_px=8)
        self._hold(both, self.line, self._typed, self.line.setText)
        self.opener.chosen.connect(self._take)
        self.line.textEdited.connect(self._tell)

    def _typed(self) -> str:
        return self.line.text().strip()

    @Slot()
    def _ask(self) -> None:
        self.opener.ask()

    @Slot(str)
    def _take(self, path: str) -> None:
        self.line.setText(path)
        self._tell()
