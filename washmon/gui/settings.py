"""What is remembered from one start to the next: looks and habits, never records."""

from pathlib import Path

from PySide6.QtCore import QByteArray, QSettings

from washmon.gui.kit.theme import THEMES, Theme
from washmon.gui.sound.alarm import Volume


class Settings:
    """A thin, typed face over an INI file; a file that can't be written is no reason to stop."""

    def __init__(self, path: Path) -> None:
        self._store = QSettings(str(path), QSettings.Format.IniFormat)

    @property
    def folder(self) -> Path:
        """Where the file is; what else belongs to this computer lies beside it."""
        return Path(self._store.fileName()).parent

    @property
    def theme(self) -> Theme | None:
        """The chosen theme; nothing where it follows the system."""
        return THEMES.get(str(self._store.value("theme", "")))

    @theme.setter
    def theme(self, theme: Theme | None) -> None:
        self._store.setValue("theme", "" if theme is None else theme.name)

    @property
    def letters(self) -> bool:
        """Whether a keyboard comes on the screen for every field, not only for a touched one."""
        return str(self._store.value("letters", "false")) == "true"

    @letters.setter
    def letters(self, on: bool) -> None:
        self._store.setValue("letters", "true" if on else "false")

    @property
    def still(self) -> bool:
        """Whether nothing moves by itself."""
        return str(self._store.value("still", "false")) == "true"

    @still.setter
    def still(self, on: bool) -> None:
        self._store.setValue("still", "true" if on else "false")

    @property
    def sound(self) -> bool:
        """Whether a stop and an overdue check are heard."""
        return str(self._store.value("sound", "true")) == "true"

    @sound.setter
    def sound(self, on: bool) -> None:
        self._store.setValue("sound", "true" if on else "false")

    @property
    def volume(self) -> Volume:
        """How loud that is."""
        name = str(self._store.value("volume", Volume.MEDIUM.name)).upper()
        return Volume[name] if name in Volume.__members__ else Volume.MEDIUM

    @volume.setter
    def volume(self, volume: Volume) -> None:
        self._store.setValue("volume", volume.name.lower())

    @property
    def initials(self) -> str:
        """Who entered last."""
        return str(self._store.value("initials", ""))

    @initials.setter
    def initials(self, initials: str) -> None:
        self._store.setValue("initials", initials)

    @property
    def line(self) -> str:
        """The line that this computer is for, where several share a database."""
        return str(self._store.value("line", ""))

    @line.setter
    def line(self, line: str) -> None:
        self._store.setValue("line", line)

    @property
    def backup_folder(self) -> str:
        """Where backups go at the end of each shift; empty while nobody chose a folder."""
        return str(self._store.value("backup_folder", ""))

    @backup_folder.setter
    def backup_folder(self, folder: str) -> None:
        self._store.setValue("backup_folder", folder)

    def layout(self, key: str) -> str:
        """How a log with certain headings was read; empty if none was."""
        return str(self._store.value(f"layouts/{key}", ""))

    def keep_layout(self, key: str, text: str) -> None:
        """Remember how a log was read."""
        self._store.setValue(f"layouts/{key}", text)

    @property
    def coaching(self) -> bool:
        """Whether Trends may tell who checks in time; off until a manager switches it on."""
        return str(self._store.value("coaching", "false")) == "true"

    @coaching.setter
    def coaching(self, on: bool) -> None:
        self._store.setValue("coaching", "true" if on else "false")

    @property
    def geometry(self) -> QByteArray:
        """Where the window was; empty before the first time."""
        value = self._store.value("geometry", QByteArray())
        return value if isinstance(value, QByteArray) else QByteArray()

    @geometry.setter
    def geometry(self, geometry: QByteArray) -> None:
        self._store.setValue("geometry", geometry)
