"""How a log was read the last time, remembered by its headings."""

import hashlib
import json
from collections.abc import Mapping
from typing import NamedTuple

from washmon.gui.settings import Settings
from washmon.sessions.imported.log import Log
from washmon.sessions.imported.log_columns import Holds, holds_of


class Layout(NamedTuple):
    """What each column holds, and the answers to what no log says."""

    fields: dict[int, Holds]
    answers: dict[str, str]


class Layouts:
    """Keeps one layout for each row of headings, beside the other habits of this computer."""

    def __init__(self, settings: Settings | None) -> None:
        self._settings = settings

    def keep(self, log: Log, fields: Mapping[int, Holds], answers: Mapping[str, str]) -> None:
        """Remember how a log was read; one without headings can't be known again."""
        if self._settings is not None and log.heads:
            said = {
                "fields": {str(at): one for at, one in fields.items()},
                "answers": dict(answers),
            }
            self._settings.keep_layout(_key(log), json.dumps(said))

    def find(self, log: Log) -> Layout | None:
        """Return how a log with these headings was read; None if none was, or it says nonsense."""
        kept = self._settings.layout(_key(log)) if self._settings is not None else ""
        try:
            said = json.loads(kept)
            fields = {int(at): holds_of(one) for at, one in said["fields"].items()}
            answers = {str(key): str(text) for key, text in said["answers"].items()}
        except (ValueError, KeyError, TypeError, AttributeError):
            return None
        return Layout(fields, answers) if set(fields) == set(range(log.width)) else None


def _key(log: Log) -> str:
    return hashlib.sha256("\n".join(log.heads).encode()).hexdigest()[:16]
