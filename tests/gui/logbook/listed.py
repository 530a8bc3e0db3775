"""The Logbook's list, shown."""

from pytestqt.qtbot import QtBot

from washmon.gui.client import RecorderClient
from washmon.gui.logbook.shift_list import ShiftList


def shown_list(qtbot: QtBot, client: RecorderClient) -> ShiftList:
    page = ShiftList(client)
    qtbot.addWidget(page)
    page.resize(1366, 720)
    page.show()
    with qtbot.waitSignal(page.loaded):
        page.load()
    return page


def chains(page: ShiftList) -> list[str]:
    return [shift.chain for shift in page.model.shifts]
