"""What a screen reader is told of a window, through Qt's accessibility."""

from collections.abc import Iterator

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QAccessibleInterface
from PySide6.QtWidgets import QAbstractScrollArea, QWidget

Role = QAccessible.Role
SPEAKING = {
    Role.Button,
    Role.ButtonMenu,
    Role.CheckBox,
    Role.ComboBox,
    Role.EditableText,
    Role.List,
    Role.MenuItem,
    Role.PageTab,
    Role.ProgressBar,
    Role.RadioButton,
    Role.Slider,
    Role.SpinBox,
    Role.Table,
    Role.Tree,
}
"""Roles of what somebody works, or asks: each needs a name."""
NO_ROLE = {Role.NoRole, Role.Client, Role.Whitespace}


def told(interface: QAccessibleInterface) -> tuple[str, Role]:
    """Return name and role; what stands in a text field or list may be its name's last resort."""
    return interface.text(QAccessible.Text.Name).strip(), interface.role()


def heard(window: QWidget) -> Iterator[tuple[QWidget, QAccessibleInterface]]:
    """Yield every widget in sight with what a screen reader gets of it."""
    for widget in [window, *window.findChildren(QWidget)]:
        if not widget.isVisibleTo(window) or widget.size().isEmpty():
            continue
        interface = QAccessible.queryAccessibleInterface(widget)
        if interface is not None and interface.isValid():
            yield widget, interface


def faults(window: QWidget) -> list[str]:
    """Return which widgets say too little, one sentence each."""
    found = []
    for widget, interface in heard(window):
        name, role = told(interface)
        path = f"{type(widget).__name__} in {type(widget.parentWidget()).__name__}"
        state = interface.state()
        takes_keys = widget.focusPolicy() & Qt.FocusPolicy.TabFocus and widget.isEnabled()
        by_proxy = widget.focusProxy() is not None
        if role in SPEAKING and not name and not by_proxy and not _is_part(widget):
            found.append(f"no name: {path} ({role.name})")
        if takes_keys and not by_proxy and not name and role not in SPEAKING:
            found.append(f"takes the keyboard and has no name: {path} ({role.name})")
        if takes_keys and not by_proxy and role in NO_ROLE:
            found.append(f"takes the keyboard and has no role: {path} {name!r} ({role.name})")
        if takes_keys and not by_proxy and not state.focusable:
            found.append(f"takes the keyboard and does not say so: {path} {name!r}")
        if widget.isEnabled() == bool(state.disabled) and widget.window() is window:
            found.append(f"says wrongly whether it can be used: {path} {name!r}")
    return sorted(set(found))


def _is_part(widget: QWidget) -> bool:
    """Tell whether a widget is a piece of another that is named, such as the line of a list."""
    parent = widget.parentWidget()
    inside = isinstance(parent, QAbstractScrollArea) and parent.viewport() is widget
    return widget.objectName().startswith("qt_") or inside
