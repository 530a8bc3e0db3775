"""Makes a sound through the system's own player, in a process of its own; else a beep."""

import shutil
import sys
import wave
from array import array
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from msgspec import Struct
from PySide6.QtCore import QObject, QProcess, Slot
from PySide6.QtWidgets import QApplication

from washmon import data
from washmon.gui.sound.alarm import Cue

_PATIENCE_MS = 200


class Program(Struct, frozen=True):
    """A player by its name, and what it is told besides the file, which stands for ``{file}``."""

    name: str
    words: tuple[str, ...]

    def arguments(self, file: Path) -> list[str]:
        """Return what it is called with to play ``file``."""
        return [word.format(file=str(file).replace("'", "''")) for word in self.words]


_WINDOWS = "(New-Object Media.SoundPlayer '{file}').PlaySync()"
PROGRAMS = {
    "win32": (Program("powershell", ("-NoProfile", "-NonInteractive", "-Command", _WINDOWS)),),
    "darwin": (Program("afplay", ("{file}",)),),
    "linux": (
        Program("pw-play", ("{file}",)),
        Program("paplay", ("{file}",)),
        Program("aplay", ("-q", "{file}")),
    ),
}
"""What a system usually has, the likeliest first."""


def amplified(source: Path, gain_db: float) -> bytes:
    """Return the samples of a 16-bit WAVE file, louder by ``gain_db`` (0 or less)."""
    with wave.open(str(source)) as file:
        samples = array("h", file.readframes(file.getnframes()))
    if sys.byteorder == "big":
        samples.byteswap()
    factor = 10 ** (gain_db / 20)
    scaled = array("h", (round(sample * factor) for sample in samples))
    if sys.byteorder == "big":
        scaled.byteswap()
    return scaled.tobytes()


class SoundOut(QObject):
    """One sound at a time. A player that fails is passed over from then on, to the next or a beep.

    Not every player can be told how loud to be: the file is written anew as loud as is wanted.
    """

    def __init__(
        self, parent: QObject | None = None, beep: Callable[[], None] = QApplication.beep
    ) -> None:
        super().__init__(parent)
        self._beep = beep
        self._folder: TemporaryDirectory[str] | None = None
        self._file = Path()
        known = PROGRAMS.get(sys.platform, PROGRAMS["linux"])
        self._programs = [one for one in known if shutil.which(one.name)]
        self._process = QProcess(self)
        self._process.setStandardOutputFile(QProcess.nullDevice())
        self._process.setStandardErrorFile(QProcess.nullDevice())
        self._process.finished.connect(self._end)
        self._process.errorOccurred.connect(self._fail)

    @property
    def program(self) -> str:
        """The player in use; empty where there is none, and all is a beep."""
        return self._programs[0].name if self._programs else ""

    def play(self, cue: Cue, volume_db: float) -> None:
        """Begin to make a sound and return at once."""
        self.stop()
        if self._programs:
            try:
                self._file = self._written(cue, volume_db)
            except OSError:  # no room on the disk is no reason to be silent
                self._programs.clear()
        self._start()

    def stop(self) -> None:
        """Cut off what sounds."""
        if self._process.state() is not QProcess.ProcessState.NotRunning:
            self._process.blockSignals(True)
            self._process.kill()
            self._process.waitForFinished(_PATIENCE_MS)
            self._process.blockSignals(False)

    def close(self) -> None:
        """Cut off what sounds and leave no file behind."""
        self.stop()
        if self._folder is not None:
            self._folder.cleanup()
            self._folder = None

    def _written(self, cue: Cue, volume_db: float) -> Path:
        if self._folder is None:
            self._folder = TemporaryDirectory(prefix="washmon-sound-", ignore_cleanup_errors=True)
        gain_db = cue.gain_db + volume_db
        path = Path(self._folder.name) / f"{cue.sound}{gain_db:+.0f}dB.wav"
        source = data.resource("sounds", f"{cue.sound}.wav")
        if not path.exists():
            with wave.open(str(source)) as file:
                form = file.getparams()
            with wave.open(str(path), "wb") as file:
                file.setparams(form)
                file.writeframes(amplified(source, gain_db))
        return path

    def _start(self) -> None:
        if not self._programs:
            self._beep()
            return
        program = self._programs[0]
        self._process.start(program.name, program.arguments(self._file))

    @Slot(int, QProcess.ExitStatus)
    def _end(self, code: int, status: QProcess.ExitStatus) -> None:
        if code != 0 and status is QProcess.ExitStatus.NormalExit:
            self._try_next()

    @Slot(QProcess.ProcessError)
    def _fail(self, error: QProcess.ProcessError) -> None:
        if error is QProcess.ProcessError.FailedToStart:
            self._try_next()

    def _try_next(self) -> None:
        if self._programs:
            self._programs.pop(0)
        self._start()
