"""What makes a practice shift the same again: who practised what, and what was changed unseen."""

from datetime import datetime

from msgspec import UNSET, Struct, UnsetType

from washmon.line.event_base import Happened


class Attempt(Struct, frozen=True, kw_only=True):
    """Who practises, and all that makes a practice shift the same again.

    ``scenario`` is the text of the scenario's file, so that an attempt outlives changes of it;
    ``begun_at`` is when it was begun by the clock on the wall.
    """

    trainee: str
    scenario: str
    seed: int
    advice: str
    begun_at: datetime


class WorldChange(Struct, frozen=True, kw_only=True):
    """What the trainer changed; ``None`` leaves as it is. Shares as in the practice world."""

    dirtiness: str | None = None
    strength_times: float | None = None
    strip_share: float | None = None
    decay_share: float | None = None
    strength_share: float | None = None
    """Of the strength at first, so that it is the same said twice. Earlier versions wrote
    ``strength_times``, of the strength at that moment."""


class Asked(Struct, frozen=True, kw_only=True):
    """What a trainer asked while the shift stood, and how it was answered.

    ``right`` is the place of the right answer from 0, -1 where there is none; ``counts`` are how
    many gave each answer.
    """

    question: str
    answers: tuple[str, ...] = ()
    right: int = -1
    counts: tuple[int, ...] = ()


class BehindTheScenes(Happened, frozen=True, kw_only=True, tag="behind the scenes"):
    """Of practice shifts only: what nobody on the line is told."""

    attempt: Attempt | None = None
    change: WorldChange | None = None
    asked: Asked | UnsetType = UNSET
    hint: str | UnsetType = UNSET
    """One that the trainee wanted to see. Earlier versions wrote no hints and no questions."""
