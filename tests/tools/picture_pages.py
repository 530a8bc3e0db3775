"""Pictures of every page at many sizes, and what is cut, covered or off the window in them.

Run ``QT_QPA_PLATFORM=offscreen python -m tests.tools.picture_pages [FOLDER] [--sizes 1024x600,…]
[--scale 1.25] [--tanks 1,4,8] [--themes bright,…] [--pages board,…]``. Each combination makes a
contact sheet beside its pictures. Scaling is told to Qt before it starts, so one run has one scale.
"""

import argparse
import os
import tempfile
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

SCREEN = Path(__file__).parents[1] / "gui" / "screen.json"
MOMENT = datetime(2026, 5, 7, 7, 0, tzinfo=UTC)
THUMB_PX = 640
ACROSS = 5


def main() -> None:
    """Take the pictures and tell the faults."""
    words = _words()
    if words.scale != 1:
        os.environ["QT_SCALE_FACTOR"] = str(words.scale)
    if os.environ.get("QT_QPA_PLATFORM", "offscreen") == "offscreen":
        os.environ["QT_QPA_PLATFORM"] = f"offscreen:configfile={SCREEN}"
    from PySide6.QtGui import QPixmap  # noqa: PLC0415 - what it reads must be told before

    from tests import gallery, looks  # noqa: PLC0415
    from washmon.gui.app import application  # noqa: PLC0415
    from washmon.gui.kit import theme  # noqa: PLC0415

    app = application()
    theme.apply(app, theme.THEMES[words.themes[0]])  # the type, before anything is made with it
    for tanks in words.tanks:
        with tempfile.TemporaryDirectory() as scratch:
            window = gallery.open_window(Path(scratch), tanks, MOMENT)
            for name in words.themes:
                theme.apply(app, theme.THEMES[name])
                for width, height in words.sizes:
                    window.resize(round(width / words.scale), round(height / words.scale) - 34)
                    gallery.settle(0.3)
                    folder = words.folder / f"{tanks}-{name}-{width}x{height}@{words.scale:g}"
                    folder.mkdir(parents=True, exist_ok=True)
                    taken: dict[str, QPixmap] = {}
                    for page in gallery.PAGES:
                        if words.pages and page not in words.pages:
                            continue
                        gallery.show(window, page)
                        gallery.settle(0.12)
                        taken[page] = window.grab()
                        taken[page].save(str(folder / f"{page}.png"))
                        for fault in looks.faults(window):
                            print(f"{folder.name} {page}: {fault}")  # noqa: T201
                    _sheet(taken, folder)
            window.close()
            gallery.settle(0.1)


def _sheet(taken: Mapping[str, object], folder: Path) -> None:
    """Put all pictures of a folder on sheets of few columns."""
    from PySide6.QtCore import QRect, Qt  # noqa: PLC0415
    from PySide6.QtGui import QPainter, QPixmap  # noqa: PLC0415

    pictures = [(name, one) for name, one in taken.items() if isinstance(one, QPixmap)]
    thumbs = [
        (name, one.scaledToWidth(THUMB_PX, Qt.TransformationMode.SmoothTransformation))
        for name, one in pictures
    ]
    if not thumbs:
        return
    tall = max(one.height() for _, one in thumbs) + 24
    rows = -(-len(thumbs) // ACROSS)
    whole = QPixmap(THUMB_PX * min(ACROSS, len(thumbs)), tall * rows)
    whole.fill(Qt.GlobalColor.gray)
    painter = QPainter(whole)
    for at, (name, one) in enumerate(thumbs):
        left, top = at % ACROSS * THUMB_PX, at // ACROSS * tall
        painter.drawText(QRect(left + 6, top, THUMB_PX, 24), Qt.AlignmentFlag.AlignVCenter, name)
        painter.drawPixmap(left, top + 24, one)
    painter.end()
    whole.save(f"{folder}.png")


def _words() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, nargs="?", default=None)
    parser.add_argument("--sizes", type=_sizes, default=_sizes("1024x600,1366x768,1920x1080"))
    parser.add_argument("--scale", type=float, default=1.0)
    parser.add_argument("--tanks", type=_numbers, default=(1, 4, 8))
    parser.add_argument("--themes", type=_split, default=("bright", "dark", "high-contrast"))
    parser.add_argument("--pages", type=_split, default=())
    words = parser.parse_args()
    if words.folder is None:
        words.folder = Path(tempfile.gettempdir()) / "washmon-pictures"
    return words


def _split(text: str) -> tuple[str, ...]:
    return tuple(text.split(","))


def _numbers(text: str) -> tuple[int, ...]:
    return tuple(int(one) for one in _split(text))


def _sizes(text: str) -> tuple[tuple[int, int], ...]:
    pairs = (one.split("x") for one in _split(text))
    return tuple((int(width), int(height)) for width, height in pairs)


if __name__ == "__main__":
    main()
