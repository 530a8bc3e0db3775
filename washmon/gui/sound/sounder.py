"""Lets the window be heard, and hushed by any key."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QEvent, QObject, QTimer, Signal, Slot
from PySide6.QtGui import QKeyEvent

from washmon.gui.settings import Settings
from washmon.gui.sound.alarm import Alarm, Cue, Sound, Volume
from washmon.gui.sound.sound_out import SoundOut
from washmon.planning.snapshot import Snapshot

if TYPE_CHECKING:
    from washmon.gui.client import RecorderClient

_LOOK_MS = 500
_BURST_MS = 600
"""Keys that come within so long of one that hushed belong to it: half a number is worse than none.
"""
_KEYS = (QEvent.Type.KeyPress, QEvent.Type.ShortcutOverride)
_PRESSES = (QEvent.Type.MouseButtonPress, QEvent.Type.TouchBegin)


class Sounder(QObject):
    """Plays what an :class:`Alarm` says is due, unless it is muted.

    A key that hushes does nothing else. A press of the hand hushes too, and does what it is aimed
    at: by touch alone there is no other key.

    Signals:
        changed(): it began to ring, was hushed, muted or let sound again.
    """

    changed = Signal()

    def __init__(self, client: "RecorderClient", settings: Settings, parent: QObject) -> None:
        super().__init__(parent)
        self._clock = client.clock
        self._settings = settings
        self._alarm = Alarm()
        self._listens = False
        self.player = SoundOut(self)
        self._timer = QTimer(self, interval=_LOOK_MS)
        self._timer.timeout.connect(self.listen)
        self._burst = QTimer(self, singleShot=True, interval=_BURST_MS)
        self._burst.timeout.connect(self._end_burst)

    @property
    def is_muted(self) -> bool:
        """Whether nothing is heard."""
        return not self._settings.sound

    @property
    def rings(self) -> bool:
        """Whether something sounds again and again, and a key only silences it."""
        return self._alarm.rings and not self.is_muted

    @Slot(bool)
    def be_heard(self, on: bool) -> None:  # noqa: FBT001 - Qt's signal
        """Be heard from now on, or silent."""
        self._settings.sound = on
        if not on:
            self.player.stop()
        self._follow()

    @Slot()
    def press(self) -> None:
        """Silence what rings; let be heard again what was muted."""
        if self.is_muted:
            self.be_heard(True)
        else:
            self.hush()

    def choose_volume(self, volume: Volume) -> None:
        """Be as loud as this from now on, and let it be heard how loud that is."""
        self._settings.volume = volume
        if not self.is_muted:
            self.player.play(Cue(Sound.WAIT_OVER), volume)

    def watch(self, snapshot: Snapshot) -> None:
        """Take note of a snapshot."""
        self._alarm.look(snapshot)
        self.listen()

    @Slot()
    def listen(self) -> None:
        """Let be heard what is due."""
        cue = self._alarm.due(self._clock())
        if cue is not None and not self.is_muted:
            self.player.play(cue, self._settings.volume)
        self._follow()

    @Slot()
    def hush(self) -> None:
        """Repeat nothing that has sounded."""
        self._alarm.hush()
        self.player.stop()
        self._follow()

    def close(self) -> None:
        """Be silent for good."""
        self._timer.stop()
        self._burst.stop()
        self._listen_to_keys(on=False)
        self.player.close()

    def _follow(self) -> None:
        """Look at the clock and at keys only as long as there is a reason."""
        if self._alarm.is_pending != self._timer.isActive():
            (self._timer.start if self._alarm.is_pending else self._timer.stop)()
        unheeded = self._alarm.is_unheeded and not self.is_muted
        self._listen_to_keys(on=unheeded or self._burst.isActive())
        self.changed.emit()

    def _listen_to_keys(self, *, on: bool) -> None:
        app = QCoreApplication.instance()
        if app is not None and on != self._listens:
            self._listens = on
            (app.installEventFilter if on else app.removeEventFilter)(self)

    @Slot()
    def _end_burst(self) -> None:
        self._follow()

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:
        """Hush by the first key or press; keep the key that hushed from doing anything else."""
        kind = event.type()
        if kind in _PRESSES and self._alarm.is_unheeded:
            self.hush()
        if not isinstance(event, QKeyEvent) or kind not in _KEYS:
            return False
        swallows = self.rings or self._burst.isActive()
        if swallows:
            self._burst.start()
            event.accept()  # its shortcut is not tried then
        if self._alarm.is_unheeded:
            self.hush()
        return swallows
