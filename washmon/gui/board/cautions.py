"""The caution texts, with the signal words of ANSI Z535 as that standard defines them.

DANGER is kept for what will kill or maim and stands in none of them; WARNING: could; CAUTION: minor
or moderate injury; NOTICE: no injury.
"""

from collections.abc import Iterable
from enum import StrEnum
from functools import cache

import msgspec
from msgspec import Struct

from washmon import data
from washmon.gui.i18n import tr
from washmon.line.flags import Caution


class Signal(StrEnum):
    """The signal words, the gravest first."""

    DANGER = "DANGER"
    WARNING = "WARNING"
    CAUTION = "CAUTION"
    NOTICE = "NOTICE"


class CautionText(Struct, frozen=True):
    """A signal word and what to beware of."""

    signal: Signal
    text: str

    def said(self) -> "CautionText":
        """Return it in the user's language, for its text only; see :attr:`word`."""
        return CautionText(self.signal, tr(self.text))

    @property
    def word(self) -> str:
        """The signal word in the user's language."""
        return {
            Signal.DANGER: tr("DANGER"),
            Signal.WARNING: tr("WARNING"),
            Signal.CAUTION: tr("CAUTION"),
            Signal.NOTICE: tr("NOTICE"),
        }[self.signal]


class CautionSheet(Struct, frozen=True, forbid_unknown_fields=True):
    """One caution: a sentence for where the hand moves, and all of it for who asks why."""

    short: CautionText
    full: tuple[CautionText, ...]


@cache
def sheets() -> dict[Caution, CautionSheet]:
    """Return every caution, read once from ``resources/cautions``."""
    body = data.resource("cautions", "cautions.json").read_bytes()
    return msgspec.json.decode(body, type=dict[Caution, CautionSheet])


def short(cautions: Iterable[Caution]) -> CautionText | None:
    """Return the one sentence that belongs beside a step: the gravest of its cautions."""
    texts = [sheets()[caution].short for caution in cautions]
    worst = min(texts, key=lambda text: list(Signal).index(text.signal), default=None)
    return None if worst is None else worst.said()


def full(cautions: Iterable[Caution]) -> tuple[CautionText, ...]:
    """Return all there is to beware of, ending with what comes before the program's word."""
    wanted = [caution for caution in cautions if caution is not Caution.LABEL]
    texts = [text for caution in (*wanted, Caution.LABEL) for text in sheets()[caution].full]
    return tuple(text.said() for text in dict.fromkeys(texts))
