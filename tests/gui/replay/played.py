"""Sessions that are played through once for all tests that replay them."""

from copy import copy
from functools import cache
from pathlib import Path

import pytest

from washmon import data
from washmon.forecast.learning import Past
from washmon.gui.replay import replay_worker
from washmon.sessions.file import Session, read
from washmon.sessions.player import Judged, Player


@cache
def session_of(path: Path) -> Session:
    """Return the session in a file, each time the same one."""
    return read(path)


def demo(number: int) -> Session:
    """Return a demo session."""
    return session_of(data.demo_sessions()[number - 1])


def play_once(patch: pytest.MonkeyPatch) -> None:
    """Let a replay of a session that was played through before begin with what was found then.

    Playing through follows the forecast of a whole shift, for most of a second.
    """
    patch.setattr(replay_worker, "Player", _player)


_PLAYED: dict[tuple[int, Judged], Player] = {}
"""By session, as they begin; a player holds its session, so no other one gets the same number."""


def _player(session: Session, past: Past = (), judged: Judged = Judged.THEN) -> Player:
    if past:
        return Player(session, past, judged)
    key = id(session), judged
    if key not in _PLAYED:
        _PLAYED[key] = Player(session, past, judged)
    return copy(_PLAYED[key])  # what is found is only looked up, and a place is its own
