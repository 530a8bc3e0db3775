"""Ways to shifts that are not the shed's own: a replay, and practice."""

from typing import TYPE_CHECKING

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.navigator.group import Makers, PageGroup
from washmon.gui.rooms import Room
from washmon.sessions.file import Session

if TYPE_CHECKING:
    from washmon.gui.navigator.navigator import Navigator

if TYPE_CHECKING:
    from washmon.forecast.learning import Past
    from washmon.gui.practice.room import PracticeRoom


class PracticePages(PageGroup):
    """To replay and practice."""

    def __init__(self, navigator: "Navigator") -> None:
        super().__init__(navigator)
        self._practising: PracticeRoom | None = None

    def makers(self) -> Makers:
        """Return how each page is made."""
        return {
            Room.REPLAY: self._replay,
            Room.PRACTICE: self._practice,
        }

    def _replay(self) -> QWidget:
        from washmon.gui.replay_room import ReplayRoom

        page = ReplayRoom()
        page.left.connect(self._navigator.go_back)
        page.snapshot_shown.connect(self._window.header.show_snapshot)
        return page

    @Slot(object, object)
    def play(self, session: Session, past: "Past") -> None:
        """Replay a session, with the shifts before it where the Logbook has them."""
        from washmon.gui.replay_room import ReplayRoom

        self._navigator.enter(Room.REPLAY, ReplayRoom).play(session, past)

    def _practice(self) -> QWidget:
        from washmon.gui.practice.room import PracticeRoom

        page = PracticeRoom(self._window.client)
        page.left.connect(self._window.go_home)
        page.replay_asked.connect(self._navigator.sessions.open_shift)
        self._practising = page
        # Its own bar stands in place of the header, which speaks of the shed's shift.
        self._window.rooms.currentChanged.connect(self._hide_header)
        return page

    @Slot(int)
    def _hide_header(self, _place: int) -> None:
        practising = self._window.rooms.room is Room.PRACTICE
        self._window.header.setVisible(not practising)
        if not practising:
            self.leave_practice()

    @Slot()
    def open_practice(self) -> None:
        """Practise on a simulated line; not while the shed's own shift needs this window."""
        from washmon.gui.practice.room import PracticeRoom

        if self._window.is_running:
            self._window.warn(tr("A shift is running: practise when it has ended."))
            return
        self._navigator.enter(Room.PRACTICE, PracticeRoom).open()

    def leave_practice(self) -> None:
        """Interrupt an attempt, if one is being worked on; it is kept."""
        if self._practising is not None:
            self._practising.interrupt()
