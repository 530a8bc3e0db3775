"""The shelf of scenarios: those that come with the program, and the shed's own in a folder."""

import hashlib
import json
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from msgspec.structs import replace

from washmon import __version__
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.scenario import Scenario
from washmon.sessions.practice.scenario_files import (
    VERSION,
    parse_scenario,
    read_scenario,
    scenario_text,
    scenarios,
)
from washmon.whole_file import whole_file

_MOST_BYTES = 256 * 1024
_TITLE = 200


class OnShelf(NamedTuple):
    """A scenario with its text, and the file it is kept in; none for one of the program's."""

    scenario: Scenario
    text: str
    path: Path | None = None
    is_own: bool = False


class ScenarioShelf:
    """The scenarios that can be practised; without a folder the shed's own are only lent."""

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = folder
        self._lent: list[OnShelf] = []
        self.unusable: tuple[str, ...] = ()
        """A sentence for each file that could not be used when the shelf was last read."""

    def read(self) -> list[OnShelf]:
        """Return all scenarios: the program's, easiest first, then the shed's own by name.

        Raises:
            PracticeError: one that comes with the program can't be used.
        """
        own, unusable = list(self._lent), []
        for path in sorted(self._folder.glob("*.toml")) if self._folder is not None else ():
            try:
                own.append(OnShelf(*read_scenario(path), path, is_own=True))
            except PracticeError as trouble:
                unusable.append(str(trouble))
        self.unusable = tuple(unusable)
        own.sort(key=lambda one: (one.scenario.level, one.scenario.title.casefold()))
        return [OnShelf(*one) for one in scenarios()] + own

    def keep(self, text: str, instead_of: OnShelf | None = None) -> OnShelf:
        """Keep a scenario, under the name of what it says; the same one only once.

        Raises:
            PracticeError: it can't be used, or can't be written.
        """
        scenario = parse_scenario(text)
        kept = OnShelf(scenario, text, is_own=True)
        if self._folder is not None:
            kept = kept._replace(path=self._written(text))
        elif kept not in self._lent:
            self._lent.append(kept)
        if instead_of is not None and instead_of.text != text:
            self.remove(instead_of)
        return kept

    def _written(self, text: str) -> Path:
        path = (self._folder or Path()) / f"{digest(text)}.toml"
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            with whole_file(path) as file:
                file.write(text.encode())
        except OSError as error:
            raise PracticeError(
                "The scenario can be played now, and could not be kept for later ({reason}).",
                reason=error.strerror or str(error),
            ) from error
        return path

    def bring_in(self, path: Path) -> OnShelf:
        """Keep the scenario in a file.

        Raises:
            PracticeError: it can't be used, or can't be written.
        """
        return self.keep(read_scenario(path)[1])

    def copy(self, one: OnShelf, title: str) -> OnShelf:
        """Keep a copy of a scenario under another title.

        Raises:
            PracticeError: it can't be written.
        """
        copied = replace(one.scenario, title=title[:_TITLE], version=VERSION)
        return self.keep(scenario_text(copied))

    def remove(self, one: OnShelf) -> None:
        """Take one of the shed's own away; :meth:`keep` with its text brings it back.

        Raises:
            PracticeError: it came with the program, or its file can't be removed.
        """
        if not one.is_own:
            raise PracticeError("This scenario comes with the program: it stays.")
        if one in self._lent:
            self._lent.remove(one)
        if one.path is not None:
            try:
                one.path.unlink(missing_ok=True)
            except OSError as error:
                raise PracticeError(
                    "The scenario could not be removed ({reason}).",
                    reason=error.strerror or str(error),
                ) from error


class Verdicts:
    """What the good strategy scores in each scenario, kept in a file beside the shelf.

    Another version of the program forgets them: its good strategy may be another.
    """

    def __init__(self, file: Path | None = None) -> None:
        self._file = file
        self._scores: dict[str, float] = {}
        if file is not None:
            with suppress(OSError, ValueError, TypeError, KeyError, AttributeError):
                self._scores = _kept_scores(file)

    def find(self, text: str) -> float | None:
        """Return what the good strategy scores in a scenario, 0 to 100; None if nobody tried."""
        return self._scores.get(digest(text))

    def put(self, text: str, score: float) -> None:
        """Remember a score; a disk that refuses is no reason to stop."""
        self._scores[digest(text)] = score
        if self._file is not None:
            told = {"program": __version__, "scores": self._scores}
            with suppress(OSError):
                self._file.parent.mkdir(parents=True, exist_ok=True)
                with whole_file(self._file) as file:
                    file.write(json.dumps(told).encode())


def _kept_scores(file: Path) -> dict[str, float]:
    with file.open("rb") as opened:
        told = json.loads(opened.read(_MOST_BYTES))
    if told["program"] != __version__:
        return {}
    return {str(key): float(score) for key, score in told["scores"].items()}


def digest(text: str) -> str:
    """Return a short name that only this text has."""
    return hashlib.sha256(text.encode()).hexdigest()[:16]
