"""Hands for the page of registers."""

from tests.gui.stand import Stand
from washmon.gui.registers.page import RegistersPage
from washmon.gui.rooms import Room
from washmon.line.journal import SITE
from washmon.line.registers import Registers
from washmon.line.registry import registers_of


def page(stand: Stand) -> RegistersPage:
    found = stand.window.rooms.page(Room.REGISTERS)
    with stand.qtbot.waitSignal(found.loaded):
        stand.window.go(Room.REGISTERS)
    return stand.page(RegistersPage)


def registers(stand: Stand) -> Registers:
    read = stand.window.client.recorder.read(lambda store: registers_of(store.entries(SITE)))
    return read.result(10)
