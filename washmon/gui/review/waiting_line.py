"""One calm line for a manager: how many shifts wait for a review, and how long the first has."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import Person
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.state_mark import Look, StateMark
from washmon.gui.review.words import look_of
from washmon.line.setup import Role
from washmon.line.working_days import REVIEW_WITHIN as MOST
from washmon.planning.snapshot import Snapshot

if TYPE_CHECKING:  # start-up is measured
    from washmon.recorder.reviewing import Waiting
    from washmon.store.store import Store


class WaitingLine(QWidget):
    """Hidden while nothing waits; a mark stands before it once there is little time left."""

    pressed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.mark = StateMark(Look.WATCH, 18, self)
        self.button = PressButton("", Rank.QUIET, parent=self, then=self.pressed)
        hbox(self.mark, self.button, on=self, gap_px=2)
        self.hide()

    def show_waiting(self, days: Sequence[int]) -> None:
        """Show how many wait; ``days`` are the working days that each of them has."""
        most = max(days, default=0)
        look, late = look_of(most), sum(one > MOST for one in days)
        self.setVisible(bool(days))
        self.mark.setVisible(look is not None)
        self.mark.show_look(look or Look.WATCH)
        self.button.set_label(_said(len(days), late, most))


class ReviewWatch(QObject):
    """Asks what waits, where a manager stands before the window."""

    def __init__(self, client: RecorderClient, line: WaitingLine, parent: QObject) -> None:
        super().__init__(parent)
        self._client, self._line = client, line
        self._asked: object = None
        self._manages = False

    def watch(self, snapshot: Snapshot, person: Person) -> None:
        """Ask again where a shift ended, another hour began, or somebody else stands there."""
        setup, shift = snapshot.setup, snapshot.shift
        member = setup.person(person.initials) if setup else None
        self._manages = member is not None and member.role is Role.MANAGER
        over = shift.chain if shift is not None and shift.ended else ""
        now = snapshot.now
        asked = (self._manages, over, now.date(), now.hour)
        if asked != self._asked:
            self._asked = asked
            self.renew()

    @Slot()
    def renew(self) -> None:
        """Ask what waits now."""
        if self._manages:
            self._client.read(_asking(self._client.clock()), self._show)
        else:
            self._line.hide()

    def _show(self, found: object) -> None:
        if isinstance(found, tuple) and self._manages:  # else the pages themselves say why
            self._line.show_waiting([one.days for one in found])


def _asking(now: datetime) -> "Callable[[Store], tuple[Waiting, ...]]":
    def query(store: "Store") -> "tuple[Waiting, ...]":
        from washmon.recorder.reviewing import waiting  # noqa: PLC0415 - start-up is measured

        return waiting(store, now)

    return query


def _said(count: int, late: int, days: int) -> str:
    if late:
        return tr("{count} to review, {late} late", count=count, late=late)
    if look_of(days) is not None:
        return tr("{count} to review, day {days} of {most}", count=count, days=days, most=MOST)
    return tr("{count} to review", count=count)
