"""The program's own icon, drawn from its SVG at the sizes that desktops ask for."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QIcon, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer

from washmon import data


def app_icon() -> QIcon:
    """Return the icon for windows and task bars."""
    renderer = QSvgRenderer(str(data.resource("icons", "washmon.svg")))
    icon = QIcon()
    for side_px in (16, 24, 32, 48, 64, 128, 256):
        picture = QPixmap(side_px, side_px)
        picture.fill(Qt.GlobalColor.transparent)
        painter = QPainter(picture)
        renderer.render(painter)
        painter.end()
        icon.addPixmap(picture)
    return icon
