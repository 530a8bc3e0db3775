"""What a screen reader is told beyond the names of widgets: what kind they are, and what is new."""

from PySide6.QtCore import QObject
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QAccessibleInterface
from PySide6.QtWidgets import QAccessibleWidget, QWidget

SpokenRole = QAccessible.Role
_ROLE = "spokenRole"


def speak_as(widget: QWidget, role: SpokenRole, name: str = "") -> None:
    """Let a widget that is drawn by hand be told as what it is."""
    widget.setProperty(_ROLE, role.value)
    if name:
        widget.setAccessibleName(name)


def announce(widget: QWidget, sentence: str, *, at_once: bool = False) -> None:
    """Let a screen reader say a sentence: when it has finished its own, or ``at_once``."""
    if not sentence:
        return
    event = QAccessibleAnnouncementEvent(widget, sentence)
    politeness = QAccessible.AnnouncementPoliteness
    event.setPoliteness(politeness.Assertive if at_once else politeness.Polite)
    QAccessible.updateAccessibility(event)


def _interface(_class_name: str, told: QObject) -> QAccessibleInterface | None:
    if not isinstance(told, QWidget) or (role := told.property(_ROLE)) is None:
        return None
    return QAccessibleWidget(told, SpokenRole(role))


QAccessible.installFactory(_interface)
