"""Does a flag change what is to be done? Asked of a twin of the program that never raised it.

The twin has the same journal and the same forecast and looks at the same moments; only the rule
of the flag is taken out. A flag counts as having changed *now* where the two differ in what is to
be done within ten minutes after it came up.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from msgspec import Struct

from tests.obedience.adapter import next_step
from washmon.line.state import ShiftState
from washmon.planning.advice import Advice, advise
from washmon.rules import all_rules

if TYPE_CHECKING:
    from washmon.forecast.look_ahead import Forecast

WITHIN_MIN = 10.0


class _Young(Struct):
    minute: float
    tank: int
    rule: str


class Twins:
    """Follows each flag for ten minutes."""

    def __init__(self) -> None:
        self.told = self.changed = 0
        self.idle: dict[str, int] = {}
        """Flags that changed nothing, by rule."""
        self._young: list[_Young] = []

    def raised(self, minute: float, tank: int, rule: str) -> None:
        """Take in a flag that came up."""
        self.told += 1
        self._young.append(_Young(minute, tank, rule))

    def look(
        self,
        state: ShiftState,
        now: datetime,
        minute: float,
        advice: Advice,
        forecasts: "Mapping[int, Forecast]",
    ) -> None:
        """Hold what is advised against what the twins of the young flags would advise."""
        kept = []
        for flag in self._young:
            if minute - flag.minute > WITHIN_MIN:
                self._settled(flag)
                continue
            rules = [rule for rule in all_rules() if rule.id != flag.rule]
            twin = advise(state, now, rules, forecasts)
            taste = state.setup.taste
            mine, other = (next_step(one, flag.tank, taste) for one in (advice, twin))
            if (mine.deed, mine.product) != (other.deed, other.product):
                self.changed += 1
            else:
                kept.append(flag)
        self._young = kept

    def end(self) -> None:
        """Settle what is still young."""
        for flag in self._young:
            self._settled(flag)
        self._young = []

    def _settled(self, flag: _Young) -> None:
        self.idle[flag.rule] = self.idle.get(flag.rule, 0) + 1
