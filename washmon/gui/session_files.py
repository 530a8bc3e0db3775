"""Session files from the window: asked for in a dialog that stops nothing, written, read back."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon import data
from washmon.gui.client import RecorderClient
from washmon.gui.i18n import tr
from washmon.gui.kit.file_asking import FileOpener, FileSaver
from washmon.gui.kit.message_line import Notice
from washmon.gui.kit.working import Aside
from washmon.line.events import ShiftStarted
from washmon.recorder.past import past_shifts
from washmon.sessions.file import SUFFIX, Session, SessionFileError, compose, parse, read, write

if TYPE_CHECKING:
    from washmon.forecast.learning import Past
    from washmon.store.store import Store


DEMO = "2-muddy-root-flume"
LARGE_BYTES = 1_000_000
"""A smaller file is there before anybody waits for it."""


class SessionFiles(QObject):
    """Saves shifts as session files, and opens what can be replayed.

    Signals:
        to_play(Session, Past, datetime | None): a session was opened, with the shifts before it in
            the Logbook, and the moment at which it is to stand at first.
        to_show(Session): the demo was opened, to be watched.
    """

    to_play = Signal(object, object, object)
    to_show = Signal(object)

    def __init__(self, client: RecorderClient, notice: Notice, parent: QWidget) -> None:
        super().__init__(parent)
        self._client = client
        self._notice = notice
        self.saver = FileSaver(tr("Save the shift as a session file"), parent)
        self.saver.chosen.connect(self._save_named)
        self.opener = FileOpener(tr("Replay a recorded shift"), parent)
        self.opener.chosen.connect(self._open_named)
        self._chain = ""
        self._damaged: Path | None = None
        notice.acted.connect(self._open_what_is_left)

    # -- saving -------------------------------------------------------------------------------

    @Slot(str)
    def ask_to_save(self, chain: str) -> None:
        """Ask where to save a shift."""
        if self.saver.dialog is None:
            self._chain = chain
            self.saver.ask(f"{chain}{SUFFIX}".replace("+", "_"), kinds=_kinds())

    @Slot(str)
    def _save_named(self, file: str) -> None:
        self.save(self._chain, Path(file))

    def save(self, chain: str, target: Path) -> None:
        """Write a shift to a session file, on the recorder's thread, and say so."""

        def written(store: "Store") -> object:
            write(target, chain, store.rows(chain), title=_title(store, chain))
            return target

        self._client.read(written, self._say_saved)

    def _say_saved(self, result: object) -> None:
        if isinstance(result, BaseException):
            self._notice.warn(str(result))
        else:
            self._notice.say(tr("Saved the shift in {file}.", file=str(result)))

    # -- opening ------------------------------------------------------------------------------

    @Slot()
    def ask_to_open(self) -> None:
        """Choose a session file; those that come with the program are offered first."""
        self.opener.ask(folder=str(data.folder("demo_sessions")), kinds=_kinds())

    @Slot()
    def open_demo(self) -> None:
        """Open the shift that somebody watches who has never seen the program."""
        try:
            self.to_show.emit(read(data.folder("demo_sessions") / f"{DEMO}{SUFFIX}"))
        except (FileNotFoundError, SessionFileError) as trouble:
            self._notice.warn(str(trouble))

    @Slot(str)
    def _open_named(self, file: str) -> None:
        self.open_file(Path(file))

    def open_file(self, file: Path) -> None:
        """Open a session file, or say why it can't be; a large one on a thread of its own."""
        if _is_large(file):
            self._notice.say(tr("Opening {name} …", name=file.name))
            Aside(self._show_read).answer(lambda: _read(file), "session file")
        else:
            self._show_read(_read(file))

    @Slot(object)
    def _show_read(self, read_file: tuple[Path, Session | SessionFileError]) -> None:
        file, found = read_file
        if isinstance(found, Session):
            self.to_play.emit(found, (), None)
            return
        self._damaged = file if found.readable else None
        left = (
            tr("Open 1 entry")
            if found.readable == 1
            else tr("Open {count} entries", count=found.readable)
        )
        self._notice.warn(str(found), left if found.readable else "")

    @Slot()
    def _open_what_is_left(self) -> None:
        """Open the sound part of the file that was just refused."""
        file, self._damaged = self._damaged, None
        if file is None:
            return
        self._notice.clear()
        try:
            self.to_play.emit(read(file, salvage=True), (), None)
        except SessionFileError as trouble:
            self._notice.warn(str(trouble))

    @Slot(str)
    def open_shift(self, chain: str, at: datetime | None = None) -> None:
        """Open a shift of the database as if from a session file; it stands at a moment first."""

        def session(store: "Store") -> "tuple[Session, Past, datetime | None]":
            found = parse(compose(chain, store.rows(chain), title=_title(store, chain)), chain)
            started = found.entries[0].event
            if not isinstance(started, ShiftStarted) or started.practice:
                return found, (), at
            return found, past_shifts(store, chain, started), at

        self._client.read(session, self._opened)

    def _opened(self, result: object) -> None:
        if isinstance(result, tuple):
            self.to_play.emit(*result)
        else:
            self._notice.warn(str(result))


def _read(file: Path) -> tuple[Path, Session | SessionFileError]:
    try:
        return file, read(file)
    except SessionFileError as trouble:
        return file, trouble


def _is_large(file: Path) -> bool:
    try:
        return file.stat().st_size > LARGE_BYTES
    except OSError:
        return False  # reading says why


def _kinds() -> tuple[str]:
    return (tr("Session files (*{suffix})", suffix=SUFFIX),)


def _title(store: "Store", chain: str) -> str:
    """Return what a shift is called: its line, and when it began."""
    first = next(iter(store.entries(chain)), None)
    if first is None or not isinstance(first.event, ShiftStarted):
        return chain
    return f"{first.event.setup.line}, {first.event.at:%Y-%m-%d %H:%M}"
