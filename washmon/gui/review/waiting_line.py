"""One calm line for a manager: how many shifts wait for a review, and how long the first has."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Slot

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.message_line import CalmLine
from washmon.gui.review.words import look_of
from washmon.gui.training.due_line import asking, show_due
from washmon.line.setup import Role
from washmon.line.working_days import REVIEW_WITHIN as MOST
from washmon.planning.snapshot import Snapshot

if TYPE_CHECKING:  # start-up is measured
    from washmon.recorder.reviewing import Waiting
    from washmon.store.store import Store


class WaitingLine(CalmLine):
    """A mark stands before it once there is little time left."""

    def show_waiting(self, days: Sequence[int]) -> None:
        """Show how many wait; ``days`` are the working days that each of them has."""
        most = max(days, default=0)
        late = sum(one > MOST for one in days)
        self.say(_said(len(days), late, most) if days else "", look_of(most))


class ReviewWatch(QObject):
    """Asks what waits, where a manager stands before the window; who trains is told of training."""

    def __init__(
        self, client: RecorderClient, line: WaitingLine, training: CalmLine, parent: QObject
    ) -> None:
        super().__init__(parent)
        self._client, self._line, self._training = client, line, training
        self._asked: object = None
        self._manages = self._trains = False
        self._people: tuple[str, ...] = ()

    def watch(self, snapshot: Snapshot, person: UserContext) -> None:
        """Ask again where a shift ended, another hour began, or somebody else stands there."""
        setup, shift = snapshot.setup, snapshot.shift
        member = setup.person(person.initials) if setup else None
        self._manages = member is not None and member.role is Role.MANAGER
        self._trains = member is not None and member.role in {Role.MANAGER, Role.TRAINER}
        self._people = tuple(one.initials for one in setup.people) if setup else ()
        over = shift.chain if shift is not None and shift.ended else ""
        now = snapshot.now
        asked = (self._manages, self._trains, self._people, over, now.date(), now.hour)
        if asked != self._asked:
            self._asked = asked
            self.renew()

    @Slot()
    def renew(self) -> None:
        """Ask what waits now."""
        now = self._client.clock()
        if self._manages:
            self._client.read(_asking(now), self._show)
        else:
            self._line.hide()
        if self._trains:
            self._client.read(asking(self._people, now.date()), self._show_due)
        else:
            self._training.hide()

    def _show(self, found: object) -> None:
        if isinstance(found, tuple) and self._manages:  # else the pages themselves say why
            self._line.show_waiting([one.days for one in found])

    def _show_due(self, found: object) -> None:
        if isinstance(found, tuple) and self._trains:
            show_due(self._training, found, self._client.clock().date())


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
