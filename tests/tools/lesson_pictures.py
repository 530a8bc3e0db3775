"""Pictures of a scenario made from a demo shift, and of a lesson with it, as two sheets.

Run ``QT_QPA_PLATFORM=offscreen python -m tests.tools.lesson_pictures [FOLDER]``.
"""

import sys
import tempfile
from pathlib import Path

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QColor, QPainter, QPixmap
from PySide6.QtWidgets import QWidget

from tests.gallery import settle
from tests.tools.make_screenshots import MUDDY, PICTURES, demo, stand
from washmon.gui.app import application
from washmon.gui.client import RecorderClient
from washmon.gui.kit import theme
from washmon.gui.main_window import MainWindow
from washmon.gui.practice.room import PracticeRoom
from washmon.gui.practice.trainer_window import ASK, LOG
from washmon.gui.rooms import Room
from washmon.gui.settings import Settings
from washmon.line.events import DoseAdded, Event, TankFilled
from washmon.line.flags import Amount
from washmon.line.product import dose
from washmon.store import Store

SIZE_PX = (1366, 768)
THUMB_PX = 820
LONG_S = 60.0
CLASS = (4, 9, 3, 1)
"""How many of a class give each answer."""


class Album:
    """Pictures with a line under each, two beside each other."""

    def __init__(self) -> None:
        self._pictures: list[tuple[str, QPixmap]] = []

    def take(self, words: str, widget: QWidget) -> None:
        """Take a picture of a window."""
        settle(0.4)
        picture = widget.grab()
        smooth = Qt.TransformationMode.SmoothTransformation
        self._pictures.append((words, picture.scaledToWidth(THUMB_PX, smooth)))

    def save(self, file: Path) -> None:
        """Write the sheet."""
        tall = max(one.height() for _, one in self._pictures) + 30
        rows = -(-len(self._pictures) // 2)
        sheet = QPixmap(2 * THUMB_PX + 12, tall * rows)
        sheet.fill(QColor(theme.current().paper))
        painter = QPainter(sheet)
        painter.setFont(theme.font(theme.Size.BODY))
        painter.setPen(QColor(theme.current().ink))
        for at, (words, one) in enumerate(self._pictures):
            left, top = at % 2 * (THUMB_PX + 12), at // 2 * tall
            painter.drawPixmap(left, top, one)
            line = QRect(left + 8, top + one.height(), THUMB_PX, 28)
            painter.drawText(line, Qt.AlignmentFlag.AlignVCenter, words)
        painter.end()
        sheet.save(str(file), quality=80)


def make(window: MainWindow, chain: str, file: Path) -> PracticeRoom:
    """Make a scenario from a shift, look it over, and try it."""
    album = Album()
    window.go(Room.LOGBOOK)
    window.rooms.page(Room.LOGBOOK).open_shift(chain)
    settle(3.0)
    album.take("1  The record of the shift, with Make a scenario at its head", window)
    window.rooms.page(Room.LOGBOOK).scenario_asked.emit(chain)
    room = window.rooms.page(Room.PRACTICE)
    settle(LONG_S, room.choose.message.action.isVisible)
    album.take("2  Made, tried and kept; people, lots and days are left out", window)
    room.choose.message.action.click()
    editor = room.editor
    editor.go_to(editor.pages.index(editor.line))
    album.take("3  Its line: the shed's own tanks, limits, products and units", window)
    editor.go_to(editor.pages.index(editor.water))
    album.take("4  Its water and produce, as the forecast estimates them", window)
    editor.go_to(editor.pages.index(editor.events))
    album.take("5  The mistakes of the shift as events on a line of time", window)
    editor.go_to(editor.pages.index(editor.preview))
    editor.preview.go.click()
    settle(LONG_S, editor.preview.go.isVisible)
    album.take("6  Tried by an obedient supervisor and a careless one", window)
    album.save(file)
    return room


def teach(window: MainWindow, room: PracticeRoom, file: Path) -> None:
    """Give a lesson with it, and lay two attempts side by side."""
    album = Album()
    begin(room, "AB")
    page = room.play
    assert page is not None
    trainer = page.lesson.window
    trainer.resize(*SIZE_PX)
    trainer.open()
    trainer.panel.weak.click()
    settle(0.5)
    trainer.panel.loads.button("muddy").click()
    settle(0.5)
    trainer.draw()
    album.take("1  The trainer's window: what is true, what is coming, what was changed", trainer)
    trainer.turn.button(ASK).click()
    trainer.asking.offer.click()
    trainer.asking.to.button("class").click()
    trainer.asking.ask.click()
    album.take("2  The question on the trainee's screen, for a class", window)
    asked = trainer.desk.asked
    assert asked is not None
    for at in range(len(asked.answers)):
        for _ in range(CLASS[at]):
            trainer.desk.count(at)
    album.take("3  The trainer counts hands", trainer)
    trainer.asking.reveal.click()
    album.take("4  The reveal", window)
    trainer.asking.go_on.click()
    trainer.turn.button(LOG).click()
    settle(1.0)
    trainer.draw()
    album.take("5  The log, which the debrief shows, too", trainer)
    page.client.pass_minutes(60.0)
    settle(0.5)
    compare(window, room, album)
    album.save(file)


def compare(window: MainWindow, room: PracticeRoom, album: Album) -> None:
    """Begin a second attempt, and lay it beside the first."""
    begin(room, "CD")
    renew(room)
    room.open()
    settle(5.0, lambda: len(room.choose.kept) > 1)
    room.choose.pair.click()
    settle(LONG_S, lambda: room.pair.model.rowCount() > 0)
    album.take("6  Two attempts on the same water, side by side", window)


def renew(room: PracticeRoom) -> None:
    """Change all water at once, make it up anew, and wash on."""
    assert room.play is not None
    client = room.play.client
    who = room.play.person.initials
    for tank in client.stage.setup.tanks:
        volume, product = tank.volume_l, client.stage.setup.sanitizer(tank.sanitizer)
        assert product is not None
        right = dose(product, volume, 0.0, tank.chlorine.target_mg_l)
        number = tank.number
        events: tuple[Event, ...] = (
            TankFilled(at=client.clock(), by=who, tank=number, volume_l=volume),
            DoseAdded(
                at=client.clock(), by=who, tank=number, product=product.key, amount=_whole(right)
            ),
        )
        for event in events:
            client.enter(event, sure=True)
            settle(5.0, lambda: not client.busy)
    client.pass_minutes(50.0)
    settle(1.0)


def _whole(amount: Amount) -> Amount:
    return Amount(float(round(amount.value)), amount.unit)


def begin(room: PracticeRoom, who: str) -> None:
    """Begin an attempt at the scenario in which a colleague has washed before."""
    room.open()
    room.choose.table.selectRow(5)
    room.choose.trainee.put(who)
    room.choose.begin.click()
    settle(LONG_S, lambda: room.play is not None and room.play._snapshot is not None)
    settle(1.0)


def main(folder: Path) -> None:
    """Take both sheets."""
    theme.apply(application(), theme.BRIGHT)
    session = demo(MUDDY)
    ended = session.entries[-1].event.at
    with tempfile.TemporaryDirectory() as scratch:
        with Store.open(Path(scratch) / "shed.db") as store:
            stand(store, session, ended)
        store = Store.open(Path(scratch) / "shed.db")
        client = RecorderClient(store, clock=lambda: ended)
        window = MainWindow(client, Settings(Path(scratch) / "shed.ini"))
        window.begin()
        window.resize(*SIZE_PX)
        settle(10.0, lambda: window.snapshot is not None)
        room = make(window, session.header.chain, folder / "scenario-from-shift.jpg")
        room.editor.settle()
        teach(window, room, folder / "lesson.jpg")
        room.interrupt()
        window.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else PICTURES)
