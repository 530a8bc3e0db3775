"""Where an attempt stands between two entries, so that it goes on there, also after a kill.

The water follows from the journal; how far its clock had gone since the last entry, and how the
trainer's switches stood, is in a small file of its own, written anew every second that it moves.
"""

import json
import re
from pathlib import Path
from typing import NamedTuple

from washmon.whole_file import whole_file

_MOST_BYTES = 4096
_MOST_AHEAD_MIN = 24 * 60.0


class AttemptStanding(NamedTuple):
    """How many minutes an attempt has run, and how its switches stand."""

    minutes: float
    showing: str
    stopped: bool = False
    speed: int = 1


class Standings:
    """The files of a folder, one for each attempt; without a folder nothing is remembered."""

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder

    @property
    def shelf(self) -> Path | None:
        """Where scenarios from files are kept, beside."""
        return None if self._folder is None else self._folder / "practice" / "scenarios"

    @property
    def verdicts(self) -> Path | None:
        """Where it is kept what the good strategy scores in each scenario, beside."""
        return None if self._folder is None else self._folder / "practice" / "tried.json"

    def keep(self, chain: str, standing: AttemptStanding) -> None:
        """Remember; a disk that refuses is no reason to stop practising."""
        if self._folder is None:
            return
        target = self._file(chain)
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            with whole_file(target) as file:
                file.write(json.dumps(standing._asdict()).encode())
        except OSError:
            return

    def find(self, chain: str) -> AttemptStanding | None:
        """Return how an attempt stood; None if nothing, or nonsense, was kept."""
        if self._folder is None:
            return None
        try:
            with self._file(chain).open("rb") as file:
                said = json.loads(file.read(_MOST_BYTES))
            found = AttemptStanding(
                float(said["minutes"]),
                str(said["showing"]),
                bool(said["stopped"]),
                int(said["speed"]),
            )
        except (OSError, ValueError, KeyError, TypeError):
            return None
        return found if 0 <= found.minutes <= _MOST_AHEAD_MIN else None

    def forget(self, chain: str) -> None:
        """Forget an attempt that is over."""
        if self._folder is not None:
            self._file(chain).unlink(missing_ok=True)

    def _file(self, chain: str) -> Path:
        name = re.sub(r"[^A-Za-z0-9.-]", "_", chain)
        return (self._folder or Path()) / "practice" / f"{name}.json"
