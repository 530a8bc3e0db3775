"""How the program looks: the theme that was chosen or the system's, and whether anything moves."""

from PySide6.QtCore import QObject, Qt, Slot
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QWidget

from washmon.gui.kit import theme
from washmon.gui.kit.theme import BRIGHT, DARK, HIGH_CONTRAST, THEMES, Theme
from washmon.gui.settings import Settings

_EFFECTS = (
    Qt.UIEffect.UI_AnimateMenu,
    Qt.UIEffect.UI_FadeMenu,
    Qt.UIEffect.UI_AnimateCombo,
    Qt.UIEffect.UI_AnimateTooltip,
    Qt.UIEffect.UI_FadeTooltip,
)


def system_theme() -> Theme:
    """Return the theme that goes with what the system is set to."""
    hints = QGuiApplication.styleHints()
    if hints.accessibility().contrastPreference() is Qt.ContrastPreference.HighContrast:
        return HIGH_CONTRAST
    return DARK if hints.colorScheme() is Qt.ColorScheme.Dark else BRIGHT


def apply_looks(app: QApplication, settings: Settings) -> None:
    """Give the program the looks that were chosen."""
    theme.apply(app, settings.theme or system_theme(), still=settings.still)
    for effect in _EFFECTS:
        app.setEffectEnabled(effect, not settings.still)


class Looks(QObject):
    """Keeps what was chosen, and follows the system where nothing was."""

    def __init__(self, settings: Settings, parent: QWidget) -> None:
        super().__init__(parent)
        self._settings = settings
        hints = QGuiApplication.styleHints()
        hints.colorSchemeChanged.connect(self.follow)
        hints.accessibility().contrastPreferenceChanged.connect(self.follow)

    @Slot(str)
    def choose(self, name: str) -> None:
        """Look like this theme from now on; with an empty name, like the system."""
        self._settings.theme = THEMES.get(name)
        self._apply()

    @Slot(bool)
    def stand_still(self, on: bool) -> None:  # noqa: FBT001 - Qt's signal
        """Let nothing move by itself, or let it again."""
        self._settings.still = on
        self._apply()

    @Slot()
    def follow(self) -> None:
        """Change with the system, unless a theme was chosen."""
        if self._settings.theme is None and system_theme() is not theme.current():
            self._apply()

    def _apply(self) -> None:
        app = QApplication.instance()
        if isinstance(app, QApplication):
            apply_looks(app, self._settings)
